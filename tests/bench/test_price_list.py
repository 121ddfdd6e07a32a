"""Price lists on disk: what people's spreadsheets write, every fault at once, and the way back."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.bench.price import PackItem, Price
from kit.bench.price_list import COLUMNS, PriceList, demo_prices, prices_of, read_prices, save_prices
from kit.demos import demo
from kit.errors import FileFaultsError, StoreError
from kit.formula.expansion import Materials
from kit.library.library import Library
from kit.resources import resource_folder
from kit.saving import earlier_saves

HEAD = "material,amount,unit,price,currency\n"


def faults(text: str | bytes) -> list[str]:
    data = text.encode() if isinstance(text, str) else text
    with pytest.raises(FileFaultsError) as raised:
        prices_of(data, "prices.csv")
    return [str(fault) for fault in raised.value.faults]


def test_a_list_with_points_and_commas() -> None:
    found = prices_of(f"{HEAD}Glycerin,1,kg,9.80,EUR\n".encode(), "prices.csv")
    assert found == PriceList("EUR", (Price("Glycerin", 1, "kg", 9.8),), (), "prices.csv")


def test_a_list_as_a_continental_spreadsheet_writes_it() -> None:
    head = "\ufeffMaterial;Amount;Unit;Price;Bought on\r\n"
    text = f"{head}Glycerin;0,5;kg;4,90 EUR;2026-03-14\r\n;;;;\r\ncap;50;pieces;5;\r\n"
    found = prices_of(text.encode(), "p.csv")
    assert found.prices == (Price("Glycerin", 0.5, "kg", 4.9, bought_on="2026-03-14"),)
    assert found.packaging == (PackItem("cap", 50, 5),)
    assert found.currency == "EUR"


def test_capitals_of_a_currency_make_no_difference() -> None:
    found = prices_of(b"material,amount,unit,price\nA,1,kg,1 EUR\nB,1,kg,2 eur\n", "p.csv")
    assert (found.currency, [price.price for price in found.prices]) == ("EUR", [1, 2])


def test_the_currency_may_stand_in_one_row_only() -> None:
    assert prices_of(f"{HEAD}A,1,kg,1,\nB,1,kg,1,GBP\nC,1,kg,1,\n".encode(), "p.csv").currency == "GBP"


def test_every_fault_is_told_at_once_with_its_row_and_column() -> None:
    text = (
        "material,amount,unit,price,currency,per_bottle,lot,bought_on,note\n"
        "Glycerin,1,kg,9.80,EUR,,,,\n"
        ",abc,box,-1,EUR,,,14.3.2026,\n"
        "Urea,0,g,,GBP,2,,,\n"
        "Aqua,1,L,1 $,,,,,\n"
        "cap,10,pieces,2,12,0,,,\n"
        'Squalane,1,kg,"1,2,3",,,,,\n'
        "Xanthan Gum,1,kg,3,EUR,,,,,too,many\n"
    )
    told = faults(text)
    starts = [
        "row 3, column material: the cell is empty. Every price needs it.",
        "row 3, column price: -1 cannot be paid. Give what was paid, 0 or more.",
        "row 3, column amount: 'abc' is not a number.",
        "row 3, column bought_on: '14.3.2026' is not a date. Write year-month-day",
        "row 3, column unit: 'box' is not a unit in which a material is bought.",
        "row 4, column price: the cell is empty. Every price needs it.",
        "row 4, column currency: GBP here, and EUR in row 2. A list holds one currency",
        "row 4, column amount: 0 cannot be bought. Give more than 0.",
        "row 4, column per_bottle: only packaging goes with each bottle.",
        "row 5, column price: $ here, and EUR in row 2.",
        "row 6, column currency: '12' is not a currency.",
        "row 6, column per_bottle: 0 cannot be bought. Give more than 0.",
        "row 7, column price: '1,2,3' is not a number",
        "row 8: there are 11 cells under 9 column names.",
    ]
    assert len(told) == len(starts)
    for sentence, start in zip(told, starts, strict=True):
        assert sentence.startswith(start)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "",
            "row 1: there is no column 'material', 'amount', 'unit', 'price'. The first row must hold the column",
        ),
        ("material,amount,unit\n", "row 1: there is no column 'price'."),
        (f"{HEAD}A,1,kg,1,\n", "column currency: no row says which currency this is. Write its code, such as EUR"),
        ("material,amount,unit,price,colour\nA,1,kg,1 EUR,red\n", "row 1: 'colour' is not a column of a price list."),
        ("material,amount,unit,price,price\nA,1,kg,1 EUR,2\n", "row 1: the column 'price' is there 2 times. Keep one."),
        (f"{HEAD}A,1e-300,kg,1,EUR\n", "row 2: A: an amount of 1e-300 kg cannot be bought."),
        (f"{HEAD}A,1,500 g,1,EUR\n", "row 2, column unit: '500 g' is not a unit in which a material is bought."),
        (b"material,amount,unit,price\n\xff\xfe", "the whole file: it is not saved as UTF-8 text."),
        (f"{HEAD}{'A' * 140_000},1,kg,1,EUR", "row 2: it cannot be read as a table"),
    ],
)
def test_one_fault_of_the_file_at_a_time(text: str | bytes, words: str) -> None:
    assert any(sentence.startswith(words) for sentence in faults(text)), faults(text)


def test_only_the_header_is_an_empty_list() -> None:
    assert prices_of(HEAD.encode(), "p.csv") == PriceList(name="p.csv")


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"prices\.csv cannot be read: there is no such file"):
        read_prices(tmp_path / "prices.csv")


def test_saving_keeps_the_version_before(tmp_path: Path) -> None:
    path = tmp_path / "prices.csv"
    save_prices(PriceList("EUR", (Price("A", 1, "kg", 1),)), path)
    save_prices(PriceList("EUR", (Price("A", 1, "kg", 2),)), path)
    assert read_prices(path).prices[0].price == 2
    assert read_prices(earlier_saves(path)[0].path).prices[0].price == 1


def test_a_list_that_cannot_be_saved_says_why(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="was not saved"):
        save_prices(PriceList("EUR"), tmp_path / "nowhere" / "prices.csv")


TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=12).map(str.strip)
NAMES = st.one_of(st.sampled_from(["=1+1", "-Urea", "'tis", '"A", B; C', "@x", "Глицерин"]), TEXT).filter(bool)
MONEY = st.floats(0, 1e6)
AMOUNTS = st.floats(1e-6, 1e6)
DAYS = st.dates().map(lambda day: day.isoformat()) | st.just("")
UNITS = st.sampled_from(["g", "kg", "mL", "L", "lb"])
PRICES = st.builds(Price, NAMES, AMOUNTS, UNITS, MONEY, TEXT, DAYS, TEXT)
ITEMS = st.builds(PackItem, NAMES, AMOUNTS, MONEY, AMOUNTS, TEXT, DAYS, TEXT)
LISTS = st.builds(
    PriceList,
    st.sampled_from(["EUR", "€", "Fr."]),
    st.lists(PRICES, max_size=4).map(tuple),
    st.lists(ITEMS, min_size=1, max_size=3).map(tuple),
    st.just("p.csv"),
)


@settings(max_examples=60)
@given(LISTS)
def test_any_list_comes_back_as_it_was_saved(prices: PriceList) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "p.csv"
        save_prices(prices, path)
        assert read_prices(path) == prices


def test_a_name_that_a_spreadsheet_would_run_is_guarded(tmp_path: Path) -> None:
    save_prices(PriceList("EUR", (Price("=HYPERLINK(1)", 1, "kg", 1),)), tmp_path / "p.csv")
    assert "'=HYPERLINK(1)" in (tmp_path / "p.csv").read_text(encoding="utf-8")


def test_the_demo_list_says_it_is_invented_and_prices_the_demo_formula() -> None:
    prices, formula = demo_prices(), demo()
    assert prices.name == "the demo list"
    assert prices.is_invented
    assert all("invented" in price.note for price in prices.prices)
    assert all("invented" in item.note for item in prices.packaging)
    materials = Materials.of(formula, Library.bundled())
    assert [price.material for price in prices.prices if materials.get(price.material) is None] == []
    about = (resource_folder("data") / "demo" / "prices_source.toml").read_text(encoding="utf-8")
    assert "invented" in about
    header = (resource_folder("data") / "demo" / "prices.csv").read_text(encoding="utf-8").splitlines()[0]
    assert header == ",".join(COLUMNS)
