"""Write papers: each one HTML file that stands on its own, and a PDF of it where a browser prints one."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.formula.versions import version_label
from kit.papers.desk import Desk
from kit.papers.layout import PAPER_SIZES, on_paper
from kit.papers.writing import names, paper_name, write_paper
from kit.widgets.html import done, findings_list, heading, problem
from kit.widgets.panel import Panel, controls, offer
from kit.widgets.papers_forms import FORMS, Hand

if TYPE_CHECKING:
    from kit.formula.model import Formula
    from kit.papers.paper import Paper
    from kit.widgets.bench import Bench
    from kit.widgets.papers_forms import PaperForm

#: What is in hand, where a version has its number.
NOW = 0


class PapersPanel(Panel):
    """Choose a paper, fill in what is to stand on it, look at it, write it."""

    watches = (
        "formula",
        "library",
        "jurisdiction",
        "ph",
        "order",
        "balance",
        "tolerance",
        "bottle",
        "fill",
        "jurisdiction",
        "ph",
        "prices",
    )

    def __init__(self, bench: Bench) -> None:
        self.hand = Hand()
        self.forms = {form.title: form(self.hand) for form in FORMS}
        self.lot, self.made_by, self.made_on = self.hand.lot, self.hand.made_by, self.hand.made_on
        self.choice = ipw.Dropdown(options=list(self.forms), description="Paper")
        self.of = ipw.Dropdown(options=[NOW], description="of", layout={"width": "auto", "max_width": "100%"})
        self.of.tooltip = "What is in hand, or a version as it was kept"
        self.paper_size = ipw.Dropdown(
            options=[(name, key) for key, (name, *_) in PAPER_SIZES.items()], description="Size"
        )
        self.pdf = ipw.Checkbox(description="as PDF too", indent=False, layout={"width": "auto"})
        self.show = ipw.ToggleButton(description="Look at it", layout={"width": "auto"})
        self.write = ipw.Button(description="Write it", button_style="primary", layout={"width": "auto"})
        self.about, self.message, self.preview = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.fields = controls()
        head = heading("Papers", "each one HTML file for the browser's print command; needs no network")
        super().__init__(
            bench,
            [
                ipw.HTML(head),
                controls(self.choice, self.of, self.paper_size, self.pdf),
                self.fields,
                controls(self.show, self.write),
                self.about,
                self.message,
                self.preview,
            ],
        )
        for chosen in (self.choice, self.of, self.paper_size):
            chosen.observe(self._changed, names="value")
        for box in {box for form in self.forms.values() for box in form.boxes}:
            box.observe(self._changed, names="value")
        self.show.observe(self._changed, names="value")
        self.write.on_click(lambda _: self._write())

    @property
    def form(self) -> PaperForm:
        """The form of the paper chosen."""
        return self.forms[self.choice.value]

    @property
    def desk(self) -> Desk:
        """The bench as the papers see it."""
        bench = self.bench
        return Desk(
            formula=_version(bench.formula, self.of.value),
            library=bench.library,
            order=bench.order,
            balance=bench.balance,
            tolerance=bench.tolerance,
            bottle=bench.bottle,
            fill=bench.fill,
            place=bench.jurisdiction,
            ph=bench.ph,
            prices=bench.prices,
        )

    def refresh(self) -> None:
        """Say what would be written, and show it as it is now where the maker looks at it."""
        form = self.form
        earlier = [(version_label(old), old.version) for old in reversed(self.bench.formula.earlier)]
        offer(self.of, [(f"what is in hand: {version_label(self.bench.formula)}", NOW), *earlier])
        if self.fields.children != (boxes := tuple(form.boxes)):
            self.fields.children = boxes
        desk = self.desk
        stops = [finding for finding in desk.findings if finding.severity == "stop"]
        said = f"{form.title} of {desk.formula.title}, {version_label(desk.formula)}: {form.subtitle}."
        head = " It will be printed with this at its head:" if stops else ""
        self.about.value = f'<div class="sw-subtitle">{escape(said + head)}</div>{findings_list(stops)}'
        self.preview.value = self.message.value = ""
        if self.show.value:
            self._show()

    def sheet(self) -> str:
        """The paper chosen, as HTML."""
        return self._paper().html

    def _paper(self) -> Paper:
        return self.form.paper(self.desk)

    def _show(self) -> None:
        try:
            self._lay_down(on_paper(self.sheet(), self.paper_size.value))
        except KitError as error:
            self.message.value = problem(str(error))

    def _lay_down(self, html: str) -> None:
        """Show a paper on white, as it will be printed, in a frame that runs nothing."""
        self.preview.value = (
            f'<iframe title="{escape(self.form.title)}" sandbox="" srcdoc="{escape(html)}" '
            'style="width:100%;height:640px;border:1px solid var(--sw-rule);background:#fff"></iframe>'
        )

    def _write(self) -> None:
        desk, size = self.desk, self.paper_size.value
        try:
            paper = self.form.paper(desk)
            path = Path(f"{paper_name(paper.kind, *self.form.about(desk))}.html")
            written, no_pdf = write_paper(paper.html, path, size=size, pdf=self.pdf.value)
        except KitError as error:
            self.message.value = problem(str(error))
            return
        self.show.value = True
        open_it = "" if self.pdf.value else " Open it in a browser and print."
        self.message.value = done(f"Wrote {names(written)} beside this notebook.{open_it}")
        if no_pdf:
            self.message.value += problem(str(no_pdf))


def _version(formula: Formula, number: int) -> Formula:
    """What is in hand, or the version of a number as it was kept, with those that were kept before it."""
    if number == NOW:
        return formula
    chosen = next(old for old in formula.earlier if old.version == number)
    return replace(chosen, earlier=tuple(old for old in formula.earlier if old.version < number))
