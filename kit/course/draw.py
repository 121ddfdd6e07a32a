"""Numbers drawn from a name: the same name and exercise give the same numbers on every computer, for ever."""

from __future__ import annotations

import hashlib
import unicodedata
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Sequence

Value = TypeVar("Value")


def name_key(name: str) -> str:
    """What two writings of one name share: capitals, blanks and how an accent is put together do not count.

    Examples
    --------
    >>> name_key(" Jose\u0301  R. ") == name_key("jos\u00e9 r.")
    True
    """
    return unicodedata.normalize("NFC", " ".join(name.split()).casefold())


class Draw:
    """Choices that follow from a text alone.

    Python's own random numbers may change from version to version; a hash does not.

    Examples
    --------
    >>> Draw("Ada/01.a").step(10, 20, 2) == Draw("Ada/01.a").step(10, 20, 2)
    True
    """

    def __init__(self, seed: str) -> None:
        self.seed, self._drawn = seed, 0

    def below(self, count: int) -> int:
        """A whole number from 0 to less than ``count``."""
        self._drawn += 1
        digest = hashlib.sha256(f"{self.seed}/{self._drawn}".encode()).digest()
        return int.from_bytes(digest[:8], "big") % count

    def one(self, *values: Value) -> Value:
        """One of these."""
        return values[self.below(len(values))]

    def step(self, low: float, high: float, step: float) -> float:
        """One of ``low``, ``low + step`` … ``high``, without the dust of binary fractions."""
        return round(low + step * self.below(round((high - low) / step) + 1), 9)

    def shuffled(self, values: Sequence[Value]) -> tuple[Value, ...]:
        """All of them in another order."""
        left, found = list(values), []
        while left:
            found.append(left.pop(self.below(len(left))))
        return tuple(found)
