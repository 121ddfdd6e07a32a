"""Every table file of the kit that a spreadsheet may open: none of its cells is run, and its texts come back."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

import pytest

from kit.bench.price import Price
from kit.bench.price_list import PriceList, read_prices, save_prices
from kit.bench.stock_book import StockBook
from kit.label.statements import AllergenStatement, read_statements, save_statements
from kit.library.ingredient import Ingredient
from kit.library.own import read_own, save_own
from kit.spreadsheet_text import RUN_BY_SPREADSHEETS
from kit.stability.exchange import to_csv
from tests.papers.all_papers import study_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

#: What a spreadsheet would run; each is a name that a maker could have pasted.
RUN = ["=1+1", '=HYPERLINK("x","y")', "+1+cmd|' /C calc'!A0", "-1+1", "@SUM(A1)", "＝1+1", "'=1+1", "''@x"]
#: Other texts that must come back from a file as they went.
ODD = [
    "<script>alert(1)</script>",
    "Aqua\u202egnp.exe",
    "a\u2066b",
    '"quoted"; and, more',
    "زيت",
    "👩‍🔬",
    "e\u0301",
    "W" * 10_000,
]


def _own(path: Path, text: str) -> str:
    save_own(path, [Ingredient(text, note=text, own=True)])
    (found,) = read_own(path)
    assert found.note == text
    return found.inci


def _prices(path: Path, text: str) -> str:
    save_prices(PriceList("EUR", (Price(text, 1, "kg", 2.0, lot=text, note=text),)), path)
    (found,) = read_prices(path).prices
    assert (found.lot, found.note) == (text, text)
    return found.material


def _book(path: Path, text: str) -> str:
    StockBook(path).made(text, "10 g", on="2026-01-12", note=text)
    (found,) = StockBook(path).entries()
    assert found.note == text
    return found.stock


def _statements(path: Path, text: str) -> str:
    save_statements(path, {"x": AllergenStatement(text, {"Limonene": 1.0}, text)})
    (found,) = read_statements(path).values()
    return found.material


TABLES: dict[str, Callable[[Path, str], str]] = {
    "own ingredients": _own,
    "price list": _prices,
    "stock book": _book,
    "allergen statements": _statements,
}


@pytest.mark.parametrize("text", RUN + ODD, ids=lambda text: text[:12])
@pytest.mark.parametrize("name", TABLES)
def test_a_table_gives_it_back_and_no_spreadsheet_runs_it(tmp_path: Path, name: str, text: str) -> None:
    path = tmp_path / "table.csv"
    assert TABLES[name](path, text) == text
    assert not run_in(path.read_bytes().decode("utf-8"))


@pytest.mark.parametrize("text", RUN)
def test_readings_are_not_run_either(text: str) -> None:
    study, rows = study_of(text)
    assert not run_in(to_csv(study, rows))


def run_in(text: str) -> list[str]:
    """The cells that a spreadsheet would run."""
    cells = [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]
    return [cell for cell in cells if cell.startswith(RUN_BY_SPREADSHEETS)]
