"""A bottle over its life, in its panel."""

from __future__ import annotations

import time

import pytest

from kit.formula.model import Formula, Line, Phase
from kit.widgets.bench import Bench
from kit.widgets.life_panel import OverItsLifePanel
from tests.pace import on_this_machine
from tests.present import present


@pytest.fixture
def panel() -> OverItsLifePanel:
    spirit = Phase("Spirit <b>", "water", (Line("Aqua", "q.s."), Line("Alcohol", "30"), Line("Phenoxyethanol", "0.6")))
    light = Phase("Light part", "oil", (Line("Cyclopentasiloxane", "15"), Line("Squalane", "10")))
    return OverItsLifePanel(Bench(Formula("Evening splash", (spirit, light))))


def test_a_week_is_shown_as_it_will_stand_and_nothing_of_hers_runs(panel: OverItsLifePanel) -> None:
    panel.form.type(dose="0.1", open_seconds="20", storage_loss="0.5")
    panel.week.type(week="30")
    life = present(panel.life)
    assert f"{life.left[30, 0]:.1f} g left of {life.filled:.1f} g" in panel.answer.value
    assert "Spirit &lt;b&gt;" in panel.drawing.value
    assert "<b>:" not in panel.drawing.value
    figure = present(panel.picture.figure)
    assert {shape.x0 for shape in figure.layout.shapes} == {30}
    assert f"{life.layers[0].percent('Alcohol')[30, 0]:.3g}" in panel.table.value
    assert "ISO 11930" in panel.findings.value


def test_a_step_of_the_week_is_quick(panel: OverItsLifePanel) -> None:
    times = []
    for week in range(1, 12):
        start = time.perf_counter()
        panel.week.type(week=str(week))
        times.append(time.perf_counter() - start)
    assert sorted(times)[5] < on_this_machine(0.015)


def test_a_weighed_bottle_gives_the_loss_and_bad_input_keeps_what_was_typed(panel: OverItsLifePanel) -> None:
    panel.balance.type(weighings="0 131.42")
    panel.balance.press("fit")
    assert panel.balance.values["weighings"]
    panel.balance.type(weighings="0 131.42\n28 131.17\n56 130.90")
    panel.balance.press("fit")
    panel.balance.press("take")
    assert panel.form["storage_loss"] == pytest.approx(0.283, abs=0.002)
    panel.bench.product = panel.bench.product.with_bottle(panel.bench.product.bottle, 50.0)
    assert present(panel.life).filled == pytest.approx(50 * panel.bench.product.density)
    panel.bench.formula = Formula("Empty", (Phase("Water", "water", (Line("Aqua", "40"),)),))
    assert panel.life is None
    assert "it adds to 40 %" in panel.answer.value
