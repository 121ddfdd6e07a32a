"""What was typed for a label comes back from its file, and a file that was spoilt says where."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError, FileFaultsError, RangeError, StoreError
from kit.label.particulars import read_months, read_particulars, save_particulars

if TYPE_CHECKING:
    from pathlib import Path

NAMES = ("function", "batch_code", "warnings")

#: Text as a box gives it: without signs that no keyboard has, and without space at its ends.
texts = st.text(st.characters(exclude_categories=["C"], include_characters="\n"), max_size=20).map(str.strip)


@given(typed=st.dictionaries(st.sampled_from(NAMES), texts))
def test_what_was_typed_comes_back(typed: dict[str, str], tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("label") / "shake_label.csv"
    save_particulars(path, typed)
    assert read_particulars(path) == {name: text for name, text in typed.items() if text}


def test_a_spreadsheet_may_have_written_it_and_runs_nothing(tmp_path: Path) -> None:
    path = tmp_path / "shake_label.csv"
    path.write_text("\ufeffParticular;Text\nbatch_code;TL-07\n;\n", encoding="utf-8")
    assert read_particulars(path) == {"batch_code": "TL-07"}
    save_particulars(path, {"function": "=HYPERLINK(1)"})
    assert "'=HYPERLINK(1)" in path.read_text(encoding="utf-8")
    assert read_particulars(path) == {"function": "=HYPERLINK(1)"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "",
            "row 1: there is no column 'particular', 'text'. The first row must hold the column names: particular,",
        ),
        (
            "name,text\nfunction,oil\n",
            "row 1: there is no column 'particular'. The first row must hold the column names: particular, text.",
        ),
        (
            "particular,text\nfunction,oil\ncolour,red\n",
            "row 3: 'colour' is no particular of a label. Those are: product_name, ",
        ),
    ],
)
def test_a_spoilt_file_says_where(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "shake_label.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileFaultsError) as caught:
        read_particulars(path)
    assert said in str(caught.value)


def test_no_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"none\.csv cannot be read: there is no such file"):
        read_particulars(tmp_path / "none.csv")


def test_months_are_a_number_of_what_a_product_can_keep() -> None:
    found = {text: read_months(text) for text in ("24", " 30 months ", "1 month", "600", "0,5", "")}
    assert found == {"24": 24, " 30 months ": 30, "1 month": 1, "600": 600, "0,5": 0.5, "": None}
    with pytest.raises(EntryError, match=r"'two years' is not a number of months. Type how many months it keeps"):
        read_months("two years")
    for text in ("0", "-3", "601"):
        with pytest.raises(RangeError, match="months is not how long a product keeps"):
            read_months(text)
