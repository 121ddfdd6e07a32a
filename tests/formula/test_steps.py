"""Steps of the making: old files read on, richer ones come back whole, a step that names what is gone is told."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.demos import demo, demo_names
from kit.errors import FileFaultsError, RangeError
from kit.formula.checks import check
from kit.formula.editing import set_line
from kit.formula.expansion import Materials
from kit.formula.files import read_formula, save_formula
from kit.formula.model import Formula, Line, Phase
from kit.formula.steps import MakingStep, full_step, short_step, step_findings
from kit.formula.versions import keep_version
from kit.library.library import Library
from kit.papers.registry import make_paper
from kit.product.beginning import starting_points
from kit.product.product import Product

if TYPE_CHECKING:
    from pathlib import Path

    from kit.findings import Finding

TONER = starting_points()["toner"]
RICH = MakingStep("Warm Aqua with Glycerin", "Water", 75, "Hot water scalds", "Ana")
TEXTS = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=12).map(str.strip)
STEPS = st.lists(
    st.builds(MakingStep, TEXTS.filter(bool), TEXTS, st.none() | st.integers(-40, 300).map(float), TEXTS, TEXTS).map(
        short_step
    ),
    max_size=4,
).map(tuple)


def said(formula: Formula) -> list[Finding]:
    return step_findings(formula, Materials.of(formula, Library.bundled()))


@settings(max_examples=12, deadline=None)
@given(STEPS)
@pytest.mark.parametrize("ending", [".toml", ".xlsx"])
def test_steps_come_back_from_a_file(
    tmp_path_factory: pytest.TempPathFactory, ending: str, steps: tuple[str | MakingStep, ...]
) -> None:
    path = tmp_path_factory.mktemp("f") / f"toner{ending}"
    formula = replace(TONER, steps=steps)
    save_formula(formula, path)
    assert read_formula(path, []).steps == steps


def test_plain_and_rich_steps_stand_side_by_side_and_old_files_read_on(tmp_path: Path) -> None:
    path = tmp_path / "toner.toml"
    save_formula(TONER, path)
    before = path.read_text(encoding="utf-8")
    assert all(isinstance(step, str) for step in read_formula(path).steps)
    formula = replace(TONER, steps=("Stir.", RICH, *TONER.steps))
    save_formula(formula, path)
    text = path.read_text(encoding="utf-8")
    assert 'do = "Warm Aqua with Glycerin", phase = "Water", celsius = 75' in text
    assert read_formula(path) == formula
    save_formula(TONER, path)
    assert path.read_text(encoding="utf-8") == before


def test_steps_written_as_tables_read_and_can_be_changed(tmp_path: Path) -> None:
    path = tmp_path / "toner.toml"
    save_formula(replace(TONER, steps=()), path)
    with path.open("a", encoding="utf-8") as file:
        file.write('\n[[steps]]\ndo = "Stir"\ncelsius = 40\n\n[[steps]]\ndo = "Fill"\n')
    formula = read_formula(path)
    assert formula.steps == (MakingStep("Stir", celsius=40), "Fill")
    changed = replace(formula, steps=(*formula.steps, "Label"))
    save_formula(changed, path)
    assert read_formula(path) == changed


def test_a_wrong_step_is_told(tmp_path: Path) -> None:
    path = tmp_path / "toner.toml"
    save_formula(replace(TONER, steps=()), path)
    text = path.read_text(encoding="utf-8")
    bad = 'steps = [3, {do = "Stir", heat = 4}, {do = "", celsius = 20}]\n'
    path.write_text(text.replace("[[phase]]", bad + "\n[[phase]]", 1), encoding="utf-8")
    with pytest.raises(FileFaultsError) as told:
        read_formula(path)
    assert "step 1 must be text in quotation marks or a table; found 3" in str(told.value)
    assert "heat" in str(told.value)
    assert "A step says what is done" in str(told.value)
    with pytest.raises(RangeError, match="-40 to 300 °C, not at 900 °C"):
        MakingStep("Melt", celsius=900)


def test_versions_keep_their_steps(tmp_path: Path) -> None:
    path = tmp_path / "toner.toml"
    kept = keep_version(replace(TONER, steps=(RICH, "Fill.")), replace(TONER, changed=True))
    formula = replace(kept, steps=("Fill.",), changed=True, earlier=(replace(kept, earlier=()),))
    save_formula(formula, path)
    assert read_formula(path).earlier[0].steps == (RICH, "Fill.")


@pytest.mark.parametrize("formula", [*starting_points().values(), *map(demo, demo_names())], ids=lambda f: f.title)
def test_the_kits_own_formulas_have_nothing_to_mend(formula: Formula) -> None:
    assert said(formula) == []


def test_a_step_that_names_what_is_gone_is_told_and_a_phase_no_step_speaks_of() -> None:
    places = [(p, i) for p, i, line, _ in TONER.each_line() if line.material == "Ethylhexylglycerin"]
    gone = set_line(TONER, *places[0], material="Urea")
    (finding,) = said(gone)
    assert finding.sentence == (
        "Step 4 names Ethylhexylglycerin, and the formula does not hold it. Mend the step, or the formula."
    )
    assert (finding.severity, finding.place.field, finding.place.line) == ("caution", "steps", 3)
    assert finding in check(gone, Materials.of(gone, Library.bundled()), ())
    quiet = replace(TONER, phases=(*TONER.phases, Phase("Colour", "water", (Line("CI 42090", "0"),))))
    (note,) = said(quiet)
    assert note.severity == "note"
    assert note.sentence.startswith("No step speaks of Colour.")
    named = replace(quiet, steps=(*quiet.steps, MakingStep("Drop it in", "Colour")))
    assert said(named) == []
    assert said(replace(quiet, steps=())) == []


def test_whole_words_only_and_what_a_stock_holds_is_held() -> None:
    formula = replace(TONER, steps=(*TONER.steps, "Add ureas and oils; wipe with alcohol.", "Add the citric acid."))
    assert said(formula) == []


@pytest.mark.parametrize("kind", ["batch_sheet", "formula_card"])
def test_papers_print_all_of_a_step(kind: str) -> None:
    html = make_paper(kind, Product(replace(TONER, steps=(RICH, "Fill.")))).html
    assert "<b>Water</b>, <b>75 °C</b>: Warm Aqua with Glycerin <b>Caution: Hot water scalds</b> <small>(Ana)" in html
    assert str(full_step(RICH)) == "Water, 75 °C: Warm Aqua with Glycerin (caution: Hot water scalds; by Ana)"
