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
    """One sentence about one place.

    Attributes
    ----------
    matter
        What it is about, in a form that stays the same while the amounts change; by it findings about one matter are
        folded together and a maker's answer finds its caution again. Empty: only about itself.
    answer
        What the maker answered to it; empty where she did not.
    """

    severity: Severity
    sentence: str
    place: Place = field(default_factory=Place)
    source: str = ""
    matter: str = ""
    answer: str = ""

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


def by_matter(findings: Iterable[Finding]) -> list[tuple[Finding, ...]]:
    """The findings in groups of one matter each, the most serious of each first; groups worst first.

    Examples
    --------
    >>> high, low = Finding("stop", "Too much.", matter="a"), Finding("note", "Much.", matter="a")
    >>> [len(group) for group in by_matter([low, Finding("caution", "Else."), high])]
    [2, 1]
    """
    groups: dict[object, list[Finding]] = {}
    for finding in worst_first(findings):
        groups.setdefault(finding.matter or id(finding), []).append(finding)
    return [tuple(group) for group in groups.values()]


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """The findings ordered by severity, and within one severity as they came."""
    return sorted(findings, key=lambda finding: SEVERITIES.index(finding.severity))
