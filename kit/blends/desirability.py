"""The best blend under several goals: each score's desirability from 0 to 1, and their geometric mean."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, prod
from typing import TYPE_CHECKING, Literal, get_args

from kit.blends.region import DIVISIONS
from kit.errors import EntryError, RangeError
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    from kit.blends.fit import BlendFit
    from kit.blends.region import BlendRegion, Point

Aim = Literal["more", "less", "target"]
AIMS: tuple[Aim, ...] = get_args(Aim)

DERRINGER = "G. Derringer and R. Suich, Journal of Quality Technology 12 (1980) 214-219"
PETERSON = "J. J. Peterson, Journal of Quality Technology 36 (2004) 139-153"


@dataclass(frozen=True, slots=True)
class Goal:
    """What is wanted of one score.

    Attributes
    ----------
    aim
        "more": nothing at ``low`` or below, enough at ``high``; "less": enough at ``low``, nothing at ``high`` or
        above; "target": enough at ``target``, nothing at ``low`` and ``high``. [the score's unit]
    steepness
        The power of the rise: 1 a straight line, more where only the end is good, less where the beginning is. [-]
    importance
        The weight of this goal among the others. [-]
    """

    aim: Aim
    low: float
    high: float
    target: float | None = None
    steepness: float = 1.0
    importance: float = 1.0

    def __post_init__(self) -> None:
        if self.aim not in AIMS:
            msg = f"{self.aim!r} is no aim. Choose one of: {', '.join(AIMS)}."
            raise EntryError(msg)
        if not (isfinite(self.low) and isfinite(self.high) and self.low < self.high):
            msg = f"A goal needs two ends, the lower first; got {self.low:g} and {self.high:g}."
            raise RangeError(msg)
        if self.aim == "target" and (self.target is None or not self.low < self.target < self.high):
            msg = f"The target must lie between {self.low:g} and {self.high:g}; got {self.target}."
            raise RangeError(msg)
        if not (0 < self.steepness < 100 and 0 < self.importance < 100):
            msg = "Steepness and importance are numbers above 0 and below 100; 1 is the usual."
            raise RangeError(msg)

    def desirability(self, score: ArrayLike) -> NDArray[np.float64]:
        """How desirable scores are, from 0 to 1.

        References
        ----------
        .. [1] G. Derringer, R. Suich, "Simultaneous optimization of several response variables", Journal of Quality
           Technology 12 (1980) 214-219, equations 1 and 2.

        Examples
        --------
        >>> float(Goal("more", 120, 170).desirability(145))
        0.5
        """
        import numpy as np

        y = np.asarray(score, dtype=float)
        if self.aim == "more":
            part = (y - self.low) / (self.high - self.low)
        elif self.aim == "less":
            part = (self.high - y) / (self.high - self.low)
        else:
            assert self.target is not None
            part = np.minimum((y - self.low) / (self.target - self.low), (self.high - y) / (self.high - self.target))
        return np.asarray(np.clip(part, 0.0, 1.0) ** self.steepness)

    def in_words(self, what: str) -> str:
        """The goal as a sentence."""
        if self.aim == "more":
            return f"{what}: of no use at {self.low:g} or below, all that is wanted from {self.high:g} upwards"
        if self.aim == "less":
            return f"{what}: all that is wanted up to {self.low:g}, of no use from {self.high:g} upwards"
        return f"{what}: {self.target:g} is wanted, of no use at {self.low:g} and at {self.high:g}"


@sound(least=("parts", "importances"))
def overall_desirability(parts: Sequence[float], importances: Sequence[float] = ()) -> float:
    """The desirability of all goals together: their geometric mean, so that one of no use makes all of no use.

    Importances weigh them as G. C. Derringer, "A balancing act: optimizing a product's properties", Quality Progress
    27 (1994) 51-58.

    References
    ----------
    .. [1] Derringer and Suich (1980), equation 3.

    Examples
    --------
    >>> round(overall_desirability([0.5, 0.5, 1.0]), 4), overall_desirability([0.0, 1.0])
    (0.63, 0.0)
    """
    weights = list(importances) or [1.0] * len(parts)
    if len(weights) != len(parts) or not parts:
        msg = f"There are {len(parts)} goals and {len(weights)} importances. Give one for each goal."
        raise EntryError(msg)
    if min(*parts, *weights) < 0:
        msg = "Desirabilities and importances must be 0 or more."
        raise EntryError(msg)
    return float(prod(part ** (weight / sum(weights)) for part, weight in zip(parts, weights, strict=True)))


@dataclass(frozen=True, slots=True)
class Wanted:
    """What one score comes to at the best blend: mean and ends of its 95 % interval, and its desirability."""

    what: str
    mean: float
    low: float
    high: float
    desirability: float


@dataclass(frozen=True, slots=True)
class Best:
    """The best blend by what is known, and how well that is known.

    Attributes
    ----------
    point
        [% w/w of the blend]
    desirability
        Of all goals together there. [0 to 1]
    scores
        What each score comes to there.
    chance
        That a bottle of it made and scored once meets every goal at least in part; None where the scores leave
        nothing to judge that by. [0 to 1]
    ranges
        Between which shares the best blend lies in 95 of 100 worlds that fit the scores as well, for each part; None
        likewise. [% w/w of the blend]
    grid, desirabilities, chances
        Blends all over the region with both of these at each; for a picture.
    """

    point: Point
    desirability: float
    scores: tuple[Wanted, ...]
    chance: float | None
    ranges: tuple[tuple[float, float], ...] | None
    grid: tuple[Point, ...]
    desirabilities: tuple[float, ...]
    chances: tuple[float, ...] | None


#: How many worlds are drawn.
DRAWS = 400


def best_blend(region: BlendRegion, fits: Sequence[BlendFit], goals: Sequence[Goal], *, seed: int = 0) -> Best:
    """The blend that is most desirable under all goals, and what the scores' scatter makes of that.

    The models' means are searched on a grid and then more finely around its best. Worlds are drawn from what the
    scores leave open: coefficients from a multivariate t, the error of one more bottle on top (scores of different
    things are taken as independent of each other). ``chance`` and ``chances`` are Peterson's reliability.

    Raises
    ------
    EntryError
        No goal, or not a fit for each.
    RangeError
        No blend in the region is of any use for all goals at once.

    References
    ----------
    .. [1] Derringer and Suich (1980), see :class:`Goal`.
    .. [2] J. J. Peterson, "A posterior predictive approach to multiple response surface optimization", Journal of
       Quality Technology 36 (2004) 139-153.
    """
    import numpy as np

    if not goals or len(goals) != len(fits):
        msg = f"There are {len(goals)} goals for {len(fits)} scored things. Give a goal for each, or take one out."
        raise EntryError(msg)
    grid = region.grid()
    worth = together(goals, [fit.predict(grid)[0] for fit in fits])
    if float(worth.max()) <= 0:
        msg = (
            "No blend within the bounds is of any use for every goal at once. Move the end of a goal that asks too "
            "much, or take one goal out."
        )
        raise RangeError(msg)
    point = _finer(region, fits, goals, grid[int(np.argmax(worth))], 100.0 / DIVISIONS[len(region.parts)])
    at = float(together(goals, [fit.predict([point])[0] for fit in fits])[0])
    scores = tuple(
        Wanted(fit.what, *fit.interval(point), float(goal.desirability(fit.interval(point)[0])))
        for fit, goal in zip(fits, goals, strict=True)
    )
    if any(fit.error is None for fit in fits):
        return Best(point, at, scores, None, None, grid, tuple(map(float, worth)), None)
    spots = (*grid, point)
    generator = np.random.default_rng(seed)
    means = [drawn_means(fit, spots, generator) for fit in fits]
    worlds = together(goals, [mean for mean, _ in means])
    met = np.ones(worlds.shape, dtype=bool)
    for goal, (mean, scale) in zip(goals, means, strict=True):
        met &= goal.desirability(mean + scale[:, None] * generator.standard_normal(mean.shape)) > 0
    tops = np.array(spots)[worlds.argmax(axis=1)][worlds.max(axis=1) > 0]
    ranges = tuple((float(low), float(high)) for low, high in np.percentile(tops, [2.5, 97.5], axis=0).T)
    chances = met.mean(axis=0)
    return Best(
        point, at, scores, float(chances[-1]), ranges, grid, tuple(map(float, worth)), tuple(map(float, chances[:-1]))
    )


def together(goals: Sequence[Goal], scores: Sequence[ArrayLike]) -> NDArray[np.float64]:
    """The overall desirability of scores, an array for each goal, all of one shape."""
    import numpy as np

    total = sum(goal.importance for goal in goals)
    parts = [goal.desirability(score) ** (goal.importance / total) for goal, score in zip(goals, scores, strict=True)]
    return np.asarray(np.prod(parts, axis=0))


def drawn_means(
    fit: BlendFit, points: Sequence[Point], generator: np.random.Generator, draws: int = DRAWS
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Means of blends in worlds that fit the scores as well, and each world's scatter of one bottle.

    The coefficients follow a multivariate t with the fit's degrees of freedom, the posterior under the usual
    noninformative prior (Peterson 2004).

    Returns
    -------
    Arrays of shape (draws, points) and (draws,), in the unit of the score.
    """
    import numpy as np

    from kit.blends.scheffe import model_matrix

    assert fit.error is not None
    scale = fit.error * np.sqrt(fit.freedom / generator.chisquare(fit.freedom, draws))
    root = np.linalg.cholesky(fit.covariance)
    coefficients = fit.estimates + scale[:, None] * (generator.standard_normal((draws, len(root))) @ root.T)
    return coefficients @ model_matrix(points, fit.model).T, scale


def _finer(region: BlendRegion, fits: Sequence[BlendFit], goals: Sequence[Goal], point: Point, step: float) -> Point:
    """Climb from a blend by moving share from one part to another, in ever smaller steps."""
    import numpy as np

    count = len(point)
    moves = [(take, give) for take in range(count) for give in range(count) if take != give]
    worth = -1.0
    while step > 1e-3:
        near = [point]
        for take, give in moves:
            other = list(point)
            room = min(step, other[take] - region.tight[take].low, region.tight[give].high - other[give])
            if room > 0:
                other[take] -= room
                other[give] += room
                near.append(tuple(other))
        values = together(goals, [fit.predict(near)[0] for fit in fits])
        best = int(np.argmax(values))
        if best == 0 or float(values[best]) <= worth + 1e-12:
            step /= 2
        else:
            point, worth = near[best], float(values[best])
    return point
