"""Bring in months of old notes: choose a file, say which column is what, look, then record."""

from __future__ import annotations

from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.file_names import file_stem
from kit.inputs import Choice, Input
from kit.saving import save_text
from kit.stability.old_notes.columns import ColumnMap, guess_mapping, unit_of_column
from kit.stability.old_notes.headings import SAYABLE, split_head
from kit.stability.old_notes.meanings import Word, likely_grade
from kit.stability.old_notes.readings import Preview, Refused, preview, refused_csv, with_schedule
from kit.stability.old_notes.table import read_table, sheet_names
from kit.widgets.form import Button, Form
from kit.widgets.html import done, problem, sheet, soft
from kit.widgets.study_panel import StudyPart

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kit.stability.in_hand import StudyInHand
    from kit.stability.old_notes.table import ForeignTable
    from kit.stability.study import Study
    from kit.widgets.study_panel import StudyBench

FIELDS = {
    "batch": "Batch from",
    "condition": "Place from",
    "time_point": "Pull from",
    "observed_on": "Day from",
    "observer": "Hand from",
    "note": "Note from",
    "replicate": "Measurement no. from",
}
LONG = {"attribute": "What was read, from", "value": "Its value, from", "unit": "Its unit, from"}
#: What a field may be without a column, in words.
NOWHERE = {"time_point": "— by the day —", "replicate": "— always 1 —"}
SHAPE = Choice({"wide": "one column for each thing read", "long": "one row for each reading"}, "switch")
#: Values of choices that mean none: a text, for what is nothing has no words.
NONE, COLUMN_TELLS = "", "column"
DAYS = Choice({COLUMN_TELLS: "as the column tells", True: "the day", False: "the month"})
#: How the input for the column of an attribute is called: this and the attribute's key.
COLUMN_OF = "column of "
#: The same of the input for the unit of a column whose heading leaves it open, and the column's number.
UNIT_OF = "unit of "
UNITS = Choice({NONE: "choose one", **{unit: unit for unit in SAYABLE}})
#: How many words of the maker's own are asked about at most; a column with more of them is no column of grades.
MOST_WORDS = 24
#: How many readings are shown; of what is refused, three times as many.
SHOWN = 8


class ImportForm(StudyPart):
    """A table of notes, a choice for each field, what would be recorded and what not, and one button."""

    def __init__(self, bench: StudyBench) -> None:
        choose = Button("upload", "Choose a file of notes", self._uploaded, file=".csv,.txt,.tsv,.xlsx")
        self.form = Form([], [choose], on_change=self._chosen)
        self.words = Form([], on_change=self._explained)
        self.about, self.shown = ipw.HTML(), ipw.HTML()
        self.shown.add_class("sw-answer")
        record = Button("record", "Record these readings", self._record, primary=True)
        self.last = Form([], [record, Button("refused", "Write the refused cells as CSV", self._write_refused)])
        self.table: ForeignTable | None = None
        self.found = Preview()
        self.refused: tuple[Refused, ...] = ()
        self._content, self._name = b"", ""
        self._sheets: list[str] = []
        self._before: tuple[int, tuple[str, ...], ColumnMap] | None = None
        self._asked: tuple[Word, ...] = ()
        self._meanings: dict[Word, str] = {}
        super().__init__(bench, [self.about, self.form, self.words, self.shown, self.last])
        self._look()

    def show(self, hand: StudyInHand) -> None:
        """The study or its readings have changed: look again."""
        if self.table is not None and hand.study is not None and self._before and self._before[0] != hand.study.id:
            self.form.ask(self._inputs(self.table, hand.study, self.form.values.get("worksheet")))
        self._look()

    def mapping(self) -> ColumnMap:
        """The mapping as it is chosen."""
        chosen = self.form.values
        wide = chosen["shape"] == "wide"
        columns = {name.removeprefix(COLUMN_OF): one for name, one in chosen.items() if name.startswith(COLUMN_OF)}
        fields: dict[str, Any] = {name: None if chosen[name] == NONE else chosen[name] for name in FIELDS}
        fields |= {name: None if wide or chosen[name] == NONE else chosen[name] for name in LONG}
        units = {int(name.removeprefix(UNIT_OF)): one for name, one in chosen.items() if name.startswith(UNIT_OF)}
        return ColumnMap(
            **fields,
            units=tuple(sorted((number, unit) for number, unit in units.items() if unit != NONE)),
            attributes=tuple(sorted((one, key) for key, one in columns.items() if one != NONE)) if wide else (),
            day_first=None if chosen["day_first"] == COLUMN_TELLS else chosen["day_first"],
            meanings=tuple((word, meant) for word, meant in self._meanings.items() if meant),
        )

    def _uploaded(self, name: str, content: bytes) -> None:
        read_table(content, Path(name).name)
        self._content, self._name = content, Path(name).name
        self._sheets = sheet_names(content)
        self._take_sheet(next(iter(self._sheets), None))

    def _chosen(self, names: tuple[str, ...]) -> None:
        if "worksheet" in names:
            self._take_sheet(self.form["worksheet"])
        else:
            self._look()

    def _take_sheet(self, name: str | None) -> None:
        self.table = None
        try:
            self.table = read_table(self._content, self._name, name)
            if self.bench.hand.study is not None:
                self.form.ask(self._inputs(self.table, self.bench.hand.study, name))
        finally:
            self._look()

    def _inputs(self, table: ForeignTable, study: Study, sheet_name: str | None) -> Iterator[Input]:
        """A column for each field, chosen as in the last table with the same columns, else guessed."""
        known = self._before is not None and self._before[:2] == (study.id, table.head)
        guess = self._before[2] if self._before is not None and known else guess_mapping(table, study)
        columns: dict[Any, str] = {number: f"column: {name}" for number, name in enumerate(table.head)}
        fixed: dict[str, dict[Any, str]] = {
            "batch": {one: f"always {one}" for one in study.batches},
            "condition": {one.key: f"always {one.label}" for one in study.plan.conditions},
            "time_point": {one.label: f"always {one.label}" for one in study.plan.time_points},
        }
        if len(self._sheets) > 1:
            yield Input("worksheet", "Sheet", Choice({one: one for one in self._sheets}), sheet_name)
        for name, words in FIELDS.items():
            options = {NONE: NOWHERE.get(name, "—"), **columns, **fixed.get(name, {})}
            yield Input(name, words, Choice(options), _or(getattr(guess, name), NONE))
        yield Input("day_first", "In 3/4/2026 first comes", DAYS, _or(guess.day_first, COLUMN_TELLS))
        yield Input("shape", "The table has", SHAPE, "long" if guess.value is not None else "wide")
        guessed = {key: number for number, key in guess.attributes}
        only = Choice({NONE: "—", **columns})
        for one in study.plan.attributes:
            yield Input(f"{COLUMN_OF}{one.key}", one.title, only, guessed.get(one.key, NONE), applies=_is_wide)
        said = dict(guess.units)
        for number, head in enumerate(table.head):
            if split_head(head)[1]:
                asks = partial(_asks_unit, study, head, number)
                asks.__name__ = "asks"  # type: ignore[attr-defined]  # a form reads it
                yield Input(f"{UNIT_OF}{number}", f"Unit of {head}", UNITS, said.get(number, NONE), applies=asks)
        for name, words in LONG.items():
            yield Input(name, words, only, _or(getattr(guess, name), NONE), applies=_is_long)

    def _look(self) -> None:
        """Show what would be recorded and what would not."""
        table, hand = self.table, self.bench.hand
        self.about.value = self.shown.value = ""
        if table is None or hand.study is None:
            self.form.ask([])
            self._ask_words(())
            self.last.show()
            return
        told = f"{table.name}: {len(table.rows)} rows, {len(table.head)} columns; {'; '.join(table.told)}."
        self.about.value = soft(told)
        self.found = preview(table, hand.study, self.mapping(), self.bench.today(), hand.now)
        while fresh := [word for word in self.found.words if word not in self._meanings]:
            self._meanings |= {word: _likely(word, hand.study) for word in fresh}
            self.found = preview(table, hand.study, self.mapping(), self.bench.today(), hand.now)
        self._before = hand.study.id, table.head, self.mapping()
        self._ask_words(self.found.words[:MOST_WORDS])
        self.refused = self.found.refused
        count = len(self.found.readings)
        self.last.show("record", *(["refused"] if self.refused else []))
        these = "this 1 reading" if count == 1 else f"these {count} readings"
        self.last.call("record", f"Record {these}", primary=True)
        self.last.enable("record", can=count > 0)
        self.shown.value = preview_html(self.found, hand.study)

    def _ask_words(self, words: tuple[Word, ...]) -> None:
        """Ask what each of these words stands for, what was said of it before in its box."""
        study = self.bench.hand.study
        if words == self._asked or study is None:
            return
        self._asked = words
        self.words.ask(
            Input(f"word {number}", _question(word, study), _meanings(word, study), self._meanings.get(word, NONE))
            for number, word in enumerate(words)
        )

    def _explained(self, names: tuple[str, ...]) -> None:
        for name in names:
            self._meanings[self._asked[int(name.removeprefix("word "))]] = self.words[name]
        self._look()

    def _record(self) -> str:
        hand, lines = self.bench.hand, [reading.line for reading in self.found.readings]
        assert hand.study is not None
        rows = [asdict(with_schedule(reading, hand.study)) for reading in self.found.readings]
        report = hand.log.import_rows(hand.study.id, [{k: v for k, v in row.items() if k != "line"} for row in rows])
        late = [
            Refused(lines[one.number - 1], str(one.row["attribute"]), str(one.row["value"]), one.reason)
            for one in report.refused
        ]
        self.refused = (*self.refused, *late)
        self.table = None
        self.bench.read()
        count, kept = len(report.added), len(self.refused)
        said = f"Recorded {count} reading{'' if count == 1 else 's'} from {self._name}."
        if not kept:
            return said
        return f"{said} {'1 cell was' if kept == 1 else f'{kept} cells were'} refused. {self._write_refused()}"

    def _write_refused(self) -> str:
        name = f"refused_{file_stem(Path(self._name).stem)}.csv"
        save_text(Path(name), refused_csv(self.refused))
        return f"The refused cells with their reasons are in {name}, beside this notebook."


def _or(value: Any, instead: str) -> Any:
    return instead if value is None else value


def _question(word: Word, study: Study) -> str:
    return f"{study.plan.attribute(word.of).label}, {word.text!r} is" if word.of else f"Place {word.text!r} is"


def _meanings(word: Word, study: Study) -> Choice:
    """What a word can stand for: the grades of a scale, or the places of the study."""
    if not word.of:
        return Choice({NONE: "choose one", **{one.key: one.label for one in study.plan.conditions}})
    scale = study.plan.attribute(word.of).scale
    return Choice({NONE: "choose one", **{str(grade): f"{grade}: {words}" for grade, words in enumerate(scale)}})


def _likely(word: Word, study: Study) -> str:
    return likely_grade(study.plan.attribute(word.of), word.text) if word.of else NONE


def _asks_unit(study: Study, head: str, number: int, values: Mapping[str, Any]) -> bool:
    """Whether a column holds an attribute whose unit its heading leaves open."""
    held = [one for one in study.plan.attributes if values.get(f"{COLUMN_OF}{one.key}") == number]
    found = [unit_of_column(one, head) for one in held] if values["shape"] == "wide" else []
    return any(one.asked or one.words for one in found)


def _is_wide(values: Any) -> bool:
    return bool(values["shape"] == "wide")


def _is_long(values: Any) -> bool:
    return bool(values["shape"] == "long")


def preview_html(found: Preview, study: Study) -> str:
    """What a table of old notes would bring: the first readings, and what is refused and why; or what it asks."""
    if found.asks:
        return "".join(problem(ask) for ask in found.asks)
    rows = [
        [
            str(one.line), one.batch, study.plan.condition(one.condition).label, one.time_point, str(one.observed_on),
            study.plan.attribute(one.attribute).label, one.value, with_schedule(one, study).note,
        ]
        for one in found.readings[:SHOWN]
    ]  # fmt: skip
    said = "".join(map(soft, found.told))
    if rows:
        head = ["line", "batch", "kept in", "pull", "seen on", "what", "value", "note"]
        said += sheet(head, rows, caption=f"To be recorded: {len(found.readings)}; the first of them:")
    else:
        said += problem("No reading would be recorded.")
    refused = [[str(one.line), one.column, one.text, one.reason] for one in found.refused[: 3 * SHOWN]]
    if not refused:
        return said + done("Nothing is refused.")
    more = len(found.refused) - len(refused)
    caption = f"Refused so far: {len(found.refused)}{f'; {more} of them are only in the CSV' if more else ''}."
    return said + sheet(["line", "column", "cell", "why"], refused, caption=caption)
