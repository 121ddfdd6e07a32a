"""The table of viscosities: known ingredients, known sources, figures within the ranges they were typed from."""

from __future__ import annotations

import datetime as dt
import re

import pytest

from kit.layers.viscosity import known_viscosities
from kit.library.sources import sources
from kit.library.table import ingredients
from kit.liquids.water import water_viscosity
from kit.resources import load_table
from tests.rows import each_of

TABLE = load_table("viscosities")
INGREDIENTS = {each.inci: each for each in ingredients()}


def test_the_table_says_where_it_comes_from() -> None:
    about = TABLE.about
    for field in ("title", "issuer", "licence", "expected_agreement", "how_made"):
        assert len(about[field].strip()) > 5, field
    assert isinstance(about["as_of"], dt.date)
    assert {*about["units"], *about["columns"]} <= set(TABLE.rows[0])


@each_of("row", TABLE.rows, ids=lambda row: row["inci"])
def test_a_row_is_about_a_known_ingredient_with_a_density_and_has_a_source(row: dict[str, str]) -> None:
    assert None not in row
    assert INGREDIENTS[row["inci"]].density is not None
    assert row["viscosity_source"] in sources()
    assert 20 <= float(row["temperature_degc"]) <= 25
    assert 0.4 < float(row["viscosity_mpa_s"]) < 2000


def test_no_ingredient_stands_twice() -> None:
    assert len(known_viscosities()) == len(TABLE.rows)


@each_of("name", [name for name, known in known_viscosities().items() if "range" in known.note])
def test_the_middle_of_a_range_is_taken(name: str) -> None:
    known = known_viscosities()[name]
    low, high = map(float, re.search(r"range (\d+\.?\d*) to (\d+\.?\d*)", known.note).groups())  # type: ignore[union-attr]
    assert known.value == pytest.approx((low + high) / 2)


def test_water_is_the_release_and_the_formula() -> None:
    assert known_viscosities()["Aqua"].value == pytest.approx(water_viscosity("20 degC"), abs=1e-4)


@each_of(
    ("name", "published"),
    [
        # OpenStax, College Physics 2e, coefficients of viscosity at 20 °C: ethanol 1.20 mPa·s
        ("Alcohol", 1.20),
        # British Pharmacopoeia 2013, cocoyl caprylocaprate: about 11 mPa·s
        ("Coco-Caprylate/Caprate", 11),
        # trade article: 100 mm²/s times 0.964 g/mL
        ("Dimethicone", 96.4),
    ],
)
def test_figures_in_print(name: str, published: float) -> None:
    assert known_viscosities()[name].value == pytest.approx(published, rel=0.01)


def test_the_figure_that_disagrees_with_a_textbook_says_so() -> None:
    # OpenStax, College Physics 2e has olive oil at 138 mPa·s and 20 °C
    assert "138 at 20 °C" in known_viscosities()["Olea Europaea Fruit Oil"].note
