"""What limits and rules say about a formula as it stands, and what its description would have to tell first."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.formula.requirements import scope_words
from kit.library.description import TELL
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.formula.requirements import Requirement
    from kit.library.description import Description
    from kit.library.limit import Limit

#: So many products are looked through, at most, to see whether one of them would keep to the limits.
MOST_WAYS = 600


def findings_of(required: Iterable[Requirement], percents: Sequence[float], description: Description) -> list[Finding]:
    """A finding for each requirement that is broken.

    Where the description leaves open whether limits hold, there is one finding for each thing that it would have to
    tell; but if the limits of one entry are broken whatever it would tell, that is said as any broken limit is.
    """
    found: list[Finding] = []
    undecided: dict[str, list[tuple[Requirement, Finding]]] = {}
    for requirement in required:
        finding = requirement.finding(percents)
        if finding is None:
            continue
        if requirement.asks and requirement.limit is not None:
            undecided.setdefault(requirement.limit.source, []).append((requirement, finding))
        else:
            found.append(finding)
    asked: dict[tuple[str, ...], list[Requirement]] = {}
    for group in undecided.values():
        broken = tuple(requirement.limit for requirement, _ in group if requirement.limit is not None)
        if all(limit.severity == "stop" and not limit.conditional for limit in broken) and _whatever_it_is(
            broken, description
        ):
            most, finding = max(group, key=lambda pair: pair[0].stated)
            sentence = f"{finding.sentence} One limit of this entry or another is broken, whatever the product is."
            found.append(Finding("stop", sentence, finding.place, finding.source, most.matter))
        else:
            for requirement, _ in group:
                asked.setdefault(requirement.asks, []).append(requirement)
    return [*found, *(_to_tell(axes, requirements) for axes, requirements in asked.items())]


def _to_tell(axes: tuple[str, ...], undecided: Sequence[Requirement]) -> Finding:
    """One thing that the description does not say, and what rests on it."""
    open_ones = []
    for requirement in undecided:
        assert requirement.limit is not None
        where = scope_words(requirement.limit)
        name = requirement.name if where in requirement.name else f"{requirement.name} ({where})"
        open_ones.append(f"{name}, {requirement.limit.entry}")
    sentence = (
        f"The description of the product does not say {listed([TELL[axis] for axis in axes])}. On that rests whether "
        f"this holds, which the formula would break: {'; '.join(dict.fromkeys(open_ones))}. Say it in the description."
    )
    sources = dict.fromkeys(requirement.source for requirement in undecided)
    return Finding("caution", sentence, Place(field="description"), next(iter(sources)), f"tell: {', '.join(axes)}")


@lru_cache(maxsize=1024)
def _whatever_it_is(broken: tuple[Limit, ...], description: Description) -> bool:
    """Whether one of these limits holds for every product that the description may be of."""
    axes = tuple(dict.fromkeys(axis for limit in broken for axis in limit.asks(description)))
    ways = description.ways(axes)
    return 0 < len(ways) <= MOST_WAYS and all(any(limit.applies_to(way) for limit in broken) for way in ways)
