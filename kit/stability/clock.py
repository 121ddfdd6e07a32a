"""A clock that stands still, for lessons and trials on a day of one's choice."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Callable


def always(day: str) -> Callable[[], date]:
    """A clock that always says the same day, for panels that ask which day it is.

    Raises
    ------
    RangeError
        The text is no day.

    Examples
    --------
    >>> always("2026-04-06")()
    datetime.date(2026, 4, 6)
    """
    try:
        found = date.fromisoformat(day)
    except ValueError as error:
        msg = f"{day!r} is no day. Write year, month and day, such as 2026-04-06."
        raise RangeError(msg) from error
    return lambda: found
