"""A formula as a TOML file that a person can read and edit; her comments survive a save."""

from __future__ import annotations

import re
import tomllib
from codecs import BOM_UTF8
from contextlib import suppress
from typing import TYPE_CHECKING, Any, cast

import tomlkit
from tomlkit.container import Container
from tomlkit.exceptions import ParseError, TOMLKitError
from tomlkit.items import AoT, Float, Integer, Item, Table

from kit.errors import Fault, FileFaultsError, KitError, StoreError
from kit.formula.files.reading import Path, Reader, as_entry
from kit.formula.files.record import Record, to_record
from kit.rounding import unmistakable
from kit.saving import rewrite
from kit.tables import read_file
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import MutableMapping
    from pathlib import Path as FilePath

    from tomlkit import TOMLDocument

    from kit.formula.model import Formula
    from kit.saving import Seen

HEAD = "A formula. Amounts are % w/w of the whole unless a unit is written; q.s. takes what is left to 100 %."

#: Said beside the ratio, so that a person reads the amounts rightly.
MOVED = "% w/w of the whole; the amounts below are as typed, before the layers were moved"

_DECIMAL = re.compile(r"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
#: What tells the tables of one array apart, so that a comment stays with its table.
_IDENTITY = ("name", "ingredient", "inci", "version")

#: What is meant where nothing is written. (An earlier version without a kind of product is of the kind it has now.)
_USUAL = {"layer": "water", "holds": "share", "basis": "w/w", "of": "whole", "version": 1}


def read_toml(path: FilePath) -> Formula:
    """Read a formula, or raise every fault in the file at once."""
    try:
        data = read_file(path)
    except StoreError as error:
        raise FileFaultsError(path.name, [Fault("file", str(error))]) from error
    return formula_of(data, path.name)


def formula_of(data: bytes, name: str) -> Formula:
    """The formula that these bytes of a TOML file hold; see :func:`read_toml`."""
    text = _text(data, name)
    record = _as_written(_document(text, name))
    lines = line_numbers(text)
    reader = Reader(locate=lambda place: _where(place, lines))
    formula = reader.formula(record)
    if not record.get("phase") and "title" not in record:
        reader.fault((), "there is no [[phase]] in this file")
    if reader.faults:
        raise FileFaultsError(name, reader.faults)
    return formula


def save_toml(formula: Formula, path: FilePath, *, seen: Seen | None = None, like: FilePath | None = None) -> None:
    """Write a formula into its file, changing only what changed, so that comments and digits stay as they are.

    A file that is not there yet begins as a copy of the TOML file ``like``.
    """

    def change(there: bytes | None) -> bytes:
        document = tomlkit.document()
        document.add(tomlkit.comment(HEAD))
        began = there
        if began is None and like is not None and like.suffix.lower() == ".toml" and like.is_file():
            began = like.read_bytes()
        if began is not None:
            with suppress(KitError):  # what is no TOML or no formula is kept as an earlier save
                document = _document(_text(began, path.name), path.name)
                if formula_of(began, path.name) == formula:
                    return began
        before = tomlkit.dumps(document)
        _merge(document, to_record(formula))
        moved = document.get("oil_layer_moved_to")
        if isinstance(moved, Item) and not moved.trivia.comment:
            moved.comment(MOVED)
        after = tomlkit.dumps(document)
        return _as_there(after if after == before else _without_gaps(after), began or b"")

    rewrite(path, change, seen=seen)


def _as_there(text: str, there: bytes) -> bytes:
    """The text as bytes, its lines ended as in the file that is there, and with its byte mark."""
    ended = text.replace("\n", "\r\n") if b"\r\n" in there else text
    return (BOM_UTF8 if there.startswith(BOM_UTF8) else b"") + ended.encode("utf-8", "replace")


def _without_gaps(text: str) -> str:
    """No more than one blank line in a row, which tables that came and went would leave; texts stay as they are."""
    closer = re.sub(r"\n{3,}", "\n\n", text)
    return closer if tomllib.loads(closer) == tomllib.loads(text) else text


def _text(data: bytes, name: str) -> str:
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        problem = "it cannot be read as text; save it as UTF-8"
        raise FileFaultsError(name, [Fault("file", problem)]) from error


def _document(text: str, name: str) -> TOMLDocument:
    try:
        return tomlkit.parse(text)
    except ParseError as error:
        problem = f"this is not TOML: {str(error).split(' at line')[0]}"
        raise FileFaultsError(name, [Fault(f"line {error.line}, column {error.col}", problem)]) from error
    except (TOMLKitError, ValueError, RecursionError) as error:  # such as a number of thousands of digits
        raise FileFaultsError(name, [Fault("file", f"this is not TOML: {error}")]) from error


def _as_written(item: Any, key: str = "") -> Any:
    """Plain tables, lists, texts and numbers; an amount that is written as a number keeps the digits it is typed with.

    As a number, 3.50 would come back as 3.5, and the 20th digit of a long one not at all.
    """
    if isinstance(item, dict):
        return {str(name): _as_written(value, str(name)) for name, value in item.items()}
    if isinstance(item, list):
        return [_as_written(value) for value in item]
    if key == "amount" and isinstance(item, Float | Integer):
        written = item.as_string().replace("_", "")
        return unmistakable(written) if _DECIMAL.fullmatch(written) else item.unwrap()
    return _plain(item)


def _merge(table: MutableMapping[str, Any], record: Record) -> None:
    """Make a table say what a record says, touching only what differs; what a person left out goes without saying."""
    for key in [key for key in table if key not in record]:
        del table[key]
    usual = _USUAL if table else {}
    for key, value in record.items():
        if _says(table[key], value, key) if key in table else usual.get(key) == value:
            continue
        if key == "steps":  # texts and tables side by side, so always in square brackets
            _put_steps(table, value)
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            _merge_tables(table, key, value)
        elif key in table:
            table[key] = _item(value)
        else:
            _add(table, key, _item(value))


def _add(table: MutableMapping[str, Any], key: str, value: Any) -> None:
    """Write a key behind those that are there, before the comments above the next table."""
    inside = table.value if isinstance(table, Table) else table
    keys = inside.body if isinstance(inside, Container) else []
    last = next((name for name, item in reversed(keys) if name is not None and not isinstance(item, AoT | Table)), None)
    if last is None or not isinstance(inside, Container):
        table[key] = value
        return
    inside._insert_after(last, key, tomlkit.item(value))
    if inside is not table:
        dict.__setitem__(cast("dict[str, Any]", table), key, inside[key])  # a table remembers its keys twice


def _put_steps(table: MutableMapping[str, Any], steps: list[Any]) -> None:
    """Write the steps of the making where they stand, or where they can, if they were written as tables."""
    if isinstance(table.get("steps"), AoT):
        del table["steps"]
    if "steps" in table:
        table["steps"] = _item(steps)
    else:
        _add(table, "steps", _item(steps))


def _says(item: Any, value: Any, key: str) -> bool:
    """Whether what is written stands for this value, perhaps in other signs than the kit would write."""
    there = _as_written(item, key)
    if key == "written_for" and isinstance(there, str):
        with suppress(KitError):
            return magnitude(there, "g", name=key) == magnitude(value, "g", name=key)
    if key == "amount":
        return bool(as_entry(there) == value)
    return type(there) is not bool and bool(there == value)


def _merge_tables(table: MutableMapping[str, Any], key: str, records: list[Record]) -> None:
    old = list(table[key]) if isinstance(table.get(key), AoT) else []
    if len(old) == len(records) and all(_same(entry, record) for entry, record in zip(old, records, strict=True)):
        for entry, record in zip(old, records, strict=True):
            _merge(entry, record)
        return
    below = _cut_below(old[-1]) if old else []
    new = tomlkit.aot()
    for record in records:
        match = next((n for n, entry in enumerate(old) if _same(entry, record)), None)
        entry = old.pop(match) if match is not None else tomlkit.table()
        _merge(entry, record)
        if match is None:
            entry.add(tomlkit.nl())
        new.append(entry)
    new[-1].value.body.extend(below)
    table[key] = new


def _cut_below(entry: Table) -> list[Any]:
    """Take out what stands below the last key: it belongs to the next table, whichever entry comes last."""
    body = entry.value.body
    count = len(body)
    while count and body[count - 1][0] is None:
        count -= 1
    below = body[count:]
    del body[count:]
    return below


def _same(entry: Table, record: Record) -> bool:
    name = next((key for key in _IDENTITY if key in record), None)
    return name is not None and entry.get(name) == record[name]


def _plain(value: Any) -> Any:
    return value.unwrap() if hasattr(value, "unwrap") else value


def _item(value: Any) -> Any:
    if isinstance(value, dict):
        inline = tomlkit.inline_table()
        inline.update(value)
        return inline
    if isinstance(value, list):
        array = tomlkit.array()
        array.extend(_item(each) if isinstance(each, dict) else each for each in value)
        return array.multiline(multiline=len(value) > 1)
    return value


def line_numbers(text: str) -> dict[Path, int]:
    """On which line each table and key stands: ("phase", 0, "line", 2, "amount") → 17."""
    found: dict[Path, int] = {}
    here: Path = ()
    counts: dict[Path, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        head = re.match(r"\s*\[\[?\s*([\w.\-]+)\s*\]?\]", line)
        key = re.match(r"""\s*["']?([\w\-]+)["']?\s*=""", line)
        if head:
            here = _table_path(head[1].split("."), counts)
            found[here] = number
        elif key:
            found.setdefault((*here, key[1]), number)
    return found


def _table_path(names: list[str], counts: dict[Path, int]) -> Path:
    """The path of the table that a [[header]] starts, counting tables of each array from 0."""
    path: Path = ()
    for name in names[:-1]:
        path = (*path, name, max(counts.get((*path, name), 1) - 1, 0))
    array = (*path, names[-1])
    counts[array] = counts.get(array, 0) + 1
    return (*array, counts[array] - 1)


def _where(place: Path, lines: dict[Path, int]) -> str:
    field = next((str(part) for part in reversed(place) if isinstance(part, str)), "file")
    for length in range(len(place), 0, -1):
        if place[:length] in lines:
            return f"line {lines[place[:length]]}, {field}"
    return field
