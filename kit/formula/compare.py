"""Put versions of a formula side by side: line by line, substance by substance, and in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.formula.expansion import expand
from kit.formula.versions import version_label

if TYPE_CHECKING:
    from collections.abc import Sequence

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
    """Every material of any version, in the order in which they first occur."""
    amounts: list[dict[tuple[str, str], float]] = []
    for version in versions:
        found: dict[tuple[str, str], float] = {}
        for p, _, line, percent in version.each_line():
            if line.material.strip():
                key = (version.phases[p].name, line.material)
                found[key] = found.get(key, 0.0) + (percent or 0.0)
        amounts.append(found)
    keys = dict.fromkeys(key for found in amounts for key in found)
    return [ComparedLine(phase, name, tuple(found.get((phase, name)) for found in amounts)) for phase, name in keys]


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
