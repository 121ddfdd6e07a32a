"""Every line of several versions of a formula as one row, followed from version to version."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.formula.differences import LineChange, Standing, differences, renamed_phases, standings

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.formula.model import Formula


@dataclass(frozen=True, slots=True)
class LineRow:
    """One material through several versions, first to last; None where it does not occur."""

    material: str
    standings: tuple[Standing | None, ...]

    @property
    def percents(self) -> tuple[float | None, ...]:
        """In each version. [% w/w]"""
        return tuple(standing.percent if standing is not None else None for standing in self.standings)

    @property
    def overall(self) -> LineChange:
        """From the first version to the last."""
        return LineChange(self.material, self.standings[0], self.standings[-1])

    @property
    def words(self) -> str:
        """What happened to it from the first version to the last, also where it came and went."""
        if self.standings[0] is None and self.standings[-1] is None:
            return "± added and removed again"
        between = any(LineChange(self.material, a, b).kinds for a, b in pairwise(self.standings) if a or b)
        return self.overall.words or ("↺ changed and changed back" if between else "")


def line_rows(versions: Sequence[Formula]) -> tuple[LineRow, ...]:
    """Every line of any version as a row: those of the last version in its order, then those that are gone."""
    rows: list[list[Standing | None]] = [[standing] for version in versions[:1] for standing in standings(version)]
    for count, (before, after) in enumerate(pairwise(versions), start=1):
        called = renamed_phases(before, after)
        rows = [[_called(standing, called) for standing in row] for row in rows]
        at = {row[-1].place: row for row in rows if row[-1] is not None}
        resting = [row for row in rows if row[-1] is None]
        for change in differences(before, after).lines:
            if change.before is not None:
                row = at[change.before.place]
            else:
                back = _comes_back(resting, change.material)
                row = back if back is not None else [None] * count
                if back is None:
                    rows.append(row)
            row.append(change.after)
        rows = [[*row, None][: count + 1] for row in rows]
    last = sorted((row for row in rows if row[-1] is not None), key=lambda row: row[-1].place if row[-1] else (0, 0))
    return tuple(
        LineRow(next(s.line.material.strip() for s in reversed(row) if s is not None), tuple(row))
        for row in (*last, *(row for row in rows if row[-1] is None))
    )


def _called(standing: Standing | None, called: Mapping[str, str]) -> Standing | None:
    return None if standing is None else replace(standing, phase=called.get(standing.phase, standing.phase))


def _comes_back(resting: list[list[Standing | None]], material: str) -> list[Standing | None] | None:
    """The row of a material that was there in an older version, taken from those that rest."""
    for row in resting:
        there = next(standing for standing in reversed(row) if standing is not None)
        if there.line.material.strip().casefold() == material.casefold():
            resting[:] = [other for other in resting if other is not row]
            return row
    return None
