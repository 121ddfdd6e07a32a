"""A linear programme over amounts: the best that keeps every condition, what each costs, and which contradict."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10
from typing import TYPE_CHECKING, Any, Literal

from kit.errors import EntryError, KitError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Kind = Literal["rule", "locked", "stays", "stock", "cost", "layer", "near"]

#: A shadow price below this is none. [per unit of the bound]
NO_PRICE = 1e-7
#: A goal that was reached may be missed by so much while the smallest change to it is looked for (rounding). [of it]
GOAL_SLACK = 1e-7
#: What conditions may be passed by in all before they count as contradicting one another. [units of the bounds]
CONTRADICTS = 1e-6


@dataclass(frozen=True, slots=True)
class Condition:
    """Σ weights x amounts <= bound. Conditions of one name belong together, as the two sides of an equation do."""

    name: str
    weights: tuple[float, ...]
    bound: float
    kind: Kind = "rule"


def equation(name: str, weights: Sequence[float], value: float, kind: Kind = "rule") -> tuple[Condition, Condition]:
    """Σ weights x amounts = value, as two conditions of one name."""
    over = Condition(name, tuple(weights), value, kind)
    return over, Condition(name, tuple(-w for w in weights), -value, kind)


def whole_step(amount: float, step: float) -> float:
    """What an amount comes in whole numbers of: this step; below ten of them, a finer one that is a power of ten.

    Examples
    --------
    >>> whole_step(0.1, 0.01), whole_step(0.05, 0.01), whole_step(0.0, 0.01)
    (0.01, 0.001, 0.01)
    """
    if amount <= 1e-6 or amount >= 10 * step:
        return step
    return min(step, 10.0 ** (floor(log10(amount)) - 1))


@dataclass(frozen=True, slots=True)
class Solved:
    """The best amounts.

    Attributes
    ----------
    value
        Of what was made small.
    prices
        Name of a binding condition → by how much ``value`` would fall for each unit by which its bound were eased.
    """

    amounts: tuple[float, ...]
    value: float
    prices: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Goal:
    """Something that is to come out no larger than this: Σ costs x amounts <= most."""

    costs: tuple[float, ...]
    most: float


@dataclass(frozen=True)
class Programme:
    """Amounts, each from 0 to ``most``, that add to ``total`` and keep every condition.

    ``total`` None: they need not add to anything.

    References
    ----------
    .. [1] G. B. Dantzig, Linear Programming and Extensions, Princeton University Press (1963).
    .. [2] Q. Huangfu and J. A. J. Hall, "Parallelizing the dual revised simplex method", Mathematical Programming
       Computation 10 (2018) 119-142, doi:10.1007/s12532-017-0130-5: HiGHS, which does the work.
    """

    size: int
    conditions: tuple[Condition, ...]
    total: float | None = 100.0
    most: float = 100.0

    def __post_init__(self) -> None:
        for one in self.conditions:
            if len(one.weights) != self.size:
                msg = f"{one.name} has {len(one.weights)} weights for {self.size} amounts. Give one for each."
                raise EntryError(msg)

    def best(self, costs: Sequence[float]) -> Solved | None:
        """The amounts of the least Σ costs x amounts; None where no amounts keep every condition.

        Raises
        ------
        KitError
            There is no least: the amounts have no end.

        Examples
        --------
        >>> rich = Condition("fat at least 30", (-0.8, -0.1), -30.0)
        >>> found = Programme(2, (rich,)).best((2.0, 1.0))
        >>> [round(x, 2) for x in found.amounts], round(found.value, 2), round(found.prices["fat at least 30"], 3)
        ([28.57, 71.43], 128.57, 1.429)
        """
        import numpy as np

        rows, bounds = self._rows()
        equal = None if self.total is None else np.ones((1, self.size))
        found = _linprog(np.array(costs, float), rows, bounds, equal, self.total, [(0.0, self.most)] * self.size)
        if found is None:
            return None
        return Solved(tuple(map(float, found.x)), float(found.fun), self._prices(found))

    def nearest(self, start: Sequence[float], weights: Sequence[float], goal: Goal | None = None) -> Solved | None:
        """The amounts of the least Σ weights x |change from start|; None where none keep every condition.

        Each change is split into a part up and a part down, both 0 or more, which makes the sum linear [1]_.

        References
        ----------
        .. [1] A. Charnes, W. W. Cooper and R. O. Ferguson, "Optimal estimation of executive compensation by linear
           programming", Management Science 1 (1955) 138-151, doi:10.1287/mnsc.1.2.138.
        """
        import numpy as np

        first, (rows, bounds) = np.array(start, float), self._rows(goal)
        split = np.hstack([rows, -rows])
        equal = None if self.total is None else np.hstack([np.ones((1, self.size)), -np.ones((1, self.size))])
        to_add = None if self.total is None else self.total - float(first.sum())
        costs = np.concatenate([weights, weights])
        found = _linprog(costs, split, bounds - rows @ first, equal, to_add, self._room(first))
        if found is None:
            return None
        amounts = first + found.x[: self.size] - found.x[self.size :]
        return Solved(tuple(map(float, amounts)), float(found.fun), self._prices(found))

    def on_steps(
        self,
        start: Sequence[float],
        weights: Sequence[float],
        steps: Mapping[int, float],
        free: Sequence[int] = (),
    ) -> tuple[float, ...] | None:
        """The nearest amounts of which those in ``steps`` are whole steps, those in ``free`` any, the rest unchanged.

        Parameters
        ----------
        steps
            Number of an amount → its step. [as the amounts]
        free
            Numbers of amounts that take what the steps leave, the first of them so that all add to the total.
        """
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp

        n, stepped = self.size, list(steps)
        first, (rows, bounds) = np.array(start, float), self._rows()
        whole = np.zeros((len(stepped), n))
        whole[range(len(stepped)), stepped] = 1.0
        parts = []
        if stepped:
            grid = np.diag([-steps[at] for at in stepped])
            parts.append(LinearConstraint(np.hstack([whole, -whole, grid]), -first[stepped], -first[stepped]))
        if len(rows):
            wide = np.hstack([rows, -rows, np.zeros((len(rows), len(stepped)))])
            parts.append(LinearConstraint(wide, -np.inf, bounds - rows @ first))
        if self.total is not None:
            ones = np.concatenate([np.ones(n), -np.ones(n), np.zeros(len(stepped))])
            parts.append(LinearConstraint(ones, *[self.total - float(first.sum())] * 2))
        room = [pair if at % n in steps or at % n in free else (0.0, 0.0) for at, pair in enumerate(self._room(first))]
        low, high = zip(*room, *[(0.0, np.inf)] * len(stepped), strict=True)
        costs = np.concatenate([weights, weights, np.zeros(len(stepped))])
        kinds = np.concatenate([np.zeros(2 * n), np.ones(len(stepped))])
        found = milp(costs, integrality=kinds, bounds=Bounds(low, high), constraints=parts)
        if found.x is None:
            return None
        amounts = first + found.x[:n] - found.x[n : 2 * n]
        for at, number in zip(stepped, found.x[2 * n :], strict=True):
            amounts[at] = float(f"{steps[at] * round(number):.12g}")
        for at in free:
            amounts[at] = float(f"{amounts[at]:.10g}")
        if free and self.total is not None:
            rest = self.total - sum(float(x) for at, x in enumerate(amounts) if at != free[0])
            amounts[free[0]] = max(0.0, float(f"{rest:.12g}"))
        return tuple(map(float, amounts))

    def contradiction(self) -> tuple[str, ...]:
        """Names of conditions that no amounts keep together, while they keep any of them left out; empty if all hold.

        First everything may be passed at a price (elastic); what then bears a price contradicts [1]_. Of that, one
        after the other is left out, and stays out where the rest contradict without it (deletion filter [2]_).

        References
        ----------
        .. [1] J. Gleeson and J. Ryan, "Identifying minimally infeasible subsystems of inequalities", ORSA Journal on
           Computing 2 (1990) 61-63, doi:10.1287/ijoc.2.1.61: what bears a price is a certificate after Farkas.
        .. [2] J. W. Chinneck and E. W. Dravnieks, "Locating minimal infeasible constraint sets in linear programs",
           ORSA Journal on Computing 3 (1991) 157-168, doi:10.1287/ijoc.3.2.157.
        """
        kept = self._blamed()
        if not kept:
            return ()
        for name in tuple(kept):
            rest = [other for other in kept if other != name]
            blamed = self._only(rest)._blamed()
            if blamed:
                kept = [other for other in rest if other in blamed]
        return tuple(kept)

    def _only(self, names: Sequence[str]) -> Programme:
        kept = tuple(one for one in self.conditions if one.name in names)
        return Programme(self.size, kept, self.total, self.most)

    def _blamed(self) -> list[str]:
        """Names that together cannot be kept, perhaps with some that could be left out; empty where all can."""
        import numpy as np

        rows, bounds = self._rows()
        count, scale = len(rows), np.maximum(np.abs(rows).max(axis=1, initial=0.0), 1e-12)
        wide = np.hstack([rows / scale[:, None], -np.eye(count)])
        equal = None if self.total is None else np.hstack([np.ones((1, self.size)), np.zeros((1, count))])
        room = [(0.0, self.most)] * self.size + [(0.0, np.inf)] * count
        costs = np.concatenate([np.zeros(self.size), np.ones(count)])
        found = _linprog(costs, wide, bounds / scale, equal, self.total, room)
        if found is None:
            msg = f"No amounts from 0 to {self.most:g} add to {self.total:g}. Add a line first."
            raise EntryError(msg)
        return [] if found.fun <= CONTRADICTS else list(self._prices(found))

    def _rows(self, goal: Goal | None = None) -> tuple[Any, Any]:
        import numpy as np

        rows, bounds = [one.weights for one in self.conditions], [one.bound for one in self.conditions]
        if goal is not None:
            rows, bounds = [*rows, goal.costs], [*bounds, goal.most + GOAL_SLACK * max(1.0, abs(goal.most))]
        return np.array(rows, float).reshape(len(rows), self.size), np.array(bounds, float)

    def _room(self, start: Any) -> list[tuple[float, float]]:
        """How far each amount may go up, then how far each may go down."""
        up = [(max(0.0, -x), max(0.0, self.most - x)) for x in start]
        return up + [(max(0.0, x - self.most), max(0.0, x)) for x in start]

    def _prices(self, found: Any) -> dict[str, float]:
        prices: dict[str, float] = {}
        for one, marginal in zip(self.conditions, found.ineqlin.marginals, strict=False):
            if -marginal > NO_PRICE:
                prices[one.name] = prices.get(one.name, 0.0) - float(marginal)
        return prices


def _linprog(costs: Any, rows: Any, bounds: Any, equal: Any, value: float | None, room: Any) -> Any:
    """What HiGHS found; None where nothing keeps every condition."""
    from scipy.optimize import linprog

    right = None if equal is None else [value]
    found = linprog(costs, rows if len(rows) else None, bounds if len(rows) else None, equal, right, room, "highs")
    if found.status == 3:
        msg = "There is no least: the amounts have no end. Add a condition that holds them."
        raise EntryError(msg)
    if found.status not in (0, 2):
        msg = f"The programme was not solved: {found.message}"
        raise KitError(msg)
    return found if found.status == 0 else None
