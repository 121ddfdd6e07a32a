"""How a product of one's own begins, and that nothing of another product comes along."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import nbformat
import pytest

from kit.demos import demo
from kit.errors import RangeError, StoreError, UnknownNameError
from kit.formula.files import read_formula, save_formula
from kit.formula.model import Answer, Formula, Line, Phase, Rule, Variant
from kit.formula.versions import keep_version
from kit.library.description import Description
from kit.library.library import Library
from kit.papers.registry import make_paper
from kit.product.beginning import begin_from, blank, starting_point, starting_points
from kit.product.product import Product
from kit.product_folder import make_product_folder
from kit.workspace import FORMULA, NOTEBOOK, is_product_folder, products_in

if TYPE_CHECKING:
    from pathlib import Path

POINTS = sorted(starting_points())


@pytest.mark.parametrize("name", POINTS)
@pytest.mark.parametrize("jurisdiction", ["eu", "us"])
def test_a_starting_point_is_whole_and_breaks_no_rule(name: str, jurisdiction: str) -> None:
    product = Product(starting_point(name), jurisdiction=jurisdiction)  # type: ignore[arg-type]
    assert product.formula.is_complete
    assert [str(finding) for finding in product.stops] == []
    said = product.formula.description
    assert all((said.product_type, said.used_on, said.applied, said.users, said.layering))
    assert product.formula.steps
    assert all(line.material in Library.bundled() for _, _, line, _ in product.formula.each_line())


def test_there_are_starting_points_of_every_kind() -> None:
    described = [formula.description for formula in starting_points().values()]
    assert len(described) >= 8
    assert {said.layering for said in described} == {"two layers", "emulsified", "one phase"}
    assert {said.product_kind for said in described} == {"leave-on", "rinse-off"}


@pytest.mark.parametrize("name", POINTS)
def test_every_material_of_a_starting_point_stands_in_its_steps(name: str) -> None:
    formula = starting_point(name)
    told = " ".join(map(str, formula.steps))
    assert [line.material for _, _, line, _ in formula.each_line() if line.material not in told] == []


def papers_of(formula: Formula) -> str:
    """The text of every paper of a product."""
    product = Product(formula)
    made = [make_paper(name, product).html for name in ("batch_sheet", "formula_card", "label_text", "cost_sheet")]
    return re.sub(r"<style>.*?</style>", "", " ".join(made), flags=re.DOTALL).casefold()


def heavy_source() -> Formula:
    """A product with everything that could be left behind in another: its words are not those of the kit."""
    first = replace(
        demo(), title="Zorblax shake", note="zorblax note", earlier=(), version=1, changed=True,
        description=replace(demo().description, body_part="zorblax place"),
        answers=(Answer("trade: x", "zorblax answer"),),
        variants=(Variant("zorblax variant", demo().phases, "zorblax family"),),
    )  # fmt: skip
    return keep_version(first, first, "zorblax change")


def test_a_copy_leaves_behind_what_belongs_to_the_other_product() -> None:
    copied = begin_from(heavy_source(), "Evening milk", Description("leave-on", "body lotion"))
    assert (copied.title, copied.version, copied.changed, copied.note) == ("Evening milk", 1, False, "")
    left = (copied.earlier, copied.variants, copied.answers, copied.change_note, copied.densities)
    assert not any(left)
    assert "zorblax" not in papers_of(copied)
    assert copied.percents == heavy_source().percents
    assert copied.steps == heavy_source().steps


def test_an_empty_one_holds_no_word_of_any_other() -> None:
    lines = (Line("Aqua", "q.s."), Line("Glycerin", "5"))
    begun = blank("Evening milk", Description("rinse-off", "shampoo", layering="one phase"))
    filled = replace(begun, phases=(replace(begun.phases[0], lines=lines),))
    said = papers_of(filled)
    for word in ("swim", "shake", "coco-caprylate", "tern lane", "apricot", "step 1"):
        assert word not in said, word


def test_a_moved_ratio_is_taken_over_as_amounts() -> None:
    moved = Product(demo()).path.at(40.0)
    begun = begin_from(moved, "Rich shake")
    assert begun.ratio is None
    assert Product(begun).oil == pytest.approx(40.0)


@pytest.mark.parametrize("title", ["", "   "])
def test_a_product_needs_a_name(title: str) -> None:
    with pytest.raises(RangeError, match="needs a name"):
        blank(title)
    with pytest.raises(RangeError, match="needs a name"):
        begin_from(demo(), title)


def test_an_unknown_starting_point_is_told_with_those_there_are() -> None:
    with pytest.raises(UnknownNameError, match="Write one of alcohol-splash, body-cream"):
        starting_point("elixir")


# ---- its folder -------------------------------------------------------------------------------------------


def test_a_folder_holds_the_formula_and_a_notebook_that_is_one(tmp_path: Path) -> None:
    folder = make_product_folder(tmp_path, begin_from(starting_point("toner"), "Rose toner"))
    assert folder == tmp_path / "rose_toner"
    assert is_product_folder(folder)
    assert products_in(tmp_path) == [folder]
    assert read_formula(folder / FORMULA).title == "Rose toner"
    notebook: Any = nbformat.read(folder / NOTEBOOK, as_version=4)  # type: ignore[no-untyped-call]
    nbformat.validate(notebook)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert all(cell.metadata.jupyter.source_hidden for cell in code)
    said = [cell.source.splitlines()[0] for cell in notebook.cells if cell.cell_type == "markdown"]
    headings = [line for line in said if line.startswith("#")]
    assert headings[:2] == ["# Rose toner", "## 1 · Formula"]
    assert not any("Layers" in heading for heading in headings), "a toner of one phase has no ratio to move"


def test_a_product_with_layers_has_a_section_for_them(tmp_path: Path) -> None:
    folder = make_product_folder(tmp_path, starting_point("two-layer-hair-mist"))
    assert "RatioPanel" in json.dumps(json.loads((folder / NOTEBOOK).read_text(encoding="utf-8")))


def test_what_stands_in_no_layers_is_asked_nothing_about_them(tmp_path: Path) -> None:
    """A lotion has a ratio and emulsifiers, a toner has neither; both have rules, keeping, variants, cold, warmth."""
    both = ("RulesPanel", "PreservationPanel", "FamilyPanel", "DispensersPanel", "ColdAndWarmPanel", "ShelfLifePanel")
    for name, more, not_there in (
        ("body-cream", ("RatioPanel", "EmulsifierPanel"), ("SeparationPanel", "DosingPanel", "PartingTrialsPanel")),
        ("toner", (), ("RatioPanel", "EmulsifierPanel", "SeparationPanel", "DosingPanel", "WanderingPanel")),
    ):
        text = (make_product_folder(tmp_path, starting_point(name)) / NOTEBOOK).read_text(encoding="utf-8")
        assert [panel for panel in (*both, *more) if panel not in text] == []
        assert [panel for panel in not_there if panel in text] == []


def test_a_folder_that_is_there_stays_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "rose_toner").mkdir()
    (tmp_path / "rose_toner" / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(StoreError, match="is there already, and nothing in it was changed"):
        make_product_folder(tmp_path, blank("Rose toner"))
    assert [path.name for path in (tmp_path / "rose_toner").iterdir()] == ["mine.txt"]


@pytest.mark.parametrize("title", ["../../etc", "a/b\\c", "CON", "  .hidden", "Ré:sé?rve*", "日本", "x" * 300])
def test_a_name_that_is_no_file_name_makes_a_folder_within_the_folder(title: str, tmp_path: Path) -> None:
    folder = make_product_folder(tmp_path, blank(title))
    assert folder.parent == tmp_path
    assert read_formula(folder / FORMULA).title == title.strip()


def test_nothing_half_made_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("kit.product_folder.notebook_text", full)
    with pytest.raises(StoreError, match="could not be made: No space left on device"):
        make_product_folder(tmp_path, blank("Rose toner"))
    assert list(tmp_path.iterdir()) == []


def test_a_copy_from_a_table_begins_too(tmp_path: Path) -> None:
    table = Formula(
        "Old", (Phase("A", "water", (Line("Aqua", "95"), Line("Glycerin", "5"))),), rules=(Rule("Urea", high=1),)
    )
    save_formula(table, tmp_path / "old.csv")
    begun = begin_from(read_formula(tmp_path / "old.csv", []), "New")
    assert [line.material for _, _, line, _ in begun.each_line()] == ["Aqua", "Glycerin"]
