"""The hand-ins of a class: read, checked anew, and counted by learner, by exercise and by usual mistake.

A file that is damaged, forged or of another kind is listed with its reason; the others are marked all the same.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.course.catalogue import exercise, exercises_of, is_known, lessons, short_number
from kit.course.draw import name_key
from kit.course.enclosed import enclosed
from kit.course.hand_in import MOST_BYTES, marks, read_hand_in
from kit.errors import EntryError, KitError, StoreError
from kit.visible_text import brief, listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from kit.course.enclosed import Enclosed
    from kit.course.hand_in import HandIn, Mark
    from kit.course.progress import Try

#: Who has not answered for so long was not at work; our choice. [min]
PAUSE = 20.0
#: More files than this are no class. A folder of pictures was named by mistake.
MOST_FILES = 5_000


@dataclass(frozen=True, slots=True)
class Learner:
    """What one learner handed in, marked.

    Attributes
    ----------
    name
        As she typed it.
    file
        The name of the file that counts.
    marks
        By exercise, those that she tried.
    minutes
        At work by the times of her tries; pauses of more than :data:`PAUSE` are left out. [min]
    enclosed
        Her formulas and pictures.
    """

    name: str
    file: str
    marks: tuple[Mark, ...]
    minutes: float
    enclosed: tuple[Enclosed, ...] = ()

    @property
    def formulas(self) -> int:
        """How many formulas came with her tries."""
        return sum(one.kind == "formula" for one in self.enclosed)

    @property
    def pictures(self) -> int:
        """How many pictures came with her tries."""
        return sum(one.kind == "picture" for one in self.enclosed)

    @property
    def right(self) -> int:
        """How many exercises are right."""
        return sum(one.right for one in self.marks)

    @property
    def tries(self) -> int:
        """How many tries, up to the first right one of each exercise."""
        return sum(one.tries for one in self.marks)

    @property
    def doubts(self) -> int:
        """How many tries say of themselves what a new check does not find."""
        return sum(one.doubts for one in self.marks)


@dataclass(frozen=True, slots=True)
class Difficulty:
    """How a class did at one exercise.

    Attributes
    ----------
    tried, right, at_once
        How many learners tried it, had it right in the end, and at the first try.
    mistakes
        Usual mistake → how many learners made it, the most frequent first.
    """

    key: str
    title: str
    tried: int
    right: int
    at_once: int
    mistakes: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class CommonMistake:
    """A usual mistake, how many learners made it, and in which exercises."""

    words: str
    learners: int
    exercises: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ClassMarks:
    """A class, marked.

    Attributes
    ----------
    learners
        By name.
    left_out
        Name of a file → why it, or a part of it, does not count.
    not_looked_at
        Names of what else lies in the folder: other kinds of files, and folders.
    """

    learners: tuple[Learner, ...]
    left_out: tuple[tuple[str, str], ...] = ()
    not_looked_at: tuple[str, ...] = ()

    @property
    def told(self) -> tuple[str, ...]:
        """A sentence for all that does not count."""
        others = (
            f"Not looked at, for only .json files are: {listed(self.not_looked_at)}. " if self.not_looked_at else ""
        )
        unpack = "Where hand-ins are in one of them, put the .json files themselves into the folder."
        return (*(why for _, why in self.left_out), *([others + unpack] if others else []))

    @property
    def keys(self) -> tuple[str, ...]:
        """The exercises that anybody tried, in the order of the course."""
        tried = {one.key for learner in self.learners for one in learner.marks}
        return tuple(one.key for lesson in lessons() for one in exercises_of(lesson) if one.key in tried)

    @property
    def difficulties(self) -> tuple[Difficulty, ...]:
        """How the class did, by exercise."""
        return tuple(_difficulty(key, [*self._of(key)]) for key in self.keys)

    @property
    def mistakes(self) -> tuple[CommonMistake, ...]:
        """The usual mistakes, those of most learners first."""
        who: dict[str, set[str]] = {}
        where: dict[str, set[str]] = {}
        for learner in self.learners:
            for one in learner.marks:
                for words in one.mistakes:
                    who.setdefault(words, set()).add(learner.name)
                    where.setdefault(words, set()).add(one.key)
        found = [CommonMistake(words, len(names), tuple(sorted(where[words]))) for words, names in who.items()]
        return tuple(sorted(found, key=lambda one: (-one.learners, one.words)))

    def _of(self, key: str) -> Iterable[Mark]:
        return (one for learner in self.learners for one in learner.marks if one.key == key)


def mark_folder(folder: Path) -> ClassMarks:
    """Mark every hand-in of a folder (its .json files, not those of folders in it).

    Of several files of one learner the one with the latest try counts; what an earlier one has right beyond it is told,
    for two computers, or two people of one name, give such files.

    Raises
    ------
    EntryError
        There is no such folder, nothing to mark in it, or far too much.
    """
    if not folder.is_dir():
        msg = f"There is no folder {str(folder)!r}. Name the one with the files that were handed in."
        raise EntryError(msg)
    lying = sorted(folder.iterdir())
    files = [one for one in lying if one.suffix.lower() == ".json" and one.is_file()]
    if not files or len(files) > MOST_FILES:
        many = f"more than {MOST_FILES} files" if files else "no file (.json)"
        msg = f"In {folder.name!r} there is {many}. Name the folder with the files that were handed in."
        raise EntryError(msg)
    read: list[tuple[str, HandIn]] = []
    left_out: list[tuple[str, str]] = []
    for file in files:
        try:
            read.append((file.name, read_hand_in(_content(file), file.name)))
        except KitError as error:
            left_out.append((file.name, str(error)))
    counted, older = _newest(read)
    left_out += older
    left_out += [(file, why) for file, given in counted if (why := _unknown(file, given))]
    learners = sorted((_learner(file, given) for file, given in counted), key=lambda one: one.name.casefold())
    others = tuple(one.name for one in lying if one not in files and not _is_expected(one))
    return ClassMarks(tuple(learners), tuple(sorted(left_out)), others)


def _is_expected(path: Path) -> bool:
    """Whether it may lie beside hand-ins without being one: a hidden file, or the tables of an earlier marking."""
    return path.name.startswith(".") or (path / "class_table.csv").is_file()


def _unknown(file: str, given: HandIn) -> str:
    """What of a file is of no exercise that this kit has, as a sentence."""
    keys = [one.key for one in given.progress.tries if not is_known(one.key)]
    if not keys:
        return ""
    tries = f"{len(keys)} {'try does' if len(keys) == 1 else 'tries do'}"
    return (
        f"{file}: {tries} not count, of exercises that this kit does not have: {listed(map(brief, keys))}. "
        "The learner worked with another version of the lessons, or with exercises of yours: name their file by --own."
    )


def _content(file: Path) -> bytes:
    try:
        with file.open("rb") as source:
            return source.read(MOST_BYTES + 1)
    except OSError as error:
        msg = f"{file.name} cannot be read: {error.strerror or error}."
        raise StoreError(msg) from error


def _newest(read: Sequence[tuple[str, HandIn]]) -> tuple[list[tuple[str, HandIn]], list[tuple[str, str]]]:
    """Of each learner the file with the latest try; and of the others, why they do not count."""
    by_name: dict[str, list[tuple[str, HandIn]]] = {}
    for one in read:
        by_name.setdefault(name_key(one[1].progress.name), []).append(one)
    counted, older = [], []
    for files in by_name.values():
        *rest, last = sorted(files, key=lambda one: (_latest(one[1].progress.tries), one[0]))
        counted.append(last)
        older += [(file, _why_older(file, given, *last)) for file, given in rest]
    return counted, older


def _why_older(file: str, given: HandIn, last: str, counts: HandIn) -> str:
    """Why a file of the same name does not count, and what is right in it alone."""
    name = given.progress.name
    named = f"of {name}" if name.strip() else "without a name, as another is"
    if given == counts:
        return f"{file} is {named}, and says the same as {last}."
    said = f"{file} is {named}, and {last} is newer."
    there = {one.key for one in marks(counts.progress, version=counts.version) if one.right}
    here = {one.key for one in marks(given.progress, version=given.version) if one.right}
    alone = [short_number(one.key) for lesson in lessons() for one in exercises_of(lesson) if one.key in here - there]
    if alone:
        said += (
            f" Only in {file}, and so not counted: {listed(alone)} right. Where two learners bear this name, "
            "or one worked on two computers, look at both files."
        )
    return said


def _learner(file: str, given: HandIn) -> Learner:
    progress = given.progress
    found = marks(progress, version=given.version)
    return Learner(progress.name.strip(), file, found, _minutes(progress.tries), enclosed(given, file))


def _latest(tries: Iterable[Try]) -> str:
    return max((one.at for one in tries), default="")


def _minutes(tries: Iterable[Try]) -> float:
    """How long somebody was at work, by the moments of the tries that say one. [min]"""
    moments = sorted(moment for one in tries if (moment := _moment(one.at)) is not None)
    gaps = [(later - earlier).total_seconds() / 60 for earlier, later in pairwise(moments)]
    return sum(gap for gap in gaps if gap <= PAUSE)


def _moment(text: str) -> datetime | None:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def _difficulty(key: str, found: Sequence[Mark]) -> Difficulty:
    made = Counter(words for one in found for words in dict.fromkeys(one.mistakes))
    at_once = sum(one.right and one.tries == 1 for one in found)
    most = tuple(sorted(made.items(), key=lambda pair: (-pair[1], pair[0])))
    return Difficulty(key, exercise(key).title, len(found), sum(one.right for one in found), at_once, most)
