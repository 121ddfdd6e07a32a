"""The panels by which a product of one's own begins and is taken up again."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from kit.errors import StoreError
from kit.formula.editing import set_line
from kit.formula.files import read_formula
from kit.stability.log.store import StabilityLog
from kit.stability.plan import plans
from kit.widgets.bench import open_bench, open_product
from kit.widgets.new_product_panel import NewProductPanel
from kit.widgets.status_panel import StatusPanel
from kit.workspace import FORMULA
from tests.widgets.hands import offered, said, words


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_a_source_says_what_it_is_and_new_makes_the_folder() -> None:
    panel = NewProductPanel()
    panel.form.type(title="Rose toner", source="starting point: toner")
    assert panel.form["product_type"] == "toner"
    panel.form.type(users="adults\nchildren")
    panel.form.press("new")
    assert said(panel.form) == "Made the folder rose_toner."
    assert 'href="rose_toner/product.ipynb"' in panel.link.value
    made = read_formula(Path("rose_toner", FORMULA))
    assert made.description.users == ("children", "adults")
    assert "copy of rose_toner" in offered(panel.form, "source")


def test_it_begins_empty_and_without_a_name_not_at_all() -> None:
    panel = NewProductPanel()
    panel.form.press("new")
    assert not list(Path().iterdir())
    panel.form.type(title="Milk", layering="emulsified")
    panel.form.press("new")
    assert [phase.name for phase in read_formula(Path("milk", FORMULA)).phases] == [
        "Water phase", "Oil phase", "Cool-down phase",
    ]  # fmt: skip
    panel.form.press("new")
    assert "is there already" in said(panel.form)


def test_what_was_said_of_one_product_does_not_go_over_to_the_next() -> None:
    panel = NewProductPanel()
    panel.form.type(title="Body milk", product_type="body lotion", used_on="body", layering="emulsified")
    panel.form.press("new")
    panel.form.type(layering="one phase")  # said before the name, and of the next one
    panel.form.type(title="Hair mist")
    panel.form.type(used_on="hair")
    panel.form.press("new")
    about = read_formula(Path("hair_mist", FORMULA)).description
    assert (about.used_on, about.product_type, about.layering) == (("hair",), "", "one phase")


def test_the_status_says_what_is_saved_and_what_stands_open() -> None:
    NewProductPanel().form.type()
    panel = NewProductPanel()
    panel.form.type(title="Rose toner", source="starting point: toner")
    panel.form.press("new")
    bench = open_product("rose_toner")
    status = StatusPanel(bench, "rose_toner/stability_log.db", today=lambda: date(2026, 3, 2))
    assert "is saved there too" in words(status.line)
    assert "adds to 100 %" in words(status.line)
    assert "the pH is to be measured" in words(status.line)
    bench.ph = 5.0
    assert "the pH is to be measured" not in words(status.line)
    bench.edit(lambda formula: set_line(formula, 0, 1, entry="3 %"))
    bench.edit(lambda formula: set_line(formula, 0, 0, entry="80"))
    assert "not 100 %" in words(status.line)
    assert "1 stop " in words(status.line)
    status.form.press("save")
    assert said(status.form).startswith("Saved formula.toml.")
    assert read_formula(Path("rose_toner", FORMULA)).phases[0].lines[0].entry == "80"
    with StabilityLog.open("rose_toner/stability_log.db") as log:
        log.start_study("Rose toner", plans()["home-twelve-weeks"], ("RT-1",), date(2026, 2, 23))
    bench.undo()
    assert "of the stability log to read" in words(status.line)


def test_a_folder_without_a_product_is_told() -> None:
    with pytest.raises(StoreError, match=r"holds no formula\.toml, so it is no product's folder"):
        open_product()


def test_a_file_that_is_not_there_yet_begins_empty_and_never_as_the_demo() -> None:
    bench = open_bench("my_toner.toml")
    assert bench.formula.title == "My toner"
    assert not [line for _, _, line, _ in bench.formula.each_line() if not line.is_blank]
    assert (bench.formula.steps, bench.formula.rules, bench.formula.note) == ((), (), "")
    bench.save()
    assert open_bench("my_toner.toml").formula.title == "My toner"
