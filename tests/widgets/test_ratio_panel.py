from __future__ import annotations

from typing import Any

import pytest

from kit.demos import demo
from kit.formula.model import Formula, Line, Phase, Rule
from kit.layers.bottle import Bottle, bundled_bottles
from kit.library.ingredient import Figure, Ingredient
from kit.widgets.bench import Bench
from kit.widgets.ratio_panel import OWN_BOTTLE, RatioPanel
from kit.widgets.ratio_view import RatioView
from tests.widgets.hands import HOSTILE, flat, one_phase, rows, said, two_layers, typed, words


@pytest.fixture
def panel(bench: Bench) -> RatioPanel:
    return RatioPanel(bench)


def ask(view: RatioView, **content: Any) -> None:
    """A message from the browser side of the picture."""
    view._handle_custom_msg(content, [])


# ---- the hand ---------------------------------------------------------------------------------------------


def test_a_drag_moves_the_ratio_and_each_ask_is_answered_by_its_number(panel: RatioPanel) -> None:
    ask(panel.picture, kind="oil", oil=20, serial=1)
    assert panel.bench.product.oil == pytest.approx(20)
    assert (panel.picture.view["now"], panel.picture.view["serial"]) == (20, 1)
    ask(panel.picture, kind="oil", oil=25.5, serial=2)
    assert (panel.picture.view["now"], panel.picture.view["serial"]) == (25.5, 2)
    panel.bench.undo()
    assert panel.bench.product.oil == pytest.approx(15)


def test_an_ask_that_moves_nothing_is_answered_too(panel: RatioPanel) -> None:
    """Otherwise the handle would wait for its time-out whenever it is pulled against an end."""
    for serial, oil in enumerate((500, 600, 600), start=1):
        ask(panel.picture, kind="oil", oil=oil, serial=serial)
        assert panel.picture.view["serial"] == serial
    assert panel.bench.product.oil == pytest.approx(100)


def test_an_ask_that_cannot_be_met_is_answered_with_a_sentence(panel: RatioPanel) -> None:
    typed(panel.bench, 0, 1, "a pinch")
    ask(panel.picture, kind="oil", oil=20, serial=9)
    assert panel.picture.view["serial"] == 9
    assert said(panel.ratio).startswith("Shake cannot be moved to another ratio yet: Glycerin")


def test_the_line_between_the_layers_is_put_where_the_hand_asks(panel: RatioPanel) -> None:
    for serial, height in enumerate((40.0, 33.3), start=1):
        ask(panel.picture, kind="height", mm=height, serial=serial)
        assert panel.picture.view["grip"] == pytest.approx(height, abs=1e-6)


def test_the_line_is_put_right_where_the_oil_is_below() -> None:
    heavy = Ingredient("Heavy Oil (invented)", phase="oil", density=Figure(1.31, "own"))
    oil = Phase("Oil layer", "oil", (Line(heavy.inci, "15"),))
    panel = RatioPanel(Bench(two_layers(phases=(two_layers().phases[0], oil), materials=(heavy,))))
    assert panel.bench.heights.oil_is_below(panel.bench.product.oil)
    ask(panel.picture, kind="height", mm=20.0, serial=1)
    assert panel.picture.view["grip"] == pytest.approx(20, abs=1e-6)
    assert panel.picture.view["layers"][0]["name"] == "Oil layer"


@pytest.mark.parametrize(
    "content",
    [
        {},
        {"kind": "launch", "oil": 20, "serial": 1},
        {"kind": "oils", "oil": 20, "serial": 1},
        {"kind": "oil", "oil": "20", "serial": 1},
        {"kind": "oil", "oil": None, "serial": 1},
        {"kind": "oil", "mm": 20, "serial": 1},
        {"kind": "oil", "oil": 20},
        {"kind": "oil", "oil": 20, "serial": "1"},
    ],
)
def test_what_is_no_ask_is_let_pass(panel: RatioPanel, content: dict[str, Any]) -> None:
    ask(panel.picture, **content)
    assert panel.bench.product.oil == pytest.approx(15)
    assert not panel.bench.can_undo


def test_its_name_in_a_cell_is_short() -> None:
    assert repr(RatioView(view={"now_label": "15.0 % now"})) == "RatioView('15.0 % now')"
    assert repr(RatioView(view={"message": "no oil"})) == "RatioView('no oil')"


# ---- the boxes --------------------------------------------------------------------------------------------


def test_the_ratio_typed_by_mass_or_height_moves_it_and_both_follow(panel: RatioPanel) -> None:
    panel.ratio.type(mass=25)
    assert panel.bench.product.oil == pytest.approx(25)
    assert panel.ratio["height"] == pytest.approx(panel.bench.heights.height_share(25), abs=1e-4)
    panel.ratio.type(height=40)
    assert panel.bench.heights.height_share(panel.bench.product.oil) == pytest.approx(40, abs=1e-6)
    assert panel.ratio["mass"] == pytest.approx(panel.bench.product.oil, abs=1e-4)


def test_where_there_is_no_ratio_there_is_no_box_for_one_until_there_is_again(panel: RatioPanel) -> None:
    typed(panel.bench, 1, 0, "a pinch")
    assert "mass" in panel.ratio.hidden
    assert "height" in panel.ratio.hidden
    assert "cannot be moved to another ratio yet" in panel.picture.view["message"]
    assert panel.findings.value == panel.lines.value == ""
    panel.bench.undo()
    assert "mass" not in panel.ratio.hidden
    assert panel.ratio["mass"] == pytest.approx(15)


def test_the_lines_are_compared_with_the_start(panel: RatioPanel) -> None:
    panel.ratio.type(mass=20)
    found = {row[0]: row[1:] for row in rows(panel.lines)}
    assert found["Sodium Benzoate"] == ["0.40", "0.40", ""]
    assert found["Coco-Caprylate"] == ["14.70", "19.60", "+4.90"]
    assert "version 1, %" in words(panel.lines)


def test_a_line_taken_out_or_put_in_is_compared_too(panel: RatioPanel) -> None:
    panel.bench.apply({"kind": "set_material", "phase": 1, "line": 1, "text": "Squalane"})
    found = {row[0]: row[1:] for row in rows(panel.lines)}
    assert found["Tocopherol"] == ["0.30", "—", ""]
    assert found["Squalane"] == ["—", "0.30", "new"]


def test_outside_the_window_the_broken_rule_is_said() -> None:
    panel = RatioPanel(Bench(demo()))
    assert "asks for at most 0.6 %" not in words(panel.findings)
    panel.ratio.type(mass=40)
    assert "your own rule asks for at most 0.6 % (above this it stung in class)" in words(panel.findings)


def test_the_foot_says_what_was_computed_and_what_only_a_test_shows(panel: RatioPanel) -> None:
    assert "from published tables of solutions in water where there are some" in panel.foot
    assert "challenge test in a laboratory (ISO 11930)" in panel.foot


def test_keeping_empties_the_note_and_names_the_version(panel: RatioPanel) -> None:
    panel.ratio.type(mass=20)
    panel.versions.type(note=" richer ")
    panel.versions.press("keep")
    assert said(panel.versions) == (
        "Kept as version 2, in hand only: nothing is on disk until you save under a file name. Amounts that were "
        "worked out are rounded to 0.001 % in that version; what is in hand stays as it is."
    )
    assert (panel.versions["note"], panel.bench.kept[-1].change_note) == ("", "richer")
    assert [row[3] for row in rows(panel.lines)] == [""] * 5


def test_what_is_on_disk_and_what_is_not_stands_beside_the_button(panel: RatioPanel) -> None:
    assert words(panel.where).startswith("Nothing of this formula is on disk: it has no file yet. Save, under")
    panel.bench.save("soak.toml")
    assert words(panel.where) == ("On disk in soak.toml: version 1. What is in hand (version 1) is saved there too.")
    panel.ratio.type(mass=20)
    assert words(panel.where) == (
        "On disk in soak.toml: version 1. Only in hand: version 1, changed since. Save writes it, and so does keeping "
        "a version."
    )
    panel.versions.press("keep")
    assert said(panel.versions).startswith("Kept as version 2 and saved in soak.toml. Amounts that were worked out")
    assert words(panel.where).startswith("On disk in soak.toml: versions 1 and 2. What is in hand (version 2 before")
    panel.bench.take_version(1)
    assert said(panel.versions) == ""  # it was said of what was in hand then
    assert words(panel.where) == (
        "On disk in soak.toml: versions 1 and 2. In hand is version 1 of them; until you save, the file opens with "
        "version 2 before rounding."
    )
    panel.bench.save("soak.csv")
    assert "A CSV file does not hold" in words(panel.where)


def test_the_ratio_as_typed_is_found_again_by_button_and_by_what_the_boxes_said() -> None:
    water = (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "4"))
    oil = (Line("Squalane", "17.12345678", "fill"), Line("Tocopherol", "0.3"))
    bench = Bench(Formula("Soak", (Phase("Water", "water", water), Phase("Oil", "oil", oil))))
    panel = RatioPanel(bench)
    start = bench.formula
    for box in ("mass", "volume", "height"):
        shown = panel.ratio.texts[box]
        panel.ratio.type(**{box: 40})
        assert bench.formula.ratio is not None
        panel.ratio.type(**{box: shown})
        assert bench.formula == start
    panel.ratio.type(mass=30)
    panel.ratio.press("home")
    assert (bench.formula, ("home" in panel.ratio.disabled)) == (start, True)


def test_what_cannot_be_kept_is_told_and_the_note_stays(panel: RatioPanel) -> None:
    typed(panel.bench, 0, 1, "")
    panel.versions.type(note="richer")
    panel.versions.press("keep")
    assert said(panel.versions).startswith("Shake cannot be kept yet: Glycerin (line 2 of Water layer)")
    assert (panel.versions["note"], panel.bench.formula.version) == ("richer", 1)


# ---- the bottle -------------------------------------------------------------------------------------------


def test_another_bottle_is_filled_as_its_label_says_where_the_first_was(panel: RatioPanel) -> None:
    panel.bottle.type(bottle="round 50 mL")
    assert panel.bench.fill == 50


def test_another_bottle_is_filled_as_high(panel: RatioPanel) -> None:
    panel.bench.fill = 80.0
    share = panel.bench.fill / panel.bench.bottle.brimful
    panel.bottle.type(bottle="round 50 mL")
    assert panel.bench.bottle == bundled_bottles()["round 50 mL"]
    assert panel.bench.fill / panel.bench.bottle.brimful == pytest.approx(share, abs=0.002)
    assert panel.bottle["fill"] == panel.bench.fill
    assert panel.picture.view["subtitle"].startswith("round 50 mL")


def test_a_bottle_of_ones_own_is_measured_with_two_numbers(panel: RatioPanel) -> None:
    assert "diameter" in panel.bottle.hidden
    assert "volume" in panel.bottle.hidden
    panel.bottle.type(bottle=OWN_BOTTLE)
    assert "diameter" not in panel.bottle.hidden
    panel.bottle.type(volume=150)
    panel.bottle.type(diameter=50)
    assert panel.bench.bottle == Bottle.cylinder("50.0 mm", "150.0 mL", name="your bottle")
    panel.bottle.type(bottle="round 100 mL")
    assert "diameter" in panel.bottle.hidden


def test_more_than_the_bottle_holds_is_told_and_less_mends_it(panel: RatioPanel) -> None:
    panel.bottle.type(fill=300)
    assert panel.bench.fill == 300
    assert panel.picture.view["message"].startswith("300 mL cannot stand in round 100 mL, which holds")
    assert "mass" in panel.ratio.hidden
    panel.bottle.type(fill=80)
    assert "message" not in panel.picture.view
    assert "mass" not in panel.ratio.hidden


def test_a_bottle_filled_to_the_brim_leaves_no_room_to_shake(panel: RatioPanel) -> None:
    panel.bottle.type(fill=panel.bench.bottle.brimful)
    assert "Only 0 % of the bottle is air" in words(panel.findings)


def test_a_bottle_of_nothing_is_told_and_no_panel_breaks(panel: RatioPanel) -> None:
    panel.bench.fill = 0.0
    assert panel.picture.view["message"].startswith("0 mL cannot stand in round 100 mL")
    assert panel.bottle["fill"] == 0
    panel.bench.fill = 80.0
    assert "message" not in panel.picture.view


def test_the_smallest_fill_survives_a_change_of_bottle(panel: RatioPanel) -> None:
    panel.bottle.type(fill=0.1)
    panel.bottle.type(bottle=OWN_BOTTLE)
    panel.bottle.type(volume=1)
    assert panel.bench.fill == 0.1
    assert "message" not in panel.picture.view


def test_the_boxes_follow_the_bottle_of_the_bench(panel: RatioPanel) -> None:
    panel.bench.fill = 33.0
    assert panel.bottle["fill"] == 33
    panel.bench.bottle = bundled_bottles()["round 50 mL"]
    assert panel.bottle["bottle"] == "round 50 mL"
    panel.bench.bottle = Bottle.cylinder("40 mm", "90 mL", name="tall (invented)")
    assert panel.bottle["bottle"] == OWN_BOTTLE
    assert (panel.bottle["diameter"], panel.bottle["volume"]) == (pytest.approx(40), pytest.approx(90))
    panel.bottle.type(fill=60)
    assert (panel.bench.fill, panel.bench.bottle.name) == (60, "tall (invented)")


def test_a_measured_bottle_stays_in_hand_and_in_the_list(bench: Bench) -> None:
    measured = Bottle.measured([("20 mm", "31 mL"), ("60 mm", "80 mL"), ("80 mm", "95 mL")], name="found (invented)")
    bench.bottle = measured
    panel = RatioPanel(bench)
    assert panel.bottle["bottle"] == "found (invented)"
    panel.bottle.type(fill=70)
    assert (bench.bottle, bench.fill) == (measured, 70)
    panel.bottle.type(bottle="round 50 mL")
    panel.bottle.type(bottle="found (invented)")
    assert bench.bottle == measured


def test_changing_the_bottle_is_no_step_and_keeps_the_path(panel: RatioPanel) -> None:
    panel.ratio.type(mass=40)
    path, before = panel.bench.path, flat(panel.bench.formula)
    panel.bottle.type(bottle="round 50 mL")
    assert panel.bench.path is path
    assert flat(panel.bench.formula) == before


def test_a_formula_without_layers_is_told_and_one_with_them_takes_its_place(bench: Bench) -> None:
    bench.change(one_phase(("Aqua", "100")))
    panel = RatioPanel(bench)
    assert "has no oil layer, so there is no ratio to move" in panel.picture.view["message"]
    bench.undo()
    assert "message" not in panel.picture.view


def test_hostile_rules_and_names_are_escaped() -> None:
    panel = RatioPanel(Bench(two_layers(rules=(Rule("Glycerin", low=50, reason=HOSTILE),))))
    assert HOSTILE in words(panel.findings)
    panel.bench.apply({"kind": "set_material", "phase": 0, "line": 1, "text": HOSTILE})
    assert HOSTILE in [row[0] for row in rows(panel.lines)]
    assert "<img" not in panel.findings.value + panel.lines.value


def test_a_lotion_is_drawn_in_one_piece_and_its_ratio_moves_by_mass_alone() -> None:
    panel = RatioPanel(Bench(demo("quiet_hour_lotion")))
    view = panel.picture.view
    assert [layer["name"] for layer in view["layers"]] == ["Whole product"]
    assert view["grip"] is None
    assert "line between the layers" not in view["subtitle"]
    assert view["axis"].startswith("oil phase, % of the whole")
    assert "height" in panel.ratio.hidden
    before = panel.bench.product.oil
    panel.ratio.type(mass="15")
    assert before == pytest.approx(17.8)
    assert panel.bench.product.oil == pytest.approx(15.0)
