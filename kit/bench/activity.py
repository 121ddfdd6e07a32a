"""Activity coefficients of ions: how a salty solution moves the pH away from that of an ideal one."""

from __future__ import annotations

from bisect import bisect_right
from math import sqrt

from kit.errors import RangeError

#: Up to here the equation of Davies is used; beyond, its value here is kept and a caution given. [mol/kg]
MOST_IONIC_STRENGTH = 0.5
#: Temperature and constant A of Debye and Hückel in water (Freeze and Cherry). [°C, (kg/mol)^½]
_A = (
    (0.0, 0.4883), (5.0, 0.4921), (10.0, 0.4960), (15.0, 0.5000), (20.0, 0.5042), (25.0, 0.5085), (30.0, 0.5130),
    (35.0, 0.5175), (40.0, 0.5221), (50.0, 0.5319), (60.0, 0.5425),
)  # fmt: skip


def debye_huckel_constant(celsius: float = 25.0) -> float:
    """The constant A of Debye and Hückel in water, between two entries of the table on a straight line. [(kg/mol)^½]

    Parameters
    ----------
    celsius
        0 to 60 °C, the range of the table; nothing is extrapolated. [°C]

    Raises
    ------
    RangeError
        A temperature outside the table.

    References
    ----------
    .. [1] R. A. Freeze and J. A. Cherry, Groundwater (Prentice-Hall, 1979), appendix IV.

    Examples
    --------
    >>> debye_huckel_constant(25)
    0.5085
    """
    low, high = _A[0][0], _A[-1][0]
    if not low <= celsius <= high:
        msg = f"The constant of Debye and Hückel is known from {low:g} to {high:g} °C, got {celsius:g} °C."
        raise RangeError(msg)
    n = min(bisect_right(_A, (celsius, 1.0)), len(_A) - 1)
    (t, a), (t2, a2) = _A[n - 1], _A[n]
    return a + (a2 - a) * (celsius - t) / (t2 - t)


def log_activity(ionic_strength: float, celsius: float = 25.0) -> float:
    """-log10 of the activity coefficient of an ion of charge one, by the equation of Davies; 0 or more. [-]

    -log γ = A z² (√I / (1 + √I) - 0.3 I). Makers of tables call it fair to about 0.1 mol/kg and usable to 0.5;
    beyond, its value at 0.5 mol/kg is kept.

    Parameters
    ----------
    ionic_strength
        I = ½ Σ c z², 0 or more. [mol/kg]
    celsius
        See :func:`debye_huckel_constant`. [°C]

    Raises
    ------
    RangeError
        An ionic strength below 0, or a temperature outside the table.

    References
    ----------
    .. [1] C. W. Davies, Ion Association (Butterworths, 1962), p. 41: the last term is 0.3 I (as quoted in the manual
       of a program for chemical equilibria).

    Examples
    --------
    >>> round(log_activity(0.1), 4)
    0.1069
    """
    if not ionic_strength >= 0:
        msg = f"An ionic strength is 0 mol/kg or more, got {ionic_strength:g}."
        raise RangeError(msg)
    within = min(ionic_strength, MOST_IONIC_STRENGTH)
    root = sqrt(within)
    return debye_huckel_constant(celsius) * (root / (1.0 + root) - 0.3 * within)


def activity_coefficient(charge: int, ionic_strength: float, celsius: float = 25.0) -> float:
    """The activity coefficient of an ion, by the equation of Davies; see :func:`log_activity`. [-]

    Examples
    --------
    >>> round(activity_coefficient(1, 0.1), 3), round(activity_coefficient(-2, 0.1), 3)
    (0.782, 0.374)
    """
    return float(10.0 ** (-charge * charge * log_activity(ionic_strength, celsius)))
