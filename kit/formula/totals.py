"""Rows of a maker's own table that are totals: by their name, by their amount, and what to say of them."""

from __future__ import annotations

import re
from math import isclose
from typing import TYPE_CHECKING

from kit.formula.amounts import read_amount
from kit.formula.layer_names import is_phase_heading, plain
from kit.formula.table_rows import clean

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.table_rows import PastedRow

_TOTAL = re.compile(
    r"(?:grand |sub-?|zwischen|gesamt|end)?(?:total(?:s|e|es)?|sum|summe|gesamt|somme|suma|somma|som|totaal|subtotaal)"
    r"(?: general| generale| general[ae]| w/w)?|gesamtmenge|sous-total"
)
_TOTAL_OF = re.compile(
    r"(?:sub-?|zwischen|gesamt|sous-)?(?:total\w*|sum|summe|somme|suma|somma|som|totaal)\b.*|gesamt\w*\b.*"
    r"|.*\b(?:sub-?|sous-)?(?:total|totale|summe|gesamt|suma|totaal)"
)


def is_total(row: PastedRow, lines: Sequence[PastedRow], phase: str, *, last: bool) -> tuple[bool, str]:
    """Whether a row is a total, by its name or by its amount, and what to say of it."""
    amount = read_amount(row.entry)
    others = [cell for _, cell in row.more]
    named = row.material or next((cell for cell in (row.phase, *others) if _is_total_word(cell)), "")
    above = [(line.phase, read_amount(line.entry)) for line in lines]
    sums = [sum(found.value for _, found in above if found.kind == amount.kind)]
    sums += [sum(found.value for name, found in above if found.kind == amount.kind and name == phase)]
    has_rest = any(found.kind == "rest" for _, found in above)
    is_measured = amount.kind in ("percent", "mass")
    is_sum = is_measured and any(isclose(amount.value, each, rel_tol=1e-4, abs_tol=0.006) for each in sums)
    is_whole = amount.kind == "percent" and isclose(amount.value, 100)
    where = f"row {row.number}, {clean(f'{named} {row.entry}')}," if row.number else f"{clean(f'{named} {row.entry}')}"
    if not named:
        is_it = last and is_measured and (is_sum or is_whole)
        return is_it, f"{where} is the sum of the lines above and was not taken as a line." if is_it else ""
    if _is_total_word(named):
        if not is_measured or is_sum or not above or (has_rest and (is_whole or amount.kind == "mass")):
            return True, f"{where} is the total and was not taken as a line."
        return True, (
            f"{where} is called a total and was not taken as a line, but the lines above it add to "
            f"{sums[0]:.6g}{' %' if amount.kind == 'percent' else ' g'}. Look at the amounts."
        )
    if _TOTAL_OF.fullmatch(plain(named)) and is_measured and (is_sum or is_whole) and above:
        return True, f"{where} is the sum of lines above and was not taken as a line."
    return False, ""


def _is_total_word(text: str) -> bool:
    return bool(_TOTAL.fullmatch(re.sub(r"[\s:.=*]*(?:\(?(?:%|g)\)?)?[\s:.=*]*$", "", plain(text))))


def heads_with_its_sum(row: PastedRow, below: Sequence[PastedRow]) -> bool:
    """Whether a row is the heading of a phase with the sum of that phase beside it."""
    amount = read_amount(row.entry)
    if row.phase or amount.kind not in ("percent", "mass") or not is_phase_heading(row.material):
        return False
    above_sum = 0.0
    for later in below:
        other = read_amount(later.entry)
        if is_phase_heading(later.material):
            break
        if other.kind == amount.kind:
            above_sum += other.value
            if isclose(above_sum, amount.value, abs_tol=1e-6):
                return True
    return False
