"""Which column of a table of old notes is what: a guess from the names of the columns, and the units in them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import KitError
from kit.numbers import readings
from kit.units import magnitude

if TYPE_CHECKING:
    from kit.stability.old_notes.table import ForeignTable
    from kit.stability.plan import Attribute
    from kit.stability.study import Study

#: Where a field comes from: a column counted from 0, a text that is the same for every row, or nowhere.
Origin = int | str | None

#: Words by which a column is known, in the order in which a field looks for its own.
WORDS: dict[str, tuple[str, ...]] = {
    "batch": ("batch", "lot", "batch no", "batch number", "charge", "sample", "bottle"),
    "condition": ("condition", "storage", "kept in", "kept at", "place", "stored", "chamber", "temperature", "where"),
    "time_point": ("time point", "time_point", "timepoint", "pull", "interval", "week", "weeks", "age", "time"),
    "observed_on": ("observed on", "observed_on", "seen on", "date", "day", "measured on", "datum", "when"),
    "observer": ("observer", "by", "who", "initials", "operator", "name"),
    "note": ("note", "notes", "comment", "comments", "remarks"),
    "replicate": ("replicate", "measurement", "measurement no", "repeat"),
    "attribute": ("attribute", "test", "parameter", "property", "what", "thing"),
    "value": ("value", "reading", "result", "found"),
}


#: Other names by which a column of readings goes, under the key of the attribute.
OTHER_NAMES: dict[str, tuple[str, ...]] = {
    "appearance": ("look", "looks"),
    "odour": ("odor", "smell", "scent"),
    "colour": ("color",),
    "ph": ("ph value",),
    "mass": ("weight",),
    "minutes_to_separate": ("separation time",),
    "shakes_to_remix": ("shakes",),
}


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """Which column is what.

    ``attributes`` names the columns that hold one attribute each (a "wide" table); ``attribute`` and ``value`` are the
    columns of a "long" one. Without ``time_point`` the pull is found by its day. ``day_first`` answers what comes first
    in a day such as 3/4/2026.
    """

    batch: Origin = None
    condition: Origin = None
    time_point: Origin = None
    observed_on: Origin = None
    observer: Origin = None
    note: Origin = None
    replicate: Origin = None
    attributes: tuple[tuple[int, str], ...] = ()
    attribute: Origin = None
    value: Origin = None
    day_first: bool | None = None


def guess_mapping(table: ForeignTable, study: Study) -> ColumnMap:
    """The mapping that the names of the columns suggest; what no name suggests stays open.

    A name of the attribute itself goes before its other names. A field that has only one possible content, such as the
    batch of a study of one batch, is filled with it.
    """
    free = {number: _plain(name) for number, name in enumerate(table.head)}
    wide = []
    for attribute in study.plan.attributes:
        own = {_plain(attribute.key), _plain(attribute.label), _plain(attribute.title)}
        number = next((number for number, name in free.items() if name in own), None)
        if number is None:
            other = OTHER_NAMES.get(attribute.key, ())
            number = next((number for number, name in free.items() if name in other), None)
        if number is not None:
            wide.append((number, attribute.key))
            del free[number]
    guessed: dict[str, Origin] = {}
    for name, words in WORDS.items():
        plain = [_plain(word) for word in words]
        number = next((n for word in plain for n, head in free.items() if head == word), None)
        if number is not None:
            guessed[name] = number
            del free[number]
    if "value" not in guessed or "attribute" not in guessed:
        guessed.pop("value", None)
        guessed.pop("attribute", None)
    for name, only in (("batch", study.batches), ("condition", [one.key for one in study.plan.conditions])):
        if name not in guessed and len(only) == 1:
            guessed[name] = only[0]
    return ColumnMap(**guessed, attributes=tuple(sorted(wide)) if "value" not in guessed else ())  # type: ignore[arg-type]


def _plain(name: str) -> str:
    return " ".join(re.sub(r"[\[(].*?[\])]|[_\-.:*]", " ", name).casefold().split())


_IN_BRACKETS = re.compile(r"[\[(]\s*([^\[\]()]{1,20}?)\s*[\])]\s*$")


def unit_of_head(attribute: Attribute, head: str) -> str:
    """The unit in the brackets of a heading, where it is not the attribute's own; else nothing."""
    found = _IN_BRACKETS.search(head)
    if found is None or attribute.kind != "number" or not attribute.unit:
        return ""
    return "" if found[1].casefold() == attribute.unit.casefold() else found[1]


def converts(attribute: Attribute, unit: str) -> bool:
    """Whether a unit can be turned into that of the attribute."""
    try:
        magnitude(f"1 {unit}", attribute.unit, name=attribute.label)
    except KitError:
        return False
    return True


def with_unit_of_head(attribute: Attribute, head: str, text: str) -> str:
    """A bare number under "Lower layer [cm]" is one of centimetres."""
    unit = unit_of_head(attribute, head)
    if unit and converts(attribute, unit):
        try:
            readings(text)
        except KitError:
            return text
        return f"{text} {unit}"
    return text
