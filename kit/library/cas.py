"""CAS numbers: the check digit that shows a mistyped one."""

from __future__ import annotations

import re

from kit.errors import EntryError

_FORM = re.compile(r"(\d{2,7})-(\d{2})-(\d)")


def is_cas(text: str) -> bool:
    """Whether a text has the form of a CAS number and the check digit that its other digits ask for.

    From the right, the digits before the check digit count once, twice, three times and so on; the sum modulo 10 is
    the check digit.

    References
    ----------
    .. [1] Chemical Abstracts Service, "Check Digit Verification of CAS Registry Numbers".

    Examples
    --------
    >>> is_cas("7732-18-5"), is_cas("7732-18-6"), is_cas("water")
    (True, False, False)
    """
    parts = _FORM.fullmatch(text.strip())
    if parts is None:
        return False
    return check_digit(parts[1] + parts[2]) == int(parts[3])


def check_digit(digits: str) -> int:
    """The last digit that belongs behind the others, which are given without hyphens."""
    return sum(place * int(digit) for place, digit in enumerate(reversed(digits), start=1)) % 10


def refuse_wrong_cas(text: str) -> None:
    """Refuse, with an EntryError, what is no CAS number."""
    parts = _FORM.fullmatch(text.strip())
    if parts is None:
        msg = f"{text!r} is not a CAS number. It has three parts, such as 56-81-5; copy it from the data sheet."
        raise EntryError(msg)
    if not is_cas(text):
        msg = (
            f"{text!r} is not a CAS number: its last digit would have to be {check_digit(parts[1] + parts[2])}. "
            "A digit was mistyped; copy it from the data sheet."
        )
        raise EntryError(msg)
