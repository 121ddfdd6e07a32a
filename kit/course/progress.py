"""What a learner has tried, in a file of hers.

It holds her answers and what was said of them, never the right ones. A file that is damaged is told of and left alone.
"""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.course.draw import name_key
from kit.errors import StoreError
from kit.saving import rewrite

if TYPE_CHECKING:
    from kit.course.checking import Verdict

FORMAT = 1


@dataclass(frozen=True, slots=True)
class Try:
    """One answer of a learner, and what was said of it.

    Attributes
    ----------
    key
        Of the exercise.
    again
        Which numbers it was: how often fresh ones had been asked for.
    answer
        As typed.
    result
        "right", "mistake" or "wrong".
    mistakes
        The usual mistakes that were recognised, in words.
    hints
        How many hints had been shown.
    at
        When, as ISO 8601 in UTC.
    """

    key: str
    again: int
    answer: str
    result: str
    mistakes: tuple[str, ...] = ()
    hints: int = 0
    at: str = ""


@dataclass(frozen=True, slots=True)
class Progress:
    """All tries of a learner."""

    name: str = ""
    tries: tuple[Try, ...] = ()

    def with_try(self, key: str, again: int, answer: str, verdict: Verdict, hints: int = 0, at: str = "") -> Progress:
        """With one more."""
        one = Try(key, again, answer, verdict.result, verdict.mistakes, hints, at)
        return replace(self, tries=(*self.tries, one))

    @property
    def right(self) -> frozenset[str]:
        """The keys of what was once answered rightly."""
        return frozenset(one.key for one in self.tries if one.result == "right")

    @property
    def tried(self) -> Counter[str]:
        """How often each exercise was tried."""
        return Counter(one.key for one in self.tries)

    @property
    def mistakes(self) -> Counter[str]:
        """How often each usual mistake was made."""
        return Counter(words for one in self.tries for words in one.mistakes)


def read_progress(path: str | Path) -> Progress:
    """What is kept in a file; nothing yet where there is none.

    Raises
    ------
    StoreError
        The file is damaged or is no file of exercises; it is not touched.
    """
    path = Path(path)
    try:
        kept = json.loads(path.read_bytes())
    except FileNotFoundError:
        return Progress()
    except (OSError, ValueError, RecursionError) as error:
        raise StoreError(_damaged(path)) from error
    try:
        return _whole(kept)
    except (KeyError, TypeError, AttributeError) as error:
        raise StoreError(_damaged(path)) from error


def save_progress(path: str | Path, progress: Progress) -> None:
    """Keep it: all of it or nothing; a damaged file is not written over.

    Tries that another window saved since are kept too.

    Raises
    ------
    StoreError
        The file is damaged, belongs to another learner, or cannot be written.
    """
    path = Path(path)

    def change(there: bytes | None) -> bytes:
        kept = progress
        if there is not None:
            before = read_progress(path)
            if name_key(before.name) != name_key(progress.name):
                msg = f"{path.name} holds the exercises of {before.name!r}. Give another file, or her name."
                raise StoreError(msg)
            kept = replace(progress, tries=tuple(dict.fromkeys((*before.tries, *progress.tries))))
        told = {"format": FORMAT, **asdict(kept)}
        return (json.dumps(told, ensure_ascii=False, indent=1) + "\n").encode()

    rewrite(path, change)


def _whole(kept: Any) -> Progress:
    if kept["format"] != FORMAT or not isinstance(kept["name"], str):
        raise KeyError(kept["format"])
    return Progress(kept["name"], read_tries(kept["tries"]))


def read_tries(kept: Any) -> tuple[Try, ...]:
    """The tries of a file; a TypeError or KeyError where one is not what it must be."""
    return tuple(_try(one) for one in kept)


def _try(one: Any) -> Try:
    texts, counts = ("key", "answer", "result", "at"), ("again", "hints")
    mistakes = tuple(one["mistakes"])
    if not all(isinstance(value, str) for value in (*(one[name] for name in texts), *mistakes)):
        raise TypeError(one)
    if not all(isinstance(one[name], int) for name in counts) or one["result"] not in {"right", "mistake", "wrong"}:
        raise TypeError(one)
    return Try(one["key"], one["again"], one["answer"], one["result"], mistakes, one["hints"], one["at"])


def _damaged(path: Path) -> str:
    return (
        f"{path.name} cannot be read as a file of exercises. It was not touched. Take an earlier one from the folder "
        "earlier_saves beside it, or move it away to begin anew."
    )
