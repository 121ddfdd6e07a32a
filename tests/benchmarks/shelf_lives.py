"""A thousand products of three batches: the work measured by ``run.py`` and by the test of its speed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from kit.stability.pooling import Crossings, shelf_lives
from tests.stability.statsmodels_judge import estimate

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

DAYS = (0, 14, 28, 42, 56, 70, 84)
LOWER = 95.0


def products(count: int) -> tuple[Floats, Floats]:
    """Days and readings of so many products, (products, 3 batches, 7 readings)."""
    random = np.random.default_rng(5)
    days = np.broadcast_to(np.array(DAYS, dtype=float), (count, 3, len(DAYS)))
    starts, slopes = random.normal(100, 0.6, (count, 3, 1)), random.normal(-0.05, 0.01, (count, 3, 1))
    return days, starts + slopes * days + random.normal(0, 0.5, days.shape)


def with_arrays(days: Floats, values: Floats) -> Crossings:
    """All at once."""
    return shelf_lives(days, values, lower=LOWER)


def with_statsmodels(days: Floats, values: Floats) -> list[float]:
    """One by one: three models, two tests, and a search for each crossing."""
    return [estimate(one, other, LOWER)[-1] for one, other in zip(days, values, strict=True)]
