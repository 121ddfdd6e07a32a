"""A formula as a TOML file that a person can read and edit; her comments survive a save."""

from __future__ import annotations

import re
import tomllib
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit.exceptions import ParseError, TOMLKitError
from tomlkit.items import AoT, Table

from kit.errors import Fault, FileFaultsError
from kit.formula.files.reading import Path, Reader
from kit.formula.files.record import Record, to_record
from kit.saving import save_text

if TYPE_CHECKING:
    from collections.abc import MutableMapping
    from pathlib import Path as FilePath

    from kit.formula.model import Formula

HEAD = "A formula. Amounts are % w/w of the whole unless a unit is written; q.s. takes what is left to 100 %."

#: What tells the tables of one array apart, so that a comment stays with its table.
_IDENTITY = ("name", "ingredient", "inci", "version")


def read_toml(path: FilePath) -> Formula:
    """Read a formula, or raise every fault in the file at once."""
    text = _read_text(path)
    try:
        record = tomlkit.parse(text).unwrap()
    except ParseError as error:
        problem = f"this is not TOML: {str(error).split(' at line')[0]}"
        raise FileFaultsError(path.name, [Fault(f"line {error.line}, column {error.col}", problem)]) from error
    except TOMLKitError as error:
        raise FileFaultsError(path.name, [Fault("file", f"this is not TOML: {error}")]) from error
    lines = line_numbers(text)
    reader = Reader(locate=lambda place: _where(place, lines))
    formula = reader.formula(record)
    if not record.get("phase") and "title" not in record:
        reader.fault((), "there is no [[phase]] in this file")
    if reader.faults:
        raise FileFaultsError(path.name, reader.faults)
    return formula


def save_toml(formula: Formula, path: FilePath) -> None:
    """Write a formula into its file, changing only what changed, so that comments stay."""
    document = tomlkit.document()
    document.add(tomlkit.comment(HEAD))
    if path.is_file():
        with suppress(TOMLKitError, FileFaultsError):  # what is no TOML is kept as the previous version
            document = tomlkit.parse(_read_text(path))
    before = tomlkit.dumps(document)
    _merge(document, to_record(formula))
    after = tomlkit.dumps(document)
    save_text(path, after if after == before else _without_gaps(after))


def _without_gaps(text: str) -> str:
    """No more than one blank line in a row, which tables that came and went would leave; texts stay as they are."""
    closer = re.sub(r"\n{3,}", "\n\n", text)
    return closer if tomllib.loads(closer) == tomllib.loads(text) else text


def _read_text(path: FilePath) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (UnicodeDecodeError, OSError) as error:
        problem = "it cannot be read as text; save it as UTF-8" if isinstance(error, UnicodeDecodeError) else str(error)
        raise FileFaultsError(path.name, [Fault("file", problem)]) from error


def _merge(table: MutableMapping[str, Any], record: Record) -> None:
    """Make a table say what a record says, touching only what differs."""
    for key in [key for key in table if key not in record]:
        del table[key]
    for key, value in record.items():
        if key in table and _plain(table[key]) == value:
            continue
        if isinstance(value, list) and value and isinstance(value[0], dict):
            _merge_tables(table, key, value)
        else:
            table[key] = _item(value)


def _merge_tables(table: MutableMapping[str, Any], key: str, records: list[Record]) -> None:
    old = list(table[key]) if isinstance(table.get(key), AoT) else []
    if len(old) == len(records) and all(_same(entry, record) for entry, record in zip(old, records, strict=True)):
        for entry, record in zip(old, records, strict=True):
            _merge(entry, record)
        return
    new = tomlkit.aot()
    for record in records:
        match = next((n for n, entry in enumerate(old) if _same(entry, record)), None)
        entry = old.pop(match) if match is not None else tomlkit.table()
        _merge(entry, record)
        new.append(entry)
    table[key] = new


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
        array.extend(value)
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
