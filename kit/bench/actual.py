"""What actually went in: the percents a batch really has, and how far off it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.findings import Finding, Place, worst_first
from kit.formula.checks import check

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import pandas as pd

    from kit.bench.weighing import Batch
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.limit import Limit


@dataclass(frozen=True, slots=True)
class ActualLine:
    """One line as it was weighed.

    Attributes
    ----------
    planned, weighed
        [g]
    percent_planned, percent
        On paper, and in the batch as it really is. [% w/w]
    is_weighed
        False while the plan stands in for a weighing that is still to come.
    """

    phase: int
    line: int
    material: str
    planned: float
    weighed: float
    percent_planned: float
    percent: float
    is_weighed: bool = True

    @property
    def off_grams(self) -> float:
        """Weighed less planned. [g]"""
        return self.weighed - self.planned

    @property
    def off_points(self) -> float:
        """Real percent less the percent on paper. [% w/w of the whole]"""
        return self.percent - self.percent_planned

    @property
    def off(self) -> float:
        """How far the real percent is from the one on paper. [% of the one on paper]"""
        if not self.percent_planned:
            return 0.0 if not self.weighed else float("inf")
        return 100.0 * self.off_points / self.percent_planned


@dataclass(frozen=True, slots=True)
class ActualBatch:
    """A batch as it was really weighed in.

    Attributes
    ----------
    mass
        All that is in the vessel, planned weighings included while they are still to come. [g]
    """

    batch: Batch
    lines: tuple[ActualLine, ...]
    mass: float

    @property
    def formula(self) -> Formula:
        """The formula that this batch really is."""
        planned = self.batch.formula
        real = {(one.phase, one.line): one.percent for one in self.lines}
        percents = tuple(
            tuple(real.get((p, i), 0.0) for i in range(len(phase.lines))) for p, phase in enumerate(planned.phases)
        )
        return replace(planned.with_percents(percents), written_for=None)

    @property
    def is_finished(self) -> bool:
        """Whether every line has been weighed."""
        return all(one.is_weighed for one in self.lines)

    def outside(self, tolerance: float | None = None) -> list[ActualLine]:
        """The lines whose real percent is off by more than the tolerance. [% of the percent on paper]"""
        allowed = self.batch.tolerance if tolerance is None else tolerance
        return [one for one in self.lines if abs(one.off) > allowed * (1 + 1e-9)]

    def findings(self, materials: Materials, limits: Iterable[Limit], tolerance: float | None = None) -> list[Finding]:
        """Lines out of tolerance, then everything the checks say about the real percents, worst first."""
        allowed = self.batch.tolerance if tolerance is None else tolerance
        found = [_off_finding(one, allowed) for one in self.outside(allowed)]
        return worst_first([*found, *check(self.formula, materials, limits)])

    def table(self) -> pd.DataFrame:
        """The lines as a DataFrame."""
        import pandas as pd

        phases = self.batch.formula.phases
        return pd.DataFrame(
            {
                "phase": [phases[one.phase].name for one in self.lines],
                "ingredient": [one.material for one in self.lines],
                "planned g": [one.planned for one in self.lines],
                "weighed g": [one.weighed for one in self.lines],
                "off g": [one.off_grams for one in self.lines],
                "on paper % w/w": [one.percent_planned for one in self.lines],
                "really % w/w": [one.percent for one in self.lines],
                "off %": [one.off for one in self.lines],
            }
        )


def _off_finding(line: ActualLine, allowed: float) -> Finding:
    place = Place(line.phase, line.line, "weighed")
    if not line.percent_planned:
        sentence = f"{line.weighed:g} g of {line.material} went in, and the formula asks for none."
    else:
        word = "above" if line.off > 0 else "below"
        sentence = (
            f"{line.material} is really {line.percent:.4g} %, {abs(line.off):.3g} % {word} its "
            f"{line.percent_planned:.4g} %; you allow {allowed:g} %."
        )
    return Finding("caution", sentence, place, "your own tolerance")


def actual(batch: Batch, weighed: Sequence[float | None]) -> ActualBatch:
    """What a batch really is.

    Parameters
    ----------
    weighed
        What was weighed for each weighing of the batch, in its order; None where it is still to come, for
        which the plan stands in. [g]

    Raises
    ------
    RangeError
        Not one value for each weighing, a mass below 0 g, or nothing at all in the vessel.

    Examples
    --------
    >>> from kit.bench.weighing import weigh
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "4"))),))
    >>> [round(line.percent, 3) for line in actual(weigh(toner, "100 g"), [96.0, 5.0]).lines]
    [95.05, 4.95]
    """
    weighings = batch.weighings
    if len(weighed) != len(weighings):
        msg = f"This batch has {len(weighings)} weighings and {len(weighed)} masses were given. Give one for each."
        raise RangeError(msg)
    for one, mass in zip(weighings, weighed, strict=True):
        if mass is not None and not 0 <= mass < float("inf"):
            msg = f"{one.material}: a weighed mass of {mass:g} g cannot be. Give 0 g or more."
            raise RangeError(msg)
    masses = [one.target if mass is None else mass for one, mass in zip(weighings, weighed, strict=True)]
    total = sum(masses)
    if not total > 0:
        msg = "Nothing has been weighed into the vessel: all masses are 0 g."
        raise RangeError(msg)
    whole = sum(one.percent for one in weighings)
    lines = tuple(
        ActualLine(
            one.phase,
            one.line,
            one.material,
            one.target,
            mass,
            100.0 * one.percent / whole,
            100.0 * mass / total,
            entry is not None,
        )
        for one, mass, entry in zip(weighings, masses, weighed, strict=True)
    )
    return ActualBatch(batch, lines, total)
