"""Prices, packs and money: units, validation, and the list that holds them."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.price import PackItem, Price, pack_unit
from kit.bench.price_list import PriceList, Purchase, names_in, newest, typed_of, with_typed
from kit.errors import EntryError, KitError, RangeError, UnitError
from kit.money import decimals, is_currency, money, read_money, rounded, shared_out

#: International avoirdupois pound and US customary fluid ounce and gallon, exact (NIST Handbook 44, appendix C).
POUND, US_FLUID_OUNCE, US_GALLON = 453.59237, 29.5735295625, 3785.411784


@pytest.mark.parametrize(
    ("unit", "base", "size"),
    [
        ("g", "g", 1),
        ("KG", "g", 1000),
        ("mg", "g", 0.001),
        ("lb", "g", POUND),
        ("lbs", "g", POUND),
        ("oz", "g", POUND / 16),
        ("L", "mL", 1000),
        ("Liter", "mL", 1000),
        ("ml", "mL", 1),
        ("cl", "mL", 10),
        ("fl oz", "mL", US_FLUID_OUNCE),
        ("fl.  oz.", "mL", US_FLUID_OUNCE),
        ("gal", "mL", US_GALLON),
    ],
)
def test_the_units_of_a_bill(unit: str, base: str, size: float) -> None:
    found, amount = pack_unit(unit)
    assert found == base
    assert amount == pytest.approx(size, rel=1e-12)


@pytest.mark.parametrize("unit", ["box", "m", "°C", "", "Mg", "g/mL", "pieces", "<b>", "500 g", "x 500 g", "½ L"])
def test_what_is_no_unit_of_a_pack_is_refused_with_those_that_are(unit: str) -> None:
    with pytest.raises(UnitError, match="is not a unit in which a material is bought"):
        Price("Glycerin", 1, unit, 5)


def test_a_pack_by_mass_and_by_volume() -> None:
    assert Price("Glycerin", 2.5, "kg", 20).grams() == 2500
    assert Price("Glycerin", 500, "mL", 6).grams() is None
    assert Price("Glycerin", 500, "mL", 6).grams(density=1.26) == pytest.approx(630)
    assert Price("Glycerin", 500, "mL", 6).by_volume
    assert Price("Glycerin", 1.5, "lb", 6).pack == "1.5 lb"


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        ({"material": " "}, "A price needs the name of what was bought."),
        ({"amount": 0}, "Glycerin: an amount of 0 g cannot be bought. Give more than 0."),
        ({"amount": float("inf")}, "an amount of inf g cannot be bought"),
        ({"amount": float("nan")}, "an amount of nan g cannot be bought"),
        ({"amount": 1e-300}, "an amount of 1e-300 g cannot be bought"),
        ({"price": -1}, "Glycerin: a price of -1 is not possible. Give what was paid, 0 or more."),
        ({"price": float("nan")}, "a price of nan is not possible"),
        ({"price": 1e300}, "a price of 1e+300 is not possible"),
        ({"bought_on": "14.3.2026"}, "'14.3.2026' is not a date. Write year-month-day, such as 2026-03-14."),
        ({"bought_on": "2026-02-30"}, "'2026-02-30' is not a date."),
        ({"bought_on": "20260314"}, "'20260314' is not a date."),
    ],
)
def test_a_price_that_cannot_be_says_so(bad: dict[str, object], words: str) -> None:
    values = {"material": "Glycerin", "amount": 100, "unit": "g", "price": 5, **bad}
    with pytest.raises(RangeError, match=re.escape(words)):
        Price(**values)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        ({"name": ""}, "needs the name"),
        ({"pieces": 0}, "bottle: 0 pieces in the pack is not possible. Give more than 0."),
        ({"per_bottle": -1}, "bottle: -1 pieces for each bottle is not possible."),
        ({"price": -2}, "a price of -2 is not possible"),
    ],
)
def test_packaging_that_cannot_be_says_so(bad: dict[str, object], words: str) -> None:
    with pytest.raises(RangeError, match=re.escape(words)):
        PackItem(**{"name": "bottle", "pieces": 24, "price": 12, **bad})  # type: ignore[arg-type]


def test_one_piece() -> None:
    assert PackItem("bottle", 24, 12).each == 0.5


def test_the_newest_purchase_counts_and_the_last_of_the_same_day() -> None:
    undated, old, new, again = (
        Price("Glycerin", 1, "kg", price, bought_on=day)
        for price, day in ((1, ""), (2, "2025-12-31"), (3, "2026-01-02"), (4, "2026-01-02"))
    )
    assert newest([new, old, undated]) is new
    assert newest([old, new, again, undated]) is again
    assert newest([undated, old]) is old


def test_a_list_takes_in_a_purchase_and_replaces_one_of_the_same_day() -> None:
    prices = PriceList("EUR", (Price("Glycerin", 1, "kg", 9, bought_on="2026-01-01"),), (PackItem("cap", 10, 2),))
    later = prices.with_price(Price("glycerin", 1, "kg", 11, bought_on="2026-02-01"))
    assert [price.price for price in later.prices] == [9, 11]
    assert [
        price.price for price in later.with_price(Price("GLYCERIN", 1, "kg", 12, bought_on="2026-02-01")).prices
    ] == [
        9,
        12,
    ]
    assert later.with_packaging(PackItem("Cap", 20, 3)).packaging == (PackItem("Cap", 20, 3),)
    assert later.without("GLYCERIN").prices == ()
    assert later.without("cap").packaging == ()
    assert prices.prices[0].price == 9


def test_a_list_needs_a_currency_that_is_one() -> None:
    with pytest.raises(RangeError, match="The prices have no currency"):
        PriceList("", (Price("Glycerin", 1, "kg", 9),))
    with pytest.raises(RangeError, match="'12' is not a currency"):
        PriceList("12")
    assert PriceList().currency == ""
    assert not PriceList("EUR", (Price("Glycerin", 1, "kg", 9),)).is_invented
    assert PriceList("EUR", (), (PackItem("cap", 1, 1, note="Invented."),)).is_invented


@pytest.mark.parametrize("text", ["EUR", "€", "kr", "Fr.", "zł", "₹", "R$"])
def test_what_can_be_a_currency(text: str) -> None:
    assert is_currency(text)


@pytest.mark.parametrize("text", ["", "12", "E1", "a price", "=A1", "<b>", "pounds", "."])
def test_what_cannot_be_a_currency(text: str) -> None:
    assert not is_currency(text)


@pytest.mark.parametrize(
    ("text", "amount", "currency"),
    [
        ("12,50", 12.5, ""),
        ("12.50 EUR", 12.5, "EUR"),
        ("EUR 12.50", 12.5, "EUR"),
        ("€12,5", 12.5, "€"),
        ("1.234,50 €", 1234.5, "€"),
        ("Fr. 3", 3.0, "Fr."),
        ("1 234.50 kr", 1234.5, "kr"),
        ("0", 0.0, ""),
    ],
)
def test_money_as_people_write_it(text: str, amount: float, currency: str) -> None:
    assert read_money(text) == (amount, currency)


@pytest.mark.parametrize("text", ["", "a lot", "12 EUR EUR", "EUR 12 EUR", "12..5", "1,2,3", "12 pounds"])
def test_what_is_no_money_is_refused(text: str) -> None:
    with pytest.raises(EntryError):
        read_money(text)


def test_money_is_shown_with_the_decimals_of_its_currency() -> None:
    assert [money(1234.5, currency) for currency in ("EUR", "€", "JPY", "KWD", "")] == [
        "1234.50 EUR",
        "1234.50 €",
        "1234 JPY",
        "1234.500 KWD",
        "1234.50",
    ]
    assert (decimals("EUR"), rounded(0.125, "EUR")) == (2, 0.12)


@given(st.lists(st.floats(0, 1e5), max_size=20), st.sampled_from(["EUR", "JPY", "KWD"]))
def test_shared_out_amounts_add_to_their_sum_and_none_is_off_by_a_whole_step(
    amounts: list[float], currency: str
) -> None:
    shown = shared_out(amounts, currency)
    unit = Fraction(1, 10 ** decimals(currency))
    exact = sum((Fraction(repr(amount)) for amount in amounts), Fraction(0))
    assert abs(sum((Fraction(repr(one)) for one in shown), Fraction(0)) - exact) <= unit / 2
    assert all(abs(Fraction(repr(a)) - Fraction(repr(b))) < unit for a, b in zip(shown, amounts, strict=True))


def test_what_is_typed_in_the_boxes_joins_the_list_and_stands_there_again() -> None:
    prices = with_typed(PriceList(), Purchase("Glycerin", "1 kg", "9,80 EUR", "", "L7", "2026-02-01", "the shop"))
    assert prices == PriceList("EUR", (Price("Glycerin", 1, "kg", 9.8, "L7", "2026-02-01", "the shop"),))
    prices = with_typed(prices, Purchase("bottle", "24 pieces", "12", "2"))
    assert prices.packaging == (PackItem("bottle", 24, 12, 2),)
    assert names_in(prices) == ["Glycerin", "bottle"]
    for name in ("glycerin", "BOTTLE"):
        assert with_typed(prices, typed_of(prices, name)) == prices
    assert typed_of(prices, " Urea ") == Purchase("Urea")
    assert typed_of(PriceList("EUR", (Price("A", 1, "kg", 0.12345),)), "A").price == "0.12345 EUR"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (Purchase("", "1 kg", "5"), "Say what was bought too"),
        (Purchase("Urea", "", "5"), "Say the pack too"),
        (Purchase("Urea", "1 kg", " "), "Say the price too"),
        (Purchase("Urea", "5", "5"), "'5' has no unit. Write what the pack holds, such as 500 g, 1 L or 24 pieces."),
        (Purchase("Urea", "5 boxes", "5"), "'boxes' is not a unit in which a material is bought"),
        (Purchase("Urea", "a box", "5"), "does not start with a number"),
        (Purchase("Urea", "1 kg", "5 GBP"), "This list is in EUR. Turn the price into it"),
        (Purchase("Urea", "1 kg", "five"), "is not a number"),
        (Purchase("Urea", "1 kg", "5", "1"), "Only what is bought in pieces goes with each bottle"),
        (Purchase("cap", "9 pieces", "5", "x"), "is not a number"),
        (Purchase("Urea", "1 kg", "5", bought_on="today"), "'today' is not a date"),
        (Purchase("Urea", "-1 kg", "5"), "cannot be bought"),
    ],
)
def test_what_cannot_be_read_from_the_boxes_says_what_to_type(typed: Purchase, words: str) -> None:
    with pytest.raises(KitError, match=re.escape(words)):
        with_typed(PriceList("EUR", (Price("Glycerin", 1, "kg", 9),)), typed)


def test_capitals_of_a_currency_make_no_difference_in_the_box() -> None:
    found = with_typed(PriceList("EUR"), Purchase("Urea", "1 kg", "5 eur"))
    assert (found.currency, found.prices[0].price) == ("EUR", 5)


def test_the_first_price_brings_the_currency() -> None:
    with pytest.raises(EntryError, match="The list has no currency yet"):
        with_typed(PriceList(), Purchase("Urea", "1 kg", "5"))
