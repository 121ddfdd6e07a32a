"""Bring in months of old notes: choose a file, say which column is what, look, then record."""

from __future__ import annotations

from dataclasses import asdict
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.saving import file_stem, save_text
from kit.stability.old_notes.columns import ColumnMap, guess_mapping
from kit.stability.old_notes.readings import Preview, Refused, preview, refused_csv, with_schedule
from kit.stability.old_notes.table import read_table, sheet_names
from kit.widgets.panel import controls, offer, try_to
from kit.widgets.stability_preview import preview_html

if TYPE_CHECKING:
    from kit.stability.old_notes.columns import Origin
    from kit.stability.old_notes.table import ForeignTable
    from kit.widgets.stability_panel import StabilityPanel

FIELDS = {
    "batch": "Batch from",
    "condition": "Place from",
    "time_point": "Pull from",
    "observed_on": "Day from",
    "observer": "Hand from",
    "note": "Note from",
    "replicate": "Measurement no. from",
}
LONG = {"attribute": "What was read, from", "value": "Its value, from"}
#: What a field may be without a column, in words.
NOWHERE = {"time_point": "— by the day —", "replicate": "— always 1 —", "attribute": "—", "value": "—"}
#: Values of choices that mean none. A dropdown whose value is None shows nothing at all.
NONE, COLUMN_TELLS = "", "column"


class ImportForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A table of notes, a choice for each field, what would be recorded and what not, and one button."""

    def __init__(self, panel: StabilityPanel) -> None:
        self.panel = panel
        self.upload = ipw.FileUpload(
            accept=".csv,.txt,.tsv,.xlsx",
            multiple=False,
            description="Choose a file of notes",
            layout={"width": "auto"},
        )
        self.worksheet = ipw.Dropdown(description="Sheet")
        self.shape = ipw.Dropdown(
            options=[("one column for each thing read", "wide"), ("one row for each reading", "long")],
            description="The table has", style={"description_width": "initial"}, layout={"width": "auto"},
        )  # fmt: skip
        self.days = ipw.Dropdown(
            options=[("as the column tells", COLUMN_TELLS), ("the day", True), ("the month", False)],
            description="In 3/4/2026 first comes", style={"description_width": "initial"}, layout={"width": "auto"},
        )  # fmt: skip
        self.fields = {name: _choice(words) for name, words in (FIELDS | LONG).items()}
        self.columns: dict[str, ipw.Dropdown] = {}
        self.wide_box, self.long_box = controls(), controls(*(self.fields[name] for name in LONG))
        self.about, self.shown, self.message = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.record = ipw.Button(description="Record these readings", button_style="primary", layout={"width": "auto"})
        self.write_refused = ipw.Button(description="Write the refused cells as CSV", layout={"width": "auto"})
        self.work = ipw.VBox(
            [
                self.about,
                self.worksheet,
                controls(*(self.fields[name] for name in FIELDS), self.days),
                controls(self.shape),
                self.wide_box,
                self.long_box,
                self.shown,
                controls(self.record, self.write_refused),
            ]
        )
        super().__init__([controls(self.upload), self.work, self.message])
        self.table: ForeignTable | None = None
        self.found = Preview()
        self.refused: tuple[Refused, ...] = ()
        self._content, self._name = b"", ""
        self._setting = False
        self._last: tuple[int, tuple[str, ...], ColumnMap] | None = None
        self.upload.observe(self._uploaded, names="value")
        self.worksheet.observe(lambda _: self._choose_sheet(), names="value")
        for box in (*self.fields.values(), self.shape, self.days):
            box.observe(lambda _: self._look(), names="value")
        self.record.on_click(lambda _: try_to(self.message, self._record))
        self.write_refused.on_click(lambda _: try_to(self.message, self._write_refused))
        self._look()

    def show(self) -> None:
        """The study or its readings have changed: look again."""
        self._look()

    def mapping(self) -> ColumnMap:
        """The mapping as it is chosen."""
        origins: dict[str, Origin] = {name: _origin(box) for name, box in self.fields.items()}
        wide = self.shape.value == "wide"
        chosen = sorted((box.value, key) for key, box in self.columns.items() if box.value != NONE) if wide else []
        if wide:
            origins |= {"attribute": None, "value": None}
        day_first = None if self.days.value == COLUMN_TELLS else self.days.value
        return ColumnMap(**origins, attributes=tuple(chosen), day_first=day_first)

    def _uploaded(self, _change: object) -> None:
        if not self.upload.value:
            return
        item = self.upload.value[0]
        content, name = bytes(item["content"]), Path(str(item["name"])).name
        self.upload.value = ()

        def work() -> None:
            read_table(content, name)
            self._content, self._name = content, name
            self._setting = True
            offer(self.worksheet, [(one, one) for one in sheet_names(content)])
            self._setting = False
            self._choose_sheet()

        try_to(self.message, work)

    def _choose_sheet(self) -> None:
        if self._setting or not self._content:
            return

        def work() -> None:
            self.table = None
            self.table = read_table(self._content, self._name, self.worksheet.value)
            self._offer_columns()

        try_to(self.message, work)
        self._look()

    def _offer_columns(self) -> None:
        """Offer the columns for each field, chosen as in the last table with the same columns, else guessed."""
        table, study = self.table, self.panel.study
        if table is None or study is None:
            return
        known = self._last is not None and self._last[:2] == (study.id, table.head)
        guess = self._last[2] if self._last is not None and known else guess_mapping(table, study)
        columns: list[tuple[str, Any]] = [(f"column: {name}", number) for number, name in enumerate(table.head)]
        fixed = {
            "batch": [(f"always {one}", one) for one in study.batches],
            "condition": [(f"always {one.label}", one.key) for one in study.plan.conditions],
            "time_point": [(f"always {one.label}", one.label) for one in study.plan.time_points],
        }
        self._setting = True
        for name, box in self.fields.items():
            box.options = [(NOWHERE.get(name, "—"), NONE), *columns, *fixed.get(name, [])]
            box.value = NONE if getattr(guess, name) is None else getattr(guess, name)
        guessed = {key: number for number, key in guess.attributes}
        self.columns = {}
        for attribute in study.plan.attributes:
            box = _choice(attribute.title)
            box.options = [("—", NONE), *columns]
            box.value = guessed.get(attribute.key, NONE)
            box.observe(lambda _: self._look(), names="value")
            self.columns[attribute.key] = box
        self.wide_box.children = tuple(self.columns.values())
        self.shape.value = "long" if guess.value is not None else "wide"
        self.days.value = COLUMN_TELLS if guess.day_first is None else guess.day_first
        self._setting = False

    def _look(self) -> None:
        """Show what would be recorded and what would not."""
        if self._setting:
            return
        table, study = self.table, self.panel.study
        ready = table is not None and study is not None
        self.work.layout.display = "" if ready else "none"
        if table is None or study is None:
            return
        self.worksheet.layout.display = "" if len(self.worksheet.options) > 1 else "none"
        wide = self.shape.value == "wide"
        self.wide_box.layout.display, self.long_box.layout.display = ("", "none") if wide else ("none", "")
        self.about.value = (
            f'<div class="sw-subtitle">{escape(table.name)}: {len(table.rows)} rows, {len(table.head)} columns; '
            f"{escape('; '.join(table.told))}.</div>"
        )
        now = self.panel.logbook.current(study.id)
        mapping = self.mapping()
        self._last = study.id, table.head, mapping
        self.found = preview(table, study, mapping, self.panel.today(), now)
        self.refused = self.found.refused
        count = len(self.found.readings)
        self.record.description = f"Record {'this 1 reading' if count == 1 else f'these {count} readings'}"
        self.record.disabled = count == 0
        self.write_refused.layout.display = "" if self.refused else "none"
        self.shown.value = preview_html(self.found, study)

    def _record(self) -> str:
        study, log = self.panel.study, self.panel.logbook
        assert study is not None
        rows = []
        for reading in self.found.readings:
            fields = asdict(with_schedule(reading, study))
            del fields["line"]
            rows.append(fields)
        lines = [reading.line for reading in self.found.readings]
        report = log.import_rows(study.id, rows)
        late = [
            Refused(lines[one.number - 1], str(one.row["attribute"]), str(one.row["value"]), one.reason)
            for one in report.refused
        ]
        kept = (*self.refused, *late)
        self.table = None
        self.panel.refresh()
        self.refused = kept
        self.work.layout.display = "none"
        also = f" {_cells(len(kept))} refused." if kept else ""
        name = f" {self._write_refused()}" if kept else ""
        count = len(report.added)
        return f"Recorded {count} reading{'' if count == 1 else 's'} from {self._name}.{also}{name}"

    def _write_refused(self) -> str:
        name = f"refused_{file_stem(Path(self._name).stem)}.csv"
        save_text(Path(name), refused_csv(self.refused))
        return f"The refused cells with their reasons are in {name}, beside this notebook."


def _cells(count: int) -> str:
    return "1 cell was" if count == 1 else f"{count} cells were"


def _origin(box: ipw.Dropdown) -> Origin:
    return None if box.value == NONE else box.value


def _choice(words: str) -> ipw.Dropdown:
    return ipw.Dropdown(description=words, style={"description_width": "initial"}, layout={"width": "auto"})
