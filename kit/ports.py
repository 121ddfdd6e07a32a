"""The number of a door on this computer, as it is typed on the command line."""

from __future__ import annotations

from argparse import ArgumentTypeError

#: The least and the largest (RFC 6335, section 6); 0 would mean any.
LEAST, LARGEST = 1, 65535


def port_number(text: str) -> int:
    """A port to listen at.

    Raises
    ------
    ArgumentTypeError
        It is no whole number, or there is no such port.

    Examples
    --------
    >>> port_number("8888")
    8888
    """
    if text.isascii() and text.isdecimal() and len(text) < 9 and LEAST <= int(text) <= LARGEST:
        return int(text)
    msg = f"{text[:20]!r} is no port. Write a whole number from {LEAST} to {LARGEST}, such as 8888."
    raise ArgumentTypeError(msg)
