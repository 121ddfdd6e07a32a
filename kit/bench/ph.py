"""The pH of an ideal solution, from the balance of charges, solved exactly; and the approximation beside it.

Everything here holds at 25 °C and at zero ionic strength. A real product is neither, so each result is an
estimate: measure. How far textbook constants miss measured buffers is held by the published tests.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log10
from typing import TYPE_CHECKING

from kit.bench.acids import acid
from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

#: -log10 of the ion product of water at 25 °C (OpenStax, Chemistry 2e, section 14.1). [mol²/L²]
PKW = 14.0
#: Outside these an ideal solution would hold more than 10 mol/L of H⁺ or OH⁻ and means nothing.
LOWEST_PH, HIGHEST_PH = -1.0, 15.0
#: No more than this goes into a litre: it is what pure water itself would be. [mol/L]
MOST_MOLAR = 55.0

ESTIMATE = (
    "An estimate from textbook constants at 25 °C and zero ionic strength: they miss measured citrate buffers by up "
    "to 0.35, and the saltier citrate-phosphate buffers by up to 0.7. Measure."
)


def species_shares(ph: float, pka: Sequence[float]) -> tuple[float, ...]:
    """The shares of the forms of an acid, the one with all its protons first; they add to 1.

    Examples
    --------
    >>> [round(share, 4) for share in species_shares(4.2, (4.2,))]
    [0.5, 0.5]
    """
    powers = [0.0]
    for constant in pka:
        powers.append(powers[-1] + ph - constant)
    top = max(powers)
    parts = [10.0 ** (power - top) for power in powers]
    total = sum(parts)
    return tuple(part / total for part in parts)


def undissociated_percent(ph: float, pka: float) -> float:
    """The part of a one-proton acid that has kept its proton: 100 / (1 + 10^(pH - pKa)). [%]

    References
    ----------
    .. [1] The Henderson-Hasselbalch equation; OpenStax, Chemistry 2e, section 14.6.

    Examples
    --------
    >>> round(undissociated_percent(5, 4.20), 2)
    13.68
    """
    return 100.0 * species_shares(ph, (pka,))[0]


def henderson_hasselbalch(pka: float, acid_moles: float, base_moles: float) -> float:
    """The pH of a buffer: pKa + log10(base / acid).

    Raises
    ------
    RangeError
        Only one of the two is there.

    References
    ----------
    .. [1] OpenStax, Chemistry 2e, section 14.6, "Buffers".

    Examples
    --------
    >>> round(henderson_hasselbalch(4.7447, 0.10, 0.10), 2)
    4.74
    """
    if not (acid_moles > 0 and base_moles > 0):
        msg = (
            "The buffer formula needs both the acid and its salt in more than 0 mol; got "
            f"{acid_moles:g} and {base_moles:g}. Solve the balance of charges instead."
        )
        raise RangeError(msg)
    return pka + log10(base_moles / acid_moles)


@dataclass(frozen=True, slots=True)
class Solute:
    """A weak acid or base in all its forms together.

    Attributes
    ----------
    concentration
        [mol/L]
    pka, top_charge
        See :class:`kit.bench.acids.AcidBase`.
    """

    concentration: float
    pka: tuple[float, ...]
    top_charge: int = 0

    def __post_init__(self) -> None:
        if not self.concentration >= 0:
            msg = f"A concentration is 0 mol/L or more, got {self.concentration:g}."
            raise RangeError(msg)
        if list(self.pka) != sorted(self.pka):
            msg = f"The pKa must rise from the first proton to the last, got {', '.join(f'{k:g}' for k in self.pka)}."
            raise RangeError(msg)

    def mean_charge(self, ph: float) -> float:
        """The mean charge of one molecule at this pH; it falls as the pH rises."""
        shares = species_shares(ph, self.pka)
        return self.top_charge - sum(lost * share for lost, share in enumerate(shares))


@dataclass(frozen=True, slots=True)
class Solution:
    """What is dissolved together.

    Attributes
    ----------
    solutes
        The weak acids and bases.
    strong
        Charge of the ions that take no part, such as Na⁺; below zero for Cl⁻. [mol/L]
    """

    solutes: tuple[Solute, ...]
    strong: float = 0.0

    def excess(self, ph: float) -> float:
        """Positive less negative charges at this pH; falls strictly as the pH rises. [mol/L]"""
        weak = sum(each.concentration * each.mean_charge(ph) for each in self.solutes)
        return float(10.0**-ph - 10.0 ** (ph - PKW) + self.strong + weak)

    @property
    def ph(self) -> float:
        """The pH at which the charges balance, by bisection of a falling function.

        Raises
        ------
        RangeError
            So strong an acid or base that an ideal solution means nothing.

        References
        ----------
        .. [1] J. N. Butler, "Ionic Equilibrium: Solubility and pH Calculations", Wiley (1998), chapter 4 (from
           memory): charge balance with the mass balances put in.

        Examples
        --------
        >>> round(Solution((Solute(0.20, (4.7447,)),), strong=0.10).ph, 3)
        4.745
        >>> round(Solution(()).ph, 3)
        7.0
        """
        low, high = LOWEST_PH, HIGHEST_PH
        if self.excess(low) < 0 or self.excess(high) > 0:
            msg = (
                f"So strong a solution has a pH outside {LOWEST_PH:g} to {HIGHEST_PH:g}, where this reckoning means "
                "nothing. Look at the amounts; if they are meant, dilute."
            )
            raise RangeError(msg)
        while (middle := (low + high) / 2) not in (low, high):
            low, high = (middle, high) if self.excess(middle) > 0 else (low, middle)
        return middle

    @property
    def approximate_ph(self) -> float | None:
        """The buffer formula's pH, where it has one: a single weak acid partly turned into its salt."""
        if len(self.solutes) != 1 or not self.solutes[0].concentration > 0:
            return None
        only = self.solutes[0]
        lost = self.strong / only.concentration + only.top_charge
        step = int(lost) if lost >= 0 else -1
        turned = lost - step
        if not (0 <= step < len(only.pka) and 1e-9 < turned < 1 - 1e-9):
            return None
        return henderson_hasselbalch(only.pka[step], 1 - turned, turned)


def solution_of(grams: Mapping[str, float], millilitres: float) -> Solution:
    """A solution from weighed substances.

    Parameters
    ----------
    grams
        Key of the table of acids → grams; the same acid in another form joins it. [g]
    millilitres
        Of the finished solution. [mL]

    Raises
    ------
    RangeError, UnknownNameError
        No volume, a mass below 0 g, or a substance that is not in the table.

    Examples
    --------
    >>> citrate = solution_of({"Citric Acid, monohydrate": 21.01}, 1000)
    >>> round(citrate.ph, 2)
    2.08
    """
    if not millilitres > 0:
        msg = f"The volume of the solution must be more than 0 mL, got {millilitres:g}."
        raise RangeError(msg)
    strong, weak = 0.0, dict[tuple[tuple[float, ...], int], float]()
    for key, mass in grams.items():
        if not mass >= 0:
            msg = f"{key}: {mass:g} g is below zero. Give 0 g or more."
            raise RangeError(msg)
        kind = acid(key)
        molar = mass / kind.molar_mass * 1000.0 / millilitres
        strong += molar * kind.strong_ions
        if kind.pka:
            system = (kind.pka, kind.top_charge)
            weak[system] = weak.get(system, 0.0) + molar
    return Solution(tuple(Solute(molar, pka, charge) for (pka, charge), molar in weak.items()), strong)


def moles_to_reach(
    target: float, solution: Solution, pka: Sequence[float], strong: float, top_charge: int = 0
) -> float:
    """How much of a further acid, base or salt brings a solution to a pH, its volume unchanged. [mol/L]

    At a fixed pH the balance of charges is linear in what is added, so nothing has to be searched.

    Parameters
    ----------
    pka, strong, top_charge
        Of what is added; ``strong`` in charges per mole.

    Raises
    ------
    RangeError
        What is added moves the pH the other way, or never so far.

    Examples
    --------
    >>> acetic = Solution((Solute(0.50, (4.745,)),))
    >>> round(moles_to_reach(5.0, acetic, (4.745,), 1.0), 2)
    0.9
    """
    each = strong + Solute(1.0, tuple(pka), top_charge).mean_charge(target)
    missing = -solution.excess(target)
    if missing == 0:
        return 0.0
    if each == 0 or not 0 < missing / each < MOST_MOLAR:
        msg = f"What is added does not bring this solution to pH {target:g}: it is too weak for it, or moves it away."
        raise RangeError(msg)
    return missing / each


def computed_curve(
    product: Mapping[str, float], stock: Mapping[str, float], mass: float, grams: Sequence[float], density: float = 1.0
) -> list[float]:
    """The pH of a product after each amount of a stock, as an ideal solution.

    Parameters
    ----------
    product, stock
        Key of the table of acids → its share. [% w/w]
    mass
        Of the product before anything is added. [g]
    grams
        Stock added in all, at each point. [g]
    density
        Of product and stock alike. [g/mL]

    Raises
    ------
    RangeError
        No mass, or no density.
    """
    if not (mass > 0 and density > 0):
        msg = f"Mass and density must be more than 0, got {mass:g} g and {density:g} g/mL."
        raise RangeError(msg)
    found = []
    for added in grams:
        content: dict[str, float] = {}
        for shares, of in ((product, mass), (stock, added)):
            for key, percent in shares.items():
                content[key] = content.get(key, 0.0) + percent * of / 100.0
        found.append(solution_of(content, (mass + added) / density).ph)
    return found
