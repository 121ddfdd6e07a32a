"""What the law asks for on a label and is not there yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.label.durability import DATE_UP_TO, is_date, is_period
from kit.library.letters import plain_letters
from kit.library.sources import is_firm, source_text
from kit.resources import load_table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.label.content import NetContent
    from kit.label.declaration import Declaration
    from kit.label.label_text import LabelDetails
    from kit.library.table import Jurisdiction

UNSUBSTANTIATED = "Warning—The safety of this product has not been determined."


@dataclass(frozen=True, slots=True)
class Missing:
    """One particular that is missing.

    Attributes
    ----------
    what
        In words.
    field
        The part of the label: a field of :class:`kit.label.label_text.LabelDetails`, "content" or "declaration".
    source
        Where the law asks for it.
    firm
        False where that is only remembered.
    """

    what: str
    field: str
    source: str
    firm: bool = True

    def __str__(self) -> str:
        return f"{self.what} [{self.source}{'' if self.firm else '; from memory'}]"


def missing_particulars(
    jurisdiction: Jurisdiction, details: LabelDetails, content: NetContent | None, listed: Declaration
) -> Iterator[Missing]:
    """Each particular that the law of a place asks for and that is not there yet."""
    for row in load_table("label-rules").rows:
        if row["jurisdiction"] != jurisdiction:
            continue
        what = _lacking(row["field"], row["asks"], details, content, listed)
        if what:
            yield Missing(
                what,
                _field(row["field"], details),
                _citation(row["source_key"], row["entry"]),
                is_firm(row["source_key"]),
            )


def _lacking(field: str, asks: str, details: LabelDetails, content: NetContent | None, listed: Declaration) -> str:
    """What is missing of one particular, or nothing."""
    if field == "content":
        return "" if content is not None else asks
    if field == "declaration":
        return _list_lacking(asks, listed)
    if field == "best_before":
        return _durability_lacking(details)
    if field == "country_of_origin":
        return asks if details.imported and not details.country_of_origin.strip() else ""
    if field == "warnings":
        return "" if plain_letters(UNSUBSTANTIATED) in plain_letters(details.warnings) else asks
    return "" if str(getattr(details, field)).strip() else asks


def _field(field: str, details: LabelDetails) -> str:
    """The part of the label to fill in: above 30 months it is the period after opening in place of the date."""
    months = details.durability_months
    return "period_after_opening" if field == "best_before" and months is not None and months > DATE_UP_TO else field


def _list_lacking(asks: str, listed: Declaration) -> str:
    if not listed.entries:
        return asks
    stops = [finding for finding in listed.findings if finding.severity == "stop"]
    return f"{asks}: the one here is not ready, see what stands beside it" if stops else ""


def _durability_lacking(details: LabelDetails) -> str:
    months = details.durability_months
    dated, opened = is_date(details.best_before), is_period(details.period_after_opening)
    if dated:
        return ""
    if months is None:
        return "how long it keeps unopened: up to 30 months a date, above that a period after opening"
    if months <= DATE_UP_TO:
        return "the date up to which it keeps, headed 'best used before the end of'"
    return "" if opened else "a period after opening, beside the open-jar symbol"


def _citation(source_key: str, entry: str) -> str:
    return f"{source_text(source_key)}, {entry}" if is_firm(source_key) else entry
