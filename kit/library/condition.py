"""For which products a rule holds: an expression over the words by which a product is described."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from kit.errors import EntryError
from kit.library.description import AXES, GROUPS, product_types

if TYPE_CHECKING:
    from kit.library.description import Description

#: Before the words of a clause: any of them, none of them, or something that is not among them.
Mark = Literal["", "not", "outside"]


@dataclass(frozen=True, slots=True)
class Clause:
    """Words of which one must be true, none (``not``), or beside which there is another (``outside``)."""

    words: tuple[str, ...]
    mark: Mark = ""

    def holds(self, description: Description) -> bool | None:
        """Whether it holds; None where the description does not say."""
        if self.mark == "outside":
            return _outside(self.words, description)
        said = [truth(word, description) for word in self.words]
        found = True if True in said else None if None in said else False
        return (None if found is None else not found) if self.mark == "not" else found


@dataclass(frozen=True, slots=True)
class Condition:
    """Clauses that must all hold; without one it holds for every product."""

    clauses: tuple[Clause, ...] = ()

    def holds(self, description: Description) -> bool | None:
        """Whether it holds for a product; None where its description leaves that open.

        Examples
        --------
        >>> from kit.library.description import Description
        >>> hair = read_condition("rinse-off; hair | scalp")
        >>> hair.holds(Description("rinse-off", used_on=("hair",))), hair.holds(Description("leave-on"))
        (True, False)
        >>> hair.holds(Description("rinse-off")) is None
        True
        """
        found = [clause.holds(description) for clause in self.clauses]
        return False if False in found else None if None in found else True

    def asks(self, description: Description) -> tuple[str, ...]:
        """The names of the inputs of the description that would settle it; empty where it is settled."""
        if self.holds(description) is not None:
            return ()
        open_ones = [clause for clause in self.clauses if clause.holds(description) is None]
        words = (word for clause in open_ones for word in clause.words if truth(word, description) is None)
        return tuple(dict.fromkeys(AXES[word] for word in words))


@lru_cache(maxsize=4096)
def read_condition(text: str) -> Condition:
    """Read "rinse-off; hair | scalp; not under 3".

    Clauses stand between semicolons and must all hold; of the words between bars one must be true. ``not`` before a
    clause turns it round; ``outside`` asks for something that is not among its words.

    Raises
    ------
    EntryError
        A word by which no product is described.
    """
    clauses = []
    for part in filter(None, (part.strip() for part in text.split(";"))):
        mark: Mark = "not" if part.startswith("not ") else "outside" if part.startswith("outside ") else ""
        words = tuple(word.strip() for word in part.removeprefix(mark).split("|"))
        for word in words:
            if word not in AXES:
                msg = f"{word!r} in {text!r} is no word by which a product is described."
                raise EntryError(msg)
        clauses.append(Clause(words, mark))
    return Condition(tuple(clauses))


def truth(word: str, description: Description) -> bool | None:
    """Whether a word is true of a product; None where its description leaves that open."""
    axis = AXES[word]
    if axis == "product_type":
        return _is_type(word, description)
    if axis == "used_on":
        found = [_is_used_on(place, description) for place in GROUPS.get(word, (word,))]
        return True if True in found else None if None in found else False
    said = getattr(description, axis)
    if not said or (word == "breathed in" and said == "pump spray"):
        return None
    return word in said if isinstance(said, tuple) else said in GROUPS.get(word, (word,))


def _is_type(word: str, description: Description) -> bool | None:
    types = product_types()
    if description.product_type:
        return word in types[description.product_type].lineage
    asked = types[word]
    if asked.product_kind not in ("", description.product_kind):
        return False
    return False if description.used_on and asked.used_on and not {*asked.used_on} & {*description.used_on} else None


def _is_used_on(place: str, description: Description) -> bool | None:
    if description.used_on:
        return place in description.used_on
    known = product_types()[description.product_type].used_on if description.product_type else ()
    if not known:
        return None
    return True if place == known[0] else None if place in known else False


def _outside(words: tuple[str, ...], description: Description) -> bool | None:
    axis = AXES[words[0]]
    inside = {place for word in words for place in GROUPS.get(word, (word,))}
    said = getattr(description, axis)
    if said and isinstance(said, tuple):
        return any(place not in inside for place in said)
    if axis == "used_on" and description.product_type:
        known = product_types()[description.product_type].used_on
        if known:
            return True if known[0] not in inside else None if any(place not in inside for place in known) else False
    if isinstance(said, str) and said:
        return not any(truth(word, description) for word in words)
    return None
