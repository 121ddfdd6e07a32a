"""A blend put into a formula: its parts keep together what they had together, and share it anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.errors import RangeError, UnknownNameError
from kit.formula.editing import set_line
from kit.rounding import all_digits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.model import Formula

#: Amounts are written with so many decimals, but for the largest, which takes what is left. [% w/w]
DECIMALS = 4


def with_blend(formula: Formula, names: Sequence[str], point: Sequence[float]) -> Formula:
    """The formula with the blend: lines of these names share what they are together as the blend does.

    All other lines stay as they are, so the total does too. A line that takes the rest (q.s.) is left to do so.

    Parameters
    ----------
    point
        A share for each name. [% w/w of the blend]

    Raises
    ------
    UnknownNameError
        A part is in no line, or in two.
    RangeError
        The lines stand in different phases, or one has no amount.

    Examples
    --------
    >>> from kit.formula.model import Formula, Line, Phase
    >>> oils = (Line("Squalane", "60"), Line("Isoamyl Laurate", "39.5"), Line("Tocopherol", "0.5"))
    >>> there = with_blend(Formula("Oil", (Phase("Oils", "oil", oils),)), ("Squalane", "Isoamyl Laurate"), (20, 80))
    >>> [line.entry for line in there.phases[0].lines]
    ['19.9', '79.6', '0.5']
    """
    places = [_place(formula, name) for name in names]
    if len({phase for phase, _ in places}) > 1:
        msg = f"{', '.join(names)} stand in different phases of {formula.title}. Bring them into one phase first."
        raise RangeError(msg)
    amounts = [formula.percents[p][i] for p, i in places]
    if any(amount is None for amount in amounts):
        msg = f"One of {', '.join(names)} has no amount in {formula.title} yet. Type it first."
        raise RangeError(msg)
    whole = sum(amount for amount in amounts if amount is not None)
    shared = [round(whole * share / 100.0, DECIMALS) for share in point]
    largest = max(range(len(shared)), key=lambda n: shared[n])
    shared[largest] = round(whole - sum(shared[:largest]) - sum(shared[largest + 1 :]), 10)
    for place, percent in zip(places, shared, strict=True):
        if place != formula.typed.rest_at:
            formula = set_line(formula, *place, entry=all_digits(percent))
    return formula


def _place(formula: Formula, name: str) -> tuple[int, int]:
    """The phase and line of a material."""
    found = [(p, i) for p, i, line, _ in formula.each_line() if line.material.casefold() == name.casefold()]
    if len(found) != 1:
        where = "in no line" if not found else f"in {len(found)} lines"
        msg = (
            f"{name} is {where} of {formula.title}; a blend goes into a formula that has each of its parts in one line."
        )
        raise UnknownNameError(msg)
    return found[0]
