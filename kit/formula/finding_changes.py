"""Which findings a change to a formula brought, and which it took away."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.findings import Finding

#: A number that belongs to a name (Polysorbate 20, CI 42090, PEG-40), or one that was reckoned or measured.
_NUMBER = re.compile(r"(?P<name>\b[A-Z]\w*[ -]\d+\b(?!\s?%|[.,]\d))|[-+−]?\d[\d.,]*")


@dataclass(frozen=True, slots=True)
class FindingChanges:
    """Findings that came, that went, and that stay, perhaps with other numbers."""

    gained: tuple[Finding, ...]
    lost: tuple[Finding, ...]
    stayed: tuple[Finding, ...]


def finding_changes(before: Iterable[Finding], after: Iterable[Finding]) -> FindingChanges:
    """Which findings a change brought and took away.

    Two findings are the same where their severity, source and words agree, numbers left aside: "0.4 % is below" and
    "0.3 % is below" are one finding that stays. A number in a name counts: Polysorbate 20 is not Polysorbate 80.
    """
    old, new = list(before), list(after)
    olds, news = (Counter(_identity(finding) for finding in findings) for findings in (old, new))
    gained = _beyond(new, olds)
    lost = _beyond(old, news)
    stayed = [finding for finding in new if not any(finding is other for other in gained)]
    return FindingChanges(tuple(gained), tuple(lost), tuple(stayed))


def _identity(finding: Finding) -> tuple[str, str, str]:
    words = _NUMBER.sub(lambda found: found["name"] or "#", finding.sentence)
    return finding.severity, finding.source, words


def _beyond(findings: Iterable[Finding], others: Counter[tuple[str, str, str]]) -> list[Finding]:
    """Those that the others do not have, or not as often."""
    left = Counter(others)
    found = []
    for finding in findings:
        key = _identity(finding)
        if left[key] > 0:
            left[key] -= 1
        else:
            found.append(finding)
    return found
