"""Where the water of a layer begins to freeze, how much of it is ice at a temperature, and how much room that asks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.crossing import crossing
from kit.layers.substance import WATER, WATERY
from kit.liquids.aqueous import aqueous_solution
from kit.liquids.freezing import CRYOSCOPIC, freezing_curve
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.ingredient import Ingredient, PhaseKind
    from kit.liquids.freezing import FreezingCurve

#: Of ice and of water at 0 °C, read in public references: freezing makes 9.07 % more of it. [g/mL]
ICE, WATER_AT_0 = 0.9167, 0.99984
#: What a gram of water grows by when it freezes. [mL/g]
GROWS = 1 / ICE - 1 / WATER_AT_0

#: How far two tables of a curve lie apart: a part of the lowering, and at least so much. [-, K]
CURVE_OFF, LEAST_OFF = 0.04, 0.1
#: How far the ideal law lies off up to a strength, and up to where it is used at all. [-, mol/kg]
IDEAL_OFF, IDEAL_TO, FAR_OFF, FAR_TO = 0.15, 1.0, 0.25, 3.0
#: A charged substance of unknown curve may part into so many particles, or gather in micelles and count for none.
MOST_PARTICLES = 3.0
#: The roles of what gathers in micelles.
GATHERING = ("surfactant", "emulsifier", "solubiliser")


@dataclass(frozen=True, slots=True)
class Solute:
    """What is dissolved in the water of a layer.

    Attributes
    ----------
    strength
        [g in 1 g of water]
    curve
        As measured; None where only the ideal law is left.
    molality
        Where that is left. [mol/kg]
    few, many
        Into how few and how many particles it may part then. [-]
    """

    name: str
    strength: float
    curve: FreezingCurve | None = None
    molality: float = 0.0
    few: float = 1.0
    many: float = 1.0

    def keeps(self, lowering: float) -> tuple[float, float]:
        """Which part of the water it keeps liquid at so much below 0 °C: the least and the most. [K → -, -]

        Beyond what is known of it, somewhere between nothing and what it kept there.
        """
        if self.curve is not None:
            if lowering <= self.curve.furthest:
                kept = self.strength / self.curve.strength_at(lowering)
                return kept, kept
            return 0.0, self.strength / self.curve.strengths[-1]
        least = self.few * self._kept(lowering, -1) if lowering <= CRYOSCOPIC * FAR_TO * self.few else 0.0
        return least, self.many * self._kept(min(lowering, CRYOSCOPIC * FAR_TO * self.many), 1)

    def _kept(self, lowering: float, sign: int) -> float:
        """By the ideal law, off to one side, for one particle."""
        off = IDEAL_OFF if lowering <= CRYOSCOPIC * IDEAL_TO else FAR_OFF
        return CRYOSCOPIC * self.molality * (1 + sign * off) / lowering

    @property
    def furthest(self) -> float:
        """Down to where anything is known of it. [K]"""
        return self.curve.furthest if self.curve is not None else CRYOSCOPIC * FAR_TO * self.many


@dataclass(frozen=True, slots=True)
class WaterFreezing:
    """How the water of one layer freezes.

    Attributes
    ----------
    name
        Of the layer.
    water
        Its part of the layer. [% w/w]
    solutes
        Dissolved in it, and counted.
    not_counted
        Names of which nothing is known that would tell, and their part of the layer. [-, % w/w]
    warmest, coldest
        Between these the first ice can form; None: no warmest where there is no water, no coldest where it lies
        beyond what is known. [°C]
    """

    name: str
    water: float
    solutes: tuple[Solute, ...]
    not_counted: tuple[str, ...]
    not_counted_share: float
    warmest: float | None
    coldest: float | None

    @property
    def curves(self) -> tuple[Solute, ...]:
        """What was counted by a measured curve."""
        return tuple(each for each in self.solutes if each.curve is not None)

    def ice(self, celsius: float) -> tuple[float, float]:
        """Which part of its water is ice at a temperature: the least and the most. [°C → -, -]

        The ice is pure water, and what is left is as strong as a solution that begins to freeze there (lever rule).

        Examples
        --------
        >>> pure = WaterFreezing("Water", 100, (), (), 0.0, 0.0, 0.0)
        >>> pure.ice(-1), pure.ice(1)
        ((1.0, 1.0), (0.0, 0.0))
        """
        if self.warmest is None or celsius >= self.warmest:
            return 0.0, 0.0
        least, most = kept(self.solutes, -celsius)
        return max(0.0, 1 - most), max(0.0, 1 - least)

    def grows(self, mass: float, celsius: float) -> float:
        """How much larger so much of the layer is for the ice in it, at the most. [g, °C → mL]"""
        return mass * self.water / 100 * self.ice(celsius)[1] * GROWS

    @property
    def begins(self) -> str:
        """Where the first ice can form, in words."""
        if self.warmest is None:
            return "not known: it holds no water"
        if self.coldest is None:
            return f"below {_minus(self.warmest)} °C; how far below is not known"
        if self.warmest - self.coldest < 0.15:
            return f"at about {_minus((self.warmest + self.coldest) / 2)} °C"
        return f"between {_minus(self.coldest)} and {_minus(self.warmest)} °C"

    def sentence(self) -> str:
        """Where its water begins to freeze, and what that rests on."""
        if self.warmest is None:
            return f"The {self.name} holds no water: where it sets in the cold is not known here."
        said = f"The first ice can form in the {self.name} {self.begins}"
        known = [each.name for each in self.curves]
        ideal = [each.name for each in self.solutes if each.curve is None]
        basis = ([f"{listed(known)} by measured curves"] if known else []) + (
            [f"{listed(ideal)} by the ideal law"] if ideal else []
        )
        said += f": {'; '.join(basis)}." if basis else "."
        if self.not_counted_share >= 0.05:
            said += (
                f" Not counted, {self.not_counted_share:.3g} % of the layer: {listed(self.not_counted)}, of which no "
                "molar mass is known here; it can only freeze colder for them."
            )
        return f"{said} A still bottle may stay liquid some degrees below that, and then freeze at a knock."


def _minus(celsius: float) -> str:
    return f"{celsius:.1f}".replace("-0.0", "0.0")


def kept(solutes: tuple[Solute, ...], lowering: float) -> tuple[float, float]:
    """Which part of the water many solutes keep liquid at so much below 0 °C: their parts add. [K → -, -]

    References
    ----------
    .. [1] R. H. Stokes, R. A. Robinson, "Interactions in aqueous nonelectrolyte solutions", J. Phys. Chem. 70 (1966)
       2126 (from memory), after A. B. Zdanovskii: solutions of the same water activity mix without changing it.
    """
    both = [each.keeps(lowering) for each in solutes]
    return math.fsum(low for low, _ in both), math.fsum(high for _, high in both)


def water_freezing(name: str, shares: Mapping[str, float], materials: Materials) -> WaterFreezing:
    """How a mixture freezes.

    Parameters
    ----------
    name
        What it is called.
    shares
        Substance → its part. [% w/w]

    Examples
    --------
    >>> from kit.formula.expansion import Materials
    >>> from kit.library.library import Library
    >>> nothing = Materials({}, Library.bundled())
    >>> mist = water_freezing("mist", {"Aqua": 80, "Alcohol": 20}, nothing)
    >>> mist.begins
    'between -11.4 and -10.5 °C'
    """
    whole = math.fsum(shares.values())
    water, dissolved, unknown = 0.0, {}, {}
    for each, share in shares.items():
        if each == WATER or each.endswith(WATERY):
            water += share
            continue
        solution = aqueous_solution(each)
        brings = solution.brings if solution is not None else 1.0
        water += share * (1 - brings)
        if share > 0:
            dissolved[each] = share * brings
    solutes = []
    for each, share in dissolved.items():
        made = _solute(each, share / water, materials.ingredient(each)) if water > 0 else None
        if made is not None:
            solutes.append(made)
        else:
            unknown[each] = share
    found = tuple(solutes)
    left_out = tuple(sorted(unknown, key=lambda each: -unknown[each]))
    ends = (None, None) if not water > 0 else _first_ice(found)
    percent = 100 / whole if whole else 0.0
    return WaterFreezing(name, water * percent, found, left_out, sum(unknown.values()) * percent, *ends)


def _solute(name: str, strength: float, ingredient: Ingredient | None) -> Solute | None:
    curve = freezing_curve(name)
    if curve is not None:
        return Solute(name, strength, curve)
    if ingredient is None or ingredient.molar_mass is None:
        return None
    molality = 1000 * strength / ingredient.molar_mass.value
    if any(role in GATHERING for role in ingredient.roles) or ingredient.charge not in ("nonionic", "none"):
        return Solute(name, strength, None, molality, 0.0, MOST_PARTICLES)
    return Solute(name, strength, None, molality)


def _first_ice(solutes: tuple[Solute, ...]) -> tuple[float, float | None]:
    """Between which temperatures the first ice can form. [°C]"""
    if not solutes:
        return 0.0, 0.0
    deepest = max(each.furthest for each in solutes)
    ends: list[float | None] = []
    for which in (0, 1):

        def left(lowering: float, which: int = which) -> float:
            return kept(solutes, lowering)[which] - 1

        if (at_end := left(deepest)) > 0:
            ends.append(None)
            continue
        at_start = left(shallow := 1e-6)
        ends.append(crossing(left, shallow, deepest, at_start, at_end) if at_start > 0 else 0.0)
    warm, cold = ends
    if warm is None:
        return -deepest, None
    warm = max(0.0, warm - max(CURVE_OFF * warm, min(LEAST_OFF, warm / 2)))
    return -warm, None if cold is None else -(cold + max(CURVE_OFF * cold, min(LEAST_OFF, cold / 2)))


def in_layer(formula: Formula, materials: Materials, kind: PhaseKind) -> dict[str, float]:
    """The substances of a layer: name → its part of the layer. [% w/w]"""
    found: dict[str, float] = {}
    for phase, _, line, percent in formula.each_line():
        if formula.phases[phase].kind == kind and percent:
            for name, part in materials.substances(line.material).items():
                found[name] = found.get(name, 0.0) + percent * part / 100
    whole = math.fsum(found.values())
    return {name: 100 * part / whole for name, part in found.items()} if whole > 0 else {}
