"""Inputs, each described once: its words, how its text is read, unit, range, default and help.

A group of inputs is a frozen dataclass whose fields are made by :func:`asked`. From that one description come a form
(:mod:`kit.widgets.form`), a command's options (:mod:`kit.commands.options`), the rows of a file and the lines of a
paper, and the sentence for a text that cannot be read.
"""

from __future__ import annotations

import re
from dataclasses import astuple, dataclass, field, fields
from functools import cache
from math import inf
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from kit.errors import EntryError, KitError
from kit.file_names import typed_path
from kit.iso_dates import is_iso_date
from kit.numbers import read_likely, read_number, split_text
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from pathlib import Path

Group = TypeVar("Group")

#: In place of a default: the input has to be given.
REQUIRED: Any = ...


class Reader(Protocol):
    """How a text becomes a value, and back.

    ``kind`` names the control of a form: "text", "lines", "number", "choice", "tick", "day", "name",
    "several" or "ticks".
    """

    @property
    def kind(self) -> str:
        """The control of a form."""

    def read(self, text: str, unit: str = "") -> Any:
        """The value of a text that is not empty; ``unit`` is the one that stands beside the box, if one does."""

    def write(self, value: Any) -> str:
        """The text of a value, without a unit."""


@dataclass(frozen=True, slots=True)
class Text:
    """Any text: of one line, of several lines (``kind`` "lines"), or a name that a form offers ("name")."""

    kind: str = "text"

    def read(self, text: str, unit: str = "") -> str:  # noqa: ARG002
        """The text without blanks around it."""
        return text.strip()

    def write(self, value: object) -> str:
        """The text as it is."""
        return str(value)


@dataclass(frozen=True, slots=True)
class Number:
    """A number within what its field allows; its unit may be typed behind it.

    Examples
    --------
    >>> Number(0, 100).read("2,5 %", "%"), Number(0, 100).write(2.5)
    (2.5, '2.5')
    """

    low: float = -inf
    high: float = inf
    digits: int = 10
    whole: bool = False
    kind: str = "number"

    def read(self, text: str, unit: str = "") -> float:
        """The number; an EntryError or RangeError says what is wrong with it."""
        plain = text.strip()
        if unit and plain.casefold().endswith(unit.casefold()):
            plain = plain[: -len(unit)].rstrip()
        value = read_number(plain, low=self.low, high=self.high)
        if self.whole and value != int(value):
            msg = f"{plain[:60]!r} is not a whole number. Type one such as {int(value) + 1}."
            raise EntryError(msg)
        return int(value) if self.whole else value

    def write(self, value: float) -> str:
        """So many digits that count, and no zeros behind the last of them; 20,000 is no 2e+04 for it."""
        return f"{float(f'{value:.{self.digits}g}'):.15g}"


def count(low: int = 0, high: float = inf) -> Number:
    """A whole number."""
    return Number(low, high, whole=True)


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity in a unit of the kit: "250 g", "0.25 kg"; without a unit only where one stands beside the box.

    Examples
    --------
    >>> Amount("g").read("0.25 kg"), Amount("g").read("250", "g"), Amount("mL").write(90)
    (250.0, 250.0, '90')
    """

    unit: str
    low: float = -inf
    high: float = inf
    digits: int = 10
    kind: str = "number"

    def read(self, text: str, unit: str = "") -> float:
        """The number in ``self.unit``; a KitError says what is wrong with it."""
        bare = unit and not split_text(text)[1]
        return magnitude(f"{text} {unit}" if bare else text, self.unit, name="it", low=self.low, high=self.high)

    def write(self, value: float) -> str:
        """The number without its unit."""
        return f"{value:.{self.digits}g}"


#: Year, month and day, in this order.
_DAY = re.compile(r"(\d{4})[-./](\d{1,2})[-./](\d{1,2})")


@dataclass(frozen=True, slots=True)
class Day:
    """A day as year-month-day; where the year stands first, no country's habit can turn day and month around.

    Examples
    --------
    >>> Day().read("2026-03-14"), Day().read("2026.3.4")
    ('2026-03-14', '2026-03-04')
    """

    kind: str = "day"

    def read(self, text: str, unit: str = "") -> str:  # noqa: ARG002
        """The day, if there is such a day."""
        parts = _DAY.fullmatch(text.strip())
        day = f"{parts[1]}-{parts[2]:0>2}-{parts[3]:0>2}" if parts else text.strip()
        if not is_iso_date(day):
            msg = f"{text.strip()[:40]!r} is not a day. Write year-month-day, such as 2026-03-14."
            raise EntryError(msg)
        return day

    def write(self, value: str) -> str:
        """The day as it is kept."""
        return value


@dataclass(frozen=True, slots=True)
class Tick:
    """Yes or no."""

    kind: str = "tick"

    def read(self, text: str, unit: str = "") -> bool:  # noqa: ARG002
        """True for yes."""
        said = text.strip().casefold()
        if said not in {"yes", "no", "true", "false"}:
            msg = f"{text.strip()[:40]!r} is neither yes nor no."
            raise EntryError(msg)
        return said in {"yes", "true"}

    def write(self, value: bool) -> str:
        """The word for it."""
        return "yes" if value else "no"


def _none_of(text: str, known: str) -> str:
    return f"{text[:60]!r} is none of the choices. They are: {known}."


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several values, each with its words; ``kind`` "switch" shows them side by side.

    Where two values have the same words, the second gets a number behind them.

    Examples
    --------
    >>> Choice({"eu": "European Union", "us": "United States"}).read("eu")
    'eu'
    """

    options: Mapping[Any, str]
    kind: str = "choice"

    def __post_init__(self) -> None:
        own: dict[Any, str] = {}
        taken: set[str] = set()
        for value, words in self.options.items():
            told, number = words, 1
            while told in taken:
                number += 1
                told = f"{words} ({number})"
            taken.add(told)
            own[value] = told
        object.__setattr__(self, "options", own)

    def read(self, text: str, unit: str = "") -> Any:  # noqa: ARG002
        """The value whose key or words these are."""
        for value, words in self.options.items():
            if text in (words, str(value)):
                return value
        known = ", ".join(str(value) if isinstance(value, str) else words for value, words in self.options.items())
        raise EntryError(_none_of(text, known))

    def write(self, value: Any) -> str:
        """The words of a value."""
        return self.options.get(value, str(value))


@dataclass(frozen=True, slots=True)
class Several:
    """Some of several texts, a line each; ``kind`` "ticks" shows a box to tick before each."""

    options: tuple[str, ...] = ()
    kind: str = "several"

    def read(self, text: str, unit: str = "") -> tuple[str, ...]:  # noqa: ARG002
        """Those that were chosen, in the order in which they are offered; an EntryError names one that is not."""
        chosen = [line.strip() for line in text.split("\n") if line.strip()]
        if not self.options:
            return tuple(chosen)
        for line in chosen:
            if line not in self.options:
                raise EntryError(_none_of(line, ", ".join(self.options)))
        return tuple(option for option in self.options if option in chosen)

    def write(self, value: Iterable[str]) -> str:
        """A line each."""
        return "\n".join(value)


@dataclass(frozen=True, slots=True)
class Rows:
    r"""Several lines with a number for each column, of which ``make`` makes one value a line.

    Blanks, tabs or semicolons part the numbers; the columns' units may stand behind them. ``columns`` says what each
    number can be, for a text that can be read two ways.

    Examples
    --------
    >>> Rows(complex, {"mm": (0, 500), "mL": (0, 500)}).read("0,5 2,5\n1 mm; 5 mL")
    ((0.5+2.5j), (1+5j))
    """

    make: Callable[..., Any]
    columns: Mapping[str, tuple[float, float]]
    kind: str = "lines"

    def read(self, text: str, unit: str = "") -> tuple[Any, ...]:  # noqa: ARG002
        """A value for each line that is not empty; an EntryError names the first line that cannot be read."""
        found = []
        for number, line in enumerate(text.splitlines(), start=1):
            cells = [cell for cell in line.replace(";", " ").split() if cell not in self.columns]
            if not cells:
                continue
            try:
                if len(cells) != len(self.columns):
                    msg = f"{line.strip()[:60]!r} must hold {len(self.columns)} numbers: {' and '.join(self.columns)}."
                    raise EntryError(msg)
                pairs = zip(cells, self.columns.values(), strict=True)
                found.append(self.make(*(read_likely(cell, low, high) for cell, (low, high) in pairs)))
            except KitError as error:
                msg = f"Row {number}: {error}"
                raise EntryError(msg) from error
        return tuple(found)

    def write(self, value: Iterable[Any]) -> str:
        """A line each."""
        return "\n".join(" ".join(f"{number:.10g}" for number in astuple(one)) for one in value)


@dataclass(frozen=True, slots=True)
class FileName:
    """A file, named from the notebook's folder; without an ending it gets the usual one.

    Examples
    --------
    >>> str(FileName(".csv").read("prices"))
    'prices.csv'
    """

    ending: str
    kind: str = "text"

    def read(self, text: str, unit: str = "") -> Path:  # noqa: ARG002
        """Its path, or an EntryError that says why no file can be called so."""
        return typed_path(text, self.ending)

    def write(self, value: Path) -> str:
        """Its name as it is typed."""
        return str(value)


def always(_values: Mapping[str, Any]) -> bool:
    """An input that is asked for whatever the others say."""
    return True


@dataclass(frozen=True, slots=True)
class Input:
    """One thing that is asked for.

    Attributes
    ----------
    name
        By which code and files know it.
    words
        By which a person knows it, in a form and in a sentence about it.
    reader
        How its text is read; see :class:`Reader`.
    default
        Stands where the text is empty; a name without a default has to be given.
    unit
        Stands behind the box; a number typed without a unit is in it.
    example, help
        What a text may look like, and what it is for.
    option
        The command's option where it is not the name.
    slide
        Least, most and step of a slider beside the box.
    applies
        Whether it is asked for, by the values of the others.
    printed
        The words before it on a label or paper; empty where it has a place of its own there, or none.
    """

    name: str
    words: str
    reader: Reader = Text()
    default: Any = REQUIRED
    unit: str = ""
    example: str = ""
    help: str = ""
    option: str = ""
    slide: tuple[float, float, float] | None = None
    applies: Callable[[Mapping[str, Any]], bool] = always
    printed: str = ""

    def read(self, text: str, *, beside_unit: bool = False) -> Any:
        """The value of a text; an empty one is the default.

        Parameters
        ----------
        beside_unit
            Whether the unit stands beside what was typed, as in a form.

        Raises
        ------
        KitError
            It cannot be read, lies beyond what the input allows, or is empty where it must not be.
        """
        if text.strip():
            unit = self.unit if beside_unit or not isinstance(self.reader, Amount) else ""
            return self.reader.read(text, unit)
        if self.default is REQUIRED:
            example = f", such as {self.example}" if self.example else ""
            msg = f"This is empty. Type it{example}."
            raise EntryError(msg)
        return self.default

    def write(self, value: Any) -> str:
        """The text of a value as it stands in a box; empty for "nothing" and for what cannot be told from it."""
        is_choice = isinstance(self.reader, Choice) and value in self.reader.options
        return "" if (value is None and not is_choice) or value is REQUIRED else self.reader.write(value)

    def in_words(self, value: Any) -> str:
        """The text of a value with its unit, for a paper, a file or a command."""
        return f"{self.write(value)} {self.unit}".strip() if self.write(value) else ""

    def said(self, error: KitError) -> str:
        """What is wrong with a text, where the input is not to be seen beside the sentence."""
        sentence = str(error).removeprefix("it: ")
        return f"{self.words} {sentence[3:]}" if sentence.startswith("it ") else f"{self.words}: {sentence}"


def asked(words: str, reader: Reader | None = None, default: Any = "", **more: Any) -> Any:
    """A field of a group of inputs; ``more`` is what else :class:`Input` describes. REQUIRED as default: required."""
    described = {"words": words, "reader": reader or Text(), "default": default, **more}
    return field(**({} if default is REQUIRED else {"default": default}), metadata={"input": described})


def inputs_of(group: type) -> tuple[Input, ...]:
    """The inputs of a group, in the order in which they are asked."""
    return tuple(Input(name=one.name, **one.metadata["input"]) for one in fields(group) if "input" in one.metadata)


@cache
def _offered(group: Any) -> tuple[tuple[Input, Choice | Several], ...]:
    return tuple(
        (one, one.reader) for one in inputs_of(group) if isinstance(one.reader, Choice | Several) and one.reader.options
    )


def refuse_unknown_words(value: Any) -> None:
    """Refuse a group in which a word is none of those that its input offers.

    A rule that asks for "loose powder" finds nothing in "as a powder" and would stay silent; so code that makes a
    group is held to the words as a form and a file are.

    Raises
    ------
    EntryError
        The first such word, with those that there are.
    """
    for one, reader in _offered(value.__class__):
        said = getattr(value, one.name)
        if isinstance(reader, Several) and isinstance(said, str):
            msg = f"{one.words}: give several words in brackets, such as ({said!r},), not {said!r} alone."
            raise EntryError(msg)
        for word in said if isinstance(reader, Several) else (said,):
            if word not in reader.options:
                msg = f"{one.words}: {_none_of(str(word), ', '.join(map(repr, reader.options)))}"
                raise EntryError(msg)


def read_all(inputs: Sequence[Input], texts: Mapping[str, str], *, beside_unit: bool = False) -> dict[str, Any]:
    """The values of all inputs; a name that is not among the texts has its default.

    Raises
    ------
    EntryError
        One or more texts cannot be read; every one is named.
    """
    values, wrong = {}, []
    for one in inputs:
        try:
            values[one.name] = one.read(texts.get(one.name, ""), beside_unit=beside_unit)
        except KitError as error:
            wrong.append(one.said(error))
    if wrong:
        raise EntryError("\n".join(wrong))
    return values


def read_group(group: type[Group], texts: Mapping[str, str]) -> Group:
    """A group from texts.

    Raises
    ------
    EntryError
        One or more texts cannot be read; every one is named.
    """
    return group(**read_all(inputs_of(group), texts))


def texts_of(group: object) -> dict[str, str]:
    """The texts of what differs from the default, by name."""
    pairs = ((one, getattr(group, one.name)) for one in inputs_of(type(group)))
    return {one.name: one.in_words(value) for one, value in pairs if value != one.default}


def lines_of(group: object) -> list[tuple[str, str]]:
    """Words and text of what was said, for a paper."""
    given = texts_of(group)
    return [(one.words, given[one.name]) for one in inputs_of(type(group)) if given.get(one.name)]
