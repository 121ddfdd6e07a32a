"""A formula written in code: a word that no rule knows is refused, for with it every rule about it would be silent."""

from __future__ import annotations

from typing import Any

import pytest

import kit
from kit.bench.dilution import StockDetails
from kit.bench.scaling import Order
from kit.blends.lighter_richer import LightOrRich
from kit.blends.repair_wishes import RepairWishes
from kit.errors import EntryError
from kit.formula.model import Formula, Line, MeasuredDensity, Phase, Rule
from kit.in_use.dispensers import FourDispensers, Manner
from kit.in_use.weighed_doses import Seen, WeighedDoses
from kit.layers.shaken_product import Shaking
from kit.library.description import Description
from kit.library.ingredient import Ingredient, Stock
from kit.product.product import Product

POWDER = (Phase("Powder", "other", (Line("Zea Mays Starch", "q.s."), Line("Zinc Oxide", "5"))),)


def test_a_loose_powder_is_found_to_be_breathed_in_or_its_misspelling_is_refused() -> None:
    """Zinc oxide and lungs: Regulation (EC) 1223/2009, Annex VI, entry 30, and Annex IV, entry 144."""
    told = Product(Formula("Dry wash", POWDER, description=Description(applied="loose powder"))).findings
    assert any(one.severity == "stop" and "reach the lungs" in one.sentence for one in told)
    with pytest.raises(EntryError, match="How it is applied: 'as a powder' is none of the choices"):
        Description(applied="as a powder")


@pytest.mark.parametrize(
    ("made", "said", "words"),
    [
        (Phase, {"name": "Float", "kind": "Oil"}, "Float: 'Oil' is no kind of layer. It is one of 'water', 'oil', 'o"),
        (Line, {"material": "Aqua", "hold": "filled"}, "'filled' is no way in which Aqua can hold"),
        (Rule, {"material": "Parfum", "high": 1.0, "of": "oil layer"}, "Of the: 'oil layer' is none of the choices"),
        (MeasuredDensity, {"layer": "oily", "value": 0.9}, "A measured density: 'oily' is no kind of layer"),
        (Ingredient, {"inci": "Squalane", "phase": "fat"}, "Squalane: 'fat' is no kind of layer"),
        (Stock, {"name": "Sweet", "contents": {"Glycerin": 100.0}, "phase": "sugar"}, "'sugar' is no kind of layer"),
        (Description, {"product_kind": "rinse off"}, "Product: 'rinse off' is none of the choices"),
        (Description, {"product_type": "shampo"}, "What it is: 'shampo' is none"),
        (Description, {"used_on": ("hair", "nose")}, "Used on: 'nose' is none of the choices. They are: 'hair',"),
        (Description, {"used_on": "hair"}, r"Used on: give several words in brackets, such as \('hair',\)"),
        (Description, {"layering": "two"}, "In the bottle: 'two' is none"),
        (Order, {"by": "weight"}, "What to make: 'weight' is none"),
        (Manner, {"shaking": "hard"}, "Before each dose: 'hard' is none"),
        (FourDispensers, {"way": "upright"}, "The bottle is: 'upright' is none"),
        (WeighedDoses, {"name": "one", "grams": (Seen(1, 1),), "kind": "jug"}, "Dispenser: 'jug' is none"),
        (Shaking, {"drops": "olive"}, "Drops of: 'olive' is none"),
        (LightOrRich, {"rule": "linear"}, "Viscosities blend by: 'linear' is none"),
        (RepairWishes, {"aim": "best"}, "Find: 'best' is none"),
        (StockDetails, {"active": "Urea", "strength": 10, "solvent": "Aqua", "basis": "v/w"}, "Counted: 'v/w' is none"),
    ],
)
def test_a_word_that_is_none_of_the_choices_is_refused(made: type[Any], said: dict[str, Any], words: str) -> None:
    with pytest.raises(EntryError, match=words):
        made(**said)


def test_numbers_and_lists_are_taken_and_a_forgotten_comma_is_told() -> None:
    formula = Formula("Tonic", [Phase("Water", "water", [Line("Aqua", "q.s."), Line("Glycerin", 5)])])  # type: ignore[arg-type]
    assert formula == Formula("Tonic", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "5"))),))
    assert [Line("Parfum", amount).entry for amount in (0.25, 1e-3, 12)] == ["0.25", "0.001", "12"]  # type: ignore[arg-type]
    with pytest.raises(
        EntryError, match=r"The lines of Water are a tuple of Line, such as \(Line\(…\),\) with its comma"
    ):
        Phase("Water", "water", (Line("Aqua", "q.s.")))  # type: ignore[arg-type]
    with pytest.raises(EntryError, match="The phases of Tonic are a tuple of Phase"):
        Formula("Tonic", (("Water", "water", ()),))  # type: ignore[arg-type]


def test_what_is_no_formula_makes_no_bench_and_no_panel() -> None:
    with pytest.raises(EntryError, match=r"A bench is made of a Formula, not of 'tonic.toml'. kit.open_bench opens"):
        kit.Bench("tonic.toml")  # type: ignore[arg-type]
    with pytest.raises(EntryError, match="A panel shows a bench, a product, a formula or a formula's file"):
        kit.FormulaPanel({"title": "Tonic"})  # type: ignore[arg-type]
