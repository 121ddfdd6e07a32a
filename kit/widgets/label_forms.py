"""What a maker types for a label: its particulars, and what suppliers' certificates say about allergens."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.label.allergens import why_named
from kit.label.particulars import label_details
from kit.label.statements import collected, read_statement, read_statements, save_statements
from kit.saving import Seen
from kit.widgets.kept_file import KeptFile
from kit.widgets.label_sheets import statements_sheet
from kit.widgets.panel import controls, offer, try_to

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from kit.formula.model import ProductKind
    from kit.label.particulars import LabelDetails
    from kit.label.statements import Statements
    from kit.library.table import Jurisdiction

NARROW = {"description_width": "140px"}
TICK: dict[str, Any] = {"indent": False, "layout": {"width": "auto"}}
FULL = {"width": "auto", "max_width": "460px"}


def _text(description: str, placeholder: str = "") -> ipw.Text:
    return ipw.Text(description=description, placeholder=placeholder, style=NARROW, layout=dict(FULL))


class LabelForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """The particulars of a label."""

    def __init__(self) -> None:
        self.product_name = _text("Product name")
        self.function = _text("What it is and does", "such as: two-phase body oil")
        self.content = _text("Net content", "such as 85 mL")
        self.batch_code = _text("Batch", "such as TL-07")
        self.months = _text("Keeps unopened", "in months, as a qualified person found")
        self.best_before = _text("Best before", "month and year: 11/2027")
        self.period = _text("Period after opening", "such as 12M")
        self.storage = _text("Storage", "such as: cool and dark")
        self.directions = _text("Directions")
        self.person = _text("Responsible person", "name and address")
        self.origin = _text("Country of origin")
        self.imported = ipw.Checkbox(description="imported into the Union", **TICK)
        self.contact = _text("Adverse events to", "address, telephone or web")
        self.warnings = ipw.Textarea(
            description="More warnings", placeholder="a line each", rows=2, style=NARROW, layout=dict(FULL)
        )
        self.habits = ipw.Checkbox(value=True, description="print the usual cautions too", **TICK)
        several = ipw.VBox([self.warnings])
        several.add_class("sw-several")
        super().__init__(
            [
                self.product_name,
                self.function,
                self.content,
                self.batch_code,
                self.months,
                self.best_before,
                self.period,
                self.storage,
                self.directions,
                self.person,
                self.origin,
                self.imported,
                self.contact,
                several,
                self.habits,
            ]
        )

    @property
    def boxes(self) -> tuple[ipw.Widget, ...]:
        """Everything that can be typed or ticked."""
        return (*(box for box in self.children if hasattr(box, "value")), self.warnings)

    @property
    def _named(self) -> dict[str, ipw.Widget]:
        """What is kept under which name; the same names as in LabelDetails."""
        return {
            "product_name": self.product_name,
            "function": self.function,
            "content": self.content,
            "batch_code": self.batch_code,
            "durability_months": self.months,
            "best_before": self.best_before,
            "period_after_opening": self.period,
            "storage": self.storage,
            "directions": self.directions,
            "responsible_person": self.person,
            "country_of_origin": self.origin,
            "imported": self.imported,
            "contact": self.contact,
            "warnings": self.warnings,
            "habits": self.habits,
        }

    def typed(self) -> dict[str, str]:
        """What stands in the form, under the names of the particulars; only what differs from an empty form."""
        texts = {name: box.value for name, box in self._named.items() if box not in (self.imported, self.habits)}
        ticks = {"imported": "yes" if self.imported.value else "", "habits": "" if self.habits.value else "no"}
        return {name: text for name, text in (texts | ticks).items() if text}

    def fill(self, typed: Mapping[str, str]) -> None:
        """Show what was typed before; the rest of the form becomes empty."""
        for name, box in self._named.items():
            if box is self.imported:
                box.value = typed.get(name) == "yes"
            elif box is self.habits:
                box.value = typed.get(name) != "no"
            else:
                box.value = typed.get(name, "")

    def show(self, place: Jurisdiction, title: str) -> None:
        """Fit the form to a place and a formula."""
        self.product_name.placeholder = title
        for box, home in ((self.imported, "eu"), (self.contact, "us")):
            box.layout.display = "" if place == home else "none"

    def details(self, *, without_months: bool = False) -> LabelDetails:
        """What was typed; raises a KitError where the months cannot be read."""
        typed = self.typed()
        if without_months:
            typed.pop("durability_months", None)
        return label_details(typed)


class AllergenForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """What certificates say about the allergens in perfumes and oils, kept in a CSV file."""

    def __init__(self, path: Path) -> None:
        wide = {"style": {"description_width": "initial"}}
        self.material = ipw.Dropdown(description="Certificate of", **wide)
        self.contents = ipw.Text(
            description="it says, % of it",
            placeholder="Linalool 5; Limonene 0.7; Citral 300 ppm, or: none",
            layout={"width": "420px"},
            **wide,
        )
        self.certificate = ipw.Text(description="Which paper", placeholder="number or date", **wide)
        self.note_it = ipw.Button(description="Note it", layout={"width": "auto"})
        self.file_name = ipw.Text(value=str(path), description="Kept in", layout={"width": "300px"}, **wide)
        self.read_file = ipw.Button(description="Read this file", layout={"width": "auto"})
        self.why, self.message, self.table = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.statements: Statements = {}
        self._seen, self._fresh, self._noted = Seen(), self.statements, ""
        self.kept = KeptFile(
            self._seen,
            path=lambda: self._path,
            save=self._save_to,
            copy=lambda path: save_statements(path, self._fresh),
            reopen=self._reopen,
            lists_saves=False,
        )
        self._work: Callable[[], None] = lambda: None
        super().__init__(
            [
                ipw.HTML("<b>Allergens in perfumes and essential oils</b>"),
                self.why,
                controls(self.material, self.contents, self.certificate, self.note_it),
                controls(self.file_name, self.read_file),
                self.message,
                self.kept,
                self.table,
            ]
        )
        self.note_it.on_click(lambda _: self._note())
        self.read_file.on_click(lambda _: self._read())
        if path.exists():
            self._read()

    def on_change(self, work: Callable[[], None]) -> None:
        """Do something whenever the statements change."""
        self._work = work

    def show(self, scented: Mapping[str, str], kind: ProductKind) -> None:
        """Offer the materials whose certificates are wanted for a kind of product, with what the library says."""
        self.why.value = f'<div class="sw-subtitle">{escape(why_named(kind))}</div>'
        offer(self.material, [(name, name) for name in scented])
        self.table.value = statements_sheet(scented, self.statements)

    def _note(self) -> None:
        def work() -> str:
            statement = read_statement(self.material.value or "", self.contents.value, self.certificate.value)
            self._fresh, self._noted = {**self.statements, **collected([statement])}, statement.material
            return self.kept.save(self._path)

        try_to(self.message, work)

    def _save_to(self, path: Path) -> str:
        save_statements(path, self._fresh, seen=self._seen)
        self.statements = self._fresh
        self.contents.value = self.certificate.value = ""
        self.file_name.value = str(path)
        self._work()
        return f"Noted for {self._noted} and kept in {path.name}."

    def _read(self) -> None:
        try_to(self.message, lambda: self._reopen(self._path))

    def _reopen(self, path: Path) -> str:
        read = self._seen.read(path, read_statements)
        self.statements = {**self.statements, **read}
        self._work()
        return f"Read {len(read)} statement{'s' if len(read) != 1 else ''} from {path.name}."

    @property
    def _path(self) -> Path:
        return Path(self.file_name.value.strip() or "allergen_statements.csv")
