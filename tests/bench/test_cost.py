"""What a batch costs: printed worked examples, exact fractions as the judge, and what must hold for any batch."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.cost import CostSheet, bottles_filled, cost, left_over
from kit.bench.cost_across import Cost100, cost_per_100_g
from kit.bench.price import PackItem, Price
from kit.bench.price_list import PriceList, demo_prices
from kit.bench.weighing import weigh
from kit.demos import demo
from kit.errors import CompositionError, RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.library.ingredient import Figure, Ingredient, Purchase, Stock
from kit.library.library import Library
from kit.rounding import all_digits
from tests.pace import on_this_machine
from tests.present import present

LIBRARY = Library.bundled()
MATERIALS = Materials(LIBRARY)


def one(*lines: tuple[str, str], **more: Any) -> Formula:
    return Formula("Toner", (Phase("Water layer", "water", tuple(Line(*line) for line in lines)),), **more)


TONER = one(("Aqua", "q.s."), ("Glycerin", "4"), ("Urea", "2"))
PRICES = PriceList(
    "EUR",
    (Price("Aqua", 5, "kg", 2.10), Price("Glycerin", 1, "kg", 9.80), Price("Urea", 250, "g", 6.40)),
    (PackItem("bottle", 24, 16.80), PackItem("carton", 10, 7.50, per_bottle=1 / 12)),
)


def costed(formula: Formula = TONER, mass: str = "250 g", prices: PriceList = PRICES, **more: Any) -> CostSheet:
    return cost(weigh(formula, mass), Materials.of(formula, LIBRARY), prices, **more)


# ---- printed worked examples --------------------------------------------------------------------------------


def test_a_normal_loss_is_borne_by_the_good_output() -> None:
    # Study text for the ACCA paper F2, chapter 9, section 5.1: 1,000 kg at $18 are put in, 10 % is lost as normal,
    # labour 1,800 and overheads 900; 900 kg come out at $23 a kg, $20,700 in all.
    apple = one(("Malic Acid", "100"))
    prices = PriceList("USD", (Price("Malic Acid", 1, "kg", 18),))
    sheet = costed(apple, "900 kg", prices, waste_percent=10, labour=1800 + 900)
    assert sheet.lines[0].grams == pytest.approx(1_000_000)
    assert sheet.materials_total == pytest.approx(18_000)
    assert sheet.total_shown == 20_700
    assert sheet.per_100_g * 10 == pytest.approx(23)


def test_what_is_trimmed_away_makes_the_rest_dearer() -> None:
    # Vancouver Community College, Learning Centre, "Recipe Costing", step 2: 10 lb at $5.60 with a yield of 75 % cost
    # $7.465 for 10 lb of what is used. Printed with the factor rounded to 1.333; unrounded it is 7.4667.
    prices = PriceList("USD", (Price("Malic Acid", 10, "lb", 5.60),))
    sheet = costed(one(("Malic Acid", "100")), "4535.9237 g", prices, waste_percent=25)
    assert sheet.total == pytest.approx(7.465, abs=0.002)
    assert sheet.total == pytest.approx(5.60 / 0.75, rel=1e-5)  # the balance weighs 10 lb to 0.01 g


def test_the_price_of_one_unit_of_a_bag() -> None:
    # The same paper, step 3: a 20 lb bag at $10.50 is $0.525 a pound.
    prices = PriceList("USD", (Price("Malic Acid", 20, "lb", 10.50),))
    assert costed(one(("Malic Acid", "100")), "100 g", prices).lines[0].per_gram * 453.59237 == pytest.approx(0.525)


# ---- exact fractions as the judge ---------------------------------------------------------------------------


def test_each_line_and_each_sum_by_hand() -> None:
    sheet = costed(mass="600 g", bottles=6, waste_percent=4, labour=3, product=570)
    taken = [Fraction(600) * Fraction(x, 100) / Fraction(96, 100) for x in (94, 4, 2)]
    each = [Fraction("2.10") / 5000, Fraction("9.80") / 1000, Fraction("6.40") / 250]
    costs = [grams * per_gram for grams, per_gram in zip(taken, each, strict=True)]
    wrapped = [Fraction("16.80") / 24 * 6, Fraction("7.50") / 10 * Fraction(6, 12)]
    total = sum(costs) + sum(wrapped) + 3
    assert [line.grams for line in sheet.lines] == pytest.approx([float(x) for x in taken])
    assert [line.cost for line in sheet.lines] == pytest.approx([float(x) for x in costs])
    assert [item.cost for item in sheet.packaging] == pytest.approx([float(x) for x in wrapped])
    assert sheet.total == pytest.approx(float(total))
    assert sheet.per_bottle == pytest.approx(float(total / 6))
    assert sheet.per_100_g == pytest.approx(float(total / 570 * 100))
    assert sheet.materials_per_100_g == pytest.approx(float(sum(costs) / 570 * 100))
    assert sheet.share(sheet.lines[1].cost) == pytest.approx(float(100 * costs[1] / total))
    assert sheet.is_complete
    assert sheet.findings == ()


def test_a_volume_becomes_mass_by_the_density_of_the_library() -> None:
    density = LIBRARY.get("Glycerin").density.value  # type: ignore[union-attr]
    sheet = costed(one(("Glycerin", "100")), "100 g", PriceList("EUR", (Price("Glycerin", 500, "mL", 6),)))
    assert sheet.lines[0].per_gram == pytest.approx(6 / (500 * density))
    assert sheet.lines[0].how == "500 mL"


def test_whole_packs() -> None:
    sheet = costed(mass="6 kg", bottles=30)
    bought = {item.name: (item.packs, item.cost, round(item.left, 6)) for item in sheet.to_buy}
    assert bought == {
        "Aqua": (2, 4.20, 4360),
        "Glycerin": (1, 9.80, 760),
        "Urea": (1, 6.40, 130),
        "bottle": (2, 33.60, 18),
        "carton": (1, 7.50, 7.5),
    }
    assert sheet.outlay == pytest.approx(4.20 + 9.80 + 6.40 + 33.60 + 7.50)
    exactly = costed(one(("Urea", "100")), "250 g")
    (item,) = exactly.to_buy
    assert item.packs == 1
    assert item.left == pytest.approx(0)


def test_the_table_adds_up_as_printed() -> None:
    sheet = costed(mass="333 g", bottles=3, labour=0.333)
    table = sheet.table()
    assert list(table.columns) == ["phase", "what", "g", "EUR per kg", "cost EUR", "share %", "from"]
    assert round(table["cost EUR"].sum(), 2) == sheet.total_shown
    assert list(table["what"]) == ["Aqua", "Glycerin", "Urea", "bottle", "carton", "labour"]
    assert table["share %"].sum() == pytest.approx(100)


def test_the_table_has_no_figure_per_kg_for_what_has_no_price() -> None:
    table = costed(one(("Urea", "50"), ("Malic Acid", "50"))).table()
    assert list(table["EUR per kg"].isna()) == [False, True]


# ---- names, stocks and what has no price --------------------------------------------------------------------


def test_any_name_of_a_material_finds_its_price() -> None:
    named = PriceList("EUR", (Price("GLYCEROL", 1, "kg", 9.80), Price("Purified Water", 5, "kg", 2.10)))
    sheet = costed(one(("water", "q.s."), ("Glycerin", "4")), prices=named)
    assert sheet.is_complete
    assert sheet.lines[1].per_gram == pytest.approx(0.0098)


def test_a_name_in_no_library_finds_its_price_too() -> None:
    sheet = costed(one(("Aqua", "q.s."), ("Глицерин", "4"), ("Сахар", "1")), prices=PriceList("EUR", (
        Price("глицерин", 1, "kg", 10), Price("Aqua", 1, "kg", 1))))  # fmt: skip
    assert [line.is_known for line in sheet.lines] == [True, True, False]
    assert sheet.lines[1].per_gram == 0.01


def test_what_has_no_price_is_named_and_the_total_is_at_least() -> None:
    sheet = costed(one(("Aqua", "q.s."), ("Parfum", "1"), ("Squalane", "2"), ("Betaine", "0")))
    assert not sheet.is_complete
    (finding,) = sheet.findings
    assert finding.severity == "caution"
    assert finding.sentence == "The total is at least what is shown: there is no usable price for Parfum, Squalane."
    assert [line.is_known for line in sheet.lines] == [True, False, False, True]
    assert sheet.total == pytest.approx(sheet.lines[0].cost)


def test_a_volume_without_a_density_is_named_with_the_reason() -> None:
    own = Ingredient("My Extract", own=True)
    formula = one(("Aqua", "q.s."), ("My Extract", "1"), materials=(own,))
    sheet = costed(formula, prices=replace(PRICES, prices=(*PRICES.prices, Price("My Extract", 100, "mL", 9))))
    told = [finding.sentence for finding in sheet.findings]
    assert told[0] == "The total is at least what is shown: there is no usable price for My Extract."
    assert told[1] == (
        "My Extract is left out of the cost: it was bought by volume, 100 mL, and has no density in the library; give "
        "that, or the pack's content in g."
    )
    dense = replace(formula, materials=(replace(own, density=Figure(1.1, "own")),))
    sheet = costed(dense, prices=PriceList("EUR", (Price("My Extract", 100, "mL", 9), Price("Aqua", 1, "kg", 0))))
    assert sheet.lines[1].per_gram == pytest.approx(9 / 110)


def test_bought_again_the_newest_counts_and_is_stated() -> None:
    again = Price("glycerol", 500, "g", 6.0, bought_on="2026-05-01")
    sheet = costed(prices=replace(PRICES, prices=(again, *PRICES.prices)))
    assert sheet.lines[1].per_gram == pytest.approx(0.012)
    (finding,) = sheet.findings
    assert finding.sentence == (
        "Glycerin is in the price list 2 times; the purchase of 2026-05-01 counts: 500 g for 6.00 EUR."
    )
    assert finding.severity == "note"


def test_a_price_that_fits_no_material_is_told_with_the_nearest_name() -> None:
    odd = (*PRICES.prices, Price("Glicerine", 1, "kg", 9), Price("qqqq", 1, "kg", 9), Price("Squalane", 1, "kg", 9))
    told = [finding.sentence for finding in costed(prices=replace(PRICES, prices=odd)).findings]
    plain = "Write its INCI name, plain name or stock name."
    assert told == [
        (
            "Glicerine in the price list is no material of the library or of this formula. "
            "Did you mean Glycerin or Glycine or Diglycerin?"
        ),
        "qqqq in the price list is no material of the library or of this formula. " + plain,
    ]


ACID = Stock("Acid stock", {"Citric Acid": 10.0, "Aqua": 90.0}, density=Figure(1.04, "own"))
STRONG = Stock("Strong stock", {"Acid stock": 50.0, "Citric Acid": 50.0})


@given(st.floats(0.1, 99), st.floats(1, 50), st.floats(1, 50))
def test_a_stock_costs_what_its_contents_cost(percent: float, acid: float, water: float) -> None:
    prices = PriceList("EUR", (Price("Citric Acid", 1, "kg", acid), Price("Aqua", 1, "kg", water)))
    through = one(("Aqua", "q.s."), ("Strong stock", repr(percent)), materials=(ACID, STRONG))
    pure = one(("Aqua", "q.s."), ("Citric Acid", repr(0.55 * percent)))
    a, b = costed(through, "1000 g", prices), costed(pure, "1000 g", prices)
    assert a.total == pytest.approx(b.total, rel=1e-9)
    assert {item.name: item.needed for item in a.to_buy} == {
        item.name: pytest.approx(item.needed, rel=1e-9) for item in b.to_buy
    }
    assert a.lines[1].how == "through its contents"


def test_the_price_of_a_stock_itself_wins_over_its_contents() -> None:
    formula = one(("Aqua", "q.s."), ("Acid stock", "10"), materials=(ACID,))
    contents = (Price("Citric Acid", 1, "g", 99), Price("Aqua", 1, "kg", 0))
    prices = PriceList("EUR", (Price("acid stock", 100, "mL", 2.08), *contents))
    assert costed(formula, "100 g", prices).lines[1].cost == pytest.approx(10 * 2.08 / 104)


def test_a_stock_of_which_a_part_has_no_price_costs_at_least_the_rest() -> None:
    formula = one(("Aqua", "q.s."), ("Acid stock", "10"), materials=(ACID,))
    sheet = costed(formula, "100 g", PriceList("EUR", (Price("Aqua", 1, "kg", 10),)))
    assert sheet.lines[1].cost == pytest.approx(0.09)
    assert sheet.lines[1].is_known is False
    assert "no usable price for Citric Acid." in sheet.findings[0].sentence


def test_a_stock_inside_itself_is_refused() -> None:
    a, b = Stock("A", {"B": 100.0}), Stock("B", {"A": 100.0})
    with pytest.raises(CompositionError, match="A is made of itself: A → B → A"):
        costed(one(("A", "100"), materials=(a, b)))


def own_library(currency: str) -> Library:
    bought = Purchase(price=20.0, currency=currency, amount=1.0, unit="kg", bought_on="2026-01-05")
    return LIBRARY.with_own(Ingredient("My Oil", purchase=bought)).with_own(
        replace(present(LIBRARY.get("Urea")), purchase=bought)
    )


def test_a_price_in_her_own_library_counts_where_the_list_has_none() -> None:
    formula = one(("Aqua", "q.s."), ("My Oil", "10"), ("Urea", "2"))
    sheet = cost(weigh(formula, "100 g"), Materials(own_library("EUR")), PRICES)
    assert sheet.is_complete
    assert sheet.lines[1].per_gram == pytest.approx(0.020)
    assert sheet.lines[2].per_gram == pytest.approx(6.40 / 250)  # the list wins


def test_her_own_price_counts_before_one_of_an_invented_list_and_is_named_beside_another() -> None:
    materials = Materials(own_library("EUR"))
    formula = one(("Aqua", "q.s."), ("My Oil", "10"))
    listed = PriceList("€", (Price("My Oil", 1, "kg", 99.0), Price("Aqua", 1, "kg", 0.0)))
    sheet = cost(weigh(formula, "100 g"), materials, listed)
    assert sheet.lines[1].cost == pytest.approx(0.99)
    (said,) = [finding.sentence for finding in sheet.findings]
    assert said.startswith("My Oil costs 1 kg for 99.00 € in the price list, which counts; your own library has ")
    invented = PriceList("€", tuple(replace(price, note="invented") for price in listed.prices))
    sheet = cost(weigh(formula, "100 g"), materials, invented)
    assert sheet.lines[1].how.endswith("your own library")
    assert not [finding for finding in sheet.findings if "My Oil" in finding.sentence]


def test_a_price_in_another_currency_is_left_out_and_said_to_be() -> None:
    formula = one(("Aqua", "q.s."), ("My Oil", "10"))
    sheet = cost(weigh(formula, "100 g"), Materials(own_library("GBP")), PRICES)
    assert sheet.findings[1].sentence == (
        "My Oil is left out of the cost: in your own library its price is in GBP, and this list is in EUR."
    )


def test_without_a_list_the_currency_is_that_of_her_own_library() -> None:
    sheet = cost(weigh(one(("My Oil", "100")), "100 g"), Materials(own_library("GBP")), PriceList())
    assert sheet.currency == "GBP"
    assert sheet.total == pytest.approx(2.0)


def test_without_any_price_nothing_is_costed() -> None:
    sheet = costed(prices=PriceList())
    assert (sheet.total, sheet.currency, sheet.to_buy) == (0, "", ())
    assert sheet.share(0) == 0


# ---- what holds for any batch -------------------------------------------------------------------------------


@given(st.floats(0.05, 1e4), st.floats(1, 50), st.floats(0, 80), st.floats(0, 1000))
def test_cost_is_linear_in_the_batch(kilos: float, factor: float, waste: float, labour: float) -> None:
    small = costed(mass=f"{all_digits(kilos)} kg", waste_percent=waste, labour=labour)
    large = costed(mass=f"{all_digits(small.batch.mass * round(factor))} g", waste_percent=waste, labour=labour)
    assert large.materials_total == pytest.approx(round(factor) * small.materials_total, rel=1e-9)
    assert large.materials_per_100_g == pytest.approx(small.materials_per_100_g, rel=1e-9)
    assert large.labour == small.labour


@given(st.floats(1, 1e5), st.integers(0, 500), st.floats(0, 80), st.floats(0, 1000))
def test_the_parts_add_to_the_total_exact_and_as_printed(
    grams: float, bottles: int, waste: float, labour: float
) -> None:
    sheet = costed(mass=f"{all_digits(grams)} g", bottles=bottles or None, waste_percent=waste, labour=labour)
    parts = [line.cost for line in sheet.lines] + [item.cost for item in sheet.packaging] + [labour]
    assert sheet.total == pytest.approx(sum(parts), rel=1e-12)
    printed = sum((Fraction(repr(part)) for part in sheet.shown), Fraction(0))
    assert abs(printed - Fraction(repr(sheet.total))) <= Fraction("0.005000001")
    assert Fraction(repr(sheet.total_shown)) == printed
    assert sum(sheet.share(part) for part in parts) == pytest.approx(100)


@given(st.floats(0.1, 100), st.sampled_from([("kg", 1000.0), ("lb", 453.59237), ("oz", 28.349523125), ("mg", 0.001)]))
def test_units_do_not_matter(price: float, unit: tuple[str, float]) -> None:
    name, grams = unit
    plain = costed(one(("Urea", "100")), "100 g", PriceList("EUR", (Price("Urea", grams, "g", price),)))
    asked = costed(one(("Urea", "100")), "100 g", PriceList("GBP", (Price("Urea", 1, name, price),)))
    assert asked.total == pytest.approx(plain.total, rel=1e-12)


def test_a_kilogram_at_20_is_22046_pounds_at_20() -> None:
    in_pounds = PriceList("USD", (Price("Urea", 1000 / 453.59237, "lb", 20.0),))
    in_kilograms = PriceList("EUR", (Price("Urea", 1, "kg", 20.0),))
    a, b = (costed(one(("Urea", "100")), "100 g", prices) for prices in (in_pounds, in_kilograms))
    assert a.total == pytest.approx(b.total, rel=1e-12)
    assert b.total == 2


# ---- ranges -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"waste_percent": 100}, "Waste must be from 0 to less than 100 % of what is taken from the packs, got 100 %."),
        ({"waste_percent": -1}, "Waste must be from 0"),
        ({"waste_percent": float("nan")}, "Waste must be from 0"),
        ({"labour": -1}, "Labour must be 0 or more for the batch, got -1."),
        ({"labour": float("inf")}, "Labour must be 0 or more"),
        ({"bottles": 0}, "Count at least one bottle, or none at all; got 0."),
        ({"product": 0}, "The product must be more than 0 g, got 0 g."),
    ],
)
def test_what_is_out_of_range_says_so(more: dict[str, Any], words: str) -> None:
    with pytest.raises(RangeError, match=re.escape(words)):
        costed(**more)


def test_bottles_that_a_product_fills_and_what_is_left_over() -> None:
    assert bottles_filled(3 * 90 * 0.98, 90, 0.98) == 3
    assert bottles_filled(500, 0, 1) == bottles_filled(500, 10, 0) == 0
    assert left_over(3 * 90 * 0.98, 3, 90, 0.98) == []
    (over,) = left_over(500, 5, 90, 1.0)
    assert over.sentence == "5 bottles of 90 mL are filled and 50 g are left over: their cost is borne by the bottles."
    (none,) = left_over(50, 0, 90, 1.0)
    assert none.sentence == "50 g do not fill one bottle of 90 mL, so nothing is counted by the bottle."


def test_the_cost_of_100_g_in_words() -> None:
    assert cost_per_100_g(TONER, MATERIALS, PriceList()) is None
    assert cost_per_100_g(one(("Aqua", "50")), MATERIALS, PRICES) is None
    found = cost_per_100_g(one(("Aqua", "99"), ("Parfum", "1")), MATERIALS, PRICES)
    assert found is not None
    assert found.amount == pytest.approx(0.04158)
    assert found == Cost100(found.amount, "EUR", False)
    assert found.text == "at least 0.04 EUR"


def test_thirty_lines_are_costed_in_less_than_5_ms() -> None:
    names = [each.inci for each in LIBRARY][:30]
    formula = one(("Aqua", "q.s."), *((name, "1") for name in names[1:]))
    prices = PriceList("EUR", tuple(Price(name, 500, "g", 5) for name in names))
    batch, materials = weigh(formula, "500 g"), Materials(LIBRARY)
    best = min(_seconds(lambda: cost(batch, materials, prices).shown) for _ in range(20))
    assert best < on_this_machine(0.005)


def _seconds(work: object) -> float:
    start = time.perf_counter()
    work()  # type: ignore[operator]
    return time.perf_counter() - start


def test_the_demo_list_prices_every_line_of_the_demo() -> None:
    formula = demo()
    sheet = cost(weigh(formula, "600 g"), Materials.of(formula, LIBRARY), demo_prices(), bottles=6)
    assert sheet.is_complete
    assert 5 < sheet.total < 50
