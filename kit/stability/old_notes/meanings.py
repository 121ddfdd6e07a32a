"""What a maker's own words in old notes stand for: a grade of a scale, or a place of the study."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.stability.plan import Attribute


#: A word with fewer letters says too little to be taken for the beginning of another.
SHORTEST = 3


class Word(NamedTuple):
    """A word of the notes, in small letters, and the key of the attribute that it grades; "" where it is a place."""

    of: str
    text: str


def word_of(of: str, text: str) -> Word:
    """The word that a cell holds.

    Examples
    --------
    >>> word_of("odour", " As  before")
    Word(of='odour', text='as before')
    """
    return Word(of, " ".join(text.split()).casefold())


def is_word(text: str) -> bool:
    """Whether a cell under a graded heading holds a word and not a number that was meant as a grade."""
    return any(sign.isalpha() for sign in text) and not any(sign.isdigit() for sign in text)


def own_grade(attribute: Attribute, text: str) -> str:
    """The grade whose words on the scale, or those before their colon, are this text; "" where none has it.

    Examples
    --------
    >>> from kit.stability.plan import every_attribute
    >>> own_grade(every_attribute()["separation"], "None"), own_grade(every_attribute()["odour"], "ok")
    ('0', '')
    """
    said = word_of("", text).text
    return _only_grade(attribute, lambda words: said in (words.casefold(), _head(words)))


def likely_grade(attribute: Attribute, text: str) -> str:
    """The only grade whose words begin with this text, to be offered and not to be taken unasked; "" where none does.

    Examples
    --------
    >>> from kit.stability.plan import every_attribute
    >>> likely_grade(every_attribute()["appearance"], "slight"), likely_grade(every_attribute()["odour"], "clear")
    ('1', '2')
    """
    said = word_of("", text).text
    if len(said) < SHORTEST:
        return ""
    return _only_grade(attribute, lambda words: _head(words).startswith(said))


def _only_grade(attribute: Attribute, fits: Callable[[str], bool]) -> str:
    """The one grade whose words on the scale fit; "" where none does, or several do."""
    found = [grade for grade, words in enumerate(attribute.scale) if fits(words)]
    return str(found[0]) if len(found) == 1 else ""


def _head(words: str) -> str:
    return words.partition(":")[0].strip().casefold()
