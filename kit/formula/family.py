"""Variants as a family: the same product at other ratios or with other oils, saved with the formula."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from kit.errors import UnknownNameError
from kit.formula.model import Variant
from kit.formula.rounding import rounded_percents

if TYPE_CHECKING:
    from kit.formula.model import Formula


def with_variant(formula: Formula, name: str, of: Formula | None = None, note: str = "") -> Formula:
    """Add what ``of`` (or the formula itself) holds to the family, or replace the variant of that name.

    The percents are rounded to 0.001 % so that they add to 100.

    Raises
    ------
    RangeError
        No name, or a formula that is not complete.
    """
    new = Variant(name.strip(), rounded_percents(of or formula).phases, note.strip())
    names = [variant.name.casefold() for variant in formula.variants]
    if new.name.casefold() in names:
        place = names.index(new.name.casefold())
        return replace(formula, variants=(*formula.variants[:place], new, *formula.variants[place + 1 :]))
    return replace(formula, variants=(*formula.variants, new))


def without_variant(formula: Formula, name: str) -> Formula:
    """Take a variant out of the family."""
    gone = _variant(formula, name)
    return replace(formula, variants=tuple(variant for variant in formula.variants if variant is not gone))


def variant_formula(formula: Formula, name: str) -> Formula:
    """A variant as a formula of its own: title with the variant's name, the same stocks, rules and steps.

    Raises
    ------
    UnknownNameError
        The family has none of that name.
    """
    variant = _variant(formula, name)
    return replace(
        formula,
        title=f"{formula.title}, {variant.name}",
        phases=variant.phases,
        ratio=None,
        note=variant.note or formula.note,
        variants=(),
        earlier=(),
    )


def _variant(formula: Formula, name: str) -> Variant:
    for variant in formula.variants:
        if variant.name.casefold() == name.strip().casefold():
            return variant
    names = ", ".join(variant.name for variant in formula.variants) or "none yet"
    msg = f"{formula.title} has no variant {name!r}. Its family: {names}."
    raise UnknownNameError(msg)
