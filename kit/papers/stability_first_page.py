"""The first page of a stability report, which stands alone: the judgement, the few numbers, what was not done."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.stability.overview import Overview

#: So many of what is outside or to be watched stand on the first page; the rest is counted there and stands behind.
MOST_TOLD = 12


def first_page(found: Overview, computed: Mapping[str, Any], *, corrections: int, notes: int) -> dict[str, Any]:
    """What the first page prints besides the head: one sentence of judgement, numbers, and what was not done."""
    return {
        "judgement": judgement(found),
        "numbers": [
            one["first"] | {"title": one["title"]} for one in computed["attributes"] if one["first"] is not None
        ],
        "told": MOST_TOLD,
        "more": max(len(found.to_look_at()) - MOST_TOLD, 0),
        "not_done": not_done(found, computed, corrections=corrections, notes=notes),
    }


def judgement(found: Overview) -> str:
    """The study as it stands, in one sentence."""
    counts = found.counts
    judged = counts["fail"] + counts["watch"] + counts["pass"]
    if not judged:
        return "Nothing can be judged yet: no reading has a limit to be held against."
    of = f"of {judged} judged"
    if counts["fail"]:
        return f"The limits of the plan are not kept: {counts['fail']} {of} fail, {counts['watch']} are to be watched."
    if counts["watch"]:
        return f"The limits of the plan are kept so far; {counts['watch']} {of} are to be watched."
    return f"The limits of the plan are kept so far, by all {judged} that could be judged."


def not_done(found: Overview, computed: Mapping[str, Any], *, corrections: int, notes: int) -> list[str]:
    """What was not read, not judged, not computed and not looked at, a sentence each."""
    said = [*_uncounted(found, "not read", "not read"), *_uncounted(found, "not judged", "read, but not judged")]
    for words, pulls in (("missed", found.missed), ("overdue", found.overdue), ("read late", found.late)):
        if pulls:
            said.append(f"{len(pulls)} pull{'' if len(pulls) == 1 else 's'} {words}; listed behind.")
    said += [f"{one['title']}, no shelf life: {one['problem']}" for one in computed["attributes"] if one["problem"]]
    if not computed["attributes"]:
        said.append("No shelf life was computed: the plan sets no limit on a number or a colour.")
    if corrections:
        said.append(f"{corrections} reading{'' if corrections == 1 else 's'} corrected or withdrawn; listed behind.")
    if notes:
        said.append(f"{notes} note{'' if notes == 1 else 's'} of the readers; they stand in the long form.")
    said.append("Nothing here tells about microbes: that takes a test in a laboratory (ISO 11930).")
    return said


def _uncounted(found: Overview, verdict: str, words: str) -> Sequence[str]:
    """The attributes of which some bottles have this verdict, in one sentence."""
    plan = found.study.plan
    all_of = Counter(one.attribute for one in found.judgements)
    some = Counter(one.attribute for one in found.judgements if one.verdict == verdict)
    named = [f"{plan.attribute(key).label} in {count} of {all_of[key]} bottles" for key, count in some.items()]
    return [f"{words[0].upper()}{words[1:]}: {', '.join(named)}."] if named else []
