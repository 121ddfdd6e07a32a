"""Three layers: the sizes of all three on a triangle, and the part of it in which every rule holds.

Every line is affine in the size of its layer, so each rule cuts the triangle along a straight line and what is
left is a polygon, found exactly by clipping.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.formula.requirements import EDGE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kit.formula.requirements import Requirement
    from kit.layers.mix import LayerMix
    from kit.library.ingredient import PhaseKind

KINDS: tuple[PhaseKind, ...] = ("water", "oil", "other")

#: One corner of the region: the sizes of the water, oil and other layer. [% w/w of the whole]
Corner = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Region:
    """The part of the triangle in which every rule holds.

    Attributes
    ----------
    corners
        In order around it; empty where no mix satisfies every rule. [% w/w: water, oil, other]
    edges
        Which rule sets the edge from each corner to the next.
    broken_everywhere
        Rules that no mix of the layers can satisfy.
    """

    corners: tuple[Corner, ...]
    edges: tuple[str, ...]
    broken_everywhere: tuple[str, ...]

    @property
    def is_open(self) -> bool:
        """True where at least one mix satisfies every rule."""
        return bool(self.corners) and not self.broken_everywhere


def three_layers(formula_mix: LayerMix, required: Iterable[Requirement]) -> Region:
    """The region of a formula with three layers.

    Parameters
    ----------
    formula_mix
        Made with ``LayerMix.of(formula, KINDS)``, which says in a sentence what a formula lacks for it.

    References
    ----------
    .. [1] I. E. Sutherland and G. W. Hodgman, "Reentrant polygon clipping", Communications of the ACM 17 (1974)
       32-42, doi:10.1145/360767.360802.
    """
    corners: list[Corner] = [(100.0, 0.0, 0.0), (0.0, 100.0, 0.0), (0.0, 0.0, 100.0)]
    edges = ["the other layer has nothing left", "the water layer has nothing left", "the oil layer has nothing left"]
    broken = []
    for name, room in _cuts(formula_mix, required):
        values = [room(corner) for corner in corners] if corners else []
        if all(room(corner) < -EDGE for corner in ((100.0, 0.0, 0.0), (0.0, 100.0, 0.0), (0.0, 0.0, 100.0))):
            broken.append(name)
        corners, edges = _clip(corners, edges, values, name)
    return Region(tuple(corners), tuple(edges), tuple(broken))


def holds_at(formula_mix: LayerMix, required: Iterable[Requirement], sizes: Mapping[PhaseKind, float]) -> list[str]:
    """The names of the rules that are broken when the layers have these sizes. [% w/w of the whole]"""
    corner = (sizes["water"], sizes["oil"], sizes["other"])
    return [name for name, room in _cuts(formula_mix, required) if room(corner) < -EDGE]


class _Room:
    """How much room one rule leaves at a mix: affine in the sizes, known from the three pure corners."""

    def __init__(self, pure: Sequence[float]) -> None:
        self.pure = pure

    def __call__(self, corner: Corner) -> float:
        return sum(size * room for size, room in zip(corner, self.pure, strict=True)) / 100.0


def _cuts(mix: LayerMix, required: Iterable[Requirement]) -> list[tuple[str, _Room]]:
    pure = [mix.percents({kind: 100.0 if kind == only else 0.0 for kind in KINDS}) for only in KINDS]
    lines = [line.material for _, _, line, _ in mix.formula.each_line()]
    cuts = [
        (f"{lines[n]} needs room in its layer", _Room([percents[n] for percents in pure]))
        for n, fills in enumerate(mix.fills)
        if fills
    ]
    return cuts + [(rule.name, _Room([rule.slack(percents) for percents in pure])) for rule in required]


def _clip(corners: list[Corner], edges: list[str], room: list[float], name: str) -> tuple[list[Corner], list[str]]:
    """Keep the part of a polygon in which ``room`` is not below zero; the new edge gets ``name``."""
    kept: list[Corner] = []
    named: list[str] = []
    for n, corner in enumerate(corners):
        after = (n + 1) % len(corners)
        inside, inside_after = room[n] >= -EDGE, room[after] >= -EDGE
        if inside:
            kept.append(corner)
            named.append(edges[n])
        if inside != inside_after:
            part = room[n] / (room[n] - room[after])
            cut = tuple(a + part * (b - a) for a, b in zip(corner, corners[after], strict=True))
            kept.append(cut)  # type: ignore[arg-type]
            named.append(name if inside else edges[n])
    return kept, named
