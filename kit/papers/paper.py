"""What a paper is: a description, a function that makes what its template prints, and the paper made out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from kit.errors import KitError
from kit.inputs import Day, Tick, asked

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.findings import Finding
    from kit.stability.study import Observation, Study

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class ByHand:
    """What the maker would otherwise write by hand; what is left empty is printed as a line to write on."""

    lot: str = asked("Lot")
    made_by: str = asked("Made by")
    made_on: str = asked("Made on", Day())


def asked_long() -> Any:
    """The input of a paper that has a longer form: larger print, and what the short one leaves to the screen."""
    return asked(
        "Long form", Tick(), False, help="Larger print and more of it; the short form keeps to what a bench needs."
    )


@dataclass(frozen=True, slots=True)
class StudyRecord:
    """A study with what was read, as papers are written about it.

    Attributes
    ----------
    observations
        All readings, those that were corrected too.
    anchor
        Of the log, to be printed: with it, it can be proved later that nothing up to here was changed.
    faults
        What in the log is not as it was saved; it is said at the head.
    """

    study: Study
    observations: tuple[Observation, ...] = ()
    anchor: str = ""
    faults: tuple[Finding, ...] = ()


def named_or_here(named: Path | None, usual: str | Path) -> Path | None:
    """The file that was named, there or not; else the one of the usual name, where there is one here."""
    return named or (Path(usual) if Path(usual).exists() else None)


def as_it_is(about: Any, _options: Any, _notes: list[Finding]) -> Any:
    """What a paper is about, where its options name no file."""
    return about


@dataclass(frozen=True)
class PaperSpec:
    """A paper: its file in ``kit/papers`` holds this as ``SPEC``, and its template bears its name.

    Attributes
    ----------
    name
        Of the file, of the template, and how a written paper's name begins.
    title, subtitle
        What it is and what it is for, in the panel and in a command's help.
    about
        What it is made of: a Product, a StudyRecord, a stock that is made, the bottles of a trial, a
        class that was marked, or the number of a lesson.
    options
        A group of inputs (:mod:`kit.inputs`): what is asked for this paper alone.
    context
        What the template prints, from what the paper is about and the options. What stands in it under "findings" is
        printed at the head, worst first.
    holds
        The names in that context: those that the template uses, no more and no fewer.
    named
        What its file is named after besides its kind.
    files
        Takes what is in the files that the options name, or in those of the usual name, into the product; what is to
        be said of how they were read is added to the list.
    command, takes, example
        Its command, the product's parts that the command asks for besides, and an example of both.
    """

    name: str
    title: str
    subtitle: str
    about: Literal["product", "study", "stock", "bottles", "class", "lesson"]
    options: type
    context: Callable[[Any, Any], dict[str, Any]]
    holds: tuple[str, ...]
    named: Callable[[Any, Any], tuple[str, ...]]
    files: Callable[[Any, Any, list[Finding]], Any] = as_it_is
    command: str = ""
    takes: tuple[str, ...] = ()
    example: str = ""


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper made out: as HTML, with what there is to say about it, and the name of its file without an ending."""

    kind: str
    html: str
    findings: tuple[Finding, ...] = ()
    name: str = ""

    @property
    def stops(self) -> bool:
        """Whether one of its findings says that arithmetic or a law is broken."""
        return any(finding.severity == "stop" for finding in self.findings)


def attempt(work: Callable[[], Value], otherwise: Value) -> tuple[Value, str]:
    """What the work gives, or what stands for it and the sentence that says why it does not work."""
    try:
        return work(), ""
    except KitError as error:
        return otherwise, str(error)
