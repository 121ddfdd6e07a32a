"""Acids and bases in water: their published constants, and the activity of their ions."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from math import sqrt
from typing import TYPE_CHECKING

from kit.errors import RangeError, UnknownNameError
from kit.findings import Finding, Place
from kit.resources import load_table
from kit.soundness import sound
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


#: The rows of the table of cautions that speak of acids and bases.
HANDLING = ("caustic", "acid")


@dataclass(frozen=True, slots=True)
class AcidBase:
    """One acid, base or salt as it is bought.

    Attributes
    ----------
    name, form
        INCI name, and "anhydrous", "monohydrate" and so on: hydrates weigh more.
    kind
        acid, base or salt.
    molar_mass
        Crystal water included. [g/mol]
    pka
        At 25 °C and zero ionic strength, the first proton lost first; empty for a strong base.
    top_charge
        Electric charge of the form with all its protons on.
    strong_ions
        Strong positive charges that one mole brings. [mol/mol]
    pka_source, molar_mass_source
        Source keys.
    """

    name: str
    form: str
    kind: str
    molar_mass: float
    pka: tuple[float, ...]
    top_charge: int
    strong_ions: float
    pka_source: str
    molar_mass_source: str
    note: str = ""

    @property
    def key(self) -> str:
        """How lists show it and calculations find it: "Citric Acid, monohydrate"."""
        return self.name if self.form == "pure" else f"{self.name}, {self.form}"


@lru_cache(maxsize=1)
def acids() -> Mapping[str, AcidBase]:
    """Every row of the table, by its key, in the order of the table."""
    found = (
        AcidBase(
            row["name"],
            row["form"],
            row["kind"],
            float(row["molar_mass_g_mol"]),
            tuple(float(text) for text in row["pka"].split(";") if text.strip()),
            int(row["top_charge"]),
            float(row["strong_ions"]),
            row["pka_source"],
            row["molar_mass_source"],
            row["note"],
        )
        for row in load_table("acids").rows
    )
    return {each.key: each for each in found}


@lru_cache(maxsize=256)
def acid(key: str) -> AcidBase:
    """The acid, base or salt of that key; a name alone means the first form in the table.

    Raises
    ------
    UnknownNameError
        It is not in the table.

    Examples
    --------
    >>> acid("citric acid, monohydrate").molar_mass
    210.14
    >>> acid("Citric Acid").form
    'anhydrous'
    """
    wanted = key.strip().casefold()
    for each in acids().values():
        if wanted in (each.key.casefold(), each.name.casefold()):
            return each
    msg = (
        f"Nothing is known here about how {key.strip() or 'a material without a name'} moves the pH. "
        f"Choose one of: {'; '.join(acids())}. Or measure: that needs no table."
    )
    raise UnknownNameError(msg)


def neutralising_mass(of: str, by: str, amount: object) -> float:
    """How much of a base neutralises an acid wholly, proton for proton. [g]

    Stoichiometry only: at that point the pH is that of the salt, not 7. A weak base counts with the protons that it
    takes more readily than the acid keeps its last one; for a pH see :func:`kit.bench.neutralise.stock_to_reach`.

    Parameters
    ----------
    amount
        Of the acid: "1 g" or a pint quantity.

    Raises
    ------
    UnknownNameError
        A name that is not in the table, no acid first, or no base second.
    RangeError
        A base too weak to take the last proton of this acid.

    Examples
    --------
    >>> round(neutralising_mass("Citric Acid", "Sodium Hydroxide", "1 g"), 3)
    0.625
    >>> round(neutralising_mass("Citric Acid", "Triethanolamine", "1 g"), 2)
    2.33
    """
    weak, base, grams = acid(of), acid(by), magnitude(amount, "g", name="amount", low=0)
    protons = len(weak.pka) - weak.top_charge - weak.strong_ions
    if not protons > 0 or weak.kind == "base" or base.kind == "acid":
        msg = f"{base.key} does not neutralise {weak.key}: name an acid first and a base second."
        raise UnknownNameError(msg)
    last = weak.pka[-1]
    held = round(base.top_charge + base.strong_ions) if base.pka else 0
    takes = sum(constant > last for constant in base.pka[:held]) if base.pka else base.strong_ions
    if not takes > 0:
        msg = (
            f"{base.key} is too weak to take the last proton of {weak.key} (pKa {last:g}). "
            "Ask for a pH instead of a full neutralisation."
        )
        raise RangeError(msg)
    return grams / weak.molar_mass * protons * base.molar_mass / takes


def handling_findings(names: Iterable[str], place: Place | None = None) -> list[Finding]:
    """What to mind when a stock of these substances is handled: goggles, gloves, lye into water.

    Examples
    --------
    >>> handling_findings(["Sodium Hydroxide"])[0].sentence
    'Caustic: goggles and gloves. Add it to water, never water to it, and let it cool.'
    """
    present = {name.casefold() for name in names}
    return [
        Finding("caution", row["sentence"], place or Place(field="stock"), row["source"].replace("-", " "))
        for row in load_table("cautions").rows
        if row["key"] in HANDLING and present & {name.strip().casefold() for name in row["substances"].split(";")}
    ]


#: Up to here the equation of Davies is used; beyond, its value here is kept and a caution given. [mol/kg]
MOST_IONIC_STRENGTH = 0.5

#: Temperature and constant A of Debye and Hückel in water (Freeze and Cherry). [°C, (kg/mol)^½]
_A = (
    (0.0, 0.4883), (5.0, 0.4921), (10.0, 0.4960), (15.0, 0.5000), (20.0, 0.5042), (25.0, 0.5085), (30.0, 0.5130),
    (35.0, 0.5175), (40.0, 0.5221), (50.0, 0.5319), (60.0, 0.5425),
)  # fmt: skip


def debye_huckel_constant(celsius: float = 25.0) -> float:
    """The constant A of Debye and Hückel in water, between two entries of the table on a straight line. [(kg/mol)^½]

    Parameters
    ----------
    celsius
        0 to 60 °C, the range of the table; nothing is extrapolated. [°C]

    Raises
    ------
    RangeError
        A temperature outside the table.

    References
    ----------
    .. [1] R. A. Freeze and J. A. Cherry, Groundwater (Prentice-Hall, 1979), appendix IV.

    Examples
    --------
    >>> debye_huckel_constant(25)
    0.5085
    """
    low, high = _A[0][0], _A[-1][0]
    if not low <= celsius <= high:
        msg = f"The constant of Debye and Hückel is known from {low:g} to {high:g} °C, got {celsius:g} °C."
        raise RangeError(msg)
    n = min(bisect_right(_A, (celsius, 1.0)), len(_A) - 1)
    (t, a), (t2, a2) = _A[n - 1], _A[n]
    return a + (a2 - a) * (celsius - t) / (t2 - t)


def log_activity(ionic_strength: float, celsius: float = 25.0) -> float:
    """-log10 of the activity coefficient of an ion of charge one, by the equation of Davies; 0 or more. [-]

    -log γ = A z² (√I / (1 + √I) - 0.3 I). Makers of tables call it fair to about 0.1 mol/kg and usable to 0.5;
    beyond, its value at 0.5 mol/kg is kept.

    Parameters
    ----------
    ionic_strength
        I = ½ Σ c z², 0 or more. [mol/kg]
    celsius
        See :func:`debye_huckel_constant`. [°C]

    Raises
    ------
    RangeError
        An ionic strength below 0, or a temperature outside the table.

    References
    ----------
    .. [1] C. W. Davies, Ion Association (Butterworths, 1962), p. 41: the last term is 0.3 I (as quoted in the manual
       of a program for chemical equilibria).

    Examples
    --------
    >>> round(log_activity(0.1), 4)
    0.1069
    """
    if not ionic_strength >= 0:
        msg = f"An ionic strength is 0 mol/kg or more, got {ionic_strength:g}."
        raise RangeError(msg)
    within = min(ionic_strength, MOST_IONIC_STRENGTH)
    root = sqrt(within)
    return debye_huckel_constant(celsius) * (root / (1.0 + root) - 0.3 * within)


@sound(least=("ionic_strength",))
def activity_coefficient(charge: int, ionic_strength: float, celsius: float = 25.0) -> float:
    """The activity coefficient of an ion, by the equation of Davies; see :func:`log_activity`. [-]

    Examples
    --------
    >>> round(activity_coefficient(1, 0.1), 3), round(activity_coefficient(-2, 0.1), 3)
    (0.782, 0.374)
    """
    return float(10.0 ** (-charge * charge * log_activity(ionic_strength, celsius)))
