"""Round the percents of a formula so that they still add to 100."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from kit.formula.model import require_complete
from kit.rounding import round_to_total

if TYPE_CHECKING:
    from kit.formula.model import Formula


def rounded_percents(formula: Formula, step: float = 0.001) -> Formula:
    """The formula with its computed amounts rounded to ``step``, by largest remainder. [% w/w]

    Amounts that are already short stay exactly as typed, and q.s. stays q.s., so that a formula nobody has
    moved comes back unchanged.

    Raises
    ------
    RangeError
        The formula is not complete.
    """
    percents = require_complete(formula, "rounded")
    long = [
        (p, i, percents[p][i])
        for p, i, line, _ in formula.each_line()
        if _is_long(line.entry, step) and (p, i) != formula.resolution.rest_at
    ]
    if not long:
        return formula
    has_rest = formula.resolution.rest_at is not None
    texts = _rounded_texts([value for *_, value in long], step, keep_sum=not has_rest)
    entries = {(p, i): text for (p, i, _), text in zip(long, texts, strict=True)}
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


def _is_long(entry: str, step: float) -> bool:
    """Whether an entry is a bare number with more digits than the step has."""
    try:
        return Decimal(entry) % Decimal(repr(step)) != 0
    except ArithmeticError:
        return False


def _rounded_texts(values: list[float], step: float, *, keep_sum: bool) -> list[str]:
    d = Decimal(repr(step))
    if keep_sum:
        return [_text(Decimal(repr(value))) for value in round_to_total(values, step)]
    return [_text((Decimal(repr(value)) / d).to_integral_value() * d) for value in values]


def _text(value: Decimal) -> str:
    return f"{value:f}".rstrip("0").rstrip(".") if "." in f"{value:f}" else f"{value:f}"
