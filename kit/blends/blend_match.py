"""A blend of two or three that has the properties of one: least squares with shares of 0 or more that add to one."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from kit.errors import EntryError

if TYPE_CHECKING:
    from collections.abc import Sequence

#: So many candidates are tried in every combination, at most.
MOST_CANDIDATES = 25


@dataclass(frozen=True, slots=True)
class Match:
    """A blend that comes near a target.

    Attributes
    ----------
    parts
        Numbers of the candidates with their shares, largest first. [0 to 1]
    missed
        By how much each property misses, in its unit and before its weight.
    error
        The root of Σ (weight x miss)².
    """

    parts: tuple[tuple[int, float], ...]
    missed: tuple[float, ...]
    error: float


def match_blend(
    candidates: Sequence[Sequence[float]],
    target: Sequence[float],
    weights: Sequence[float] | None = None,
    most: int = 3,
) -> Match:
    """The blend of at most so many candidates whose properties, which blend linearly by mass, come nearest a target.

    Every group of candidates is solved with its shares adding to one and no other bound; where no share is below 0,
    that is the best of the group, and where one is, the best lies in a smaller group, which is solved too. So the
    best of all groups is the exact answer of the bounded problem [1]_.

    Parameters
    ----------
    candidates
        A row of properties for each; at most :data:`MOST_CANDIDATES`.
    weights
        Of each property, 1 divided by what counts as one unit of miss; 1 where none are given.

    Raises
    ------
    EntryError
        No candidate, too many, or rows of another length than the target.

    References
    ----------
    .. [1] C. L. Lawson and R. J. Hanson, Solving Least Squares Problems, Prentice-Hall (1974), chapters 20 and 23.

    Examples
    --------
    >>> found = match_blend([[0.80], [0.90], [1.20]], [0.85], most=2)
    >>> [(n, round(share, 6)) for n, share in found.parts], round(found.error, 9)
    ([(0, 0.5), (1, 0.5)], 0.0)
    """
    import numpy as np

    if not candidates or len(candidates) > MOST_CANDIDATES:
        msg = f"A blend is looked for among 1 to {MOST_CANDIDATES} candidates, not among {len(candidates)}."
        raise EntryError(msg)
    if any(len(row) != len(target) for row in candidates):
        msg = f"Each candidate needs {len(target)} properties, as the target has."
        raise EntryError(msg)
    scale = np.ones(len(target)) if weights is None else np.array(weights, float)
    rows = np.array(candidates, float).reshape(len(candidates), len(target)) * scale
    off = rows - np.array(target, float) * scale  # what each candidate misses by itself
    best: tuple[float, tuple[int, ...], tuple[float, ...]] | None = None
    for size in range(1, most + 1):
        for group in combinations(range(len(rows)), size):
            shares = _shares(off[list(group)])
            if shares is None or min(shares) < 0:
                continue
            error = float(np.linalg.norm(np.array(shares) @ off[list(group)]))
            if best is None or error < best[0] - 1e-9:  # a larger group has to be better for it
                best = error, group, shares
    assert best is not None  # each candidate by itself is a group
    error, group, shares = best
    made = np.array(shares) @ np.array([candidates[n] for n in group], float)
    missed = made - np.array(target, float)
    parts = sorted(((n, float(s)) for n, s in zip(group, shares, strict=True) if s > 0), key=lambda part: -part[1])
    return Match(tuple(parts), tuple(map(float, missed)), error)


def _shares(off: object) -> tuple[float, ...] | None:
    """The shares, adding to one, of the least |shares x off|, by its first differences; None where they are many."""
    import numpy as np

    rows = np.asarray(off)
    if len(rows) == 1:
        return (1.0,)
    apart = (rows[1:] - rows[0]).T
    if apart.shape[0] < apart.shape[1]:
        return None  # more parts than properties: fewer parts reach the same
    square = apart.T @ apart
    trace = float(np.trace(square))
    if np.linalg.det(square) <= 1e-12 * trace ** len(square):
        return None
    rest = np.linalg.solve(square, -apart.T @ rows[0])
    return (float(1 - rest.sum()), *map(float, rest))
