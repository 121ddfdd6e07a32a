"""Viscosities of liquids and of layers: salt in water, blends of miscible liquids, and what a layer's materials give.

Viscosity does not blend linearly: half and half of 32 and 220 mm²/s is 76, not 126 (see :func:`blend_kinematic`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.errors import KitError, RangeError
from kit.findings import Finding, Place
from kit.layers.density import material_density
from kit.library.sources import FROM_MEMORY
from kit.liquids.alcohol import ALCOHOLS
from kit.liquids.glycerol import glycerol_water_viscosity
from kit.resources import load_table
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.layers.density import Layer
    from kit.library.ingredient import PhaseKind


#: How much thicker than water a solution of sodium chloride is at 20 °C: (% w/w, times). See :func:`brine_factor`.
BRINE = ((0.0, 1.0), (5.0, 1.080 / 1.0016), (20.0, 1.561 / 1.0016))

#: Blending numbers exist only above this. [mm²/s]
LEAST_KINEMATIC = 0.2


def brine_factor(salt: float) -> float:
    """How many times thicker than water a solution of sodium chloride is at 20 °C.

    Parameters
    ----------
    salt
        Sodium chloride in salt and water together. [% w/w]

    Raises
    ------
    RangeError
        Outside 0 to 20 %.

    Notes
    -----
    Between the figures of the source (0, 5 and 20 %) the logarithm is taken as straight.

    References
    ----------
    .. [1] M. Laliberté, "A model for calculating the viscosity of aqueous solutions", J. Chem. Eng. Data 52 (2007)
       321-335, and its update of 2009; 1.080 and 1.561 mPa·s recomputed with the library thermo 0.6.1.

    Examples
    --------
    >>> round(brine_factor(5), 3)
    1.078
    """
    if not 0 <= salt <= BRINE[-1][0]:
        msg = f"The effect of salt is known from 0 to {BRINE[-1][0]:g} % w/w in water, not at {salt:g} %."
        raise RangeError(msg)
    (x0, y0), (x1, y1) = (BRINE[0], BRINE[1]) if salt <= BRINE[1][0] else (BRINE[1], BRINE[2])
    part = (salt - x0) / (x1 - x0)
    return math.exp((1 - part) * math.log(y0) + part * math.log(y1))


@sound()
def blend_index(kinematic: float) -> float:
    """The blending number of a liquid: VBN = 14.534 ln ln(ν + 0.8) + 10.975.

    Parameters
    ----------
    kinematic
        ν, the viscosity divided by the density; more than 0.2. [mm²/s]

    Raises
    ------
    RangeError
        ν is 0.2 mm²/s or less, where the number does not exist.

    References
    ----------
    .. [1] R. E. Maples, Petroleum Refinery Process Economics, 2nd ed. (2000): the Refutas index, weighted by mass.

    Examples
    --------
    >>> round(blend_index(32), 4)
    29.1429
    """
    if not kinematic > LEAST_KINEMATIC:
        msg = (
            f"The blending number needs a kinematic viscosity above {LEAST_KINEMATIC:g} mm²/s, got {kinematic:g}. "
            "It is mPa·s divided by g/mL."
        )
        raise RangeError(msg)
    return 14.534 * math.log(math.log(kinematic + 0.8)) + 10.975


@sound()
def kinematic_from_index(index: float) -> float:
    """The kinematic viscosity that has this blending number; the inverse of :func:`blend_index`. [mm²/s]

    Examples
    --------
    >>> round(kinematic_from_index(29.142856), 4)
    32.0
    """
    return math.exp(math.exp((index - 10.975) / 14.534)) - 0.8


def blend_kinematic(parts: Iterable[tuple[float, float]]) -> float | None:
    """Kinematic viscosity of a blend of miscible liquids, by blending numbers weighted by mass. [mm²/s]

    Parameters
    ----------
    parts
        (mass, kinematic viscosity) of each liquid. [any, mm²/s]

    Returns
    -------
    None where there is no mass.

    Notes
    -----
    Made for oils. It cannot foretell a blend that is thicker than each of its parts, such as alcohol with water.
    Sources disagree whether the number is weighted by mass, as here after Maples, or by volume.

    References
    ----------
    .. [1] R. E. Maples, Petroleum Refinery Process Economics, 2nd ed. (2000).

    Examples
    --------
    >>> round(blend_kinematic([(50, 32), (50, 220)]), 2)
    75.94
    """
    total = weighted = 0.0
    for mass, kinematic in parts:
        total += mass
        weighted += mass * blend_index(kinematic)
    return kinematic_from_index(weighted / total) if total > 0 else None


#: What a layer counts as where nothing in it has a viscosity: water, or a middling oil (from memory). [mPa·s]
DEFAULT_VISCOSITY: dict[str, float] = {"water": 1.0, "oil": 30.0, "other": 30.0}

#: A layer of which more than this has no viscosity is said to be in doubt. [% of the layer]
DOUBTFUL_SHARE = 5.0

#: More alcohols than this in a water layer, and its viscosity is not to be trusted. [% of the layer]
ALCOHOL_SHARE = 5.0

_BRINE, _GLYCEROL, _WATER = "Sodium Chloride", "Glycerin", "Aqua"

_PLACE = Place(field="viscosity")


@dataclass(frozen=True, slots=True)
class KnownViscosity:
    """One row of the table of viscosities. [mPa·s, °C]"""

    value: float
    temperature: float
    source: str
    note: str = ""


@lru_cache(maxsize=1)
def known_viscosities() -> dict[str, KnownViscosity]:
    """INCI name → its viscosity, from ``data/viscosities``."""
    return {
        row["inci"]: KnownViscosity(
            float(row["viscosity_mpa_s"]), float(row["temperature_degc"]), row["viscosity_source"], row["note"]
        )
        for row in load_table("viscosities").rows
    }


@dataclass(frozen=True, slots=True)
class LayerViscosity:
    """The viscosity of a layer and how it came about.

    Attributes
    ----------
    value
        [mPa·s]
    words
        How it was found: typed, computed, or only assumed.
    doubtful
        True where it may well be wrong by a factor of two.
    """

    kind: PhaseKind
    value: float
    words: str
    doubtful: bool = False
    findings: tuple[Finding, ...] = ()


def measured_viscosity(kind: PhaseKind, value: float) -> LayerViscosity:
    """The viscosity that the maker measured or read. [mPa·s]

    Raises
    ------
    RangeError
        0 or less, or beyond any liquid.
    """
    if not 0 < value <= 1e7:
        msg = f"A viscosity lies between 0 and 10,000,000 mPa·s, not at {value:g}. Water has 1, honey about 10,000."
        raise RangeError(msg)
    return LayerViscosity(kind, value, "as you typed it")


def layer_viscosity(formula: Formula, materials: Materials, layer: Layer) -> LayerViscosity:
    """The viscosity of a layer at 20 °C, computed from its lines.

    Oils blend by blending numbers (Maples). In a water layer glycerin follows Cheng (2008) and salt Laliberté;
    other liquids of the table join by blending numbers; what is dissolved and has no viscosity counts as water.
    """
    parts = [
        (percent, line.material)
        for p, _, line, percent in formula.each_line()
        if formula.phases[p].kind == layer.kind and percent
    ]
    return _water_layer(parts, materials, layer) if layer.kind == "water" else _oil_layer(parts, materials, layer)


def _oil_layer(parts: list[tuple[float, str]], materials: Materials, layer: Layer) -> LayerViscosity:
    leaves = [leaf for mass, name in parts for leaf in _leaves(mass, name, materials)]
    table = known_viscosities()
    known = [
        (mass, table[name].value / (material_density(name, materials) or layer.density))
        for mass, name in leaves
        if name in table
    ]
    blended = blend_kinematic(known)
    if blended is None:
        assumed = DEFAULT_VISCOSITY[layer.kind]
        sentence = (
            f"Nothing in the {layer.words} has a viscosity in the table: {assumed:g} mPa·s is assumed, "
            "from memory. Type the one from the data sheet, or measure it."
        )
        found = Finding("caution", sentence, _PLACE, "from memory")
        return LayerViscosity(layer.kind, assumed, "assumed", doubtful=True, findings=(found,))
    unknown = 100 * sum(mass for mass, name in leaves if name not in table) / sum(mass for mass, _ in leaves)
    findings = list(_left_out(layer, unknown, "computed from the rest of the layer"))
    remembered = [name for mass, name in leaves if name in table and table[name].source == FROM_MEMORY]
    if remembered:
        names = ", ".join(dict.fromkeys(remembered))
        findings.append(Finding("note", f"Viscosity from memory: {names}.", _PLACE, "from memory"))
    words = "computed from its lines by blending numbers"
    return LayerViscosity(layer.kind, blended * layer.density, words, unknown > DOUBTFUL_SHARE, tuple(findings))


def _water_layer(parts: list[tuple[float, str]], materials: Materials, layer: Layer) -> LayerViscosity:
    masses: dict[str, float] = {}
    for mass, name in parts:
        for part, substance in _leaves(mass, name, materials, whole=False):
            masses[substance] = masses.get(substance, 0.0) + part
    total, table = sum(masses.values()), known_viscosities()
    liquids = {n: m for n, m in masses.items() if n in table and n not in (_WATER, _GLYCEROL)}
    salt, glycerol = masses.get(_BRINE, 0.0), masses.get(_GLYCEROL, 0.0)
    watery = total - sum(liquids.values()) - glycerol - salt
    rest = watery - masses.get(_WATER, 0.0)
    base = glycerol_water_viscosity(100 * glycerol / (watery + glycerol) if watery + glycerol else 0.0, "20 degC")
    strength = 100 * salt / (watery + salt) if watery + salt else 0.0
    base *= brine_factor(min(strength, BRINE[-1][0]))
    joined = [(mass, table[n].value / (material_density(n, materials) or layer.density)) for n, mass in liquids.items()]
    blended = blend_kinematic([(total - sum(liquids.values()), base / layer.density), *joined])
    findings = list(_left_out(layer, 100 * rest / total, "counted as water"))
    thickeners = [name for name in masses if name != _BRINE and _thickens(name, materials)]
    alcohol = 100 * sum(masses.get(name, 0.0) for name in ALCOHOLS) / total
    findings += _warnings(thickeners, alcohol, strength)
    doubtful = bool(thickeners) or alcohol > ALCOHOL_SHARE or 100 * rest / total > DOUBTFUL_SHARE
    value = (blended or 1.0) * layer.density
    return LayerViscosity(layer.kind, value, "computed from its lines", doubtful, tuple(findings))


def _warnings(thickeners: list[str], alcohol: float, salt: float) -> Iterator[Finding]:
    if thickeners:
        sentence = (
            f"{', '.join(thickeners)} thickens the water layer by far more than can be computed here: it counts as "
            "if it were water, so the times shown are too short. Type the viscosity that you measured."
        )
        yield Finding("caution", sentence, _PLACE)
    if alcohol > ALCOHOL_SHARE:
        sentence = (
            "Alcohol with water is thicker than each of them, up to about three times water; blending numbers cannot "
            "foretell it. Type the viscosity that you measured."
        )
        yield Finding("caution", sentence, _PLACE, "from memory")
    if salt > BRINE[-1][0]:
        sentence = f"The effect of salt is known to {BRINE[-1][0]:g} % in water; {salt:.3g} % counts as that."
        yield Finding("caution", sentence, _PLACE)


def _left_out(layer: Layer, unknown: float, how: str) -> Iterator[Finding]:
    if unknown > 0.05:
        sentence = f"{unknown:.3g} % of the {layer.words} has no viscosity in the table; it is {how}."
        yield Finding("note", sentence, _PLACE)


def _leaves(mass: float, name: str, materials: Materials, *, whole: bool = True) -> list[tuple[float, str]]:
    """A line as (mass, name) of what has a viscosity of its own, or of the substances it is made of."""
    material = materials.get(name)
    own = material.name if material is not None else name.strip()
    if whole and own in known_viscosities():
        return [(mass, own)]
    try:
        return [(mass * share / 100, part) for part, share in materials.substances(name).items()]
    except KitError:  # a blend that is part of itself: the formula's own findings say so
        return [(mass, own)]


def _thickens(name: str, materials: Materials) -> bool:
    ingredient = materials.ingredient(name)
    return ingredient is not None and "thickener" in ingredient.roles
