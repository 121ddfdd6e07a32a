"""A product just shaken: which liquid is the drops, which the surround, how large the drops are, in which bottle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.layers.bottle import stand
from kit.layers.velocity import (
    CREEPING,
    STOKES_END,
    hindrance,
    mobile_surface_factor,
    reynolds_number,
    richardson_zaki_exponent,
    slowdown,
    stokes_velocity,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.layers.bottle import Bottle
    from kit.layers.density import Layer
    from kit.library.ingredient import PhaseKind


Inner = Literal["oil", "water"]

#: Below the first share of the volume a liquid is surely the drops, below the second very likely: as the surround
#: it would have to hold drops packed closer than equal balls can be stacked (0.74) or poured (0.64).
SURELY_DROPS, LIKELY_DROPS = 0.26, 0.36

PACKING = (
    "close packing of equal balls: 0.74 stacked (W. Ostwald, Kolloid-Z. 6 (1910) 103), 0.64 poured at random "
    "(G. D. Scott, Nature 188 (1960) 908); both from memory"
)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Which liquid may be the drops: one, or both where shaking can make either. With the reason in words."""

    kinds: tuple[Inner, ...]
    words: str


def suggest_drops(oil_share: float) -> Suggestion:
    """Which liquid is likely to be the drops after shaking, from the oil's part of the volume.

    Parameters
    ----------
    oil_share
        Oil layer by volume, 0 to 1.

    Raises
    ------
    RangeError
        A share outside 0 to 1.

    References
    ----------
    .. [1] W. Ostwald, Kolloid-Z. 6 (1910) 103-109: no more than 0.74 of equal balls (from memory).
    .. [2] G. D. Scott, Nature 188 (1960) 908-909: 0.64 poured at random (from memory).

    Examples
    --------
    >>> suggest_drops(0.2).kinds, suggest_drops(0.5).kinds
    (('oil',), ('oil', 'water'))
    """
    if not 0 < oil_share < 1:
        msg = f"The oil layer must be between 0 and 1 of the volume, got {oil_share:g}."
        raise RangeError(msg)
    less: Inner = "oil" if oil_share <= 0.5 else "water"
    share = min(oil_share, 1 - oil_share)
    said = f"{100 * share:.0f} % of the volume is {less}"
    if share < SURELY_DROPS:
        return Suggestion((less,), f"{said}, below {100 * SURELY_DROPS:.0f} %: {less} is the drops.")
    if share < LIKELY_DROPS:
        return Suggestion((less,), f"{said}, below {100 * LIKELY_DROPS:.0f} %: {less} is very likely the drops.")
    words = f"{said}: either liquid may become the drops, by how it is shaken and what is in it. Both are shown."
    return Suggestion(("oil", "water"), words)


#: Densities closer than this count as equal: nothing rises or sinks. [g/mL]
EQUAL = 1e-6

NOT_MODELLED = (
    "Drops that meet and merge are not modelled: real bottles clear faster, or slower where something keeps the drops "
    "apart. Time your own bottle and fit the effective drop size."
)


@dataclass(frozen=True, slots=True)
class Liquid:
    """One of the two liquids: its layer, volume, density and viscosity. [mL, g/mL, mPa·s]"""

    kind: PhaseKind
    volume: float
    density: float
    viscosity: float


@dataclass(frozen=True, slots=True)
class DropSizes:
    """Log-normal drop diameters, counted by volume.

    Attributes
    ----------
    median
        Half of the volume is in smaller drops. [µm]
    spread
        Geometric standard deviation: two thirds of the volume lies between median / spread and median x spread.
    """

    median: float = 100.0
    spread: float = 1.6

    def __post_init__(self) -> None:
        if not 0 < self.median <= 20_000:
            msg = f"The middle drop size must lie between 0 and 20,000 µm (20 mm), got {self.median:g} µm."
            raise RangeError(msg)
        if not 1 <= self.spread <= 10:
            msg = f"The spread of the drop sizes is a factor between 1 (all equal) and 10, got {self.spread:g}."
            raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class Shaken:
    """Drops of one liquid evenly spread in the other, in a bottle.

    Attributes
    ----------
    clean
        True where nothing in the product stiffens the drops' surface: Hadamard and Rybczyński, else Stokes.
    """

    drops: Liquid
    surround: Liquid
    bottle: Bottle
    sizes: DropSizes = DropSizes()
    clean: bool = False

    def __post_init__(self) -> None:
        for liquid in (self.drops, self.surround):
            for value, name in ((liquid.density, "density"), (liquid.viscosity, "viscosity")):
                if not value > 0:
                    msg = f"The {liquid.kind} layer needs a {name} above 0, got {value:g}."
                    raise RangeError(msg)
            if not liquid.volume >= 0:
                msg = f"The {liquid.kind} layer cannot have {liquid.volume:g} mL."
                raise RangeError(msg)
        if abs(self.drops.density - self.surround.density) < EQUAL:
            msg = (
                f"Both layers have the density {self.drops.density:.4g} g/mL: nothing rises or sinks, so they do not "
                "part and no time can be computed. Salt or glycerin makes the water layer heavier."
            )
            raise RangeError(msg)

    @property
    def volume(self) -> float:
        """Of both together. [mL]"""
        return self.drops.volume + self.surround.volume

    @property
    def share(self) -> float:
        """The part of the volume that is drops. [0 to 1]"""
        return self.drops.volume / self.volume

    @property
    def rises(self) -> bool:
        """Whether the drops rise; else they sink."""
        return self.drops.density < self.surround.density

    @property
    def per_square(self) -> float:
        """Speed of a drop alone for each square micrometre of its diameter. [mm/s per µm²]"""
        speed = abs(stokes_velocity(1.0, self.drops.density, self.surround.density, self.surround.viscosity))
        return speed * (mobile_surface_factor(self.drops.viscosity, self.surround.viscosity) if self.clean else 1.0)

    def speed(self, diameter: float | None = None) -> float:
        """Speed in the crowd, seen from the bottle, of a drop of this diameter or of the median one. [µm → mm/s]"""
        return self.per_square * (diameter or self.sizes.median) ** 2 * hindrance(self.share, self.exponent())

    @property
    def reynolds(self) -> float:
        """The Reynolds number of the median drop, alone, as fast as Stokes's law has it. [-]"""
        return self._reynolds_of(self.sizes.median)

    def _reynolds_of(self, diameter: float) -> float:
        alone = self.per_square * diameter**2
        return reynolds_number(diameter, alone, self.surround.density, self.surround.viscosity)

    def exponent(self, diameter: float | None = None) -> float:
        """Richardson and Zaki's exponent, seen from the bottle, for drops of this middle diameter. [µm]"""
        stokes = self._reynolds_of(diameter or self.sizes.median)
        return richardson_zaki_exponent(stokes * slowdown(stokes))

    @property
    def findings(self) -> list[Finding]:
        """What to say about how far the formulas hold here."""
        found = [self._reynolds_finding()]
        if self.clean:
            sentence = "A clean surface is assumed (Hadamard and Rybczyński): with any surfactant at all, untick it."
            found.append(Finding("caution", sentence, Place(field="clean")))
        if self.share > 1 - LIKELY_DROPS:
            sentence = (
                f"{100 * self.share:.0f} % of the volume as drops is more than balls poured at random take: the other "
                f"liquid is likelier to be the drops, and (1 - φ)^{self.exponent():.3g} does not hold."
            )
            found.append(Finding("caution", sentence, Place(field="drops"), PACKING))
        return found

    def _reynolds_finding(self) -> Finding:
        reynolds, place = self.reynolds, Place(field="drop size")
        number = f"{reynolds:.2g}" if reynolds >= 0.001 else "below 0.001"
        said = f"Reynolds number of the middle {self.drops.kind} drop: {number}."
        if reynolds <= CREEPING:
            return Finding("note", f"{said} Stokes's law holds (below about {CREEPING:g}).", place)
        much = 100 * (1 - slowdown(reynolds))
        sentence = (
            f"{said} Stokes's law holds below about {CREEPING:g}; a drop this size really moves "
            f"about {much:.0f} % slower, so times are too short."
        )
        source = "drag of Schiller and Naumann (1933)"
        return Finding("caution" if reynolds > STOKES_END else "note", sentence, place, source)


def two_layers(layers: Sequence[Layer]) -> tuple[Layer, Layer]:
    """The oil layer and the water layer of a product that has just these two.

    Raises
    ------
    RangeError
        One layer only, none, or a third one.
    """
    if len(layers) < 2 or {layer.kind for layer in layers} != {"oil", "water"}:
        names = ", ".join(layer.name for layer in layers)
        had = f"only one, {names}" if len(layers) == 1 else names or "no layer yet"
        msg = (
            f"Shaking mixes an oil layer with a water layer; this formula has {had}. If it is to part in two, let each "
            "phase be oil or water in the formula table, give both a line with an amount, and nothing to a third."
        )
        raise RangeError(msg)
    by_kind = {layer.kind: layer for layer in layers}
    return by_kind["oil"], by_kind["water"]


def shake(
    layers: Sequence[Layer],
    viscosities: Mapping[str, float],
    bottle: Bottle,
    fill: float,
    drops: Inner,
    sizes: DropSizes,
    *,
    clean: bool = False,
) -> Shaken:
    """Shake a two-layer product.

    Parameters
    ----------
    viscosities
        Of each layer by its kind. [mPa·s]
    fill
        Product in the bottle. [mL]
    drops
        The layer that becomes the drops; see :func:`kit.layers.shaken.suggest_drops`.

    Raises
    ------
    RangeError
        Not just an oil and a water layer, a missing viscosity, equal densities, or more than the bottle holds.
    """
    two_layers(layers)
    made: dict[str, Liquid] = {}
    for standing in stand(layers, bottle, fill):
        layer = standing.layer
        if layer.kind not in viscosities:
            msg = f"The {layer.kind} layer has no viscosity. Type one in mPa·s: water has 1, sunflower oil about 65."
            raise RangeError(msg)
        made[layer.kind] = Liquid(layer.kind, standing.volume, layer.density, viscosities[layer.kind])
    other = "water" if drops == "oil" else "oil"
    return Shaken(made[drops], made[other], bottle, sizes, clean)
