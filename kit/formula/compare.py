"""Put versions of a formula side by side: line by line, substance by substance, and in words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.formula.differences import LineChange, Standing, differences, standings
from kit.formula.expansion import expand
from kit.formula.phase_names import renamed_phases
from kit.formula.versions import version_label

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula


@dataclass(frozen=True, slots=True)
class ComparedLine:
    """One material in each of the versions: its percent, or None where it does not occur. [% w/w]"""

    phase: str
    material: str
    percents: tuple[float | None, ...]

    @property
    def change(self) -> float:
        """Last version minus first, counting an absent line as 0. [% w/w]"""
        return (self.percents[-1] or 0.0) - (self.percents[0] or 0.0)


@dataclass(frozen=True, slots=True)
class ComparedSubstance:
    """One substance in each of the versions: its percent, or None where it does not occur. [% w/w]"""

    name: str
    percents: tuple[float | None, ...]

    @property
    def change(self) -> float:
        """Last version minus first, counting an absent substance as 0. [% w/w]"""
        return (self.percents[-1] or 0.0) - (self.percents[0] or 0.0)


def compare(versions: Sequence[Formula]) -> list[ComparedLine]:
    """Every material of any version, in the order in which they first occur; a phase has the name it has last."""
    amounts: list[dict[tuple[str, str], float]] = []
    for version, called in zip(versions, _last_names(versions), strict=True):
        found: dict[tuple[str, str], float] = {}
        for p, _, line, percent in version.each_line():
            if line.material.strip():
                key = (called.get(version.phases[p].name, version.phases[p].name), line.material)
                found[key] = found.get(key, 0.0) + (percent or 0.0)
        amounts.append(found)
    keys = dict.fromkeys(key for found in amounts for key in found)
    return [ComparedLine(phase, name, tuple(found.get((phase, name)) for found in amounts)) for phase, name in keys]


def _last_names(versions: Sequence[Formula]) -> list[dict[str, str]]:
    """For each version, what each of its phases is called in the last one."""
    names: list[dict[str, str]] = [{}]
    for before, after in reversed(list(pairwise(versions))):
        step = {phase.name: phase.name for phase in before.phases} | renamed_phases(before, after)
        names.insert(0, {old: names[0].get(new, new) for old, new in step.items()})
    return names[: len(versions)]


def compare_substances(versions: Sequence[Formula], materials: Sequence[Materials]) -> list[ComparedSubstance]:
    """Every substance of any version, expanded through blends and stocks; the most of the last version first.

    Parameters
    ----------
    materials
        Of each version, for a stock may have changed between them.

    Raises
    ------
    CompositionError
        A blend or stock that is part of itself.
    """
    amounts = [expand(version, known) for version, known in zip(versions, materials, strict=True)]
    names = dict.fromkeys(name for found in reversed(amounts) for name in found)
    return [ComparedSubstance(name, tuple(found.get(name) for found in amounts)) for name in names]


def comparison_table(versions: Sequence[Formula]) -> pd.DataFrame:
    """The versions as a DataFrame: % w/w of each, and the change from the first to the last."""
    import pandas as pd

    lines = compare(versions)
    columns: dict[str, list[object]] = {
        "phase": [line.phase for line in lines],
        "ingredient": [line.material for line in lines],
    }
    for n, version in enumerate(versions):
        columns[f"{version_label(version)}, % w/w"] = [line.percents[n] for line in lines]
    columns["change"] = [line.change for line in lines]
    return pd.DataFrame(columns)


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
