"""Begin a product of one's own: what it is, from what it begins, and its folder."""

from __future__ import annotations

import os
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import ipywidgets as ipw

from kit.formula.files import read_formula
from kit.in_browser import IN_BROWSER
from kit.inputs import REQUIRED, Choice, FileName, Input, Text, inputs_of
from kit.library.description import NOTHING_SAID, Description
from kit.product.beginning import begin_from, blank, starting_points
from kit.product_folder import make_product_folder
from kit.widgets.form import Button, Form
from kit.widgets.html import soft
from kit.widgets.panel import PanelBox
from kit.workspace import FORMULA, NOTEBOOK, products_in

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.formula.model import Formula

#: Whence a product begins: the words before the names of starting points and of products that are there.
EMPTY, POINT, COPY = "", "starting point: ", "copy of "
BEGIN = (
    Input("title", "What it is called", Text(), REQUIRED, example="Rose toner"),
    Input("source", "Begin with", Choice({EMPTY: "an empty formula"}), EMPTY, help="Its lines, stocks and steps are "
          "taken over; nothing else of it."),
    Input("file", "Or with a file", FileName(""), None, example="my_table.csv, .xlsx or .toml"),
)  # fmt: skip


_RUN = " Run all cells there, by the ▸▸ button."


def _in_the_app() -> bool:
    """Whether the panel is shown by the app, which has run every cell when it shows a page."""
    return os.environ.get("SERVER_SOFTWARE", "").startswith("voila/")


class NewProductPanel(PanelBox):
    """Ask what a new product is, and make its folder.

    Parameters
    ----------
    parent
        Where the folder is made, and where products to copy are looked for.
    """

    title = "A product of your own"
    subtitle = "say what it is, press New, and go on in its own notebook"

    def __init__(self, parent: str | Path = ".") -> None:
        self.parent = Path(parent)
        #: What was said of the product that was made last.
        self._made: dict[str, Any] = {}
        new = Button("new", "New", self._new, "Make its folder", primary=True)
        self.form = Form((*BEGIN, *inputs_of(Description)), [new], on_change=self._typed)
        self.link = ipw.HTML().add_class("sw-answer")
        super().__init__([self.form, self.link])
        self._offer()

    def _offer(self) -> None:
        points = {f"{POINT}{name}": f"{POINT}{formula.title}" for name, formula in starting_points().items()}
        copies = {f"{COPY}{folder.name}": f"{COPY}{folder.name}" for folder in products_in(self.parent)}
        self.form.offer("source", {EMPTY: "an empty formula", **points, **copies})

    def _typed(self, names: tuple[str, ...]) -> None:
        """A source that is chosen says what it is; the maker may say otherwise.

        With the name of a next product, nothing that was said of the last one goes over to it unseen.
        """
        if "title" in names and self._made:
            was, self._made = self._made, {}
            self.form.clear(*(name for name in was if name != "title" and self.form[name] == was[name]))
        if "source" in names and self.form["source"] != EMPTY:
            about = self._source(self.form["source"], None, []).description
            self.form.set(**{one.name: getattr(about, one.name) for one in inputs_of(Description)})

    def _source(self, chosen: str, file: Path | None, notes: list[Finding]) -> Formula:
        if file is None and chosen.startswith(POINT):
            return starting_points()[chosen.removeprefix(POINT)]
        return read_formula(file or self.parent / chosen.removeprefix(COPY) / FORMULA, notes)

    def _new(self) -> str:
        typed = self.form.read()
        notes: list[Finding] = []
        said = replace(NOTHING_SAID, **{one.name: typed[one.name] for one in inputs_of(Description)})
        if typed["file"] is None and typed["source"] == EMPTY:
            formula = blank(typed["title"], said)
        else:
            formula = begin_from(self._source(typed["source"], typed["file"], notes), typed["title"], said)
        folder = make_product_folder(self.parent, formula)
        address = f"{quote(folder.relative_to(self.parent).as_posix())}/{NOTEBOOK}"
        page = f"index.html?workspace={quote(folder.name)}&path={address}" if IN_BROWSER else address
        self.link.value = (
            f'<p><a href="{escape(page)}" target="_blank" class="sw-go-on">Go on in {escape(address)}</a></p>'
            + soft(f"It opens in a page of its own.{'' if _in_the_app() else _RUN}")
        )
        self._offer()
        self._made = dict(self.form.values)
        return " ".join([f"Made the folder {folder}.", *(note.sentence for note in notes)])
