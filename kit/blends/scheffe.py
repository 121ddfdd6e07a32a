"""The terms of Scheffé's mixture models: each part, each pair of parts, each three."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Literal, get_args

from kit.errors import EntryError

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import ArrayLike, NDArray

Model = Literal["linear", "quadratic", "special cubic"]
MODELS: tuple[Model, ...] = get_args(Model)

#: The places of the parts whose shares a term multiplies.
Term = tuple[int, ...]


def model_terms(parts: int, model: Model) -> tuple[Term, ...]:
    """The terms of a model of so many parts, each as the places of its parts.

    References
    ----------
    .. [1] H. Scheffé, "Experiments with mixtures", Journal of the Royal Statistical Society B 20 (1958) 344-360, and
       "The simplex-centroid design for experiments with mixtures", 25 (1963) 235-263.

    Examples
    --------
    >>> model_terms(3, "quadratic")
    ((0,), (1,), (2,), (0, 1), (0, 2), (1, 2))
    """
    if model not in MODELS:
        msg = f"{model!r} is no model. Choose one of: {', '.join(MODELS)}."
        raise EntryError(msg)
    most = MODELS.index(model) + 1
    return tuple(term for size in range(1, most + 1) for term in combinations(range(parts), size))


def model_matrix(points: ArrayLike, model: Model) -> NDArray[np.float64]:
    """The terms of each blend, from its shares as parts of one.

    Parameters
    ----------
    points
        Shape (n, parts). [% w/w of the blend]

    Returns
    -------
    ndarray
        Shape (n, terms). [-]
    """
    import numpy as np

    shares = np.atleast_2d(np.asarray(points, dtype=float)) / 100.0
    columns = [shares[:, list(term)].prod(axis=1) for term in model_terms(shares.shape[1], model)]
    return np.column_stack(columns)


def term_name(term: Term, names: Sequence[str]) -> str:
    """What a term is called: its parts, with a cross between them."""
    return " × ".join(names[n] for n in term)
