"""The weak acids, bases and salts of the trade, in the forms in which they are bought (``data/acids``)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.errors import RangeError, UnknownNameError
from kit.findings import Finding, Place
from kit.resources import load_table

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


def neutralising_mass(of: str, by: str, grams: float) -> float:
    """How much of a base neutralises an acid wholly, proton for proton. [g]

    Stoichiometry only: at that point the pH is that of the salt, not 7. A weak base counts with the protons that it
    takes more readily than the acid keeps its last one; for a pH see :func:`kit.bench.neutralise.stock_to_reach`.

    Raises
    ------
    UnknownNameError
        A name that is not in the table, no acid first, or no base second.
    RangeError
        A base too weak to take the last proton of this acid.

    Examples
    --------
    >>> round(neutralising_mass("Citric Acid", "Sodium Hydroxide", 1.0), 3)
    0.625
    >>> round(neutralising_mass("Citric Acid", "Triethanolamine", 1.0), 2)
    2.33
    """
    weak, base = acid(of), acid(by)
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
