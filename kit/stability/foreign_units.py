"""Units in the headings of a table: a bare number under "Lower layer [cm]" is one of centimetres."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from kit.errors import KitError
from kit.numbers import readings
from kit.units import magnitude

if TYPE_CHECKING:
    from kit.stability.attribute import Attribute

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
