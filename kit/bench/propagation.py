"""Propagation of uncertainty: from what goes into a formula to what comes out of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import fsum, hypot, inf, sqrt
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

#: What rounding in the last binary digits may do to a matrix of correlations.
HAIR = 1e-9
CONTRADICTION = (
    "These correlations contradict one another: no quantities can be related so. Look at the signs of the largest."
)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number and how well it is known.

    Attributes
    ----------
    value, standard
        The best estimate and its standard uncertainty, in the same unit.
    freedom
        Degrees of freedom of that uncertainty; infinite where it comes from limits and not from repeats.
    """

    value: float
    standard: float = 0.0
    freedom: float = inf

    def __post_init__(self) -> None:
        if not (self.standard >= 0 and self.freedom > 0):
            msg = (
                f"A standard uncertainty is 0 or more and has more than 0 degrees of freedom; got {self.standard:g} "
                f"with {self.freedom:g}."
            )
            raise RangeError(msg)

    @classmethod
    def within(cls, value: float, half_width: float) -> Estimate:
        """A number known only to lie within limits, anywhere between them alike: u = a / √3 (JCGM 100, 4.3.7)."""
        return cls(value, rectangular(half_width))

    @classmethod
    def near(cls, value: float, half_width: float) -> Estimate:
        """A number within limits, the likelier the nearer to the middle: u = a / √6 (JCGM 100, 4.3.9)."""
        return cls(value, triangular(half_width))


@sound(least=("half_width",))
def rectangular(half_width: float) -> float:
    """The standard uncertainty of a number that lies anywhere within ± a alike: a / √3.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 4.3.7.

    Examples
    --------
    >>> round(rectangular(0.5), 6)
    0.288675
    """
    return half_width / sqrt(3.0)


@sound(least=("half_width",))
def triangular(half_width: float) -> float:
    """The standard uncertainty of a number within ± a that is likelier the nearer to the middle: a / √6.

    For limits that are known to be hardly ever reached: a volumetric flask or pipette within its tolerance.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 4.3.9.

    Examples
    --------
    >>> round(triangular(0.5), 6)
    0.204124
    """
    return half_width / sqrt(6.0)


@sound()
def combined(contributions: Iterable[float]) -> float:
    """The root of the sum of squares of independent contributions c·u (JCGM 100:2008, equation 11a)."""
    return hypot(*contributions)


def propagate(
    model: Callable[..., float], *inputs: Estimate, correlations: Mapping[tuple[int, int], float] | None = None
) -> Estimate:
    """The law of propagation of uncertainty.

    Each contribution is taken as half the change of the result from one standard uncertainty below to one above,
    Zᵢ = ½ [f(xᵢ + uᵢ) - f(xᵢ - uᵢ)]: exact where the model is linear or quadratic in each input. Then
    u² = Σ Zᵢ² + 2 Σ Zᵢ Zⱼ r(xᵢ, xⱼ). Degrees of freedom follow Welch and Satterthwaite; for correlated inputs that
    formula does not hold, and they are only known (infinite) where every input's are.

    Parameters
    ----------
    model
        A function of as many numbers as there are inputs.
    correlations
        (place of one input, place of another), counted from 0 → their correlation coefficient, -1 to 1. Two readings
        of one balance, one flask used twice or constants of one fit are correlated. Pairs not named are independent.

    Raises
    ------
    RangeError
        A pair that is none, a coefficient outside -1 to 1, coefficients that cannot be true together, or correlated
        inputs with finite degrees of freedom: leave these out.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 5.1.2, note 2 of 5.1.3, G.4.1; for correlated inputs 5.2.2, equations 13 and 16.

    Examples
    --------
    >>> strength = propagate(lambda m, v: 100 * m / v, Estimate(2.0, 0.01), Estimate(100.0, 0.5))
    >>> round(strength.value, 3), round(strength.standard, 4)
    (2.0, 0.0141)
    >>> twice = propagate(lambda a, b: a + b, Estimate(1, 0.1), Estimate(1, 0.1), correlations={(0, 1): 1})
    >>> round(twice.standard, 3)
    0.2
    """
    values = [one.value for one in inputs]
    parts = []
    for n, one in enumerate(inputs):
        above, below = (model(*values[:n], one.value + sign * one.standard, *values[n + 1 :]) for sign in (1, -1))
        parts.append((above - below) / 2)
    if correlations:
        if any(one.freedom != inf for one in inputs):
            msg = "Degrees of freedom are not known for a result of correlated inputs. Leave them out of the estimates."
            raise RangeError(msg)
        matrix = correlation_matrix(len(inputs), correlations)
        square = fsum(parts[i] * parts[j] * matrix[i][j] for i in range(len(parts)) for j in range(len(parts)))
        return Estimate(model(*values), sqrt(max(square, 0.0)))
    standard = combined(parts)
    terms = fsum((part / standard) ** 4 / one.freedom for part, one in zip(parts, inputs, strict=True) if part)
    return Estimate(model(*values), standard, 1 / terms if terms else inf)


def correlation_matrix(count: int, correlations: Mapping[tuple[int, int], float]) -> list[list[float]]:
    """The matrix of correlation coefficients, checked: each from -1 to 1, and possible together.

    Raises
    ------
    RangeError
        See :func:`propagate`.
    """
    matrix = [[float(i == j) for j in range(count)] for i in range(count)]
    for (i, j), r in correlations.items():
        if not (0 <= i < count and 0 <= j < count and i != j):
            msg = f"There is no pair ({i}, {j}) among {count} inputs, counted from 0."
            raise RangeError(msg)
        if not -1 <= r <= 1:
            msg = f"A correlation coefficient lies between -1 and 1, got {r:g}."
            raise RangeError(msg)
        matrix[i][j] = matrix[j][i] = r
    cholesky(matrix)
    return matrix


def cholesky(matrix: list[list[float]]) -> list[list[float]]:
    """The lower triangle L of a matrix of correlations, with L Lᵀ the matrix (Cholesky's factor).

    Raises
    ------
    RangeError
        No quantities can be correlated so: the coefficients contradict one another.
    """
    count = len(matrix)
    lower = [[0.0] * count for _ in range(count)]
    for i in range(count):
        left = matrix[i][i] - fsum(x * x for x in lower[i][:i])
        if left < -HAIR:
            raise RangeError(CONTRADICTION)
        lower[i][i] = sqrt(max(left, 0.0))
        for k in range(i + 1, count):
            rest = matrix[k][i] - fsum(x * y for x, y in zip(lower[k][:i], lower[i][:i], strict=True))
            if left > HAIR:
                lower[k][i] = rest / lower[i][i]
            elif abs(rest) > sqrt(HAIR):
                raise RangeError(CONTRADICTION)
    return lower


@lru_cache(maxsize=64)
def coverage_factor(coverage: float = 95.0) -> float:
    """The coverage factor k of a normal distribution: y ± k·u covers so much. [% → -]

    Raises
    ------
    RangeError
        A coverage that does not lie between 0 and 100 %.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), table G.1: 1.645 for 90 %, 1.960 for 95 %, 2.576 for 99 %.

    Examples
    --------
    >>> round(coverage_factor(95), 3)
    1.96
    """
    if not 0 < coverage < 100:
        msg = f"A coverage must lie between 0 and 100 %, got {coverage:g} %. 95 % is usual."
        raise RangeError(msg)
    from statistics import NormalDist

    return NormalDist().inv_cdf(0.5 + coverage / 200.0)
