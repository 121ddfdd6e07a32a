"""Carry a dose of stock from the beaker on the bench to the formula of the next batch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import EntryError, RangeError
from kit.formula.editing import add_lines, set_line, settled
from kit.formula.model import Line, require_complete

if TYPE_CHECKING:
    from kit.bench.titration import Dose
    from kit.formula.model import Formula

#: A dose is carried over to this many decimals, far finer than any meter reads. [% w/w]
DIGITS = 5


@dataclass(frozen=True, slots=True)
class Adjustment:
    """A dose carried into a formula.

    Attributes
    ----------
    line
        As it stands in the formula now: the stock with its whole percent.
    phase
        The phase it stands in.
    added
        More of the stock than before, and so much less of ``displaced``. [% w/w]
    displaced, left
        The line that gives way, and what is left of it. [-, % w/w]
    formula
        The formula with the line in it.
    """

    line: Line
    phase: int
    added: float
    displaced: str
    left: float
    formula: Formula


def as_line(formula: Formula, dose: Dose, stock: str) -> Adjustment:
    """The line that brings the next batch to the measured pH, and what it displaces.

    The product that was titrated is taken to be this formula as it stands. So much stock is added to 100 % that
    its ratio to every other line is the one that was measured, and the filling line gives way by as much: the
    next batch holds that much less of it (mostly water) than what was measured.

    Raises
    ------
    EntryError
        No stock is named.
    RangeError
        The formula is not complete, no line fills up to 100 %, or there is too little of it.

    Examples
    --------
    >>> from kit.bench.titration import Titration
    >>> from kit.formula.model import Formula, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "3"))),))
    >>> dose = Titration.of("100 g", [(0, 6.2), (1, 5.1), (2, 4.4)]).to_reach(4.75)
    >>> made = as_line(toner, dose, "Citric Acid 10 % stock")
    >>> made.line.entry, made.displaced, round(made.left, 2)
    ('1.5', 'Aqua', 95.5)
    """
    if not stock.strip():
        msg = "Name the stock that was added, such as 'Citric Acid 10 % stock'."
        raise EntryError(msg)
    percents = require_complete(formula, "adjusted")
    formula = settled(formula)
    p, i = _filling_line(formula)
    filler, there, added = formula.phases[p].lines[i], percents[p][i], round(dose.per_100, DIGITS)
    if added > there:
        msg = f"{added:.4g} % of {stock} is more than the {there:.4g} % of {filler.material}. Use a stronger stock."
        raise RangeError(msg)
    inferred = formula.resolution.batch_mass is not None and formula.written_for is None
    changed = formula.with_percents(percents) if inferred else formula
    if formula.resolution.rest_at != (p, i):
        changed = set_line(changed, p, i, entry=_entry(there - added))
    old = next(
        ((q, n) for q, n, line, _ in formula.each_line() if line.material.casefold() == stock.strip().casefold()), None
    )
    if old == (p, i):
        msg = f"{stock} is itself the line that fills up to 100 %, so nothing can give way to it. Let water fill up."
        raise RangeError(msg)
    if old is not None:
        changed = set_line(changed, *old, entry=_entry(percents[old[0]][old[1]] + added))
    else:
        old = p, len(formula.phases[p].lines)
        changed = add_lines(changed, p, old[1], [Line(stock.strip(), _entry(added), "share")])
    return Adjustment(changed.phases[old[0]].lines[old[1]], old[0], added, filler.material, there - added, changed)


def _entry(percent: float) -> str:
    """A percent as text without the noise of the last binary digits."""
    return f"{percent:.10f}".rstrip("0").rstrip(".")


def _filling_line(formula: Formula) -> tuple[int, int]:
    """The q.s. line, or else the line that fills the water layer."""
    if formula.resolution.rest_at is not None:
        return formula.resolution.rest_at
    for p, i, line, _ in formula.each_line():
        if line.hold == "fill" and formula.phases[p].kind == "water":
            return p, i
    msg = f"No line of {formula.title} fills up to 100 %, so nothing can give way. Type q.s. for its water."
    raise RangeError(msg)
