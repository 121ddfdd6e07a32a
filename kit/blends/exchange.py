"""The best few of many blends: the subset that tells most about a model, found by exchanging one for another."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING

from kit.blends.scheffe import Model, model_matrix
from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    from kit.blends.region import BlendRegion, Point

#: An exchange that gains less than this is none. [part of the determinant]
GAIN = 1e-9
#: A design is exchanged from so many beginnings, since each may end in a summit of its own.
BEGINNINGS = 8


@dataclass(frozen=True, slots=True)
class DOptimal:
    """The blends that were chosen.

    Attributes
    ----------
    points
        [% w/w of the blend]
    rows
        Which of the candidates they are, counted from 0; one that stands twice is made twice.
    history
        The logarithm of the determinant of X'X after each exchange of the best beginning, less that of all candidates
        made in equal number; it never falls.
    efficiency
        How much is learnt from a bottle, against making every candidate: the p-th root of the determinant of X'X/n,
        as a ratio. [-]
    """

    points: tuple[Point, ...]
    rows: tuple[int, ...]
    model: Model
    history: tuple[float, ...]
    efficiency: float


def d_optimal(
    candidates: Sequence[Point],
    count: int,
    model: Model = "quadratic",
    *,
    made: Sequence[Point] = (),
    seed: int = 0,
) -> DOptimal:
    """The blends among candidates for which the determinant of X'X is largest: the coefficients are known best.

    Each step exchanges the one chosen blend for the one candidate that raises the determinant most, until none does.
    A blend may be chosen twice. Several beginnings are tried; the best is kept.

    Parameters
    ----------
    candidates
        Shape (n, parts). [% w/w of the blend]
    count
        How many to choose.
    made
        Blends that were made already; they count and are not exchanged. [% w/w of the blend]
    seed
        The same seed gives the same choice.

    Raises
    ------
    RangeError
        Fewer blends than the model has coefficients, or candidates that cannot tell them apart.

    References
    ----------
    .. [1] V. V. Fedorov, Theory of Optimal Experiments, Academic Press (1972), chapter 3: the exchange.
    .. [2] R. D. Cook, C. J. Nachtsheim, "A comparison of algorithms for constructing exact D-optimal designs",
       Technometrics 22 (1980) 315-324.

    Examples
    --------
    >>> d_optimal([(100.0, 0.0), (50.0, 50.0), (0.0, 100.0), (80.0, 20.0)], 3).rows
    (0, 1, 2)
    """
    import numpy as np

    terms, before = _whitened(candidates, made, model, count)
    chance = np.random.default_rng(seed)
    best: tuple[list[int], list[float]] | None = None
    for _ in range(BEGINNINGS):
        rows = _begun(terms, before, count, chance)
        history = _exchanged(terms, before, rows)
        if best is None or history[-1] > best[1][-1] + GAIN:
            best = rows, history
    assert best is not None
    chosen, history = sorted(best[0]), best[1]
    each = len(chosen) + len(made)
    efficiency = exp(history[-1] / terms.shape[1]) / each
    return DOptimal(tuple(tuple(candidates[n]) for n in chosen), tuple(chosen), model, tuple(history), efficiency)


def _whitened(
    candidates: Sequence[Point], made: Sequence[Point], model: Model, count: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The terms of candidates and of what is made, turned so that all candidates together know each as well.

    The determinant of every choice is changed by the same factor, so the choice stays the same, and a region of
    narrow bounds is no trouble for the arithmetic.
    """
    import numpy as np

    if not candidates:
        msg = "There is no blend to choose from. Widen the bounds."
        raise RangeError(msg)
    matrix = model_matrix(candidates, model)
    needed = matrix.shape[1]
    if count < 1 or count + len(made) < needed:
        msg = (
            f"A {model} model of {len(candidates[0])} parts has {needed} coefficients, so it needs {needed} bottles or "
            f"more; you want {count + len(made)}. Make more, or choose a simpler model."
        )
        raise RangeError(msg)
    _, sizes, turned = np.linalg.svd(matrix, full_matrices=False)
    if len(sizes) < needed or sizes[-1] < 1e-9 * sizes[0]:
        msg = (
            f"These {len(candidates)} blends cannot tell the {needed} coefficients of a {model} model apart. "
            "Add edges and middles to the design, or choose a simpler model."
        )
        raise RangeError(msg)
    turn = turned.T / sizes * np.sqrt(len(candidates))
    there = model_matrix(made, model) @ turn if made else np.empty((0, needed))
    return matrix @ turn, there


def _begun(
    terms: NDArray[np.float64], before: NDArray[np.float64], count: int, chance: np.random.Generator
) -> list[int]:
    """A beginning: one blend by chance, then each time the one of which least is known (Dykstra 1971)."""
    import numpy as np

    needed = terms.shape[1]
    inverse = np.linalg.inv(before.T @ before + 1e-6 * np.eye(needed))
    rows: list[int] = []
    for n in range(count):
        variance = np.einsum("ij,jk,ik->i", terms, inverse, terms)
        row = int(chance.integers(len(terms))) if n == 0 else int(np.argmax(variance))
        rows.append(row)
        along = inverse @ terms[row]
        inverse = inverse - np.outer(along, along) / (1.0 + variance[row])
    return rows


def _exchanged(terms: NDArray[np.float64], before: NDArray[np.float64], rows: list[int]) -> list[float]:
    """Exchange until nothing is gained; ``rows`` is changed in place, and what it came to after each step is given.

    With d_ij = f_i' (X'X)^-1 f_j, the determinant after blend i goes and j comes is
    (1 + d_jj)(1 - d_ii) + d_ij² times what it was (Fedorov 1972).
    """
    import numpy as np

    history: list[float] = []
    while True:
        chosen = terms[rows]
        information = chosen.T @ chosen + before.T @ before
        _, size = np.linalg.slogdet(information)
        history.append(float(size))
        inverse = np.linalg.inv(information)
        every = np.einsum("ij,jk,ik->i", terms, inverse, terms)
        across = chosen @ inverse @ terms.T
        gain = (1.0 + every)[None, :] * (1.0 - every[rows])[:, None] + across**2
        gone, come = np.unravel_index(int(np.argmax(gain)), gain.shape)
        if gain[gone, come] <= 1.0 + GAIN:
            return history
        rows[int(gone)] = int(come)


def candidates(region: BlendRegion, most: int = 500) -> tuple[Point, ...]:
    """Blends to choose from: corners, middles of edges and faces, and as fine a grid between them as ``most`` lets.

    Parameters
    ----------
    most
        How many at the utmost; the corners and middles are there in any case.
    """
    from kit.blends.designs import constrained_design
    from kit.blends.region import distinct

    kept = constrained_design(region).points
    for divisions in (4, 5, 6, 8, 10, 12, 16, 20, 25):
        finer = distinct([*constrained_design(region).points, *region.grid(divisions)])
        if len(finer) > most:
            break
        kept = finer
    return kept
