"""What stands in the cells of readings: answers in other languages, units of their own, sizes that cannot be."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.stability.check import said
from kit.stability.old_notes.columns import converts
from kit.stability.old_notes.headings import split_head, written_unit
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.plan import Attribute, Plan
    from kit.stability.reading import Reading
    from kit.stability.study import Cell, Observation

_ANSWERS = {"ja": "yes", "j": "yes", "oui": "yes", "o": "yes", "nein": "no", "non": "no", "-": "no"}
#: What changes little in a sealed bottle; so many times more or less than before is a slip of the unit.
STEADY, TOO_MANY_TIMES = frozenset({"mm", "g", "g/mL"}), 5.0
#: No bottle of a study stands higher (common practice). [mm]
TALLEST = 300.0


def plain_answer(attribute: Attribute, text: str) -> str:
    """The answer to a yes-or-no question as the log keeps it, whichever language it is in."""
    return _ANSWERS.get(text.strip().casefold(), text) if attribute.kind == "yes/no" else text


def unit_of_row(attribute: Attribute, text: str) -> str:
    """The unit to turn a number from that stands in a cell beside it; "" where it is the attribute's own.

    Raises
    ------
    EntryError
        It cannot be turned into the attribute's.
    """
    unit = written_unit(text) or text
    if not text or not attribute.unit or unit.casefold() == attribute.unit.casefold():
        return ""
    if not converts(attribute, unit):
        msg = f"{attribute.label} is kept in {attribute.unit}, and {text!r} cannot be turned into that."
        raise EntryError(msg)
    return unit


def in_celsius(head: str, text: str) -> str:
    """A bare number under a heading with °F in °C; any other text as it is.

    Examples
    --------
    >>> in_celsius("Stored at °F", "104"), in_celsius("Stored at", "40")
    ('40', '40')
    """
    if written_unit(split_head(head)[1]) != "°F" or not re.fullmatch(r"\d+([.,]\d+)?", text.strip()):
        return text
    return f"{magnitude(f'{text} °F', '°C', name='The temperature'):.4g}"


class Sizes:
    """How high, heavy or dense each bottle was, from the log and from what was found so far."""

    def __init__(self, plan: Plan, already: Iterable[Observation]) -> None:
        self._known = {
            (row.batch, row.condition, row.attribute): row.number
            for row in already
            if row.number and plan.attribute(row.attribute).unit in STEADY
        }

    def check(self, cell: Cell, attribute: Attribute, reading: Reading) -> None:
        """Refuse, with an EntryError, what no bottle has or what is far from what the same one has had.

        Its unit is likely another one.
        """
        now = reading.number
        if attribute.unit not in STEADY or not now:
            return
        if attribute.unit == "mm" and now > TALLEST:
            msg = (
                f"{attribute.label}: {said(attribute, now)} is higher than the bottles of a study, at most "
                f"{TALLEST:g} mm. Is it in another unit? Where it is right, record it by hand."
            )
            raise EntryError(msg)
        before = self._known.setdefault((cell.batch, cell.condition, cell.attribute), now)
        if not 1 / TOO_MANY_TIMES <= now / before <= TOO_MANY_TIMES:
            msg = (
                f"{attribute.label}: {said(attribute, now)} is far from the {said(attribute, before)} of the same "
                "bottle at another pull. Is it in another unit? Where it is right, record it by hand."
            )
            raise EntryError(msg)
