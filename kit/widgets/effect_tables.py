"""What a change would do to the product in hand, as tables and sentences: nothing is done yet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from kit.product.effects import effects, finding_effects
from kit.product.product import Memory
from kit.widgets.html import findings_list, sheet, soft

if TYPE_CHECKING:
    from kit.product.product import Product


def effect_html(before: Product, after: Product) -> str:
    """What changes, before and after; then the findings that would come and those that would go."""
    after = replace(after, memory=Memory())  # what the bench remembers of the product in hand stays
    told_of = effects(before, after)
    rows = [[one.what, one.before, one.after] for one in told_of if one.is_change]
    same = [one.what for one in told_of if not one.is_change]
    told = (
        sheet(["what follows", "before", "after"], rows, caption="What follows for the whole product") if rows else ""
    )
    if same:
        told += soft(f"The same as before: {'; '.join(same)}.")
    found = finding_effects(before, after)
    if found.gained:
        told += soft("Findings that would come:") + findings_list(found.gained)
    if found.lost:
        told += soft("Findings that would go:") + findings_list(found.lost)
    if not (found.gained or found.lost):
        told += soft("No finding would come or go.")
    return told
