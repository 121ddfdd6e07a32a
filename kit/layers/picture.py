"""The whole formula at every ratio as stacked bands, exact from a few points a line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kit.layers.ratio import RatioPath
    from kit.library.ingredient import PhaseKind


@dataclass(frozen=True, slots=True)
class Band:
    """One line of the formula: points (oil, lower edge, upper edge), straight between them. [% w/w of the whole]"""

    name: str
    kind: PhaseKind
    points: tuple[tuple[float, float, float], ...]


def stacked_bands(path: RatioPath) -> list[Band]:
    """The lines stacked from the first upwards, from no oil layer to no water layer.

    A line that would fall below zero is drawn as nothing there; each line is straight between the ratios at
    which some line that takes the rest of its layer passes zero.
    """
    zeros = [-b / s for b, s, fills in zip(path.base, path.slope, path.fills, strict=True) if fills and s]
    ratios = sorted({0.0, path.most, *(oil for oil in zeros if 0 < oil < path.most)})
    edges = [0.0] * len(ratios)
    bands = []
    for (p, _, line, _), base, slope in zip(path.formula.each_line(), path.base, path.slope, strict=True):
        upper = [edge + max(base + slope * oil, 0.0) for edge, oil in zip(edges, ratios, strict=True)]
        points = tuple(zip(ratios, edges, upper, strict=True))
        bands.append(Band(line.material, path.formula.phases[p].kind, points))
        edges = upper
    return bands
