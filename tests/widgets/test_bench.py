from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import traitlets

from kit.bench.balance import Balance
from kit.bench.scaling import Order
from kit.demos import demo
from kit.errors import RangeError, StoreError
from kit.formula.files import read_formula
from kit.formula.model import Formula, Line, Phase
from kit.formula.moved import Ratio
from kit.formula.versions import version_label, versions
from kit.layers.bottle import bundled_bottles, room_findings
from kit.library.ingredient import Ingredient
from kit.product import product as product_module
from kit.widgets.bench import MOST_UNDO, Bench
from tests.widgets.hands import entries, flat, one_phase, two_layers, typed


def test_without_a_formula_the_bench_holds_the_demo() -> None:
    assert Bench().formula == demo()


def test_a_message_edits_the_formula_and_undo_and_redo_go_back_and_forth(bench: Bench) -> None:
    before = bench.formula
    assert not bench.can_undo
    typed(bench, 0, 1, "6")
    after = bench.formula
    assert entries(after)[0] == ["q.s.", "6", "0.4"]
    bench.apply({"kind": "undo"})
    assert (bench.formula, bench.can_undo, bench.can_redo) == (before, False, True)
    bench.apply({"kind": "redo"})
    assert (bench.formula, bench.can_undo, bench.can_redo) == (after, True, False)


def test_undo_and_redo_with_nowhere_to_go_change_nothing(bench: Bench) -> None:
    before = bench.formula
    bench.undo()
    bench.redo()
    assert bench.formula is before


def test_an_edit_that_changes_nothing_is_no_step(bench: Bench) -> None:
    typed(bench, 0, 1, "4")
    assert not bench.can_undo


def test_a_new_edit_after_undo_closes_the_way_forward(bench: Bench) -> None:
    typed(bench, 0, 1, "6")
    bench.undo()
    typed(bench, 0, 1, "7")
    assert not bench.can_redo


def test_only_so_many_steps_are_remembered(bench: Bench) -> None:
    for number in range(MOST_UNDO + 5):
        bench.change(replace(bench.formula, title=f"Shake {number}"))
    steps = 0
    while bench.can_undo:
        bench.undo()
        steps += 1
    assert steps == MOST_UNDO
    assert bench.formula.title == "Shake 4"


# ---- the ratio --------------------------------------------------------------------------------------------


def test_a_series_of_moves_is_one_step(bench: Bench) -> None:
    before = bench.formula
    for oil in (16.0, 20.0, 31.0):
        bench.move_oil(oil)
    assert bench.product.oil == pytest.approx(31)
    bench.undo()
    assert bench.formula is before
    bench.redo()
    assert bench.product.oil == pytest.approx(31)
    bench.move_oil(40)
    bench.undo()
    assert bench.product.oil == pytest.approx(31)


def test_a_move_to_where_it_stands_does_not_swallow_the_next_step() -> None:
    water, oil = (
        Phase("Water", "water", (Line("Aqua", "80.0"),)),
        Phase("Oil", "oil", (Line("Squalane", "20.0"),)),
    )
    bench = Bench(Formula("Plain", (water, oil)))
    before = bench.formula
    bench.move_oil(20.0)
    assert bench.formula is before
    bench.move_oil(30.0)
    bench.undo()
    assert bench.formula is before


def test_an_edit_between_moves_is_a_step_of_its_own(bench: Bench) -> None:
    bench.move_oil(20)
    typed(bench, 0, 1, "5")
    bench.move_oil(25)
    bench.undo()
    assert entries(bench.formula)[0][1] == "5"
    assert bench.product.oil == pytest.approx(20)


@pytest.mark.parametrize("name", ["demo", "small"])
def test_moving_out_of_the_window_and_back_loses_nothing(name: str) -> None:
    bench = Bench(demo() if name == "demo" else two_layers())
    before, start = flat(bench.formula), bench.product.oil
    path = bench.path
    for oil in (99.9, 100.0, 0.0, 55.0, -5.0, 300.0, start):
        bench.move_oil(oil)
        assert bench.path is path
    assert flat(bench.formula) == pytest.approx(before, abs=1e-9, rel=0)
    assert [line.hold for _, _, line, _ in bench.formula.each_line()] == [
        line.hold for _, _, line, _ in bench.start.each_line()
    ]


def test_the_oil_layer_stops_at_the_ends(bench: Bench) -> None:
    bench.move_oil(-3)
    assert bench.product.oil == 0
    bench.move_oil(1e9)
    assert bench.product.oil == pytest.approx(bench.path.most)


def test_the_ratio_by_height_is_the_one_that_is_seen(bench: Bench) -> None:
    bench.move_oil_height(30)
    assert bench.heights.height_share(bench.product.oil) == pytest.approx(30, abs=1e-6)


def test_a_formula_put_in_hand_directly_is_where_the_next_move_starts(bench: Bench) -> None:
    bench.move_oil(20)
    bench.formula = two_layers(title="Another")
    bench.move_oil(30)
    assert bench.formula.title == "Another"
    bench.undo()
    assert bench.formula.title == "Another"
    assert bench.product.oil == pytest.approx(15)


def test_a_formula_without_two_layers_has_no_ratio_to_move() -> None:
    bench = Bench(one_phase(("Aqua", "100")))
    with pytest.raises(RangeError, match="Toner has no oil layer, so there is no ratio to move"):
        bench.move_oil(20)
    assert not bench.can_undo


# ---- versions ---------------------------------------------------------------------------------------------


def test_keep_puts_a_copy_rounded_to_100_beside_what_is_in_hand(bench: Bench) -> None:
    bench.move_oil(17.123456789)
    before = bench.formula
    kept = bench.keep("more oil")
    assert (kept.version, kept.change_note) == (2, "more oil")
    assert bench.start is kept
    assert [old.version for old in bench.kept] == [1, 2]
    assert all(round(percent, 3) == pytest.approx(percent, abs=1e-9) for percent in flat(kept))
    assert sum(flat(kept)) == pytest.approx(100, abs=1e-9)
    assert (bench.formula.phases, bench.formula.percents) == (before.phases, before.percents)
    assert version_label(bench.formula) == "version 2 before rounding"


def test_a_version_that_was_typed_is_in_hand_as_it_was_kept(bench: Bench) -> None:
    typed(bench, 0, 1, "6")
    assert version_label(bench.formula) == "version 1, changed since"
    kept = bench.keep()
    assert bench.formula == kept
    assert version_label(bench.formula) == "version 2"


def test_a_kept_version_is_found_again_whatever_happens_afterwards(bench: Bench) -> None:
    """30 % oil, kept; back to where it was, saved: the file holds both."""
    start = bench.formula
    bench.save("soak.toml")
    bench.move_oil(30)
    kept = bench.keep("richer")
    bench.move_oil(15)
    assert bench.formula.phases == start.phases
    assert bench.formula.ratio is None
    assert version_label(bench.formula) == "version 1"
    bench.save()
    found = read_formula("soak.toml")
    assert found == bench.formula
    assert versions(found) == (replace(start), replace(kept, earlier=()))
    assert found.percents == start.percents


def test_numbers_as_typed_come_back_after_any_way(bench: Bench) -> None:
    before = bench.formula
    for oil, keep in ((10, False), (30, True), (50, True), (15, False)):
        bench.move_oil(oil)
        if keep:
            bench.keep()
    assert bench.formula.phases is before.phases
    assert flat(bench.formula) == flat(before)


def test_keeping_writes_to_the_file_that_there_is_and_says_where_a_disk_refuses(bench: Bench) -> None:
    bench.save("soak.toml")
    typed(bench, 0, 1, "6")
    bench.keep("sweeter")
    assert [old.version for old in versions(read_formula("soak.toml"))] == [1, 2]
    assert bench.saved is bench.formula
    bench.file = Path("nowhere/soak.toml")
    typed(bench, 0, 1, "7")
    with pytest.raises(StoreError, match=r"Kept as version 3 in hand only, not on disk yet\. soak\.toml was not saved"):
        bench.keep()
    assert [old.version for old in bench.kept] == [1, 2, 3]


def test_an_amount_typed_while_the_ratio_is_moved_means_what_stands_on_the_screen(bench: Bench) -> None:
    bench.move_oil(30)
    shown = flat(bench.formula)
    typed(bench, 0, 2, "0.5")  # keeps its level beside q.s.: nothing else has to change
    assert entries(bench.formula) == [["q.s.", "4", "0.5"], ["14.7", "0.3"]]
    assert flat(bench.formula) == pytest.approx([shown[0] - 0.1, shown[1], 0.5, shown[3], shown[4]], abs=1e-12)
    assert bench.told == ""
    typed(bench, 0, 1, "6")  # moves with its layer: the moved amounts are the typed ones now
    assert bench.formula.ratio is None
    assert flat(bench.formula)[1:] == [6.0, 0.5, *shown[3:]]
    assert bench.told.startswith("The ratio was moved, so the amounts at 30 % oil layer are the typed ones from now on")
    bench.undo()
    assert bench.told == ""
    assert bench.product.oil == pytest.approx(30)
    bench.move_oil(15)
    assert entries(bench.formula) == [["q.s.", "4", "0.5"], ["14.7", "0.3"]]


def test_a_version_is_taken_in_hand_again_as_it_was_kept(bench: Bench) -> None:
    bench.move_oil(30)
    kept = bench.keep()
    bench.move_oil(40)
    bench.take_version(2)
    assert version_label(bench.formula) == "version 2"
    assert bench.formula.phases == kept.phases
    bench.undo()
    assert bench.product.oil == pytest.approx(40)
    with pytest.raises(RangeError, match=r"No version 9 of Shake was kept\."):
        bench.take_version(9)


def test_the_same_under_another_number_is_no_step(bench: Bench) -> None:
    typed(bench, 0, 1, "6")
    bench.undo()
    bench.keep("as it was")
    bench.take_version(1)
    assert (version_label(bench.formula), bench.can_undo, bench.can_redo) == ("version 1", False, True)


def test_there_and_back_is_no_step_and_three_layers_come_home_too() -> None:
    other = Phase("Powder", "other", (Line("Kaolin", "5", "fill"),))
    water, oil = two_layers().phases
    bench = Bench(Formula("Three", (water, oil, other)))
    before = bench.formula
    bench.move_layers(20, 8)
    assert bench.formula.ratio == Ratio(20, 8)
    assert sum(flat(bench.formula)) == pytest.approx(100, abs=1e-12)
    assert bench.formula.percents[2] == (8.0,)
    bench.move_oil(25)  # the other layer stays where it was moved
    assert bench.formula.ratio == Ratio(25, 8)
    bench.move_layers(15, 5)
    assert bench.formula == before
    for _ in range(3):
        bench.undo()
    assert (bench.formula == before, bench.can_undo) == (True, False)
    bench.move_oil(30)
    bench.move_oil(15)
    assert (bench.formula == before, bench.can_undo) == (True, False)


def test_a_version_kept_after_undo_takes_a_number_of_its_own_and_loses_none(bench: Bench) -> None:
    bench.move_oil(20)
    bench.keep("first try")
    bench.undo()
    bench.move_oil(30)
    kept = bench.keep("second try")
    assert kept.version == 3
    assert [old.change_note for old in kept.earlier] == ["", "first try"]
    assert [old.version for old in bench.kept] == [1, 2, 3]


def test_what_is_not_complete_is_not_kept(bench: Bench) -> None:
    typed(bench, 0, 1, "a pinch")
    with pytest.raises(RangeError, match=r"Shake cannot be kept yet: Glycerin \(line 2 of Water layer\)"):
        bench.keep()
    assert bench.formula.version == bench.start.version == 1


def test_a_material_travels_with_the_formula_and_is_found(bench: Bench) -> None:
    bench.add_material(Ingredient("Lane Extract (invented)"))
    assert bench.product.materials.get("lane extract (invented)") is not None
    bench.undo()
    assert bench.product.materials.get("lane extract (invented)") is None


# ---- what follows -----------------------------------------------------------------------------------------


def test_each_thing_is_worked_out_once_for_each_state(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    calls: dict[str, int] = {}

    def spy(name: str) -> None:
        real = getattr(product_module, name)

        def counted(*args: Any, **more: Any) -> Any:
            calls[name] = calls.get(name, 0) + 1
            return real(*args, **more)

        monkeypatch.setattr(product_module, name, counted)

    for name in ("check", "layers_of", "weigh", "requirements", "window_of"):
        spy(name)

    def look() -> None:
        product = bench.product
        _ = product.findings, product.layers, product.batch, bench.requirements, bench.window, product.standing

    look()
    look()
    assert calls == {"check": 1, "layers_of": 1, "weigh": 1, "requirements": 1, "window_of": 1}
    bench.tolerance = 2.0
    look()
    assert calls == {"check": 1, "layers_of": 1, "weigh": 2, "requirements": 1, "window_of": 1}
    typed(bench, 0, 1, "5")
    look()
    assert calls == {"check": 2, "layers_of": 2, "weigh": 3, "requirements": 2, "window_of": 2}
    bench.move_oil(20)
    bench.move_oil(21)
    look()
    assert (calls["check"], calls["window_of"]) == (3, 2)


def test_the_batch_is_the_one_that_is_ordered(bench: Bench) -> None:
    bench.order = Order(grams=100, overage=10)
    assert bench.product.batch.mass == pytest.approx(110)
    bench.balance = Balance(1.0)
    assert all(weighing.grams == round(weighing.grams) for weighing in bench.product.batch.weighings)


def test_the_fill_of_bottle_and_order_is_one_and_the_same(bench: Bench) -> None:
    bench.fill = 60.0
    assert bench.order.fill == 60
    bench.order = Order(by="bottles", bottles=2, fill=50)
    assert bench.fill == 50
    bench.order = Order(by="mass", grams=100)
    assert (bench.fill, bench.order.fill) == (50, 50)


def test_an_empty_formula_has_a_batch_size_and_says_why_it_cannot_be_weighed() -> None:
    bench = Bench(Formula("Nothing yet"))
    assert bench.product.batch_size.mass == 250
    with pytest.raises(RangeError, match="Nothing yet cannot be weighed yet: it adds to 0 %, not 100 %"):
        _ = bench.product.batch


def test_the_bench_starts_with_room_to_shake(bench: Bench) -> None:
    assert bench.bottle == bundled_bottles()["round 100 mL"]
    assert bench.fill == bench.bottle.nominal == 100
    assert room_findings(bench.bottle, bench.fill) == []


@pytest.mark.parametrize(
    ("trait", "value"),
    [
        ("formula", "Shake"),
        ("formula", None),
        ("start", 3),
        ("library", []),
        ("order", 250),
        ("balance", 0.01),
        ("tolerance", "1 %"),
        ("bottle", "round 100 mL"),
        ("fill", None),
        ("file", "shake.toml"),
    ],
)
def test_a_value_of_the_wrong_type_is_refused_and_changes_nothing(bench: Bench, trait: str, value: object) -> None:
    before = getattr(bench, trait)
    with pytest.raises(
        (traitlets.TraitError, TypeError), match=f"The '{trait}' (trait of a Bench instance|of a Product)"
    ):
        setattr(bench, trait, value)
    assert getattr(bench, trait) is before
