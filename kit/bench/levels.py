"""Levels: how much of several stocks brings several substances to the levels wanted, all at once and exactly."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from kit.bench.alligation import exactly
from kit.errors import RangeError
from kit.formula.model import Line
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.formula.expansion import Materials
    from kit.library.ingredient import Stock

#: Above this many stocks there are too many ways to try.
MOST_STOCKS = 12

Shares = list[list[Fraction]]  # one row a substance, one column a stock: g of it in 1 g of the stock


@dataclass(frozen=True, slots=True)
class LevelPlan:
    """How much of each stock, and what comes with it.

    Attributes
    ----------
    stocks
        Name → how much of it in the formula; a stock that is not needed is left out. [% w/w]
    brought
        All that the stocks bring, the solvent included. [% w/w of the formula]
    displaced
        What the stocks together take away from the fill. [% w/w]
    fill, fill_left
        The material that takes the rest, and how much of it is still to be weighed. [% w/w]
    """

    stocks: dict[str, float]
    brought: dict[str, float]
    displaced: float
    fill: str
    fill_left: float

    @property
    def fill_in_all(self) -> float:
        """The fill as weighed and as it comes with the stocks. [% w/w]"""
        return self.fill_left + self.brought.get(self.fill, 0.0)

    def lines(self) -> list[Line]:
        """Lines for a formula: each stock as a share of its layer, and the fill as q.s."""
        return [
            *(Line(name, f"{percent:.9g}", "share") for name, percent in self.stocks.items()),
            Line(self.fill, "q.s.", "fill"),
        ]


def stocks_for_levels(
    stocks: Sequence[Stock],
    wanted: Mapping[str, float],
    *,
    fill: str = "Aqua",
    other: float = 0.0,
    materials: Materials | None = None,
) -> LevelPlan:
    """How much of each stock brings every substance to exactly the level wanted.

    Parameters
    ----------
    wanted
        Substance → its level in the formula, from these stocks alone. [% w/w]
    other
        What the rest of the formula takes, the fill not counted. [% w/w]
    materials
        Opens up blends inside the stocks; without it the contents count as they are written.

    Notes
    -----
    Each level is one linear equation, Σ share x amount = level, solved by Gaussian elimination in exact
    fractions. Where there are more stocks than substances, the choice with the least stock in all is taken (a
    vertex of the linear programme, found by trying them all).

    Raises
    ------
    RangeError
        No stock holds a substance; a shared substance comes out too high; or the stocks do not fit into the
        formula. The sentence says which, and how far it is off.

    References
    ----------
    .. [1] G. Strang, "Introduction to Linear Algebra", chapter 2 (elimination).
    .. [2] G. B. Dantzig, "Linear Programming and Extensions" (1963): an optimum lies at a vertex.

    Examples
    --------
    >>> from kit.bench.dilution import make_stock
    >>> acid = make_stock("Acid", "Citric Acid", 20, others={"Potassium Sorbate": 0.5})
    >>> keeper = make_stock("Keeper", "Potassium Sorbate", 20)
    >>> plan = stocks_for_levels([acid, keeper], {"Citric Acid": 0.4, "Potassium Sorbate": 0.2})
    >>> {name: round(percent, 6) for name, percent in plan.stocks.items()}
    {'Acid': 2.0, 'Keeper': 0.95}
    """
    _check(stocks, wanted, other)
    held = [materials.substances(stock.name) if materials else stock.contents for stock in stocks]
    names = list(wanted)
    shares: Shares = [[exactly(contents.get(name, 0.0)) / 100 for contents in held] for name in names]
    levels = [exactly(wanted[name]) for name in names]
    for name, row, level in zip(names, shares, levels, strict=True):
        if level > 0 and not any(row):
            msg = f"None of the stocks holds {name}. Add a stock that does, or weigh it in by itself."
            raise RangeError(msg)
    amounts = _least_in_all(shares, levels)
    if amounts is None:
        raise RangeError(_why_not(stocks, names, shares, levels))
    room = 100 - exactly(other)
    taken = sum(amounts, Fraction(0))
    if taken > room:
        raise RangeError(_which_stronger(stocks, amounts, room))
    brought: dict[str, Fraction] = {}
    for amount, contents in zip(amounts, held, strict=True):
        for name, share in contents.items():
            brought[name] = brought.get(name, Fraction(0)) + amount * exactly(share) / 100
    return LevelPlan(
        {stock.name: float(amount) for stock, amount in zip(stocks, amounts, strict=True) if amount},
        {name: float(percent) for name, percent in brought.items() if percent},
        float(taken),
        fill,
        float(room - taken),
    )


def _check(stocks: Sequence[Stock], wanted: Mapping[str, float], other: float) -> None:
    if not stocks or not wanted:
        msg = "Name at least one stock and one substance with its level in %."
        raise RangeError(msg)
    if len(stocks) > MOST_STOCKS or len({stock.name for stock in stocks}) < len(stocks):
        msg = f"Give at most {MOST_STOCKS} stocks, each once and under a name of its own."
        raise RangeError(msg)
    for name, level in wanted.items():
        if not 0 <= level <= 100:
            msg = f"A level of {level:g} % of {name} is not possible. Give 0 to 100 %."
            raise RangeError(msg)
    if not 0 <= other < 100:
        msg = f"The rest of the formula takes {other:g} %; it must be from 0 to below 100 %, or no stock has room."
        raise RangeError(msg)


def _solve(shares: Shares, levels: list[Fraction], columns: Sequence[int]) -> list[Fraction] | None:
    """The one solution that uses only these columns; None where there is none, or more than one."""
    rows = [[row[c] for c in columns] + [level] for row, level in zip(shares, levels, strict=True)]
    for n in range(len(columns)):
        pivot = next((r for r in range(n, len(rows)) if rows[r][n]), None)
        if pivot is None:
            return None
        rows[n], rows[pivot] = rows[pivot], rows[n]
        rows[n] = [x / rows[n][n] for x in rows[n]]
        for r in range(len(rows)):
            if r != n and rows[r][n]:
                rows[r] = [x - rows[r][n] * y for x, y in zip(rows[r], rows[n], strict=True)]
    if any(row[-1] for row in rows[len(columns) :]):
        return None
    return [rows[n][-1] for n in range(len(columns))]


def _least_in_all(shares: Shares, levels: list[Fraction]) -> list[Fraction] | None:
    """The amounts of every stock with the least in all; None where no amounts of 0 or more do it."""
    count = len(shares[0])
    best: list[Fraction] | None = None
    for size in range(min(count, len(shares)), -1, -1):
        for columns in combinations(range(count), size):
            found = _solve(shares, levels, columns)
            if found is not None and all(x >= 0 for x in found) and (best is None or sum(found) < sum(best)):
                best = [found[columns.index(n)] if n in columns else Fraction(0) for n in range(count)]
    return best


def _why_not(stocks: Sequence[Stock], names: list[str], shares: Shares, levels: list[Fraction]) -> str:
    """The substance that comes out wrong when the others are right, and by how much."""
    for left_out in _likeliest_first(names, stocks):
        rest = [n for n in range(len(names)) if n != left_out]
        amounts = _least_in_all([shares[n] for n in rest], [levels[n] for n in rest]) if rest else None
        if amounts is None:
            continue
        comes_to = sum((x * share for x, share in zip(amounts, shares[left_out], strict=True)), Fraction(0))
        bring = [s.name for s, x, share in zip(stocks, amounts, shares[left_out], strict=True) if x * share]
        name, level = names[left_out], float(levels[left_out])
        if comes_to > levels[left_out]:
            return (
                f"{name} comes to {float(comes_to):.4g} % with what {listed(bring)} must bring for the other levels, "
                f"above the {level:.4g} % wanted. Want {float(comes_to):.4g} % or more, or make {listed(bring)} "
                "with less of it."
            )
        return (
            f"{name} comes to only {float(comes_to):.4g} %, not the {level:.4g} % wanted, when the other levels are "
            f"right: no stock here brings it without the others. Add a stock of {name} alone."
        )
    return (
        "These levels cannot be met with these stocks: more than one substance comes with another in a share that "
        "does not fit. Add a stock of one substance alone for each."
    )


def _likeliest_first(names: list[str], stocks: Sequence[Stock]) -> list[int]:
    """Substances that are in several stocks come first: they are what is shared."""
    return sorted(range(len(names)), key=lambda n: -sum(stock.contents.get(names[n], 0) > 0 for stock in stocks))


def _which_stronger(stocks: Sequence[Stock], amounts: list[Fraction], room: Fraction) -> str:
    """Which stock must be stronger, and by how much, so that all of them find room."""
    taken = sum(amounts, Fraction(0))
    said = f"The stocks come to {float(taken):.4g} % and there is room for {float(room):.4g} %."
    for stock, amount in sorted(zip(stocks, amounts, strict=True), key=lambda pair: -pair[1]):
        share = room - (taken - amount)
        strength = exactly(stock.contents.get(stock.active, 0.0))
        solids = sum((exactly(x) for name, x in stock.contents.items() if x and name != stock.solvent), Fraction(0))
        if amount and share > 0 and strength and solids * amount / share <= 100:
            stronger = strength * amount / share
            return (
                f"{said} {stock.name} must be at least {float(amount / share):.3g} times as strong: "
                f"{float(stronger):.4g} % w/w of {stock.active} instead of {float(strength):.4g} %."
            )
    return f"{said} No single stock can be made strong enough for that: want less, or weigh the substances in dry."
