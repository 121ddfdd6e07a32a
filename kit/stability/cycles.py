"""Freeze-thaw: how many cycles a bottle went through within its limits, and at which one something left them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.stability.check import findings_for
from kit.stability.start import start_of
from kit.stability.study import current

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.stability.study import Observation, Study

_CYCLE = re.compile(r"\bcycle\s*(\d{1,6})\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Cycles:
    """What the cycles did to one bottle.

    Attributes
    ----------
    planned, read, passed
        Cycles of the plan; those after which everything was read; those up to which, without a gap, everything read
        was within its limits.
    first_outside
        The first cycle after which something was outside its limit; None where nothing was.
    attributes
        What was outside then, by its label.
    steady
        True where the bottle did not go through the cycles but was kept at one temperature, to compare with.
    """

    batch: str
    condition: str
    planned: int
    read: int
    passed: int
    first_outside: int | None = None
    attributes: tuple[str, ...] = ()
    steady: bool = False

    @property
    def words(self) -> str:
        """The same as a sentence."""
        if self.steady:
            within = f"within its limits beside {self.passed} of {self.planned} cycles"
            outside = f"first outside beside cycle {self.first_outside}: {', '.join(self.attributes)}"
            return f"Kept steady to compare with; {within if self.first_outside is None else outside}."
        if self.first_outside is not None:
            where = f"first outside after cycle {self.first_outside}: {', '.join(self.attributes)}"
            return f"{self.passed} of {self.planned} cycles passed; {where}."
        if self.read < self.planned:
            return f"{self.passed} of {self.planned} cycles passed; {self.read} read in full so far."
        return f"{self.passed} of {self.planned} cycles passed."


def cycle_numbers(study: Study) -> dict[str, int]:
    """The time points that end a cycle, by their label: {"after cycle 1": 1}.

    Examples
    --------
    >>> from datetime import date
    >>> from kit.stability.plan import plans
    >>> from kit.stability.study import Study
    >>> cycle_numbers(Study(1, "Frozen", plans()["freeze-thaw"], ("TL-01",), date(2026, 1, 12)))
    {'after cycle 1': 1, 'after cycle 2': 2, 'after cycle 3': 3}
    """
    found = {point.label: _CYCLE.search(point.label) for point in study.plan.time_points}
    return {label: int(match[1]) for label, match in found.items() if match}


def cycles(study: Study, observations: Iterable[Observation]) -> tuple[Cycles, ...]:
    """One summary for each bottle; empty where the plan has no cycles."""
    numbers = cycle_numbers(study)
    if not numbers:
        return ()
    rows = current(observations)
    return tuple(
        _of_bottle(
            study, batch, condition.key, numbers, [r for r in rows if (r.batch, r.condition) == (batch, condition.key)]
        )
        for condition in study.plan.conditions
        for batch in study.batches
    )


def _of_bottle(
    study: Study, batch: str, condition: str, numbers: dict[str, int], rows: Sequence[Observation]
) -> Cycles:
    started = [start_of(study, [row for row in rows if row.attribute == key]) for key in {r.attribute for r in rows}]
    starts = {row.attribute: row.value for row in started if row is not None}
    needed = {attribute.key for attribute in study.plan.attributes if not attribute.optional}
    read, passed, unbroken = 0, 0, True
    outside_at: int | None = None
    outside: tuple[str, ...] = ()
    for label, number in sorted(numbers.items(), key=lambda item: item[1]):
        here = [(row.attribute, row.value) for row in rows if row.time_point == label]
        complete = needed <= {key for key, _ in here}
        read += complete
        wrong = tuple(
            attribute.label
            for attribute in study.plan.attributes
            if any(key == attribute.key and findings_for(attribute, value, starts.get(key)) for key, value in here)
        )
        if wrong and outside_at is None:
            outside_at, outside = number, wrong
        unbroken = unbroken and complete and not wrong
        passed += unbroken
    steady = study.plan.condition(condition).temperature is not None
    return Cycles(batch, condition, len(numbers), read, passed, outside_at, outside, steady)
