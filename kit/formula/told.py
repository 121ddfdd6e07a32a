"""What limits and rules say about a formula as it stands, and what its description would have to tell first."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.formula.requirements import flat_percents, known_by_rules, meant_by, requirements, scope_words
from kit.library.description import TELL
from kit.library.limit import LOCAL_RULES, Limits
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
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
    return [*found, *(_to_tell(axes, waiting, description) for axes, waiting in asked.items())]


def to_come(formula: Formula, materials: Materials, limits: Limits) -> Iterator[Finding]:
    """A note on each limit that is not in force yet, or only proposed, and that the formula would break."""
    percents = flat_percents(formula)
    for requirement in requirements(formula, materials, limits.later):
        finding, limit = requirement.finding(percents), requirement.limit
        if finding is None or limit is None or requirement.asks:
            continue
        when = "Proposed, and not in force" if limit.pending else f"From {limit.from_day} on"
        yield replace(finding, severity="note", sentence=f"{when}: {finding.sentence}", matter=f"later: {limit.key}")


def conditions(formula: Formula, materials: Materials, limits: Limits) -> Iterator[Finding]:
    """A note on each entry that limits no percent but asks something of a material that is there."""
    names = {name for _, _, line, _ in formula.each_line() for name in _parts(line.material, materials)}
    present = known_by_rules(names, materials)
    for limit in limits.concerning(present):
        only_asks = not limit.is_of_percent and limit.ph_low is None and limit.ph_high is None
        if only_asks and limit.scope and limit.applies_to(formula.description) is not False:
            what = " + ".join(meant_by(limit, present))
            sentence = f"{what}: {limit.scope}. {LOCAL_RULES}"
            yield Finding("note", sentence, Place(field="material"), limit.source, f"asked: {limit.key}")


def _parts(name: str, materials: Materials) -> Iterable[str]:
    return materials.substances(name) if name.strip() else ()


def _to_tell(axes: tuple[str, ...], undecided: Sequence[Requirement], description: Description) -> Finding:
    """One thing that the description does not say, and what rests on it."""
    open_ones = []
    for requirement in undecided:
        assert requirement.limit is not None
        where = scope_words(requirement.limit)
        name = requirement.name if where in requirement.name else f"{requirement.name} ({where})"
        open_ones.append(f"{name}, {requirement.limit.entry}")
    what = "; ".join(dict.fromkeys(open_ones))
    sentence = (
        f"The description of the product does not say {listed([TELL[axis] for axis in axes])}. On that rests whether "
        f"this holds, which the formula would break: {what}. Say it in the description."
    )
    if axes == ("applied",) and description.applied:
        sentence = (
            f"Whether a {description.applied} can be breathed in has to be shown, by the size of its drops. On that "
            f"rests whether this holds, which the formula would break: {what}. Ask the maker of the pump, or choose "
            "another way to apply it."
        )
    sources = dict.fromkeys(requirement.source for requirement in undecided)
    return Finding("caution", sentence, Place(field="description"), next(iter(sources)), f"tell: {', '.join(axes)}")


@lru_cache(maxsize=1024)
def _whatever_it_is(broken: tuple[Limit, ...], description: Description) -> bool:
    """Whether one of these limits holds for every product that the description may be of."""
    axes = tuple(dict.fromkeys(axis for limit in broken for axis in limit.asks(description)))
    ways = description.ways(axes)
    return 0 < len(ways) <= MOST_WAYS and all(any(limit.applies_to(way) for limit in broken) for way in ways)
