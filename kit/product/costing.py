"""What a batch costs besides its materials and packaging, as it is asked for."""

from __future__ import annotations

from dataclasses import dataclass

from kit.errors import EntryError
from kit.inputs import Number, asked
from kit.money import is_same_currency, read_money


@dataclass(frozen=True, slots=True)
class Money:
    """An amount of money; a currency typed with it has to be the one that stands beside the box."""

    kind: str = "number"

    def read(self, text: str, unit: str = "") -> float:
        """The amount; an EntryError says what is wrong with it."""
        amount, currency = read_money(text)
        if currency and unit and not is_same_currency(currency, unit):
            msg = f"{text.strip()} is in {currency}, and this list is in {unit}. Turn it into {unit}."
            raise EntryError(msg)
        return amount

    def write(self, value: float) -> str:
        """The amount with all its digits."""
        return f"{value:.15g}"


@dataclass(frozen=True, slots=True)
class Costing:
    """What a batch costs besides its materials and packaging.

    Attributes
    ----------
    waste
        What never reaches the vessel, in % of what is taken from the packs.
    labour
        Added once for the batch. [currency of the price list]
    """

    waste: float = asked("Waste", Number(0, 100), 0.0, unit="%", help="Of what is taken from the packs.")
    labour: float = asked("Labour", Money(), 0.0, help="Added once for the batch.")
