"""A maker's own CSV files: whatever text stands in a cell comes back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.csv_files import as_csv, read_file, rows_of
from kit.errors import FileFaultsError, StoreError
from kit.spreadsheet_text import unguarded

if TYPE_CHECKING:
    from pathlib import Path

CELLS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0")) | st.lists(
    st.sampled_from(["\r", "\n", "=", "'", '"', ",", ";", "a"]), max_size=6
).map("".join)


@given(st.lists(st.tuples(CELLS, CELLS, CELLS), max_size=4))
def test_every_cell_comes_back_as_it_was(rows: list[tuple[str, str, str]]) -> None:
    read = rows_of(as_csv([("a", "b", "c"), *rows]).encode(), "own.csv")
    assert [tuple(unguarded(cell) for cell in row) for row in read[1:]] == rows


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_however_a_spreadsheet_writes_it(mark: str, ending: str) -> None:
    data = f"\ufeffmaterial{mark}price{ending}Urea{mark}8{ending}".encode()
    assert rows_of(data, "own.csv") == [["material", "price"], ["Urea", "8"]]


def test_what_is_no_table_is_told() -> None:
    with pytest.raises(FileFaultsError, match=r"own\.csv has 1 fault.*\n- the whole file: it is not saved as UTF-8"):
        rows_of(b"\xff\xfe", "own.csv")
    with pytest.raises(FileFaultsError, match="row 2: it cannot be read as a table"):
        rows_of(b"a,b\n" + b"x" * 200_000, "own.csv")


@pytest.mark.parametrize(
    ("text", "row"), [('a,b\n1,"2\n3,4\n', 2), ('a,b\n1,2\n3,"4', 3), ('a,"b\n1,2\n', 1), ('a,b\n1,"2\n3,"4"\n', 2)]
)
def test_a_quotation_mark_that_is_never_closed_swallows_no_row(text: str, row: int) -> None:
    with pytest.raises(FileFaultsError, match=rf"row {row}: (a quotation mark is opened here|it cannot be read)"):
        rows_of(text.encode(), "own.csv")


def test_a_file_that_cannot_be_opened_is_named(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"own\.csv cannot be read: there is no such file\. Check the name"):
        read_file(tmp_path / "own.csv")
    with pytest.raises(StoreError, match=f"{tmp_path.name} cannot be read: "):
        read_file(tmp_path)
