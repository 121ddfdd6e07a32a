"""What is known of the ingredients beside their names: each figure in one table, joined in one view, with a source."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.library.melting import ROOM, melting_of
from kit.library.sources import sources
from kit.library.table import ingredients
from kit.resources import load_table
from tests.present import present
from tests.rows import each_of

if TYPE_CHECKING:
    from kit.library.ingredient import Ingredient

ROWS = load_table("properties").rows
BY_NAME = {each.inci: each for each in ingredients()}
ALL = list(ingredients())
STRONG = {"Sodium Hydroxide", "Potassium Hydroxide"}


def is_single(one: Ingredient) -> bool:
    return not one.composition


def matters(one: Ingredient) -> dict[str, bool]:
    """Which of the further figures matter for an ingredient, and whether it has them."""
    liquid_of_a_layer = is_single(one) and (
        "solvent" in one.roles or (one.phase == "oil" and any("emollient" in role for role in one.roles))
    )
    melting = melting_of(one.inci)
    solid = one.inci in ("Glyceryl Caprylate", "Paraffinum Liquidum") or (
        melting is not None and melting.melts_to > ROOM
    )
    shares_out = is_single(one) and "preservative" in one.roles and one.charge in ("nonionic", "acid")
    ionises = is_single(one) and one.charge in ("acid", "base") and one.inci not in STRONG
    needed = {}
    if liquid_of_a_layer and not solid:
        needed["viscosity"] = one.viscosity is not None
    if shares_out:
        needed["log_p"] = one.log_p is not None
    if ionises:
        needed["pka"] = bool(one.pka)
    needed["solubility"] = any((one.solubility.water, one.solubility.oil, one.solubility.alcohol))
    return needed


def is_complete(one: Ingredient) -> bool:
    first = one.density and one.charge and one.usual_low and one.usual_high and one.roles
    return bool(first) and all(matters(one).values())


def test_at_least_120_ingredients_have_everything_that_matters() -> None:
    complete = [one.inci for one in ALL if is_complete(one)]
    assert len(complete) >= 120, sorted(set(BY_NAME) - set(complete))


def test_most_of_what_is_known_for_a_reason_is_known() -> None:
    needed = [(one.inci, name, known) for one in ALL for name, known in matters(one).items()]
    missing = [(inci, name) for inci, name, known in needed if not known]
    assert len(missing) <= 6, missing


@each_of("row", ROWS, ids=lambda row: row["inci"])
def test_a_row_is_about_a_known_ingredient_and_every_figure_has_a_source(row: dict[str, str]) -> None:
    assert row["inci"] in BY_NAME
    for figure, source in (("log_p", "log_p_source"), ("pka", "pka_source"), ("water_g_l", "water_source")):
        assert bool(row[figure]) == bool(row[source]), figure
        assert not row[source] or row[source] in sources()
    assert row["words_source"] == "common-practice"
    assert bool(row["water_g_l"]) == bool(row["water_celsius"])


def test_every_ingredient_has_one_row() -> None:
    assert [row["inci"] for row in ROWS] == [one.inci for one in ALL]


def test_no_figure_is_stored_twice() -> None:
    preservatives = {row["inci"]: row for row in load_table("preservatives").rows}
    acids = {row["name"]: row for row in load_table("acids").rows}
    for row in ROWS:
        there = preservatives.get(row["inci"], {})
        assert not (row["log_p"] and there.get("log_p")), row["inci"]
        assert not (row["water_g_l"] and there.get("solubility_g_l")), row["inci"]
        assert not (row["pka"] and (there.get("pka") or acids.get(row["inci"], {}).get("pka"))), row["inci"]


@each_of(
    ("inci", "name", "value", "source"),
    [
        # each from the table that holds it
        ("Aqua", "viscosity", 1.0016, "iapws-r12-08"),
        ("Squalane", "viscosity", 31.1, "encyclopedia-squalane-viscosity"),
        ("Phenoxyethanol", "log_p", 1.16, "syracuse-log-p"),
        ("Alcohol", "log_p", -0.30, "crc-log-p"),
        ("Cyclopentasiloxane", "log_p", 8.09, "d5-review-2015"),
    ],
)
def test_the_tables_are_joined_in_one_view(inci: str, name: str, value: float, source: str) -> None:
    figure = getattr(BY_NAME[inci], name)
    assert (figure.value, figure.source) == (value, source)


def test_pka_and_solubility_come_with_their_sources_too() -> None:
    citric, benzoic = BY_NAME["Citric Acid"], BY_NAME["Benzoic Acid"]
    assert [each.value for each in citric.pka] == [3.128, 4.761, 6.396]
    assert {each.source for each in citric.pka} == {"bates-pinching-1949"}
    in_water = present(present(benzoic.solubility.water).figure)
    assert in_water.value == 2.93
    assert in_water.note == "at about 25 °C, undissociated"
    assert present(BY_NAME["Glycerin"].solubility.water).words == "mixes"
    assert BY_NAME["Sodium Hydroxide"].pka == ()
