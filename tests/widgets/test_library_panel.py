"""Search, read a card, add to the formula, keep ingredients of one's own: all without a browser."""

from __future__ import annotations

import warnings
from dataclasses import replace
from pathlib import Path

import pytest

from kit.formula.model import Formula, Line
from kit.library.ingredient import Ingredient, Purchase
from kit.library.library import Library
from kit.library.own import OWN_FILE, read_own, save_own
from kit.library.table import limits
from kit.widgets.bench import Bench, open_bench
from kit.widgets.formula_panel import FormulaPanel
from kit.widgets.ingredient_card import ingredient_card, limit_words
from kit.widgets.library_panel import SHOWN, LibraryPanel
from tests.present import present
from tests.rows import each_of
from tests.widgets.hands import HOSTILE, html_of, names, rows, said, words


@pytest.fixture
def panel(bench: Bench) -> LibraryPanel:
    return LibraryPanel(bench)


def test_it_opens_on_everything(panel: LibraryPanel) -> None:
    assert len(panel.hits) == len(Library.bundled())
    assert len(rows(panel.found)) == SHOWN
    assert f"{len(Library.bundled())} found, the first {SHOWN} shown: narrow the search" in words(panel.found)
    lists = ("role", "phase", "charge"), ("limited", "own")
    assert [panel.search.texts[name] for name in lists[0]] == ["any"] * 3
    assert [panel.narrow.texts[name] for name in lists[1]] == ["any"] * 2
    assert words(panel.head) == f"Library {len(Library.bundled())} ingredients, every figure with its source"


def test_words_and_filters_narrow_it_and_say_why(panel: LibraryPanel) -> None:
    panel.search.type(words="glicerin")
    assert [hit.ingredient.inci for hit in panel.hits] == ["Glycerin", "Glycerin (and) Aqua", "Diglycerin"]
    assert rows(panel.found)[0][-1] == "spelled like Glycerin"
    panel.search.type(words="")
    panel.search.type(role="conditioner", charge="cationic")
    assert all(hit.ingredient.charge == "cationic" for hit in panel.hits)
    panel.search.type(charge="")
    panel.narrow.type(density_from="1,1", density_to="1.3")
    assert {"Panthenol", "Panthenol (and) Aqua"} <= {hit.ingredient.inci for hit in panel.hits}
    assert all(hit.ingredient.density and 1.1 <= hit.ingredient.density.value <= 1.3 for hit in panel.hits)
    assert "density, g/mL 1.2" in words(panel.found)


def test_the_usual_range_and_limits_narrow_it_too(panel: LibraryPanel) -> None:
    panel.search.type(role="preservative")
    panel.narrow.type(usual_at="0.0010")
    found = [hit.ingredient.inci for hit in panel.hits]
    assert found == ["Methylchloroisothiazolinone", "Methylisothiazolinone"]
    panel.narrow.type(usual_at="", limited="named by none")
    assert panel.hits == []
    assert "Nothing fits. Take a filter away" in words(panel.found)
    assert panel.ingredient is None
    assert panel.card.value == ""
    assert "add" in panel.adding.disabled


def test_a_number_that_cannot_be_read_is_said_and_nothing_is_lost(panel: LibraryPanel) -> None:
    panel.search.type(words="squal")
    panel.narrow.type(viscosity_to="thin")
    assert "'thin' is not a number." in panel.narrow.faults["viscosity_to"]
    panel.narrow.type(viscosity_to="40")
    assert [hit.ingredient.inci for hit in panel.hits] == ["Squalane", "Hemisqualane"]


def test_the_card_shows_every_figure_with_its_source(panel: LibraryPanel) -> None:
    panel.search.type(words="sodium benzoate")
    card = words(panel.card)
    for text in (
        "Sodium Benzoate",
        "density 1.5 g/mL, the solid, at 20 °C from memory",
        "molar mass 144.1 g/mol (C7H5NaO2) Computed from the molecular formula",
        "pKa 4.21 Open article PMC6624721",
        "in water 556 g/L, at about 25 °C AqSolDB",
        "usual range 0.2 to 0.5 % w/w: a habit, not a law common practice",
        "leave-on: at most 0.5 as Benzoic Acid",
        "Regulation (EC) No 1223/2009 on cosmetic products, Annex V, entry 1, as of 2026-05-26",
        "local rules decide",
        "Powders: weigh without a draught",
        "Figures from memory: take those of the data sheet",
    ):
        assert text in card, text
    assert "Clean, dry tools" not in card  # true of everything, so not of this


def test_the_card_of_a_blend_has_its_parts_and_their_limits(panel: LibraryPanel) -> None:
    panel.search.type(words="phenoxyethanol blend")
    card = words(panel.card)
    assert "made of Phenoxyethanol 90 %, Ethylhexylglycerin 10 % From memory" not in card
    assert "made of Phenoxyethanol 90 %, Ethylhexylglycerin 10 % from memory" in card
    assert "at most 1" in card


def test_another_place_has_other_limits(panel: LibraryPanel) -> None:
    panel.search.type(words="phenoxyethanol")
    assert "entry 29" in words(panel.card)
    panel.bench.jurisdiction = "us"
    assert "No limit of the chosen place names it. That is no permission." in words(panel.card)


def test_choosing_another_find_shows_its_card(panel: LibraryPanel) -> None:
    panel.search.type(role="chelator")
    panel.chosen.type(inci="Disodium EDTA")
    assert words(panel.card).startswith("Disodium EDTA")
    panel.search.type(words="edta")  # keeps what is chosen
    assert panel.chosen["inci"] == "Disodium EDTA"


def test_it_is_added_to_the_chosen_phase(panel: LibraryPanel) -> None:
    panel.search.type(words="squalane")
    panel.adding.type(into="Oil layer", amount="2,5")
    panel.adding.press("add")
    formula = panel.bench.formula
    assert formula.phases[1].lines[-1] == Line("Squalane", "2,5")
    assert said(panel.adding) == "Squalane now stands in Oil layer at 2,5 %. Undo takes it out again."
    panel.bench.undo()
    assert "Squalane" not in names(panel.bench.formula)[1]


def test_it_is_added_before_an_empty_last_line_and_may_lack_an_amount(panel: LibraryPanel) -> None:
    bench = panel.bench
    phase = replace(bench.formula.phases[1], lines=(*bench.formula.phases[1].lines, Line()))
    bench.change(replace(bench.formula, phases=(bench.formula.phases[0], phase)))
    panel.search.type(words="squalane")
    panel.adding.type(into="Oil layer")
    panel.adding.press("add")
    assert names(bench.formula)[1][-2:] == ["Squalane", ""]
    assert "give it an amount in the table" in said(panel.adding)


@pytest.mark.parametrize(
    ("typed", "sentence"), [("1,4 %", "at 1,4 %."), ("800 ppm", "at 800 ppm."), ("1.4", "at 1.4 %.")]
)
def test_an_amount_with_its_unit_is_said_once(panel: LibraryPanel, typed: str, sentence: str) -> None:
    panel.search.type(words="squalane")
    panel.adding.type(into="Oil layer", amount=typed)
    panel.adding.press("add")
    assert f"Squalane now stands in Oil layer {sentence} Undo" in said(panel.adding)


def test_an_amount_that_cannot_be_read_adds_nothing(panel: LibraryPanel) -> None:
    before = panel.bench.formula
    panel.adding.type(amount="a pinch")
    panel.adding.press("add")
    assert "'a pinch' is not an amount. Type a percent (3.5)" in said(panel.adding)
    assert (panel.bench.formula, panel.adding.texts["amount"]) == (before, "a pinch")


def test_a_range_turned_round_is_said(panel: LibraryPanel) -> None:
    panel.narrow.type(density_from="0,95", density_to="0.9")
    assert "density, g/mL: from 0,95 to 0.9 holds nothing. Swap the two." in words(panel.found)


def test_a_formula_without_phases_takes_nothing(tmp_path: Path) -> None:
    panel = LibraryPanel(Bench(Formula("Empty")))
    panel.adding.press("add")
    assert "Choose an ingredient and a phase of the formula first." in said(panel.adding)


# ---- one's own ----------------------------------------------------------------------------------------------


def filled(panel: LibraryPanel, **texts: str) -> LibraryPanel:
    panel.form.type(**texts)
    return panel


PLUM = {
    "inci": "Prunus Domestica Seed Oil", "plain_name": "plum kernel oil", "roles": "emollient", "phase": "oil",
    "density_g_ml": "0,913", "price": "12,50", "currency": "eur", "pack_amount": "250", "pack_unit": "mL",
    "lot": "A 17",
}  # fmt: skip


def test_an_ingredient_of_ones_own_is_kept_in_her_file_and_found(panel: LibraryPanel) -> None:
    panel.form.type(origin="data sheet of March")
    filled(panel, **PLUM).form.press("save")
    assert "Prunus Domestica Seed Oil is kept in my_ingredients.csv." in said(panel.form)
    (kept,) = read_own(Path(OWN_FILE))
    assert kept.purchase == Purchase(12.5, "EUR", 250.0, "mL", lot="A 17")
    assert present(kept.density).source == "own: data sheet of March"
    panel.search.type(words="plum")
    assert "12.5 EUR" in words(panel.card)
    assert "The maker's own figure: data sheet of March" in words(panel.card)
    assert "1 of them your own, in my_ingredients.csv" in words(panel.head)
    again = LibraryPanel(Bench())
    assert "Prunus Domestica Seed Oil" in again.bench.library


def test_a_price_for_what_the_kit_has_leaves_its_figures_the_kits(panel: LibraryPanel) -> None:
    panel.search.type(words="glycerin")
    panel.form.press("take")
    filled(panel, price="4.5", currency="EUR", pack_amount="1", pack_unit="kg").form.press("save")
    (kept,) = read_own(Path(OWN_FILE))
    supplied = present(Library.bundled().get("Glycerin"))
    assert kept == replace(supplied, own=True, purchase=Purchase(4.5, "EUR", 1.0, "kg"))
    assert "1433" not in Path(OWN_FILE).read_text(encoding="utf-8")


def test_a_changed_figure_is_ones_own_and_the_others_stay(panel: LibraryPanel) -> None:
    panel.search.type(words="glycerin")
    panel.form.press("take")
    filled(panel, density_g_ml="1.26").form.press("save")
    (kept,) = read_own(Path(OWN_FILE))
    density = present(kept.density)
    assert (density.value, density.source) == (1.26, "own")
    assert kept.viscosity == present(Library.bundled().get("Glycerin")).viscosity


def test_a_blend_is_kept_with_its_composition(panel: LibraryPanel) -> None:
    filled(panel, inci="Tern Lane base", phase="oil", composition="Squalane 70; Tocopherol 30").form.press("save")
    assert read_own(Path(OWN_FILE))[0].composition == {"Squalane": 70.0, "Tocopherol": 30.0}


def test_every_fault_of_the_form_is_told_at_once_and_nothing_is_written(panel: LibraryPanel) -> None:
    filled(panel, inci="", density_g_ml="heavy", composition="Squalane", price="5").form.press("save")
    sentence = said(panel.form)
    for text in (
        "INCI name: the name is missing",
        "Density, g/mL: 'heavy' is not a number",
        "Made of: 'Squalane' is not a name and a percent",
        "Your pack: A price needs its currency",
    ):
        assert text in sentence
    assert not Path(OWN_FILE).exists()
    assert panel.form.texts["density_g_ml"] == "heavy"
    assert "'heavy' is not a number" in panel.form.faults["density_g_ml"]
    assert set(panel.form.faults) == {"inci", "density_g_ml", "composition"}
    filled(panel, **PLUM, composition="").form.press("save")
    assert panel.form.faults == {}


def test_a_price_and_a_pack_are_read_as_the_cost_panel_reads_them(panel: LibraryPanel) -> None:
    filled(panel, inci="Morning hedge", price="14,50 €", pack_amount="50 ml", density_g_ml="0,97").form.press("save")
    (kept,) = read_own(Path(OWN_FILE))
    assert kept.purchase == Purchase(14.5, "EUR", 50.0, "mL")
    filled(panel, price="a lot", pack_amount="1", pack_unit="KG").form.press("save")
    assert "Price of the pack: 'a lot' is not a number" in said(panel.form)
    filled(panel, price="9", currency="gbp").form.press("save")
    assert read_own(Path(OWN_FILE))[0].purchase == Purchase(9.0, "GBP", 1.0, "kg")


def test_what_was_saved_is_shown(panel: LibraryPanel) -> None:
    filled(panel, **PLUM).form.press("save")
    assert words(panel.card).startswith("Prunus Domestica Seed Oil")
    assert "Prunus Domestica Seed Oil is kept in my_ingredients.csv." in said(panel.form)


def test_taking_out_what_is_ones_own(panel: LibraryPanel) -> None:
    filled(panel, **PLUM).form.press("save")
    filled(panel, inci="Glycerin").form.press("out")
    assert "Glycerin is not in my_ingredients.csv: nothing was taken out." in said(panel.form)
    filled(panel, inci="prunus domestica seed oil").form.press("out")
    assert read_own(Path(OWN_FILE)) == ()
    assert "Prunus Domestica Seed Oil" not in panel.bench.library


def test_emptying_the_form(panel: LibraryPanel) -> None:
    filled(panel, **PLUM)
    panel.form.press("clear")
    assert {text for column, text in panel.form.texts.items() if column != "phase"} == {""}


def test_a_file_with_faults_is_told_of_and_never_written_over() -> None:
    path = Path(OWN_FILE)
    path.write_text("inci,phase\nCera Nova,oily\n", encoding="utf-8")
    panel = LibraryPanel(Bench())
    assert "row 2, column phase: 'oily' is not a layer." in said(panel.form)
    filled(panel, **PLUM).form.press("save")
    assert "my_ingredients.csv is there already and was not opened here." in words(panel.kept.question)
    panel.kept.form.press("theirs")
    assert "'oily' is not a layer" in said(panel.kept.form)
    assert path.read_text(encoding="utf-8") == "inci,phase\nCera Nova,oily\n"


def test_a_file_that_grew_meanwhile_is_not_written_over(panel: LibraryPanel) -> None:
    save_own(Path(OWN_FILE), [Ingredient("Cera Nova", own=True)])
    filled(panel, **PLUM).form.press("save")
    assert "without 1 row: Prunus Domestica Seed Oil" in words(panel.kept.question)
    assert "with 1 row: Cera Nova" in words(panel.kept.question)
    assert [each.inci for each in read_own(Path(OWN_FILE))] == ["Cera Nova"]


def test_text_from_a_person_is_escaped(panel: LibraryPanel) -> None:
    filled(
        panel, inci=HOSTILE, plain_name=HOSTILE, roles=HOSTILE, note=HOSTILE, lot=HOSTILE, charge=HOSTILE
    ).form.press("save")
    panel.search.type(words="img")
    assert panel.ingredient is not None
    panel.form.type(origin=HOSTILE)
    assert "<img" not in html_of(panel)
    assert "<img" not in ingredient_card(panel.ingredient, panel.bench.product.limits, [HOSTILE])


@each_of("limit", [*Bench().product.limits], ids=lambda limit: limit.key)
def test_a_limit_is_always_said_in_words(limit: object) -> None:
    assert limit_words(limit).strip(": ")  # type: ignore[arg-type]


def test_what_the_decimal_mark_of_the_file_decided_is_said_on_the_panel(panel: LibraryPanel) -> None:
    sentence = "the decimal mark of this file is the comma, as its other numbers show, so '1.250' is 1250."
    text = "inci;density_g_ml;viscosity_mpa_s\nCera Nova;0,98;1.250\n"
    filled(panel, **PLUM).form.press("save")
    Path(OWN_FILE).write_text(text, encoding="utf-8")
    filled(panel, **PLUM).form.press("save")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        panel.kept.form.press("theirs")
        assert sentence in said(panel.kept.form)
        assert present(panel.bench.library.own[0].viscosity).value == 1250.0
        assert sentence in said(LibraryPanel(Bench()).form)
        assert sentence in open_bench().told
        assert sentence in words(FormulaPanel(open_bench()).told)


def test_a_card_says_where_a_material_melts_boils_and_catches_fire() -> None:
    library, none = Library.bundled(), limits("eu")
    butter = ingredient_card(present(library.get("Butyrospermum Parkii Butter")), none)
    assert "23 to 42 °C, solid at 20 °C; its crystal forms differ" in butter
    alcohol = ingredient_card(present(library.get("Alcohol")), none)
    for part in ("78.42 °C", "5880 Pa, at 20 °C", "fast: the kit&#x27;s own word for it", "12 °C", "category 2"):
        assert part in alcohol, part
    assert "table 2.6.1" in alcohol
    assert "flash point" not in ingredient_card(present(library.get("Helianthus Annuus Seed Oil")), none)
