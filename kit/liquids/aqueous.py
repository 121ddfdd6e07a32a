"""What dissolved substances do to the density of water: salts, bases, acids, sugars, alcohol, glycerol.

One thing describes a solution: the room that 1 g of the dissolved substance takes in it, its apparent volume. Salt
takes far less than its dry crystal, because it pulls the water together.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import exp
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.library.letters import plain_letters
from kit.liquids.alcohol import apparent_volume_of_ethanol
from kit.liquids.water import water_density_at
from kit.resources import load_table

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass(frozen=True, slots=True, kw_only=True)
class AqueousSolution:
    """A substance dissolved in water.

    Attributes
    ----------
    substance
        INCI name, as sold.
    most
        How much of it the source covers, without crystal water. [% w/w of the solution]
    coldest, warmest
        Where the source holds. [°C]
    uncertainty
        Standard uncertainty of the density. [g/mL]
    source
        Key of ``data/sources``.
    brings
        Part of what is weighed that is the substance itself: less than 1 for a hydrate, whose rest is water.
    note
        What else is to be known.
    """

    substance: str
    most: float
    coldest: float
    warmest: float
    uncertainty: float
    source: str
    brings: float = 1.0
    note: str = ""
    #: (share of the mass of the solution, °C) → [mL/g]
    _volume: Callable[[float, float], float] = field(repr=False, compare=False)

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


def aqueous_solution(name: str) -> AqueousSolution | None:
    """Solutions of that INCI name, a hydrate's name included; None where nothing published is known.

    Capitals, accents, hyphens and extra spaces make no difference.

    Examples
    --------
    >>> aqueous_solution("Magnesium Sulfate Heptahydrate").brings
    0.4884
    >>> aqueous_solution("Xanthan Gum") is None
    True
    """
    return _by_letters().get(plain_letters(name))


@lru_cache(maxsize=1)
def aqueous_solutions() -> tuple[AqueousSolution, ...]:
    """Every substance whose solutions in water are known, hydrates included."""
    found = [_solution(row) for row in load_table("aqueous").rows if row["equation"] != "none"]
    known = {each.substance: each for each in found}
    for row in load_table("hydrates").rows:
        brings = float(row["anhydrous_molar_mass_g_mol"]) / float(row["molar_mass_g_mol"])
        if row["substance"] in known:
            found.append(replace(known[row["substance"]], substance=row["sold"], brings=brings))
    return tuple(found)


@lru_cache(maxsize=1)
def _by_letters() -> dict[str, AqueousSolution]:
    return {plain_letters(each.substance): each for each in aqueous_solutions()}


def _solution(row: dict[str, str]) -> AqueousSolution:
    coefficients = tuple(float(text) for text in row["coefficients"].split(";") if text.strip())
    return AqueousSolution(
        substance=row["inci"],
        most=float(row["most_percent"]),
        coldest=float(row["coldest_degc"]),
        warmest=float(row["warmest_degc"]),
        uncertainty=float(row["uncertainty_g_ml"]),
        source=row["source"],
        note=row["note"],
        _volume=_EQUATIONS[row["equation"]](*coefficients),
    )


def laliberte(c0: float, c1: float, c2: float, c3: float, c4: float) -> Callable[[float, float], float]:
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


_EQUATIONS: dict[str, Callable[..., Callable[[float, float], float]]] = {
    "laliberte": laliberte,
    "oiml-r22": lambda: apparent_volume_of_ethanol,
}
