"""How long a product keeps: the date on the label, or the period after opening, and when the law asks for which."""

from __future__ import annotations

import re
from calendar import monthrange
from typing import TYPE_CHECKING

from kit.errors import EntryError, RangeError
from kit.findings import Finding, Place
from kit.library.sources import source_text
from kit.numbers import read_likely

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.findings import Severity
    from kit.label.label_text import LabelDetails
    from kit.library.table import Jurisdiction

#: Up to this a date has to be stated; above it a period after opening takes its place. [months]
DATE_UP_TO = 30

_PERIOD = re.compile(r"(\d{1,3})\s*(m|months?|y|years?)", re.IGNORECASE)
_DATES = re.compile(
    r"(?:(?:0?[1-9]|[12]\d|3[01])[/.-])?(?:0?[1-9]|1[0-2])[/.-]\d{4}|\d{4}-(?:0[1-9]|1[0-2])(?:-(?:0[1-9]|[12]\d|3[01]))?"
    r"|(?:(?:0?[1-9]|[12]\d|3[01])\s+)?[^\W\d]{3,12}\s+\d{4}"
)


def is_period(text: str) -> bool:
    """Whether a text is a period after opening: "12M", "12 months", "1 Y".

    Examples
    --------
    >>> is_period("12M"), is_period("6 months"), is_period("soon")
    (True, True, False)
    """
    found = _PERIOD.fullmatch(text.strip())
    return found is not None and int(found[1]) > 0


def period(text: str) -> str:
    """A period after opening as it stands beside the open-jar symbol.

    Examples
    --------
    >>> period("12 months"), period("1y")
    ('12M', '1Y')
    """
    found = _PERIOD.fullmatch(text.strip())
    return f"{int(found[1])}{found[2][0].upper()}" if found else ""


def is_date(text: str) -> bool:
    """Whether a text is month and year, or day, month and year, in this order or as an ISO date, and such a day exists.

    Examples
    --------
    >>> is_date("11/2027"), is_date("30/11/2027"), is_date("November 2027"), is_date("2027-11"), is_date("2027")
    (True, True, True, True, False)
    >>> is_date("29/02/2028"), is_date("30/02/2028")
    (True, False)
    """
    typed = text.strip()
    if _DATES.fullmatch(typed) is None:
        return False
    numbers = [int(part) for part in re.split(r"[/.-]", typed) if part.isdecimal()]
    if len(numbers) < 3:
        return True
    year, month, day = numbers if numbers[0] > 31 else reversed(numbers)
    return 1 <= day <= monthrange(max(year, 1), month)[1]


def read_months(text: str) -> float | None:
    """How long a product keeps, as typed in months; None where nothing was typed. [months]

    Raises
    ------
    EntryError, RangeError
        It is no number, or not above 0.

    Examples
    --------
    >>> read_months("24"), read_months("30 months"), read_months(" ")
    (24.0, 30.0, None)
    """
    typed = text.strip()
    if not typed:
        return None
    try:
        months = read_likely(typed.removesuffix("months").removesuffix("month").rstrip(), 0, 600)
    except EntryError as error:
        msg = f"{typed!r} is not a number of months. Type how many months it keeps unopened, such as 24."
        raise EntryError(msg) from error
    if not 0 < months <= 600:
        msg = f"{months:g} months is not how long a product keeps. Type the months that were found, such as 24."
        raise RangeError(msg)
    return months


def durability_findings(details: LabelDetails, jurisdiction: Jurisdiction) -> Iterator[Finding]:
    """What to say about the date and the period after opening that were typed."""
    opened, date = details.period_after_opening.strip(), details.best_before.strip()
    article = f"{source_text('eu-article-19')}, paragraph 1(c)"
    if opened and not is_period(opened):
        sentence = f"{opened!r} is not a period after opening. Type a number of months or years, such as 12M or 1Y."
        yield Finding("stop", sentence, Place(field="period_after_opening"), article)
    elif opened:
        sentence = (
            "The period stands beside the open-jar symbol of Annex VII, which plain text cannot show: "
            "a jar with its lid off. Draw it in place of the words in brackets."
        )
        yield Finding("note", sentence, Place(field="period_after_opening"), article)
    if date and not is_date(date):
        sentence = f"{date!r} is not a date for a label. Type month and year (11/2027), or day, month and year."
        severity: Severity = "stop" if jurisdiction == "eu" else "caution"
        yield Finding(severity, sentence, Place(field="best_before"), article if jurisdiction == "eu" else "")
    if opened or date:
        sentence = (
            "A date or a period after opening needs tests of this product by a qualified person. "
            "The kit does not work one out for a label."
        )
        yield Finding("caution", sentence, Place(field="best_before"), source_text("common-practice"))
    months = details.durability_months
    if jurisdiction == "eu" and opened and not date and months is not None and months <= DATE_UP_TO:
        sentence = f"At {months:g} months a date is asked for; a period after opening takes its place only above 30."
        yield Finding("caution", sentence, Place(field="best_before"), article)
