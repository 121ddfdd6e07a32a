from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.bench.scaling import Order
from kit.demos import demo
from kit.formula.model import Formula, Line, Phase
from kit.library.description import Description
from kit.library.ingredient import Ingredient, Stock
from kit.rounding import decimal_places
from kit.widgets.bench import Bench
from kit.widgets.formula_table.table import FormulaView, LineView
from kit.widgets.ratio_view.view import RatioPicture
from kit.widgets.views import formula_view, materials_names, ratio_picture, shown_entry
from tests.formula.made import formulas
from tests.widgets.hands import HOSTILE, one_phase, two_layers, typed


def as_json(view: Any) -> Any:
    """The view as the browser gets it; raises on what JSON cannot say."""
    return json.loads(json.dumps(view, allow_nan=False))


def lines_of(bench: Bench) -> list[LineView]:
    return [line for lines in formula_view(bench)["lines"] for line in lines]


def line_of(bench: Bench, material: str) -> LineView:
    return next(line for line in lines_of(bench) if line["material"] == material)


# ---- what JSON can say ------------------------------------------------------------------------------------


@given(formulas())
@settings(max_examples=60)
def test_a_formula_at_any_stage_of_typing_has_a_view(formula: Formula) -> None:
    bench = Bench(formula)
    view = as_json(formula_view(bench))
    assert view.keys() == FormulaView.__annotations__.keys()
    assert [len(lines) for lines in view["lines"]] == [len(phase.lines) for phase in formula.phases]
    assert all(line.keys() == LineView.__annotations__.keys() for lines in view["lines"] for line in lines)
    assert "serial" in as_json(ratio_picture(bench, 3))


@given(st.lists(st.floats(-10, 200), min_size=1, max_size=4))
@settings(max_examples=40)
def test_the_demo_has_both_views_at_every_ratio(ratios: list[float]) -> None:
    bench = Bench(demo())
    for oil in ratios:
        bench.move_oil(oil)
    assert as_json(formula_view(bench))["phases"]
    picture = as_json(ratio_picture(bench, 7))
    assert picture.keys() == RatioPicture.__annotations__.keys() - {"message", "title"}
    assert (picture["serial"], picture["now"]) == (7, pytest.approx(bench.product.oil, abs=1e-6))


def test_numbers_far_too_large_are_shown_as_typed_and_not_added() -> None:
    bench = Bench(one_phase(("Aqua", "1e308"), ("Glycerin", "1e308"), ("Panthenol", "1e308")))
    view = as_json(formula_view(bench))
    assert [one["entry"] for one in view["lines"][0]] == ["1e308"] * 3
    assert all("far more than the whole formula" in one["findings"][0]["sentence"] for one in view["lines"][0])
    assert (view["total"], view["total_state"]) == ("0 %", "stop")
    bench = Bench(one_phase(("Aqua", "100000"), ("Glycerin", "100000"), ("Panthenol", "1e6")))
    assert (formula_view(bench)["total"], formula_view(bench)["total_state"]) == ("1.2e+06 %", "stop")


# ---- the formula ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("entry", "shown"),
    [
        ("7.43870967741935", "7.4387"),
        ("-0.1234567", "-0.1235"),
        ("0.00012345678", "0.000123"),
        ("1.2345678e-07", "1.23e-07"),
        ("4", "4"),
        ("0.1234", "0.1234"),
        ("3,5 %", "3,5 %"),
        ("800 ppm", "800 ppm"),
        ("a pinch", "a pinch"),
    ],
)
def test_a_long_number_is_cut_and_what_was_typed_stays(entry: str, shown: str) -> None:
    assert shown_entry(entry) == shown


def test_a_sound_formula_says_its_total_and_what_each_line_comes_to(bench: Bench) -> None:
    view = formula_view(bench)
    assert (view["total"], view["total_state"], view["total_sentence"]) == ("100.00 %", "ok", "")
    assert [line["percent"] for line in lines_of(bench)] == ["80.60", "4.00", "0.40", "14.70", "0.30"]
    assert [phase["total"] for phase in view["phases"]] == ["85.00", "15.00"]
    assert line_of(bench, "Glycerin")["plain"] == bench.library.get("Glycerin").plain_name


def test_a_total_that_is_off_says_by_how_much() -> None:
    view = formula_view(Bench(one_phase(("Aqua", "90"), ("Glycerin", "4"))))
    assert (view["total"], view["total_state"]) == ("94 %", "stop")
    assert view["total_sentence"].startswith("The lines add to 94 %: 6 % is missing.")
    assert view["total_sentence"] not in [finding["sentence"] for finding in view["findings"]]


def test_a_finding_stands_beside_its_line_and_marks_its_field_by_the_worst() -> None:
    bench = Bench(one_phase(("Aqua", "q.s."), ("Glycerin", "a pinch"), ("Moon Dust", "1"), ("", "1")))
    _, pinch, dust, nameless = lines_of(bench)
    assert pinch["field_marks"] == {"amount": "stop"}
    assert "'a pinch' is not an amount" in pinch["findings"][0]["sentence"]
    assert dust["field_marks"] == {"material": "caution"}
    assert dust["findings"][0]["sentence"].startswith("Moon Dust is not in the library")
    assert nameless["field_marks"] == {"material": "stop"}


def test_two_findings_on_one_field_mark_it_with_the_worse() -> None:
    bench = Bench(one_phase(("Aqua", "q.s."), ("Moon Dust", "1"), ("Moon Dust", "1")))
    marked = lines_of(bench)[2]
    assert [finding["severity"] for finding in marked["findings"]] == ["caution", "note"]
    assert marked["field_marks"] == {"material": "caution"}


def test_a_weighing_too_small_for_the_balance_marks_the_grams(bench: Bench) -> None:
    bench.order = Order(grams=20)
    assert line_of(bench, "Tocopherol")["field_marks"] == {}  # nobody has said yet what the balance is
    bench.balance = Balance()
    tocopherol = line_of(bench, "Tocopherol")
    assert tocopherol["field_marks"]["grams"] == "caution"
    view = formula_view(bench)
    everywhere = [*view["findings"], *(f for phase in view["lines"] for line in phase for f in line["findings"])]
    assert sum("small for a balance that reads 0.01 g" in f["sentence"] for f in everywhere) == 1


def test_grams_are_shown_with_the_places_of_the_balance(bench: Bench) -> None:
    shown = []
    for readability in (0.25, 0.1, 1.0):
        bench.balance = Balance(readability)
        shown.append(line_of(bench, "Tocopherol")["grams"])
    assert [len(grams.partition(".")[2]) for grams in shown] == [2, 1, 0]
    assert shown[0] == "0.75"
    bench.order, bench.balance = Order(grams=12345.67), Balance(0.01, 20000)
    assert formula_view(bench)["grams_head"] == "g in 12345.67 g"


def test_grams_wait_until_the_formula_is_complete(bench: Bench) -> None:
    typed(bench, 0, 1, "")
    assert {line["grams"] for line in lines_of(bench)} == {""}
    assert formula_view(bench)["grams_head"] == "g"


@pytest.mark.parametrize(("step", "places"), [(0.01, 2), (0.25, 2), (0.5, 1), (1.0, 0), (0.0001, 4), (10.0, 0)])
def test_the_places_of_a_balance(step: float, places: int) -> None:
    assert decimal_places(step) == places


def changes(bench: Bench) -> list[str]:
    return [line["change"] for line in lines_of(bench)]


def test_change_is_shown_against_the_start_and_gone_once_kept(bench: Bench) -> None:
    assert changes(bench) == [""] * 5
    typed(bench, 0, 1, "4.25")
    bench.apply({"kind": "add_line", "phase": 1, "after": 1})
    bench.apply({"kind": "set_material", "phase": 1, "line": 2, "text": "Squalane"})
    typed(bench, 1, 2, "0.001")
    assert changes(bench) == ["-0.25", "+0.25", "", "", "", "new"]
    assert formula_view(bench)["subtitle"] == "leave-on · version 1, changed since"
    bench.keep()
    assert changes(bench) == [""] * 6
    assert formula_view(bench)["subtitle"] == "leave-on · version 2"


def test_a_phase_that_is_renamed_or_moved_does_not_make_its_lines_new(bench: Bench) -> None:
    bench.apply({"kind": "set_phase_name", "phase": 0, "text": "Water"})
    assert changes(bench) == [""] * 5
    bench.undo()
    bench.apply({"kind": "move_phase", "phase": 1, "to": 0})
    typed(bench, 1, 1, "5")
    assert changes(bench) == ["", "", "-1.00", "+1.00", ""]


def test_a_material_that_stands_twice_is_compared_line_by_line() -> None:
    bench = Bench(one_phase(("Aqua", "60"), ("Glycerin", "10"), ("Aqua", "30")))
    typed(bench, 0, 1, "9")
    assert changes(bench) == ["", "-1.00", ""]


def test_undo_and_redo_are_offered_when_there_is_a_step(bench: Bench) -> None:
    def offered() -> tuple[bool, bool]:
        view = formula_view(bench)
        return view["can_undo"], view["can_redo"]

    seen = [offered()]
    typed(bench, 0, 1, "5")
    seen.append(offered())
    bench.undo()
    seen.append(offered())
    assert seen == [(False, False), (True, False), (False, True)]


def test_the_formulas_own_materials_are_offered_first() -> None:
    own = (
        Ingredient("Zest (invented)", "zest"),
        Stock("Citric Acid 10 % stock", {"Citric Acid": 10.0, "Aqua": 90.0}),
    )
    offered = materials_names(Bench(two_layers(materials=own)))
    assert offered[:2] == [["Zest (invented)", "zest"], ["Citric Acid 10 % stock", "own stock"]]
    assert offered[2:] == sorted(offered[2:], key=lambda pair: pair[0].casefold())


def test_hostile_text_reaches_the_browser_as_it_was_typed() -> None:
    """The browser side puts text into text nodes, so that nothing may be escaped twice."""
    phase = Phase(HOSTILE, "water", (Line(HOSTILE, "50"), Line("Aqua", HOSTILE)))
    view = formula_view(Bench(Formula(HOSTILE, (phase,), note=HOSTILE, description=Description(body_part=HOSTILE))))
    assert (view["title"], view["phases"][0]["name"]) == (HOSTILE, HOSTILE)
    assert (view["lines"][0][0]["material"], view["lines"][0][1]["entry"]) == (HOSTILE, HOSTILE)
    assert "&lt;" not in json.dumps(view)


# ---- the ratio --------------------------------------------------------------------------------------------


def test_the_picture_shows_the_layers_as_they_stand(bench: Bench) -> None:
    picture = ratio_picture(bench)
    water, oil = picture["layers"]
    assert (water["name"], oil["name"]) == ("Water layer", "Oil layer")
    assert water["bottom"] == 0
    assert water["top"] == oil["bottom"] == picture["grip"]
    assert picture["now_label"].startswith("15.0 % now")
    assert [band["name"] for band in picture["bands"]] == [line.material for _, _, line, _ in bench.formula.each_line()]


def test_the_ends_of_the_window_name_their_rules() -> None:
    picture = ratio_picture(Bench(demo()))
    assert picture["high"]["label"] == (
        "to 31.5 %: Potassium Sorbate in the water layer usually at most 0.3 % (a habit of the trade)"
    )
    assert picture["is_open"]


def test_one_layer_alone_has_no_line_to_drag(bench: Bench) -> None:
    bench.move_oil(0)
    picture = ratio_picture(bench)
    assert [layer["name"] for layer in picture["layers"]] == ["Water layer"]
    assert picture["grip"] is None


@pytest.mark.parametrize(
    ("formula", "sentence"),
    [
        (Formula("Nothing"), "Nothing cannot be moved to another ratio yet: it adds to 0 %"),
        (one_phase(("Aqua", "100")), "Toner has no oil layer, so there is no ratio to move."),
        (
            one_phase(("Aqua", "a pinch")),
            "Toner cannot be moved to another ratio yet: Aqua (line 1 of Water layer)",
        ),
    ],
)
def test_where_there_is_nothing_to_draw_the_picture_says_why(formula: Formula, sentence: str) -> None:
    picture = ratio_picture(Bench(formula), serial=4)
    assert picture.keys() == {"message", "serial"}
    assert picture["message"].startswith(sentence)
    assert picture["serial"] == 4


@pytest.mark.parametrize(("fill", "amount"), [(500.0, "500"), (0.0, "0")])
def test_a_fill_that_the_bottle_cannot_hold_is_said_instead_of_drawn(bench: Bench, fill: float, amount: str) -> None:
    bench.fill = fill
    assert ratio_picture(bench)["message"].startswith(f"{amount} mL cannot stand in round 100 mL, which holds")


def test_hostile_names_are_plain_text_in_the_picture_too() -> None:
    formula = two_layers()
    phases = (replace(formula.phases[0], name=HOSTILE), formula.phases[1])
    picture = ratio_picture(Bench(replace(formula, phases=phases)))
    assert picture["layers"][0]["name"] == HOSTILE
