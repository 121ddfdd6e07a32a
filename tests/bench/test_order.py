"""In which vessel and order a batch is weighed, and what that does."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.bench.order import ARRANGEMENTS, WEIGHING_ORDERS, arrangement_findings, chains, weighing_steps
from kit.bench.weighing import weigh
from kit.demos import demo
from kit.errors import RangeError, UnitError
from kit.formula.model import Formula, Line, Phase
from kit.rounding import all_digits
from kit.units import quantity
from tests.layers.some_formulas import formulas

if TYPE_CHECKING:
    from kit.bench.order import Arrangement, WeighingOrder

WAYS = st.sampled_from([(way, order) for way in ARRANGEMENTS for order in WEIGHING_ORDERS])


@given(formulas(other=True), st.floats(5, 900), WAYS, st.floats(0, 100))
def test_each_line_is_weighed_once_and_the_vessels_add_up(
    formula: Formula, mass: float, way: tuple[Arrangement, WeighingOrder], vessel: float
) -> None:
    batch = weigh(formula, f"{all_digits(mass)} g")
    numbers = [n for chain in chains(batch, *way) for n in chain]
    assert sorted(numbers) == [n for n, w in enumerate(batch.weighings) if w.grams > 0]
    steps = weighing_steps(batch, *way, vessel=f"{all_digits(vessel)} g")
    last = {step.vessel: step for step in steps}
    assert sum(step.after for step in last.values()) == pytest.approx(batch.mass)
    for step in steps:
        assert step.after - step.before == pytest.approx(step.weighing.grams, abs=1e-9)
        assert step.load == pytest.approx(vessel + step.after)
    if way[1] == "smallest first":
        for before, after in pairwise(steps):
            if before.vessel == after.vessel:
                assert before.weighing.grams <= after.weighing.grams


def test_the_display_of_one_vessel_counts_up() -> None:
    batch = weigh(demo(), "250 g")
    steps = weighing_steps(batch, "one vessel", vessel="110.2 g")
    assert [step.after for step in steps[:4]] == [186.0, 196.0, 201.0, 202.25]
    assert (steps[-1].after, steps[-1].load, steps[-1].vessel) == (250.0, 360.2, 0)
    phases = weighing_steps(batch, "vessel per phase")
    assert [(s.vessel, s.before) for s in phases if s.before == 0] == [(0, 0), (1, 0)]
    smallest = weighing_steps(batch, "separate", "smallest first")
    assert smallest[0].weighing.material == "Parfum"
    assert smallest[-1].weighing.material == "Aqua"


def test_the_capacity_reached_is_said_where() -> None:
    batch = weigh(demo(), "250 g", Balance(0.01, 300))
    assert arrangement_findings(batch, vessel="50 g") == []
    (finding,) = arrangement_findings(batch, vessel="120 g")
    assert finding.sentence == (
        "With Aqua the load reaches 306 g, vessel included; the balance carries 300 g. Weigh it in parts."
    )
    found = arrangement_findings(batch, "one vessel", vessel="80 g")
    assert found[0].sentence == (
        "With Coco-Caprylate the load reaches 316.5 g, vessel included; the balance carries 300 g. "
        "Use more vessels, or weigh the large lines apart."
    )
    assert (found[0].place.phase, found[0].place.line) == (1, 0)


def test_small_amounts_into_a_heavy_vessel_are_warned_of() -> None:
    batch = weigh(demo(), "400 g")
    found = arrangement_findings(batch, "one vessel")
    assert found[0].sentence == (
        "Sodium Chloride, Sodium Benzoate, Potassium Sorbate, Tocopherol, Parfum: a small amount into a heavy "
        "vessel. Balances scatter more under a heavy load than their plate says. Weigh the smallest first, or each "
        "in a dish of its own."
    )
    assert found[0].source == "common practice"
    assert found[1].sentence.startswith("In one vessel each reading ends one line and begins the next")
    (note,) = arrangement_findings(batch, "one vessel", "smallest first")
    assert note.severity == "note"
    assert arrangement_findings(batch, "separate") == []
    (heavy, _) = arrangement_findings(weigh(demo(), "100 g"), "one vessel", "smallest first", vessel="300 g")
    assert "plate says. Use a lighter vessel, or a dish for each." in heavy.sentence


def test_what_cannot_be_asked() -> None:
    batch = weigh(Formula("T", (Phase("W", "water", (Line("Aqua", "100"),)),)), "50 g")
    with pytest.raises(RangeError, match=r"'two' is not known\. Write one of separate, vessel per phase, one ves"):
        chains(batch, "two")  # type: ignore[arg-type]
    with pytest.raises(RangeError, match=r"'by name' is not known\. Write one of as written, smallest first"):
        chains(batch, "separate", "by name")  # type: ignore[arg-type]
    with pytest.raises(RangeError, match="A vessel weighs 0 g or more, got"):
        weighing_steps(batch, vessel="-1 g")
    with pytest.raises(UnitError, match="vessel must be an amount that can be turned into g"):
        weighing_steps(batch, vessel=quantity(float("nan"), "g"))
