"""What an exercise is: words, numbers drawn for a learner, the right answer, the usual mistakes, hints, a solution."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from kit.course.draw import Draw, name_key
from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kit.formula.model import Formula

#: "number": with a unit; "choice": one of several; "order": put these in order; "draw": bring the product in hand so
#: that a condition holds; "find": the line of a sheet that is wrong.
Kind = Literal["number", "choice", "order", "draw", "find"]
Answer = float | str | tuple[str, ...]

#: How often numbers are drawn anew where a mistake would give the right answer.
TRIES = 60
#: Slips of the unit that every number is looked at for.
UNIT_SLIPS = {
    1000.0: "a thousand times too much: look at the units, milli against none or none against kilo",
    0.001: "a thousandth of it: look at the units, milli against none or none against kilo",
    100.0: "a hundred times too much: a percent is a hundredth, and it was counted once too often",
    0.01: "a hundredth of it: a percent is a hundredth, and it was counted twice",
}


@dataclass(frozen=True, slots=True)
class Mistake:
    """A usual mistake.

    Attributes
    ----------
    answer
        What it leads to: a number in the unit of the task, an option, or an order.
    words
        What was done, as a clause that ends a sentence: "you took w/v for w/w".
    """

    answer: Answer
    words: str


@dataclass(frozen=True, slots=True)
class Goal:
    """A condition on the formula in hand.

    Attributes
    ----------
    fault
        Gives what is not so yet as a sentence, or nothing where the condition holds.
    reach
        A formula of the same lines for which it holds.
    """

    fault: Callable[[Formula], str]
    reach: Callable[[Formula], Formula]


@dataclass(frozen=True, slots=True)
class Task:
    """An exercise with its numbers.

    Attributes
    ----------
    text
        What is asked.
    answer
        The right one: a number in ``unit``, an option, or the items in order; empty for a condition.
    hints
        Each says a little more.
    solution
        The way to the answer, with its source where it has one.
    unit
        Of the answer; empty for a bare number.
    within
        How far off a number may be. [% of the answer]
    options
        What can be chosen or is to be put in order.
    sheet
        Rows of a table that belongs to the text; the first holds its headings.
    """

    text: str
    answer: Answer
    hints: tuple[str, ...]
    solution: str
    mistakes: tuple[Mistake, ...] = ()
    unit: str = ""
    within: float = 1.0
    options: tuple[str, ...] = ()
    sheet: tuple[tuple[str, ...], ...] = ()
    goal: Goal | None = None

    def is_near(self, number: float, other: float) -> bool:
        """Whether two numbers are one within what is allowed."""
        return abs(number - other) <= abs(other) * self.within / 100

    @property
    def is_clear(self) -> bool:
        """Whether every mistake leads well away from the right answer."""
        if isinstance(self.answer, float):
            room = abs(self.answer) * self.within / 100
            wrong = [each.answer for each in self.mistakes if isinstance(each.answer, float)]
            return all(abs(number - self.answer) > 2.5 * room + abs(number) * self.within / 100 for number in wrong)
        return all(each.answer != self.answer for each in self.mistakes)


@dataclass(frozen=True, slots=True)
class Exercise:
    """An exercise without numbers.

    Attributes
    ----------
    key
        Its lesson and name, such as "01.stock_for_strength"; it never changes.
    title
        A few words for a list.
    make
        Draws the numbers and gives the task; pure, so that the same draw gives the same task.
    """

    key: str
    lesson: str
    kind: Kind
    title: str
    make: Callable[[Draw], Task]

    def task(self, name: str, again: int = 0) -> Task:
        """The task of a learner.

        Parameters
        ----------
        name
            Hers, in any writing that :func:`kit.course.draw.name_key` takes for the same.
        again
            How often she asked for fresh numbers.

        Raises
        ------
        RangeError
            No numbers were found for which every mistake can be told from the answer.
        """
        for attempt in range(TRIES):
            task = self.make(Draw(f"{name_key(name)}/{self.key}/{again}/{attempt}"))
            if task.is_clear:
                return task
        msg = f"Exercise {self.key} finds no numbers for {name!r}. Ask for fresh ones."
        raise RangeError(msg)


def number(
    text: str,
    answer: float,
    unit: str,
    mistakes: Sequence[tuple[float, str]],
    hints: Sequence[str],
    solution: str,
    within: float = 1.0,
) -> Task:
    """A task whose answer is a number."""
    usual = tuple(Mistake(float(value), words) for value, words in mistakes)
    return Task(text, float(answer), tuple(hints), solution, usual, unit, within)


def choice(draw: Draw, text: str, right: str, wrong: dict[str, str], hints: Sequence[str], solution: str) -> Task:
    """A task with one right option; ``wrong`` says of each other one what is not so."""
    usual = tuple(Mistake(option, words) for option, words in wrong.items())
    return Task(text, right, tuple(hints), solution, usual, options=draw.shuffled([right, *wrong]))


def order(draw: Draw, text: str, right: Sequence[str], hints: Sequence[str], solution: str, turned: str) -> Task:
    """A task of putting things in order; ``turned`` says what was done where they stand the other way round."""
    usual = (Mistake(tuple(reversed(right)), turned),)
    shown = draw.shuffled(right)
    while shown in (tuple(right), tuple(reversed(right))):
        shown = draw.shuffled(right)
    return Task(text, tuple(right), tuple(hints), solution, usual, options=shown)


def find(
    text: str, sheet: Sequence[Sequence[str]], right: str, why_not: dict[str, str], hints: Sequence[str], solution: str
) -> Task:
    """A task of finding the wrong line of a sheet by the word in its first column."""
    rows = tuple(tuple(row) for row in sheet)
    names = tuple(row[0] for row in rows[1:])
    fine = "that line is as it should be; work it out again"
    usual = tuple(Mistake(name, why_not.get(name, fine)) for name in names if name != right)
    return Task(text, right, tuple(hints), solution, usual, options=names, sheet=rows)


def draw_the_line(text: str, goal: Goal, hints: Sequence[str], solution: str) -> Task:
    """A task of bringing the product in hand so that a condition holds."""
    return replace(Task(text, "", tuple(hints), solution), goal=goal)
