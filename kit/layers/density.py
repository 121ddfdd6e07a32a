"""The one density of a layer at a temperature, with its uncertainty: what every panel, paper and table reads."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.model import moved_away
from kit.formula.moved import NOTHING
from kit.layers.density_words import COVERAGE
from kit.layers.mixing import Contents, Mixed
from kit.layers.substance import USUAL
from kit.liquids.water import COLDEST, WARMEST

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula, MeasuredDensity
    from kit.library.ingredient import PhaseKind

#: What a layer is taken to weigh where none of its lines has a density, and how wrong that may be: value and
#: standard uncertainty (from memory). [g/mL]
DEFAULT_DENSITY: dict[str, tuple[float, float]] = {"water": (1.0, 0.05), "oil": (0.9, 0.04), "other": (1.0, 0.1)}

#: How far the density of what is not known may lie from that of the rest of its layer: standard uncertainty, as a
#: part of it (a judgement: oils lie from 0.75 to 0.97 g/mL, what goes into water from 0.8 to 1.5). [-]
UNKNOWN_SPREAD: dict[str, float] = {"water": 0.12, "oil": 0.06, "other": 0.12}

#: A layer of which so much is not what was measured takes nothing from the measurement (a judgement). [0 to 1]
FAR = 0.2

#: What a product that stands in one piece is called as a layer.
WHOLE = "Whole product"

#: More of a layer than this without a known expansion, and its density is known at 20 °C only. [% of its volume]
MOST_UNKNOWN = 20.0


@dataclass(frozen=True, slots=True)
class Mixture:
    """A density and how much of the mixture it knows. [g/mL, % of the mass without a density]"""

    density: float
    unknown_share: float


def mix_densities(parts: Iterable[tuple[float, float | None]]) -> Mixture | None:
    """Density of a mixture from ideal volumes: 1/ρ = Σ wᵢ/ρᵢ.

    Parameters
    ----------
    parts
        (mass or percent, density) of each part; parts without a density are left out and reported. [any, g/mL]

    Returns
    -------
    The density over the parts that have one; None where no part has.

    Notes
    -----
    Volumes are taken to add. Water with alcohol contracts: equal volumes at 20 °C lose 3.5 % [1]_, so a
    density computed here is then too low.

    References
    ----------
    .. [1] OIML R 22 (1975), International alcoholometric tables.

    Examples
    --------
    >>> round(mix_densities([(30, 0.853), (70, 0.9982)]).density, 4)
    0.9496
    """
    known = volume = total = 0.0
    for mass, density in parts:
        total += mass
        if density is not None:
            known += mass
            volume += mass / density
    if volume <= 0:
        return None
    return Mixture(known / volume, 100.0 * (total - known) / total)


def material_density(name: str, materials: Materials) -> float | None:
    """Density of a material by itself at 20 °C; None if nothing of it has one. [g/mL]"""
    mixed = Contents.of([name], materials).mix([1.0])
    return mixed.density if mixed else None


class _Called:
    """What sentences call a layer: water and oil by their kind, any other by its own name."""

    __slots__ = ()

    kind: PhaseKind
    name: str

    @property
    def words(self) -> str:
        """What to call it in a sentence, such as "water layer", or "Wash base"."""
        return self.name if self.kind == "other" and self.name.strip() else f"{self.kind} layer"


@dataclass(frozen=True, slots=True)
class LayerDensity(_Called):
    """The density of one layer at one temperature, and what it rests on.

    Attributes
    ----------
    value, uncertainty
        With its standard uncertainty (GUM): of the tables, of ideal mixing, of what is not known. [g/mL]
    celsius
        [°C]
    unknown_share
        Part of its mass that has no density and is taken to be like the rest. [%]
    unknown_expansion_share
        Part of its volume whose expansion is not known. [%]
    mixed
        Its substances and how the room of each was found; None where nothing of it has a density.
    measured
        How far a density that the maker measured counts in it: 1 where the layer is what was measured. [0 to 1]
    name
        Of the layer's first phase.
    """

    kind: PhaseKind
    value: float
    uncertainty: float
    celsius: float
    unknown_share: float
    unknown_expansion_share: float
    mixed: Mixed | None = field(default=None, repr=False)
    measured: float = 0.0
    name: str = ""

    @property
    def is_known(self) -> bool:
        """False away from 20 °C where too much of the layer expands by nobody knows how much."""
        return self.celsius == USUAL or self.unknown_expansion_share <= MOST_UNKNOWN


@dataclass(frozen=True, slots=True)
class Layer(_Called):
    """One layer of a product.

    Attributes
    ----------
    kind, name
        Its kind, and the name of its first phase.
    percent
        Of the whole. [% w/w]
    density
        At 20 °C. [g/mL]
    unknown_share
        Part of the layer's mass that has no density. [%]
    uncertainty
        Standard uncertainty of the density. [g/mL]
    about
        What the density rests on.
    """

    kind: PhaseKind
    name: str
    percent: float
    density: float
    unknown_share: float
    uncertainty: float = 0.0
    about: LayerDensity | None = field(default=None, repr=False)

    @property
    def volume_per_100_g(self) -> float:
        """[mL per 100 g of product]"""
        return self.percent / self.density


@dataclass(frozen=True)
class LayerContents(_Called):
    """One layer of a formula, its materials looked up once: its density at any amounts and any temperature.

    Attributes
    ----------
    lines, materials
        Which lines of the formula it holds, counted over all phases, and what they are.
    measured
        What the maker measured, and what would be computed for that; None where she did not.
    """

    kind: PhaseKind
    name: str
    lines: tuple[int, ...]
    materials: tuple[str, ...]
    contents: Contents
    measured: tuple[MeasuredDensity, LayerDensity] | None = None

    @classmethod
    def of(cls, formula: Formula, materials: Materials) -> list[LayerContents]:
        """The layers of a formula, in the order in which they are written."""
        numbered = [(n, formula.phases[p].kind, line) for n, (p, _, line, _) in enumerate(formula.each_line())]
        found = []
        for kind in dict.fromkeys(phase.kind for phase in formula.phases):
            lines = [(n, line.material) for n, of, line in numbered if of == kind]
            name = next(phase.name for phase in formula.phases if phase.kind == kind)
            names = tuple(material for _, material in lines)
            contents = Contents.of(names, materials)
            layer = cls(kind, name, tuple(n for n, _ in lines), names, contents)
            measured = next((each for each in reversed(formula.densities) if each.layer == kind), None)
            if measured is not None:
                mix = Contents.of(list(measured.mix), materials)
                then = _computed(kind, mix, list(measured.mix.values()), measured.celsius)
                layer = replace(layer, measured=(measured, then))
            found.append(layer)
        return found

    def mass(self, percents: Sequence[float]) -> float:
        """How much of the product it is when the lines have these percents. [% w/w]"""
        return sum(percents[n] for n in self.lines)

    def density(self, percents: Sequence[float], celsius: float = USUAL) -> LayerDensity:
        """Its density when the lines have these percents; what is below 0 counts as none. [% w/w, °C]

        A measured density corrects the computed one, in full where the layer is what was measured, and the less the
        further it has moved away from that: not at all beyond :data:`FAR` of it.
        """
        masses = [percents[n] for n in self.lines]
        found = _computed(self.kind, self.contents, masses, celsius, self.name)
        if self.measured is None:
            return found
        measured, then = self.measured
        whole = sum(mass for mass in masses if mass > 0)
        now: dict[str, float] = {}
        for name, mass in zip(self.materials, masses, strict=True):
            if mass > 0:
                now[name] = now.get(name, 0.0) + 100 * mass / whole
        counts = max(0.0, 1 - moved_away(measured.mix, now) / FAR)
        if counts < 1e-9:
            return found
        value = found.value * (measured.value / then.value) ** counts
        is_there = celsius == measured.celsius
        grown = 0.0 if is_there else abs(found.uncertainty**2 - then.uncertainty**2)
        known = (counts * measured.uncertainty) ** 2 + ((1 - counts) * found.uncertainty) ** 2 + counts**2 * grown
        return replace(
            found,
            value=value,
            uncertainty=known**0.5,
            unknown_share=(1 - counts) * found.unknown_share,
            unknown_expansion_share=found.unknown_expansion_share * (1 - counts if is_there else 1.0),
            measured=counts,
        )

    def volume(self, percents: Sequence[float]) -> float:
        """Its volume in 100 g of product at 20 °C when the lines have these percents. [% w/w → mL]"""
        mass = self.mass(percents)
        return mass / self.density(percents).value if mass > 0 else 0.0


def _computed(
    kind: PhaseKind, contents: Contents, masses: Sequence[float], celsius: float, name: str = ""
) -> LayerDensity:
    """The density of a layer from tables and ideal volumes alone."""
    mixed = contents.mix(masses, celsius)
    if mixed is None:
        return LayerDensity(kind, *DEFAULT_DENSITY[kind], celsius, 100.0, 100.0, name=name)
    known = mixed.density * mixed.uncertainty / mixed.volume
    unknown = mixed.density * UNKNOWN_SPREAD[kind] * mixed.unknown_share / 100
    uncertainty = (known**2 + unknown**2) ** 0.5
    return LayerDensity(
        kind, mixed.density, uncertainty, celsius, mixed.unknown_share, mixed.unknown_expansion_share, mixed, name=name
    )


def amounts(formula: Formula) -> list[float]:
    """The percent of every line, phases in order; 0 where there is none yet. [% w/w]"""
    return [percent or 0.0 for *_, percent in formula.each_line()]


def layer_density(formula: Formula, materials: Materials, kind: PhaseKind, celsius: float = USUAL) -> LayerDensity:
    """The density of a layer at a temperature, with its uncertainty.

    In water, what has a published table takes the room which that table gives it (Young's rule); all else, and all
    of an oil layer, adds by ideal volumes, each expanding by itself. What has no density counts as the rest.

    Parameters
    ----------
    celsius
        0 to 100 °C.

    Raises
    ------
    RangeError
        Outside 0 to 100 °C, or the formula has no such layer.

    Examples
    --------
    >>> from kit.demos import demo
    >>> from kit.formula.expansion import Materials
    >>> from kit.library.library import Library
    >>> made = demo()
    >>> found = layer_density(made, Materials.of(made, Library.bundled()), "oil")
    >>> print(f"{found.value:.3f} ± {2 * found.uncertainty:.3f} g/mL")
    0.880 ± 0.014 g/mL
    """
    if not COLDEST <= celsius <= WARMEST:
        msg = f"{celsius:g} °C is outside {COLDEST:g} to {WARMEST:g} °C, where densities of layers are computed."
        raise RangeError(msg)
    percents = amounts(formula)
    layer = next((each for each in LayerContents.of(formula, materials) if each.kind == kind), None)
    if layer is None or layer.mass(percents) <= 0:
        msg = f"{formula.title} has no {kind} layer, so it has no density."
        raise RangeError(msg)
    return layer.density(percents, celsius)


def layers_of(formula: Formula, materials: Materials) -> list[Layer]:
    """The layers of a formula, in the order in which they are written; a layer with no mass is left out."""
    percents = amounts(formula)
    found = []
    for layer in LayerContents.of(formula, materials):
        mass = layer.mass(percents)
        if mass > NOTHING:
            about = layer.density(percents)
            found.append(
                Layer(layer.kind, layer.name, mass, about.value, about.unknown_share, about.uncertainty, about)
            )
    return found


def as_one(layers: Iterable[Layer]) -> Layer:
    """All layers as one liquid that does not part, such as an emulsion: their volumes add.

    It is of the kind of the heaviest of them.

    Examples
    --------
    >>> half = Layer("water", "One", 50, 1.0, 0), Layer("oil", "Two", 50, 0.9, 10)
    >>> one = as_one(half)
    >>> one.kind, one.percent, round(one.density, 4), one.unknown_share
    ('water', 100, 0.9474, 5.0)
    """
    layers = list(layers)
    percent = sum(layer.percent for layer in layers)
    density = product_density(layers)
    return Layer(
        max(layers, key=lambda layer: layer.percent).kind,
        WHOLE,
        percent,
        density,
        sum(layer.percent * layer.unknown_share for layer in layers) / percent,
        density * product_density_off(layers) / (100 * COVERAGE),
    )


def product_density(layers: Iterable[Layer]) -> float:
    """Density of the whole product, shaken: its layers do not mix, so their volumes add. [g/mL]"""
    layers = list(layers)
    return sum(layer.percent for layer in layers) / sum(layer.volume_per_100_g for layer in layers)


def product_density_off(layers: Iterable[Layer]) -> float:
    """How far :func:`product_density` may lie off: twice the standard uncertainty, each layer's apart. [% of it]

    Examples
    --------
    >>> half = Layer("water", "One", 50, 1.0, 0, uncertainty=0.03), Layer("oil", "Two", 50, 1.0, 0, uncertainty=0.04)
    >>> round(product_density_off(half), 2)
    5.0
    """
    layers = list(layers)
    volume = sum(layer.volume_per_100_g for layer in layers)
    variance = sum((layer.volume_per_100_g * layer.uncertainty / layer.density) ** 2 for layer in layers)
    return 100 * COVERAGE * math.sqrt(variance) / volume
