from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from typing import TYPE_CHECKING

import pytest

from kit.demos import demo
from kit.formula.model import Formula, Line
from kit.label.label_text import BLANK
from kit.library.ingredient import Ingredient
from kit.widgets.bench import Bench
from kit.widgets.label_panel import LabelPanel
from tests.pace import on_this_machine
from tests.widgets.hands import HOSTILE, is_hidden, one_phase, rows, said, two_layers, typed, words

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def panel(bench: Bench) -> LabelPanel:
    return LabelPanel(bench)


@pytest.fixture
def scented() -> LabelPanel:
    return LabelPanel(Bench(demo()))


def shown(panel: LabelPanel) -> str:
    """The text in the box to copy from."""
    found = re.search(r"<textarea[^>]*>(.*)</textarea>", panel.preview.value, re.DOTALL)
    assert found
    return unescape(found[1])


def test_the_label_is_there_at_once(panel: LabelPanel) -> None:
    # 85 % of the 100 mL bottle's brim, water and oil by their densities
    assert shown(panel).startswith("Shake\n\n")
    assert "Ingredients: Aqua, Coco-Caprylate, Glycerin, Sodium Benzoate, Tocopherol" in shown(panel)
    assert "Shake well before each use." in shown(panel)
    assert f"Batch: {BLANK}" in shown(panel)
    assert re.search(r"^100 mL \(\d\d g\)$", shown(panel), re.MULTILINE)


def test_it_follows_the_bench(panel: LabelPanel) -> None:
    typed(panel.bench, 0, 1, "20")
    assert "Aqua, Glycerin, Coco-Caprylate" in shown(panel)
    panel.bench.fill = 50.0
    assert "\n50 mL (" in shown(panel)
    panel.bench.change(replace(panel.bench.formula, title="Another"))
    assert shown(panel).startswith("Another\n")
    assert panel.form.inputs["product_name"].example == "Another"


def test_what_is_typed_is_printed_and_no_longer_missing(panel: LabelPanel) -> None:
    form = panel.form
    assert "Batch number" in words(panel.missing)
    form.type(product_name="Shore", function="Body oil", batch_code="TL-07")
    form.type(content="80 g", durability_months="36", period_after_opening="12M")
    form.type(responsible_person="A. N. Maker (invented)", warnings="Not for babies.\nNot for cats.")
    text = shown(panel)
    assert text.startswith("Shore\nBody oil\n\n80 g (")
    for line in (
        "Batch: TL-07",
        "(open-jar symbol) 12M",
        "Responsible person: A. N. Maker (invented)",
        "Not for cats.",
    ):
        assert line in text.splitlines()
    assert words(panel.missing) == (
        "Of what the kit knows that the European Union asks for, nothing is missing. That is not the whole law."
    )


def test_the_united_states_ask_for_other_things(panel: LabelPanel) -> None:
    assert "contact" in panel.form.hidden
    panel.form.type(jurisdiction="United States")
    assert "contact" not in panel.form.hidden
    assert "imported" in panel.form.hidden
    assert "Ingredients: Water, Coco-Caprylate" in shown(panel)
    assert re.search(r"^3\.38 fl oz \(100 mL\)$", shown(panel), re.MULTILINE)
    assert "Still missing for the United States" in words(panel.missing)
    assert "MoCRA, remembered as section 609(a) (from memory)" in words(panel.missing)
    assert panel.files.inputs["file"].example == "shake_label_us.txt"


def test_whose_rules_count_is_one_choice_for_the_whole_bench(panel: LabelPanel) -> None:
    panel.bench.jurisdiction = "us"
    assert panel.form["jurisdiction"] == "us"
    assert "Ingredients: Water" in shown(panel)
    panel.form.type(jurisdiction="European Union")
    assert panel.bench.jurisdiction == "eu"
    assert "Ingredients: Aqua" in shown(panel)
    panel.bench.jurisdiction = "us"
    assert LabelPanel(panel.bench).form["jurisdiction"] == "us"


def test_what_was_saved_is_not_claimed_of_a_changed_label(panel: LabelPanel) -> None:
    panel.files.press("save")
    panel.form.type(batch_code="TL-08")
    assert said(panel.files) == ""
    panel.files.press("save")
    assert "Saved as" in said(panel.files)
    panel.bench.jurisdiction = "us"
    assert said(panel.files) == ""


def test_what_was_typed_is_there_again_next_time(panel: LabelPanel, folder: Path) -> None:
    form = panel.form
    form.type(function="Body oil", responsible_person="A. N. Maker (invented)", warnings="One.\nTwo.")
    form.type(habits="no", imported="yes")
    panel.files.press("save")
    assert said(panel.files).endswith("What you typed is kept in shake_label.csv for the next time.")
    again = LabelPanel(Bench(panel.bench.formula))
    assert again.typed() == panel.typed()
    assert shown(again) == shown(panel)
    (folder / "shake_label.csv").write_text("what?", encoding="utf-8")
    spoilt = LabelPanel(Bench(panel.bench.formula))
    assert "The first row must hold the column names: particular, text." in said(spoilt.files)
    assert spoilt.typed() == {}


def test_the_particulars_of_one_product_are_never_those_of_another(panel: LabelPanel) -> None:
    form, shake = panel.form, panel.bench.formula
    form.type(product_name="Shore", batch_code="TL-07", responsible_person="A. N. Maker (invented)")
    panel.bench.change(replace(shake, title="Shake it"))
    assert form.texts["batch_code"] == "TL-07"  # the same product under a new title
    panel.bench.change(one_phase(("Aqua", "q.s."), ("Glycerin", "3")))
    assert panel.typed() == {"responsible_person": "A. N. Maker (invented)"}
    assert shown(panel).startswith("Toner\n")
    form.type(batch_code="TO-01")
    panel.bench.undo()
    assert (form.texts["product_name"], form.texts["batch_code"]) == ("Shore", "TL-07")
    panel.bench.redo()
    assert form.texts["batch_code"] == "TO-01"


def test_a_perfume_without_a_certificate_shows_what_it_is_made_of(panel: LabelPanel) -> None:
    scent = Ingredient("Hedge", roles=("perfume",), phase="oil", composition={"Linalool": 20.0, "Squalane": 80.0})
    lines = ("Aqua", "q.s."), ("Hedge", "0.5")
    panel.bench.change(one_phase(*lines, materials=(scent,)))
    assert rows(panel.allergens.table) == [
        ["Hedge", "Linalool 20; Squalane 80", "none yet: what it is made of in the library"]
    ]
    assert "Parfum, Linalool" in shown(panel)


def test_the_small_ones_stand_as_chosen(panel: LabelPanel) -> None:
    assert "own_order" in panel.choices.hidden
    panel.choices.type(order="in my own order")
    assert "own_order" not in panel.choices.hidden
    panel.choices.type(own_order="tocopherol; Sodium Benzoate")
    assert "Glycerin, Tocopherol, Sodium Benzoate" in shown(panel)
    panel.choices.type(own_order="")
    assert "Glycerin, Sodium Benzoate, Tocopherol" in shown(panel)


def test_reasons_are_shown_when_asked_for(panel: LabelPanel) -> None:
    assert panel.reasons.value == ""
    panel.choices.type(reasons="yes")
    assert rows(panel.reasons)[1] == [
        "2",
        "Coco-Caprylate",
        "14.7",
        "Coco-Caprylate",
        "1 % or more: its place is by weight.",
    ]


def test_months_or_content_that_cannot_be_read_are_told_and_the_rest_stays(panel: LabelPanel) -> None:
    panel.form.type(durability_months="long", content="80", batch_code="TL-07")
    said = " ".join(panel.form.faults.values())
    assert "80" in said
    assert "'long' is not a number of months. Type how many months it keeps unopened, such as 24." in said
    assert "Batch: TL-07" in shown(panel)
    assert "Nominal content" in words(panel.missing)
    panel.form.type(durability_months="24", content="80 mL")
    assert panel.form.faults == {}
    assert "\n80 mL (" in shown(panel)


def test_months_that_make_no_sense_are_told(panel: LabelPanel) -> None:
    panel.form.type(durability_months="0")
    assert " ".join(panel.form.faults.values()) == (
        "0 months is not how long a product keeps. Type the months that were found, such as 24."
    )


def test_a_certificate_is_noted_kept_and_used(scented: LabelPanel, folder: Path) -> None:
    panel = scented
    assert "Nothing is known about the allergens in Parfum" in words(panel.findings)
    assert rows(panel.allergens.table) == [["Parfum", "not known yet", ""]]
    panel.allergens.form.type(contents="Limonene 2; Linalol 1", certificate="sheet 12")
    panel.allergens.form.press("note")
    assert said(panel.allergens.form) == ("'Linalol' is not in the list of fragrance allergens. Did you mean Linalool?")
    assert panel.allergens.form.texts["contents"] == "Limonene 2; Linalol 1"
    assert not (folder / "allergen_statements.csv").exists()

    panel.allergens.form.type(contents="Limonene 2; Linalool 1")
    panel.allergens.form.press("note")
    assert said(panel.allergens.form) == "Noted for Parfum and kept in allergen_statements.csv."
    assert panel.allergens.form.texts["contents"] == ""
    assert rows(panel.allergens.table) == [["Parfum", "Limonene 2; Linalool 1", "sheet 12"]]
    # 0.1 % perfume: limonene 0.002 %, linalool 0.001 % which is not above 0.001 %
    assert "Parfum, Limonene" in shown(panel)
    assert "Linalool" not in shown(panel)
    assert "Nothing is known" not in words(panel.findings)

    again = LabelPanel(Bench(demo()))
    assert said(again.allergens.form) == "Read 1 statement from allergen_statements.csv."
    assert "Parfum, Limonene" in shown(again)


def test_a_file_of_certificates_with_faults_changes_nothing(scented: LabelPanel, folder: Path) -> None:
    (folder / "mine.csv").write_text("material,allergen,percent\nParfum,Linalol,2\n,Citral,1\n", encoding="utf-8")
    scented.allergens.form.type(file="mine.csv")
    scented.allergens.form.press("read")
    assert "mine.csv has 2 faults; nothing was changed." in said(scented.allergens.form)
    assert scented.allergens.statements == {}
    scented.allergens.form.type(file="not_there.csv")
    scented.allergens.form.press("read")
    assert "not_there.csv cannot be read: there is no such file" in said(scented.allergens.form)


def test_essential_oils_may_be_counted_as_perfume(scented: LabelPanel) -> None:
    formula = scented.bench.formula
    oil = replace(formula.phases[1], lines=(*formula.phases[1].lines, Line("Lavandula Angustifolia Oil", "0.2")))
    scented.bench.change(replace(formula, phases=(formula.phases[0], oil)))
    assert "Lavandula Oil/Extract, Parfum" in shown(scented)
    scented.choices.type(as_perfume="yes")
    assert "Citric Acid, Parfum, Tocopherol, Potassium Sorbate, Lavandula Oil/Extract, Linalyl" in shown(scented)


def test_nanomaterials_and_what_is_no_ingredient(panel: LabelPanel) -> None:
    panel.rare.type(nano="tocopherol")
    panel.rare.type(left_out="Glycerin = impurity of the benzoate (invented)")
    assert "Ingredients: Aqua, Coco-Caprylate, Sodium Benzoate, Tocopherol (nano)\n" in shown(panel)
    assert "Glycerin (4 %) is left out: impurity of the benzoate (invented)." in words(panel.findings)


def test_allergens_are_asked_for_only_where_there_is_scent_and_a_law(panel: LabelPanel, scented: LabelPanel) -> None:
    assert is_hidden(panel.allergens)
    assert not is_hidden(scented.allergens)
    scented.form.type(jurisdiction="United States")
    assert is_hidden(scented.allergens)


def test_the_label_is_saved_as_text(panel: LabelPanel, folder: Path) -> None:
    panel.files.press("save")
    assert said(panel.files) == ("Saved as shake_label_eu.txt beside this notebook. 4 particulars still missing.")
    assert (folder / "shake_label_eu.txt").read_text(encoding="utf-8") == shown(panel) + "\n"
    panel.files.type(file="mine")
    panel.files.press("save")
    assert (folder / "mine.txt").exists()
    panel.files.type(file="no/where.txt")
    panel.files.press("save")
    assert said(panel.files).startswith("where.txt was not saved: its folder is not there.")


def test_hostile_text_stays_text(bench: Bench) -> None:
    panel = LabelPanel(Bench(one_phase((HOSTILE, "50"), ("Aqua", "q.s."))))
    panel.form.type(function=f"</textarea>{HOSTILE}")
    panel.choices.type(reasons="yes")
    html = "".join(box.value for box in (panel.preview, panel.missing, panel.findings, panel.reasons))
    assert "<img" not in html
    assert html.count("</textarea>") == 1
    assert HOSTILE in shown(panel)


@pytest.mark.parametrize("formula", [Formula("Nothing yet"), one_phase(("Aqua", "")), one_phase(("", "5"))])
def test_a_formula_that_is_not_there_yet_has_a_label_that_says_so(formula: Formula) -> None:
    panel = LabelPanel(Bench(formula))
    assert "List of ingredients" in words(panel.missing)
    assert formula.title in shown(panel)


def test_a_change_of_the_bench_is_shown_within_20_ms() -> None:
    from time import perf_counter

    panel = LabelPanel(Bench(two_layers()))
    times = []
    for grams in range(1, 10):
        start = perf_counter()
        typed(panel.bench, 0, 1, str(grams))
        times.append(perf_counter() - start)
    assert sorted(times)[4] < on_this_machine(0.020)
