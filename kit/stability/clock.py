"""Days and a clock that stands still, for lessons and trials on a day of one's choice."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Callable


def day_of(text: str) -> date:
    """The day that a text such as "2026-04-06" names.

    Raises
    ------
    RangeError
        The text is no day.

    Examples
    --------
    >>> print(day_of("2026-04-06"))
    2026-04-06
    """
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        msg = f"{text!r} is no day. Write year, month and day, such as 2026-04-06."
        raise RangeError(msg) from error


def always(text: str) -> Callable[[], date]:
    """A clock that always says the same day, for panels that ask which day it is.

    Raises
    ------
    RangeError
        The text is no day.

    Examples
    --------
    >>> print(always("2026-04-06")())
    2026-04-06
    """
    found = day_of(text)
    return lambda: found
