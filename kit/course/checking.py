"""Check an answer: right, a usual mistake by name, wrong, or not to be read."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from kit.course.tasks import UNIT_SLIPS
from kit.errors import AmbiguousError, EntryError, KitError
from kit.formula.files.draft import of_draft, to_draft
from kit.inputs import REQUIRED, Input, Number
from kit.numbers import readings, split_text
from kit.visible_text import brief

if TYPE_CHECKING:
    from kit.course.tasks import Mistake, Task
    from kit.formula.model import Formula

LETTERS = "ABCDEFGHIJ"
#: The longest answer that is read: a formula of hundreds of lines. [characters]
MOST_ANSWER = 200_000


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is said of an answer.

    Attributes
    ----------
    result
        "unread" is no try.
    sentence
        For the learner.
    mistakes
        The words of every usual mistake that leads to this answer.
    """

    result: Literal["right", "mistake", "wrong", "unread"]
    sentence: str
    mistakes: tuple[str, ...] = ()


RIGHT = Verdict("right", "Right.")


def check(task: Task, text: str) -> Verdict:
    """Check what a learner typed or chose.

    Parameters
    ----------
    text
        A number, with a unit or without; an option; for an order its letters, such as "B A C"; for a condition the
        formula, as :func:`formula_answer` gives it.
    """
    if len(text) > MOST_ANSWER:
        return Verdict("unread", "That is far too long for an answer.")
    try:
        return _checked(task, text)
    except KitError as error:
        return Verdict("unread", str(error))


def _checked(task: Task, text: str) -> Verdict:
    if task.goal is not None:
        return check_formula(task, of_draft(text.encode("utf-8", "replace"), "The answer")[0])
    if isinstance(task.answer, float):
        said = [_number(task, given) for given in _read(task, text)]
        return min(said, key=lambda verdict: ("right", "mistake", "wrong").index(verdict.result))
    if isinstance(task.answer, tuple):
        return _same(task, read_order(task, text), "That is not the order yet. Look at the first and the last.")
    if text.strip() not in task.options:
        return Verdict("unread", "Choose one of the answers.")
    return _same(task, text.strip(), "That is not it.")


def check_formula(task: Task, formula: Formula) -> Verdict:
    """Check the formula in hand against the condition of a task."""
    fault = task.goal.fault(formula) if task.goal else "This exercise asks for no product."
    return Verdict("wrong", fault) if fault else RIGHT


def formula_answer(formula: Formula) -> str:
    """The formula in hand as the text of an answer, so that whoever marks can look at the condition again.

    What no condition asks for stays with the learner: notes, steps, and earlier versions.
    """
    asked = replace(
        formula, earlier=(), variants=(), steps=(), rules=(), densities=(), answers=(), note="", change_note=""
    )
    return to_draft(asked, "").decode()


def read_order(task: Task, text: str) -> tuple[str, ...]:
    """The items of an order typed as letters.

    Raises
    ------
    EntryError
        A letter is missing, stands twice or belongs to no item.
    """
    letters = LETTERS[: len(task.options)]
    typed = re.sub(r"[\s,;.<>→-]+", "", text).upper()
    if sorted(typed) != sorted(letters):
        msg = f"Type each of the letters {', '.join(letters)} once, the first first."
        raise EntryError(msg)
    return tuple(task.options[letters.index(letter)] for letter in typed)


def _read(task: Task, text: str) -> tuple[float, ...]:
    """The number, or both where a mark may be one of decimals or of thousands: here the task tells which is meant."""
    if not text.strip():
        msg = "Type a number."
        raise EntryError(msg)
    other = _other_unit(task, text)
    if other:
        raise EntryError(other)
    try:
        return (float(Input("answer", "Your answer", Number(), REQUIRED, task.unit).read(text, beside_unit=True)),)
    except AmbiguousError:
        body, unit = split_text(text)
        if unit.casefold() not in {"", task.unit.casefold()}:
            raise
        return readings(body)


def _other_unit(task: Task, text: str) -> str:
    """That a number was given in another unit than the one asked for, as a sentence."""
    try:
        body, unit = split_text(text)
        readings(body)
    except KitError:
        return ""
    if unit.casefold() in {"", task.unit.casefold()} or not (unit[0].isalpha() or unit[0] in "%‰"):
        return ""
    wanted = f"in {task.unit}" if task.unit else "as a bare number"
    return f"{brief(unit)} stands behind the number; this answer is asked for {wanted}. Turn it, and type it so."


def _number(task: Task, given: float) -> Verdict:
    answer = float(task.answer) if isinstance(task.answer, float) else 0.0
    if task.is_near(given, answer):
        return RIGHT
    usual = [each for each in task.mistakes if isinstance(each.answer, float) and task.is_near(given, each.answer)]
    if usual:
        return _told(usual)
    for factor, words in UNIT_SLIPS.items():
        if task.is_near(given, factor * answer):
            return Verdict("mistake", f"Not yet: {words}.", (words,))
    if task.is_near(given, -answer):
        return Verdict("mistake", "Not yet: the number is right, its sign is not.", ("the sign is turned round",))
    if abs(given - answer) <= abs(answer) * max(0.05, 3 * task.within / 100):
        return Verdict("wrong", "Close. Keep all digits until the end, and round only what you type here.")
    return Verdict("wrong", f"That is too {'much' if given > answer else 'little'}.")


def _same(task: Task, given: str | tuple[str, ...], sentence: str) -> Verdict:
    if given == task.answer:
        return RIGHT
    usual = [each for each in task.mistakes if each.answer == given]
    return _told(usual) if usual else Verdict("wrong", sentence)


def _told(usual: list[Mistake]) -> Verdict:
    words = tuple(dict.fromkeys(each.words for each in usual))
    either = "either " if len(words) > 1 else ""
    return Verdict("mistake", f"Not yet: {either}{', or '.join(words)}.", words)
