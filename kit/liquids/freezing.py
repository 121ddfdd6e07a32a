"""How far dissolved substances lower the point at which water begins to freeze: published curves, and the ideal law."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from functools import lru_cache

from kit.errors import RangeError
from kit.liquids.aqueous import aqueous_solution
from kit.resources import load_table
from kit.soundness import sound
from kit.visible_text import plain_letters

#: By how much a mole of particles in a kilogram of water lowers its freezing point, ideally. [K kg/mol]
CRYOSCOPIC = 1.86


@dataclass(frozen=True, slots=True)
class FreezingCurve:
    """A substance in water, and how far it lowers the freezing point.

    Attributes
    ----------
    inci
        Its name, without crystal water.
    strengths, lowerings
        Measured points, both growing: grams in a gram of water, and the lowering. [g/g, K]
    sources
        Keys of ``data/sources``.
    """

    inci: str
    strengths: tuple[float, ...]
    lowerings: tuple[float, ...]
    sources: tuple[str, ...]

    @property
    def most(self) -> float:
        """The strongest solution that was measured. [% w/w]"""
        return 100 * self.strengths[-1] / (1 + self.strengths[-1])

    @property
    def furthest(self) -> float:
        """The lowering of that. [K]"""
        return self.lowerings[-1]

    def lowering(self, percent: float) -> float:
        """How far a solution of so much lowers the freezing point, straight between measured points. [% w/w → K]

        Raises
        ------
        RangeError
            Stronger than was measured.

        Examples
        --------
        >>> freezing_curve("Alcohol").lowering(20)
        10.92
        """
        if not 0 <= percent <= self.most * (1 + 1e-9):
            msg = f"{self.inci}: freezing is known from 0 to {self.most:.3g} % w/w in water, not at {percent:g} %."
            raise RangeError(msg)
        return _between(percent / (100 - percent), self.strengths, self.lowerings)

    def strength_at(self, lowering: float) -> float:
        """The solution that begins to freeze at so much below 0 °C. [K → g in 1 g of water]

        Raises
        ------
        RangeError
            Colder than was measured.
        """
        if not 0 <= lowering <= self.furthest * (1 + 1e-9):
            msg = f"{self.inci}: freezing is known down to -{self.furthest:g} °C, not at -{lowering:g} °C."
            raise RangeError(msg)
        return _between(lowering, self.lowerings, self.strengths)


def _between(at: float, given: tuple[float, ...], wanted: tuple[float, ...]) -> float:
    """Straight between the points, the first of which is joined to nothing at nothing."""
    end = min(bisect_left(given, at), len(given) - 1)
    x, y = (given[end - 1], wanted[end - 1]) if end else (0.0, 0.0)
    return y + (wanted[end] - y) * (at - x) / (given[end] - x)


@lru_cache(maxsize=1)
def freezing_curves() -> dict[str, FreezingCurve]:
    """Every curve of ``data/freezing-curves``, by the plain letters of its name."""
    points: dict[str, list[dict[str, str]]] = {}
    for row in load_table("freezing-curves").rows:
        points.setdefault(row["inci"], []).append(row)
    found = {}
    for inci, rows in points.items():
        strengths = tuple(float(row["percent"]) / (100 - float(row["percent"])) for row in rows)
        lowerings = tuple(float(row["lowers_k"]) for row in rows)
        keys = tuple(dict.fromkeys(row["source"] for row in rows))
        found[plain_letters(inci)] = FreezingCurve(inci, strengths, lowerings, keys)
    return found


def freezing_curve(name: str) -> FreezingCurve | None:
    """The curve of a substance by its INCI name, a hydrate's name included; None where none is known.

    Examples
    --------
    >>> freezing_curve("Magnesium Sulfate Heptahydrate").inci
    'Magnesium Sulfate'
    >>> freezing_curve("Xanthan Gum") is None
    True
    """
    solution = aqueous_solution(name)
    return freezing_curves().get(plain_letters(solution.dissolved if solution is not None else name))


@sound()
def ideal_lowering(moles_per_kilogram: float, particles: float = 1.0) -> float:
    """How far particles lower the freezing point of water, ideally: 1.86 K for each mole in a kilogram of water. [K]

    Against the measured curves of uncharged substances it lies within 15 % up to 1 mol/kg, and within 25 % up to
    3 mol/kg.

    Parameters
    ----------
    moles_per_kilogram
        In a kilogram of water. [mol/kg]
    particles
        Into how many it parts; a salt of two ions into nearly 2. [-]

    Raises
    ------
    RangeError
        An amount below 0.

    References
    ----------
    .. [1] F.-M. Raoult, Comptes Rendus 95 (1882) 1030 (from memory).
    .. [2] The constant of water, 1.86 K kg/mol, stands in every textbook of general chemistry.

    Examples
    --------
    A mole of urea, which was measured to lower it by 1.77 K:

    >>> ideal_lowering(1)
    1.86
    """
    if not (moles_per_kilogram >= 0 and particles >= 0):
        msg = f"{moles_per_kilogram:g} mol/kg of {particles:g} particles cannot be: give amounts of 0 or more."
        raise RangeError(msg)
    return CRYOSCOPIC * moles_per_kilogram * particles
