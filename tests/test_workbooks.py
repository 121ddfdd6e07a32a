"""Workbooks from anywhere: read within bounds, or told of."""

from __future__ import annotations

import io
import re
from time import perf_counter
from zipfile import ZIP_DEFLATED, ZipFile

import openpyxl
import pytest

from kit.errors import FileFaultsError, KitError
from kit.formula.files.tables import xlsx_formula
from kit.stability.old_notes.table import read_table, sheet_names
from kit.workbooks import Bounds, opened


def workbook(*rows: list[object]) -> bytes:
    book = openpyxl.Workbook()
    for row in rows or (["ingredient", "amount"], ["Aqua", "90"], ["Glycerin", 10]):
        book.active.append(row)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def changed(part: str, old: str, new: bytes, **more: bytes) -> bytes:
    """The small workbook with something else in one of its parts, and with other parts as well."""
    changed = io.BytesIO()
    with ZipFile(io.BytesIO(workbook())) as source, ZipFile(changed, "w", ZIP_DEFLATED) as target:
        for name in source.namelist():
            found = source.read(name)
            target.writestr(name, re.sub(old.encode(), lambda _: new, found, flags=re.S) if part in name else found)
        for name, found in more.items():
            target.writestr(name, found)
    return changed.getvalue()


def with_rows(rows: bytes, before: bytes = b"") -> bytes:
    return changed("sheet1.xml", "</sheetData>", before + rows + b"</sheetData>")


ONE = b"<c><v>1</v></c>"
LAUGHS = b"<!DOCTYPE a [<!ENTITY a 'ha'>" + b"".join(
    f"<!ENTITY {new} '{10 * f'&{old};'}'>".encode() for old, new in zip("abcdefgh", "bcdefghi", strict=True)
)
HOSTILE = {
    "no sheet": (changed("xl/workbook.xml", "<sheets>.*</sheets>", b"<sheets/>"), "there is no sheet"),
    "a cell in the last corner": (
        with_rows(b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'),
        "cell XFD1048576 of sheet 'Sheet' lies beyond",
    ),
    "a row that no sheet has": (with_rows(b'<row r="2000000000"><c><v>1</v></c></row>'), "lies beyond|as a workbook"),
    "many rows with one far cell": (
        with_rows(b"".join(b'<row r="%d"><c r="XFD%d"><v>1</v></c></row>' % (n, n) for n in range(4, 100))),
        "lies beyond",
    ),
    "empty far cells": (
        with_rows(b"".join(b'<row r="%d"><c r="XFD%d"/></row>' % (n, n) for n in range(4, 400))),
        "lies beyond",
    ),
    "a million cells": (with_rows((b"<row>" + 20 * ONE + b"</row>") * 50_000), "more than 500000 filled cells"),
    "a hundred megabytes of zeros": (changed("nothing", "x", b"", **{"xl/media/a.bin": bytes(10**8)}), "too large"),
    "a large table of styles": (changed("styles.xml", "</styleSheet>", bytes(5_000_000)), "too large"),
    "entities that grow": (
        changed("sheet1.xml", "<worksheet", LAUGHS + b"]><worksheet").replace(b"90", b"&i;"),
        "as a workbook",
    ),
    "a cut end": (workbook()[:-30], "as a workbook"),
    "text that is not there": (with_rows(b'<row r="9"><c t="s"><v>77</v></c></row>'), "as a workbook"),
    "a number that is none": (with_rows(b'<row r="9"><c t="n"><v>1.2.3</v></c></row>'), "as a workbook"),
}  # fmt: skip


@pytest.mark.parametrize("read", [xlsx_formula, read_table])
def test_what_is_too_much_or_none_is_told_at_once(read: object) -> None:
    for what, (data, words) in HOSTILE.items():
        began = perf_counter()
        with pytest.raises(KitError, match=words):
            read(data, "own.xlsx")  # type: ignore[operator]
        assert perf_counter() - began < 10, what


def test_sheets_are_listed_within_bounds_too() -> None:
    assert sheet_names(workbook()) == ["Sheet"]
    with pytest.raises(FileFaultsError, match="there is no sheet"):
        sheet_names(HOSTILE["no sheet"][0])


def test_far_empty_cells_and_a_wrong_size_change_nothing() -> None:
    data = changed("sheet1.xml", 'ref="A1:B3"', b'ref="A1:XFD1048576"')
    with opened(data, "own.xlsx") as book:
        rows = [[value for value, _ in row] for row in book.rows("Sheet")]
    assert rows == [["ingredient", "amount"], ["Aqua", "90"], ["Glycerin", 10]]
    with opened(with_rows(b'<row r="900000"><c r="Z900000"/></row>'), "own.xlsx") as book:
        assert len(book.rows("Sheet")) == 3
    with opened(workbook(["a"], [], [], ["b", None, "c"]), "own.xlsx", Bounds(rows=4, cells=12)) as book:
        assert [[value for value, _ in row] for row in book.rows("Sheet")][1:] == [*[[None] * 3] * 2, ["b", None, "c"]]
