"""Densities: of a material, of a layer."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.findings import Finding, Place

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.ingredient import PhaseKind

#: Layers closer than this form slowly and may change places with temperature (common practice). [g/mL]
CLOSE_DENSITIES = 0.02

IDEAL_VOLUMES = "computed from ideal volumes: mixing is taken to change no volume"


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
    """Density of a material: its own figure, or its composition's by ideal volumes; None if unknown. [g/mL]"""
    known = _known_density(name, materials)
    return known.density if known else None


def _known_density(name: str, materials: Materials, inside: tuple[str, ...] = ()) -> Mixture | None:
    """The density of a material and how much of it that density leaves out; a part of itself counts as unknown."""
    material = materials.get(name)
    if material is None or material.name in inside:
        return None
    if material.density is not None:
        return Mixture(material.density.value, 0.0)
    parts = [
        (share, _known_density(part, materials, (*inside, material.name)))
        for part, share in material.composition.items()
    ]
    return _mixture_of(parts)


def _mixture_of(parts: list[tuple[float, Mixture | None]]) -> Mixture | None:
    mixture = mix_densities((mass, known.density if known else None) for mass, known in parts)
    if mixture is None:
        return None
    left_out = sum(mass * (known.unknown_share if known else 100.0) for mass, known in parts)
    return Mixture(mixture.density, left_out / sum(mass for mass, _ in parts))


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a product.

    Attributes
    ----------
    kind, name
        Its kind, and the name of its first phase.
    percent
        Of the whole. [% w/w]
    density
        [g/mL]
    unknown_share
        Part of the layer's mass that has no density. [%]
    """

    kind: PhaseKind
    name: str
    percent: float
    density: float
    unknown_share: float

    @property
    def volume_per_100_g(self) -> float:
        """[mL per 100 g of product]"""
        return self.percent / self.density


#: What a layer is taken to weigh where none of its lines has a density (from memory). [g/mL]
DEFAULT_DENSITY: dict[str, float] = {"water": 1.0, "oil": 0.9, "other": 1.0}


def layers_of(formula: Formula, materials: Materials) -> list[Layer]:
    """The layers of a formula, in the order in which they are written; a layer with no mass is left out."""
    found = []
    for kind in dict.fromkeys(phase.kind for phase in formula.phases):
        parts = [
            (percent, line.material)
            for p, _, line, percent in formula.each_line()
            if formula.phases[p].kind == kind and percent
        ]
        mass = sum(percent for percent, _ in parts)
        if mass <= 0:
            continue
        mixture = _mixture_of([(x, _known_density(name, materials)) for x, name in parts if x > 0])
        name = next(phase.name for phase in formula.phases if phase.kind == kind)
        found.append(
            Layer(
                kind,
                name,
                mass,
                mixture.density if mixture else DEFAULT_DENSITY[kind],
                mixture.unknown_share if mixture else 100.0,
            )
        )
    return found


def product_density(layers: Iterable[Layer]) -> float:
    """Density of the whole product, shaken, from ideal volumes. [g/mL]"""
    layers = list(layers)
    return sum(layer.percent for layer in layers) / sum(layer.volume_per_100_g for layer in layers)


def density_findings(layers: list[Layer]) -> list[Finding]:
    """What to say about densities that are missing or close together."""
    found = []
    for layer in layers:
        if layer.unknown_share > 0.05:
            basis = "the rest of the layer" if layer.unknown_share < 100 else f"{layer.density:g} g/mL, from memory"
            found.append(
                Finding(
                    "note",
                    f"{layer.unknown_share:.3g} % of the {layer.kind} layer has no density in the library; "
                    f"it is computed from {basis}.",
                    Place(field="bottle"),
                )
            )
    for upper, lower in pairwise(layers):
        gap = abs(upper.density - lower.density)
        if gap < CLOSE_DENSITIES:
            found.append(
                Finding(
                    "caution",
                    f"The {upper.kind} and {lower.kind} layers differ by only {gap:.3f} g/mL: they part slowly and may "
                    "change places when warm or cold.",
                    Place(field="bottle"),
                    "common practice",
                )
            )
    return found
