"""What dissolved substances do to the density of water: salts, bases, acids, sugars, alcohols, glycols.

One thing describes a solution: the room that 1 g of the dissolved substance takes in it, its apparent volume. Salt
takes far less than its dry crystal, because it pulls the water together.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import pairwise
from math import exp, hypot
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.liquids.alcohol import apparent_volume_of_ethanol
from kit.liquids.glycerol import apparent_volume_of_glycerol
from kit.liquids.propylene_glycol import apparent_volume_of_propylene_glycol
from kit.liquids.water import water_density_at
from kit.resources import load_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    #: (share of the mass of the solution, °C) → room that 1 g of the dissolved substance takes. [mL/g]
    Volume = Callable[[float, float], float]

#: From this strength the density is as uncertain as its source says; a weaker solution is the nearer to water,
#: whose density is known. [% w/w]
FULL_UNCERTAINTY = 10.0

#: Where the volumes of the substances were measured that are known at one temperature only. [°C]
MEASURED_AT = {"points": 20.0, "dilute": 25.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class AqueousSolution:
    """A substance dissolved in water.

    Attributes
    ----------
    substance, dissolved
        INCI name as sold, and that of what it is without crystal water or a denaturant.
    most
        How much of it the source covers, without crystal water. [% w/w of the solution]
    coldest, warmest
        Where the source holds. [°C]
    uncertainty
        Standard uncertainty of the density of a strong solution, at the temperature where it was measured; see
        :meth:`uncertainty_at`. [g/mL]
    source
        Key of ``data/sources``.
    brings
        Part of what is weighed that is the substance itself: less than 1 for a hydrate, whose rest is water.
    note
        What else is to be known.
    measured_at, expansion_uncertainty
        Temperature of the source where it is one only, and the standard uncertainty of what the substance expands
        by away from it. [°C, mL/(g K)]
    """

    substance: str
    dissolved: str
    most: float
    coldest: float
    warmest: float
    uncertainty: float
    source: str
    brings: float = 1.0
    note: str = ""
    measured_at: float = 20.0
    expansion_uncertainty: float = 0.0
    _volume: Volume = field(repr=False, compare=False)

    def density(self, percent: float, celsius: float) -> float:
        """Density of the solution. [g/mL]

        Parameters
        ----------
        percent
            Of the substance without crystal water. [% w/w of the solution]
        celsius
            [°C]

        Raises
        ------
        RangeError
            Outside what the source covers.

        Examples
        --------
        >>> round(aqueous_solution("Sodium Hydroxide").density(10, 20), 3)
        1.109
        """
        room = self.apparent_volume(percent, celsius)
        return 100 / ((100 - percent) / water_density_at(celsius) + percent * room)

    def apparent_volume(self, percent: float, celsius: float) -> float:
        """Room that 1 g of the substance without crystal water takes in the solution. [mL/g]

        The volume of the solution is the water by itself and this for each gram dissolved. For a trace of the
        substance it is the limit; below zero where the water shrinks by more than the substance adds.

        Raises
        ------
        RangeError
            Outside what the source covers.
        """
        if not 0 <= percent <= self.most:
            msg = f"{self.substance}: solutions in water are known from 0 to {self.most:g} % w/w, not at {percent:g} %."
            raise RangeError(msg)
        if not self.coldest <= celsius <= self.warmest:
            msg = (
                f"{self.substance}: solutions in water are known from {self.coldest:g} to {self.warmest:g} °C, "
                f"not at {celsius:g} °C."
            )
            raise RangeError(msg)
        return self._volume(percent / 100, celsius)

    def uncertainty_at(self, percent: float, celsius: float) -> float:
        """Standard uncertainty of the density of such a solution. [g/mL]

        It grows from nothing in pure water to that of the source at 10 %, and where the source knows one temperature
        only, with the distance from it.

        Raises
        ------
        RangeError
            Outside what the source covers.
        """
        density = self.density(percent, celsius)
        expansion = density**2 * percent / 100 * abs(celsius - self.measured_at) * self.expansion_uncertainty
        return hypot(self.uncertainty * min(1.0, percent / FULL_UNCERTAINTY), expansion)


def aqueous_solution(name: str) -> AqueousSolution | None:
    """Solutions of that INCI name, a hydrate's name included; None where nothing published is known.

    Capitals, accents, hyphens and extra spaces make no difference.

    Examples
    --------
    >>> round(aqueous_solution("Magnesium Sulfate Heptahydrate").brings, 4)
    0.4883
    >>> aqueous_solution("Xanthan Gum") is None
    True
    """
    return _by_letters().get(plain_letters(name))


@lru_cache(maxsize=1)
def aqueous_solutions() -> tuple[AqueousSolution, ...]:
    """Every substance whose solutions in water are known, hydrates included; none stands twice."""
    found = {row["inci"]: _solution(row) for row in load_table("aqueous").rows if row["equation"] != "none"}
    hydrates = {}
    for row in load_table("hydrates").rows:
        brings = float(row["anhydrous_molar_mass_g_mol"]) / float(row["molar_mass_g_mol"])
        hydrates[row["sold"]] = replace(found[row["substance"]], substance=row["sold"], brings=brings)
    return tuple((found | hydrates).values())


@lru_cache(maxsize=1)
def unknown_solutions() -> dict[str, str]:
    """Substances of the library whose solutions in water are taken as ideal: INCI name → why, and what it may cost."""
    return {row["inci"]: row["note"] for row in load_table("aqueous").rows if row["equation"] == "none"}


@lru_cache(maxsize=1)
def _by_letters() -> dict[str, AqueousSolution]:
    return {plain_letters(each.substance): each for each in aqueous_solutions()}


def _solution(row: dict[str, str]) -> AqueousSolution:
    return AqueousSolution(
        substance=row["inci"],
        dissolved=_SAME.get(row["inci"], row["inci"]),
        most=float(row["most_percent"]),
        coldest=float(row["coldest_degc"]),
        warmest=float(row["warmest_degc"]),
        uncertainty=float(row["uncertainty_g_ml"]),
        source=row["source"],
        note=row["note"],
        measured_at=MEASURED_AT.get(row["equation"], 20.0),
        expansion_uncertainty=float(row["expansion_uncertainty_ml_g_k"] or 0),
        _volume=_volume_of(row),
    )


_SAME = {"Alcohol Denat.": "Alcohol"}


def _volume_of(row: dict[str, str]) -> Volume:
    if row["equation"] == "laliberte":
        return laliberte(*(float(text) for text in row["coefficients"].split(";")))
    if row["equation"] == "points":
        return between_points(_points()[row["inci"]], float(row["expansion_ml_g_k"]))
    if row["equation"] == "dilute":
        return dilute(float(row["coefficients"]), float(row["expansion_ml_g_k"]))
    return _OF_THEIR_OWN[row["equation"]]


_OF_THEIR_OWN: dict[str, Volume] = {
    "oiml-r22": apparent_volume_of_ethanol,
    "volk-kaehler": apparent_volume_of_glycerol,
    "melinder": apparent_volume_of_propylene_glycol,
}


def laliberte(c0: float, c1: float, c2: float, c3: float, c4: float) -> Volume:
    """Apparent volume after Laliberté and Cooper, from the five coefficients of a solute.

    References
    ----------
    .. [1] M. Laliberté, W. E. Cooper, "Model for calculating the density of aqueous electrolyte solutions",
       J. Chem. Eng. Data 49 (2004) 1141-1151, doi:10.1021/je0498659.
    .. [2] M. Laliberté, J. Chem. Eng. Data 54 (2009) 1725-1760, doi:10.1021/je8008123: the coefficients used here.
    """

    def volume(share: float, celsius: float) -> float:
        return 1000 * (share + c2 + c3 * celsius) / ((c0 * share + c1) * exp(1e-6 * (celsius + c4) ** 2))

    return volume


def between_points(points: Sequence[tuple[float, float]], expansion: float) -> Volume:
    """Apparent volume from densities measured at 20 °C: straight between them, and on from the first two to 0 %.

    Parameters
    ----------
    points
        (% w/w, g/mL) at 20 °C, the weakest first.
    expansion
        What 1 g expands by. [mL/(g K)]
    """
    at, water = MEASURED_AT["points"], water_density_at(MEASURED_AT["points"])
    known = [(p / 100, (100 / density - (100 - p) / water) / p) for p, density in points]
    lines = [
        (end, start, room, (next_room - room) / (end - start)) for (start, room), (end, next_room) in pairwise(known)
    ]

    def volume(share: float, celsius: float) -> float:
        _, start, room, slope = next((line for line in lines if share <= line[0]), lines[-1])
        return room + slope * (share - start) + expansion * (celsius - at)

    return volume


def dilute(room: float, expansion: float) -> Volume:
    """Apparent volume of a substance of which only the volume in very thin solution is known, at 25 °C. [mL/g]"""
    return lambda _share, celsius: room + expansion * (celsius - MEASURED_AT["dilute"])


@lru_cache(maxsize=1)
def _points() -> dict[str, list[tuple[float, float]]]:
    found: dict[str, list[tuple[float, float]]] = {}
    for row in load_table("aqueous-points").rows:
        found.setdefault(row["inci"], []).append((float(row["percent"]), float(row["density_g_ml"])))
    return found
