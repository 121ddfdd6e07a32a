"""Every pair of panels on one bench: building, showing, refreshing and sending back what is shown change nothing."""

from __future__ import annotations

import inspect
from dataclasses import replace
from itertools import product
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import kit
from kit.bench.balance import Balance
from kit.bench.price_list import demo_prices
from kit.bench.scaling import Order
from kit.demos import demo
from kit.errors import KitError
from kit.formula.model import Formula, Line, Phase
from kit.layers.bottle import bundled_bottles
from kit.library.description import Description
from kit.widgets.bench import Bench
from kit.widgets.form import Form
from kit.widgets.panel import Panel
from tests.widgets.hands import all_widgets

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


def public_panels() -> list[type[Panel]]:
    """Each panel that the kit offers and that takes a bench."""
    offered = [getattr(kit, name) for name in kit.__all__ if name.endswith("Panel")]
    return [
        kind
        for kind in offered
        if issubclass(kind, Panel) and {"bench", "source"} & {*inspect.signature(kind).parameters}
    ]


PANELS = public_panels()
#: Those through which a hand changes the product; the others only show it.
WRITERS: list[type[Any]] = [
    kit.BottlePanel, kit.CostPanel, kit.FindingsPanel, kit.FormulaPanel, kit.LabelPanel, kit.PreservationPanel,
    kit.RatioPanel, kit.ScalingPanel, kit.TrianglePanel, kit.WeighingPanel,
]  # fmt: skip


def of_layers(*phases: tuple[str, str, tuple[Line, ...]], **more: Any) -> Formula:
    made = tuple(Phase(name, kind, lines) for name, kind, lines in phases)  # type: ignore[arg-type]
    return Formula(**{"title": "Try", "phases": made, **more})


def alcohol() -> Formula:
    """One layer with much alcohol."""
    lines = (Line("Aqua", "q.s.", "fill"), Line("Alcohol", "62.35"), Line("Glycerin", "1.45"), Line("Panthenol", "1/3"))
    return of_layers(("Hand splash", "water", lines))


def three_layers() -> Formula:
    water = (Line("Aqua", "q.s.", "fill"), Line("Sodium Chloride", "2.5"), Line("Sodium Benzoate", "0.4", "level"))
    oil = (Line("Coco-Caprylate", "17.37", "fill"), Line("Tocopherol", "0.3"))
    other = (Line("Propylene Glycol", "22.22", "fill"),)
    return of_layers(("Water layer", "water", water), ("Oil layer", "oil", oil), ("Third layer", "other", other))


def shampoo() -> Formula:
    lines = (
        Line("Aqua", "q.s.", "fill"), Line("Coco-Glucoside", "11.7"), Line("Cocamidopropyl Betaine", "7.9"),
        Line("Citric Acid", "0.35"), Line("Sodium Benzoate", "0.5", "level"),
    )  # fmt: skip
    return of_layers(("Wash", "water", lines), description=Description(product_kind="rinse-off"))


def in_grams() -> Formula:
    water = (Line("Aqua", "171.3 g"), Line("Glycerin", "8.7 g"), Line("Sodium Benzoate", "0.8 g", "level"))
    oil = (Line("Coco-Caprylate", "30.1 g"), Line("Tocopherol", "0.7 g"))
    return of_layers(("Water layer", "water", water), ("Oil layer", "oil", oil))


PRODUCTS: dict[str, Callable[[], Formula]] = {
    "two layers": demo,
    "one layer with alcohol": alcohol,
    "three layers": three_layers,
    "a shampoo": shampoo,
    "amounts in grams": in_grams,
}


def odd_bench(product_name: str) -> Bench:
    """A bench on which nothing stands on a step of any slider."""
    bench = Bench(PRODUCTS[product_name]())
    bench.prices = demo_prices()
    bench.bottle = bundled_bottles()["round 200 mL"]
    bench.fill = 87.373
    bench.order = Order("bottles", grams=510.99999999999994, bottles=6, fill=87.373, overage=2.37, loss=1.713)
    bench.balance = Balance(0.02, 503.7, repeatability=0.0313, linearity=0.0171)
    bench.tolerance = 0.731
    bench.ph = 5.1234567
    if product_name == "two layers":
        bench.move_oil(17.3337)
    return bench


def traits(bench: Bench) -> dict[str, Any]:
    return {name: getattr(bench, name) for name in bench.trait_names()}


def echo(panel: Panel) -> None:
    """Send back what each control shows, as a browser does."""
    for widget in all_widgets(panel):
        if isinstance(widget, Form):
            widget._receive(widget, {"kind": "typed", "texts": dict(widget.texts)}, [])


#: Every product by bottles and by mass, and the panels in either order.
ROUNDS = [
    pytest.param(
        name, by, (n + (by == "mass")) % 2 == 1, id=f"{name}, by {by}", marks=pytest.mark.slow if by == "mass" else ()
    )
    for n, name in enumerate(PRODUCTS)
    for by in ("bottles", "mass")
]


@pytest.mark.parametrize(("name", "by", "turned"), ROUNDS)
def test_all_panels_on_one_bench_leave_it_as_it_is(name: str, by: str, turned: bool) -> None:
    bench = odd_bench(name)
    bench.order = replace(bench.order, by=by)  # type: ignore[arg-type]
    before = traits(bench)
    panels = [kind(bench) for kind in (reversed(PANELS) if turned else PANELS)]  # type: ignore[call-arg]
    for panel in [*panels, *reversed(panels)]:
        echo(panel)
        assert traits(bench) == before, type(panel).__name__
    for panel in panels:
        panel._changed()
        echo(panel)
        assert traits(bench) == before, type(panel).__name__


@pytest.mark.parametrize("kind", PANELS, ids=lambda kind: kind.__name__)
def test_every_list_shows_what_is_chosen(kind: type[Panel]) -> None:
    panel = kind(odd_bench("two layers"))  # type: ignore[call-arg]
    panel.bench.move_oil(21.5)
    for form in all_widgets(panel):
        for field in form.fields if isinstance(form, Form) else ():
            if field["kind"] in ("choice", "switch") and field["options"]:
                assert form.texts[field["name"]] in field["options"], field["words"]


def acts(bench: Bench) -> Iterator[str]:
    """What hands do elsewhere on the bench, one after the other; each is told by what it was."""
    bench.order = Order("bottles", bottles=6, fill=100.0)
    yield "by bottles"
    bench.order = Order("mass", grams=511.0)
    yield "by mass"
    bench.order = Order("mass", grams=4321.987, overage=33.333)
    yield "beyond the sliders"
    bench.fill = 7.0
    yield "hardly filled"
    bench.bottle = bundled_bottles()["round 50 mL"]
    yield "another bottle"
    bench.balance, bench.tolerance = Balance(0.00031, 77.7), 0.0037
    yield "another balance"
    try:
        bench.move_oil(23.4567891)
    except KitError:
        return  # one layer: there is no ratio to move
    yield "another ratio"


@pytest.mark.parametrize("first", WRITERS, ids=lambda kind: kind.__name__)
def test_no_pair_of_panels_writes_what_no_hand_set(first: type[Any]) -> None:
    names = list(PRODUCTS)
    for n, second in enumerate(WRITERS):
        bench = odd_bench(names[(n + WRITERS.index(first)) % len(names)])
        before = traits(bench)
        panels = first(bench), second(bench)
        where = f"{first.__name__}, {second.__name__}, {bench.formula.title}"
        assert traits(bench) == before, where
        for panel in panels:
            echo(panel)
        assert traits(bench) == before, where


@pytest.mark.parametrize("name", PRODUCTS)
def test_what_a_hand_does_elsewhere_is_shown_by_every_panel_and_written_back_by_none(name: str) -> None:
    bench = odd_bench(name)
    panels = [kind(bench) for kind in WRITERS]
    for act in acts(bench):
        after = traits(bench)
        for panel in panels:
            echo(panel)
            panel._changed()
            echo(panel)
            assert traits(bench) == after, f"{type(panel).__name__}: {act}"


@pytest.mark.parametrize("pair", list(product(["scaling", "weighing"], repeat=2)), ids="-".join)
def test_by_bottles_stays_by_bottles_and_a_typed_mass_stays_as_typed(pair: tuple[str, str]) -> None:
    kinds = {"scaling": kit.ScalingPanel, "weighing": kit.WeighingPanel}
    bench = Bench(demo())
    panels = [kinds[name](bench) for name in pair]
    kit.CostPanel(bench)
    scaling = next((panel for panel in panels if isinstance(panel, kit.ScalingPanel)), kit.ScalingPanel(bench))
    panels.append(scaling)
    scaling.form.type(by="by bottles", bottles="6")
    bench.fill = 100.0
    for panel in panels:
        echo(panel)
    assert bench.order == Order("bottles", bottles=6, fill=100.0)
    assert bench.product.cost.bottles == 6
    weighing = [panel.mass for panel in panels if isinstance(panel, kit.WeighingPanel)]
    for form, name in [(scaling.form, "grams"), *((form, "mass") for form in weighing)]:
        scaling.form.type(by="by bottles")
        form.type(**{name: "510"})
        form.type(**{name: "511"})
        scaling.form.type(by="by mass")
        for panel in panels:
            echo(panel)
        assert (bench.order.by, bench.order.grams) == ("mass", 511.0)
        assert bench.product.batch.mass == 511.0


def test_choosing_a_bottle_and_the_one_before_gives_the_fill_back() -> None:
    bench = odd_bench("two layers")
    before = traits(bench)
    panel = kit.RatioPanel(bench)
    for name in ("round 50 mL", "round 30 mL", "straight bottle of your own", "round 200 mL"):
        panel.bottle.type(bottle=name)
    assert traits(bench) == before
    panel.bottle.type(bottle="round 50 mL")
    panel.bottle.type(fill="33.3")
    panel.bottle.type(bottle="round 200 mL")
    assert bench.fill == pytest.approx(33.3 * 220.41 / 55.26, abs=0.1)


def test_moving_one_layer_writes_no_rounded_size_of_another() -> None:
    bench = Bench(three_layers())
    panel = kit.TrianglePanel(bench)
    other = bench.formula.phase_total(2)
    assert panel.form["other"] == other
    panel.form.type(oil="20")
    assert bench.formula.phase_total(1) == pytest.approx(20, abs=1e-12)
    assert bench.formula.phase_total(2) == pytest.approx(other, abs=1e-12)


def test_a_balance_changed_in_one_box_keeps_the_others_to_the_last_digit() -> None:
    bench = Bench(demo())
    bench.balance = Balance(0.020000000000001, 500.123456789012, repeatability=0.0313000000000012)
    weighing, scaling = kit.WeighingPanel(bench), kit.ScalingPanel(bench)
    weighing.form.type(linearity="0.02")
    scaling.form.type(tolerance="2")
    assert bench.balance == Balance(0.020000000000001, 500.123456789012, 0.0313000000000012, 0.02)
    scaling.form.type(capacity="300")
    assert bench.balance == Balance(0.020000000000001, 300, 0.0313000000000012, 0.02)


def test_the_say_over_the_window_goes_to_the_panel_touched_last() -> None:
    bench = Bench(demo())
    first = kit.PreservationPanel(bench)
    row = first.rows["Benzoic Acid"]
    row.type(k="6", least="0.05")
    first.form.type(ph="4.5")
    ends = bench.extra_ends
    assert ends
    second = kit.PreservationPanel(bench)
    bench.move_oil(17)
    assert len(bench.extra_ends) == len(ends)
    second.form.type(ph="5")
    bench.move_oil(18)
    assert bench.extra_ends == ()


@given(
    st.lists(
        st.one_of(
            st.tuples(st.just("fill"), st.floats(0.1, 500)),
            st.tuples(
                st.just("order"),
                st.builds(Order, st.sampled_from(["mass", "bottles"]), fill=st.floats(0.1, 500)),
            ),
        ),
        max_size=8,
    )
)
def test_the_order_and_the_bench_name_one_fill_and_the_last_word_about_it_holds(sets: list[tuple[str, Any]]) -> None:
    bench, fill = Bench(demo()), Bench(demo()).fill
    for name, value in sets:
        setattr(bench, name, value)
        if name == "fill":
            fill = value
        elif value.by == "bottles":
            fill = value.fill
        assert bench.fill == bench.order.fill == fill
        if name == "order":
            assert bench.order == replace(value, fill=fill)
