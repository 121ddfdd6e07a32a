"""Dates as the kit keeps them: year-month-day, and a day that there is."""

from __future__ import annotations

from datetime import date


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
