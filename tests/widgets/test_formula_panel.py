from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from kit.formula.files import read_formula, save_formula
from kit.library.ingredient import Ingredient, Stock
from kit.widgets.formula_panel import FormulaPanel
from tests.widgets.hands import entries, one_phase, said, two_layers, typed

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


@pytest.fixture
def panel(bench: Bench) -> FormulaPanel:
    return FormulaPanel(bench)


def sent(panel: FormulaPanel, **edit: Any) -> None:
    """A message from the browser side of the table."""
    panel.table._handle_custom_msg(edit, [])


def upload(panel: FormulaPanel, name: str, content: bytes) -> None:
    """Hand a file over as the browser does."""
    panel.files.press("upload", name, content)


# ---- the table --------------------------------------------------------------------------------------------


def test_what_is_typed_in_the_table_changes_the_bench_and_comes_back_as_a_view(panel: FormulaPanel) -> None:
    sent(panel, kind="set_entry", phase=0, line=1, text="6")
    assert entries(panel.bench.formula)[0][1] == "6"
    assert panel.table.view["lines"][0][1]["entry"] == "6"
    sent(panel, kind="undo")
    assert panel.table.view["lines"][0][1]["entry"] == "4"


def test_the_table_follows_the_bench(panel: FormulaPanel) -> None:
    panel.bench.move_oil(20)
    assert panel.table.view["phases"][1]["total"] == "20.00"
    panel.bench.tolerance = 0.01
    panel.bench.product = panel.bench.product.knowing("batch", "balance")
    assert panel.table.view["lines"][1][1]["field_marks"] == {"grams": "caution"}


def test_a_new_material_is_offered_by_name(panel: FormulaPanel) -> None:
    panel.bench.add_material(Ingredient("Lane Extract (invented)", "zest"))
    assert panel.table.names[0] == ["Lane Extract (invented)", "zest"]


# ---- title, kind, grams -----------------------------------------------------------------------------------


def test_title_and_kind_go_both_ways(panel: FormulaPanel) -> None:
    panel.about.type(title="  Evening shake ")
    panel.description.type(product_kind="rinse-off")
    assert (panel.bench.formula.title, panel.bench.formula.product_kind) == ("Evening shake", "rinse-off")
    panel.bench.undo()
    panel.bench.undo()
    assert (panel.about["title"], panel.description["product_kind"]) == ("Shake", "leave-on")


def test_a_title_is_never_empty(panel: FormulaPanel) -> None:
    panel.about.type(title=" ")
    assert panel.bench.formula.title == panel.about["title"] == "Untitled"


def test_grams_beside_qs_ask_for_the_mass_they_are_written_for(panel: FormulaPanel) -> None:
    assert "written_for" in panel.about.hidden
    typed(panel.bench, 0, 1, "10 g")
    assert "written_for" not in panel.about.hidden
    panel.about.type(written_for="0.25 kg")
    assert panel.bench.formula.written_for == 250
    assert panel.bench.formula.percents[0][1] == pytest.approx(4)
    assert panel.about["written_for"] == 250
    panel.about.type(written_for="")
    assert panel.bench.formula.written_for is None


def test_the_mass_shown_is_the_mass_in_hand(panel: FormulaPanel) -> None:
    panel.bench.change(two_layers(written_for=1234567.8))
    assert panel.about.texts["written_for"] == "1234567.8"
    panel.bench.undo()
    assert panel.about.texts["written_for"] == ""


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("1,250", "can mean 1250 g or 1.25 g"),
        ("much", "'much' does not start with a number."),
        ("5 mL", "must be an amount that can be turned into g"),
        ("0 g", "The batch mass must be more than 0 g, got 0 g."),
        ("-3 g", "The batch mass must be more than 0 g, got -3 g."),
    ],
)
def test_a_mass_that_cannot_be_used_is_told_and_stays_typed(panel: FormulaPanel, text: str, sentence: str) -> None:
    panel.about.type(written_for=text)
    assert sentence in panel.about.faults["written_for"]
    assert panel.about.texts["written_for"] == text
    assert panel.bench.formula.written_for is None


# ---- files ------------------------------------------------------------------------------------------------


def test_the_file_named_is_the_file_saved(panel: FormulaPanel) -> None:
    assert panel.files.texts["file"] == "shake.toml"
    panel.files.type(file="evening.toml")
    panel.files.press("save")
    assert said(panel.files) == "Saved evening.toml."
    assert read_formula("evening.toml") == two_layers()
    assert panel.bench.file == Path("evening.toml")


def test_a_file_name_that_is_typed_survives_until_it_is_used(panel: FormulaPanel) -> None:
    panel.files.press("save")
    panel.files.type(file="variant.toml")
    sent(panel, kind="set_entry", phase=0, line=1, text="6")
    assert panel.files.texts["file"] == "variant.toml"
    panel.files.press("save")
    assert entries(read_formula("shake.toml"))[0][1] == "4"
    assert entries(read_formula("variant.toml"))[0][1] == "6"


def test_saved_is_no_longer_said_once_something_has_changed(panel: FormulaPanel) -> None:
    panel.files.press("save")
    panel.bench.fill = 50
    assert said(panel.files) == "Saved shake.toml."
    sent(panel, kind="set_entry", phase=0, line=1, text="6")
    assert said(panel.files) == ""


def test_saved_as_another_kind_of_file_it_says_what_is_left_out(panel: FormulaPanel) -> None:
    panel.bench.add_material(Ingredient("Lane Extract (invented)"))
    panel.files.type(file="shake.csv")
    panel.files.press("save")
    assert said(panel.files).startswith(
        "Saved shake.csv. A CSV file does not hold title, version and product kind or stocks"
    )
    assert Path("shake.csv").read_text(encoding="utf-8").startswith("phase,layer,ingredient,amount")
    assert panel.bench.formula.materials


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("", "File: This is empty. Type it, such as my_formula.toml, .csv or .xlsx."),
        ("shake", "shake has 1 fault; nothing was changed."),
        ("shake.docx", "name it with one of .toml, .csv, .xlsx"),
    ],
)
def test_a_name_that_does_not_do_is_told_for_saving_and_opening(panel: FormulaPanel, name: str, sentence: str) -> None:
    panel.files.type(file=name)
    for button in ("save", "open"):
        panel.files.tell("")
        panel.files.press(button)
        assert sentence in said(panel.files)
    assert list(Path.cwd().iterdir()) == []
    assert panel.files.texts["file"] == name


def test_a_file_that_is_not_there_is_told_and_nothing_changes(panel: FormulaPanel) -> None:
    panel.files.type(file="gone.toml")
    panel.files.press("open")
    assert "there is no file gone.toml in this folder" in said(panel.files)
    assert (panel.bench.formula, panel.bench.file) == (two_layers(), None)


def test_opening_says_that_undo_brings_the_work_back_and_it_does(panel: FormulaPanel) -> None:
    save_formula(one_phase(("Aqua", "100")), "toner.toml")
    sent(panel, kind="set_entry", phase=0, line=1, text="6")
    panel.files.type(file="toner.toml")
    panel.files.press("open")
    assert said(panel.files) == "Opened toner.toml. Undo brings back what was here before."
    assert panel.about["title"] == "Toner"
    sent(panel, kind="undo")
    assert entries(panel.bench.formula)[0][1] == "6"
    assert panel.files.texts["file"] == "shake.toml"


def test_an_uploaded_file_is_put_beside_the_notebook_and_opened(panel: FormulaPanel) -> None:
    save_formula(one_phase(("Aqua", "100")), "made.toml")
    content = Path("made.toml").read_bytes()
    Path("made.toml").unlink()
    upload(panel, "toner.toml", content)
    assert Path("toner.toml").read_bytes() == content
    assert panel.bench.formula.title == "Toner"
    assert panel.files.texts["file"] == "toner.toml"
    assert said(panel.files) == "Opened toner.toml, which now lies beside this notebook."
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
    assert sentence in said(panel.files)
    assert f"{name} has" in said(panel.files)
    assert list(Path.cwd().iterdir()) == []
    assert (panel.bench.formula, panel.bench.file, panel.bench.can_undo) == (two_layers(), None, False)


def test_an_upload_cannot_leave_the_folder(panel: FormulaPanel, folder: Path) -> None:
    save_formula(one_phase(("Aqua", "100")), "made.toml")
    upload(panel, "../../elsewhere.toml", Path("made.toml").read_bytes())
    assert (folder / "elsewhere.toml").exists()


# ---- an ingredient of the maker's own ---------------------------------------------------------------------


def test_an_own_ingredient_travels_with_the_formula(panel: FormulaPanel) -> None:
    form = panel.own
    form.type(inci=" Lane Extract (invented) ", plain_name="zest", phase="oil", density="0,91", role="emollient")
    form.press("add")
    assert said(form) == ("Lane Extract (invented) can now be chosen in the table; it is saved with this formula.")
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
    panel.files.press("save")
    assert read_formula("shake.toml").materials == (own,)


@pytest.mark.parametrize(
    ("inci", "density", "sentence"),
    [
        ("", "", "An ingredient needs a name"),
        ("Lane Extract", "heavy", "'heavy' is not a number."),
        ("Lane Extract", "910", "910 is not possible here: it must not be below 0.3 and not above 5."),
    ],
)
def test_an_own_ingredient_that_does_not_do_is_told_and_stays_typed(
    panel: FormulaPanel, inci: str, density: str, sentence: str
) -> None:
    panel.own.type(inci=inci, density=density)
    panel.own.press("add")
    assert sentence in said(panel.own)
    assert (panel.own.texts["inci"], panel.own.texts["density"]) == (inci, density)
    assert panel.bench.formula.materials == ()


def test_a_name_that_is_taken_is_told_and_undo_brings_the_first_back(panel: FormulaPanel) -> None:
    stock = Stock("Citric Acid 10 % stock", {"Citric Acid": 10.0, "Aqua": 90.0})
    panel.bench.add_material(stock)
    panel.own.type(inci="citric acid 10 % STOCK")
    panel.own.press("add")
    assert "It takes the place of the one of that name; undo brings that back." in said(panel.own)
    panel.bench.undo()
    assert panel.bench.formula.materials == (stock,)
    panel.own.type(inci="Glycerin")
    panel.own.press("add")
    assert "In this formula it stands before what the library has under that name." in said(panel.own)
