"""What a table of old notes holds for a study: the readings, and every cell or row that cannot be one with its reason.

Nothing is recorded here.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from dataclasses import fields as dataclass_fields
from typing import TYPE_CHECKING, TypeVar

from kit.errors import AmbiguousError, EntryError, KitError
from kit.numbers import decided, decimal_mark_of, in_habit
from kit.numbers import is_open as can_be_two
from kit.stability.check import said
from kit.stability.old_notes.cells import condition_of, is_open, order_of, pull_of, pull_on, read_day
from kit.stability.old_notes.columns import ColumnUnit, attribute_of, unit_of_column, with_unit
from kit.stability.old_notes.headings import counted_pull
from kit.stability.old_notes.meanings import Word, is_word, own_grade, word_of
from kit.stability.old_notes.values import Sizes, in_celsius, plain_answer, unit_of_row
from kit.stability.reading import read_value
from kit.stability.schedule import note_with_schedule, off_schedule
from kit.stability.study import read_count, read_replicate
from kit.table_cuts import may_be_cut
from kit.tables import as_csv

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date

    from kit.stability.old_notes.columns import ColumnMap, Origin
    from kit.stability.old_notes.table import ForeignTable
    from kit.stability.plan import Attribute
    from kit.stability.study import Cell, Observation, Study

Said = TypeVar("Said")
NEEDED = {"batch": "batch", "condition": "place"}


@dataclass(frozen=True, slots=True)
class FoundReading:
    """A reading that a row of the table holds."""

    line: int
    batch: str
    condition: str
    time_point: str
    attribute: str
    value: str
    observed_on: date
    observer: str = ""
    note: str = ""
    replicate: int = 1


#: A decimal comma where commas part the cells cuts a number in two, and what follows moves one column on.
OVERLONG = (
    "The row has more cells than the first row has names, so it is not sure what stands in which column. With decimal "
    "commas, save the table with semicolons between the cells."
)
CUT = (
    "The number and the one beside it may be one number with a decimal comma. Save the table with semicolons between "
    "the cells, or write the number with a point."
)


@dataclass(frozen=True, slots=True)
class Refused:
    """A cell or row that is no reading: where it stands, what stands there, and why."""

    line: int
    column: str
    text: str
    reason: str


@dataclass(frozen=True, slots=True)
class Preview:
    """What would be recorded, what would not, and what must be answered first (``asks``) or is worth knowing.

    ``words`` are those of the maker's own that stand for a grade or a place, whether she has said which or not yet.
    """

    readings: tuple[FoundReading, ...] = ()
    refused: tuple[Refused, ...] = ()
    asks: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    words: tuple[Word, ...] = ()


@dataclass(slots=True)
class _Work:
    study: Study
    table: ForeignTable
    mapping: ColumnMap
    today: date
    day_first: bool | None
    taken: dict[tuple[Cell, int], str]
    decimal_mark: str
    units: dict[int, ColumnUnit]
    sizes: Sizes
    turned: dict[int, str] = field(default_factory=dict)
    settled: list[str] = field(default_factory=list)
    words: dict[Word, None] = field(default_factory=dict)
    found: list[FoundReading] = field(default_factory=list)
    refused: list[Refused] = field(default_factory=list)


def preview(
    table: ForeignTable, study: Study, mapping: ColumnMap, today: date, already: Iterable[Observation] = ()
) -> Preview:
    """What the table holds under this mapping, given the readings that the log has already."""
    asks = _asks(mapping)
    dates = table.column(mapping.observed_on) if isinstance(mapping.observed_on, int) else []
    if mapping.day_first is None and is_open(dates):
        example = next(text for text in dates if is_open([text]))
        asks.append(f"In the days, such as {example!r}: does the day or the month come first?")
    units = _units(table, study, mapping)
    asks += [
        f"In which unit are the numbers under {table.head[column]!r}? {study.plan.attribute(key).label} is kept in "
        f"{study.plan.attribute(key).unit}, and {units[column].asked!r} cannot be turned into that."
        for column, key in mapping.attributes
        if units[column].asked
    ]
    if asks:
        return Preview(asks=tuple(asks))
    already = list(already)
    taken = {(row.cell, row.replicate): f"the log has {row.value!r} there already" for row in already}
    order = mapping.day_first if mapping.day_first is not None else order_of(dates)
    mark = decimal_mark_of(text for row in table.rows for _, _, text in _values(mapping, row))
    work = _Work(study, table, mapping, today, order, taken, mark, units, Sizes(study.plan, already))
    for line, row in zip(table.lines, table.rows, strict=True):
        _one_row(work, line, row)
    habit = decided(table.name, work.settled, mark)
    told = [
        *_unexplained(work),
        *([habit.sentence] if habit else []),
        *_units_told(work),
        *_off_schedule_told(work),
        *_unused_told(work),
    ]
    return Preview(tuple(work.found), tuple(work.refused), (), tuple(told), tuple(work.words))


def refused_csv(refused: Iterable[Refused]) -> str:
    """The refused cells as CSV, to be mended and brought again."""
    rows = [(str(one.line), one.column, one.text, one.reason) for one in refused]
    return as_csv([("line", "column", "text", "reason"), *rows])


def _units(table: ForeignTable, study: Study, mapping: ColumnMap) -> dict[int, ColumnUnit]:
    answered = dict(mapping.units)
    return {
        column: unit_of_column(study.plan.attribute(key), table.head[column], answered.get(column))
        for column, key in mapping.attributes
    }


def _asks(mapping: ColumnMap) -> list[str]:
    asks = [f"Which column holds the {word}?" for name, word in NEEDED.items() if getattr(mapping, name) in (None, "")]
    if mapping.observed_on in (None, ""):
        asks.append("Which column holds the day on which it was seen?")
    if not mapping.attributes and None in (mapping.attribute, mapping.value):
        asks.append("Which columns hold readings? Name one attribute for each, or the columns of attribute and value.")
    return asks


def _one_row(work: _Work, line: int, row: tuple[str, ...]) -> None:
    """Read one row; what belongs to the whole row is refused once, a value by itself."""
    filled = [cell for cell in _values(work.mapping, row) if cell[2].strip()]
    if not filled:
        return
    if line in work.table.overlong:
        work.refused.append(Refused(line, "", "; ".join(cell for cell in row if cell), OVERLONG))
        return
    try:
        place, day, replicate = _place(work, row)
    except _Faulty as fault:
        work.refused.append(Refused(line, fault.column, fault.text, str(fault.error)))
        return
    observer, note = (_text(row, origin) for origin in (work.mapping.observer, work.mapping.note))
    for column, name, text in filled:
        try:
            attribute = attribute_of(work.study.plan, name)
            bare = _grade(work, attribute, plain_answer(attribute, text))
            value = with_unit(_unit_of(work, row, column, attribute), _in_habit(work, attribute, bare))
            if work.table.by_commas and attribute.numeric and _cut(work, row, column):
                raise EntryError(CUT)
            cell = work.study.cell(*place, attribute.key)
            if (cell, replicate) in work.taken:
                msg = f"{work.study.words(cell)}: {work.taken[cell, replicate]}."
                raise EntryError(msg)
            reading = read_value(attribute, value)
            work.sizes.check(cell, attribute, reading)
        except KitError as error:
            work.refused.append(Refused(line, work.table.head[column], text, str(error)))
        else:
            if value != bare and column not in work.turned and reading.number is not None:
                work.turned[column] = f"{value} becomes {said(attribute, reading.number)}"
            work.taken[cell, replicate] = f"line {line} of this table holds it already"
            worded = f"noted as {text.strip()!r}" if attribute.kind == "grade" and is_word(text) else ""
            told = "; ".join(filter(None, [worded, note]))
            work.found.append(FoundReading(line, *place, attribute.key, reading.text, day, observer, told, replicate))


def _unit_of(work: _Work, row: tuple[str, ...], column: int, attribute: Attribute) -> str:
    """The unit of a bare number in this row, "" for the attribute's own."""
    if column in work.units:
        return work.units[column].unit
    return unit_of_row(attribute, _text(row, work.mapping.unit))


def _in_habit(work: _Work, attribute: Attribute, text: str) -> str:
    """A value that can be read two ways, as the other values of the table have it."""
    if not work.decimal_mark or not attribute.numeric or not can_be_two(text):
        return text
    try:
        read_value(attribute, text)
        either = False
    except AmbiguousError:
        either = True
        work.settled.append(text)
    except KitError:
        return text
    return in_habit(text, work.decimal_mark) if either or work.decimal_mark not in text else text


def _cut(work: _Work, row: tuple[str, ...], column: int) -> bool:
    """Whether a value may have been cut at its decimal comma: beside it stand digits in a column of words."""
    words = (work.mapping.note, work.mapping.observer)
    beside = column + 1
    return (
        beside < len(row)
        and (beside in words or beside not in _used(work.mapping))
        and may_be_cut(row[column], row[beside])
    )


class _Faulty(Exception):  # noqa: N818  # it never leaves this module
    def __init__(self, column: str, text: str, error: KitError) -> None:
        super().__init__(str(error))
        self.column, self.text, self.error = column, text, error


def _place(work: _Work, row: tuple[str, ...]) -> tuple[tuple[str, str, str], date, int]:
    mapping, study = work.mapping, work.study
    batch = _read(work, row, mapping.batch, study.batch)
    kept = work.table.head[mapping.condition] if isinstance(mapping.condition, int) else ""
    condition = _read(work, row, mapping.condition, lambda text: _condition(work, kept, text))
    day = _read(work, row, mapping.observed_on, lambda text: _past_day(text, work.day_first, work.today))
    if mapping.time_point is None:
        point = _read(work, row, mapping.observed_on, lambda _: pull_on(study, day))
    else:
        head = work.table.head[mapping.time_point] if isinstance(mapping.time_point, int) else ""
        point = _read(work, row, mapping.time_point, lambda text: pull_of(study, counted_pull(head, text)))
    replicate = _read(work, row, mapping.replicate, _replicate) if _text(row, mapping.replicate) else 1
    return (batch, condition, point), day, replicate


def _condition(work: _Work, head: str, text: str) -> str:
    """The key of the place that a cell names, by itself or as the maker said what she calls so."""
    try:
        return condition_of(work.study, in_celsius(head, text))
    except EntryError:
        word = word_of("", text)
        work.words[word] = None
        if meant := dict(work.mapping.meanings).get(word):
            return meant
        raise


def _grade(work: _Work, attribute: Attribute, text: str) -> str:
    """The grade that a word stands for; any other text, and a word of which nothing was said, as it is."""
    if attribute.kind != "grade" or not is_word(text):
        return text
    if own := own_grade(attribute, text):
        return own
    word = word_of(attribute.key, text)
    work.words[word] = None
    return dict(work.mapping.meanings).get(word) or text


def _read(work: _Work, row: tuple[str, ...], origin: Origin, read: Callable[[str], Said]) -> Said:
    text = _text(row, origin)
    try:
        if not text:
            msg = "The cell is empty. Fill it in, or leave the row out."
            raise EntryError(msg)
        return read(text)
    except KitError as error:
        raise _Faulty(work.table.head[origin] if isinstance(origin, int) else "", text, error) from error


def _replicate(text: str) -> int:
    return read_replicate(read_count(text, "measurement", "Write 1, 2 and so on, or leave it empty."))


def _past_day(text: str, day_first: bool | None, today: date) -> date:
    day = read_day(text, day_first)
    if day > today:
        msg = f"{day} has not come yet. Check the year and the order of day and month."
        raise EntryError(msg)
    return day


def _values(mapping: ColumnMap, row: tuple[str, ...]) -> list[tuple[int, str, str]]:
    if mapping.attributes:
        return [(column, key, row[column]) for column, key in mapping.attributes]
    column = mapping.value if isinstance(mapping.value, int) else 0
    return [(column, _text(row, mapping.attribute), _text(row, mapping.value))]


def _text(row: tuple[str, ...], origin: Origin) -> str:
    if origin is None:
        return ""
    return row[origin].strip() if isinstance(origin, int) else origin.strip()


def _units_told(work: _Work) -> list[str]:
    """What was turned, and how; where brackets hold words, in which unit the numbers were taken."""
    told = []
    answered = dict(work.mapping.units)
    for column, key in work.mapping.attributes:
        attribute, head, unit = work.study.plan.attribute(key), work.table.head[column], work.units[column]
        if column in work.turned and unit.unit:
            where = "as you said" if column in answered else "by their heading"
            told.append(f"The numbers under {head!r} are in {unit.unit}, {where}: {work.turned[column]}.")
        elif unit.words:
            told.append(
                f"The numbers under {head!r} are taken as {attribute.unit}. If they are in another unit, say so."
            )
    if work.mapping.unit is not None:
        turned = (words.replace(" becomes", ", which becomes") for words in work.turned.values())
        told += [f"Numbers were turned by the unit in their row, such as {words}." for words in turned]
    return told


def _unexplained(work: _Work) -> list[str]:
    meanings = dict(work.mapping.meanings)
    left = dict.fromkeys(word.text for word in work.words if not meanings.get(word))
    if not left:
        return []
    return [f"Say above what {', '.join(map(repr, left))} stand{'s' if len(left) == 1 else ''} for, or it is refused."]


def _off_schedule_told(work: _Work) -> list[str]:
    pulls = {(one.batch, one.condition, one.time_point, one.observed_on) for one in work.found}
    off = [pull for pull in pulls if off_schedule(work.study, work.study.plan.time_point(pull[2]), pull[3])]
    began = work.study.started_on
    before = sum(pull[3] < began for pull in pulls)
    told = [f"{len(off)} of {len(pulls)} pulls were early or late; their notes will say so."] if off else []
    return [*told, *([f"{before} of them were before the study began, on {began}: check the days."] if before else [])]


def _used(mapping: ColumnMap) -> set[int]:
    fields = (getattr(mapping, one.name) for one in dataclass_fields(mapping))
    return {*(one for one in fields if type(one) is int), *(column for column, _ in mapping.attributes)}


def _unused_told(work: _Work) -> list[str]:
    """The columns with something in them that the mapping leaves out."""
    used = _used(work.mapping)
    unused = [
        name for number, name in enumerate(work.table.head) if number not in used and any(work.table.column(number))
    ]
    return (
        [f"Not brought in: {', '.join(map(repr, unused))}. Choose above what they are, if they matter."]
        if unused
        else []
    )


def with_schedule(reading: FoundReading, study: Study) -> FoundReading:
    """The reading with "6 days late" before its note where it was off its schedule."""
    return replace(reading, note=note_with_schedule(study, reading.time_point, reading.observed_on, reading.note))
