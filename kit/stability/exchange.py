"""Readings that come from elsewhere or go there: CSV that comes back as it went, and rows taken one by one."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date, datetime
from itertools import compress
from typing import TYPE_CHECKING

from kit.errors import EntryError, KitError
from kit.numbers import readings
from kit.rounding import all_digits
from kit.stability.reading import read_kept, read_value
from kit.stability.study import WITHDRAWN, Cell, Observation, Study, read_count, read_date, read_replicate, storable
from kit.tables import Schema, Table, as_csv, read_table, table_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    Place = tuple[Cell, int]

#: "reading" numbers the rows of the file; "replaces" names the reading that a row corrects. "value" is as it was
#: typed; "number" is the same in "unit". These two and "recorded_by" are for who looks at the file; they are not
#: read back.
COLUMNS = (
    "reading",
    "batch",
    "condition",
    "time_point",
    "attribute",
    "value",
    "number",
    "unit",
    "observed_on",
    "observer",
    "note",
    "replaces",
    "reason",
    "recorded_at",
)
#: Written only where a reading needs them.
EXTRA = ("replicate", "recorded_by")
#: What a row from elsewhere must hold.
NEEDED = ("batch", "condition", "time_point", "attribute", "value", "observed_on")
#: A value is read by its own attribute, so no habit of the file settles it.
TABLE = Schema(
    "a table of readings",
    (*COLUMNS, *EXTRA),
    needed=("reading", *NEEDED),
    numbers=("value",),
    days=("observed_on",),
    unbounded=(),
    words=("unit", "observer", "note", "reason"),
)
COUNT = "Write a whole number, such as 12."
FROM_ONE = "Write a whole number from 1 on, or leave it empty."


def to_rows(study: Study, observations: Iterable[Observation]) -> list[list[str]]:
    """The names of the columns, then a row of texts for each reading, corrected ones too, values as typed."""
    rows = list(observations)
    needed = (any(row.replicate > 1 for row in rows), any(row.recorded_by for row in rows))
    columns = [*COLUMNS, *compress(EXTRA, needed)]
    table = [columns]
    for row in rows:
        fields = {**asdict(row), "reading": row.id, "unit": study.plan.attribute(row.attribute).unit}
        fields["number"] = None if row.number is None else all_digits(row.number)
        table.append(["" if fields[name] is None else str(fields[name]) for name in columns])
    return table


def to_csv(study: Study, observations: Iterable[Observation]) -> str:
    """The readings as CSV. What a spreadsheet might run gets an apostrophe in front; reading takes it away."""
    return as_csv(to_rows(study, observations), by_hand=False)


def from_csv(data: bytes, name: str, study: Study) -> list[Observation]:
    """The readings in the bytes of a CSV file, checked against the study. Their ids are the file's own.

    Raises
    ------
    FileFaultsError
        With every fault, each by its row as a spreadsheet counts it.
    """
    return _checked(read_table(data, name, TABLE), study)


def from_rows(rows: Sequence[Sequence[str]], name: str, study: Study) -> list[Observation]:
    """The readings in rows of cells, such as those of a workbook's sheet; see :func:`from_csv`."""
    return _checked(table_of(rows, name, TABLE), study)


def _checked(table: Table, study: Study) -> list[Observation]:
    found: dict[int, Observation] = {}
    taken: dict[tuple[Cell, int], int] = {}
    replaced: set[int] = set()
    for number, cells in table.rows:
        try:
            row = _row(cells, study)
            _check_chain(row, found, taken, replaced)
        except KitError as error:
            table.fault(number, str(error))
        else:
            found[row.id] = row
    table.finish(None)
    return list(found.values())


def _row(fields: Mapping[str, str], study: Study) -> Observation:
    texts = {column: storable(fields.get(column, ""), column) for column in (*COLUMNS, "replicate")}
    cell = study.cell(*(texts[column] for column in ("batch", "condition", "time_point", "attribute")))
    kept = readings(texts["number"])[0] if texts["number"] else None  # written by the kit
    reading = read_kept(study.plan.attribute(cell.attribute), texts["value"], kept)
    recorded_at = texts["recorded_at"]
    try:
        datetime.fromisoformat(recorded_at or "2026-01-01T00:00:00+00:00")
    except ValueError as error:
        msg = f"recorded_at: {recorded_at!r} is not a moment. Write 2026-03-09T18:30:00+00:00, or leave it empty."
        raise EntryError(msg) from error
    if reading.text == WITHDRAWN and not texts["replaces"]:
        msg = f"{WITHDRAWN!r} takes back an earlier reading. Say in the column replaces which one."
        raise EntryError(msg)
    return Observation(
        id=read_count(texts["reading"], "reading", COUNT),
        study_id=study.id,
        **asdict(cell),
        value=reading.text,
        number=reading.number,
        observed_on=read_date(texts["observed_on"], "observed_on"),
        observer=texts["observer"],
        note=texts["note"],
        replaces=read_count(texts["replaces"], "reading", COUNT) if texts["replaces"] else None,
        reason=texts["reason"],
        recorded_at=recorded_at,
        replicate=read_replicate(read_count(texts["replicate"] or "1", "replicate", COUNT)),
    )


def _check_chain(
    row: Observation, found: Mapping[int, Observation], taken: dict[tuple[Cell, int], int], replaced: set[int]
) -> None:
    msg, place = "", (row.cell, row.replicate)
    if row.id in found:
        msg = f"reading {row.id} is in the file twice. Give each reading a number of its own."
    elif row.replaces is None:
        if row.reason:
            msg = f"reading {row.id} gives a reason but does not say which reading it replaces."
        elif place in taken:
            msg = f"reading {row.id} is of the same thing as reading {taken[place]}. Say which replaces which."
    elif not row.reason:
        msg = f"reading {row.id} replaces reading {row.replaces} without a reason. Say why."
    elif row.replaces not in found or (found[row.replaces].cell, found[row.replaces].replicate) != place:
        msg = f"reading {row.id} replaces reading {row.replaces}, which is not an earlier row of the same thing."
    elif row.replaces in replaced:
        msg = f"reading {row.id} replaces reading {row.replaces}, which another row has replaced already."
    if msg:
        raise EntryError(msg)
    if row.replaces is None:
        taken[place] = row.id
    else:
        replaced.add(row.replaces)


@dataclass(frozen=True, slots=True)
class RefusedRow:
    """A row that was not taken: its number from 1, what it held, and why."""

    number: int
    row: Mapping[str, object]
    reason: str


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What an import added (in a preview: would add) and what it refused."""

    added: tuple[Observation, ...] = ()
    refused: tuple[RefusedRow, ...] = ()
    rows: tuple[tuple[int, Mapping[str, object]], ...] = ()

    @property
    def sentence(self) -> str:
        """The report in one sentence."""
        refused = f"; {len(self.refused)} refused" if self.refused else ""
        return f"{len(self.added)} of {len(self.added) + len(self.refused)} rows taken{refused}."

    def without(self, taken: Mapping[Place, str]) -> ImportReport:
        """The report with the rows refused whose place has a reading already."""
        added, kept, refused = [], [], list(self.refused)
        for observation, (number, row) in zip(self.added, self.rows, strict=True):
            reason = taken.get((observation.cell, observation.replicate))
            if reason is None:
                added.append(observation)
                kept.append((number, row))
            else:
                refused.append(RefusedRow(number, row, reason))
        refused.sort(key=lambda one: one.number)
        return ImportReport(tuple(added), tuple(refused), tuple(kept))


def read_rows(study: Study, given: Iterable[Mapping[str, object]], now: str, user: str) -> ImportReport:
    """Read each row as the study wants it; two rows of the same thing are one too many."""
    added: list[Observation] = []
    kept: list[tuple[int, Mapping[str, object]]] = []
    refused: list[RefusedRow] = []
    seen: dict[Place, int] = {}
    for number, row in enumerate(given, start=1):
        try:
            observation = _observation(study, row, now, user)
            place = (observation.cell, observation.replicate)
            if place in seen:
                msg = f"{study.words(observation.cell)}, is in row {seen[place]} already. Keep one of the two."
                raise EntryError(msg)
        except KitError as error:
            refused.append(RefusedRow(number, row, str(error)))
        else:
            seen[place] = number
            added.append(observation)
            kept.append((number, row))
    return ImportReport(tuple(added), tuple(refused), tuple(kept))


def _observation(study: Study, row: Mapping[str, object], now: str, user: str) -> Observation:
    missing = [name for name in NEEDED if row.get(name) is None or not str(row[name]).strip()]
    if missing:
        msg = f"There is no {', '.join(missing).replace('_', ' ')}. Fill it in, or leave the row out."
        raise EntryError(msg)
    cell = study.cell(*(storable(str(row[name]), name) for name in NEEDED[:4]))
    reading = read_value(study.plan.attribute(cell.attribute), row["value"])
    return Observation(
        id=0,
        study_id=study.id,
        **asdict(cell),
        value=reading.text,
        number=reading.number,
        observed_on=_day(row["observed_on"]),
        observer=storable(str(row.get("observer") or ""), "The observer"),
        note=storable(str(row.get("note") or ""), "The note"),
        recorded_at=now,
        replicate=read_replicate(read_count(str(row.get("replicate") or 1).strip(), "replicate", FROM_ONE)),
        recorded_by=user,
    )


def _day(value: object) -> date:
    if isinstance(value, datetime):
        return value.date()
    return read_date(value if isinstance(value, date) else str(value), "observed on")
