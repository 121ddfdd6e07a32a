"""Rates of a study across its temperatures."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest

from kit.stability.arrhenius import rates_of
from kit.stability.demo import demo_observations, demo_study
from kit.stability.plan import Attribute
from kit.stability.study import Observation

STUDY, ROWS = demo_study(), demo_observations()
PH = STUDY.plan.attribute("ph")


def made(rate: dict[str, float], *, start: float = 5.3, first: bool = False) -> list[Observation]:
    """Readings that move at these rates per day, without scatter."""
    rows: list[Observation] = []
    for condition, k in rate.items():
        for point in STUDY.plan.time_points:
            value = start * math.exp(-k * point.days) if first else start - k * point.days
            day = STUDY.started_on + timedelta(days=point.days)
            place = ("TL-01", condition, point.label, "ph")
            rows.append(Observation(len(rows) + 1, 1, *place, f"{value!r}", value, day))
    return rows


def test_the_rates_are_those_the_readings_were_made_with() -> None:
    made_with = {"fridge": 0.001, "cupboard": 0.002, "warm_box": 0.004}
    found = rates_of(STUDY, made(made_with), PH)
    assert found is not None
    assert [one.temperature for one in found.rates] == [6, 22.5, 40]
    assert [one.k for one in found.rates] == pytest.approx([0.001, 0.002, 0.004])
    assert (found.rises, found.unit) == (False, "pH per day")
    assert found.fit is not None
    # ln 4 between 6 and 40 °C, by hand: 8.314462618e-3 * ln 4 / (1/279.15 - 1/313.15) = 29.63 kJ/mol
    assert found.fit.energy == pytest.approx(29.63, abs=0.3)


def test_what_rises_has_rates_above_zero_and_says_so() -> None:
    found = rates_of(STUDY, made({"fridge": -0.001, "cupboard": -0.002, "warm_box": -0.004}), PH)
    assert found is not None
    assert found.rises
    assert [one.k for one in found.rates] == pytest.approx([0.001, 0.002, 0.004])


def test_first_order_is_a_share_per_day() -> None:
    found = rates_of(STUDY, made({"fridge": 0.001, "cupboard": 0.002, "warm_box": 0.004}, first=True), PH, "first")
    assert found is not None
    assert [one.k for one in found.rates] == pytest.approx([0.001, 0.002, 0.004])
    assert found.unit == "share per day"


def test_a_colour_is_taken_in_zero_order() -> None:
    found = rates_of(STUDY, ROWS, STUDY.plan.attribute("colour"), "first")
    assert found is not None
    assert {one.order for one in found.rates} == {"zero"}
    assert found.rises
    assert found.unit == "CIEDE2000 units per day"


def test_two_temperatures_are_too_few() -> None:
    rows = [row for row in ROWS if row.condition != "fridge"]
    assert rates_of(STUDY, rows, PH) is None
    own = Attribute("ph", "pH", "number")
    swinging = tuple(replace(condition, temperature=None) for condition in STUDY.plan.conditions)
    study = replace(STUDY, plan=replace(STUDY.plan, conditions=swinging))
    assert rates_of(study, ROWS, own) is None


def test_where_all_but_one_stand_still_the_reason_is_told() -> None:
    found = rates_of(STUDY, made({"fridge": -0.001, "cupboard": -0.002, "warm_box": 0.004}), PH)
    assert found is not None
    assert found.fit is None
    assert "there is a loss at 1" in found.findings[0].sentence


def test_bottles_in_light_say_nothing_about_warmth() -> None:
    lit = tuple(
        replace(one, temperature=25.0, coldest=20.0, warmest=30.0) if one.key == "window" else one
        for one in STUDY.plan.conditions
    )
    study = replace(STUDY, plan=replace(STUDY.plan, conditions=lit))
    rows = made({"fridge": 0.001, "cupboard": 0.002, "warm_box": 0.004, "window": 0.1})
    found = rates_of(study, rows, PH)
    assert found is not None
    assert [one.temperature for one in found.rates] == [6, 22.5, 40]


def test_what_goes_slower_in_warmth_is_cautioned_about() -> None:
    found = rates_of(STUDY, made({"fridge": 0.004, "cupboard": 0.002, "warm_box": 0.001}), PH)
    assert found is not None
    assert found.fit is not None
    assert found.fit.energy < 0
    assert found.findings[0].severity == "caution"
    assert found.findings[0].sentence.startswith("The warmer it was, the slower it went")


def test_four_temperatures_give_four_rates() -> None:
    dark = tuple(
        replace(one, temperature=30.0, coldest=28.0, warmest=32.0, light="dark") if one.key == "window" else one
        for one in STUDY.plan.conditions
    )
    study = replace(STUDY, plan=replace(STUDY.plan, conditions=dark))
    found = rates_of(study, made({"fridge": 0.001, "cupboard": 0.002, "window": 0.003, "warm_box": 0.004}), PH)
    assert found is not None
    assert [(one.temperature, round(one.k, 9)) for one in found.rates] == [
        (6, 0.001), (22.5, 0.002), (30, 0.003), (40, 0.004),
    ]  # fmt: skip
