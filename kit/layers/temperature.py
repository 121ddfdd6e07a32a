"""The order of two layers cold and warm, and the temperature at which they would change places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.crossing import crossing
from kit.layers.density import LayerContents, amounts
from kit.layers.density_words import MEASURE, order_is_sure
from kit.liquids.water import COLDEST, WARMEST

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
        f"{max(each.unknown_expansion_share for each in of):.3g} % of the {of[0].kind} layer"
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
