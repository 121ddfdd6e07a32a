"""What would mend a formula: the lines that change, what stands in the way, or what contradicts."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.formula.model import Formula


@dataclass(frozen=True, slots=True)
class Change:
    """One line before and after; ``grams`` is the change in the batch. [% w/w, g]"""

    phase: int
    line: int
    material: str
    before: float
    after: float
    grams: float

    @property
    def percent(self) -> float:
        """What is added, below 0 what is taken away. [% w/w]"""
        return self.after - self.before


@dataclass(frozen=True, slots=True)
class Binding:
    """A condition that stands in the way, and what it costs.

    Attributes
    ----------
    price
        By how much what is made small would fall for each percent of room in it.
    """

    name: str
    price: float


@dataclass(frozen=True)
class Repair:
    """What would mend a formula; nothing is changed until somebody takes ``after``.

    Attributes
    ----------
    before, after
        The formula as it was asked about, and as it would be; ``after`` is None where nothing keeps every condition.
    broken
        Names of the rules that are broken before.
    changes
        The lines that change.
    bindings
        What stands in the way, dearest first.
    unit
        Of the prices of the bindings.
    contradiction
        Conditions that cannot be kept together, each of them needed for that; empty where there is an answer.
    """

    before: Formula
    after: Formula | None
    broken: tuple[str, ...]
    changes: tuple[Change, ...] = ()
    bindings: tuple[Binding, ...] = ()
    unit: str = "% of change"
    contradiction: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    percents: tuple[float, ...] = field(default=(), repr=False)

    @property
    def moved(self) -> float:
        """All changes together, up and down. [% w/w]"""
        return sum(abs(change.percent) for change in self.changes)

    @property
    def sentence(self) -> str:
        """The answer in words."""
        if self.contradiction:
            if len(self.contradiction) == 1:
                return f"Nothing keeps this, whatever the amounts: {self.contradiction[0]}."
            return f"These cannot be kept together: {'; '.join(self.contradiction)}. Give way in one of them."
        if not self.changes and any(finding.severity == "stop" for finding in self.findings):
            return "No amount that may change would mend what is broken here."
        if not self.changes:
            return "Nothing needs to change." if not self.broken else "No amount that may change would mend this."
        lines = "1 line changes" if len(self.changes) == 1 else f"{len(self.changes)} lines change"
        return f"{lines}, {self.moved:.4g} % in all."
