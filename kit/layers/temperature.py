"""Layers when they get warmer or colder: which stands below, how they grow, and the room that a bottle needs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.crossing import crossing
from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.layers.density import MOST_UNKNOWN, LayerContents, amounts
from kit.layers.density_words import MEASURE, order_is_sure
from kit.layers.substance import usual_expansion
from kit.liquids.water import COLDEST, WARMEST
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.layers.density import LayerDensity


#: At how many temperatures, besides the ends, the order is looked at. [-]
BETWEEN = 9


@dataclass(frozen=True, slots=True)
class Order:
    """Which of two layers stands below between two temperatures.

    Attributes
    ----------
    says
        "same", "changes", "not known" (an expansion or a density is missing) or "cannot be told" (too close for how
        well both are known).
    words
        A sentence for the maker.
    change
        Where both would weigh the same, if the values change order. [°C]
    """

    says: Literal["same", "changes", "not known", "cannot be told"]
    words: str
    change: float | None = None


def order_between(formula: Formula, materials: Materials, low: float = 5.0, high: float = 40.0) -> Order | None:
    """The order of the oil and the water layer between two temperatures; None without both layers. [°C]

    "Same" is said only where both densities and their expansions are known over the whole range and their bands,
    ± twice the standard uncertainty, stay clear of each other.
    """
    percents = amounts(formula)
    layers = {layer.kind: layer for layer in LayerContents.of(formula, materials) if layer.mass(percents) > 0}
    if not {"water", "oil"} <= set(layers):
        return None

    def both(celsius: float) -> tuple[LayerDensity, LayerDensity]:
        return layers["water"].density(percents, celsius), layers["oil"].density(percents, celsius)

    def gap(celsius: float) -> float:
        water, oil = both(celsius)
        return water.value - oil.value

    steps = [low + (high - low) * n / (BETWEEN + 1) for n in range(BETWEEN + 2)]
    found = [both(celsius) for celsius in steps]
    at = f"Between {low:g} and {high:g} °C"
    blank = [kind for n, kind in enumerate(("water", "oil")) if found[0][n].mixed is None]
    if blank:
        words = f"{at} it is not known which layer stands below: the {' and the '.join(blank)} layer has no density. "
        return Order("not known", words + MEASURE)
    missing = [
        f"{max(each.unknown_expansion_share for each in of):.3g} % of the {of[0].words}"
        for of in zip(*found, strict=True)
        if not all(each.is_known for each in of)
    ]
    if missing:
        words = (
            f"{at} it is not known which layer stands below: the expansion of {' and of '.join(missing)} is not known "
            "there. Stand a bottle warm and one cold and look."
        )
        return Order("not known", words)
    change = _change(gap, low, high)
    sure = [order_is_sure(*sorted(pair, key=lambda each: -each.value)) for pair in found]
    if change is not None and sure[0] and sure[-1]:
        words = f"At about {change:.0f} °C both layers weigh the same; beyond it they change places."
        return Order("changes", words, change)
    if not all(sure):
        near = f" Their values meet at about {change:.0f} °C." if change is not None else ""
        words = (
            f"{at} it cannot be told throughout which layer stands below: their densities lie closer than they are "
            f"known.{near} {MEASURE}"
        )
        return Order("cannot be told", words, change)
    below = "water" if gap(low) > 0 else "oil"
    return Order("same", f"{at} the {below} layer stays below: computed at each temperature, ± twice the uncertainty.")


def _change(gap: Callable[[float], float], low: float, high: float) -> float | None:
    at_low, at_high = gap(low), gap(high)
    return None if at_low * at_high > 0 else crossing(gap, low, high, at_low, at_high)


def inversion_temperature(formula: Formula, materials: Materials, low: float = 0.0, high: float = 40.0) -> float | None:
    """The temperature at which oil and water layer would weigh the same. [°C]

    Parameters
    ----------
    low, high
        Where to look, from 0 to 100 °C. [°C]

    Returns
    -------
    None where the lighter one stays the lighter throughout, or where it is not known: :func:`order_between` says which.
    """
    found = order_between(formula, materials, max(low, COLDEST), min(high, WARMEST))
    return found.change if found else None


#: Between these a liquid's mean expansion is stated for transport. [°C]
COOL, WARM = 15.0, 50.0

#: Of its brimful volume a pack may be full when it is at its warmest. [%]
FULLEST = 98.0

#: Half width of an interval that covers about 95 %, in standard uncertainties.
COVERAGE = 2.0

SOURCE = (
    "ADR (2013), 4.1.1.4: 98 / (1 + α (50 - t)) % of the pack, α = (d15 - d50) / (35 d50); a rule for dangerous goods, "
    "taken here as a measure for any liquid"
)


@sound()
def mean_expansion(cool: float, warm: float, *, low: float = COOL, high: float = WARM) -> float:
    """Mean coefficient of cubic expansion of a liquid from its densities at two temperatures: (d₁ - d₂)/(Δt d₂). [1/K]

    Parameters
    ----------
    cool, warm
        Its density at ``low`` and at ``high``. [g/mL]
    low, high
        15 and 50 °C where nothing else is said. [°C]

    Raises
    ------
    RangeError
        A density that is not above 0, or temperatures in the wrong order.

    References
    ----------
    .. [1] ADR, European Agreement concerning the International Carriage of Dangerous Goods by Road (2013), 4.1.1.4.

    Examples
    --------
    Water:

    >>> print(f"{mean_expansion(0.9991026, 0.98804):.2e}")
    3.20e-04
    """
    if not (cool > 0 and warm > 0):
        msg = f"Densities must be more than 0 g/mL, got {cool:g} and {warm:g} g/mL."
        raise RangeError(msg)
    if not high > low:
        msg = f"The warmer temperature must be above the cooler, got {low:g} and {high:g} °C."
        raise RangeError(msg)
    return (cool - warm) / ((high - low) * warm)


@sound()
def most_fill(
    brimful: float, expansion: float, *, filled_at: float = 20.0, warmest: float = WARM, fullest: float = FULLEST
) -> float:
    """The most that may be filled so that a pack is no fuller than it may be at its warmest. [mL]

    Parameters
    ----------
    brimful
        What the pack holds to the brim. [mL]
    expansion
        Mean coefficient of cubic expansion of the product. [1/K]
    filled_at, warmest
        [°C]
    fullest
        How full it may be then. [% of brimful]

    Raises
    ------
    RangeError
        No volume, a part outside 0 to 100 %, or a product filled warmer than its warmest.

    References
    ----------
    .. [1] ADR (2013), 4.1.1.4: degree of filling 98 / (1 + α (50 - t)) % of the capacity.

    Examples
    --------
    >>> print(f"{most_fill(100, 3.2e-4):.2f}")
    97.07
    >>> print(f"{most_fill(100, 7e-4):.2f}")
    95.98
    """
    if not (brimful > 0 and 0 < fullest <= 100):
        msg = (
            f"A pack of {brimful:g} mL that may be {fullest:g} % full holds nothing; "
            "give mL above 0 and a part up to 100 %."
        )
        raise RangeError(msg)
    if not warmest >= filled_at:
        msg = f"It is filled at {filled_at:g} °C, above its warmest, {warmest:g} °C."
        raise RangeError(msg)
    grows = 1 + expansion * (warmest - filled_at)
    if not grows > 0:
        msg = f"An expansion of {expansion:g} per K is not that of a liquid."
        raise RangeError(msg)
    return brimful * fullest / 100 / grows


@dataclass(frozen=True, slots=True)
class ExpansionRoom:
    """The room that a product needs in its bottle.

    Attributes
    ----------
    grows
        How much larger the product is at its warmest. [%]
    off
        How far that may lie off, twice its standard uncertainty; what follows counts with the larger growth. [± %]
    expansion
        Mean coefficient between filling and warmest. [1/K]
    most
        The most that may be filled, when it is filled. [mL]
    full
        How full the bottle is at its warmest as it is filled now. [% of brimful]
    filled_at, warmest, fullest
        [°C, °C, % of brimful]
    """

    grows: float
    off: float
    expansion: float
    most: float
    full: float
    filled_at: float
    warmest: float
    fullest: float

    @property
    def sentence(self) -> str:
        """The answer in words."""
        return (
            f"From {self.filled_at:g} to {self.warmest:g} °C the product grows by {self.grows:.2g} ± {self.off:.1g} % "
            f"(the densities of its layers at both): fill no more than {self.most:.1f} mL, so that the bottle is at "
            f"most {self.fullest:g} % full then. As it is filled now it will be {self.full:.1f} % full."
        )

    def finding(self) -> Finding:
        """The answer as a finding: a caution where the bottle will be fuller than it may."""
        too_full = self.full > self.fullest * (1 + 1e-9)
        return Finding("caution" if too_full else "note", self.sentence, Place(field="bottle"), SOURCE)


def expansion_room(
    formula: Formula,
    materials: Materials,
    brimful: float,
    fill: float,
    *,
    filled_at: float = 20.0,
    warmest: float = WARM,
    fullest: float = FULLEST,
) -> ExpansionRoom:
    """The room that a product needs in its bottle, from the densities of its layers cold and warm.

    What their uncertainties grow by on warming is that of the expansion: at both temperatures the rest is the same.

    Parameters
    ----------
    brimful, fill
        Of the bottle, and the product in it when it is filled. [mL]
    filled_at, warmest
        0 to 100 °C. [°C]
    fullest
        How full the bottle may be at its warmest. [% of brimful]

    Raises
    ------
    RangeError
        A formula without an amount, a layer of which more than 20 % expands by nobody knows how much, or as
        :func:`most_fill`.
    """
    percents = amounts(formula)
    cool = warm = variance = 0.0
    for layer in LayerContents.of(formula, materials):
        mass = layer.mass(percents)
        if mass <= 0:
            continue
        both = [layer.density(percents, celsius) for celsius in (filled_at, warmest)]
        known = min((1 - each.unknown_share / 100) * (1 - each.unknown_expansion_share / 100) for each in both)
        unknown = 100 * (1 - known)
        if unknown > MOST_UNKNOWN:
            msg = (
                f"The room cannot be computed: how {unknown:.3g} % of the {layer.words} expands from "
                f"{filled_at:g} to {warmest:g} °C is not known. Stand a full measuring cylinder at {warmest:g} °C and "
                "read how much it grows."
            )
            raise RangeError(msg)
        volumes = [mass / each.value for each in both]
        cool, warm = cool + volumes[0], warm + volumes[1]
        of_warming = max((both[1].uncertainty / both[1].value) ** 2 - (both[0].uncertainty / both[0].value) ** 2, 0.0)
        nameless = both[1].unknown_share / 100 * usual_expansion()[1] * (warmest - filled_at)
        variance += volumes[1] ** 2 * (of_warming + nameless**2)
    if not cool > 0:
        msg = f"{formula.title} has no amounts yet, so it does not grow. Type the amounts first."
        raise RangeError(msg)
    grown, off = warm / cool, COVERAGE * math.sqrt(variance) / cool
    expansion = (grown + off - 1) / (warmest - filled_at) if warmest > filled_at else 0.0
    most = most_fill(brimful, expansion, filled_at=filled_at, warmest=warmest, fullest=fullest)
    full = 100 * fill * (grown + off) / brimful
    return ExpansionRoom(100 * (grown - 1), 100 * off, expansion, most, full, filled_at, warmest, fullest)
