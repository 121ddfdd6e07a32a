"""Where an entry stands in a list of ingredients, and why, in words."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from kit.findings import Finding, Place
from kit.label.names import plain_line
from kit.library.sources import source_text
from kit.rounding import four_digits
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.library.table import Jurisdiction


#: Which part of the list an entry stands in: by weight, in any order after those, colourants at the end.
Group = Literal["by weight", "any order", "colourant"]

GROUPS: tuple[Group, ...] = ("by weight", "any order", "colourant")


@dataclass(frozen=True, slots=True)
class DeclaredSubstance:
    """One entry of the list.

    Attributes
    ----------
    name
        As printed.
    percent
        How much of the product it is. [% w/w]
    group
        The part of the list it stands in.
    reason
        In words: how much, by way of which lines, and why it stands where it does.
    within
        True for an allergen that is named although it came inside a perfume or oil, which stands in the list
        under its own name too. Its weight is counted there.
    lines
        Material of each line that brings it → how much. [% w/w of the product]
    why
        The end of the reason alone: why it stands where it does.
    """

    name: str
    percent: float
    group: Group
    reason: str
    within: bool = False
    lines: Mapping[str, float] = field(default_factory=dict)
    why: str = ""


#: Above or below this the order by weight ends. [% w/w]
ONE_PERCENT = 1.0

#: Two levels closer than this weigh the same. [% w/w]
SAME_PERCENT = 1e-9

ORDER_SOURCES: dict[Jurisdiction, str] = {
    "eu": f"{source_text('eu-article-19')}, paragraph 1(g)",
    "us": f"{source_text('us-701-3')}, paragraphs (a) and (f)",
}


def is_by_weight(percent: float, jurisdiction: Jurisdiction) -> bool:
    """Whether a level belongs to the part by weight: 1 % itself does in Europe and does not in the United States."""
    if jurisdiction == "eu":
        return percent >= ONE_PERCENT - SAME_PERCENT
    return percent > ONE_PERCENT + SAME_PERCENT


def shares_in_words(percent: float, lines: Mapping[str, float]) -> str:
    """How much of a substance there is, and from which lines, most first.

    Examples
    --------
    >>> shares_in_words(3.2, {"Glycerin": 2.0, "Citric Acid 10 % stock": 1.2})
    '3.2 % w/w: 2 % from the line Glycerin and 1.2 % from the line Citric Acid 10 % stock.'
    """
    said = [
        f"{four_digits(share)} % from the line {line}"
        for line, share in sorted(lines.items(), key=lambda each: -each[1])
    ]
    if len(said) == 1:
        return plain_line(f"{four_digits(percent)} % w/w, all from the line {next(iter(lines))}.")
    return plain_line(f"{four_digits(percent)} % w/w: {listed(said)}.")


def place_in_words(percent: float, group: Group, jurisdiction: Jurisdiction) -> str:
    """Why an entry stands in its part of the list."""
    if group == "colourant":
        return "A colourant: after all others, in any order."
    eu = jurisdiction == "eu"
    if group == "by weight":
        exactly = " (exactly 1 % still is not less than 1 %)" if eu and abs(percent - 1) <= SAME_PERCENT else ""
        return f"{'1 % or more' if eu else 'More than 1 %'}{exactly}: its place is by weight."
    exactly = " (exactly 1 % does not exceed 1 %)" if not eu and abs(percent - 1) <= SAME_PERCENT else ""
    return f"{'Less than 1 %' if eu else '1 % or less'}{exactly}: any order, after those by weight."


def close_places(
    entries: Sequence[DeclaredSubstance], weighing_error: float, jurisdiction: Jurisdiction, *, by_weight: bool
) -> list[Finding]:
    """Which places rest on nothing, or on less than a weighing may be off.

    Parameters
    ----------
    weighing_error
        How far each weighing may be off. [% of it]
    by_weight
        Whether those that may stand in any order stand by weight too; then none of them can be out of place.
    """
    error = weighing_error / 100.0
    ordered = [entry for entry in entries if entry.group == "by weight"]
    said = [_close(upper, lower, error) for upper, lower in pairwise(ordered)]
    if not by_weight:
        said += [_near_one(entry, error, jurisdiction) for entry in entries if entry.group == "any order"]
    place, source = Place(field="declaration"), ORDER_SOURCES[jurisdiction]
    return [Finding("note", sentence, place, source) for sentence in said if sentence]


def _close(upper: DeclaredSubstance, lower: DeclaredSubstance, error: float) -> str:
    gap = upper.percent - lower.percent
    if gap <= SAME_PERCENT:
        return (
            f"{upper.name} and {lower.name} weigh the same ({four_digits(upper.percent)} %): either may stand first. "
            "They stand by the alphabet."
        )
    if lower.percent * (1 + error) > upper.percent * (1 - error):
        return (
            f"{upper.name} stands before {lower.name} by {four_digits(gap)} %: weighings that are off by "
            f"{100 * error:g} % could swap the two."
        )
    return ""


def _near_one(entry: DeclaredSubstance, error: float, jurisdiction: Jurisdiction) -> str:
    if error and is_by_weight(entry.percent * (1 + error), jurisdiction):
        over = "to 1 %" if jurisdiction == "eu" else "above 1 %"
        return (
            f"{entry.name} is at {four_digits(entry.percent)} %: a weighing that is off by {100 * error:g} % could "
            f"bring it {over}, where its place is by weight. Let the small ones stand by weight to be on the strict "
            "side."
        )
    return ""
