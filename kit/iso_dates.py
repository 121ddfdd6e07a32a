"""Dates as the kit keeps them: year-month-day, and a day that there is; and how many months some days are."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta
from math import floor

from kit.errors import RangeError

#: A twelfth of a year of 365 days, where no date says which months are meant. [days]
MONTH = 365 / 12


def today() -> str:
    """The day of today, as ISO text."""
    return date.today().isoformat()


def is_iso_date(text: str) -> bool:
    """Whether a text is a day written year-month-day.

    Examples
    --------
    >>> is_iso_date("2026-02-28"), is_iso_date("2026-02-30"), is_iso_date("20260228"), is_iso_date("28.2.2026")
    (True, False, False, False)
    """
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def days_in_months(months: int) -> int:
    """The day on which so many months are full, where no date says which months are meant. [days]

    Examples
    --------
    >>> [days_in_months(months) for months in (1, 3, 6, 12, 18, 24)]
    [30, 91, 182, 365, 547, 730]
    """
    return floor(months * MONTH + 1e-9)


def months_after(start: date, months: int) -> date:
    """The same day so many months later, or the last of that month where it has no such day.

    Examples
    --------
    >>> months_after(date(2027, 8, 31), 6), months_after(date(2028, 2, 29), 12)
    (datetime.date(2028, 2, 29), datetime.date(2029, 2, 28))
    """
    year, month = divmod(12 * start.year + start.month - 1 + months, 12)
    return date(year, month + 1, min(start.day, monthrange(year, month + 1)[1]))


def whole_months(days: float, start: date | None = None) -> int:
    """How many whole months so many days are, rounded down.

    Parameters
    ----------
    days
        From the start. [days]
    start
        The day they are counted from: then the months are those of the calendar. Without it, 365 days are 12.

    Raises
    ------
    RangeError
        Days below 0, or beyond the calendar.

    Examples
    --------
    >>> whole_months(365), whole_months(364), whole_months(91)
    (12, 11, 3)
    >>> whole_months(91, date(2027, 7, 1)), whole_months(92, date(2027, 7, 1))
    (2, 3)
    """
    if not 0 <= days < 1e6:
        msg = f"{days:g} days are not how long something keeps. Give days from 0 on."
        raise RangeError(msg)
    full = floor(days + 1e-9)
    if start is None:
        guess = floor((full + 1) / MONTH)
        return guess if days_in_months(guess) <= full else guess - 1
    end = start + timedelta(days=full)
    count = 12 * (end.year - start.year) + end.month - start.month
    return count if months_after(start, count) <= end else count - 1
