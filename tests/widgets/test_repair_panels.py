"""The panels of repairs, substitutes and light oils: what a hand sets, sees and takes, and that undo brings it back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from kit.formula.editing import set_line
from kit.formula.files import read_formula
from kit.formula.model import Formula, Line, Phase, Rule
from kit.formula.requirements import EDGE, flat_percents
from kit.library.ingredient import Ingredient
from kit.product.product import Product
from kit.widgets.bench import Bench
from kit.widgets.lighter_panel import LighterPanel
from kit.widgets.repair_panel import RepairPanel
from kit.widgets.substitute_panel import SubstitutePanel

PRODUCTS = Path(__file__).resolve().parents[1] / "published" / "products"


def bench_of(name: str) -> Bench:
    """A product of the tests on a bench, on a day that stays."""
    return Bench.of(Product(read_formula(PRODUCTS / f"{name}.toml"), on="2026-12-01"))


def test_a_repair_is_shown_taken_and_undone() -> None:
    bench = bench_of("two_layer_hair_mist")
    panel, before = RepairPanel(bench), bench.formula
    assert panel.result is not None
    assert "3 lines change" in panel.answer.value
    assert "Phenoxyethanol at most 1 %" in panel.tables.value
    assert bench.formula is before
    stops = len(bench.product.stops)
    panel.form.press("take")
    assert "Taken: 3 lines change" in panel.form.said["sentence"]
    assert len(bench.product.stops) < stops
    assert "Nothing needs to change" in panel.answer.value
    assert panel.form.disabled == ["take"]
    bench.undo()
    assert flat_percents(bench.formula) == flat_percents(before)
    assert "3 lines change" in panel.answer.value


def test_locked_lines_stay_and_a_contradiction_is_named() -> None:
    bench = bench_of("two_layer_hair_mist")
    panel = RepairPanel(bench)
    assert "Phenoxyethanol" in panel.stays.inputs["locked"].reader.options  # type: ignore[attr-defined]
    panel.stays.type(locked="Phenoxyethanol")
    assert "Phenoxyethanol stays as it is" in panel.answer.value
    assert "cannot be kept together" in panel.answer.value
    assert panel.form.disabled == ["take"]
    panel.stays.type(locked="")
    panel.form.type(aim="use up", bottle="Glycerin", grams="40")
    assert panel.result is not None
    batch = bench.product.batch_size.mass
    change = {one.material: one for one in panel.result.changes}
    assert change["Glycerin"].after == pytest.approx(100 * 40 / batch, abs=0.011)
    panel.form.type(aim="cheapest")
    assert "No line has a price" in panel.answer.value
    panel.stays.type(on_hand="Squalane")
    assert "is no name with a mass behind it" in panel.stays.faults["on_hand"]


def test_names_of_a_hand_are_text_and_a_ratio_that_was_moved_is_taken_along() -> None:
    odd = Ingredient("<b>Oil</b> & co", roles=("emollient",), phase="oil")
    oils = Phase("Oil", "oil", (Line("Squalane", "10", "fill"), Line("<b>Oil</b> & co", "20")))
    water = Phase("Water", "water", (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "5")))
    rule = Rule("<b>Oil</b> & co", high=15)
    bench = Bench(Formula("Odd", (water, oils), materials=(odd,), rules=(rule,)))
    bench.move_oil(36.0)
    panel = RepairPanel(bench)
    for shown in (panel.answer, panel.tables, panel.findings):
        assert "<b>Oil</b>" not in shown.value
    panel.form.press("take")
    assert bench.formula.ratio is None
    assert flat_percents(bench.formula)[3] <= 15 + EDGE
    assert bench.product.oil == pytest.approx(36)
    SubstitutePanel(bench)


def test_a_substitute_is_shown_taken_and_undone() -> None:
    bench = bench_of("two_layer_body_oil")
    panel, before = SubstitutePanel(bench), bench.formula
    panel.form.type(line="Isopropyl Myristate")
    assert panel.result is not None
    assert panel.result.wanted.name == "Isopropyl Myristate"
    assert "Isopropyl Palmitate" in panel.near.value
    assert "What follows for the whole product" in panel.effects.value
    panel.form.type(by="Coco-Caprylate")
    assert panel.parts == (("Coco-Caprylate", 100.0),)
    assert "Not known of Coco-Caprylate" in panel.findings.value
    panel.form.type(how="a blend of three", viscosity="12")
    assert 2 <= len(panel.parts) <= 3
    assert "12" in panel.answer.value
    assert bench.formula is before
    panel.form.press("take")
    assert "took the place of Isopropyl Myristate" in panel.form.said["sentence"]
    assert "Isopropyl Myristate" not in [line.material for _, _, line, _ in bench.formula.each_line()]
    assert bench.formula.total == pytest.approx(100, abs=1e-9)
    bench.undo()
    assert bench.formula.phases == before.phases
    panel.weights.type(density="0", viscosity="5", polarity="0", hlb="0", solubility="0", charge="0", volatility="0")
    assert panel.result is not None
    assert set(panel.result.found[0].parts) <= {"viscosity", "melting"}
    panel.weights.type(charge="2", density="1")
    panel.form.type(how="one", line="Sodium Benzoate")
    assert "challenge test" in panel.findings.value
    assert "Not offered, since it is prohibited in this product" in panel.findings.value


def test_the_slider_from_light_to_rich() -> None:
    bench = bench_of("two_layer_body_oil")
    panel, before = LighterPanel(bench), bench.formula
    assert panel.result == before
    assert panel.form.disabled == ["take"]
    panel.form.type(at="-60")
    assert panel.result is not None
    assert bench.formula is before
    lighter = dict(zip([line.material for *_, line, _ in before.each_line()], flat_percents(panel.result), strict=True))
    now = dict(zip([line.material for *_, line, _ in before.each_line()], flat_percents(before), strict=True))
    assert lighter["Isopropyl Myristate"] > now["Isopropyl Myristate"]
    assert {name for name in now if now[name] != lighter[name]} == {"Isopropyl Myristate", "Helianthus Annuus Seed Oil"}
    panel.form.press("take")
    assert flat_percents(bench.formula) == pytest.approx(list(lighter.values()))
    assert panel.form["at"] == 0
    bench.undo()
    assert flat_percents(bench.formula) == flat_percents(before)
    toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "100"),)),))
    bench.change(toner)
    assert "Fewer than two oils" in panel.answer.value


def test_an_empty_formula_is_told_and_nothing_breaks() -> None:
    bench = Bench(Formula("Empty", (Phase("Water", "water", (Line(),)),)))
    assert "has no amounts yet" in RepairPanel(bench).answer.value
    assert "No line of this formula is an ingredient" in SubstitutePanel(bench).answer.value
    assert "cannot be made lighter" in LighterPanel(bench).answer.value
    panel = RepairPanel(bench)
    bench.product = replace(bench.product, formula=bench_of("alcohol_splash").formula)
    assert "only taking out Butylphenyl Methylpropional" in panel.findings.value
    panel.form.type(remove="yes")
    panel.form.press("take")
    assert "Butylphenyl Methylpropional" not in [line.material for _, _, line, _ in bench.formula.each_line()]


def test_water_is_not_what_is_asked_about_first() -> None:
    lines = (Line("Aqua", "q.s."), Line("Glycerin", "4"))
    panel = SubstitutePanel(Bench(Formula("Toner", (Phase("Water", "water", lines),))))
    assert panel.form["line"] == (0, 1)
    panel.form.type(line="Aqua")
    assert panel.form["line"] == (0, 0)
    panel.bench.formula = set_line(panel.bench.formula, 0, 1, entry="5")
    assert panel.form["line"] == (0, 0), "what was chosen stays"
