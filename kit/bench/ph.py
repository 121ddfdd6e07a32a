"""The pH of a solution from the balance of charges, solved exactly: ideal, and with the activity of its ions.

The constants hold at 25 °C and zero ionic strength; the equation of Davies carries them to the ionic strength of the
solution. A real product holds more than its acids, so each result is an estimate: measure. How far measured buffers
are missed is held by the published tests.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log, log10
from typing import TYPE_CHECKING

from kit.bench.acids import MOST_IONIC_STRENGTH, acid, log_activity
from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.soundness import refuse_odd_fields, sound
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

#: -log10 of the ion product of water at 25 °C (OpenStax, Chemistry 2e, section 14.1). [mol²/L²]
PKW = 14.0
#: Outside these an ideal solution would hold more than 10 mol/L of H⁺ or OH⁻ and means nothing.
LOWEST_PH, HIGHEST_PH = -1.0, 15.0
#: How finely a pH is solved, and how often it is solved anew with a better ionic strength before giving that up.
FINEST, MOST_ROUNDS = 1e-12, 100
LN10 = log(10.0)
#: No more than this goes into a litre: it is what pure water itself would be. [mol/L]
MOST_MOLAR = 55.0

#: How close two rounds of ionic strength must come; far below what the equation of Davies is good for. [mol/L]
CLOSE = 1e-9

#: How far the corrected pH lies from measured ones; the published tests hold these numbers.
ESTIMATE = (
    "An estimate at 25 °C with the equation of Davies: certified buffers (phthalate, phosphate, borate, carbonate, "
    "citrate) are met within 0.02, measured citrate-phosphate buffers within 0.2, but a much copied table of citrate "
    "buffers only within 0.4. Measure."
)


@sound()
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
        refuse_odd_fields(self)
        if not self.concentration >= 0:
            msg = f"A concentration is 0 mol/L or more, got {self.concentration:g}."
            raise RangeError(msg)
        if list(self.pka) != sorted(self.pka):
            msg = f"The pKa must rise from the first proton to the last, got {', '.join(f'{k:g}' for k in self.pka)}."
            raise RangeError(msg)

    def charges(self, ph: float, activity: float = 0.0) -> tuple[float, float]:
        """The mean charge of one molecule at this pH, which falls as the pH rises, and the mean of its square.

        ``activity`` is -log γ of an ion of charge one (:func:`kit.bench.acids.log_activity`). A form of charge z
        then gives its proton away at pKa + activity (2z - 1).
        """
        weight, charge = 1.0, self.top_charge
        whole, first, second = 1.0, float(charge), float(charge * charge)
        for constant in self.pka:
            weight *= 10.0 ** (ph - constant - activity * (2 * charge - 1))
            charge -= 1
            whole += weight
            first += charge * weight
            second += charge * charge * weight
        return first / whole, second / whole


@dataclass(frozen=True, slots=True)
class Equilibrium:
    """The pH of a solution with the activity of its ions.

    Attributes
    ----------
    ph
        As a meter shows it: -log10 of the activity of H⁺.
    ionic_strength
        ½ Σ c z². [mol/L, taken as mol/kg]
    """

    ph: float
    ionic_strength: float

    @property
    def findings(self) -> list[Finding]:
        """A caution where the solution is saltier than the equation of Davies was made for."""
        if self.ionic_strength <= MOST_IONIC_STRENGTH:
            return []
        sentence = (
            f"The ionic strength, {self.ionic_strength:.2g} mol/kg, is beyond {MOST_IONIC_STRENGTH:g}, where the "
            "equation of Davies ends: the computed pH can be off by several tenths. Measure."
        )
        return [Finding("caution", sentence, Place(field="ph"), "C. W. Davies (1962)")]


@dataclass(frozen=True, slots=True)
class Solution:
    """What is dissolved together.

    Attributes
    ----------
    solutes
        The weak acids and bases.
    strong
        Charge of the ions that take no part, such as Na⁺; below zero for Cl⁻. [mol/L]
    salt
        Ionic strength of what else is dissolved and balances itself, such as table salt. [mol/L]
    """

    solutes: tuple[Solute, ...]
    strong: float = 0.0
    salt: float = 0.0

    def excess(self, ph: float, activity: float = 0.0) -> float:
        """Positive less negative charges at this pH; falls strictly as the pH rises. [mol/L]"""
        return self.sums(ph, activity)[0]

    def sums(self, ph: float, activity: float) -> tuple[float, float, float]:
        """The excess, its slope by the pH, and ½ Σ c z². [mol/L]"""
        proton, hydroxide = 10.0 ** (activity - ph), 10.0 ** (ph - PKW + activity)
        charge, spread, squares = proton - hydroxide + self.strong, proton + hydroxide, proton + hydroxide
        for each in self.solutes:
            first, second = each.charges(ph, activity)
            charge += each.concentration * first
            spread += each.concentration * (second - first * first)
            squares += each.concentration * second
        return charge, -LN10 * spread, self.salt + (abs(self.strong) + squares) / 2.0

    def equilibrium(self, near: Equilibrium | None = None) -> Equilibrium:
        """The pH with the activity of the ions: solved in turns with the ionic strength until both agree.

        Parameters
        ----------
        near
            Where to begin, such as at the equilibrium one drop before; the result does not depend on it.

        Raises
        ------
        RangeError
            So strong an acid or base that this computation means nothing.

        References
        ----------
        .. [1] As for :attr:`ph` and :func:`kit.bench.acids.log_activity`.

        Examples
        --------
        >>> phosphate = Solution((Solute(0.05, (2.148, 7.198, 12.375)),), strong=0.075)
        >>> found = phosphate.equilibrium()
        >>> round(phosphate.ph, 2), round(found.ph, 2), round(found.ionic_strength, 3)
        (7.2, 6.88, 0.1)
        """
        ph, strength = (7.0, self.salt + abs(self.strong)) if near is None else (near.ph, near.ionic_strength)
        for _ in range(MOST_ROUNDS):
            activity = log_activity(strength)
            ph = self._root(activity, ph)
            before, strength = strength, self.sums(ph, activity)[2]
            if abs(strength - before) < CLOSE:
                break
        return Equilibrium(ph, strength)

    def _root(self, activity: float = 0.0, ph: float = 7.0) -> float:
        """Where the charges balance: by Newton's steps, and by halving where a step would leave the bracket."""
        low, high = LOWEST_PH, HIGHEST_PH
        while True:
            excess, slope, _ = self.sums(ph, activity)
            low, high = (ph, high) if excess > 0 else (low, ph)
            better = ph - excess / slope
            if abs(better - ph) < FINEST:
                break
            if not low < better < high:
                better = (low + high) / 2
            if high - low < FINEST:
                break
            ph = better
        if min(better - LOWEST_PH, HIGHEST_PH - better) < 2 * FINEST:
            msg = (
                f"So strong a solution has a pH outside {LOWEST_PH:g} to {HIGHEST_PH:g}, where this computation means "
                "nothing. Look at the amounts; if they are meant, dilute."
            )
            raise RangeError(msg)
        return better

    @property
    def ph(self) -> float:
        """The pH of the ideal solution, at which the charges balance.

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
        return self._root()

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
    each = strong + Solute(1.0, tuple(pka), top_charge).charges(target)[0]
    missing = -solution.excess(target)
    if missing == 0:
        return 0.0
    if each == 0 or not 0 < missing / each < MOST_MOLAR:
        msg = f"What is added does not bring this solution to pH {target:g}: it is too weak for it, or moves it away."
        raise RangeError(msg)
    return missing / each


def computed_curve(
    product: Mapping[str, float],
    stock: Mapping[str, float],
    amount: object,
    grams: Sequence[float],
    density: float = 1.0,
) -> list[float]:
    """The pH of a product after each amount of a stock, with the activity of its ions.

    Parameters
    ----------
    product, stock
        Key of the table of acids → its share. [% w/w]
    amount
        Of the product before anything is added: "100 g" or a pint quantity.
    grams
        Stock added in all, at each point. [g]
    density
        Of product and stock alike. [g/mL]

    Raises
    ------
    RangeError
        No mass, or no density.
    """
    mass = magnitude(amount, "g", name="amount")
    found: list[Equilibrium] = []
    for added in grams:
        found.append(mixed(product, stock, mass, added, density).equilibrium(found[-1] if found else None))
    return [each.ph for each in found]


def mixed(
    product: Mapping[str, float], stock: Mapping[str, float], mass: float, added: float, density: float = 1.0
) -> Solution:
    """A product with so much of a stock in it; see :func:`computed_curve`."""
    if not (mass > 0 and density > 0):
        msg = f"Mass and density must be more than 0, got {mass:g} g and {density:g} g/mL."
        raise RangeError(msg)
    content: dict[str, float] = {}
    for shares, of in ((product, mass), (stock, added)):
        for key, percent in shares.items():
            content[key] = content.get(key, 0.0) + percent * of / 100.0
    return solution_of(content, (mass + added) / density)
