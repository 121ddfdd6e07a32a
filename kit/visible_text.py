"""Text that came from a person: signs that cannot be seen made visible, two spellings of one name told to be one."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

#: Signs that turn the direction of what follows them without being seen (Unicode Standard Annex 9), control
#: signs other than tab and the ends of lines, halves of a sign, and what is no sign at all.
_UNSEEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufdd0-\ufdef\ufeff"
    "\ufff9-\ufffc\ufffe\uffff\ud800-\udfff" + "".join(f"{chr(plane * 0x10000 + 0xFFFE)}-"
    f"{chr(plane * 0x10000 + 0xFFFF)}" for plane in range(1, 17)) + "]"
)  # fmt: skip


def visible(text: str) -> str:
    """The text with each unseen sign written as its number, such as ⟨U+202E⟩.

    On paper and on the screen such a sign could show a name or an amount in another order than it was typed
    in, and a page that holds some of them is no valid HTML. Joiners, which emoji and several scripts need, stay.

    References
    ----------
    .. [1] Unicode Technical Report 36, Unicode Security Considerations, section 2.6: bidirectional text spoofing.

    Examples
    --------
    >>> visible("Aqua" + chr(0x202E) + "x" + chr(0))
    'Aqua⟨U+202E⟩x⟨U+0000⟩'
    """
    return _UNSEEN.sub(lambda found: f"⟨U+{ord(found[0]):04X}⟩", text)


def listed(names: Iterable[str]) -> str:
    """Names in a sentence, each once.

    Examples
    --------
    >>> listed(["Aqua", "Glycerin", "Parfum"]), listed(["Aqua"]), listed([])
    ('Aqua, Glycerin and Parfum', 'Aqua', '')
    """
    each = list(dict.fromkeys(names))
    return " and ".join(filter(None, [", ".join(each[:-1]), *each[-1:]]))


def holds_nul(*texts: str) -> bool:
    """Whether a text holds the sign NUL, which no database, file name or page can hold and nobody can see."""
    return any("\0" in text for text in texts)


def one_line(text: str) -> str:
    """The same on one line, for messages and file names."""
    return visible(" ".join(text.split()))


def brief(found: object) -> str:
    """What a file holds in place of what it should, as it would be typed, cut where it is long.

    Examples
    --------
    >>> brief(2.9), brief("two"), brief(10**400)
    ('2.9', "'two'", '10000000000000000000000000000000000000000000000000 …')
    """
    try:
        text = repr(found)
    except ValueError:  # Python writes no number of thousands of digits
        return "a number of thousands of digits"
    return text if len(text) <= 60 else f"{text[:50]} …"


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
