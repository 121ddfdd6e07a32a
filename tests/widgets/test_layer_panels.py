"""The panels for the bottle, the family and three layers: set a control, read the result."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
import pytest

from kit.errors import EntryError
from kit.formula.model import Formula, Line, Phase, Rule
from kit.layers.bottle import Bottle
from kit.layers.bottle_measures import measured_rows
from kit.widgets.bench import Bench
from kit.widgets.bottle_panel import BottlePanel
from kit.widgets.family_panel import FamilyPanel
from kit.widgets.ratio_panel import RatioPanel
from kit.widgets.rules_panel import RulesPanel
from kit.widgets.triangle_panel import TrianglePanel
from tests.widgets.hands import one_phase, rows, said, two_layers, words

if TYPE_CHECKING:
    from pathlib import Path


def three() -> Formula:
    water = Phase("Water layer", "water", (Line("Aqua", "q.s.", "fill"), Line("Sodium Benzoate", "0.3", "level")))
    oil = Phase("Oil layer", "oil", (Line("Squalane", "20", "fill"), Line("Parfum", "0.2", "level")))
    third = Phase("Glycol layer", "other", (Line("Glycerin", "25", "fill"), Line("Propanediol", "5", "share")))
    return Formula("Three", (water, oil, third), rules=(Rule("Parfum", high=1, of="oil"),))


# ---- the bottle -----------------------------------------------------------------------------------------------


def test_a_measured_table_becomes_the_bottle_of_every_panel() -> None:
    bench = Bench()
    panel, ratio = BottlePanel(bench), RatioPanel(bench)
    panel.shape.type(shape="measured")
    panel.shape.type(rows="20 mm; 31 mL\n40\t63,5\n\n60 92")
    panel.shape.press("use")
    rows = [("20 mm", "31 mL"), ("40 mm", "63.5 mL"), ("60 mm", "92 mL")]
    assert bench.bottle == Bottle.measured(rows, "your measured bottle")
    assert bench.fill <= 0.9 * 92
    assert ratio.picture.view["height"] == 60
    assert "92.0 mL to the brim" in said(panel.shape)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("20 31\n40", "Line 2 of the measured table, '40', must hold a height in mm and a volume in mL"),
        ("20 x", "'x' is not a number"),
    ],
)
def test_a_table_that_cannot_be_read_names_its_line(typed: str, words: str) -> None:
    with pytest.raises(EntryError, match=words):
        measured_rows(typed)


def test_a_table_that_falls_is_a_sentence_and_the_old_bottle_stays() -> None:
    bench = Bench()
    panel, before = BottlePanel(bench), bench.bottle
    panel.shape.type(shape="measured")
    panel.shape.type(rows="20 31\n40 30")
    panel.shape.press("use")
    assert "does not rise above the row before it" in said(panel.shape)
    assert panel.shape.texts["rows"] == "20 31\n40 30"
    assert bench.bottle is before


def test_a_box_is_drawn_as_wide_as_it_is() -> None:
    bench = Bench()
    panel, ratio = BottlePanel(bench), RatioPanel(bench)
    panel.shape.type(shape="box")
    panel.shape.type(width="60", depth="20", height="80")
    panel.shape.press("use")
    assert bench.bottle.brimful == pytest.approx(96)
    assert {radius for _, radius in ratio.picture.view["outline"]} == {30.0}


def test_a_colour_goes_to_the_layer_and_to_the_picture() -> None:
    bench = Bench()
    panel, ratio = BottlePanel(bench), RatioPanel(bench)
    panel.form.type(oil="#aa3355")
    assert bench.formula.phases[1].colour == "#aa3355"
    assert {band["colour"] for band in ratio.picture.view["bands"] if band["kind"] == "oil"} == {"#aa3355"}
    assert "other" in panel.form.hidden


def test_warmth_is_told_with_what_is_not_known() -> None:
    panel = BottlePanel(Bench())
    assert "40 °C" in panel.warmth.value
    assert "of a layer is not known: it counts as that of other liquids" in panel.warmth.value
    assert "Between 5 and 40 °C the water layer stays below: computed at each temperature" in panel.warmth.value


# ---- the family -----------------------------------------------------------------------------------------------


def test_pinned_variants_stand_side_by_side_and_are_exported(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    bench = Bench()
    panel = FamilyPanel(bench)
    assert "No variant is pinned yet" in panel.table.value
    assert {*panel.chosen.hidden} == {"shown", "take", "drop"}
    for name, oil in (("dry skin", 25.0), ("summer", 11.0)):
        bench.move_oil(oil)
        panel.form.type(name=name)
        panel.form.press("pin")
    assert panel.chosen["shown"] == ("dry skin", "summer")
    assert "Oil layer, mm" in panel.table.value
    panel.chosen.press("export")
    table = pd.read_csv(tmp_path / "family_after_swim_body_shake.csv")
    assert list(table.columns[3:]) == ["in hand", "dry skin", "summer"]
    assert table.loc[table["line"] == "Coco-Caprylate", "dry skin"].item() == pytest.approx(16.067)


def test_what_a_pin_takes_the_place_of_is_said_and_one_must_be_chosen() -> None:
    panel = FamilyPanel(Bench())
    for name in ("dry skin", "Dry Skin", "summer"):
        panel.form.type(name=name)
        panel.form.press("pin")
        if name == "Dry Skin":
            sentence = "Pinned Dry Skin in place of the variant dry skin as it was; undo brings that back."
            assert sentence in said(panel.form)
    for button in ("take", "drop"):
        panel.chosen.press(button)
        assert "Choose one variant in the list first; 2 of them chosen now." in said(panel.chosen)
    panel.chosen.type(shown="")
    panel.chosen.press("drop")
    assert "none of them chosen now" in said(panel.chosen)


def test_no_digit_of_an_exported_family_is_one_of_the_computers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    bench = Bench()
    panel = FamilyPanel(bench)
    panel.form.type(name="now")
    panel.form.press("pin")
    panel.chosen.press("export")
    text = next(tmp_path.glob("family_*.csv")).read_text(encoding="utf-8")
    cells = [cell for row in text.splitlines()[1:] for cell in row.rsplit(",", 2)[1:]]
    assert max(len(cell) for cell in cells) <= 11


def test_a_variant_is_taken_in_hand_and_taken_out_and_undone() -> None:
    bench = Bench()
    panel = FamilyPanel(bench)
    bench.move_oil(25.0)
    panel.form.type(name="dry skin")
    panel.form.press("pin")
    bench.move_oil(12.0)
    panel.chosen.press("take")
    assert bench.product.oil == pytest.approx(25.0)
    assert [variant.name for variant in bench.formula.variants] == ["dry skin"]
    panel.chosen.press("drop")
    assert bench.formula.variants == ()
    bench.undo()
    assert [variant.name for variant in bench.formula.variants] == ["dry skin"]


def test_a_pin_without_a_name_or_of_a_half_typed_formula_is_a_sentence() -> None:
    bench = Bench()
    panel = FamilyPanel(bench)
    panel.form.press("pin")
    assert "A variant needs a name" in said(panel.form)
    bench.apply({"kind": "set_entry", "phase": 0, "line": 1, "text": "a pinch"})
    panel.form.type(name="half")
    panel.form.press("pin")
    assert "cannot be kept yet" in said(panel.form)
    assert panel.form.texts["name"] == "half"


# ---- three layers ---------------------------------------------------------------------------------------------


def test_the_sliders_move_all_three_layers_and_rules_are_named() -> None:
    bench = Bench(three())
    panel = TrianglePanel(bench)
    assert "Every limit and every rule of your own holds here" in panel.said.value
    panel.form.type(oil="10")
    assert bench.product.oil == pytest.approx(10.0)
    assert "Broken here: Parfum at most 1 % of the oil layer" in panel.said.value
    panel.form.type(oil="30")
    assert sum(x for phase in bench.formula.percents for x in phase if x is not None) == pytest.approx(100)
    bench.undo()  # both moves are one step
    assert bench.product.oil == pytest.approx(20.2)
    assert panel.picture.figure is not None


def test_a_formula_with_two_layers_is_told_what_it_lacks() -> None:
    assert "has no other layer" in TrianglePanel(Bench()).said.value


# ---- rules ----------------------------------------------------------------------------------------------------


def test_a_rule_joins_the_window_and_is_taken_out_and_undone() -> None:
    bench = Bench()
    panel = RulesPanel(bench)
    assert "Parfum" in panel.table.value
    panel.form.type(material="Glycerin", high="4,2", of="water")
    panel.form.type(reason="feels sticky <b>above</b>")
    panel.form.press("add")
    assert bench.formula.rules[-1] == Rule("Glycerin", high=4.2, of="water", reason="feels sticky <b>above</b>")
    assert not bench.window.is_open  # glycerin keeps its share of the layer, 4 of 85, which is 4.7 %
    assert "Glycerin at most 4.2 % of the water layer" in bench.window.findings[0].sentence
    assert "&lt;b&gt;above" in panel.table.value
    panel.there.type(rule="Glycerin at most 4.2 % of the water layer")
    panel.there.press("remove")
    assert len(bench.formula.rules) == 3
    assert bench.window.is_open
    bench.undo()
    assert len(bench.formula.rules) == 4


def test_a_rule_about_what_is_in_no_line_is_marked_and_closes_nothing() -> None:
    bench = Bench(two_layers())
    panel = RulesPanel(bench)
    for name in ("Urea", "Glycerin"):
        panel.form.type(material=name, low="1")
        panel.form.press("add")
    assert [row[5] for row in rows(panel.table)] == ["in no line: says nothing", ""]
    assert bench.window.is_open
    (told,) = [one for one in bench.product.findings if "Your rule about Urea says nothing" in one.sentence]
    assert told.severity == "note"


@pytest.mark.parametrize(
    ("material", "least", "most", "words"),
    [
        ("", "1", "", "Ingredient or substance: This is empty."),
        ("Parfum", "", "", "has neither a least nor a most"),
        ("Parfum", "2", "1", "asks for at least 2 % and at most 1 %"),
        ("Parfum", "a pinch", "", "is not a number"),
    ],
)
def test_a_rule_that_says_nothing_is_a_sentence(material: str, least: str, most: str, words: str) -> None:
    bench = Bench()
    panel = RulesPanel(bench)
    panel.form.type(material=material, low=least, high=most)
    panel.form.press("add")
    assert words in said(panel.form)
    assert len(bench.formula.rules) == 3
    assert panel.form.texts["low"] == least


def test_a_measured_density_is_used_everywhere_and_can_be_forgotten() -> None:
    bench = Bench()
    panel = BottlePanel(bench)
    computed = bench.product.layers[0].density
    panel.density.type(layer="water layer", density="1,031", doubt="0,002", celsius="20")
    panel.density.press("keep")
    assert "1.031 g/mL at 20 °C while it is made like this" in said(panel.density)
    assert bench.product.layers[0].density == pytest.approx(1.031, rel=1e-12)
    assert bench.product.layers[0].uncertainty == pytest.approx(0.001)
    assert "1.031 ± 0.002" in panel.stands.value
    assert "you measured it" in panel.stands.value
    bench.undo()
    assert bench.product.layers[0].density == computed
    panel.density.press("keep")
    panel.density.press("forget")
    assert bench.product.layers[0].density == computed
    panel.density.press("forget")
    assert "No measured density of this layer is kept." in said(panel.density)
    panel.density.type(density="heavy")
    panel.density.press("keep")
    assert "not a number" in said(panel.density)
    assert bench.formula.densities == ()


def test_the_bottle_says_how_full_it_gets_when_warm_or_why_that_cannot_be_told() -> None:
    bench = Bench(one_phase(("Aqua", "q.s."), ("Glycerin", "5")))
    panel = BottlePanel(bench)
    bench.fill = bench.bottle.brimful
    assert "at most 98 % full then. As it is filled now it will be 101." in words(panel.stands)
    bench.change(one_phase(("Aqua", "q.s."), ("Something Nobody Knows", "50")))
    assert "The room cannot be computed: how 50 % of the water layer expands" in words(panel.stands)
