"""A closed bottle from cold to warm, in its panel."""

from __future__ import annotations

import time

import pytest

from kit.figures.cold_and_warm import NOW
from kit.formula.model import Formula, Line, Phase
from kit.widgets.bench import Bench
from kit.widgets.cold_and_warm_panel import ColdAndWarmPanel
from tests.pace import on_this_machine
from tests.present import present


@pytest.fixture
def panel() -> ColdAndWarmPanel:
    spirit = Phase("Spirit <b>", "water", (Line("Aqua", "q.s."), Line("Alcohol", "20")))
    silicone = Phase("Silicone part", "oil", (Line("Cyclopentasiloxane", "30"),))
    return ColdAndWarmPanel(Bench(Formula("Harbour mist", (spirit, silicone))))


def marks(panel: ColdAndWarmPanel) -> list[float]:
    return [shape.x0 for shape in present(panel.picture.figure).layout.shapes if shape.name == NOW]


def test_the_layers_change_places_on_the_way_and_nothing_of_hers_runs(panel: ColdAndWarmPanel) -> None:
    panel.temperature.type(celsius="5")
    assert "the Silicone part lies below" in panel.answer.value
    assert "kPa under the air outside" in panel.answer.value
    panel.temperature.type(celsius="27")
    assert "it cannot be told which layer lies below" in panel.answer.value
    panel.temperature.type(celsius="35")
    assert "the Spirit &lt;b&gt; lies below" in panel.answer.value
    panel.temperature.type(celsius="50")
    assert "which layer lies below is not known" in panel.answer.value
    assert "kPa (" in panel.answer.value
    for shown in (panel.answer, panel.drawing, panel.table, panel.findings):
        assert "Spirit <b>" not in shown.value
    assert marks(panel) == [50]
    stretches = [shape for shape in present(panel.picture.figure).layout.shapes if shape.name != NOW]
    assert len(stretches) == 2, "one that cannot be told, one that is not known"
    assert "air: " in panel.drawing.value
    panel.temperature.type(celsius="-20")
    assert "of the water in the Spirit &lt;b&gt; is ice" in panel.answer.value
    assert "of its water ice" in panel.drawing.value


def test_a_step_of_the_temperature_is_quick(panel: ColdAndWarmPanel) -> None:
    times = []
    for celsius in range(-20, 60, 6):
        start = time.perf_counter()
        panel.temperature.type(celsius=str(celsius))
        times.append(time.perf_counter() - start)
    assert sorted(times)[len(times) // 2] < on_this_machine(0.015)


def test_the_way_is_hers_and_what_cannot_be_is_told(panel: ColdAndWarmPanel) -> None:
    assert "50 °C" in panel.table.value
    panel.form.type(coldest="5", warmest="38")
    assert "38 °C" in panel.table.value
    assert "Below 0 °C no density" not in panel.findings.value
    panel.form.type(coldest="45")
    assert "lies above the warmest" in panel.answer.value
    assert panel.table.value == ""
    panel.form.type(coldest="0")
    panel.bench.formula = Formula("Clear toner", (Phase("Water", "water", (Line("Aqua", "100"),)),))
    assert "one layer" in panel.answer.value
    assert panel.picture.layout.display == "none"
    panel.bench.formula = Formula("Empty", (Phase("Water", "water", (Line("Aqua", "40"),)),))
    assert panel.found is None
    assert "it adds to 40 %" in panel.answer.value
