"""From the formula and bottle in hand to the shaken product, with everything to say on the way."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.inputs import Choice, Number, Tick, asked, refuse_unknown_words
from kit.layers.density_words import COVERAGE, MEASURE, density_findings, order_is_sure
from kit.layers.separation import time_until
from kit.layers.shaken import PACKING, DropSizes, Shaken, shake, suggest_drops, two_layers
from kit.layers.viscosity import layer_viscosity, measured_viscosity
from kit.soundness import refuse_odd_fields

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.layers.bottle import Bottle
    from kit.layers.density import Layer
    from kit.layers.shaken import Inner
    from kit.layers.viscosity import LayerViscosity

Wish = Literal["suggested", "oil", "water"]
#: Viscosities that a layer may be said to have. [mPa·s]
_VISCOSITY = Number(0.01, 1e7)


@dataclass(frozen=True, slots=True)
class Shaking:
    """What a maker says about shaking.

    Attributes
    ----------
    drops
        Which liquid is the drops, or "suggested": by :func:`kit.layers.shaken.suggest_drops`.
    median, spread
        Of the drop sizes; see :class:`kit.layers.shaken.DropSizes`. [µm, -]
    water, oil
        Measured viscosities of the layers; None where they are to be computed. [mPa·s]
    clean
        True where nothing in the product stiffens the drops' surface.
    """

    drops: Wish = asked(
        "Drops of",
        Choice({"suggested": "suggested", "oil": "oil", "water": "water"}),
        "suggested",
        help="Which liquid is the drops; suggested: by the amounts.",
    )
    median: float = asked("Middle drop size", Number(1, 20_000, digits=4), 100.0, unit="µm")
    spread: float = asked(
        "Spread", Number(1, 10), 1.6, unit="times", help="Two thirds lie between size ÷ spread and × it."
    )
    water: float | None = asked("Water layer", _VISCOSITY, None, unit="mPa·s", example="computed")
    oil: float | None = asked("Oil layer", _VISCOSITY, None, unit="mPa·s", example="computed")
    clean: bool = asked("No surfactant at all", Tick(), default=False)

    def __post_init__(self) -> None:
        refuse_odd_fields(self)
        refuse_unknown_words(self)


@dataclass(frozen=True)
class ShakenProduct:
    """The product after shaking.

    Attributes
    ----------
    ways
        One, or two where either liquid may be the drops.
    viscosities
        Of each layer by its kind, and how each was found.
    findings
        What to say about missing numbers and about how far the formulas hold.
    """

    ways: tuple[Shaken, ...]
    viscosities: dict[str, LayerViscosity]
    findings: tuple[Finding, ...]

    def doubt(self, percent: float = 95.0) -> str:
        """How far the answer moves if the surround's viscosity is half or twice what it is taken for."""
        said = []
        for way in self.ways:
            seconds = time_until(way, percent)
            sure = not self.viscosities[way.surround.kind].doubtful
            said.append(
                f"{way.drops.kind} as the drops: {percent:g} % of them have left after {time_words(seconds)}; "
                f"were the {way.surround.kind} layer half or twice as thick, {time_words(seconds / 2)} "
                f"or {time_words(2 * seconds)}{'' if sure else ', and it may well be'}."
            )
        return " ".join(sentence[0].upper() + sentence[1:] for sentence in said)


def shaken_product(
    formula: Formula,
    materials: Materials,
    layers: Sequence[Layer],
    bottle: Bottle,
    fill: float,
    shaking: Shaking = Shaking(),
) -> ShakenProduct:
    """Shake the product in hand.

    Parameters
    ----------
    fill
        [mL]

    Raises
    ------
    RangeError
        Described as one piece, not just an oil and a water layer, equal densities, or more than the bottle holds.
    """
    if formula.description.is_one_piece:
        msg = (
            f"{formula.title} is described as {formula.description.layering}: it is meant to stay in one piece, and "
            "nothing in it parts after shaking. If it does stand in layers, say so under “What it is” in the formula "
            "panel."
        )
        raise RangeError(msg)
    oil, water = two_layers(layers)
    found = list(density_findings(list(layers)))
    found += _gap(oil, water)
    viscosities: dict[str, LayerViscosity] = {}
    for layer, measured in ((oil, shaking.oil), (water, shaking.water)):
        if measured is not None:
            viscosities[layer.kind] = measured_viscosity(layer.kind, measured)
            continue
        viscosities[layer.kind] = layer_viscosity(formula, materials, layer)
        found += viscosities[layer.kind].findings
    share = oil.volume_per_100_g / (oil.volume_per_100_g + water.volume_per_100_g)
    suggestion = suggest_drops(share)
    kinds: tuple[Inner, ...] = suggestion.kinds if shaking.drops == "suggested" else (shaking.drops,)
    sizes = DropSizes(shaking.median, shaking.spread)
    values = {kind: viscosity.value for kind, viscosity in viscosities.items()}
    ways = tuple(shake(layers, values, bottle, fill, kind, sizes, clean=shaking.clean) for kind in kinds)
    chosen = "" if shaking.drops == "suggested" else f"You chose {shaking.drops} as the drops. "
    said = f"{chosen}{suggestion.words}"
    found.append(Finding("note", said.replace(" Both are shown.", "") if len(ways) == 1 else said, _PLACE, PACKING))
    for way in ways:
        found += [finding for finding in way.findings if finding not in found]
    return ShakenProduct(ways, viscosities, tuple(found))


_PLACE = Place(field="drops")

#: A gap between the densities that is known no better than this is told. [part of it, ± two standard uncertainties]
DOUBTFUL_GAP = 0.2


def _gap(oil: Layer, water: Layer) -> list[Finding]:
    """Speed goes with the gap between the densities, so what is unsure of the gap is unsure of every time."""
    gap = abs(oil.density - water.density)
    band = COVERAGE * math.hypot(oil.uncertainty, water.uncertainty)
    if band <= DOUBTFUL_GAP * gap or not order_is_sure(*sorted((oil, water), key=lambda layer: -layer.density)):
        return []  # where the order itself cannot be told, that is said already
    sentence = (
        f"The densities lie {gap:.3f} ± {band:.3f} g/mL apart, and every time goes with that: it may be "
        f"{gap / (gap + band):.2g} to {gap / (gap - band):.2g} times what is shown. {MEASURE}"
    )
    return [Finding("caution", sentence, Place(field="bottle"))]


#: Up to so many seconds a time is said in this unit, which has so many seconds.
UNITS = (
    (120.0, "s", 1.0),
    (7200.0, "min", 60.0),
    (172_800.0, "h", 3600.0),
    (float("inf"), "days", 86_400.0),
)


def time_unit(seconds: float) -> tuple[str, float]:
    """The unit in which a time is best said, and its seconds.

    Examples
    --------
    >>> time_unit(90), time_unit(600)
    (('s', 1.0), ('min', 60.0))
    """
    return next((unit, size) for most, unit, size in UNITS if seconds <= most)


def time_words(seconds: float) -> str:
    """A time in words.

    Examples
    --------
    >>> time_words(468)
    '7.8 min'
    """
    unit, size = time_unit(seconds)
    two_figures = float(f"{seconds / size:.2g}")
    return f"{two_figures:,.0f} {unit}" if two_figures >= 10 else f"{two_figures:g} {unit}"
