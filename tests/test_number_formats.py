"""In every reader of numbers, what a person of any country writes is the number meant or a refusal: never another one.

The formats are those of CLDR; the meant numbers are ours. A reader that takes texts by themselves sees each text of
every format; a reader of files sees files written by one hand.
"""

from __future__ import annotations

import argparse
import math
from argparse import ArgumentParser
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import openpyxl
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kit.bench.balance import PLATE
from kit.bench.measures import own_measure, read_measure
from kit.bench.price import PackItem, Price
from kit.bench.price_list import PriceList, Purchase, prices_of, typed_of, with_typed
from kit.bench.scaling import Order
from kit.bench.strength import Strength, read_strength
from kit.commands.options import from_options, options_of
from kit.errors import KitError
from kit.formula.amounts import read_amount
from kit.formula.files import read_formula
from kit.formula.paste import read_pasted
from kit.label.content import NetContent, read_content
from kit.label.particulars import read_months
from kit.layers.bottle_measures import measured_rows
from kit.library.columns import read_composition
from kit.library.own import read_own
from kit.library.rows import RowReader
from kit.money import money, read_money
from kit.numbers import decimal_mark_of, read_number, split_number
from kit.papers.cost_sheet import CostSheetOptions
from kit.rounding import all_digits
from kit.stability.plan import plans
from kit.stability.reading import read_colour, read_value
from kit.stability.storage_temperature import read_temperature_log
from kit.units import magnitude
from kit.widgets.actual_weights_panel import read_mass
from tests.number_formats import every_text, styles, written_as

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from kit.findings import Finding

PH, HEIGHT = (plans()["home-twelve-weeks"].attribute(key) for key in ("ph", "lower_layer"))
SPOON = own_measure("spoon", "Urea", [(1, 1.0)])


def outcome(read: Callable[[], object]) -> object:
    """What a reader gives, or the words of its refusal; any other error escapes."""
    try:
        return read()
    except (KitError, argparse.ArgumentTypeError) as error:
        return str(error) or "no words"


def no_problem(text: str) -> float | None:
    """What an amount is, where nothing is said against it."""
    found = read_amount(text)
    return None if found.problem or found.kind in ("unreadable", "rest", "blank") else found.value


def of_cell(column: str) -> Callable[[str], float | None]:
    """What one cell of an own ingredient gives."""

    def read(text: str) -> float | None:
        cells = RowReader({column: text}, "row 2", "own")
        if column == "price":
            return cells._number("price", text)
        found = cells.figure(column, "density_source", likely=(0.3, 5.0) if "density" in column else None)
        return None if found is None else found.value

    return read


def of_typed_price(text: str) -> float:
    return with_typed(PriceList("EUR"), Purchase("Urea", "1 kg", text)).prices[0].price


def of_typed_pack(text: str) -> float:
    return with_typed(PriceList("EUR"), Purchase("Urea", f"{text} g", "1")).prices[0].amount


def of_option(group: type, name: str, text: str) -> float | None:
    parser = ArgumentParser()
    options_of(parser, group)
    found: float | None = getattr(from_options(parser.parse_args([f"--{name}={text}"]), group), name)
    return found


def of_paste(text: str) -> float | None:
    rows = read_pasted(f"Aqua\t{text} g\nUrea\t1 g")
    return no_problem(rows[0].entry)


@dataclass(frozen=True)
class Reader:
    """How a text is read, and between what the number meant must lie to be meant there at all."""

    read: Callable[[str], float | None]
    low: float = -inf
    high: float = inf
    about: float = 1e-9


#: Every reader that takes one text.
READERS: dict[str, Reader] = {
    "a number": Reader(read_number),
    "a number and its unit": Reader(lambda text: split_number(f"{text} x")[0]),
    "a pH": Reader(lambda text: read_number(text, low=0, high=14), 0, 14),
    "a mass": Reader(lambda text: magnitude(f"{text} g", "g", name="it")),
    "a mass in another unit": Reader(lambda text: 1000 * magnitude(f"{text} g", "kg", name="it")),
    "a volume": Reader(lambda text: magnitude(f"{text} ML", "mL", name="it")),
    "a temperature": Reader(lambda text: magnitude(f"{text} C", "degC", name="it"), -100, 500),
    "a density": Reader(lambda text: magnitude(f"{text} g/mL", "g/mL", name="it", low=0, high=5), 0, 5),
    "a percent": Reader(no_problem, 0, 100),
    "ppm": Reader(lambda text: None if (x := no_problem(f"{text} ppm")) is None else 1e4 * x, 0, 1e6),
    "grams of an amount": Reader(lambda text: no_problem(f"{text} g"), 0),
    "grams pasted": Reader(of_paste, 0),
    "a strength in ppm": Reader(lambda text: read_strength(f"{text} ppm").value, 0, 1e6),
    "a strength in %": Reader(lambda text: read_strength(f"{text} %").value, 0, 100),
    "a strength in mg/L": Reader(lambda text: read_strength(f"{text} mg/L").value, 0, 5e6),
    "a part in": Reader(lambda text: 100 / read_strength(f"1 in {text}").value, 1),
    "a price": Reader(lambda text: read_money(f"{text} EUR")[0]),
    "a price behind its sign": Reader(lambda text: read_money(f"€ {text}")[0]),
    "a price in a box": Reader(of_typed_price, 0),
    "a pack in a box": Reader(of_typed_pack, 0.001),
    "a density of one's own": Reader(of_cell("density_g_ml"), 0.3, 5),
    "a molar mass of one's own": Reader(of_cell("molar_mass_g_mol"), 0),
    "a price of one's own": Reader(of_cell("price"), 0),
    "a part of a composition": Reader(lambda text: read_composition(f"Aqua {text}").get("Aqua"), 0, 100),
    "a net content": Reader(lambda text: read_content(f"{text} g", 1.0).grams, 0.3, 1e5),
    "months": Reader(read_months, 1e-9, 600),
    "a capacity": Reader(lambda text: PLATE[1].read(text, beside_unit=True), 0.01),
    "a spoon": Reader(lambda text: read_measure(f"{text} spoon", "Urea", [SPOON]).grams, 1e-9),
    "a weighing": Reader(lambda text: read_mass(text, "Urea"), 0),
    "a height in a table": Reader(lambda text: magnitude(measured_rows(f"{text};5")[0][0], "mm", name="it"), 0, 1e4),
    "a pH of a study": Reader(lambda text: read_value(PH, text).number, 0, 14),
    "a height of a study": Reader(lambda text: read_value(HEIGHT, text).number, 0, 1000),
    "a height with its unit": Reader(lambda text: read_value(HEIGHT, f"{text} mm").number, 0, 1000),
    "a lightness": Reader(lambda text: read_colour(f"{text}; 4; 18")[0], 0, 100),
    "a percent of a command": Reader(lambda text: of_option(Order, "overage", text), 0, 100),
    "an amount of a command": Reader(lambda text: of_option(CostSheetOptions, "labour", text)),
}


@pytest.mark.parametrize("name", READERS)
def test_a_reader_gives_the_number_meant_or_refuses(name: str) -> None:
    reader = READERS[name]
    read = 0
    for text, meant, locale in every_text():
        if not reader.low <= meant <= reader.high:
            continue
        found = outcome(lambda text=text: reader.read(text))  # type: ignore[misc]
        if found is not None and not isinstance(found, str):
            assert found == pytest.approx(meant, rel=reader.about, abs=1e-12), (text, locale)
            read += 1
    assert read > 20  # not all is refused


def test_both_readings_are_named_and_how_to_type_each() -> None:
    """The two readings of every ambiguous text: in CLDR, 1,250 is 1250 in English and 1.25 in German."""
    seen: dict[str, set[float]] = {}
    for text, meant, _ in every_text():
        seen.setdefault(text, set()).add(meant)
    twice = {text: numbers for text, numbers in seen.items() if len(numbers) > 1}
    assert {"1,250", "1.250", "1,000", "1.000", "5,125", "98.765"} & set(twice) >= {"1,000", "1.000"}
    for text, numbers in twice.items():
        with pytest.raises(KitError) as raised:
            read_number(text)
        sentence = str(raised.value)
        offered = [part.removesuffix(" for the one").removesuffix(" for the other.") for part in
                   sentence.partition("Type ")[2].split(", ")]  # fmt: skip
        assert {read_number(part) for part in offered} == numbers


# ---- files written by one hand ------------------------------------------------------------------------------

#: Numbers of one file: some that show the hand's habit, one that can be read two ways where it is not known.
COLUMN = (62.5, 1250.0, 0.75, 1.125, 12.0, 99.25)


def hands() -> list[tuple[str, int, bool]]:
    return [(style, decimals, grouped) for style in styles() for decimals in (0, 1, 2, 3) for grouped in (True, False)]


def texts_of(style: str, decimals: int, grouped: bool) -> list[tuple[str, float]]:
    return [
        (written_as(number, decimals, style, grouped=grouped, native=False), round(number, decimals))
        for number in COLUMN
        if round(number, decimals) > 0
    ]


def quoted(text: str) -> str:
    return f'"{text}"'


def from_prices(texts: list[str], _: Path) -> list[float]:
    rows = "".join(f"Material {n};{quoted(text)};g;1;EUR\n" for n, text in enumerate(texts))
    return [
        price.amount for price in prices_of(f"material;amount;unit;price;currency\n{rows}".encode(), "p.csv", []).prices
    ]


def from_paid(texts: list[str], _: Path) -> list[float]:
    rows = "".join(f"Material {n},1,g,{quoted('€ ' + text)}\n" for n, text in enumerate(texts))
    return [price.price for price in prices_of(f"material,amount,unit,price\n{rows}".encode(), "p.csv", []).prices]


def from_own(texts: list[str], folder: Path) -> list[float]:
    rows = "".join(f"Material {n};{quoted(text)}\n" for n, text in enumerate(texts))
    (folder / "own.csv").write_text(f"inci;viscosity_mpa_s\n{rows}", encoding="utf-8")
    return [each.viscosity.value for each in read_own(folder / "own.csv", []) if each.viscosity]


def amounts_in(path: Path) -> list[float | None]:
    return [no_problem(line.entry) for _, _, line, _ in read_formula(path, []).each_line()]


def from_formula_csv(texts: list[str], folder: Path) -> list[float | None]:
    rows = "".join(f"Material {n};{quoted(text + ' g')}\n" for n, text in enumerate(texts))
    (folder / "f.csv").write_text(f"ingredient;amount\n{rows}", encoding="utf-8")
    return amounts_in(folder / "f.csv")


def from_formula_xlsx(texts: list[str], folder: Path) -> list[float | None]:
    book = openpyxl.Workbook()
    for row in [("ingredient", "amount"), *((f"Material {n}", f"{text} g") for n, text in enumerate(texts))]:
        book.active.append(row)
    book.save(folder / "f.xlsx")
    return amounts_in(folder / "f.xlsx")


def from_temperatures(texts: list[str], _: Path) -> list[float]:
    rows = "".join(f"2026-03-{n + 1:02};{text}\n" for n, text in enumerate(texts))
    return list(read_temperature_log(f"time;temperature\n{rows}").temperatures)


FILES: dict[str, tuple[Callable[[list[str], Path], list[float] | list[float | None]], float]] = {
    "amounts of a price list": (from_prices, inf),
    "prices of a price list": (from_paid, inf),
    "own ingredients": (from_own, inf),
    "a formula as CSV": (from_formula_csv, inf),
    "a formula as a workbook": (from_formula_xlsx, inf),
    "temperatures": (from_temperatures, 90),
}


@pytest.mark.parametrize("kind", FILES)
def test_a_file_gives_the_numbers_meant_or_refuses(kind: str, tmp_path: Path) -> None:
    read, most = FILES[kind]
    whole = 0
    for style, decimals, grouped in hands():
        cells = [(text, meant) for text, meant in texts_of(style, decimals, grouped) if meant <= most]
        try:
            found = read([text for text, _ in cells], tmp_path)
        except KitError:
            continue
        assert len(found) == len(cells)
        for (text, meant), number in zip(cells, found, strict=True):
            assert number is None or number == pytest.approx(meant, rel=1e-9), (text, style, cells)
        whole += None not in found
    assert whole > len(hands()) / 2


def test_a_number_of_a_workbook_is_no_text_and_is_never_refused(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    for row in [("ingredient", "amount"), ("Aqua", 12.345), ("Urea", 1250.125), ("Gel", 1.125), ("Salt", 0.0455),
                ("Dye", 0.0455), ("Oil", 1250.0)]:  # fmt: skip
        sheet.append(row)
    formats = {3: '0.000" g"', 4: '0.000" g"', 5: "0.00%", 6: '0.0"%"', 7: '0.00,"kg"'}
    for number, form in formats.items():
        sheet.cell(number, 2).number_format = form
    book.save(tmp_path / "f.xlsx")
    amounts = [read_amount(line.entry) for _, _, line, _ in read_formula(tmp_path / "f.xlsx", []).each_line()]
    assert [(one.kind, round(one.value, 9)) for one in amounts] == [
        ("percent", 12.345), ("mass", 1250.125), ("mass", 1.125), ("percent", 4.55), ("percent", 0.0455),
        ("mass", 1250),
    ]  # fmt: skip


# ---- what was decided is said -------------------------------------------------------------------------------


def test_the_habit_of_a_file_decides_and_is_said(tmp_path: Path) -> None:
    (tmp_path / "f.csv").write_text('ingredient;amount\nAqua;"1.250 g"\nUrea;62,5 g\n', encoding="utf-8")
    notes: list[Finding] = []
    formula = read_formula(tmp_path / "f.csv", notes)
    assert [line.entry for _, _, line, _ in formula.each_line()] == ["1250 g", "62,5 g"]
    assert [(note.severity, note.sentence) for note in notes] == [
        (
            "note",
            "f.csv: the decimal mark of this file is the comma, as its other numbers show, so '1.250 g' is 1250 g.",
        )
    ]
    with pytest.warns(UserWarning, match="the decimal mark of this file is the comma"):
        read_formula(tmp_path / "f.csv")


def test_a_file_that_shows_no_habit_or_two_is_refused(tmp_path: Path) -> None:
    for others in ("12 g", "62,5 g\nSalt;0.5 g"):
        (tmp_path / "f.csv").write_text(f"ingredient;amount\nAqua;1.250 g\nUrea;{others}\n", encoding="utf-8")
        (first, *_) = read_formula(tmp_path / "f.csv", []).resolution.problems
        assert first[2].startswith("The amount: '1.250 g' can mean 1250 g or 1.25 g. Type 1250 g for the one, 1.25 g")


# ---- there and back, and any text ---------------------------------------------------------------------------


@given(st.floats(0.001, 1e8))
@example(1.125)
@example(999.999)
def test_what_is_written_with_all_digits_reads_back(number: float) -> None:
    text = all_digits(number)
    assert read_number(text) == number
    assert magnitude(f"{text} g", "g", name="it") == number
    assert read_measure(f"{text} spoon", "Urea", [SPOON]).grams == number
    price = PriceList(
        "EUR", (Price("Urea", min(number, 1e6), "g", number),), (PackItem("cap", number, number, number),)
    )
    for name in ("Urea", "cap"):
        assert with_typed(price, typed_of(price, name)) == price


@given(st.floats(0.001, 100), st.sampled_from(["EUR", "JPY", "KWD"]))
def test_a_price_as_shown_is_the_same_or_refused(price: float, currency: str) -> None:
    shown = money(price, currency)
    found = outcome(lambda: read_money(shown))
    assert found == (float(shown.split()[0]), currency) or "can mean" in str(found)


@given(st.floats(0, 100))
def test_a_strength_as_shown_is_the_same_or_refused(value: float) -> None:
    shown = str(Strength(value, "% w/w"))
    assert read_strength(shown).value == pytest.approx(value, rel=1e-5)


@given(st.floats(10, 20_000), st.sampled_from(["eu", "us"]))
@example(10.875, "us")  # 10 mL, and of those 0.33 fl oz
def test_a_content_as_printed_is_the_same_or_refused(volume: float, place: str) -> None:
    printed = NetContent(volume, volume).text(place)  # type: ignore[arg-type]
    # Two digits below 100 and three from there on, rounded down (16 CFR 500.19(b)), then three digits of fluid ounces
    # but never more than two decimals, rounded down once more; 1 fl oz is 29.5735 mL (NIST Handbook 44, appendix C).
    step = 10.0 ** (math.floor(math.log10(volume)) - (1 if volume < 100 else 2))
    ounces = max(10.0 ** (math.floor(math.log10(volume / 29.5735)) - 2), 0.01) * 29.5735
    for part in printed.removesuffix(")").split(" ("):
        found = outcome(lambda part=part: read_content(part, 1.0))  # type: ignore[misc]
        if isinstance(found, NetContent):
            lost = step + (ounces if "oz" in part else 0.0)
            assert volume - lost * (1 + 1e-6) <= found.millilitres <= volume * (1 + 1e-6)
        else:
            assert "can mean" in str(found) or "not possible" in str(found)


@given(st.text(max_size=30) | st.text(st.sampled_from("0123456789.,'’ ٫٬½/⁄-−+eE%gmLkl°Cµ"), max_size=14))
@example("5 percent °F")
@example("1e308 lb")
@example("1/0")
@example("½½ g")
@example("5 dB")
def test_only_words_for_a_person_leave_a_reader(text: str) -> None:
    for reader in READERS.values():
        found = outcome(lambda reader=reader: reader.read(text))  # type: ignore[misc]
        assert found is None or isinstance(found, str) or abs(found) < inf  # type: ignore[arg-type]
    assert decimal_mark_of([text]) in ("", ".", ",")
