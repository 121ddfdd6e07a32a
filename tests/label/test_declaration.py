"""Every substance stands once, in the order of the law, with its reason."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.demos import demo, demo_names
from kit.formula.expansion import Materials, expand
from kit.formula.model import Formula, Line, Phase
from kit.label.declaration import declaration
from kit.label.gathering import scented_materials
from kit.library.ingredient import Ingredient, Stock
from tests.label.made import LAVENDER, LIBRARY, certificate, entry, listed, product, said
from tests.pace import on_this_machine

if TYPE_CHECKING:
    from kit.label.declaration import Declaration

SUBSTANCES = [each.inci for each in LIBRARY if not each.composition and "fragrance" not in each.roles]


# ---- properties -------------------------------------------------------------------------------------------


@st.composite
def amounts(draw: st.DrawFn) -> dict[str, int]:
    """Substances and hundredths of a percent of each, together 100 %; small and equal ones on purpose."""
    names = draw(st.lists(st.sampled_from(SUBSTANCES), min_size=2, max_size=10, unique=True))
    sizes = st.sampled_from([1, 5, 20, 99, 100, 101, 250, 700])
    first = [draw(sizes) for _ in names[:-1]]
    return dict(zip(names, [*first, 10_000 - sum(first)], strict=True))


@st.composite
def supplied(draw: st.DrawFn) -> tuple[Formula, Formula]:
    """One product twice: all of it pure, and part of it by way of a stock within a blend."""
    whole = draw(amounts())
    parts = {name: draw(st.integers(0, size)) for name, size in whole.items()}
    dissolved = sum(parts.values())
    pure = product(*((name, f"{size / 100!r} %") for name, size in whole.items()))
    if dissolved == 0:
        return pure, pure
    stock = Stock("Stock of them", {name: 100 * size / dissolved for name, size in parts.items()})
    blend = Ingredient("Blend of it", composition={"Stock of them": 100.0}, own=True)
    rest = [(name, f"{(size - parts[name]) / 100!r} %") for name, size in whole.items()]
    through = draw(st.sampled_from(["Stock of them", "Blend of it"]))
    mixed = product(*draw(st.permutations([*rest, (through, f"{dissolved / 100!r} %")])), materials=(stock, blend))
    return pure, mixed


@settings(max_examples=300, deadline=None)
@given(supplied(), st.sampled_from(["eu", "us"]))
def test_it_does_not_matter_how_a_substance_is_supplied(both: tuple[Formula, Formula], place: str) -> None:
    pure, mixed = (listed(formula, place) for formula in both)
    assert mixed.names == pure.names
    assert [each.group for each in mixed.entries] == [each.group for each in pure.entries]
    assert [each.percent for each in mixed.entries] == pytest.approx([each.percent for each in pure.entries], abs=1e-9)


def order_holds(found: Declaration) -> bool:
    """By weight falls, then any order, then colourants."""
    groups = [each.group for each in found.entries]
    weights = [each.percent for each in found.entries if each.group == "by weight"]
    in_turn = groups == sorted(groups, key=("by weight", "any order", "colourant").index)
    return in_turn and all(a >= b - 1e-9 for a, b in itertools.pairwise(weights))


@settings(max_examples=300, deadline=None)
@given(amounts(), st.sampled_from(["eu", "us"]), st.sampled_from(["leave-on", "rinse-off"]))
def test_each_substance_stands_once_and_nothing_is_lost(whole: dict[str, int], place: str, kind: str) -> None:
    formula = product(*((name, f"{size / 100!r} %") for name, size in whole.items()), kind=kind)
    found = listed(formula, place)
    assert len(set(found.names)) == len(found.names)
    assert sum(each.percent for each in found.entries if not each.within) == pytest.approx(100, abs=1e-9)
    assert all(sum(each.lines.values()) == pytest.approx(each.percent) for each in found.entries)
    assert order_holds(found)
    limit = 1.0
    for each in found.entries:
        if each.group == "any order":
            assert each.percent < limit - 1e-10 if place == "eu" else each.percent <= limit + 1e-9
        if each.group == "by weight":
            assert each.percent >= limit - 1e-9 if place == "eu" else each.percent > limit + 1e-10


@pytest.mark.parametrize("name", demo_names())
@pytest.mark.parametrize("place", ["eu", "us"])
def test_the_demo_formulas_are_declared_whole(name: str, place: str) -> None:
    formula = demo(name)
    found = listed(formula, place)
    assert order_holds(found)
    assert len(set(found.names)) == len(found.names)
    inside = sum(each.percent for each in found.entries if not each.within)
    assert inside == pytest.approx(sum(expand(formula, Materials.of(formula, LIBRARY)).values()))


# ---- worked by hand ---------------------------------------------------------------------------------------


def test_the_after_swim_body_shake_by_hand() -> None:
    # water: q.s. 74.4 + half of 2 % sodium PCA solution + 89.8 % of 3.5 % stock = 74.4 + 1 + 3.143
    # sorbate: 0.2 + 0.2 % of 3.5 % stock; citric acid: 10 % of 3.5 %
    found = listed(demo())
    assert [(each.name, round(each.percent, 4)) for each in found.entries] == [
        ("Aqua", 78.543),
        ("Coco-Caprylate", 9.6),
        ("Prunus Armeniaca Kernel Oil", 5.0),
        ("Glycerin", 4.0),
        ("Sodium PCA", 1.0),
        ("Sodium Chloride", 0.5),
        ("Sodium Benzoate", 0.4),
        ("Citric Acid", 0.35),
        ("Tocopherol", 0.3),
        ("Potassium Sorbate", 0.207),
        ("Parfum", 0.1),
    ]


def test_water_of_all_stocks_is_one_entry_with_its_reason() -> None:
    assert entry(listed(demo()), "Aqua").reason == (
        "78.54 % w/w: 74.4 % from the line Aqua, 3.143 % from the line Citric Acid 10 % stock and 1 % from the line "
        "Sodium PCA (and) Aqua. 1 % or more: its place is by weight."
    )


def test_the_text_is_headed_by_the_word_for_ingredients() -> None:
    assert listed(product(("Aqua", "95"), ("Glycerin", "5"))).text == "Ingredients: Aqua, Glycerin"
    assert listed(Formula()).text == ""


def test_nothing_is_lost_of_a_composition_that_is_a_hair_short() -> None:
    thirds = Stock("Thirds", {"Glycerin": 33.3333333, "Urea": 33.3333333, "Betaine": 33.3333333})
    found = listed(product(("Thirds", "100"), materials=(thirds,)))
    assert sum(each.percent for each in found.entries) == pytest.approx(100, abs=1e-9)


# ---- one percent ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("percent", "place", "group"),
    [
        ("0.999", "eu", "any order"),
        ("1", "eu", "by weight"),
        ("1.001", "eu", "by weight"),
        ("0.999", "us", "any order"),
        ("1", "us", "any order"),
        ("1.001", "us", "by weight"),
    ],
)
def test_exactly_one_percent_is_by_weight_in_europe_only(percent: str, place: str, group: str) -> None:
    found = entry(listed(product(("Aqua", "q.s."), ("Glycerin", percent)), place), "Glycerin")
    assert found.group == group


def test_the_reason_says_what_exactly_one_percent_means() -> None:
    formula = product(("Aqua", "q.s."), ("Glycerin", "1"))
    assert "1 % or more (exactly 1 % still is not less than 1 %)" in entry(listed(formula), "Glycerin").reason
    assert "1 % or less (exactly 1 % does not exceed 1 %)" in entry(listed(formula, "us"), "Glycerin").reason


def test_a_stock_that_brings_one_percent_in_parts_counts_as_one_percent() -> None:
    thirds = Stock("Thirds", {"Glycerin": 100 / 3, "Aqua": 200 / 3})
    found = listed(product(("Aqua", "q.s."), ("Thirds", "2.1"), ("Glycerin", "0.3"), materials=(thirds,)))
    assert entry(found, "Glycerin").group == "by weight"


SMALL = product(("Aqua", "q.s."), ("Urea", "0.2"), ("Panthenol", "0.5"), ("Allantoin", "0.1"), ("Betaine", "2"))


@pytest.mark.parametrize(
    ("wanted", "order"),
    [
        ("weight", ("Panthenol", "Urea", "Allantoin")),
        ("alphabet", ("Allantoin", "Panthenol", "Urea")),
        (("urea",), ("Urea", "Panthenol", "Allantoin")),
        (("Allantoin", "Urea", "Panthenol"), ("Allantoin", "Urea", "Panthenol")),
    ],
)
def test_the_small_ones_stand_as_the_maker_likes(wanted: str | tuple[str, ...], order: tuple[str, ...]) -> None:
    found = listed(SMALL, small_first=wanted)
    assert found.names == ("Aqua", "Betaine", *order)
    assert found.any_order == order


def test_her_order_may_be_written_in_inci_names_for_either_place() -> None:
    formula = product(("Aqua", "q.s."), ("Urea", "0.5"), ("Parfum", "0.1"))
    for wanted in ("Parfum", "fragrance"):
        assert listed(formula, "us", small_first=(wanted,)).names == ("Water", "Fragrance", "Urea")
    assert listed(formula, small_first=("Parfum",)).names == ("Aqua", "Parfum", "Urea")


def test_what_has_its_place_by_weight_cannot_be_moved() -> None:
    found = listed(SMALL, small_first=("Betaine", "Urea"))
    assert found.names == ("Aqua", "Betaine", "Urea", "Panthenol", "Allantoin")
    assert said(found) == ["note: Betaine is not among those that may stand in any order, so it keeps its place."]


# ---- perfumes ---------------------------------------------------------------------------------------------


def test_a_perfume_made_of_many_things_is_one_word() -> None:
    rose = Ingredient(
        "Rose scent (invented)",
        roles=("fragrance",),
        composition={"Geraniol": 10.0, "Citronellol": 0.1, "Triethyl Citrate": 89.9},
        own=True,
    )
    found = listed(product(("Aqua", "q.s."), ("Rose scent (invented)", "0.2"), materials=(rose,)))
    # geraniol 10 % of 0.2 = 0.02 %; citronellol 0.1 % of 0.2 = 0.0002 %, below 0.001
    assert found.names == ("Aqua", "Parfum", "Geraniol")
    assert entry(found, "Geraniol").within
    assert entry(found, "Geraniol").percent == pytest.approx(0.02)
    assert entry(found, "Parfum").percent == pytest.approx(0.2)
    assert found.findings == ()


@pytest.mark.parametrize("role", ["perfume", "Fragrance", "parfum"])
def test_a_bought_perfume_is_one_word_by_its_role(role: str) -> None:
    bought = Ingredient("Morning hedge", roles=(role,), phase="oil", own=True)
    found = listed(product(("Aqua", "q.s."), ("Morning hedge", "0.5"), materials=(bought,)))
    assert found.names == ("Aqua", "Parfum")


def test_a_perfume_in_a_blend_is_found_there() -> None:
    base = Ingredient("Scented base (invented)", composition={"Glycerin": 90.0, "Parfum": 10.0}, own=True)
    formula = product(("Aqua", "q.s."), ("Scented base (invented)", "10"), materials=(base,))
    found = listed(formula, statements=certificate(Parfum="Limonene 2"))
    assert found.names == ("Aqua", "Glycerin", "Parfum", "Limonene")
    assert entry(found, "Parfum").percent == pytest.approx(1.0)
    assert scented_materials(formula, Materials.of(formula, LIBRARY)) == ["Parfum"]


def test_essential_oils_can_be_counted_as_perfume() -> None:
    formula = product(("Aqua", "q.s."), ("Parfum", "0.1"), (LAVENDER.inci, "0.1"), materials=(LAVENDER,))
    notes = certificate(Parfum="none", Lavandula_Angustifolia_Oil="Linalool 30")
    apart = listed(formula, statements=notes)
    together = listed(formula, statements=notes, perfume=(LAVENDER.inci,))
    assert apart.names == ("Aqua", "Lavandula Oil/Extract", "Parfum", "Linalool")
    assert together.names == ("Aqua", "Parfum", "Lavandula Oil/Extract", "Linalool")
    assert entry(together, "Parfum").percent == pytest.approx(0.2)
    assert entry(together, "Lavandula Oil/Extract").within


def test_an_allergen_alone_and_in_the_perfume_stands_once() -> None:
    formula = product(("Aqua", "q.s."), ("Parfum", "0.1"), ("Linalool", "0.0005"))
    found = listed(formula, statements=certificate(Parfum="Linalool 1"))
    assert found.names == ("Aqua", "Parfum", "Linalool")
    linalool = entry(found, "Linalool")
    assert not linalool.within
    assert linalool.percent == pytest.approx(0.0005)
    assert "With what came inside perfumes and oils there is 0.0015 % of it." in linalool.reason


def test_the_oil_of_a_composition_in_the_library_stays_one_ingredient() -> None:
    oil = Ingredient(
        "Citrus Limon Peel Oil",
        roles=("essential oil",),
        composition={"Limonene": 65.0, "Other terpenes": 35.0},
        phase="oil",
        own=True,
    )
    found = listed(product(("Aqua", "q.s."), (oil.inci, "0.2"), materials=(oil,)))
    assert found.names == ("Aqua", "Citrus Limon Peel Oil", "Limonene")
    assert said(found) == []


@pytest.mark.parametrize("name", ["Parfum", "Rosa Damascena Flower Water", "Juniperus Virginiana Oil"])
def test_a_scent_without_a_certificate_is_never_passed_over_in_silence(name: str) -> None:
    found = listed(product(("Aqua", "q.s."), (name, "1")))
    assert (
        f"caution: Nothing is known about the allergens in {name}. Ask its supplier for the allergen statement and "
        "note what it says; until then allergens may be missing from the list."
    ) in said(found)


def test_a_certificate_that_says_none_is_enough() -> None:
    assert said(listed(product(("Aqua", "q.s."), ("Parfum", "1")), statements=certificate(Parfum="none"))) == []


def test_the_united_states_name_no_allergens() -> None:
    formula = product(("Aqua", "q.s."), ("Parfum", "1"))
    found = listed(formula, "us", statements=certificate(Parfum="Limonene 50"))
    assert found.names == ("Water", "Fragrance")
    assert said(listed(formula, "us"), "allergen") == []


def test_an_allergen_that_was_struck_off_is_told_from_memory() -> None:
    found = listed(product(("Aqua", "q.s."), ("Parfum", "1")), statements=certificate(Parfum="HICC 1"))
    assert said(found) == [
        (
            "caution: Hydroxyisohexyl 3-Cyclohexene Carboxaldehyde is no longer among the fragrance allergens of Annex "
            "III; it is remembered as prohibited in the European Union. Ask the supplier for a perfume without it."
        )
    ]
    assert "From memory" in found.findings[0].source


# ---- what the maker says ----------------------------------------------------------------------------------


def test_what_is_no_ingredient_is_left_out_and_told() -> None:
    found = listed(SMALL, left_out={"urea": "impurity of the panthenol"})
    assert "Urea" not in found.names
    assert said(found) == [
        (
            "note: Urea (0.2 %) is left out: impurity of the panthenol. Only impurities of raw materials, and aids "
            "that are no longer in the product, are no ingredients."
        )
    ]


def test_a_nanomaterial_is_marked_in_europe() -> None:
    formula = product(("Aqua", "q.s."), ("CI 77891", "5"))
    assert listed(formula, nano=("CI 77891",)).names == ("Aqua", "CI 77891 (nano)")
    assert listed(formula, "us", nano=("CI 77891",)).names == ("Water", "Titanium Dioxide")


# ---- colourants and names ---------------------------------------------------------------------------------


def test_colourants_stand_last_whatever_they_weigh() -> None:
    formula = product(("CI 42090", "3"), ("Aqua", "q.s."), ("Urea", "0.1"), ("CI 17200", "0.01"))
    assert listed(formula).names == ("Aqua", "Urea", "CI 42090", "CI 17200")
    assert listed(formula, "us").names == ("Water", "Urea", "Blue 1", "Red 33")


def test_colours_of_one_name_are_one_entry() -> None:
    found = listed(product(("Aqua", "q.s."), ("CI 77491", "1"), ("CI 77499", "0.5")), "us")
    assert found.names == ("Water", "Iron Oxides")
    assert entry(found, "Iron Oxides").percent == pytest.approx(1.5)


@pytest.mark.parametrize("typed", ["ci 42090", "CI42090", "CI 42090:2"])
def test_a_colour_index_number_is_printed_in_one_way(typed: str) -> None:
    assert listed(product(("Aqua", "q.s."), (typed, "0.1"))).names == ("Aqua", "CI 42090")


def test_a_name_from_memory_says_so() -> None:
    found = listed(product(("Aqua", "q.s."), ("CI 42090", "0.1")), "us")
    assert said(found, "Blue 1") == ["note: Blue 1 stands for CI 42090 from memory. Look it up before you print it."]
    assert said(found, "Water") == []


def test_the_inci_name_is_printed_for_any_name_that_was_typed() -> None:
    assert listed(product(("water", "q.s."), ("glycerine", "5"), ("vitamin E", "0.1"))).names == (
        "Aqua",
        "Glycerin",
        "Tocopherol",
    )


# ---- what is not known ------------------------------------------------------------------------------------


def test_an_unknown_name_is_printed_and_questioned() -> None:
    found = listed(product(("Aqua", "q.s."), ("Snowmelt", "2")))
    assert found.names == ("Aqua", "Snowmelt")
    assert said(found) == ["caution: Snowmelt is not in the library. Check that this is its INCI name."]


def test_a_mixture_without_its_parts_stops() -> None:
    found = listed(product(("Aqua", "q.s."), ("Zinc Something (and) Aqua", "2")))
    assert said(found, "mixture") == [
        "stop: Zinc Something (and) Aqua is a mixture whose parts are not known. Give its composition in the library."
    ]


def test_a_loop_is_told_and_nothing_is_declared() -> None:
    loop = (Stock("A", {"B": 100}), Stock("B", {"A": 100}))
    found = listed(product(("Aqua", "q.s."), ("A", "2"), materials=loop))
    assert found.entries == ()
    assert said(found) == ["stop: A is made of itself: A → B → A. Take it out of one of these compositions."]


def test_amounts_that_are_not_there_yet_are_told() -> None:
    found = listed(product(("Aqua", "80"), ("Glycerin", "some"), ("Urea", ""), ("", "3")))
    assert found.names == ("Aqua",)
    assert said(found) == [
        "stop: Glycerin has no amount that can be used, so it is not in the list.",
        "stop: Urea has no amount that can be used, so it is not in the list.",
        "stop: 3 % has no ingredient yet, so it is not in the list.",
        "stop: The formula adds to 83 %, so the order may change yet.",
    ]


def test_a_place_beside_the_finding() -> None:
    found = listed(product(("Aqua", "q.s."), ("Snowmelt", "2")))
    assert (found.findings[0].place.phase, found.findings[0].place.line) == (0, 1)


# ---- close places -----------------------------------------------------------------------------------------


def test_equals_stand_by_the_alphabet_and_say_so() -> None:
    found = listed(product(("Aqua", "q.s."), ("Urea", "5"), ("Glycerin", "5")))
    assert found.names == ("Aqua", "Glycerin", "Urea")
    assert said(found) == [
        "note: Glycerin and Urea weigh the same (5 %): either may stand first. They stand by the alphabet."
    ]


def test_a_place_that_rests_on_less_than_a_weighing_says_so() -> None:
    formula = product(("Aqua", "q.s."), ("Urea", "5.02"), ("Glycerin", "5"))
    assert said(listed(formula, weighing_error=1)) == [
        "note: Urea stands before Glycerin by 0.02 %: weighings that are off by 1 % could swap the two."
    ]
    assert said(listed(formula, weighing_error=0.1)) == []
    assert said(listed(formula)) == []


def test_one_percent_within_a_weighing_matters_only_out_of_order() -> None:
    formula = product(("Aqua", "q.s."), ("Urea", "0.995"), ("Allantoin", "0.1"))
    assert said(listed(formula, weighing_error=1)) == []
    assert said(listed(formula, weighing_error=1, small_first="alphabet")) == [
        (
            "note: Urea is at 0.995 %: a weighing that is off by 1 % could bring it to 1 %, where its place is by "
            "weight. Let the small ones stand by weight to be on the strict side."
        )
    ]


def test_in_the_united_states_it_matters_above_one_percent() -> None:
    formula = product(("Aqua", "q.s."), ("Urea", "1"), ("Allantoin", "0.1"))
    assert said(listed(formula, "us", weighing_error=1, small_first="alphabet")) == [
        (
            "note: Urea is at 1 %: a weighing that is off by 1 % could bring it above 1 %, where its place is by "
            "weight. Let the small ones stand by weight to be on the strict side."
        )
    ]


# ---- hostile and quick ------------------------------------------------------------------------------------


def test_a_name_cannot_break_the_line_or_turn_it_round() -> None:
    found = listed(product(("Aqua", "q.s."), ("Gly\ncerin\u202e \x07nirecylg", "2")))
    assert found.text == "Ingredients: Aqua, Gly cerin nirecylg"
    assert "\u202e" not in found.entries[1].reason


def test_thirty_lines_are_declared_within_20_ms() -> None:
    from time import perf_counter

    names = SUBSTANCES[:28]
    lines = (Line("Aqua", "q.s."), *(Line(name, "0.5") for name in names), Line("Citric Acid 10 % stock", "3"))
    formula = Formula("Long", (Phase("Water layer", "water", lines),), materials=demo().materials)
    assert len(lines) == 30
    times = []
    for _ in range(9):
        materials = Materials.of(formula, LIBRARY)
        start = perf_counter()
        declaration(formula, materials)
        times.append(perf_counter() - start)
    assert sorted(times)[4] < on_this_machine(0.020)
