"""The estimated level of each preservative in the water layer, at this ratio and at every other.

Three ways stand side by side: all of it in the water; shared out with the oil by its K; and that with the
ionisation at the measured pH. An estimate on paper: only a challenge test (ISO 11930) shows whether a product
with water withstands microbes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError, UnknownNameError
from kit.formula.model import require_complete
from kit.layers.density import LayerContents
from kit.layers.partition import Shares, checked_k, checked_ph, share_out, undissociated_fraction
from kit.layers.preservatives import RANGE_OF_K, Found, find_preservatives, published_k, salts, the_oil
from kit.layers.ratio import RatioPath

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.layers.preservatives import Preservative
    from kit.library.ingredient import PhaseKind


#: Curves and ends stop where this little of the path's water layer is left. [share]
LEAST_WATER = 1e-3

#: (at no oil, for each % of oil)
Affine = tuple[float, float]

NO_OIL = "There is no oil layer: all of it is in the water."


@dataclass(frozen=True, slots=True)
class Layout:
    """100 g of product at every ratio: its lines, affine in the oil layer, and the volumes of its layers.

    Attributes
    ----------
    now
        The oil layer in hand. [% w/w of the whole]
    low, high
        The oil layers between which no line falls below zero and some water is left. [% w/w of the whole]
    base, slope
        Each line: percent = base + slope x oil.
    water_mass
        (at no oil, for each % of oil). [g]
    layers
        What its layers are made of.
    still
        Why the ratio cannot move; empty where it can.
    """

    now: float
    low: float
    high: float
    base: tuple[float, ...]
    slope: tuple[float, ...]
    water_mass: Affine
    layers: tuple[LayerContents, ...]
    still: str = ""
    _volumes: dict[float, dict[str, float]] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def of(cls, formula: Formula, materials: Materials, path: RatioPath | None = None) -> Layout:
        """The layout of a complete formula, along ``path`` if the hand is already moving on one.

        Densities follow :func:`kit.layers.density.layers_of`; lines without one count as the rest of their layer.

        Raises
        ------
        RangeError
            The formula is not complete, or has no water layer.
        """
        percents = [x for phase in require_complete(formula, "read for its preservatives") for x in phase]
        kinds = [formula.phases[p].kind for p, *_ in formula.each_line()]
        sizes = {kind: sum(x for x, k in zip(percents, kinds, strict=True) if k == kind) for kind in ("water", "oil")}
        if sizes["water"] <= 0:
            msg = (
                f"{formula.title} has no water layer, so there is no level in water to estimate. "
                "If one of its phases is mostly water, let that be water in the formula table."
            )
            raise RangeError(msg)
        base, slope, still = tuple(percents), (0.0,) * len(percents), NO_OIL
        low = high = sizes["oil"]
        if sizes["oil"] > 0:
            try:
                path = path or RatioPath.of(formula)
            except RangeError as error:
                still = str(error)
            else:
                base, slope, still = path.base, path.slope, ""
                low, high = _possible(path)
        at_none = sum(b for b, kind in zip(base, kinds, strict=True) if kind == "water")
        per_oil = sum(s for s, kind in zip(slope, kinds, strict=True) if kind == "water")
        layers = tuple(LayerContents.of(formula, materials))
        return cls(sizes["oil"], low, high, base, slope, (at_none, per_oil), layers, still)

    def mass_of(self, found: Found) -> Affine:
        """How much of a preservative there is. [g in 100 g, (at no oil, for each % of oil)]"""
        return (
            sum(part * b for part, b in zip(found.per_line, self.base, strict=True)),
            sum(part * s for part, s in zip(found.per_line, self.slope, strict=True)),
        )

    def volume(self, kind: PhaseKind, oil: float) -> float:
        """Of one layer when the oil layer is ``oil`` of the whole; 0 where there is none. [% w/w → mL in 100 g]"""
        if oil not in self._volumes:
            percents = [at((b, s), oil) for b, s in zip(self.base, self.slope, strict=True)]
            self._volumes[oil] = {layer.kind: layer.volume(percents) for layer in self.layers}
        return self._volumes[oil].get(kind, 0.0)

    def water_density(self, oil: float) -> float:
        """[g/mL]"""
        return at(self.water_mass, oil) / self.volume("water", oil)


def at(line: Affine, oil: float) -> float:
    """The value of a straight line at an oil layer."""
    return line[0] + line[1] * oil


def _possible(path: RatioPath) -> tuple[float, float]:
    low, high = 0.0, path.most * (1.0 - LEAST_WATER)
    for base, slope, fills in zip(path.base, path.slope, path.fills, strict=True):
        if fills and slope > 0:
            low = max(low, -base / slope)
        elif fills and slope < 0:
            high = min(high, -base / slope)
    return low, high


#: What is read: everything in the water, counted without any oil; with K only; all forms in the water with K and
#: pH; the undissociated part of that.
Reading = Literal["simple", "partition", "whole", "undissociated"]

READINGS: dict[Reading, str] = {
    "simple": "all of it in the water",
    "partition": "shared out by K, ionisation not counted",
    "whole": "all forms in the water, by K and pH",
    "undissociated": "the undissociated part in the water, by K and pH",
}


@dataclass(frozen=True, slots=True)
class KUsed:
    """A partition coefficient and where it comes from; ``is_known`` is False for one of a range of guesses."""

    value: float
    words: str
    source: str = ""
    is_known: bool = True


@dataclass(frozen=True, slots=True)
class WaterLevel:
    """The estimated level of one preservative in the water layer, at one ratio and with one K.

    Attributes
    ----------
    oil
        The oil layer. [% w/w of the whole]
    of_whole
        The preservative, a salt counted as its acid. [% w/w of the whole]
    simple
        If all of it were in the water. [% w/v of the water layer]
    partition
        Shared out by K, ionisation not counted.
    ionised
        Shared out by K at the measured pH; None where the pH or the pKa is not known.
    fraction
        The undissociated fraction. [0 to 1]
    water_density
        By which % w/v becomes % w/w. [g/mL]
    """

    found: Found
    k: KUsed
    oil: float
    of_whole: float
    simple: float
    partition: Shares
    ionised: Shares | None
    fraction: float | None
    water_density: float

    @property
    def inci(self) -> str:
        """The name in which it is counted."""
        return self.found.inci

    @property
    def best(self) -> Shares:
        """With ionisation where that is known, else without."""
        return self.ionised or self.partition

    def percent(self, reading: Reading) -> float | None:
        """A level as % w/w of the water layer: % w/v over the density of the water layer. [% w/w]"""
        in_volume = self.in_volume(reading)
        return None if in_volume is None else in_volume / self.water_density

    def in_volume(self, reading: Reading) -> float | None:
        """A level as it is computed; None where the pH or the pKa it needs is not known. [% w/v]"""
        if reading == "simple":
            return self.simple
        if reading == "partition":
            return self.partition.water
        if self.ionised is None:
            return None
        return self.ionised.water if reading == "whole" else self.ionised.undissociated


def fraction_at(about: Preservative, ph: float | None) -> float | None:
    """The undissociated fraction of a preservative; None where the pH or the pKa is not known. [0 to 1]"""
    if about.form == "neutral":
        return 1.0
    return None if ph is None or about.pka is None else undissociated_fraction(ph, about.pka.value)


def level_at(found: Found, layout: Layout, k: KUsed, oil: float, ph: float | None) -> WaterLevel:
    """The level of one preservative when the oil layer is ``oil`` of the whole. [% w/w]"""
    grams = at(layout.mass_of(found), oil)
    water, oil_volume = layout.volume("water", oil), layout.volume("oil", oil)
    solubility = found.about.solubility.value if found.about.solubility else None
    fraction = fraction_at(found.about, ph)
    plain = share_out(grams, water, oil_volume, k.value, solubility=None if found.is_salt else solubility)
    ionised = (
        None
        if fraction is None
        else share_out(grams, water, oil_volume, k.value, undissociated=fraction, solubility=solubility)
    )
    density = layout.water_density(oil)
    return WaterLevel(found, k, oil, grams, 100.0 * grams / water, plain, ionised, fraction, density)


def k_for(found: Found, the_oil: str, given: Mapping[str, float]) -> tuple[KUsed, ...]:
    """The K to count with: the maker's, else one in print for this very oil, else a range of guesses."""
    if found.inci in given:
        return (KUsed(checked_k(given[found.inci], found.inci), "your K"),)
    printed = published_k(found.inci, the_oil) if the_oil else None
    if printed is not None:
        return (KUsed(printed.k, f"published for {printed.oil}", printed.source),)
    return tuple(KUsed(value, "K not known", "bean-1972", is_known=False) for value in RANGE_OF_K)


def preservative_levels(
    formula: Formula,
    materials: Materials,
    oil: float | None = None,
    ph: float | None = None,
    partition: Mapping[str, float] | None = None,
    *,
    path: RatioPath | None = None,
) -> tuple[WaterLevel, ...]:
    """The estimated level in water of every preservative of a formula; several for one whose K is not known.

    Parameters
    ----------
    oil
        The oil layer, where not the one in hand. [% w/w of the whole]
    ph
        Measured in the water layer; without it ionisation is not counted. [-]
    partition
        K of each preservative in this oil, by its INCI name or that of its salt. [% w/v over % w/v]
    path
        The path of the ratio, if the hand is already moving on one.

    Raises
    ------
    RangeError
        The formula is not complete or has no water layer; the pH, a K or the oil layer is out of range.
    UnknownNameError
        A K for a substance that is no preservative of this formula.
    """
    if ph is not None:
        checked_ph(ph)
    layout = Layout.of(formula, materials, path)
    oil = layout.now if oil is None else oil
    if not layout.low - 1e-9 <= oil <= max(layout.high, layout.now) + 1e-9:
        msg = f"The oil layer can be {layout.low:.4g} to {layout.high:.4g} % here, not {oil:.4g} %."
        raise RangeError(msg)
    every = find_preservatives(formula, materials)
    given = _by_acid(partition or {}, every, formula.title)
    main_oil = the_oil(formula, materials)
    levels = []
    for found in every:
        ks = k_for(found, main_oil, given) if layout.volume("oil", oil) > 0 else (KUsed(0.0, "no oil layer"),)
        levels += [level_at(found, layout, k, oil, ph) for k in ks]
    return tuple(levels)


def _by_acid(partition: Mapping[str, float], every: tuple[Found, ...], title: str) -> dict[str, float]:
    names = {found.inci.casefold(): found.inci for found in every}
    names |= {form.casefold(): found.inci for found in every for form in found.forms}
    names |= {salt.casefold(): acid for salt, acid in salts().items() if acid in names.values()}
    given = {}
    for name, k in partition.items():
        inci = names.get(name.strip().casefold())
        if inci is None:
            there = ", ".join(found.inci for found in every) or "none"
            msg = f"A K is given for {name}, which is no preservative of {title}. It has these: {there}."
            raise UnknownNameError(msg)
        given[inci] = checked_k(k, inci)
    return given
