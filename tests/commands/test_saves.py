"""``saves``: what a file held before is listed, and taken back by its number."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from kit import __main__ as command
from kit.bench.stock_book import StockBook
from kit.commands import CLEAN, FAILED
from kit.environment import AGAIN
from kit.formula.files import read_formula, save_formula
from tests.formula.made import water_and

FILE = Path("toner.toml")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv(AGAIN, raising=False)
    return tmp_path


def test_saves_are_listed_and_taken_back(capsys: pytest.CaptureFixture[str]) -> None:
    for amount in ("1", "2", "3"):
        save_formula(water_and(("Glycerin", amount)), FILE)
    assert command.main(["saves", "toner.toml"]) == CLEAN
    now, *earlier = capsys.readouterr().out.splitlines()
    assert now == "toner.toml now: Toner, version 1, 2 lines"
    moment = r"\d{4}-\d\d-\d\d \d\d:\d\d"
    assert re.fullmatch(
        rf"2 · {moment} · Toner, version 1, 2 lines · taking it back: Glycerin ▼ less: 3 % to 2 %; "
        r"Aqua ▲ more: 97 % to 98 %",
        earlier[0],
    )
    assert [line.split(" · ")[0] for line in earlier] == ["2", "1"]
    assert command.main(["saves", "toner.toml", "--take-back", "1"]) == CLEAN
    assert re.match(rf"toner\.toml holds again what it held on {moment}\.", capsys.readouterr().out)
    assert read_formula(FILE) == water_and(("Glycerin", "1"))
    assert command.main(["saves", "toner.toml", "--take-back", "3"]) == CLEAN
    assert read_formula(FILE) == water_and(("Glycerin", "3"))


def test_a_stock_book_and_a_file_that_was_deleted(capsys: pytest.CaptureFixture[str]) -> None:
    book = StockBook("stocks.csv")
    book.made("Acid", "10 g", on="2026-01-01")
    book.made("Acid", "5 g", on="2026-01-02", note="warm")
    command.main(["saves", "stocks.csv"])
    now, row = capsys.readouterr().out.splitlines()
    assert now == "stocks.csv now: 2 rows"
    assert row.endswith("1 row · taking it back: without 1 row: 2026-01-02, Acid, made, 5, warm")
    Path("stocks.csv").unlink()
    command.main(["saves", "stocks.csv"])
    assert capsys.readouterr().out.startswith("stocks.csv is not there now.\n1 · ")
    assert command.main(["saves", "stocks.csv", "--take-back", "1"]) == CLEAN
    assert book.on_hand("Acid") == 10


def test_what_is_not_there_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    save_formula(water_and(), FILE)
    assert command.main(["saves", "toner.toml"]) == CLEAN
    assert capsys.readouterr().out.endswith("It has no earlier saves yet.\n")
    assert command.main(["saves", "toner.toml", "--take-back", "4"]) == FAILED
    assert capsys.readouterr().err == "toner.toml has no earlier save 4. There is none yet.\n"
