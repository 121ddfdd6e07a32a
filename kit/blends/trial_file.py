"""The file of a trial, a CSV file of hers: read, written, and scores pasted into it.

A row for each bottle, a column for each part (its name and " %") and one for each score. Above the bottles stand rows
called least and most, with the bounds, and aim, low, high, target, steepness and importance, with the goals; each may
be missing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from kit.blends.designs import Bottle
from kit.blends.desirability import AIMS, Goal
from kit.blends.region import BlendRegion, Part
from kit.blends.trial import FIRST, NOTE, BlendTrial
from kit.errors import EntryError, Fault, FileFaultsError, KitError
from kit.numbers import read_number
from kit.rounding import all_digits
from kit.saving import save_unless_same
from kit.spreadsheet_text import unguarded
from kit.tables import MOST_ABOVE, Schema, Table, as_csv, read_file, read_table, rows_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.findings import Finding
    from kit.saving import Seen

#: The rows above the bottles.
BOUNDS, GOALS = ("least", "most"), ("aim", "low", "high", "target", "steepness", "importance")
#: How far the shares of a bottle in a file may be from 100 %, and beyond their bounds: they are rounded there. [%]
ROUNDED = 0.1
PERCENT = " %"
#: The name that the file of a trial bears where nobody names another.
TRIAL_FILE = "blend_trial.csv"


def read_trial(path: str | Path, notes: list[Finding] | None = None) -> BlendTrial:
    """Read the file of a trial.

    Raises
    ------
    StoreError
        There is no such file, or it cannot be opened.
    FileFaultsError
        Every fault in it, with its row (counted as a spreadsheet does) and column.
    """
    path = Path(path)
    return trial_of(read_file(path), path.name, notes)


def save_trial(trial: BlendTrial, path: str | Path, *, seen: Seen | None = None) -> None:
    """Write the file of a trial, whole or not at all; what it held goes to its earlier saves.

    Raises
    ------
    ChangedOnDiskError
        The file is not as it was ``seen``; nothing was written.
    StoreError
        It cannot be written; the old file is then untouched.
    """
    name = Path(path).name
    save_unless_same(
        Path(path), trial_csv(trial).encode("utf-8", "replace"), lambda data: trial_of(data, name, []), seen=seen
    )


def trial_csv(trial: BlendTrial) -> str:
    """The text of the file of a trial."""
    scored, parts = list(trial.scores), trial.region.parts
    empty, blank = [""] * len(parts), [""] * len(scored)
    rows = [[*FIRST, *(f"{part.name}{PERCENT}" for part in parts), *scored, NOTE]]
    rows += [["least", "", *(all_digits(part.low) for part in parts), *blank, ""]]
    rows += [["most", "", *(all_digits(part.high) for part in parts), *blank, ""]]
    if trial.goals:
        goals = [trial.goals.get(name) for name in scored]
        for what in GOALS:
            values = ["" if goal is None else getattr(goal, what) for goal in goals]
            if any(value not in ("", None, 1.0) for value in values) or what in GOALS[:3]:
                rows.append([what, "", *empty, *map(_text, values), ""])
    for n, bottle in enumerate(trial.bottles):
        values = [_text(trial.scores[name][n]) for name in scored]
        shares = [all_digits(round(share, 6)) for share in bottle.point]
        rows.append([str(bottle.number), bottle.code, *shares, *values, bottle.note])
    return as_csv(rows)


def _text(value: object) -> str:
    return "" if value is None else all_digits(value) if isinstance(value, float) else str(value)


def trial_of(data: bytes, name: str, notes: list[Finding] | None = None) -> BlendTrial:
    """The trial that these bytes of a CSV file hold; see :func:`read_trial`."""
    spelt = _headings(data, name)
    parts = tuple(key for key in spelt if key.endswith(PERCENT))
    scored = tuple(key for key in spelt if key not in parts and key not in (*FIRST, NOTE))
    schema = Schema(
        "a trial of blends",
        (*FIRST, *parts, *scored, NOTE),
        needed=("bottle",),
        numbers=(*parts, *scored),
        unbounded=scored,
        number_texts=lambda cell: () if cell in AIMS else (cell,),
        unique=FIRST,
    )
    table = read_table(data, name, schema)
    if not parts and not table.faults:
        table.fault(
            1, f"no column is a part of the blend. Head each with its name and the sign %, such as 'Squalane{PERCENT}'."
        )
    reader = _Reader(table, parts, scored, spelt)
    trial = reader.read() if not table.faults else None
    table.finish(notes)
    assert trial is not None
    return trial


def _headings(data: bytes, name: str) -> dict[str, str]:
    """The names of the columns, in small letters → as they are written; a title above them is passed."""
    rows = [[" ".join(unguarded(cell.strip()).split()) for cell in row] for row in rows_of(data, name)]
    rows = [row for row in rows if any(row)][:MOST_ABOVE] or [[]]
    head = next((row for row in rows if {cell.casefold() for cell in row} & set(FIRST)), rows[0])
    return {cell.casefold(): cell for cell in head if cell}


@dataclass
class _Reader:
    """Reads the rows of one file, gathering what is wrong with them."""

    table: Table
    parts: tuple[str, ...]
    scored: tuple[str, ...]
    spelt: Mapping[str, str]

    def read(self) -> BlendTrial | None:
        """The trial, or None where a fault was noted."""
        rows = {
            row["bottle"].casefold(): (number, row) for number, row in self.table.rows if self._is_known(number, row)
        }
        region = self._region(rows)
        goals = self._goals(rows)
        bottles, scores = [], []
        for number, row in (pair for key, pair in rows.items() if key not in (*BOUNDS, *GOALS)):
            point = tuple(self._number(number, row, part, 0, 100) or 0.0 for part in self.parts)
            if region is not None and abs(sum(point) - 100) > ROUNDED:
                self.table.fault(number, f"its shares add to {sum(point):.6g} %, not 100 %. Mend one of them.")
            elif region is not None and not region.holds(point, ROUNDED):
                self.table.fault(
                    number, "its blend lies outside the bounds in the rows least and most. Mend one of the two."
                )
            bottles.append(Bottle(int(row["bottle"]), row.get("code", ""), _to_100(point), row.get(NOTE, "")))
            scores.append([self._number(number, row, score) for score in self.scored])
        if self.table.faults or region is None:
            return None
        columns = zip(*scores, strict=True) if scores else ((),) * len(self.scored)
        named = {self.spelt[score]: column for score, column in zip(self.scored, columns, strict=True)}
        try:
            return BlendTrial(region, _coded(bottles), named, goals)
        except KitError as error:
            self.table.faults.append(Fault("the whole file", str(error)))
            return None

    def _is_known(self, number: int, row: Mapping[str, str]) -> bool:
        what = row["bottle"].casefold()
        if what in (*BOUNDS, *GOALS) or (what.isdecimal() and len(what) < 6):
            return True
        words = f"{row['bottle']!r} is neither a bottle's number nor one of {', '.join((*BOUNDS, *GOALS))}."
        self.table.fault(number, words, "bottle")
        return False

    def _number(
        self, row: int, cells: Mapping[str, str], column: str, low: float = float("-inf"), high: float = float("inf")
    ) -> float | None:
        text = cells.get(column, "")
        if not text:
            return None
        try:
            return read_number(text, low=low, high=high, decimal_mark=self.table.decimal_mark)
        except KitError as error:
            self.table.fault(row, str(error), self.spelt[column])
            return None

    def _region(self, rows: Mapping[str, tuple[int, dict[str, str]]]) -> BlendRegion | None:
        ends: list[list[float | None]] = []
        for what in BOUNDS:
            number, row = rows.get(what, (1, {}))
            ends.append([self._number(number, row, part, 0, 100) for part in self.parts])
        try:
            return BlendRegion(
                tuple(
                    Part(self.spelt[part].removesuffix(PERCENT).strip(), low or 0.0, 100.0 if high is None else high)
                    for part, low, high in zip(self.parts, *ends, strict=True)
                )
            )
        except KitError as error:
            self.table.faults.append(Fault("the bounds", str(error)))
            return None

    def _goals(self, rows: Mapping[str, tuple[int, dict[str, str]]]) -> dict[str, Goal]:
        goals = {}
        number, aims = rows.get("aim", (1, {}))
        for score in self.scored:
            aim = aims.get(score, "")
            if not aim:
                continue
            ends = [self._number(*rows.get(end, (number, {})), score) for end in GOALS[1:]]
            low, high, target, steepness, importance = ends
            try:
                if low is None or high is None:
                    msg = "a goal needs a number in the rows low and high."
                    raise EntryError(msg)
                usual = [1.0 if one is None else one for one in (steepness, importance)]
                goals[self.spelt[score]] = Goal(aim, low, high, target, *usual)  # type: ignore[arg-type]
            except KitError as error:
                self.table.fault(number, str(error), self.spelt[score])
        return goals


def _to_100(point: tuple[float, ...]) -> tuple[float, ...]:
    """Shares as a file rounded them, brought to 100 % again."""
    whole = sum(point)
    return tuple(share * 100 / whole for share in point) if whole else point


def _coded(bottles: Sequence[Bottle]) -> tuple[Bottle, ...]:
    """The bottles, those without a code with their number as one."""
    taken = {bottle.code for bottle in bottles}
    free = (str(n) for n in count(1) if str(n) not in taken)
    return tuple(bottle if bottle.code else replace(bottle, code=next(free)) for bottle in bottles)


def pasted_scores(text: str, trial: BlendTrial) -> BlendTrial:
    r"""The trial with scores that were pasted: a row for each bottle, by its code or number, under names of scores.

    Raises
    ------
    FileFaultsError
        Every fault, with its row.
    EntryError
        There is nothing to read.

    Examples
    --------
    >>> from kit.blends.designs import simplex_lattice
    >>> region = BlendRegion((Part("Squalane"), Part("Coco-Caprylate")))
    >>> trial = BlendTrial(region, simplex_lattice(region, 1).bottles())
    >>> pasted_scores("bottle;slip\n1;6,5\n2;4", trial).scores
    {'slip': (6.5, 4.0)}
    """
    data = text.strip().encode()
    if not data:
        msg = "Nothing was pasted. Copy the rows with their heading, a row for each bottle."
        raise EntryError(msg)
    spelt = _headings(data, "what was pasted")
    known = {name.casefold(): name for name in trial.scores}
    scored = tuple(key for key in spelt if key not in (*FIRST, NOTE) and not key.endswith(PERCENT))
    columns = (*FIRST, *(key for key in spelt if key not in FIRST))
    schema = Schema("scores", columns, numbers=scored, unique=FIRST)
    table = read_table(data, "what was pasted", schema)
    by = next((key for key in ("code", "bottle") if key in table.columns), "")
    if not by and not table.faults:
        table.fault(
            1, "its heading names neither 'bottle' nor 'code'. Head one column so, and the others by what was scored."
        )
    if by and not scored:
        table.fault(1, "there is no column of scores. Head one by what was scored.")
    places = {(bottle.code if by == "code" else str(bottle.number)): n for n, bottle in enumerate(trial.bottles)}
    found = {key: list(trial.scores.get(known.get(key, ""), (None,) * len(trial.bottles))) for key in scored}
    notes = [bottle.note for bottle in trial.bottles]
    for number, row in table.rows if by else ():
        if row[by] not in places:
            table.fault(number, f"no bottle has the {by} {row[by]!r}.", by)
            continue
        notes[places[row[by]]] = row.get(NOTE, "") or notes[places[row[by]]]
        for key in scored:
            if row.get(key, ""):
                try:
                    found[key][places[row[by]]] = read_number(row[key], decimal_mark=table.decimal_mark)
                except KitError as error:
                    table.fault(number, str(error), spelt[key])
    if table.faults:
        raise FileFaultsError(table.name, table.faults)
    noted = (replace(bottle, note=note) for bottle, note in zip(trial.bottles, notes, strict=True))
    trial = replace(trial, bottles=tuple(noted))
    for key, values in found.items():
        trial = trial.with_scores(known.get(key, spelt[key]), values)
    return trial


def demo_trial() -> BlendTrial:
    """An invented trial of the Tern Lane Workshop: a beard oil of three, twelve bottles, scored for slip and for shine.

    The blends, the panel and the scores are made up.
    """
    from kit.resources import resource_folder

    return read_trial(resource_folder("data") / "demo" / "beard_oil_trial.csv")
