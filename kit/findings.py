"""How every check speaks: a severity, a place, a sentence and its source."""

from __future__ import annotations

import warnings
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable

Severity = Literal["stop", "caution", "note"]

#: Worst first. ``stop``: the arithmetic or a law is broken. ``caution``: it may go wrong. ``note``: good to know.
SEVERITIES: tuple[Severity, ...] = ("stop", "caution", "note")


@dataclass(frozen=True, slots=True)
class Place:
    """What a finding concerns, so that a panel can show it beside that very thing.

    ``phase`` and ``line`` count from 0; None means the whole formula (or the whole phase).
    ``field`` names the column or control: "material", "amount", "hold", "mass", "bottle" and so on.
    """

    phase: int | None = None
    line: int | None = None
    field: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """One sentence about one place."""

    severity: Severity
    sentence: str
    place: Place = field(default_factory=Place)
    source: str = ""

    def __str__(self) -> str:
        tail = f" [{self.source}]" if self.source else ""
        return f"{self.severity}: {self.sentence}{tail}"


def tell(found: Iterable[Finding | None], into: list[Finding] | None) -> None:
    """Hand what was noticed while reading to whoever asked for it; where nobody did, say it as a warning."""
    for finding in found:
        if finding is not None and into is not None:
            into.append(finding)
        elif finding is not None:
            warnings.warn(finding.sentence, stacklevel=3)


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """The findings ordered by severity, and within one severity as they came."""
    return sorted(findings, key=lambda finding: SEVERITIES.index(finding.severity))
