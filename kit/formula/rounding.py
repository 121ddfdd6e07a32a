"""Round the percents of a formula so that they still add to 100."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_FLOOR, Decimal
from math import floor, log10
from typing import TYPE_CHECKING

from kit.formula.amounts import TOTAL_TOLERANCE
from kit.formula.editing import settled
from kit.formula.model import require_complete
from kit.rounding import round_to_total

if TYPE_CHECKING:
    from kit.formula.model import Formula

#: An amount with more digits than this was computed; no hand types so many.
MOST_TYPED = 9
#: So many digits of the smallest computed amount are kept.
LEAST_DIGITS = 3


def rounded_percents(formula: Formula, step: float = 0.001) -> Formula:
    """The formula with its computed amounts rounded to ``step``, by largest remainder. [% w/w]

    A ratio that was moved is settled first. What a hand typed stays exactly as typed, and q.s. stays q.s., so that
    a formula nobody has moved comes back unchanged. Where a computed amount is so small that the step would
    swallow it, the step is finer.

    Raises
    ------
    RangeError
        The formula is not complete.
    """
    percents = require_complete(formula, "kept")
    before = [line.entry for *_, line, _ in formula.each_line()]
    formula = settled(formula)
    long = [
        (p, i, percents[p][i])
        for (p, i, line, _), entry in zip(formula.each_line(), before, strict=True)
        if _is_long(line.entry, step, moved=line.entry != entry) and (p, i) != formula.resolution.rest_at
    ]
    if not long:
        return formula
    smallest = min((value for *_, value in long if value > 0), default=1.0)
    step = min(step, 10.0 ** (floor(log10(smallest)) + 1 - LEAST_DIGITS))
    rest = formula.resolution.rest_at
    room = sum(value for *_, value in long) + (percents[rest[0]][rest[1]] if rest else 0.0)
    texts = _rounded_texts([value for *_, value in long], step, room, keep_sum=rest is None)
    entries = {(p, i): text for (p, i, _), text in zip(long, texts, strict=True)}
    if rest is None:
        typed = [percents[p][i] for p, i, _, _ in formula.each_line() if (p, i) not in entries]
        short = Decimal(repr(round(100 - sum(typed) - sum(map(float, texts)), 9)))
        p, i, _ = max(long, key=lambda item: item[2])
        if abs(short) > TOTAL_TOLERANCE / 2:  # typed with more digits than the step: the largest takes the odd bit
            entries[p, i] = _text(Decimal(entries[p, i]) + short)
    return replace(
        formula,
        phases=tuple(
            replace(
                phase,
                lines=tuple(replace(line, entry=entries.get((p, i), line.entry)) for i, line in enumerate(phase.lines)),
            )
            for p, phase in enumerate(formula.phases)
        ),
    )


def _is_long(entry: str, step: float, *, moved: bool) -> bool:
    """Whether an entry is a bare number that was computed or moved, with more digits than the step has."""
    try:
        number = Decimal(entry)
        return (moved or len(number.as_tuple().digits) > MOST_TYPED) and number % Decimal(repr(step)) != 0
    except (ArithmeticError, ValueError):
        return False


def _rounded_texts(values: list[float], step: float, room: float, *, keep_sum: bool) -> list[str]:
    if keep_sum:
        return [_text(Decimal(repr(value))) for value in round_to_total(values, step)]
    d = Decimal(repr(step))
    exact = [Decimal(repr(value)) / d for value in values]
    whole = [count.to_integral_value() for count in exact]
    if sum(whole, Decimal(0)) * d > Decimal(repr(room)):  # too much for what q.s. has to give
        whole = [count.to_integral_value(ROUND_FLOOR) for count in exact]
    return [_text(count * d) for count in whole]


def _text(value: Decimal) -> str:
    return f"{value:f}".rstrip("0").rstrip(".") if "." in f"{value:f}" else f"{value:f}"
