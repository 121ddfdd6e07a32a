"""What scores say of a blend: Scheffé's models fitted by least squares."""

from __future__ import annotations

from math import inf, sqrt
from typing import TYPE_CHECKING

from kit.blends.fit import BlendFit, Coefficient, Variation
from kit.blends.region import ALIKE, Point
from kit.blends.scheffe import MODELS, Model, model_matrix, model_terms, term_name
from kit.errors import EntryError, RangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray


def fit_blend(
    points: Sequence[Point],
    values: Sequence[float | None],
    model: Model = "quadratic",
    names: Sequence[str] = (),
    what: str = "",
) -> BlendFit:
    """A Scheffé model fitted to scores by least squares.

    Parameters
    ----------
    points
        A blend for each bottle, shape (n, parts). [% w/w of the blend]
    values
        A score for each; None where it is missing, and that bottle is left out.
    names
        Of the parts; x1, x2 … otherwise.
    what
        What was scored, for sentences.

    Raises
    ------
    EntryError
        Not as many scores as bottles, or every score is the same.
    RangeError
        Fewer scored bottles than coefficients, or blends that cannot tell them apart.

    References
    ----------
    .. [1] H. Scheffé, Journal of the Royal Statistical Society B 20 (1958) 344-360; 25 (1963) 235-263.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 5.5.4.2 (the example that the tests repeat) and 4.4.4.6
       (lack of fit).
    .. [3] D. M. Allen, "The relationship between variable selection and data augmentation and a method for
       prediction", Technometrics 16 (1974) 125-127: PRESS.

    Examples
    --------
    >>> fit = fit_blend([(100, 0), (0, 100), (50, 50), (50, 50)], [2.0, 4.0, 6.0, 6.4])
    >>> [round(one.estimate, 6) for one in fit.coefficients]
    [2.0, 4.0, 12.8]
    """
    import numpy as np

    kept, scores, left_out = _scored(points, values, what)
    called = tuple(names) or tuple(f"x{n}" for n in range(1, len(kept[0]) + 1))
    terms = [term_name(term, called) for term in model_terms(len(kept[0]), model)]
    matrix, y = _matrix(kept, model), np.array(scores)
    orthogonal, triangle = np.linalg.qr(matrix)
    estimates = np.linalg.solve(triangle, orthogonal.T @ y)
    back = np.linalg.inv(triangle)
    residuals, leverages = y - matrix @ estimates, (orthogonal**2).sum(axis=1)
    freedom = len(y) - len(terms)
    left = float(residuals @ residuals)
    whole = float(((y - y.mean()) ** 2).sum())
    error = sqrt(left / freedom) if freedom > 0 else None
    covariance = back @ back.T
    press = _press(residuals, leverages)
    return BlendFit(
        called,
        model,
        what,
        kept,
        tuple(scores),
        left_out,
        _coefficients(terms, estimates, covariance, error, freedom),
        covariance,
        tuple(map(float, residuals)),
        tuple(map(float, leverages)),
        error,
        1.0 - left / whole,
        1.0 - (left / freedom) / (whole / (len(y) - 1)) if freedom > 0 else None,
        press,
        None if press is None else 1.0 - press / whole,
        _anova(kept, y, left, whole, len(terms)),
    )


def _scored(
    points: Sequence[Point], values: Sequence[float | None], what: str
) -> tuple[tuple[Point, ...], list[float], tuple[int, ...]]:
    """The bottles with a score, their scores, and the places of those without."""
    of = f" of {what}" if what else ""
    if len(points) != len(values):
        msg = f"There are {len(points)} bottles and {len(values)} scores{of}. Give one score, or none, for each bottle."
        raise EntryError(msg)
    pairs = [(point, value) for point, value in zip(points, values, strict=True) if value is not None]
    left_out = tuple(n for n, value in enumerate(values) if value is None)
    if not pairs:
        msg = f"No bottle has a score{of} yet. Type the scores first."
        raise EntryError(msg)
    scores = [float(value) for _, value in pairs]
    if len(pairs) > 1 and max(scores) - min(scores) <= ALIKE * max(map(abs, scores)):
        msg = (
            f"All {len(scores)} scores{of} are {scores[0]:g}, so they cannot tell one blend from another. "
            "Use a finer scale, or score something in which the bottles differ."
        )
        raise EntryError(msg)
    return tuple(tuple(map(float, point)) for point, _ in pairs), scores, left_out


def _matrix(points: Sequence[Point], model: Model) -> NDArray[np.float64]:
    """The terms of each bottle, where the bottles are enough and different enough for the model."""
    import numpy as np

    matrix = model_matrix(points, model)
    bottles, needed = matrix.shape
    if bottles < needed:
        msg = (
            f"A {model} model of {len(points[0])} parts has {needed} coefficients, and only {bottles} "
            f"bottle{'' if bottles == 1 else 's'} {'has' if bottles == 1 else 'have'} a score. "
            "Score more bottles, or choose a simpler model."
        )
        raise RangeError(msg)
    sizes = np.linalg.svd(matrix, compute_uv=False)
    if sizes[-1] < 1e-9 * sizes[0]:
        different = len({tuple(round(share / ALIKE) for share in point) for point in points})
        msg = (
            f"The {different} different blends with a score cannot tell the {needed} coefficients of a {model} model "
            "apart. Score other blends, or choose a simpler model."
        )
        raise RangeError(msg)
    return matrix


def _coefficients(
    terms: Sequence[str],
    estimates: NDArray[np.float64],
    covariance: NDArray[np.float64],
    error: float | None,
    freedom: int,
) -> tuple[Coefficient, ...]:
    from scipy.special import stdtr

    found = []
    for n, (name, estimate) in enumerate(zip(terms, map(float, estimates), strict=True)):
        if error is None:
            found.append(Coefficient(name, estimate, None, None, None))
            continue
        standard = error * sqrt(float(covariance[n, n]))
        t = estimate / standard if standard else inf
        found.append(Coefficient(name, estimate, standard, t, 2.0 * float(stdtr(freedom, -abs(t)))))
    return tuple(found)


def _press(residuals: NDArray[np.float64], leverages: NDArray[np.float64]) -> float | None:
    """The sum of squares of each bottle foretold from the others: residual over 1 - leverage (Allen 1974)."""
    if float(leverages.max()) > 1.0 - 1e-9:
        return None
    return float(((residuals / (1.0 - leverages)) ** 2).sum())


def _anova(
    points: Sequence[Point], y: NDArray[np.float64], left: float, whole: float, terms: int
) -> tuple[Variation, ...]:
    """Model, residual, lack of fit and pure error where blends were repeated, and total; about the mean."""
    same: dict[tuple[int, ...], list[float]] = {}
    for point, value in zip(points, map(float, y), strict=True):
        same.setdefault(tuple(round(share / ALIKE) for share in point), []).append(value)
    pure = sum(sum((value - sum(group) / len(group)) ** 2 for value in group) for group in same.values())
    repeated, lacking = len(y) - len(same), len(same) - terms
    freedom = len(y) - terms
    rows = [_compared("model", terms - 1, max(whole - left, 0.0), freedom, left), Variation("residual", freedom, left)]
    if lacking > 0 and repeated > 0:
        rows.append(_compared("lack of fit", lacking, max(left - pure, 0.0), repeated, pure))
    if repeated > 0:
        rows.append(Variation("pure error", repeated, pure))
    return (*rows, Variation("total", len(y) - 1, whole))


def _compared(source: str, freedom: int, squares: float, below_freedom: int, below: float) -> Variation:
    """A row with its mean square over that of the error below it."""
    from scipy.special import fdtrc

    if freedom < 1 or below_freedom < 1:
        return Variation(source, freedom, squares)
    error = below / below_freedom
    f = squares / freedom / error if error else inf
    return Variation(source, freedom, squares, f, float(fdtrc(freedom, below_freedom, f)) if f < inf else 0.0)


def fit_every_model(
    points: Sequence[Point], values: Sequence[float | None], names: Sequence[str] = (), what: str = ""
) -> tuple[BlendFit, ...]:
    """Every model that these scores are enough for, the simplest first.

    Raises
    ------
    KitError
        They are not enough for any; see :func:`fit_blend`.
    """
    fits = [fit_blend(points, values, MODELS[0], names, what)]
    for model in MODELS[1:]:
        if len(model_terms(len(points[0]), model)) == len(fits[-1].coefficients):
            continue  # two parts have no three-part term
        try:
            fits.append(fit_blend(points, values, model, names, what))
        except RangeError:
            break
    return tuple(fits)


def likeliest_model(fits: Sequence[BlendFit]) -> BlendFit:
    """The model that foretells bottles best from the others (R² predicted); of two alike, the simpler.

    Where none can be foretold so, the simplest.
    """
    return max(fits, key=lambda fit: -inf if fit.r2_predicted is None else round(fit.r2_predicted, 6))
