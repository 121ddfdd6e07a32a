"""Usual ranges: of which layer they speak, for which materials nothing is said, and how several are told as one."""

from __future__ import annotations

import pytest

from kit.findings import Finding, Place
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase, Rule
from kit.formula.usual_ranges import habits, usual_of, usual_range_findings
from kit.library.description import Description
from kit.library.ingredient import Figure, Ingredient, Stock
from kit.library.sources import sources
from kit.library.table import ingredients
from kit.resources import load_table
from tests.formula.made import LIBRARY

ROWS = load_table("usual-of").rows


def told(
    water: dict[str, str] | None = None, oil: dict[str, str] | None = None, layering: str = "", **more: object
) -> list[Finding]:
    phases = [
        Phase(kind, kind, tuple(Line(*pair) for pair in lines.items()))  # type: ignore[arg-type]
        for kind, lines in (("water", water), ("oil", oil))
        if lines
    ]
    formula = Formula("Trial", tuple(phases), description=Description(layering=layering), **more)  # type: ignore[arg-type]
    return usual_range_findings(formula, Materials.of(formula, LIBRARY))


def test_the_table_is_whole() -> None:
    assert len({row["of"] for row in ROWS}) == len(ROWS)
    for row in ROWS:
        assert row["layer"] in ("water", "oil", "own", "whole", "base"), row
        assert row["low_end"] in ("yes", "no"), row
        assert row["source"] in sources(), row


def test_every_role_that_preserves_guards_or_thickens_has_a_row() -> None:
    known = {row["of"] for row in ROWS}
    roles = {role for one in ingredients() for role in one.roles}
    without = {role for role in roles if f"role:{role}" not in known}
    assert not without & {"preservative", "booster", "chelator", "humectant", "thickener", "antioxidant", "fragrance"}


@pytest.mark.parametrize(
    ("name", "layer"),
    [
        ("Phenoxyethanol", "water"),
        ("Sodium Phytate", "water"),
        ("Sodium Chloride", "water"),
        ("Glycerin", "water"),
        ("Niacinamide", "water"),
        ("Ascorbic Acid", "water"),
        ("Tocopherol", "oil"),
        ("Parfum", "oil"),
        ("Retinol", "oil"),
        ("Bisabolol", "oil"),
        ("CI 42090", "water"),
        ("CI 61565", "oil"),
        ("Polysorbate 20", "whole"),
        ("Cetearyl Alcohol", "whole"),
        ("Squalane", "base"),
        ("Alcohol", "base"),
    ],
)
def test_of_which_layer_a_range_speaks(name: str, layer: str) -> None:
    found = Materials(LIBRARY).ingredient(name)
    assert found is not None
    assert usual_of(found).layer == layer


def test_what_a_product_is_made_of_is_not_unusual() -> None:
    assert told(oil={"Prunus Amygdalus Dulcis Oil": "60", "Squalane": "39.5", "Tocopherol": "0.5"}) == []
    assert told({"Alcohol": "85", "Aqua": "q.s."}) == []
    assert told({"Glycerin": "60", "Aqua": "q.s."}) == []
    assert told({"Aqua": "q.s."}, {"Ricinus Communis Seed Oil": "0.3", "Squalane": "30"}) == []


def test_accepted_practice_is_not_unusual() -> None:
    assert told({"Aqua": "q.s.", "Parfum": "0.5", "Polysorbate 20": "3"}) == []  # a scent with its solubiliser
    assert told({"Alcohol": "70", "Menthol": "0.5", "Aqua": "q.s."}) == []
    assert told({"Aqua": "q.s.", "Sodium Coco-Sulfate": "10"}, {"Dimethicone": "1"}) == []
    assert told({"Aqua": "q.s.", "Citric Acid": "0.01", "Sodium Hydroxide": "0.002"}) == []  # as much as the pH needs


def test_a_carrier_in_an_emulsion_can_be_too_much() -> None:
    wax = Ingredient("Heavy Ester (invented)", roles=("emollient",), phase="oil", usual_high=Figure(20, "own"))
    lines = {wax.inci: "24", "Coco-Caprylate": "25"}
    (found,) = told({"Aqua": "q.s."}, lines, "emulsified", materials=(wax,))
    assert found.sentence.startswith("24 % Heavy Ester (invented) is above its usual range, 20 %")
    assert told({"Aqua": "q.s."}, lines, "two layers", materials=(wax,)) == []


def test_a_preservative_is_judged_in_the_water() -> None:
    (found,) = told({"Aqua": "q.s.", "Phenoxyethanol": "0.8"}, {"Squalane": "60"}, "two layers")
    assert found == Finding(
        "note",
        "2 % Phenoxyethanol in the water layer is above its usual range, 0.5 to 1 %: a habit of the trade, not a law.",
        Place(0, 1, "amount"),
        "common practice",
        "usual range: phenoxyethanol",
    )
    assert told({"Aqua": "q.s.", "Phenoxyethanol": "0.8"}, {"Squalane": "60"}, "emulsified") == []
    (low,) = told({"Aqua": "q.s.", "Phenoxyethanol": "0.2"}, {"Squalane": "10"})
    assert "is below its usual range" in low.sentence


def test_what_is_usual_in_the_whole_is_not_told_for_its_layer_unless_it_guards_it() -> None:
    assert told({"Aqua": "q.s."}, {"Squalane": "10", "Parfum": "0.5"}) == []  # 4.8 % of the oil
    (found,) = told({"Aqua": "q.s."}, {"Squalane": "10", "Parfum": "1.5"})
    assert "Parfum in the oil layer is above" in found.sentence


def test_several_are_told_as_one() -> None:
    (found,) = told({"Aqua": "q.s.", "Urea": "15", "Xanthan Gum": "3", "Disodium EDTA": "1"})
    assert found == Finding(
        "note",
        "Above their usual range: 15 % Urea (2 to 10 %), 3 % Xanthan Gum (0.1 to 1 %) and 1 % Disodium EDTA (0.05 to "
        "0.2 %). These are habits of the trade, not laws.",
        Place(field="total"),
        "common practice",
        "usual range",
    )


def test_one_substance_counts_once_from_whatever_it_comes() -> None:
    stock = Stock("Sorbate 20 %", {"Potassium Sorbate": 20.0, "Aqua": 80.0}, active="Potassium Sorbate", strength=20.0)
    lines = {"Aqua": "q.s.", "Potassium Sorbate": "0.2", "Sorbate 20 %": "1"}
    (found,) = told(lines, materials=(stock,))
    assert found.sentence.startswith("0.4 % Potassium Sorbate is above its usual range, 0.1 to 0.3 %")
    (alone,) = told({"Aqua": "q.s.", "Sorbate 20 %": "2"}, materials=(stock,))
    assert alone.sentence.startswith("0.4 % Potassium Sorbate")


def test_a_blend_is_judged_as_what_it_is() -> None:
    assert told({"Aqua": "q.s.", "Sodium PCA (and) Aqua": "8"}) == []
    (found,) = told({"Aqua": "q.s.", "Sodium PCA (and) Aqua": "12"})
    assert found.sentence.startswith("12 % Sodium PCA (and) Aqua is above its usual range, 2 to 10 %")


def test_a_rule_of_the_makers_own_stands_in_place_of_the_habit_at_its_end() -> None:
    lines = {"Aqua": "q.s.", "Urea": "15"}
    assert told(lines, rules=(Rule("Urea", high=20),)) == []
    assert len(told(lines, rules=(Rule("Urea", low=5),))) == 1


def test_a_range_of_an_own_ingredient_says_that_it_is_the_makers() -> None:
    own = Ingredient("Wonder Root (invented)", phase="water", usual_high=Figure(2, "own: data sheet"))
    (found,) = told({"Aqua": "q.s.", own.inci: "5"}, materials=(own,))
    assert found.sentence.startswith("5 % Wonder Root (invented) is above its usual range, 2 %")
    assert found.source == "The maker's own figure: data sheet"


def test_a_formula_without_amounts_has_nothing_unusual() -> None:
    formula = Formula("Empty", (Phase("water", "water", (Line("Urea", ""), Line("", ""))),))
    assert [habit.name for habit in habits(formula, Materials.of(formula, LIBRARY))] == ["Urea usually at most 10 %"]
    assert usual_range_findings(formula, Materials.of(formula, LIBRARY)) == []
