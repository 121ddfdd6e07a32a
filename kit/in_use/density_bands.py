"""The densities of two layers over temperature with their bands, and where it cannot be told which lies below."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.crossing import crossing
from kit.errors import RangeError
from kit.layers.density import LayerContents, amounts
from kit.layers.density_words import COVERAGE
from kit.liquids.water import COLDEST, WARMEST
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.layers.density import LayerDensity

#: A shorter interval is none. [K]
LEAST = 1e-6
#: How far apart the temperatures are at which the bands are looked at. [K]
STEP = 2.0


@dataclass(frozen=True, slots=True)
class DensityBands:
    """Two layers over temperature.

    Attributes
    ----------
    water_name, oil_name
        What the layers are called.
    celsius
        The temperatures looked at. [°C]
    water, oil
        The density of each layer at each of them.
    known
        Intervals in which both layers have a density and expand by a known amount. [°C]
    untold
        Those parts of them in which the gap, ± twice its standard uncertainty, holds zero: it cannot be told there
        which layer lies below. [°C]
    meets
        Where the two values meet, as far as they are known. [°C]
    likely
        For each stretch that is not known, from cold to warm: its ends, and which layer would lie below if what is
        missing expanded as a usual liquid does, its band clear of the other; "" where even that cannot be told.
    """

    water_name: str
    oil_name: str
    celsius: tuple[float, ...]
    water: tuple[LayerDensity, ...]
    oil: tuple[LayerDensity, ...]
    known: tuple[tuple[float, float], ...]
    untold: tuple[tuple[float, float], ...]
    meets: tuple[float, ...]
    likely: tuple[tuple[float, float, str], ...] = ()

    def is_known(self, celsius: float) -> bool:
        """Whether both densities are known at a temperature. [°C]"""
        return any(low <= celsius <= high for low, high in self.known)

    def below(self, celsius: float) -> str | None:
        """The layer below at a temperature: "water" or "oil"; None where it is not known or cannot be told. [°C]"""
        if not self.is_known(celsius) or any(low <= celsius <= high for low, high in self.untold):
            return None
        near = min(range(len(self.celsius)), key=lambda n: abs(self.celsius[n] - celsius))
        return "water" if self.water[near].value > self.oil[near].value else "oil"

    def sentence(self) -> str:
        """Which layer lies below over the whole range, in words."""
        said = [self._of(low, high) for low, high in self.known]
        if self.likely:
            blank = listed(f"{a:.0f} to {b:.0f} °C" for a, b, _ in self.likely)
            said.append(f"From {blank} it is not known: {self._missing()}.")
            names = {"water": self.water_name, "oil": self.oil_name}
            for a, b, kind in self.likely:
                if kind:
                    where = "There" if len(self.likely) == 1 else f"From {a:.0f} to {b:.0f} °C"
                    said.append(f"{where} the {names[kind]} would lie below if that expanded as usual liquids do.")
            said.append("Stand a bottle there for a day and look.")
        if self.meets:
            said.append(f"The values themselves meet at {listed(f'{at:.0f}' for at in self.meets)} °C.")
        return " ".join(said)

    def _of(self, low: float, high: float) -> str:
        """Of one interval in which both are known."""
        untold = [(a, b) for a, b in self.untold if low <= a <= high]
        said = [f"Between {a:.0f} and {b:.0f} °C it cannot be told which layer lies below." for a, b in untold]
        edges = [low, *(edge for each in untold for edge in each), high]
        for a, b in zip(edges[::2], edges[1::2], strict=True):
            if b - a > LEAST:
                below, above = self.water_name, self.oil_name
                if self.below((a + b) / 2) == "oil":
                    below, above = above, below
                said.append(f"From {a:.0f} to {b:.0f} °C the {below} lies below the {above}, ± twice the uncertainty.")
        return " ".join(said)

    def _missing(self) -> str:
        """Whose density or expansion is missing."""
        wrong = []
        for name, each in ((self.water_name, self.water), (self.oil_name, self.oil)):
            if each[0].mixed is None:
                wrong.append(f"the {name} has no density")
            elif not all(one.is_known for one in each):
                share = max(one.unknown_expansion_share for one in each)
                wrong.append(f"how {share:.3g} % of the {name} expands there is missing")
        return listed(wrong)


def density_bands(
    formula: Formula, materials: Materials, low: float = COLDEST, high: float = 60.0, step: float = STEP
) -> DensityBands | None:
    """The densities of the water and the oil layer over temperature; None without both layers.

    The gap between them is as uncertain as both together, u² = u(water)² + u(oil)² (GUM 5.1.2, the two taken as
    independent); its band is ± twice that.

    Parameters
    ----------
    low, high
        0 to 100 °C. [°C]
    step
        [K]

    Raises
    ------
    RangeError
        Temperatures outside 0 to 100 °C, or in the wrong order.

    References
    ----------
    .. [1] JCGM 100:2008, Guide to the expression of uncertainty in measurement, 5.1.2 and 6.2.
    """
    if not (COLDEST <= low < high <= WARMEST and step > 0):
        msg = f"Densities are looked at from {COLDEST:g} to {WARMEST:g} °C, the colder first: {low:g} to {high:g} °C."
        raise RangeError(msg)
    percents = amounts(formula)
    layers = {each.kind: each for each in LayerContents.of(formula, materials) if each.mass(percents) > 0}
    if not {"water", "oil"} <= set(layers):
        return None
    water, oil = layers["water"], layers["oil"]

    def both(celsius: float) -> tuple[LayerDensity, LayerDensity]:
        return water.density(percents, celsius), oil.density(percents, celsius)

    steps = max(1, math.ceil((high - low) / step - 1e-9))
    celsius = tuple(low + (high - low) * n / steps for n in range(steps + 1))
    found = [both(each) for each in celsius]
    known = _runs(celsius, [all(each.is_known and each.mixed is not None for each in pair) for pair in found])

    def gap(at: float) -> float:
        one, other = both(at)
        return one.value - other.value

    def clear(at: float) -> float:
        """Above zero where the band of the gap is clear of zero."""
        one, other = both(at)
        return abs(one.value - other.value) - COVERAGE * math.hypot(one.uncertainty, other.uncertainty)

    inside = [tuple(each for each in celsius if a <= each <= b) for a, b in known]
    untold = tuple(each for part in inside for each in _intervals(clear, part))
    meets = tuple(each for part in inside for each in _zeros(gap, part))
    waters, oils = (tuple(pair[n] for pair in found) for n in (0, 1))
    likely = tuple(_likely(a, b, celsius, gap, clear, found) for a, b in _blanks(celsius, known))
    return DensityBands(water.name, oil.name, celsius, waters, oils, known, untold, meets, likely)


def _blanks(celsius: tuple[float, ...], known: tuple[tuple[float, float], ...]) -> list[tuple[float, float]]:
    """The stretches between those that are known."""
    edges = [celsius[0], *(edge for each in known for edge in each), celsius[-1]]
    return [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a > LEAST]


def _likely(
    low: float, high: float, celsius: tuple[float, ...], gap: Callable[[float], float],
    clear: Callable[[float], float], found: list[tuple[LayerDensity, LayerDensity]],
) -> tuple[float, float, str]:  # fmt: skip
    """Which layer lies below throughout a stretch by what stands in for what is missing."""
    if any(each.mixed is None for each in found[0]):
        return low, high, ""
    inside = [each for each in celsius if low <= each <= high]
    if all(clear(each) > 0 for each in inside) and len({gap(each) > 0 for each in inside}) == 1:
        return low, high, "water" if gap(low) > 0 else "oil"
    return low, high, ""


def _runs(celsius: tuple[float, ...], flags: list[bool]) -> tuple[tuple[float, float], ...]:
    """The intervals over which a flag is up at two temperatures in a row or more."""
    found: list[tuple[float, float]] = []
    for (a, b), (at_a, at_b) in zip(pairwise(celsius), pairwise(flags), strict=True):
        if at_a and at_b:
            joined = bool(found) and found[-1][1] == a
            found[-1:] = [(found[-1][0] if joined else a, b)] if joined else [*found[-1:], (a, b)]
    return tuple(found)


def _intervals(clear: Callable[[float], float], celsius: tuple[float, ...]) -> tuple[tuple[float, float], ...]:
    """Where a function is not above zero, to the ends of the range."""
    values = [clear(each) for each in celsius]
    found: list[tuple[float, float]] = []
    start = celsius[0] if values[0] <= 0 else None
    for (a, b), (at_a, at_b) in zip(pairwise(celsius), pairwise(values), strict=True):
        if (at_a > 0) == (at_b > 0):
            continue
        edge = crossing(clear, a, b, at_a, at_b)
        if at_b <= 0:
            start = edge
        elif start is not None:
            found.append((start, edge))
            start = None
    if start is not None:
        found.append((start, celsius[-1]))
    return tuple(found)


def _zeros(function: Callable[[float], float], celsius: tuple[float, ...]) -> tuple[float, ...]:
    values = [function(each) for each in celsius]
    return tuple(
        crossing(function, a, b, at_a, at_b)
        for (a, b), (at_a, at_b) in zip(pairwise(celsius), pairwise(values), strict=True)
        if (at_a > 0) != (at_b > 0)
    )
