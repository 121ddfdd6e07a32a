"""The Arrhenius chart: rates at their places, the line, its interval, and the words."""

from __future__ import annotations

import pytest

from kit.figures.arrhenius import arrhenius_chart, fit_in_words, plain
from kit.stability.arrhenius import arrhenius, rates_of
from kit.stability.demo import demo_observations, demo_study
from tests.figures.svg_reading import HOSTILE, assert_within, said, titles, tree

STUDY = demo_study()
FOUND = rates_of(STUDY, demo_observations(), STUDY.plan.attribute("ph"))


def chart(title: str = "pH: how fast it falls", width: float = 840) -> str:
    assert FOUND is not None
    assert FOUND.fit is not None
    return arrhenius_chart(FOUND.fit, FOUND.rates, title=title, unit=FOUND.unit, width=width)


def test_every_rate_is_a_mark_with_its_interval() -> None:
    assert FOUND is not None
    low, high = FOUND.rates[-1].interval()
    told = titles(chart())
    assert len(told) == 3
    assert told[-1].startswith(f"40 °C: {FOUND.rates[-1].k:.3g} (95 %: {low:.3g} to {high:.3g}), ")


def test_the_axes_say_temperatures_and_rates() -> None:
    words = said(chart())
    assert {"0 °C", "20 °C", "40 °C", "0.001", "Rate, pH per day"} <= set(words)
    assert_within(chart())
    assert_within(chart(width=600))


def test_the_band_is_drawn_only_where_there_is_an_interval() -> None:
    polygons = len(list(tree(chart()).iter("{http://www.w3.org/2000/svg}polygon")))
    two = arrhenius({25: 0.001, 40: 0.004})
    without = arrhenius_chart(two, [], title="T", unit="u")
    assert len(list(tree(without).iter("{http://www.w3.org/2000/svg}polygon"))) < polygons
    assert "its 95 % interval" not in said(without)


def test_energy_and_ten_kelvin_in_words() -> None:
    # 2 times as fast from 20 to 30 °C: 8.314462618e-3 ln 2 / (1/293.15 - 1/303.15) = 51.2 kJ/mol, by hand
    words = fit_in_words(arrhenius({20: 0.001, 30: 0.002}))
    assert words == (
        "Computed from the rates at 2 temperatures (20, 30 °C): activation energy 51.2 kJ/mol, without an interval; "
        "from 20 to 30 °C it goes 2 times as fast."
    )
    assert "(95 %: " in fit_in_words(arrhenius({20: 0.001, 30: 0.002, 40: 0.0041}))


def test_ten_kelvin_that_were_not_studied_are_said_to_be() -> None:
    rates: dict[float, float] = {40: 0.0040, 50: 0.0105, 60: 0.0260}
    assert fit_in_words(arrhenius(rates)).endswith(", extrapolated beyond the temperatures studied.")
    assert "extrapolated" not in fit_in_words(arrhenius(rates), cold=45)
    assert "extrapolated" in fit_in_words(arrhenius({40: 0.004, 50: 0.01}), cold=45)


@pytest.mark.parametrize(
    ("number", "text"),
    [(5312.4, "5300"), (0.29, "0.29"), (27.4, "27"), (4.4e-5, "0.000044"), (float("inf"), "beyond all bounds")],
)
def test_numbers_are_written_out(number: float, text: str) -> None:
    assert plain(number) == text


def test_what_a_person_typed_stays_text() -> None:
    assert "<script" not in chart(HOSTILE)
    assert tree(chart(HOSTILE)).get("aria-label")
