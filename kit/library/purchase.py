"""Purchase: what a maker paid for a material and what stands on the pack she has. Only in her own file."""

from __future__ import annotations

import re
from dataclasses import dataclass

from kit.errors import RangeError, UnitError
from kit.iso_dates import is_iso_date
from kit.units import COMMON_UNITS, known_unit

_CURRENCY = re.compile(r"[A-Z]{3}")


@dataclass(frozen=True, slots=True)
class Purchase:
    """One buy of a material: a lot with its pack, its price, or both.

    Attributes
    ----------
    price
        What the pack cost, in ``currency``; None where only the lot is known.
    currency
        Three capital letters, such as EUR.
    amount, unit
        What the pack holds: 250 and "g", 1 and "L". [as ``unit``]
    lot
        As printed on the pack.
    bought_on, keep_until
        ISO dates, or empty.
    """

    price: float | None = None
    currency: str = ""
    amount: float | None = None
    unit: str = ""
    lot: str = ""
    bought_on: str = ""
    keep_until: str = ""

    def __post_init__(self) -> None:
        if self.price is not None and not 0 <= self.price < float("inf"):
            msg = f"A price of {self.price:g} is not possible. Give what the pack cost, 0 or more."
            raise RangeError(msg)
        if self.currency and not _CURRENCY.fullmatch(self.currency):
            msg = f"{self.currency!r} is not a currency. Write its three capital letters, such as EUR, GBP or USD."
            raise RangeError(msg)
        if self.amount is not None and not 0 < self.amount < float("inf"):
            msg = f"A pack of {self.amount:g} {self.unit} is not possible. Give what the pack holds, above 0."
            raise RangeError(msg)
        if (self.amount is None) != (not self.unit):
            msg = "The pack needs both an amount and its unit, such as 250 and g."
            raise RangeError(msg)
        if self.price is not None and (self.amount is None or not self.currency):
            msg = "A price needs its currency and what the pack holds: the amount and its unit, such as 250 and g."
            raise RangeError(msg)
        for name, date in (("bought on", self.bought_on), ("keep until", self.keep_until)):
            if date and not is_iso_date(date):
                msg = f"{date!r} is not a date. Write {name!r} as year-month-day, such as 2026-05-31."
                raise RangeError(msg)
        self._check_unit()

    def _check_unit(self) -> None:
        if self.unit and (known_unit(self.unit) or ("",))[0] not in ("g", "mL"):
            kinds = ", ".join(unit for unit, (base, _) in COMMON_UNITS.items() if base in ("g", "mL"))
            msg = f"{self.unit!r} is not a unit of a pack. Use one of {kinds}."
            raise UnitError(msg)
