"""Move the ratio of the layers: what each line becomes, and for three layers which ratios every rule allows.

Each line is affine in the share r of its layer, x(r) = base + slope x r, so that two numbers a line hold its whole
story and every picture across all ratios needs only end points. With three layers each rule cuts the triangle of
their sizes along a straight line, and what is left is a polygon, found exactly by clipping.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.amounts import TOTAL_TOLERANCE
from kit.formula.model import require_complete
from kit.formula.moved import NOTHING, Ratio, straight
from kit.formula.requirements import EDGE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kit.formula.model import Formula
    from kit.formula.moved import Straight
    from kit.formula.requirements import Requirement
    from kit.library.ingredient import PhaseKind


@dataclass(frozen=True, slots=True)
class LayerMix:
    """Every line of a formula at every size of its layers.

    Attributes
    ----------
    formula
        Where it starts from.
    sizes
        Each layer as it is now: kind → size. [% w/w of the whole]
    lines
        Every line as a straight line of the size of its layer, from the amounts as typed.
    """

    formula: Formula
    sizes: Mapping[PhaseKind, float]
    lines: Straight

    @classmethod
    def of(cls, formula: Formula, moving: Sequence[PhaseKind]) -> LayerMix:
        """The mix of a complete formula of which the layers ``moving`` may change size; the others stay.

        Raises
        ------
        RangeError
            The formula is not complete, lacks one of these layers, or has one in which no line may change.
        """
        typed = require_complete(replace(formula, ratio=None), "moved to another ratio")
        lines = straight(formula.title, formula.phases, typed, moving)
        return cls(formula, lines.sizes_at(formula.ratio), lines)

    @property
    def fills(self) -> tuple[bool, ...]:
        """Which lines take the rest of their layer, and so could fall below zero."""
        return self.lines.fills

    def percents(self, sizes: Mapping[PhaseKind, float]) -> list[float]:
        """All lines when the layers have these sizes. [% w/w]"""
        return self.lines.percents(sizes)

    def at(self, sizes: Mapping[PhaseKind, float]) -> Formula:
        """The formula when its layers have these sizes; at those it was typed with, the very formula as typed.

        The typed amounts stay what they are; the ratio stands beside them. [% w/w of the whole]

        Raises
        ------
        RangeError
            A layer below 0 %, or layers that do not add to 100 %.
        """
        total = sum(sizes.values())
        if not abs(total - 100) <= TOTAL_TOLERANCE or min(sizes.values()) < -NOTHING:
            told = ", ".join(f"{kind} {size:.4g} %" for kind, size in sizes.items())
            msg = f"The layers must be 0 % or more each and 100 % together, not {told}."
            raise RangeError(msg)
        home = {kind: abs(size - self.lines.typed.get(kind, 0.0)) <= NOTHING for kind, size in sizes.items()}
        oil = self.lines.typed["oil"] if home["oil"] else max(sizes["oil"], 0.0)
        if home.get("other", True):
            return replace(self.formula, ratio=None if home["oil"] else Ratio(oil))
        return replace(self.formula, ratio=Ratio(oil, max(sizes["other"], 0.0)))


@dataclass(frozen=True, slots=True)
class RatioPath:
    """Every line of a formula at every ratio.

    Attributes
    ----------
    formula
        Where the path starts from.
    start
        The oil layer now. [% w/w of the whole]
    typed
        The oil layer as its amounts were typed. [% w/w of the whole]
    most
        The oil layer when there is no water layer left. [% w/w of the whole]
    base, slope
        One per line, phases in order: percent = base + slope x oil.
    fills
        Which lines take the rest of their layer, and so could fall below zero.
    """

    formula: Formula
    start: float
    typed: float
    most: float
    base: tuple[float, ...]
    slope: tuple[float, ...]
    fills: tuple[bool, ...]

    @classmethod
    def of(cls, formula: Formula) -> RatioPath:
        """The path of a complete formula that has an oil layer and a water layer.

        Raises
        ------
        RangeError
            The formula is not complete, lacks one of the two layers, or has a layer in which no line may change.
        """
        mix = LayerMix.of(formula, formula.ratio.moving if formula.ratio else ("oil", "water"))
        most = mix.sizes["oil"] + mix.sizes["water"]
        still = mix.sizes.get("other", 0.0)
        base, slope = [], []
        for kind, fixed, per_layer in zip(mix.lines.kinds, mix.lines.fixed, mix.lines.per_layer, strict=True):
            at_no_oil, per_oil = {"oil": (0.0, 1.0), "water": (most, -1.0)}.get(kind, (still, 0.0))
            base.append(fixed + per_layer * at_no_oil)
            slope.append(per_layer * per_oil + 0.0)
        return cls(formula, mix.sizes["oil"], mix.lines.typed["oil"], most, tuple(base), tuple(slope), mix.fills)

    def percents(self, oil: float) -> list[float]:
        """All lines when the oil layer is ``oil`` of the whole. [% w/w]"""
        return [b + s * oil for b, s in zip(self.base, self.slope, strict=True)]

    def at(self, oil: float) -> Formula:
        """The formula at another ratio; at the one it was typed with, the very formula as typed.

        The typed amounts stay what they are; the ratio stands beside them.

        Raises
        ------
        RangeError
            ``oil`` is below 0 or leaves less than no water layer.
        """
        if not 0 <= oil <= self.most:
            msg = f"The oil layer can be 0 to {self.most:.4g} % of this formula, not {oil:.4g} %."
            raise RangeError(msg)
        other = self.formula.ratio.other if self.formula.ratio else None
        if abs(oil - self.typed) <= NOTHING:
            return replace(self.formula, ratio=None if other is None else Ratio(self.typed, other))
        return replace(self.formula, ratio=Ratio(oil, other))


#: The kinds of layer, in the order in which three of them are named.
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
