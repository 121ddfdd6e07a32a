"""The cost panel: a list is opened, written, saved; the sums follow the bench."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from kit.bench.cost import INVENTED
from kit.bench.price import Price
from kit.bench.price_list import PriceList, demo_prices, read_prices, save_prices
from kit.demos import demo
from kit.formula.editing import set_line
from kit.product.beginning import starting_point
from kit.widgets.bench import Bench
from kit.widgets.cost_panel import CostPanel
from kit.widgets.family_panel import FamilyPanel
from tests.widgets.hands import HOSTILE, html_of, one_phase, rows, said, two_layers, words

OWN = PriceList("GBP", (Price("Aqua", 1, "kg", 1.0), Price("Glycerin", 1, "kg", 10.0)))


@pytest.fixture
def panel() -> CostPanel:
    return CostPanel(Bench(demo()))


def test_it_starts_with_the_demo_list_and_says_it_is_invented(panel: CostPanel) -> None:
    assert "the demo list: 24 prices of materials and 3 of packaging, in EUR." in words(panel.which)
    assert INVENTED in words(panel.findings)
    made = panel.bench.product.cost
    assert f"The batch costs {made.total_shown:.2f} EUR" in words(panel.answer)


def test_it_starts_with_her_own_list_where_there_is_one() -> None:
    save_prices(OWN, "prices.csv")
    panel = CostPanel(Bench(two_layers()))
    assert "prices.csv: 2 prices of materials and 0 of packaging, in GBP." in words(panel.which)
    assert "invented" not in words(panel.which)
    assert "at least" in words(panel.answer)
    assert "there is no usable price for" in words(panel.findings)
    cells = {row[0]: row for row in rows(panel.table)}
    assert cells["Tocopherol"][3] == "no price"


def test_a_list_with_faults_is_told_of_and_the_demo_list_stays() -> None:
    Path("prices.csv").write_text("material,amount,unit,price\nUrea,1,box,2 EUR\n", encoding="utf-8")
    panel = CostPanel(Bench(demo()))
    assert "row 2, column unit: 'box' is not a unit" in said(panel.files)
    assert panel.bench.prices == demo_prices()


def test_the_printed_parts_add_to_the_printed_total(panel: CostPanel) -> None:
    panel.numbers.type(waste="3,3", labour="1.11")
    parts = [float(row[3]) for row in rows(panel.table)]
    made = panel.bench.product.cost
    assert sum(parts) == pytest.approx(made.total_shown)
    assert rows(panel.table)[-1][0] == "labour"


def test_it_follows_the_bench(panel: CostPanel) -> None:
    bench = panel.bench
    bench.order = replace(bench.order, by="bottles", bottles=12)
    assert "for each of 12 bottles of" in words(panel.answer)
    assert "left over" not in words(panel.findings)
    before = panel.picture.value
    bench.move_oil(25)
    assert "now 25.0 %" in panel.picture.value
    assert panel.picture.value != before
    bench.order = replace(bench.order, by="mass", grams=250.0)
    assert "are left over: their cost is borne by the bottles." in words(panel.findings)
    bench.order = replace(bench.order, grams=20.0)
    assert "do not fill one bottle" in words(panel.findings)
    assert "bottles of" not in words(panel.answer)


def test_a_formula_that_is_not_complete_says_so_and_a_single_layer_has_no_picture() -> None:
    panel = CostPanel(Bench(demo()))
    panel.bench.change(one_phase(("Aqua", "50")))
    assert "cannot be weighed yet: it adds to 50 %" in words(panel.answer)
    assert panel.table.value == panel.picture.value == ""
    panel.bench.change(one_phase(("Aqua", "q.s."), ("Glycerin", "3")))
    assert rows(panel.table)[1][0] == "Glycerin"
    assert panel.picture.value == ""


def test_a_price_is_written_changed_and_taken_out(panel: CostPanel) -> None:
    form = panel.form
    form.type(name="Glycerin")
    assert (form.texts["pack"], form.texts["price"], form.texts["bought_on"]) == ("1 kg", "10.40 EUR", "2026-08-31")
    form.type(price="104")
    form.press("put")
    assert "Glycerin: 1 kg for 104. Save the list to keep it." in said(form)
    assert {row[0]: row[2] for row in rows(panel.table)}["Glycerin"] == "104.00"
    assert form.texts["name"] == form.texts["pack"] == ""
    form.type(name="Parfum")
    form.press("drop")
    assert "Parfum was taken out of the list." in said(form)
    assert "no usable price for Parfum." in words(panel.findings)
    form.press("drop")
    assert "The list has no price for an empty name." in said(form)
    form.type(name="Parfum", pack="30 boxes", price="5")
    form.press("put")
    assert "'boxes' is not a unit" in said(form)
    assert form.texts["price"] == "5"


def test_packaging_is_written_with_its_pieces_for_each_bottle(panel: CostPanel) -> None:
    form = panel.form
    form.type(name="ribbon", pack="100 pieces", price="5", per_bottle="2")
    form.press("put")
    made = panel.bench.product.cost
    ribbon = made.packaging[-1]
    assert (ribbon.name, ribbon.pieces) == ("ribbon", 2 * (made.bottles or 0))
    assert "ribbon" in form.fields[0]["options"]


def test_an_empty_list_takes_its_currency_from_the_first_price(panel: CostPanel) -> None:
    panel.files.press("empty")
    assert "The list is empty." in words(panel.which)
    panel.form.type(name="Aqua", pack="5 L", price="2")
    panel.form.press("put")
    assert "The list has no currency yet" in said(panel.form)
    panel.form.type(price="£2")
    panel.form.press("put")
    assert panel.bench.prices.currency == "£"
    panel.files.press("demo")
    assert panel.bench.prices == demo_prices()


def test_saving_and_opening(panel: CostPanel) -> None:
    panel.form.type(name="Betaine", pack="100 g", price="4,20")
    panel.form.press("put")
    panel.files.type(file="mine")
    panel.files.press("save")
    assert "Saved to mine.csv beside this notebook." in said(panel.files)
    assert read_prices("mine.csv").prices[-1].price == 4.2
    panel.files.press("demo")
    panel.files.press("open")
    assert panel.bench.prices.name == "mine.csv"
    panel.files.type(file="nowhere.csv")
    panel.files.press("open")
    assert "nowhere.csv cannot be read: there is no such file." in said(panel.files)
    panel.files.type(file=" ")
    panel.files.press("save")
    assert "Price list: This is empty. Type it, such as prices.csv." in said(panel.files)


def set_price(panel: CostPanel, name: str, pack: str, price: str) -> None:
    panel.form.type(name=name, pack=pack, price=price)
    panel.form.press("put")


def test_another_list_is_never_written_over_hers() -> None:
    hers = "material;amount;unit;price\nUrea;1;box;2 EUR\n"
    Path("prices.csv").write_text(hers, encoding="utf-8")
    panel = CostPanel(Bench(demo()))
    panel.files.press("save")
    assert "prices.csv is there already and was not opened here." in words(panel.kept.question)
    assert Path("prices.csv").read_text(encoding="utf-8") == hers


def test_a_list_that_was_only_looked_at_is_not_written_over_the_one_that_was_open() -> None:
    save_prices(OWN, "prices.csv")
    panel = CostPanel(Bench(demo()))
    for button in ("demo", "empty"):
        panel.files.press(button)
        set_price(panel, "Aqua", "5 L", "2 EUR")
        panel.files.press("save")
        assert "prices.csv is there already and was not opened here." in words(panel.kept.question)
        assert len(read_prices("prices.csv").prices) == 2
    panel.files.type(file="new")
    panel.files.press("save")
    assert "Saved to new.csv" in said(panel.files)
    set_price(panel, "Urea", "1 kg", "3")
    panel.files.press("save")
    assert len(read_prices("new.csv").prices) == 2


def test_a_list_that_was_opened_or_saved_is_saved_again_unless_it_changed_on_disk() -> None:
    save_prices(OWN, "prices.csv")
    bench = Bench(demo())
    panel = CostPanel(bench)
    set_price(panel, "Urea", "1 kg", "3")
    panel.files.press("save")
    assert len(read_prices("prices.csv").prices) == 3
    panel = CostPanel(bench)  # the cell was run again
    set_price(panel, "Betaine", "1 kg", "3")
    panel.files.press("save")
    assert len(read_prices("prices.csv").prices) == 4
    save_prices(OWN, "prices.csv")  # in a spreadsheet
    panel.files.press("save")
    assert "prices.csv was changed in another window or by another program" in words(panel.kept.question)
    assert len(read_prices("prices.csv").prices) == 2


def test_a_list_that_is_not_saved_says_so_and_undo_brings_it_back(panel: CostPanel) -> None:
    assert "undo" in panel.files.disabled
    panel.files.press("empty")
    set_price(panel, "Aqua", "5 L", "2 EUR")
    assert "A list of your own: 1 price of materials and 0 of packaging, in EUR. Not saved yet." in words(panel.which)
    mine = panel.bench.prices
    panel.files.press("demo")
    assert "The list before was not saved: Undo brings it back." in said(panel.files)
    panel.files.press("undo")
    assert panel.bench.prices == mine
    panel.files.press("save")
    assert "prices.csv: 1 price of materials and 0 of packaging, in EUR." in words(panel.which)
    assert "Not saved yet" not in words(panel.which)
    for _ in range(2):
        panel.files.press("undo")
    assert panel.bench.prices == demo_prices()
    assert "undo" in panel.files.disabled


def test_waste_and_labour_are_read_with_either_mark_and_say_what_is_wrong(panel: CostPanel) -> None:
    panel.numbers.type(labour="12,5")
    assert panel.bench.product.cost.labour == 12.5
    panel.numbers.type(labour="12.50 €")
    assert panel.bench.product.cost.labour == 12.5
    panel.numbers.type(waste="5 %", labour="")
    made = panel.bench.product.cost
    assert (made.waste_percent, made.labour) == (5.0, 0.0)
    for box, text, sentence in (
        ("labour", "12 GBP", "12 GBP is in GBP, and this list is in EUR. Turn it into EUR."),
        ("labour", "an hour", "'an hour' is not a number."),
        ("waste", "some", "'some' is not a number."),
        ("waste", "101", "101 is not possible here: it must not be below 0 and not above 100."),
    ):
        before = panel.numbers.texts[box]
        panel.numbers.type(**{box: text})
        assert sentence in panel.numbers.faults[box]
        assert panel.numbers.texts[box] == text
        panel.numbers.type(**{box: before})
        assert panel.numbers.faults == {}
    panel.numbers.type(waste="100")
    assert "Waste must be from 0 to less than 100 %" in words(panel.answer)
    panel.numbers.type(waste="5")
    assert "The batch costs" in words(panel.answer)


def test_each_fault_of_a_list_stands_on_a_line_of_its_own(panel: CostPanel) -> None:
    upload(panel, "bad.csv", b"material;amount;unit;price\nAqua;1;box;1 EUR\nUrea;1;kg;3,1O\n")
    assert said(panel.files).count("\n- row") == 2
    assert "row 3, column price: '3,1O' is not a price: it holds the letter O in place of a 0." in said(panel.files)


def upload(panel: CostPanel, name: str, content: bytes) -> None:
    """Hand a file over as the browser does."""
    panel.files.press("upload", name, content)


def test_a_list_from_elsewhere(panel: CostPanel) -> None:
    upload(panel, "shop.csv", b"material,amount,unit,price\nAqua,1,kg,1 USD\n")
    assert "Opened shop.csv. Save keeps a copy" in said(panel.files)
    assert (panel.bench.prices.currency, panel.files.texts["file"]) == ("USD", "shop.csv")
    upload(panel, "bad.csv", b"\xff")
    assert "it is not saved as UTF-8 text" in said(panel.files)
    assert panel.bench.prices.currency == "USD"
    assert not Path("shop.csv").exists()


def test_what_to_buy_is_a_second_view(panel: CostPanel) -> None:
    panel.numbers.type(view="what to buy")
    cells = {row[0]: row for row in rows(panel.table)}
    assert cells["Citric Acid"][2] == "1 × 250 g"
    made = panel.bench.product.cost
    assert f"{made.outlay:.2f} EUR" in words(panel.table)


def test_hostile_names_stay_text() -> None:
    bench = Bench(set_line(two_layers(), 0, 1, material=HOSTILE))
    bench.prices = PriceList(
        "EUR", (Price(HOSTILE, 1, "kg", 1, note=HOSTILE), Price(HOSTILE + "x", 1, "kg", 1)), name=HOSTILE
    )
    panel = CostPanel(bench)
    for view in ("what it costs", "what to buy"):
        panel.numbers.type(view=view)
        assert "<img" not in html_of(panel)
    assert HOSTILE in words(panel.which)


def test_an_invented_list_is_not_taken_over_one_that_is_open() -> None:
    bench = Bench(demo())
    bench.prices = OWN
    assert CostPanel(bench).bench.prices == OWN


def test_an_exported_family_runs_nothing_in_a_spreadsheet() -> None:
    panel = FamilyPanel(Bench(set_line(two_layers(), 0, 1, material="=HYPERLINK(1)")))
    panel.form.type(name="=cmd")
    panel.form.press("pin")
    panel.chosen.press("export")
    text = next(Path.cwd().glob("family_*.csv")).read_text(encoding="utf-8")
    assert "'=HYPERLINK(1)" in text
    assert "'=cmd" in text.splitlines()[0]


def test_variants_show_what_their_materials_cost() -> None:
    bench = Bench(demo())
    panel = FamilyPanel(bench)
    panel.form.type(name="dry hair")
    panel.form.press("pin")
    assert "materials of 100 g" not in words(panel.table)
    bench.prices = demo_prices()
    bench.move_oil(30)
    costs = next(row for row in rows(panel.table) if row[0] == "materials of 100 g")
    assert costs == ["materials of 100 g", "1.62 EUR", "0.93 EUR"]
    panel.chosen.press("export")
    text = next(Path.cwd().glob("family_*.csv")).read_text(encoding="utf-8")
    assert "materials of 100 g,EUR," in text


def test_a_product_that_is_no_demo_begins_with_an_empty_list(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    panel = CostPanel(Bench(starting_point("toner")))
    assert panel.bench.prices == PriceList()
    assert "The list is empty" in panel.which.value
    panel.files.press("demo")  # the invented list comes only when it is asked for
    assert panel.bench.prices == demo_prices()
