"""Options of a command, made from the same inputs as the boxes of a form."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

from kit.inputs import REQUIRED, Amount, Choice, Day, FileName, Number, Tick, inputs_of, read_all

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.inputs import Input

Group = TypeVar("Group")

#: What stands for a value in the help.
METAVARS = {Amount: "AMOUNT", Number: "NUMBER", Day: "DATE", FileName: "FILE"}


def options_of(parser: argparse.ArgumentParser, inputs: Iterable[Input] | type, title: str = "") -> None:
    """Add an option for each input; a text of several lines is an option to be given several times."""
    section = parser.add_argument_group(title) if title else parser
    for one in inputs_of(inputs) if isinstance(inputs, type) else inputs:
        section.add_argument(option_of(one), dest=option_of(one), help=_help(one), **_kind(one))


def from_options(given: argparse.Namespace, group: type[Group]) -> Group:
    """A group as its options were given; see :func:`values_of`."""
    return group(**values_of(given, inputs_of(group)))


def values_of(given: argparse.Namespace, inputs: Iterable[Input], *, bare: bool = False) -> dict[str, Any]:
    """The values of inputs as their options were given; ``bare``: a quantity may be given without its unit.

    Raises
    ------
    EntryError
        One or more texts cannot be read; each is named by its option.
    """
    named = [replace(one, words=option_of(one)) for one in inputs]
    return read_all(named, {one.name: _text(one, getattr(given, one.words)) for one in named}, beside_unit=bare)


def option_of(one: Input) -> str:
    """The option of an input, such as ``--made-by``."""
    return f"--{one.option or one.name.replace('_', '-')}"


def _between(one: Input) -> str:
    """What stands between several texts of one input; "" where there is one."""
    return "\n" if one.reader.kind in ("lines", "several", "ticks") else getattr(one.reader, "between", "")


def _kind(one: Input) -> dict[str, Any]:
    if isinstance(one.reader, Tick):
        return {"action": argparse.BooleanOptionalAction if one.default else "store_true", "default": None}
    if isinstance(one.reader, Choice):
        return {"metavar": "{" + ",".join(map(str, one.reader.options)) + "}"}
    many = {"\n": {"action": "append"}, "": {}}.get(_between(one), {"nargs": "+"})
    return {"metavar": METAVARS.get(type(one.reader), "TEXT"), **many}


def _help(one: Input) -> str:
    unit = f"in {one.unit}" if isinstance(one.reader, Amount) and one.unit else one.unit
    said = ", ".join(filter(None, [one.words, unit, one.example and f"such as {one.example}"]))
    more = [one.help, "Can be given several times." if _between(one) == "\n" else ""]
    usual = "" if one.default in (None, "", REQUIRED) or isinstance(one.reader, Tick) else one.write(one.default)
    usual = str(one.default) if isinstance(one.reader, Choice) else usual
    return ". ".join(filter(None, [said, " ".join(filter(None, more))])).replace("%", "%%") + (usual and f" ({usual})")


def _text(one: Input, given: Any) -> str:
    if isinstance(given, list):
        return _between(one).join(given)
    return one.write(given) if isinstance(given, bool) else given or ""
