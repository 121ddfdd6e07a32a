"""Where a function of one number is zero, kept between two ends: no step can leave them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

#: The last digits that a float of this size can tell. [-]
TINY = 2e-16


def crossing(function: Callable[[float], float], low: float, high: float, at_low: float, at_high: float) -> float:
    """Where ``function`` is zero between two ends at which it has opposite signs.

    Inverse quadratic steps where they are trustworthy, halving where they are not; a function that jumps is closed in
    on its jump.

    References
    ----------
    .. [1] T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function
       without using derivatives", Advances in Engineering Software 28 (1997) 145-149 (the method from memory).

    Examples
    --------
    >>> round(crossing(lambda x: x * x - 2, 0.0, 2.0, -2.0, 2.0), 12)
    1.414213562373
    """
    a, b, fa, fb = high, low, at_high, at_low
    c, fc, part = a, fa, 0.5
    for _ in range(200):
        x = a + part * (b - a)
        fx = function(x)
        if (fx > 0) == (fa > 0):
            c, fc = a, fa
        else:
            c, b, fc, fb = b, a, fb, fa
        a, fa = x, fx
        best, value = (a, fa) if abs(fa) < abs(fb) else (b, fb)
        room = TINY * (abs(best) + abs(high - low)) / abs(b - c) if b != c else 1.0
        if room > 0.5 or value == 0:
            return best
        xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
        if phi**2 < xi and (1 - phi) ** 2 < 1 - xi:
            part = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        else:
            part = 0.5
        part = min(max(part, room), 1 - room)
    return a
