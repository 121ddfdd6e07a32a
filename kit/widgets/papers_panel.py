"""Write papers: each one HTML file that stands on its own, and a PDF of it where a browser prints one."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.formula.versions import kept_version, version_label
from kit.inputs import Choice, Input, Tick, inputs_of
from kit.made_for import own_place
from kit.papers.layout import PAPER_SIZES, on_paper
from kit.papers.registry import make_paper, specs
from kit.papers.writing import write_paper
from kit.widgets.bench import Bench
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.papers.paper import Paper, PaperSpec
    from kit.product.product import Product
    from kit.widgets.panel import Source

LOOK = "Look at it"
#: What is in hand, where a version has its number.
NOW = 0
OF = Input("of", "Of", Choice({NOW: ""}), NOW, help="What is in hand, or a version as it was kept.")
OUTPUT = (
    Input("size", "Size", Choice({key: name for key, (name, *_) in PAPER_SIZES.items()}), "a4"),
    Input("pdf", "As PDF too", Tick(), default=False),
)


class PapersPanel(Panel):
    """Choose a paper, fill in what is to stand on it, look at it, write it."""

    watches = ("product",)
    title = "Papers"
    subtitle = "each one HTML file for the browser's print command; needs no network"

    def __init__(self, source: Source = None) -> None:
        self.specs = {spec.name: spec for spec in specs().values() if spec.about == "product"}
        titles = {spec.name: spec.title for spec in self.specs.values()}
        paper = Input("paper", "Paper", Choice(titles), next(iter(titles)))
        self.choice = Form([paper, OF], on_change=lambda _: self._changed())
        self.form = Form((), on_change=lambda _: self._changed())
        write = Button("write", "Write it", self._write, primary=True)
        self.out = Form(OUTPUT, [write, Button("look", LOOK, self._turn_preview)], on_change=lambda _: self._changed())
        self.is_shown = False
        self.about, self.preview = ipw.HTML().add_class("sw-answer"), ipw.HTML()
        self._asked_for = ""
        #: What was typed on this paper or another, by the words beside its box.
        self._typed: dict[str, str] = {}
        super().__init__(Bench.of(source), [self.choice, self.form, self.about, self.out, self.preview])
        self.form.observe(self._changed, names="faults")

    @property
    def spec(self) -> PaperSpec:
        """The description of the paper chosen."""
        return self.specs[self.choice["paper"]]

    @property
    def product(self) -> Product:
        """What the paper is about: what is in hand, or a version of it as it was kept."""
        now, number = self.bench.product, self.choice["of"]
        return now if number == NOW else replace(now, formula=kept_version(now.formula, number))

    def paper(self) -> Paper:
        """The paper chosen; raises a KitError that says why it cannot be made out."""
        options = self.spec.options(**self.form.read())
        notes: list[Finding] = []
        made = make_paper(self.spec.name, self.spec.files(self.product, options, notes), options)
        return replace(made, findings=(*notes, *made.findings))

    def refresh(self) -> None:
        """Say what would be written, and show it as it is now where the maker looks at it."""
        formula = self.bench.formula
        earlier = {old.version: version_label(old) for old in reversed(formula.earlier)}
        self.choice.offer("of", {NOW: f"what is in hand: {version_label(formula)}", **earlier})
        self._ask()
        product, spec = self.product, self.spec
        said = f"{spec.title} of {product.formula.title}, {version_label(product.formula)}: {spec.subtitle}."
        head = " It will be printed with this at its head:" if product.stops else ""
        self.about.value = f'<div class="sw-subtitle">{escape(said + head)}</div>{findings_list(product.stops)}'
        self.out.tell("")
        self.preview.value = ""
        self.out.call("look", "Put it away" if self.is_shown else LOOK)
        if self.is_shown:
            try:
                self._show()
            except KitError as error:
                self.preview.value = problem(str(error))

    def _ask(self) -> None:
        """Ask for what this paper wants; what was typed under the same words for another stands there already."""
        self._typed |= {one.words: self.form.texts[one.name] for one in self.form.inputs.values()}
        if self._asked_for != self.spec.name:
            self._asked_for = self.spec.name
            asked = inputs_of(self.spec.options)
            self.form.ask(asked)
            self.form.type(**{one.name: self._typed[one.words] for one in asked if one.words in self._typed})

    def _turn_preview(self) -> None:
        self.is_shown = not self.is_shown
        self._changed()

    def _show(self) -> None:
        """Show the paper on white, as it will be printed, in a frame that runs nothing."""
        html = on_paper(self.paper().html, self.out["size"])
        self.preview.value = (
            f'<iframe title="{escape(self.spec.title)}" sandbox="" srcdoc="{escape(html)}" '
            'style="width:100%;height:640px;border:1px solid var(--sw-rule);background:#fff"></iframe>'
        )

    def _write(self) -> str:
        paper, pdf = self.paper(), self.out["pdf"]
        place = own_place(self.product.formula.title, Path(f"{paper.name}.html"))
        written, no_pdf = write_paper(paper.html, place.path, size=self.out["size"], pdf=pdf)
        self.is_shown = True
        self._changed()
        open_it = "" if pdf else " Open it in a browser and print."
        what = replace(place, path=written[-1]).words
        first = f"{written[0].name} and " if len(written) > 1 else ""
        return f"Wrote {first}{what}.{open_it} {no_pdf or ''}".rstrip()
