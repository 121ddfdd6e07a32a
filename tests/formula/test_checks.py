"""What the kit says while a formula is being written, and that it never falls silent by falling over."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from kit.findings import SEVERITIES, Place
from kit.formula.asked_stocks import asked_stock, asked_stocks
from kit.formula.checks import CHALLENGE_TEST, check
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.library.description import Description
from kit.library.ingredient import Stock
from tests.formula.made import LIBRARY, LIMITS, findings, formulas, water_and

KEPT = ("Phenoxyethanol", "0.9")


def sentences(formula: Formula, which: str = "") -> list[tuple[str, str, Place]]:
    return [(f.severity, f.sentence, f.place) for f in findings(formula, which)]


def two(water: tuple[Line, ...], oil: tuple[Line, ...]) -> Formula:
    return Formula("Shake", (Phase("Water layer", "water", water), Phase("Oil layer", "oil", oil)))


def test_a_sound_formula_has_nothing_to_answer_for() -> None:
    formula = water_and(("Glycerin", "4"), KEPT)
    assert check(formula, Materials.of(formula, LIBRARY), LIMITS.values(), ph=5.2) == []


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (
            [("Sodium Benzoate", "0.4"), ("Potassium Sorbate", "0.2")],
            "Sodium Benzoate works at pH 5 and below; Potassium Sorbate at pH 5.5 and below.",
        ),
        (
            [("Phenoxyethanol", "0.9"), ("Benzoic Acid", "0.2")],
            "Benzoic Acid works at pH 5 and below; Phenoxyethanol at",
        ),
    ],
)
def test_the_ph_that_a_preservative_works_at_is_asked_for(lines: list[tuple[str, str]], words: str) -> None:
    formula = water_and(("Glycerin", "4"), *lines)
    (found,) = findings(formula, "Measure the pH of the water layer")
    assert words in found.sentence
    assert (found.severity, found.place.field, found.source) == ("note", "ph", "common practice")
    measured = check(formula, Materials.of(formula, LIBRARY), LIMITS.values(), ph=4.5)
    assert not [one for one in measured if "Measure the pH" in one.sentence]


def test_no_ph_is_asked_for_without_water_or_without_a_window() -> None:
    oil = Formula("Oil", (Phase("Oil layer", "oil", (Line("Squalane", "q.s."), Line(*KEPT))),))
    assert findings(oil, "Measure the pH") == []
    assert findings(water_and(("Glycerin", "4")), "Measure the pH") == []


def test_an_amount_that_cannot_be_read_is_marked_in_its_cell() -> None:
    (found,) = sentences(water_and(("Glycerin", "some"), KEPT), "is not an amount")
    assert found == (
        "stop",
        (
            "'some' is not an amount. Type a percent (3.5), ppm (800 ppm), a mass (12 g), "
            "or q.s. for what is left to 100 %."
        ),
        Place(0, 1, "amount"),
    )


def test_a_name_without_amount_and_an_amount_without_name() -> None:
    formula = water_and(("Glycerin", ""), ("", "3"), ("", ""), KEPT)
    assert sentences(formula, "has no amount yet") == [("stop", "Glycerin has no amount yet.", Place(0, 1, "amount"))]
    assert sentences(formula, "This amount has no ingredient yet. Type part of its name.") == [
        ("stop", "This amount has no ingredient yet. Type part of its name.", Place(0, 2, "material"))
    ]
    assert not [f for f in findings(formula) if f.place.line == 3]


@pytest.mark.parametrize(
    ("amount", "words"),
    [
        ("90", "The lines add to 94 %: 6 % is missing. "),
        ("98", "The lines add to 102 %: 2 % is too much. "),
        ("95.9999", "The lines add to 99.9999 %: 0.0001 % is missing. "),
    ],
)
def test_a_total_that_is_off(amount: str, words: str) -> None:
    formula = Formula("T", (Phase("W", "water", (Line("Aqua", amount), Line("Glycerin", "4"))),))
    (found,) = sentences(formula, "The lines add to")
    assert found == (
        "stop",
        f"{words}Mend an amount, or type q.s. for the material that takes what is left.",
        Place(field="total"),
    )


def test_an_unknown_material_is_said_with_the_way_on() -> None:
    (found,) = sentences(water_and(("Moon dust", "1"), KEPT), "Moon dust")
    assert found == (
        "caution",
        (
            "Moon dust is not in the library: its density and range are unknown, and rules find it by its name alone. "
            "Choose a name from the list, or add it as your own ingredient."
        ),
        Place(0, 1, "material"),
    )


@pytest.mark.parametrize(
    ("name", "of", "strength"),
    [
        ("Panthenol 50 % stock", "Panthenol", "50 %"),
        ("citric acid solution 10%", "Citric Acid", "10 %"),
        ("Niacinamide 10 % w/v stock", "Niacinamide", "10 % w/v"),
        ("2,5 % Xanthan Gum solution", "Xanthan Gum", "2.5 %"),
        ("Tocopherol 10 % in Squalane", "Tocopherol", "10 %"),
    ],
)
def test_a_name_that_reads_like_a_stock_offers_to_make_it(name: str, of: str, strength: str) -> None:
    (found,) = sentences(water_and((name, "1"), KEPT), name)
    assert f"It reads like a stock of {of}: make it under Stock solutions, {strength} strong." in found[1]


@pytest.mark.parametrize(
    "name", ["Moon dust 50 % stock", "Tocopherol 10 % in moon dust", "50 % Panthenol", "Panthenol"]
)
def test_what_asks_for_no_stock_is_not_taken_for_one(name: str) -> None:
    assert asked_stock(name, Materials(LIBRARY)) is None


def test_the_stocks_that_a_formula_asks_for_are_named_once() -> None:
    formula = two(
        (Line("Aqua", "q.s."), Line("Panthenol 50 % stock", "2"), Line("panthenol 50 % STOCK", "1")),
        (Line("Squalane", "20"), Line("Tocopherol 10 % in Squalane", "1")),
    )
    found = asked_stocks(formula, Materials(LIBRARY))
    assert [(one.name, one.active, one.strength, one.solvent, one.phase) for one in found] == [
        ("Panthenol 50 % stock", "Panthenol", 50, "", "water"),
        ("Tocopherol 10 % in Squalane", "Tocopherol", 10, "Squalane", "oil"),
    ]
    assert asked_stocks(Formula("Nothing"), Materials(LIBRARY)) == []


def test_a_material_in_the_wrong_layer() -> None:
    formula = two((Line("Aqua", "q.s."), Line(*KEPT), Line("Squalane", "1")), (Line("Glycerin", "4"),))
    found = sentences(formula, "belongs in the")
    assert found == [
        ("caution", "Squalane belongs in the oil layer, and Water layer is water.", Place(0, 2, "material")),
        ("caution", "Glycerin belongs in the water layer, and Oil layer is oil.", Place(1, 0, "material")),
    ]
    assert findings(water_and(("Glycerin", "3"), KEPT), "belongs") == []
    # sugar and salt that scrub lie in the oil undissolved, as they are meant to
    scrub = two((Line("Aqua", "q.s."), Line(*KEPT)), (Line("Squalane", "20"), Line("Sucrose", "40")))
    assert findings(scrub, "belongs") == []


def test_the_same_material_twice_in_one_phase_only() -> None:
    formula = water_and(("Glycerin", "3"), ("glycerin ", "2"), KEPT)
    assert sentences(formula, "stands twice") == [
        ("note", "glycerin stands twice in Water layer.", Place(0, 2, "material"))
    ]
    apart = Formula("T", (Phase("A", "water", (Line("Aqua", "90"),)), Phase("B", "water", (Line("Aqua", "10"),))))
    assert findings(apart, "stands twice") == []


def test_two_lines_cannot_both_fill_a_layer() -> None:
    formula = two(
        (Line("Aqua", "q.s.", "fill"), Line(*KEPT)), (Line("Squalane", "9", "fill"), Line("Tocopherol", "0.2", "fill"))
    )
    assert sentences(formula, "fills the") == [
        (
            "caution",
            "Another line already fills the oil layer. Let this one keep its % of the layer or of the whole.",
            Place(1, 1, "hold"),
        )
    ]


def test_a_layer_whose_lines_all_keep_their_level_cannot_move() -> None:
    formula = two(
        (Line("Aqua", "q.s.", "fill"), Line(*KEPT)),
        (Line("Squalane", "9", "level"), Line("Tocopherol", "0.2", "level")),
    )
    (found,) = sentences(formula, "keeps its % of the whole")
    assert found[0] == "note"
    assert found[1].startswith(
        "Every line of the oil layer keeps its % of the whole, so that layer cannot grow or shrink."
    )
    assert found[2] == Place(1, None, "hold")


@pytest.mark.parametrize(
    ("line", "words"),
    [  # usual ranges: the table of ingredients, common practice
        (
            ("Tocopherol", "2"),
            "10 % Tocopherol in the oil layer is above its usual range, 0.05 to 0.5 %: a habit of the trade",
        ),
        (("Tocopherol", "0.005"), "Tocopherol in the oil layer is below its usual range, 0.05 to 0.5 %"),
        (("Tocopherol", "0.09"), ""),
        (("Tocopherol", "0.4"), ""),  # 2.2 % of the oil, and not unusual in the whole
    ],
)
def test_usual_ranges_are_notes(line: tuple[str, str], words: str) -> None:
    found = findings(
        two((Line("Aqua", "q.s."), Line("Phenoxyethanol", "0.6")), (Line("Squalane", "18"), Line(*line))), "usual range"
    )
    assert [f.severity for f in found] == (["note"] if words else [])
    assert all(
        words in f.sentence and f.place == Place(1, 1, "amount") and f.source == "common practice" for f in found
    )


def test_the_active_of_a_stock_has_its_usual_range_too_whatever_its_name() -> None:
    """3 % of a 20 % stock is 0.6 %; Phenoxyethanol usually 0.5 to 1 %."""
    for active in ("Phenoxyethanol", "phenoxyethanol"):
        stock = Stock("P stock", {"Phenoxyethanol": 20, "Alcohol": 80}, active=active)
        assert findings(water_and(("P stock", "3"), materials=(stock,)), "usual range") == []
        (found,) = findings(water_and(("P stock", "1"), materials=(stock,)), "usual range")
        assert found.sentence.startswith("0.2 % Phenoxyethanol is below its usual range")
        assert found.place == Place(0, 1, "amount")


def test_water_without_a_preservative() -> None:
    (found,) = sentences(water_and(("Glycerin", "4")), "no preservative")
    assert found == (
        "caution",
        (
            "There is water here and no preservative that the library knows. Only a challenge test by a laboratory "
            "(ISO 11930) shows whether a product with water withstands microbes."
        ),
        Place(field="total"),
    )
    oils = Formula("Oil", (Phase("O", "oil", (Line("Squalane", "100"),)),))
    assert findings(oils, "preservative") == []


def test_water_that_comes_with_a_stock_counts_as_water() -> None:
    stock = Stock("Salt water", {"Sodium Chloride": 10, "Aqua": 90})
    formula = Formula(
        "T", (Phase("W", "water", (Line("Salt water", "5"), Line("Propanediol", "95"))),), materials=(stock,)
    )
    assert len(findings(formula, "no preservative")) == 1


@pytest.mark.parametrize("material", ["rose water", "Hamamelis Virginiana Leaf Water", "aloe juice"])
def test_the_water_or_juice_of_a_plant_counts_as_water(material: str) -> None:
    formula = Formula("T", (Phase("W", "water", (Line(material, "5"), Line("Propanediol", "95"))),))
    assert len(findings(formula, "no preservative")) == 1


def test_a_preservative_only_in_the_oil_layer() -> None:
    formula = two((Line("Aqua", "q.s."),), (Line("Squalane", "9"), Line("Butylparaben", "0.1")))
    (found,) = sentences(formula, "stands only in the oil layer")
    assert found == (
        "caution",
        f"Butylparaben stands only in the oil layer and does not guard the water. {CHALLENGE_TEST}",
        Place(field="total"),
    )
    both = two((Line("Aqua", "q.s."), Line(*KEPT)), (Line("Squalane", "9"), Line("Butylparaben", "0.1")))
    assert findings(both, "stands only") == []
    none = two(
        (Line("Aqua", "q.s."), Line("Phenoxyethanol", "0")), (Line("Squalane", "9"), Line("Butylparaben", "0.1"))
    )
    assert len(findings(none, "stands only")) == 1


def test_a_preservative_inside_a_blend_in_the_water_is_seen() -> None:
    formula = water_and(("Phenoxyethanol (and) Ethylhexylglycerin", "1"))
    assert findings(formula, "preservative") == []


def test_no_sentence_promises_anything() -> None:
    wide = two((Line("Aqua", "q.s."), Line("Sodium Benzoate", "3")), (Line("Glycerin", "4"), Line("Moon", "x")))
    for finding in [*findings(wide), *findings(water_and(("Urea", "1")))]:
        assert " safe" not in finding.sentence.casefold()
        assert "preserved" not in finding.sentence.casefold()


@settings(max_examples=200)
@given(formulas())
def test_a_formula_at_any_stage_of_typing_is_answered(formula: Formula) -> None:
    found = findings(formula)
    ranks = [SEVERITIES.index(finding.severity) for finding in found]
    assert ranks == sorted(ranks)
    for finding in found:
        assert finding.sentence.strip()
        if finding.place.phase is not None:
            phase = formula.phases[finding.place.phase]
            assert finding.place.line is None or phase.lines[finding.place.line] is not None
    if formula.phases and not formula.is_complete and any(phase.lines for phase in formula.phases):
        assert ranks[:1] == [0], "an incomplete formula must say that it is"


def layered(water: tuple[Line, ...], oil: tuple[Line, ...], layering: str = "", **more: Phase) -> Formula:
    phases = (Phase("Water layer", "water", water), Phase("Oil layer", "oil", oil), *more.values())
    return Formula("Trial", phases, description=Description(layering=layering))


def test_materials_in_the_wrong_layer_are_told_as_one_and_only_where_layers_are_meant() -> None:
    water = (Line("Aqua", "q.s."), Line(*KEPT), Line("Squalane", "1"), Line("Tocopherol", "0.1"))
    oil = (Line("Coco-Caprylate", "20"),)
    (found,) = findings(layered(water, oil, "two layers"), "belong")
    assert found.sentence == "Squalane and Tocopherol belong in the oil layer, and Water layer is water."
    assert found.place == Place(0, 2, "material")
    assert len(findings(layered(water, oil), "belong")) == 1
    assert findings(layered(water, oil, "emulsified"), "belong") == []
    assert findings(layered((*water, Line("Polysorbate 20", "5")), oil), "belong") == []
    assert findings(Formula("Mist", (Phase("Water", "water", water),)), "belong") == []


def test_what_alcohol_dissolves_and_what_nothing_dissolves_is_in_no_wrong_layer() -> None:
    water = (Line("Alcohol", "60"), Line("Aqua", "q.s."), Line("Menthol", "0.3"))
    assert findings(layered(water, (Line("Squalane", "10"),), "two layers"), "belong") == []
    powder = (Line("Aqua", "q.s."), Line("Talc", "2"))
    assert findings(layered(powder, (Line("Squalane", "10"),), "two layers"), "belong") == []


def test_strong_alcohol_is_not_asked_for_a_preservative() -> None:
    strong = Phase("All", "water", (Line("Alcohol", "80"), Line("Aqua", "20")))
    assert findings(Formula("Cologne", (strong,)), "no preservative") == []
    weak = Phase("All", "water", (Line("Alcohol", "15"), Line("Aqua", "85")))
    (found,) = findings(Formula("Weak", (weak,)), "no preservative")
    assert found.severity == "caution"


def test_a_preservative_in_a_phase_of_its_own_is_told_that_it_does_not_move_with_the_water() -> None:
    cool = Phase("Cool-down", "other", (Line(*KEPT), Line("Parfum", "0.2")))
    formula = layered((Line("Aqua", "q.s."),), (Line("Squalane", "20"),), cool=cool)
    (found,) = findings(formula, "third layer")
    assert found.sentence.startswith("Phenoxyethanol guards the water and stands in Cool-down, a third layer")
    assert found.place == Place(2, 0, "material")
