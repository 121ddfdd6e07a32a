"""What a learner hands in: one file of text, which is read and checked anew and of which nothing is run.

The marks do not rest on what the file says of itself: each answer is checked once more, with the numbers that follow
from her name. A seal tells a file that was damaged on the way or changed by hand; it is no signature, and who changes
both text and seal is found where an answer does not give what stands beside it.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from kit.course.catalogue import exercise
from kit.course.checking import check
from kit.course.pictures import as_kept, as_read
from kit.course.progress import Progress, read_tries
from kit.errors import EntryError, StoreError, UnknownNameError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.course.pictures import Picture
    from kit.course.progress import Try

#: What the first line of the file's text says it is, and the version of what follows. Of version 1 there were no
#: pictures, and of an exercise on the bench the title of the formula stands in place of the formula.
KIND, FORMAT = "exercises handed in", 2
FORMATS = (1, FORMAT)
#: The most that is read. [bytes]
MOST_BYTES = 5_000_000


@dataclass(frozen=True, slots=True)
class HandIn:
    """What a learner hands in.

    Attributes
    ----------
    progress
        Her name and tries.
    formulas
        Her formulas as the text of their files, by file name; they are shown, and read only by the formula's reader.
    pictures
        Photos and charts, as :func:`kit.course.pictures.picture_to_hand_in` makes them.
    version
        Of the file.
    """

    progress: Progress
    formulas: Mapping[str, str] = field(default_factory=dict)
    pictures: tuple[Picture, ...] = ()
    version: int = FORMAT


@dataclass(frozen=True, slots=True)
class Mark:
    """One exercise of a learner, checked anew.

    Attributes
    ----------
    right
        Whether one of her tries is right.
    tries
        How many there were up to the first right one, or in all.
    mistakes
        The usual mistakes on the way, in words.
    hints
        The most hints that she had seen when she answered it.
    doubts
        Tries whose result in the file is not what the check gives.
    """

    key: str
    right: bool
    tries: int
    mistakes: tuple[str, ...]
    hints: int
    doubts: int


def hand_in_text(given: HandIn) -> str:
    """The file of a learner as text (JSON), with its seal.

    Raises
    ------
    EntryError
        It would be larger than what is read.
    """
    body = {"kind": KIND, "format": FORMAT, **asdict(given.progress), "formulas": dict(given.formulas)}
    body["pictures"] = [as_kept(one) for one in given.pictures]
    text = json.dumps({**body, "seal": _seal(body)}, ensure_ascii=False, indent=1) + "\n"
    if len(text.encode("utf-8", "replace")) > MOST_BYTES:
        msg = f"What you hand in is larger than {MOST_BYTES // 1_000_000} MB. Leave pictures out."
        raise EntryError(msg)
    return text


def read_hand_in(data: bytes, name: str = "The file") -> HandIn:
    """Read a file that was handed in; nothing of it is run.

    Parameters
    ----------
    name
        What the file is called, for the sentence.

    Raises
    ------
    StoreError
        It is too large, damaged, changed since it was written, or no file of this kind.
    """
    if len(data) > MOST_BYTES:
        msg = f"{name} is larger than {MOST_BYTES // 1_000_000} MB. A file of exercises is small; ask for it anew."
        raise StoreError(msg)
    try:
        kept = json.loads(data)
        kind, version, seal = kept["kind"], kept["format"], kept.pop("seal")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        msg = f"{name} cannot be read as exercises that were handed in. Ask the learner to hand in once more."
        raise StoreError(msg) from error
    if kind != KIND or version not in FORMATS:
        msg = f"{name} is of another kind or of another version of the kit: {str(kind)[:40]!r}, {str(version)[:9]}."
        raise StoreError(msg)
    if seal != _seal(kept):
        msg = f"{name} was damaged or changed after it was written: its seal does not fit. Ask for it anew."
        raise StoreError(msg)
    try:
        formulas = {str(key): str(text) for key, text in kept["formulas"].items()}
        pictures = as_read(kept["pictures"]) if version > 1 else ()
        progress = Progress(str(kept["name"]), read_tries(kept["tries"]))
        "".join((progress.name, *formulas, *(one.name for one in pictures))).encode()  # half a sign cannot be printed
        return HandIn(progress, formulas, pictures, version)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        msg = f"{name} lacks something that every file of exercises has. Ask the learner to hand in once more."
        raise StoreError(msg) from error


def marks(progress: Progress, *, version: int = FORMAT) -> tuple[Mark, ...]:
    """Every exercise that was tried, checked anew with the learner's own numbers, by key.

    A try of an exercise that this kit does not know is left out. Where something had to be set on the bench, its
    formula is looked at; a file of version 1 does not hold it: there the result that it says is taken, in doubt.

    Parameters
    ----------
    version
        Of the file that was handed in.
    """
    by_key: dict[str, list[Try]] = {}
    for one in progress.tries:
        by_key.setdefault(one.key, []).append(one)
    found = []
    for key, tries in sorted(by_key.items()):
        try:
            asked = exercise(key)
        except UnknownNameError:
            continue
        right, count, doubts, hints, mistakes = False, 0, 0, 0, list[str]()
        for one in tries:
            task = asked.task(progress.name, one.again)
            verdict = check(task, one.answer)
            doubts += verdict.result != one.result
            said = one if version == 1 and task.goal is not None else verdict
            if not right:
                count, hints = count + 1, max(hints, one.hints)
                mistakes += said.mistakes
                right = said.result == "right"
        found.append(Mark(key, right, count, tuple(mistakes), hints, doubts))
    return tuple(found)


def _seal(body: Mapping[str, Any]) -> str:
    told = json.dumps(body, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(told.encode("utf-8", "surrogatepass")).hexdigest()
