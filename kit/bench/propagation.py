"""Propagation of uncertainty: from what goes into a formula to what comes out of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import fsum, hypot, inf, sqrt
from typing import TYPE_CHECKING

from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable


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


def combined(contributions: Iterable[float]) -> float:
    """The root of the sum of squares of independent contributions c·u (JCGM 100:2008, equation 11a)."""
    return hypot(*contributions)


def propagate(model: Callable[..., float], *inputs: Estimate) -> Estimate:
    """The law of propagation of uncertainty for independent inputs.

    Each contribution is taken as half the change of the result from one standard uncertainty below to one above,
    Zᵢ = ½ [f(xᵢ + uᵢ) - f(xᵢ - uᵢ)]: exact where the model is linear or quadratic in each input. Degrees of
    freedom follow Welch and Satterthwaite.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 5.1.2, note 2 of 5.1.3, and G.4.1.

    Examples
    --------
    >>> strength = propagate(lambda m, v: 100 * m / v, Estimate(2.0, 0.01), Estimate(100.0, 0.5))
    >>> round(strength.value, 3), round(strength.standard, 4)
    (2.0, 0.0141)
    """
    values = [one.value for one in inputs]
    parts = []
    for n, one in enumerate(inputs):
        above, below = (model(*values[:n], one.value + sign * one.standard, *values[n + 1 :]) for sign in (1, -1))
        parts.append((above - below) / 2)
    standard = combined(parts)
    terms = fsum((part / standard) ** 4 / one.freedom for part, one in zip(parts, inputs, strict=True) if part)
    return Estimate(model(*values), standard, 1 / terms if terms else inf)


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
