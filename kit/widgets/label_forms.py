"""What suppliers' certificates say about allergens, as it is typed for a label and kept in a file."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.inputs import Choice, FileName, Input
from kit.label.allergens import why_named
from kit.label.statements import collected, read_statement, read_statements, save_statements
from kit.saving import Seen
from kit.widgets.form import Button, Form
from kit.widgets.kept_file import KeptFile
from kit.widgets.label_sheets import statements_sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from kit.label.statements import Statements
    from kit.library.description import ProductKind


class AllergenForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Statements about allergens, one for each scented material.

    Parameters
    ----------
    on_change
        Called when the statements have changed.
    """

    def __init__(self, path: Path, on_change: Callable[[], object]) -> None:
        self.form = Form(
            [
                Input("material", "Certificate of", Choice({}), None),
                Input(
                    "contents", "It says", unit="% of it", default="",
                    example="Linalool 5; Limonene 0.7; Citral 300 ppm, or: none",
                ),
                Input("certificate", "Which paper", default="", example="number or date"),
                Input("file", "Kept in", FileName(".csv"), path),
            ],
            [Button("note", "Note it", self._note, primary=True), Button("read", "Read this file", self._read)],
        )  # fmt: skip
        self.why, self.table = ipw.HTML(), ipw.HTML()
        self.statements: Statements = {}
        self._seen, self._fresh, self._noted, self._on_change = Seen(), self.statements, "", on_change
        self.kept = KeptFile(
            self._seen,
            path=lambda: self.form["file"],
            save=self._save_to,
            copy=lambda path: save_statements(path, self._fresh),
            reopen=self._reopen,
            lists_saves=False,
        )
        title = ipw.HTML("<b>Allergens in perfumes and essential oils</b>")
        super().__init__([title, self.why, self.form, self.kept, self.table])
        if path.exists():
            self.form.press("read")

    def show(self, scented: Mapping[str, str], kind: ProductKind) -> None:
        """Offer the materials whose certificates are wanted for a kind of product, with what the library says."""
        self.why.value = f'<div class="sw-subtitle">{escape(why_named(kind))}</div>'
        self.form.offer("material", {name: name for name in scented})
        self.table.value = statements_sheet(scented, self.statements)

    def _note(self) -> str:
        said = self.form.read()
        statement = read_statement(said["material"] or "", said["contents"], said["certificate"])
        self._fresh, self._noted = {**self.statements, **collected([statement])}, statement.material
        return self.kept.save(said["file"])

    def _save_to(self, path: Path) -> str:
        save_statements(path, self._fresh, seen=self._seen)
        self.statements = self._fresh
        self.form.clear("contents", "certificate")
        self.form.set(file=path)
        self._on_change()
        return f"Noted for {self._noted} and kept in {path.name}."

    def _read(self) -> str:
        return self._reopen(self.form.read("file")["file"])

    def _reopen(self, path: Path) -> str:
        read = self._seen.read(path, read_statements)
        self.statements = {**self.statements, **read}
        self._on_change()
        return f"Read {len(read)} statement{'s' if len(read) != 1 else ''} from {path.name}."
