"""How liquids evaporate and catch fire: boiling point, vapour pressure, flash point and class of flammability."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, cast

from kit.library.ingredient import Figure
from kit.resources import load_table
from kit.visible_text import plain_letters

Evaporation = Literal["fast", "medium", "slow", "none", ""]
FlammableClass = Literal["1", "2", "3", "none", ""]


@dataclass(frozen=True, slots=True)
class Volatility:
    """What is known of how one pure liquid evaporates and burns.

    Attributes
    ----------
    boiling_point
        At 101.325 kPa. [°C]
    vapour_pressure
        At the temperature in its note. [Pa]
    flash_point
        [°C]
    evaporation
        In a word, by the convention that ``data/volatility`` states; empty where no vapour pressure is known.
    flammability
        Category of a flammable liquid by :func:`flammable_class`; empty where no flash point is known, or where the
        limits do not apply.
    """

    inci: str
    boiling_point: Figure | None = None
    vapour_pressure: Figure | None = None
    flash_point: Figure | None = None
    evaporation: Evaporation = ""
    flammability: FlammableClass = ""
    note: str = ""


def flammable_class(flash_point: float, boiling_point: float | None = None) -> FlammableClass:
    """The category of a flammable liquid from its flash point and the beginning of its boiling. [°C]

    Without a boiling point a liquid that flashes below 23 °C counts as category 2.

    References
    ----------
    .. [1] Regulation (EC) No 1272/2008, Annex I, table 2.6.1.

    Examples
    --------
    >>> flammable_class(12, 78.4), flammable_class(-40, 34.6), flammable_class(60), flammable_class(61)
    ('2', '1', '3', 'none')
    """
    if flash_point < 23:
        return "1" if boiling_point is not None and boiling_point <= 35 else "2"
    return "3" if flash_point <= 60 else "none"


def evaporation_word(vapour_pressure: float, molar_mass: float) -> Evaporation:
    """How soon a liquid leaves the skin, in a word, from vapour pressure [Pa] at 20 °C and molar mass [g/mol].

    The convention of ``data/volatility``: what leaves by weight goes roughly with their product.

    Examples
    --------
    >>> evaporation_word(5880, 46.07), evaporation_word(13, 370.77)
    ('fast', 'slow')
    """
    least = load_table("volatility").about["limits"]
    drive = vapour_pressure * molar_mass
    words = [word for word in ("fast", "medium", "slow") if drive >= least[word]]
    return cast("Evaporation", words[0] if words else "none")


@lru_cache(maxsize=1)
def volatilities() -> dict[str, Volatility]:
    """Every row of ``data/volatility``, by the plain letters of its name."""

    def figure(text: str, source: str, note: str = "") -> Figure | None:
        return Figure(float(text), source, note) if text else None

    return {
        plain_letters(row["inci"]): Volatility(
            inci=row["inci"],
            boiling_point=figure(row["boiling_degc"], row["boiling_source"]),
            vapour_pressure=figure(row["vapour_pressure_pa"], row["vapour_pressure_source"], f"at {row['at_degc']} °C"),
            flash_point=figure(row["flash_point_degc"], row["flash_point_source"]),
            evaporation=cast("Evaporation", row["evaporation"]),
            flammability=cast("FlammableClass", row["flammability"]),
            note=row["note"],
        )
        for row in load_table("volatility").rows
    }


def volatility_of(inci: str) -> Volatility | None:
    """How a material evaporates and burns, by its INCI name; None where the table does not have it.

    Examples
    --------
    >>> alcohol = volatility_of("alcohol")
    >>> alcohol.flash_point.value, alcohol.evaporation, alcohol.flammability
    (12.0, 'fast', '2')
    """
    return volatilities().get(plain_letters(inci))
