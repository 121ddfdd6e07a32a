"""How well the percents of a weighed batch are known, by propagation of uncertainty.

The balance is read before and after each weighing. Each reading carries three errors, none of which depends on
another reading's: scatter (normal; s/√2, so that the difference of two readings scatters by s), its rounding to
the step d (rectangular, ±d/2) and the linearity a of the balance (rectangular, ±a). So one reading has

    u_r² = s²/2 + d²/12 + a²/3,

and a net weighing, the difference of two, 2 u_r² = s² + d²/6 + 2a²/3. In dishes of their own, lines share no
reading. In one vessel, net_i = reading_i - reading_(i-1): neighbours share a reading with opposite signs, so their
errors have a correlation of -1/2, and the error of the whole is only that of the last reading less the first.

Two choices err to the cautious side. Where s was found from readings of the same step, their rounding is in it
already and counts twice. And the linearity of two near loads is much the same in truth, and would cancel.

Beside the propagation stands the same batch weighed a hundred thousand times over, by Monte Carlo: the same model
without its assumption that the result is normal.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from typing import TYPE_CHECKING

from kit.bench.order import chains
from kit.bench.propagation import combined, coverage_factor, rectangular
from kit.errors import RangeError
from kit.findings import Finding, Place

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

    from kit.bench.balance import Balance
    from kit.bench.order import Arrangement, WeighingOrder
    from kit.bench.weighing import Batch, Weighing


JCGM_100 = "JCGM 100:2008 (GUM)"


@dataclass(frozen=True, slots=True)
class ReadingUncertainty:
    """The standard uncertainty of one reading of a balance, by where it comes from. [g]"""

    repeatability: float
    resolution: float
    linearity: float

    @classmethod
    def of(cls, balance: Balance) -> ReadingUncertainty:
        """What the balance's plate says; what it does not say counts as nothing."""
        return cls(
            (balance.repeatability or 0.0) / sqrt(2.0),
            rectangular(balance.readability / 2.0),
            rectangular(balance.linearity or 0.0),
        )

    @property
    def combined(self) -> float:
        """All three together. [g]"""
        return combined((self.repeatability, self.resolution, self.linearity))


@dataclass(frozen=True, slots=True)
class LineUncertainty:
    """One line of the finished batch.

    Attributes
    ----------
    made
        Its percent by what the balance shows. [% w/w of the whole]
    standard, expanded
        Standard uncertainty, and half the width of the coverage interval. [% w/w of the whole]
    repeatability, resolution, linearity
        What each contributes to ``standard``; they add as squares. [% w/w of the whole]
    """

    weighing: Weighing
    made: float
    standard: float
    expanded: float
    repeatability: float
    resolution: float
    linearity: float

    @property
    def deviation(self) -> float:
        """What rounding the weighings is known to change; no uncertainty. [% w/w of the whole]"""
        return self.made - self.weighing.percent

    @property
    def relative(self) -> float | None:
        """How far off the line may be; None where nothing is weighed. [% of the line]"""
        return 100.0 * self.expanded / self.made if self.made else None


def _place(lines: Sequence[LineUncertainty]) -> Place:
    """Where one line stands; several are a matter of the whole batch."""
    one = lines[0].weighing
    return Place(one.phase, one.line, "grams") if len(lines) == 1 else Place(field="mass")


@dataclass(frozen=True, slots=True)
class WeighingUncertainty:
    """Every line of a batch, with how well its percent is known.

    Attributes
    ----------
    coverage, factor
        What part of all batches the interval made ± k·u covers, and its k. [%, -]
    mass_standard
        Standard uncertainty of the whole. [g]
    """

    batch: Batch
    arrangement: Arrangement
    order: WeighingOrder
    coverage: float
    factor: float
    lines: tuple[LineUncertainty, ...]
    mass_standard: float

    @property
    def findings(self) -> list[Finding]:
        """Lines that the balance cannot show, and lines that may be off by more than the tolerance."""
        allowed = self.batch.tolerance
        nothing = [line for line in self.lines if line.weighing.target > 0 and not line.made]
        off = [line for line in self.lines if line.made and line.relative is not None and line.relative > allowed]
        found = []
        if nothing:
            named = ", ".join(f"{line.weighing.material} {line.weighing.target:.3g} g" for line in nothing)
            sentence = (
                f"{named}: nothing to {self.batch.balance.words}. Make a bigger batch, a premix, or use a finer "
                "balance."
            )
            found.append(Finding("caution", sentence, _place(nothing)))
        if off:
            named = "; ".join(
                f"{line.weighing.material} comes to {line.made:.4g} ± {line.expanded:.2g} % of the whole, off by up to "
                f"{line.relative:.3g} % of itself"
                for line in off
            )
            found.append(Finding("caution", f"{named}. You allow {allowed:g} %.", _place(off), JCGM_100))
        return found

    def table(self, simulated: Simulated | None = None) -> pd.DataFrame:
        """The lines as a DataFrame, the Monte Carlo result beside them where one is given."""
        import pandas as pd

        columns: dict[str, list[object]] = {
            "ingredient": [line.weighing.material for line in self.lines],
            "weigh g": [line.weighing.grams for line in self.lines],
            "paper % w/w": [line.weighing.percent for line in self.lines],
            "made % w/w": [line.made for line in self.lines],
            "rounding % w/w": [line.deviation for line in self.lines],
            "standard % w/w": [line.standard for line in self.lines],
            "± % w/w": [line.expanded for line in self.lines],
            "± % of line": [line.relative for line in self.lines],
        }
        if simulated is not None:
            columns["Monte Carlo standard % w/w"] = [line.standard for line in simulated.lines]
            columns["Monte Carlo from % w/w"] = [line.low for line in simulated.lines]
            columns["Monte Carlo to % w/w"] = [line.high for line in simulated.lines]
        return pd.DataFrame(columns)


def weighing_uncertainty(
    batch: Batch,
    arrangement: Arrangement = "separate",
    order: WeighingOrder = "as written",
    *,
    coverage: float = 95.0,
) -> WeighingUncertainty:
    """The uncertainty of every percent xₖ = 100 mₖ / Σm, by the law of propagation of uncertainty.

    The sensitivity to one net mass is ∂xₖ/∂mⱼ = (100 δₖⱼ - xₖ) / M exactly. A reading that ends line i and begins
    line j enters with ∂xₖ/∂mᵢ - ∂xₖ/∂mⱼ = 100 (δₖᵢ - δₖⱼ) / M; the first and the last reading of a vessel with one
    of the two alone. All readings are independent.

    Parameters
    ----------
    arrangement, order
        See :mod:`kit.bench.order`.
    coverage
        Of the intervals. [%]

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 5.1.2 (propagation), 4.3.7 and F.2.2.1 (limits and resolution), 6.2 (coverage).

    Examples
    --------
    >>> from kit.bench.weighing import weigh
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Panthenol", "0.5"))),))
    >>> found = weighing_uncertainty(weigh(toner, "50 g")).lines[1]
    >>> f"{found.made:.2f} ± {found.expanded:.3f} % of the whole, {found.relative:.1f} % of itself"
    '0.50 ± 0.016 % of the whole, 3.2 % of itself'
    """
    mass = batch.mass
    made = [100.0 * weighing.grams / mass for weighing in batch.weighings]
    variances = [[0.0, 0.0, 0.0] for _ in made]
    mass_variance = 0.0
    for group in chains(batch, arrangement, order):
        first, last = group[0], group[-1]
        squares = [(x - 100.0 * (k == first)) ** 2 + (x - 100.0 * (k == last)) ** 2 for k, x in enumerate(made)]
        for left, right in pairwise(group):
            squares[left] += 100.0**2
            squares[right] += 100.0**2
        reading = ReadingUncertainty.of(batch.weighings[first].balance)
        parts = (reading.repeatability, reading.resolution, reading.linearity)
        mass_variance += 2.0 * reading.combined**2
        for variance, square in zip(variances, squares, strict=True):
            for n, part in enumerate(parts):
                variance[n] += square * part**2
    factor = coverage_factor(coverage)
    lines = []
    for weighing, x, variance in zip(batch.weighings, made, variances, strict=True):
        standard = sqrt(sum(variance)) / mass
        shares = (sqrt(one) / mass for one in variance)
        lines.append(LineUncertainty(weighing, x, standard, factor * standard, *shares))
    mass_standard = sqrt(mass_variance)
    return WeighingUncertainty(batch, arrangement, order, coverage, factor, tuple(lines), mass_standard)


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
    on = [batch.weighings[group[0]].balance for group in groups for _ in range(len(group) + 1)]  # of each reading
    errors = generator.random((len(on), draws))
    errors -= 0.5
    errors *= np.array([[one.readability] for one in on])
    if any(one.linearity for one in on):
        more = generator.random((len(on), draws))
        more -= 0.5
        more *= np.array([[2.0 * (one.linearity or 0.0)] for one in on])
        errors += more
    if any(one.repeatability for one in on):
        more = generator.standard_normal((len(on), draws))
        more *= np.array([[(one.repeatability or 0.0) / sqrt(2.0)] for one in on])
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
