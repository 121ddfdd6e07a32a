"""How liquids evaporate and catch fire."""

from __future__ import annotations

import datetime as dt

import pytest

from kit.library.sources import is_firm, sources
from kit.library.volatility import evaporation_word, flammable_class, volatilities, volatility_of
from kit.resources import load_table
from tests.present import present
from tests.rows import each_of

TABLE = load_table("volatility")
FIGURES = (
    ("boiling_degc", "boiling_source"),
    ("vapour_pressure_pa", "vapour_pressure_source"),
    ("flash_point_degc", "flash_point_source"),
)


def test_the_table_says_where_it_comes_from_and_is_large_enough() -> None:
    for field in ("title", "issuer", "licence", "expected_agreement", "how_made"):
        assert len(TABLE.about[field].strip()) > 5, field
    assert isinstance(TABLE.about["as_of"], dt.date)
    assert {*TABLE.about["units"], *TABLE.about["columns"]} == set(TABLE.rows[0])
    assert len(volatilities()) == len(TABLE.rows) >= 35
    assert sources()["clp-2-6"].kind == "law"


@each_of("row", TABLE.rows, ids=lambda row: row["inci"])
def test_every_figure_has_a_source_and_every_word_follows_from_figures(row: dict[str, str]) -> None:
    for figure, source in FIGURES:
        assert bool(row[figure]) == bool(row[source]), figure
        assert not row[source] or row[source] in sources()
    assert bool(row["vapour_pressure_pa"]) == bool(row["at_degc"])
    if row["vapour_pressure_pa"]:
        assert row["at_degc"] == "20"
        word = evaporation_word(float(row["vapour_pressure_pa"]), float(row["molar_mass_g_mol"]))
        assert row["evaporation"] == word
    else:
        assert row["evaporation"] == ""
    if row["flammability"] and row["inci"] != "Aqua":
        boils = float(row["boiling_degc"]) if row["boiling_degc"] else None
        assert row["flammability"] == flammable_class(float(row["flash_point_degc"]), boils)


@each_of(
    ("flash", "boils", "category"),
    [(-40, 35, "1"), (-40, 35.1, "2"), (22.9, 100, "2"), (23, 30, "3"), (60, 200, "3"), (60.1, 200, "none")],
)
def test_the_limits_of_the_regulation(flash: float, boils: float, category: str) -> None:
    assert flammable_class(flash, boils) == category


@each_of(
    ("inci", "pascal"),
    [
        # handbook figures at 20 °C, from memory: water 17.5 torr, ethanol about 5.9 kPa
        ("Aqua", 17.5 * 133.322),
        ("Alcohol", 5900),
    ],
)
def test_vapour_pressures_as_remembered(inci: str, pascal: float) -> None:
    assert present(present(volatility_of(inci)).vapour_pressure).value == pytest.approx(pascal, rel=0.02)


@each_of(
    ("inci", "low", "high"),
    [
        # registration dossiers: D6 boils at 245 °C and flashes at 91 °C; dodecamethylpentasiloxane 210 to 232
        # and 79 °C
        ("Cyclohexasiloxane", 245, 91),
        ("Dimethicone 2 cSt", 230, 79),
        # a database page of 2005: D5 boils at 210 °C and flashes at 77 °C
        ("Cyclopentasiloxane", 210, 77),
    ],
)
def test_siloxanes_agree_with_what_authorities_print(inci: str, low: float, high: float) -> None:
    found = present(volatility_of(inci))
    assert present(found.boiling_point).value == pytest.approx(low, abs=3)
    assert present(found.flash_point).value == pytest.approx(high, abs=3)


def test_who_leaves_first() -> None:
    words = {name: present(volatility_of(name)).evaporation for name in ("Alcohol", "Aqua", "Undecane", "Glycerin")}
    assert words == {"Alcohol": "fast", "Aqua": "medium", "Undecane": "slow", "Glycerin": "none"}
    assert volatility_of("Helianthus Annuus Seed Oil") is None


def test_most_figures_were_read() -> None:
    keys = [row[source] for row in TABLE.rows for _, source in FIGURES if row[source]]
    assert sum(is_firm(key) for key in keys) > 0.9 * len(keys)
