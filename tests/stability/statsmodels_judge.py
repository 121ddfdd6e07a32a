"""The same estimates by statsmodels, one product at a time: a judge for the numbers, and a measure for the speed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import statsmodels.api as sm
from scipy import stats
from scipy.optimize import brentq

if TYPE_CHECKING:
    from collections.abc import Callable


def estimate(
    days: np.ndarray, values: np.ndarray, lower: float, level: float = 0.25
) -> tuple[str, float, float, float]:
    """Model, p of the slopes, p of the starts, and the earliest crossing of a lower limit, one-sided 95 %."""
    batches, readings = days.shape
    x, y = days.ravel(), values.ravel()
    own = np.kron(np.eye(batches), np.ones((readings, 1)))
    slopes = own * x[:, None]
    separate = sm.OLS(y, np.hstack([own, slopes])).fit()
    sloped = sm.OLS(y, np.column_stack([own, x])).fit()
    shared = sm.OLS(y, sm.add_constant(x)).fit()
    p_slopes = _p(sloped.ssr - separate.ssr, batches - 1, separate)
    p_starts = _p(shared.ssr - sloped.ssr, batches - 1, separate)
    if p_slopes < level:
        fits = [sm.OLS(values[one], sm.add_constant(days[one])).fit() for one in range(batches)]
        days_met = [met(fit, lambda d: np.array([1.0, d]), lower) for fit in fits]
        return "separate lines", p_slopes, p_starts, min(days_met)
    if p_starts < level:
        days_met = [
            met(sloped, lambda d, one=one: np.append(np.eye(batches)[one], d), lower)  # type: ignore[misc]
            for one in range(batches)
        ]
        return "common slope", p_slopes, p_starts, min(days_met)
    return "common line", p_slopes, p_starts, met(shared, lambda d: np.array([1.0, d]), lower)


def _p(between: float, free: int, full: object) -> float:
    return float(stats.f.sf(between / free / (full.ssr / full.df_resid), free, full.df_resid))  # type: ignore[attr-defined]


def met(fit: object, row: Callable[[float], np.ndarray], lower: float) -> float:
    """Where the one-sided 95 % confidence limit of the mean meets a lower limit, by root search."""
    t = stats.t.ppf(0.95, fit.df_resid)  # type: ignore[attr-defined]
    params, covariance = fit.params, fit.cov_params()  # type: ignore[attr-defined]

    def room(day: float) -> float:
        at = row(day)
        return float(at @ params - t * np.sqrt(at @ covariance @ at) - lower)

    if room(0) < 0:
        return 0.0
    return float(brentq(room, 0, 1e5, xtol=1e-11, rtol=1e-14)) if room(1e5) < 0 else float("inf")
