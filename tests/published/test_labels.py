"""Labels in print: the order of ingredients, allergen levels, names and net content, from the laws themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.label.allergens import allergen_named, allergens, old_label_dates, threshold
from kit.label.content import FLUID_OUNCE, OUNCE, NetContent, content_of_volume, rounded_down
from kit.label.declaration import Choices, Declaration, declaration
from kit.label.entries import printed_name
from kit.label.label_text import label
from kit.label.particulars import Particulars
from kit.label.statements import collected, read_statement
from kit.library.description import Description
from kit.library.ingredient import Ingredient
from kit.library.library import Library

if TYPE_CHECKING:
    from kit.library.ingredient import Material


def made(*lines: tuple[str, str], kind: str = "leave-on", materials: tuple[Material, ...] = ()) -> Formula:
    phase = Phase("All", "water", tuple(Line(*line) for line in lines))
    return Formula("Case", (phase,), description=Description(product_kind=kind), materials=materials)  # type: ignore[arg-type]


def listed(formula: Formula, place: str = "eu", **choices: Any) -> Declaration:
    materials = Materials.of(formula, Library.bundled())
    return declaration(formula, materials, jurisdiction=place, choices=Choices(**choices))  # type: ignore[arg-type]


def test_article_19_descending_order_of_weight_when_added() -> None:
    """Regulation 1223/2009, Article 19(1)(g): descending weight at the time of adding; water of a solution too."""
    # 40 % of a 70 % sorbitol solution: sorbitol 28 %, water 12 % more
    formula = made(("Glycerin", "25"), ("Sorbitol (and) Aqua", "40"), ("Aqua", "q.s."), ("Urea", "5"))
    assert listed(formula).names == ("Aqua", "Sorbitol", "Glycerin", "Urea")
    assert listed(formula).entries[0].percent == pytest.approx(42.0)


@pytest.mark.parametrize(("percent", "free"), [("0.99", True), ("1.00", False), ("1.01", False)])
def test_article_19_any_order_is_for_less_than_one_percent(percent: str, free: bool) -> None:
    """Article 19(1)(g): "less than 1 %" may stand in any order, so 1.00 % still stands by weight."""
    found = listed(made(("Aqua", "q.s."), ("Betaine", "2"), ("Urea", percent)))
    assert ("Urea" in found.any_order) is free


@pytest.mark.parametrize(("percent", "free"), [("0.99", True), ("1.00", True), ("1.01", False)])
def test_21_cfr_701_3_any_order_is_for_one_percent_or_less(percent: str, free: bool) -> None:
    """21 CFR 701.3(f)(2), read in a guide to labelling: 1 % or less, in any order; here 1.00 % is free."""
    found = listed(made(("Aqua", "q.s."), ("Betaine", "2"), ("Urea", percent)), "us")
    assert ("Urea" in found.any_order) is free


def test_21_cfr_701_3_a_whole_list() -> None:
    """21 CFR 701.3(a) and (f): above 1 % by predominance, then 1 % or less in any order, then colours in any."""
    formula = made(
        ("CI 77891", "6"), ("Glycerin", "3"), ("Aqua", "q.s."), ("Parfum", "0.3"), ("Xanthan Gum", "1"), ("Urea", "0.4")
    )
    found = listed(formula, "us", small_first="alphabet")
    assert found.names == ("Water", "Glycerin", "Fragrance", "Urea", "Xanthan Gum", "Titanium Dioxide")
    assert [each.group for each in found.entries] == ["by weight"] * 2 + ["any order"] * 3 + ["colourant"]


def test_article_19_colourants_may_follow_all_others_by_colour_index_number() -> None:
    """Article 19(1)(g): colourants in any order after the other ingredients, by CI number."""
    assert listed(made(("CI 19140", "2"), ("Aqua", "q.s."), ("Urea", "0.1"))).names == ("Aqua", "Urea", "CI 19140")


def test_article_19_perfume_is_one_word_and_its_allergens_are_named_in_addition() -> None:
    """Article 19(1)(g) with Annex III: "parfum", and the listed substances besides."""
    notes = collected([read_statement("Parfum", "Limonene 0.7")])
    assert listed(made(("Aqua", "q.s."), ("Parfum", "0.5")), statements=notes).names == ("Aqua", "Parfum", "Limonene")


@pytest.mark.parametrize(("kind", "named"), [("leave-on", True), ("rinse-off", False)])
def test_half_a_percent_of_a_perfume_with_0_7_percent_limonene(kind: str, named: bool) -> None:
    """0.5 × 0.7 / 100 = 0.0035 %: above 0.001 % for leave-on, below 0.01 % for rinse-off (Annex III, entry 88)."""
    notes = collected([read_statement("Parfum", "Limonene 0.7")])
    found = listed(made(("Aqua", "q.s."), ("Parfum", "0.5"), kind=kind), statements=notes)
    inside = [each.percent for each in found.entries if each.name == "Limonene"]
    assert inside == ([pytest.approx(0.0035)] if named else [])


@pytest.mark.parametrize(
    ("kind", "parts", "named"),
    [
        ("leave-on", "Citral 0.1", False),  # 0.00100 % of the product
        ("leave-on", "Citral 0.101", True),
        ("rinse-off", "Citral 1", False),  # 0.0100 %
        ("rinse-off", "Citral 1.01", True),
    ],
)
def test_annex_iii_asks_above_the_level(kind: str, parts: str, named: bool) -> None:
    """Annex III, entry 70 and the rest: when the concentration exceeds 0.001 % (leave-on) or 0.01 % (rinse-off)."""
    found = listed(
        made(("Aqua", "q.s."), ("Parfum", "1"), kind=kind), statements=collected([read_statement("Parfum", parts)])
    )
    assert ("Citral" in found.names) is named
    assert (threshold("leave-on"), threshold("rinse-off")) == (0.001, 0.01)


@pytest.mark.parametrize(
    ("inci", "label_name", "entry"),
    [
        ("Benzyl Alcohol", "Benzyl Alcohol", 45),
        ("Linalool", "Linalool", 84),
        ("Alpha-Pinene", "Pinene", 371),
        ("Lavandula Angustifolia Oil", "Lavandula Oil/Extract", 360),
        ("Rosa Damascena Flower Oil", "Rose Flower Oil/Extract", 366),
        ("Cymbopogon Flexuosus Oil", "Lemongrass Oil", 354),
        ("Citrus Sinensis Peel Oil", "Citrus Aurantium Peel Oil", 351),
        ("Eugenyl Acetate", "Eugenyl Acetate", 368),
        ("Cedrus Atlantica Wood Oil", "Cedrus Atlantica Oil/Extract", 122),
        ("Menthol", "Menthol", 338),
    ],
)
def test_names_by_entry(inci: str, label_name: str, entry: int) -> None:
    """Annex III as exported in December 2025; names of groups as in four summaries of Regulation 2023/1545."""
    found = allergen_named(inci)
    assert found is not None
    assert (found.label_name, found.entry) == (label_name, f"Annex III, entry {entry}")
    own = Ingredient(inci, roles=("essential oil",), own=True)
    assert label_name in listed(made(("Aqua", "q.s."), (inci, "0.1"), materials=(own,))).names


def test_the_list_and_its_dates() -> None:
    """Regulation 2023/1545: 24 of the first 26 are left; old labels to 31 July 2026 and 31 July 2028."""
    assert sum(each.which == "first" for each in allergens()) == 26 - 2
    assert sum(each.which in ("first", "2023") for each in allergens()) == 81
    assert [day.isoformat() for day in old_label_dates()] == ["2026-07-31", "2028-07-31"]


@pytest.mark.parametrize(("inci", "eu", "us"), [("Aqua", "Aqua", "Water"), ("Parfum", "Parfum", "Fragrance")])
def test_names_that_the_united_states_do_not_accept(inci: str, eu: str, us: str) -> None:
    """FDA, Cosmetic Ingredient Names: not Aqua for Water nor Parfum for Fragrance."""
    assert (printed_name(inci, "eu").name, printed_name(inci, "us").name) == (eu, us)
    assert printed_name(inci, "us").firm


def test_neither_latin_nor_a_colour_number_stands_alone_in_the_united_states() -> None:
    """FDA, Cosmetic Ingredient Names: neither botanical Latin alone nor a CI number alone."""
    found = listed(made(("Aqua", "q.s."), ("Prunus Armeniaca Kernel Oil", "5"), ("CI 42090", "0.01")), "us")
    assert "(Apricot)" in found.names[1]
    assert not found.names[2].startswith("CI ")


@pytest.mark.parametrize(("millilitres", "asked"), [(4.99, False), (5.0, False), (5.1, False)])
def test_the_content_is_given_even_where_article_19_does_not_ask(millilitres: float, asked: bool) -> None:
    """Article 19(1)(b): nominal content by weight or volume, not needed below 5 g or 5 mL; the kit gives it anyhow."""
    content = content_of_volume(millilitres, 1.0)
    assert content.is_small is (millilitres < 5)
    found = label(Formula(), Materials.of(Formula(), Library.bundled()), content=content)
    assert ("content" in {each.field for each in found.missing}) is asked
    assert "mL" in found.text


@pytest.mark.parametrize(("fluid_ounces", "millilitres"), [(1, 29.5735), (16, 473.177), (32, 946.353), (128, 3785.41)])
def test_fluid_ounces_pints_quarts_and_gallons(fluid_ounces: int, millilitres: float) -> None:
    """16 CFR 500.19: 1 fl oz = 29.5735 mL, 1 pint = 473.177 mL, 1 quart = 946.353 mL, 1 gallon = 3.785 41 L."""
    assert fluid_ounces * FLUID_OUNCE == pytest.approx(millilitres, abs=0.01)


@pytest.mark.parametrize(("ounces", "grams"), [(1, 28.3495), (16, 453.592)])
def test_ounces_and_pounds(ounces: int, grams: float) -> None:
    """16 CFR 500.19: 1 ounce = 28.3495 g, 1 pound = 453.592 g."""
    assert ounces * OUNCE == pytest.approx(grams, abs=0.001)


def test_a_liquid_by_fluid_measure_and_a_paste_by_weight() -> None:
    """21 CFR 701.13, as quoted: fluid measure if liquid, weight if solid, viscous or a mixture of the two."""
    assert NetContent(57.0, 60.0, "volume").text("us").startswith("2.02 fl oz (60 mL)")  # 60 / 29.5735 = 2.0288
    assert NetContent(57.0, 60.0, "weight").text("us").startswith("Net Wt 2.01 oz (57 g)")  # 57 / 28.3495 = 2.0106


@pytest.mark.parametrize(
    ("amount", "shown"), [(128.9, "128"), (100.0, "100"), (99.9, "99"), (9.99, "9.9"), (1234.5, "1230")]
)
def test_two_figures_below_100_and_three_from_there_never_more_than_is_there(amount: float, shown: str) -> None:
    """16 CFR 500.19(b): three figures, two below 100; NIST: a rounded figure may not overstate the content."""
    assert rounded_down(amount) == shown
    assert float(shown) <= amount


@pytest.mark.parametrize(("months", "asked"), [(12, "best_before"), (30, "best_before"), (31, "period_after_opening")])
def test_article_19_a_date_up_to_30_months_else_a_period_after_opening(months: int, asked: str) -> None:
    """Article 19(1)(c): above 30 months no date is needed, and a period after opening stands in its place."""
    formula = made(("Aqua", "100"))
    found = label(
        formula, Materials.of(formula, Library.bundled()), details=Particulars(durability_months=float(months))
    )
    fields = {each.field for each in found.missing}
    assert fields & {"best_before", "period_after_opening"} == {asked}


def test_21_cfr_740_10_the_statement_stands_word_for_word() -> None:
    """21 CFR 740.10(a): what a label says while safety is not substantiated; the kit asks for it in these words."""
    formula = made(("Aqua", "100"))
    found = label(formula, Materials.of(formula, Library.bundled()), jurisdiction="us")
    (asked,) = [each for each in found.missing if each.field == "warnings"]
    assert "Warning—The safety of this product has not been determined." in asked.what
