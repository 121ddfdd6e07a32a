from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.bench.scaling import Order
from kit.layers.bottle import bundled_bottles
from kit.widgets.bench import Bench
from kit.widgets.scaling_panel import ScalingPanel
from tests.widgets.hands import HOSTILE, one_phase, rows, said, two_layers, typed, words

if TYPE_CHECKING:
    from typing import Any


@pytest.fixture
def panel(bench: Bench) -> ScalingPanel:
    return ScalingPanel(bench)


def test_the_mass_is_typed_or_slid(panel: ScalingPanel) -> None:
    panel.form.type(grams="400")
    assert (panel.bench.order.grams, panel.form["grams"]) == (400, 400)
    panel.form.type(grams="123.4")
    assert panel.bench.order.grams == panel.form["grams"] == 123.4
    assert "123.4 g of product" in words(panel.table)
    panel.form.type(grams="0")
    assert "must not be below 0.01" in panel.form.faults["grams"]
    assert panel.bench.order.grams == 123.4


def test_more_than_the_slider_has_is_typed_into_the_box_and_said_in_full(panel: ScalingPanel) -> None:
    panel.form.type(grams="543210.75")
    assert panel.bench.order.grams == 543210.75
    assert "543210.75 g of product" in words(panel.table)
    assert "weigh 543210.75 g in all" in words(panel.table)


def test_by_bottles_the_batch_fills_them(panel: ScalingPanel) -> None:
    assert {"bottles", "fill"} <= {*panel.form.hidden}
    panel.form.type(by="by bottles")
    assert "grams" in panel.form.hidden
    assert not {"bottles", "fill"} & {*panel.form.hidden}
    panel.form.type(bottles="12")
    panel.form.type(fill=f"{panel.bench.bottle.brimful / 2:.1f}")
    assert panel.bench.order == Order(by="bottles", bottles=12, fill=panel.bench.fill)
    assert panel.bench.fill == pytest.approx(panel.bench.bottle.brimful / 2, abs=0.05)
    assert words(panel.table).startswith(f"12 bottles of {panel.bench.fill:g} mL, 50 % of the ")
    grams = float(words(panel.table).split(" g of product")[0].split()[-1])
    panel.form.type(bottles="24")
    twice = float(words(panel.table).split(" g of product")[0].split()[-1])
    assert twice == pytest.approx(2 * grams, abs=0.2)


def test_overage_and_loss_are_weighed_in(panel: ScalingPanel) -> None:
    panel.form.type(grams="900", overage="5", loss="10")
    assert "with overage 5 % and loss 10 %: weigh 1050 g in all" in words(panel.table)


def test_the_weighings_have_the_places_of_the_balance_and_add_up(panel: ScalingPanel) -> None:
    panel.form.type(readability="0.1")
    assert panel.bench.balance == Balance(0.1)
    grams = [row[4] for row in rows(panel.table)]
    assert all(len(cell.partition(".")[2]) == 1 for cell in grams)
    assert sum(map(float, grams)) == pytest.approx(250, abs=1e-9)
    assert "together 100.00 250.0" in words(panel.table)


def test_a_stricter_tolerance_finds_more_that_is_too_small(panel: ScalingPanel) -> None:
    panel.form.type(grams="300")
    assert "small for this balance" not in words(panel.findings)
    panel.form.type(readability="0.1")
    assert "0.9 ▲" in [row[4] for row in rows(panel.table)]
    panel.form.type(tolerance="0.1", readability="0.01")
    assert panel.bench.tolerance == 0.1
    assert "▲: small for this balance. Every line keeps" in words(panel.findings)
    assert "small for a balance" not in words(panel.findings)  # the words stand once, at the formula's table
    assert "Every line keeps within 0.1 % from" in words(panel.findings)


def test_the_smallest_batch_is_never_rounded_to_nothing(panel: ScalingPanel) -> None:
    panel.form.type(tolerance="50", readability="0.0001")
    smallest = float(words(panel.findings).split(" from ")[1].split(" g ")[0])
    assert 0 < smallest < 0.5


def test_a_balance_that_carries_too_little_is_told(panel: ScalingPanel) -> None:
    panel.form.type(capacity="100")
    assert "is more than the balance carries" not in words(panel.findings)  # nobody has said yet what is made
    panel.form.type(grams="240")
    assert "is more than the balance carries, 100 g with the vessel" in words(panel.findings)
    panel.form.type(readability="1")
    panel.form.type(capacity="1")
    assert "The readability, 1 g, must lie between 0 and the capacity, 1 g." in said(panel.form)
    assert panel.bench.balance == Balance(1.0, 100)


def test_what_else_is_known_of_the_balance_stays_known(bench: Bench) -> None:
    bench.balance = Balance(0.01, 500, repeatability=0.02)
    panel = ScalingPanel(bench)
    panel.form.type(readability="0.1")
    assert bench.balance == Balance(0.1, 500, repeatability=0.02)


def test_a_batch_below_one_step_of_the_balance_is_told(panel: ScalingPanel) -> None:
    panel.form.type(readability="1", grams="0.3")
    assert words(panel.table) == "✕ A batch of 0.3 g is less than one step of the balance, 1 g. Make more."
    assert panel.findings.value == ""
    panel.form.type(grams="300")
    assert len(rows(panel.table)) == 5


def test_a_batch_of_nothing_is_told_and_shown_as_such(panel: ScalingPanel) -> None:
    panel.bench.order = Order(grams=0)
    assert words(panel.table) == "✕ The amount of product must be more than 0 g, got 0 g."
    assert panel.form["grams"] == 0


def test_bottles_that_cannot_hold_their_fill_are_told(panel: ScalingPanel) -> None:
    panel.form.type(by="by bottles")
    panel.bench.fill = 300
    assert words(panel.table).startswith("✕ 300 mL cannot stand in round 100 mL, which holds")
    assert panel.form["fill"] == 300
    panel.form.type(by="by mass")
    assert len(rows(panel.table)) == 5


def test_a_formula_that_is_not_complete_is_told(panel: ScalingPanel) -> None:
    typed(panel.bench, 0, 1, "")
    assert "✕ Shake cannot be weighed yet: Glycerin (line 2 of Water layer) has no amount" in words(panel.table)
    panel.bench.undo()
    assert len(rows(panel.table)) == 5


@pytest.mark.parametrize(
    ("trait", "value", "control", "shown"),
    [
        ("order", Order(by="bottles", bottles=9, fill=50), "bottles", 9),
        ("order", Order(by="bottles", bottles=500, fill=50), "bottles", 500),
        ("order", Order(by="bottles"), "by", "bottles"),
        ("order", Order(grams=77.7), "grams", 77.7),
        ("order", Order(overage=55), "overage", 55),
        ("order", Order(loss=3), "loss", 3),
        ("balance", Balance(0.1), "readability", 0.1),
        ("balance", Balance(0.05), "readability", 0.05),
        ("balance", Balance(0.01, 2000), "capacity", 2000),
        ("tolerance", 0.001, "tolerance", 0.001),
        ("bottle", bundled_bottles()["round 50 mL"], "fill", Bench().fill),
        ("fill", 5.0, "fill", 5.0),
    ],
)
def test_the_controls_show_what_the_bench_has(bench: Bench, trait: str, value: Any, control: str, shown: Any) -> None:
    early = ScalingPanel(bench)
    setattr(bench, trait, value)
    late = ScalingPanel(bench)
    assert early.form[control] == late.form[control] == shown
    assert getattr(bench, trait) == (replace(value, fill=bench.fill) if trait == "order" else value)


@given(
    st.integers(1, 3000).map(lambda tenths: tenths / 10),
    st.integers(1, 3_000_000).map(lambda thousandths: thousandths / 1000),
    st.integers(0, 4000).map(lambda hundredths: hundredths / 100),
    st.sampled_from(["mass", "bottles"]),
)
@settings(max_examples=40)
def test_every_value_stays_exact_in_its_box(fill: float, grams: float, extra: float, by: str) -> None:
    bench = Bench(two_layers())
    panel = ScalingPanel(bench)
    bench.order = Order(by, grams, 6, fill, extra, extra)  # type: ignore[arg-type]
    assert (panel.form["grams"], panel.form["overage"], panel.form["fill"]) == (grams, extra, bench.fill)
    panel.form._receive(panel.form, {"kind": "typed", "texts": dict(panel.form.texts)}, [])
    assert (bench.order.grams, bench.order.overage, bench.order.by) == (grams, extra, by)
    assert bench.fill == (fill if by == "bottles" else Bench(two_layers()).fill)


def test_the_caption_says_how_full_each_bottle_is(bench: Bench) -> None:
    bench.order = Order(by="bottles", bottles=3, fill=30)
    bench.bottle = bundled_bottles()["round 50 mL"]
    assert "3 bottles of 30 mL, 54.3 % of the 55.3 mL that round 50 mL holds" in words(ScalingPanel(bench).table)


def test_hostile_names_are_escaped() -> None:
    panel = ScalingPanel(Bench(one_phase(("Aqua", "q.s."), (HOSTILE, "0.01"), name=HOSTILE)))
    assert rows(panel.table)[1][:2] == [HOSTILE, HOSTILE]
    assert "<img" not in panel.table.value + panel.findings.value


def test_bottles_of_several_sizes_are_filled_from_one_batch(panel: ScalingPanel) -> None:
    panel.form.type(grams="6 x 50 mL + 4 x 100 mL")
    assert "Type them under “Bottles of several sizes”" in panel.form.faults["grams"]
    panel.sizes.type(sizes="6 x 50 mL; 4 x 100 mL, 2 × 250 mL")
    panel.sizes.press("take")
    # 6 · 50 + 4 · 100 + 2 · 250 = 1200 mL
    density = panel.bench.product.density
    assert panel.bench.order.by == "mass"
    assert panel.bench.order.grams == pytest.approx(1200 * density, abs=1e-3)
    assert said(panel.sizes) == (
        f"6 x 50 mL; 4 x 100 mL; 2 x 250 mL: 1200 mL in 12 bottles, at {density:.4f} g/mL {1200 * density:.1f} g of "
        "product. Overage and loss come on top; cost and label stay those of one size, 100 mL."
    )
    before = panel.bench.order
    panel.sizes.type(sizes="many small ones")
    panel.sizes.press("take")
    assert "is no bottle" in said(panel.sizes) + panel.sizes.faults.get("sizes", "")
    assert panel.bench.order == before
