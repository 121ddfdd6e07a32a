"""What helps to read the lessons: the glossary, what comes when, sentences that fit the page, what a refusal says."""

from __future__ import annotations

import sys
from textwrap import fill
from typing import TYPE_CHECKING, Any

from kit.course.listing import Listing
from kit.errors import KitError, UnknownNameError
from kit.resources import load_table

if TYPE_CHECKING:
    from collections.abc import Callable

#: Signs of a line that a page of 1024 px shows, with the list of files beside it.
PAGE = 72


def glossary() -> Listing:
    """Every term of the course by the alphabet, each with its meaning and the lesson that explains it."""
    rows = sorted(load_table("glossary").rows, key=lambda row: row["term"].casefold())
    return Listing(("term", "meaning", "lesson"), tuple((row["term"], row["meaning"], row["lesson"]) for row in rows))


def key_words(lesson: str) -> Listing:
    """The terms that a lesson explains, each with its meaning.

    Raises
    ------
    UnknownNameError
        The glossary has no term of that lesson.

    Examples
    --------
    >>> key_words("00").rows[0][0]
    'w/w'
    """
    rows = tuple((row["term"], row["meaning"]) for row in load_table("glossary").rows if row["lesson"] == lesson)
    if not rows:
        known = ", ".join(sorted({row["lesson"] for row in load_table("glossary").rows}))
        msg = f"The glossary has no term of lesson {lesson!r}. It has terms of {known}."
        raise UnknownNameError(msg)
    return Listing(("term", "meaning"), rows)


def what_comes_when() -> Listing:
    """The lessons in the order in which they are taught: week, notebook, minutes, what each is about."""
    rows = load_table("lessons").rows
    heads = ("week", "notebook", "minutes", "what it is about")
    return Listing(heads, tuple((row["week"], row["notebook"], row["minutes"], row["about"]) for row in rows))


def tell(*words: object) -> None:
    """Print sentences so that no line is wider than the page, and none is broken within a word.

    Examples
    --------
    >>> tell("Nothing here says that a product is fit for skin:", "only tests by qualified people can.")
    Nothing here says that a product is fit for skin: only tests by
      qualified people can.
    """
    for line in " ".join(str(word) for word in words).splitlines():
        filled = fill(line, PAGE, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)
        sys.stdout.write(f"{filled}\n")


def refusal(what: Callable[..., object], *arguments: Any, **named: Any) -> str:
    """The sentence with which a calculation refuses what it is asked.

    Parameters
    ----------
    what
        The calculation; what follows is handed to it as it is.

    Raises
    ------
    UnknownNameError
        It did not refuse, so there is no such sentence.

    Examples
    --------
    >>> from kit.bench.dilution import dilute
    >>> print(refusal(dilute, 10, 25, 100))
    A solution of 10 cannot be diluted to 25: diluting only weakens. Use a stock of 25 or stronger.
    """
    try:
        what(*arguments, **named)
    except KitError as error:
        return str(error)
    msg = f"{getattr(what, '__name__', what)} did not refuse. Ask it for its answer without 'refusal'."
    raise UnknownNameError(msg)
