from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from kit.formula.files import read_formula, save_formula
from kit.library.ingredient import Ingredient, Stock
from kit.widgets.formula_panel import FormulaPanel
from tests.widgets.hands import entries, is_hidden, one_phase, two_layers, typed, words

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


@pytest.fixture
def panel(bench: Bench) -> FormulaPanel:
    return FormulaPanel(bench)


def hear(panel: FormulaPanel, **edit: Any) -> None:
    """A message from the browser side of the table."""
    panel.table._handle_custom_msg(edit, [])


def upload(panel: FormulaPanel, name: str, content: bytes) -> None:
    """What the browser sends when a file was chosen."""
    file = {
        "name": name,
        "type": "",
        "size": len(content),
        "last_modified": 0,
        "content": memoryview(content),
    }
    panel.upload.set_state({"value": [file]})


# ---- the table --------------------------------------------------------------------------------------------


def test_what_is_typed_in_the_table_changes_the_bench_and_comes_back_as_a_view(panel: FormulaPanel) -> None:
    hear(panel, kind="set_entry", phase=0, line=1, text="6")
    assert entries(panel.bench.formula)[0][1] == "6"
    assert panel.table.view["lines"][0][1]["entry"] == "6"
    hear(panel, kind="undo")
    assert panel.table.view["lines"][0][1]["entry"] == "4"


def test_the_table_follows_the_bench(panel: FormulaPanel) -> None:
    panel.bench.move_oil(20)
    assert panel.table.view["phases"][1]["total"] == "20.00"
    panel.bench.tolerance = 0.01
    assert panel.table.view["lines"][1][1]["field_marks"] == {"grams": "caution"}


def test_a_new_material_is_offered_by_name(panel: FormulaPanel) -> None:
    panel.bench.add_material(Ingredient("Lane Extract (invented)", "zest"))
    assert panel.table.names[0] == ["Lane Extract (invented)", "zest"]


# ---- title, kind, grams -----------------------------------------------------------------------------------


def test_title_and_kind_go_both_ways(panel: FormulaPanel) -> None:
    panel.title_box.value = "  Evening shake "
    panel.product_kind.value = "rinse-off"
    assert (panel.bench.formula.title, panel.bench.formula.product_kind) == ("Evening shake", "rinse-off")
    panel.bench.undo()
    panel.bench.undo()
    assert (panel.title_box.value, panel.product_kind.value) == ("Shake", "leave-on")


def test_a_title_is_never_empty(panel: FormulaPanel) -> None:
    panel.title_box.value = " "
    assert panel.bench.formula.title == panel.title_box.value == "Untitled"


def test_grams_beside_qs_ask_for_the_mass_they_are_written_for(panel: FormulaPanel) -> None:
    assert is_hidden(panel.written_for)
    typed(panel.bench, 0, 1, "10 g")
    assert not is_hidden(panel.written_for)
    panel.written_for.value = "0.25 kg"
    assert panel.bench.formula.written_for == 250
    assert panel.bench.formula.percents[0][1] == pytest.approx(4)
    assert panel.written_for.value == "250 g"
    panel.written_for.value = ""
    assert panel.bench.formula.written_for is None


def test_the_mass_shown_is_the_mass_in_hand(panel: FormulaPanel) -> None:
    panel.bench.change(two_layers(written_for=1234567.8))
    assert panel.written_for.value == "1234567.8 g"
    panel.bench.undo()
    assert panel.written_for.value == ""


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("250", "The batch mass has no unit (got '250'). Write \"250 g\"."),
        ("much", "'much' does not start with a number."),
        ("5 mL", "The batch mass must be an amount that can be turned into g"),
        ("0 g", "The batch mass must be more than 0 g, got 0 g."),
        ("-3 g", "The batch mass must be more than 0 g, got -3 g."),
    ],
)
def test_a_mass_that_cannot_be_used_is_told_and_stays_typed(panel: FormulaPanel, text: str, sentence: str) -> None:
    panel.written_for.value = text
    assert sentence in words(panel.message)
    assert panel.written_for.value == text
    assert panel.bench.formula.written_for is None


# ---- files ------------------------------------------------------------------------------------------------


def test_the_file_named_is_the_file_saved(panel: FormulaPanel) -> None:
    assert panel.file.value == "shake.toml"
    panel.file.value = "evening.toml"
    panel.save_button.click()
    assert words(panel.message) == "✓ Saved evening.toml."
    assert read_formula("evening.toml") == two_layers()
    assert panel.bench.file == Path("evening.toml")


def test_a_file_name_that_is_typed_survives_until_it_is_used(panel: FormulaPanel) -> None:
    panel.save_button.click()
    panel.file.value = "variant.toml"
    hear(panel, kind="set_entry", phase=0, line=1, text="6")
    assert panel.file.value == "variant.toml"
    panel.save_button.click()
    assert entries(read_formula("shake.toml"))[0][1] == "4"
    assert entries(read_formula("variant.toml"))[0][1] == "6"


def test_saved_is_no_longer_said_once_something_has_changed(panel: FormulaPanel) -> None:
    panel.save_button.click()
    panel.bench.fill = 50
    assert words(panel.message) == "✓ Saved shake.toml."
    hear(panel, kind="set_entry", phase=0, line=1, text="6")
    assert panel.message.value == ""


def test_saved_as_another_kind_of_file_it_says_what_is_left_out(panel: FormulaPanel) -> None:
    panel.bench.add_material(Ingredient("Lane Extract (invented)"))
    panel.file.value = "shake.csv"
    panel.save_button.click()
    assert words(panel.message).startswith(
        "✓ Saved shake.csv. A CSV file does not hold title, version and product kind or stocks"
    )
    assert Path("shake.csv").read_text(encoding="utf-8").startswith("phase,layer,ingredient,amount")
    assert panel.bench.formula.materials


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("", "Type a file name that ends in one of .toml, .csv, .xlsx."),
        ("shake", "shake has 1 fault; nothing was changed."),
        ("shake.docx", "name it with one of .toml, .csv, .xlsx"),
    ],
)
def test_a_name_that_does_not_do_is_told_for_saving_and_opening(panel: FormulaPanel, name: str, sentence: str) -> None:
    panel.file.value = name
    for button in (panel.save_button, panel.open_button):
        panel.message.value = ""
        button.click()
        assert sentence in words(panel.message)
    assert list(Path.cwd().iterdir()) == []
    assert panel.file.value == name


def test_a_file_that_is_not_there_is_told_and_nothing_changes(panel: FormulaPanel) -> None:
    panel.file.value = "gone.toml"
    panel.open_button.click()
    assert "there is no file gone.toml in this folder" in words(panel.message)
    assert (panel.bench.formula, panel.bench.file) == (two_layers(), None)


def test_opening_says_that_undo_brings_the_work_back_and_it_does(panel: FormulaPanel) -> None:
    save_formula(one_phase(("Aqua", "100")), "toner.toml")
    hear(panel, kind="set_entry", phase=0, line=1, text="6")
    panel.file.value = "toner.toml"
    panel.open_button.click()
    assert words(panel.message) == "✓ Opened toner.toml. Undo brings back what was here before."
    assert panel.title_box.value == "Toner"
    hear(panel, kind="undo")
    assert entries(panel.bench.formula)[0][1] == "6"
    assert panel.file.value == "shake.toml"


def test_an_uploaded_file_is_put_beside_the_notebook_and_opened(panel: FormulaPanel) -> None:
    save_formula(one_phase(("Aqua", "100")), "made.toml")
    content = Path("made.toml").read_bytes()
    Path("made.toml").unlink()
    upload(panel, "toner.toml", content)
    assert Path("toner.toml").read_bytes() == content
    assert panel.bench.formula.title == "Toner"
    assert panel.file.value == "toner.toml"
    assert words(panel.message) == "✓ Opened toner.toml, which now lies beside this notebook."
    assert panel.upload.value == ()
    upload(panel, "toner.toml", content)
    assert [path.name for path in Path.cwd().iterdir()] == ["toner.toml"]


def test_an_uploaded_file_never_takes_the_place_of_another(panel: FormulaPanel) -> None:
    save_formula(one_phase(("Aqua", "100")), "toner.toml")
    kept = Path("toner.toml").read_bytes()
    save_formula(one_phase(("Aqua", "q.s.")), "other.toml")
    upload(panel, "toner.toml", Path("other.toml").read_bytes())
    assert Path("toner.toml").read_bytes() == kept
    assert panel.bench.file == Path("toner_2.toml")
    assert entries(panel.bench.formula) == [["q.s."]]


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("toner.toml", b'titel = "x"\n', "did you mean 'title'"),
        ("toner.csv", b"a,b\n1,2\n", "there is no column 'ingredient', 'amount'"),
        ("toner.xlsx", b"PK nothing", "it cannot be read as a workbook"),
        ("photo.png", b"\x89PNG", "files of this kind cannot be used"),
    ],
)
def test_an_uploaded_file_with_faults_is_told_and_not_left_lying_about(
    panel: FormulaPanel, name: str, content: bytes, sentence: str
) -> None:
    upload(panel, name, content)
    assert sentence in words(panel.message)
    assert f"{name} has" in words(panel.message)
    assert list(Path.cwd().iterdir()) == []
    assert (panel.bench.formula, panel.bench.file, panel.bench.can_undo) == (two_layers(), None, False)


def test_an_upload_cannot_leave_the_folder(panel: FormulaPanel, folder: Path) -> None:
    save_formula(one_phase(("Aqua", "100")), "made.toml")
    upload(panel, "../../elsewhere.toml", Path("made.toml").read_bytes())
    assert (folder / "elsewhere.toml").exists()


# ---- an ingredient of the maker's own ---------------------------------------------------------------------


def test_an_own_ingredient_travels_with_the_formula(panel: FormulaPanel) -> None:
    form = panel.own
    form.inci.value, form.plain.value, form.layer.value = " Lane Extract (invented) ", "zest", "oil"
    form.density.value, form.role.value = "0,91", "emollient"
    form.add.click()
    assert words(form.message) == (
        "✓ Lane Extract (invented) can now be chosen in the table; it is saved with this formula."
    )
    (own,) = panel.bench.formula.materials
    assert isinstance(own, Ingredient)
    assert (own.inci, own.plain_name, own.phase, own.roles) == (
        "Lane Extract (invented)",
        "zest",
        "oil",
        ("emollient",),
    )
    assert own.density is not None
    assert (own.density.value, own.density.source, own.own) == (0.91, "own", True)
    panel.save_button.click()
    assert read_formula("shake.toml").materials == (own,)


@pytest.mark.parametrize(
    ("inci", "density", "sentence"),
    [
        ("", "", "An ingredient needs a name"),
        ("Lane Extract", "heavy", "'heavy' is not a number."),
        ("Lane Extract", "910", "a density of 910 g/mL is not believable"),
    ],
)
def test_an_own_ingredient_that_does_not_do_is_told_and_stays_typed(
    panel: FormulaPanel, inci: str, density: str, sentence: str
) -> None:
    panel.own.inci.value, panel.own.density.value = inci, density
    panel.own.add.click()
    assert sentence in words(panel.own.message)
    assert (panel.own.inci.value, panel.own.density.value) == (inci, density)
    assert panel.bench.formula.materials == ()


def test_a_name_that_is_taken_is_told_and_undo_brings_the_first_back(panel: FormulaPanel) -> None:
    stock = Stock("Citric Acid 10 % stock", {"Citric Acid": 10.0, "Aqua": 90.0})
    panel.bench.add_material(stock)
    panel.own.inci.value = "citric acid 10 % STOCK"
    panel.own.add.click()
    assert "It takes the place of the one of that name; undo brings that back." in words(panel.own.message)
    panel.bench.undo()
    assert panel.bench.formula.materials == (stock,)
    panel.own.inci.value = "Glycerin"
    panel.own.add.click()
    assert "In this formula it stands before what the library has under that name." in words(panel.own.message)
