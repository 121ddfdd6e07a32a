"""Whether a batch fits, what is lost on the way, and how much what is left allows."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.losses import evaporated, plan_for_losses
from kit.bench.scaling import Vessel, batch_from_ingredient, batch_from_on_hand, bottles_from
from kit.demos import demo
from kit.errors import RangeError, UnitError
from kit.formula.model import Formula, Line, Phase
from kit.rounding import all_digits

TONER = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "10"))),))
SHAKE = demo()
BEAKER = Vessel.of("600 mL", name="the beaker")


def test_too_full_and_too_empty() -> None:
    (full,) = BEAKER.filling(700, 1.0).findings
    assert (
        "700 mL fills 117 % of the beaker; you allow 80 %. Make 480 g at most, or make it in 2 parts." in full.sentence
    )
    assert (full.severity, full.source) == ("caution", "common practice")
    (empty,) = BEAKER.filling(90, 0.9).findings
    assert "100 mL fills only 16.7 % of the beaker: too empty to stir well below 25 %" in empty.sentence
    assert "Make 135 g or more" in empty.sentence
    assert BEAKER.filling(480, 1.0).findings == []
    assert BEAKER.filling(150, 1.0).findings == []


@given(st.floats(1, 1e5), st.floats(0.5, 2), st.floats(50, 5000), st.floats(30, 100))
def test_the_parts_fit_and_the_largest_batch_is_full_just_so(
    mass: float, density: float, volume: float, most: float
) -> None:
    vessel = Vessel(volume, most=most, least=10)
    filling = vessel.filling(mass, density)
    assert filling.percent * volume / 100 * density == pytest.approx(mass)
    assert vessel.filling(mass / filling.parts, density).percent <= most * (1 + 1e-8)
    assert filling.parts == 1 or vessel.filling(mass / (filling.parts - 1), density).percent > most * (1 - 1e-8)
    assert vessel.filling(vessel.most_mass(density), density).findings == []
    assert vessel.filling(vessel.least_mass(density), density).findings == []


@given(st.floats(1, 1e5), st.floats(0.5, 2), st.floats(5, 500))
def test_bottles_and_what_is_left_are_the_batch(mass: float, density: float, fill: float) -> None:
    count, over = bottles_from(f"{all_digits(mass)} g", density, f"{all_digits(fill)} mL")
    assert count * fill * density + over == pytest.approx(mass, abs=1e-6)
    assert 0 <= over < fill * density * (1 + 1e-9)


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: Vessel(0), r"the vessel must hold more than 0 mL, got 0 mL\. Fill it with water and weigh that\."),
        (lambda: Vessel(100, most=20), "least fill must be below the most.*got 25 and 20 %"),
        (lambda: Vessel(100, most=101), "from 0 to 100 %"),
        (lambda: BEAKER.filling(0, 1), r"The batch must weigh more than 0 g, got 0 g\."),
        (lambda: BEAKER.filling(10, 0), r"The density must be more than 0 g/mL, got 0\."),
        (lambda: bottles_from("0 g", 1, "10 mL"), "Batch and fill must be more than 0, got 0 g and 10 mL"),
        (lambda: bottles_from("10 g", -1, "10 mL"), "The density must be more than 0 g/mL"),
    ],
)
def test_vessels_that_cannot_be(work: object, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()  # type: ignore[operator]


# ---- losses -------------------------------------------------------------------------------------------------


@given(st.floats(10, 5000), st.floats(0, 0.7))
def test_what_evaporates_is_missing_from_one_line_only(mass: float, share: float) -> None:
    formula, lost = SHAKE, share * mass
    left = evaporated(formula, f"{all_digits(mass)} g", f"{all_digits(lost)} g", phase=0)
    assert left.mass + left.add_back == pytest.approx(mass)
    assert left.formula.is_complete
    for (_, _, line, real), (*_, planned) in zip(left.formula.each_line(), formula.each_line(), strict=True):
        gone = lost if line.material == "Aqua" else 0.0
        assert (real or 0) * left.mass / 100 == pytest.approx((planned or 0) * mass / 100 - gone, abs=1e-6 * mass)


@given(st.floats(10, 5000), st.floats(0, 500), st.floats(0, 50))
def test_the_plan_leaves_the_product_after_both_losses(product: float, gone: float, stays: float) -> None:
    formula = SHAKE
    plan = plan_for_losses(
        formula, f"{all_digits(product)} g", evaporates=f"{all_digits(gone)} g", phase=0, stays=stays
    )
    weighed = sum(sum(row) for row in plan.weigh)
    assert weighed == pytest.approx(plan.product + plan.evaporates + plan.stays)
    assert plan.product == pytest.approx(product)
    assert plan.stays == pytest.approx(plan.in_vessel * stays / 100, abs=1e-6)
    for p, i, line, percent in formula.each_line():
        in_vessel = plan.weigh[p][i] - (gone if line.material == "Aqua" else 0)
        assert 100 * in_vessel / plan.in_vessel == pytest.approx(percent, abs=1e-6)


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: evaporated(TONER, "100 g", "95 g", 0), r"95 g of Aqua cannot have left Water: it held 90 g of it\."),
        (lambda: evaporated(TONER, "100 g", "-1 g", 0), "-1 g of Aqua cannot have left Water"),
        (lambda: evaporated(TONER, "100 g", "1 g", 1), r"There is no phase number 2; Toner has 1\."),
        (lambda: evaporated(TONER, "100 g", "1 g", 0, "Alcohol"), "Water has no line of Alcohol, so none can leave it"),
        (
            lambda: evaporated(Formula("W", (Phase("W", "water", (Line("Aqua", "100"),)),)), "9 g", "9 g", 0),
            "All of the batch would be gone",
        ),
        (lambda: plan_for_losses(TONER, "0 g"), "got 0 g, 0 g and 0 %"),
        (lambda: plan_for_losses(TONER, "9 g", stays=100), "got 9 g, 0 g and 100 %"),
        (lambda: plan_for_losses(TONER, "9 g", evaporates="1 g", phase=3), "There is no phase number 4"),
    ],
)
def test_losses_that_cannot_be(work: object, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()  # type: ignore[operator]


# ---- what is on hand ----------------------------------------------------------------------------------------


@given(
    st.dictionaries(st.sampled_from(["Aqua", "Glycerin", "Coco-Caprylate", "Parfum"]), st.floats(0.1, 1e4), min_size=1)
)
def test_the_largest_batch_uses_up_one_and_no_more_than_there_is(on_hand: dict[str, float]) -> None:
    found = batch_from_on_hand(SHAKE, {name: f"{all_digits(mass)} g" for name, mass in on_hand.items()})
    percents = {line.material: percent or 0.0 for *_, line, percent in SHAKE.each_line()}
    for name, mass in on_hand.items():
        needed = found.mass * percents[name] / 100
        assert needed <= mass * (1 + 1e-9)
        assert found.left[name] == pytest.approx(mass - needed, abs=1e-6 * mass + 1e-9)
    assert found.left[found.limiting] == 0
    assert found.mass == min(
        batch_from_ingredient(SHAKE, name, f"{all_digits(mass)} g") for name, mass in on_hand.items()
    )


def test_a_material_on_two_lines_counts_on_both() -> None:
    lines = (Line("Aqua", "80"), Line("Glycerin", "12"), Line("Glycerin", "8"))
    twice = Formula("Twice", (Phase("Water", "water", lines),))
    assert batch_from_ingredient(twice, "glycerin", "50 g") == pytest.approx(250)


@pytest.mark.parametrize(
    ("on_hand", "words"),
    [
        ({}, "Name at least one material"),
        ({"Parfum": "5 g"}, r"Toner holds no Parfum\. It holds: Aqua, Glycerin\."),
        ({" ": "5 g"}, "Toner holds no material without a name"),
        ({"Glycerin": "0 g"}, "Glycerin: 0 g is nothing to make a batch from"),
    ],
)
def test_what_no_batch_comes_from(on_hand: dict[str, str], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        batch_from_on_hand(TONER, on_hand)


def test_what_is_left_needs_its_unit() -> None:
    with pytest.raises(UnitError, match=r'Glycerin has no unit \(got 5\)\. Write "5 g"\.'):
        batch_from_ingredient(TONER, "Glycerin", 5)


def test_a_vessel_of_less_than_a_millilitre_is_one() -> None:
    assert Vessel(0.5).filling(0.2, 1.0).percent == pytest.approx(40)
