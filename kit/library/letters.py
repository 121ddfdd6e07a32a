"""Names without capitals, accents and signs, so that two spellings of one name can be told to be one."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_NOT_A_LETTER = re.compile(r"[^a-z0-9%]+")


@lru_cache(maxsize=4096)
def plain_letters(name: str) -> str:
    """A name without capitals, accents, signs or doubled spaces, for comparison.

    Examples
    --------
    >>> plain_letters("  Céteàryl-Alcohol ")
    'cetearyl alcohol'
    """
    if not name.isascii():
        name = "".join(letter for letter in unicodedata.normalize("NFKD", name) if not unicodedata.combining(letter))
    return _NOT_A_LETTER.sub(" ", name.casefold()).strip()
