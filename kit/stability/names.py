"""Names within a study: none empty, none twice, and a sentence with the choices where one is unknown."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from kit.errors import EntryError, RangeError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

Named = TypeVar("Named")


def check_name(name: str, problem: str) -> None:
    """Refuse an empty name with the sentence ``problem``."""
    if not name.strip():
        raise RangeError(problem)


def check_distinct(names: Iterable[str], what: str, where: str) -> None:
    """Refuse a name that occurs twice, however it is written."""
    seen = set()
    for name in names:
        if name.casefold() in seen:
            msg = f"{where}: the {what} {name!r} is named twice. Give each {what} a name of its own."
            raise RangeError(msg)
        seen.add(name.casefold())


def pick(
    name: str, choices: Sequence[Named], names_of: Callable[[Named], tuple[str, ...]], what: str, where: str
) -> Named:
    """The one among ``choices`` that goes by ``name``, in capitals or not.

    Raises
    ------
    EntryError
        None does; the sentence lists the names there are.
    """
    for choice in choices:
        if name in names_of(choice):
            return choice
    wanted = name.strip().casefold()
    for choice in choices:
        if wanted in (known.casefold() for known in names_of(choice)):
            return choice
    known = ", ".join(names_of(choice)[0] for choice in choices)
    msg = f"{name.strip()!r} is not {what} of {where!r}. Choose one of: {known}."
    raise EntryError(msg)


def storable(text: str, what: str) -> str:
    """The text without blanks around it and with one kind of line break, so that every file can carry it.

    Raises
    ------
    EntryError
        It holds what a log cannot keep.
    """
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        text = "\0"
    if "\0" in text:
        msg = f"{what} holds a character that cannot be stored. Type it again instead of pasting it."
        raise EntryError(msg)
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()
