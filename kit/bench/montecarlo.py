"""The same batch weighed a hundred thousand times over: how well its percents are known, by Monte Carlo.

The model is that of :mod:`kit.bench.uncertainty`, without its assumption that the result is normal.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from kit.bench.order import chains
from kit.bench.propagation import coverage_factor
from kit.errors import RangeError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from kit.bench.order import Arrangement, WeighingOrder
    from kit.bench.weighing import Batch

#: How many draws are made at a time: so few that they stay in the processor's own memory.
CHUNK = 4096


@dataclass(frozen=True, slots=True)
class Drawn:
    """What the draws of one quantity show: mean, standard deviation, and the interval that covers the asked part."""

    mean: float
    standard: float
    low: float
    high: float

    @property
    def half_width(self) -> float:
        """Half the width of the interval."""
        return (self.high - self.low) / 2.0


@dataclass(frozen=True, slots=True)
class Simulated:
    """A batch drawn many times: each line [% w/w of the whole] and the mass of the whole [g]."""

    draws: int
    coverage: float
    lines: tuple[Drawn, ...]
    mass: Drawn


def draw_masses(
    batch: Batch,
    generator: np.random.Generator,
    draws: int,
    arrangement: Arrangement = "separate",
    order: WeighingOrder = "as written",
) -> NDArray[np.float64]:
    """What may really be in the vessel when the balance shows what was to be weighed, drawn at random. [g]

    Returns
    -------
    ndarray
        One row for each weighing, one column for each draw.
    """
    import numpy as np

    groups = chains(batch, arrangement, order)
    masses = np.empty((len(batch.weighings), draws))
    masses[:] = [[weighing.grams] for weighing in batch.weighings]
    if not groups:
        return masses
    balance, count = batch.balance, sum(len(group) + 1 for group in groups)
    errors = generator.random((count, draws))
    errors -= 0.5
    errors *= balance.readability
    if balance.linearity:
        more = generator.random((count, draws))
        more -= 0.5
        more *= 2.0 * balance.linearity
        errors += more
    if balance.repeatability:
        more = generator.standard_normal((count, draws))
        more *= balance.repeatability / sqrt(2.0)
        errors += more
    reading = 0
    for group in groups:
        for n in group:
            masses[n] += errors[reading + 1]
            masses[n] -= errors[reading]
            reading += 1
        reading += 1
    return masses


def simulate(
    batch: Batch,
    generator: np.random.Generator,
    arrangement: Arrangement = "separate",
    order: WeighingOrder = "as written",
    *,
    draws: int = 100_000,
    coverage: float = 95.0,
) -> Simulated:
    """The uncertainty of every percent by Monte Carlo: the batch weighed so many times over.

    Nothing is taken as linear or normal. The interval has as many draws below it as above it.

    Parameters
    ----------
    generator
        The caller's own, so that a seed gives the same draws again: ``numpy.random.default_rng(7)``.
    draws
        At least 1000. JCGM 101 advises 200 000 for a 95 % interval to one or two digits.

    Raises
    ------
    RangeError
        Fewer than 1000 draws, or a coverage that does not lie between 0 and 100 %.

    References
    ----------
    .. [1] JCGM 101:2008 (GUM Supplement 1), clause 7 (7.7.2 for the interval).
    """
    import numpy as np

    if draws < 1000:
        msg = f"{draws} draws are too few for an interval. Ask for 1000 or more."
        raise RangeError(msg)
    coverage_factor(coverage)
    found = np.empty((len(batch.weighings) + 1, draws))
    for start in range(0, draws, CHUNK):
        stop = min(start + CHUNK, draws)
        masses = draw_masses(batch, generator, stop - start, arrangement, order)
        whole = found[-1, start:stop]
        np.sum(masses, axis=0, out=whole)
        np.multiply(masses, 100.0 / whole, out=found[:-1, start:stop])
    inside = int(draws * coverage / 100.0)
    low = (draws - inside) // 2
    rows = [_drawn(row, low, low + inside - 1) for row in found]
    return Simulated(draws, coverage, tuple(rows[:-1]), rows[-1])


def _drawn(row: NDArray[np.float64], low: int, high: int) -> Drawn:
    mean, standard = float(row.mean()), float(row.std(ddof=1))
    row.partition(low)  # one place at a time: NumPy is some ten times as quick with that as with two
    row[low + 1 :].partition(high - low - 1)
    return Drawn(mean, standard, float(row[low]), float(row[high]))
