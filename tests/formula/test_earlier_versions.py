"""Earlier versions in a TOML file: everything of them comes back, and older files stay readable."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings

from kit.errors import FileFaultsError
from kit.formula.editing import set_line, with_material
from kit.formula.files import read_formula, save_formula
from kit.formula.files.toml_file import save_toml
from kit.formula.model import Formula, Line, Rule
from kit.formula.versions import keep_version, with_variant
from kit.library.description import Description
from kit.library.ingredient import Ingredient, Stock
from tests.formula.made import formulas, water_and


def back(formula: Formula, folder: Path) -> Formula:
    save_formula(formula, folder / "f.toml")
    return read_formula(folder / "f.toml")


def test_the_notes_of_its_lines_come_back(tmp_path: Path) -> None:
    old = set_line(water_and(("Glycerin", "6")), 0, 1, note='from the "new" drum')
    new = keep_version(set_line(old, 0, 1, entry="4", note="sticky; less of it"), old, "less")
    assert back(new, tmp_path) == new
    assert new.earlier[0].phases[0].lines[1].note == 'from the "new" drum'


def test_the_notes_of_a_variants_lines_come_back(tmp_path: Path) -> None:
    formula = with_variant(set_line(water_and(("Glycerin", "6")), 0, 1, note="warm it"), "dry hair")
    assert back(formula, tmp_path).variants[0].phases[0].lines[1].note == "warm it"


def test_what_else_was_different_then_comes_back(tmp_path: Path) -> None:
    old = replace(
        water_and(("Glycerin", "6")),
        steps=("Weigh.", "Stir."),
        note="first try",
        description=Description(body_part="face"),
        rules=(Rule("Glycerin", high=8.0),),
        materials=(Stock("Acid stock", {"Citric Acid": 10.0, "Aqua": 90.0}),),
    )
    new = replace(
        keep_version(old, old, "all anew"),
        steps=(),
        note="",
        description=Description(product_kind="rinse-off", used_on=("hair",), layering="one phase"),
        rules=(),
        materials=(Ingredient("My Oil", facts_source="own", own=True),),
    )
    found = back(new, tmp_path)
    assert found == new
    assert found.earlier[0].steps == ("Weigh.", "Stir.")
    newer = replace(keep_version(new, new, "stock again"), materials=old.materials, steps=("Shake.",))
    assert back(newer, tmp_path) == newer


def test_what_was_the_same_then_is_not_written_twice(tmp_path: Path) -> None:
    old = replace(water_and(("Glycerin", "6")), steps=("Weigh.",), note="a note")
    new = keep_version(set_line(old, 0, 1, entry="4"), old)
    back(new, tmp_path)
    text = (tmp_path / "f.toml").read_text(encoding="utf-8")
    assert text.count("steps") == text.count("a note") == 1


@settings(max_examples=25)
@given(formulas(least=1), formulas(least=1), formulas(least=1))
def test_any_history_comes_back_also_over_another_one(first: Formula, second: Formula, third: Formula) -> None:
    plain = [
        replace(
            version,
            version=number,
            phases=tuple(replace(phase, lines=phase.lines or (Line("Aqua"),)) for phase in version.phases),
        )
        for number, version in enumerate((first, second, third), start=1)
    ]
    history = replace(plain[2], earlier=(plain[0], plain[1]))
    shorter = replace(plain[1], earlier=(plain[0],))
    with TemporaryDirectory() as folder:
        for formula in (history, shorter, history):
            save_toml(formula, Path(folder) / "f.toml")
            assert read_formula(Path(folder) / "f.toml") == formula


OLD_FILE = """
title = "Toner"
version = 2
product_kind = "leave-on"
steps = ["Weigh."]

[[phase]]
name = "Water layer"
layer = "water"

[[phase.line]]
ingredient = "Aqua"
amount = "q.s."
holds = "fill"

[[earlier]]
version = 1
title = "Toner"
lines = [
  ["Water layer", "water", "Aqua", "q.s.", "fill"],
  ["Water layer", "water", "Glycerin", "6", "share"],
]
"""


def test_a_file_from_before_notes_were_kept_is_read_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "old.toml"
    path.write_text(OLD_FILE, encoding="utf-8")
    formula = read_formula(path)
    assert formula.earlier[0].phases[0].lines == (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "6", "share"))
    assert formula.earlier[0].steps == ("Weigh.",)
    save_formula(formula, path)
    assert path.read_text(encoding="utf-8") == OLD_FILE


@pytest.mark.parametrize(
    ("earlier", "words"),
    [
        ("lines = [['a', 'water', 'b', 'c']]", "row 1 must be [phase, layer, ingredient, amount, holds, note]"),
        ("lines = [['a', 'water', 'b', 'c', 'share', 'n', 'x']]", "row 1 must be [phase, layer, ingredient"),
        ("lines = []\nproduct_kind = 'both'", "product_kind must be one of leave-on, rinse-off; found 'both'"),
        ("lines = []\nsteps = 'stir'", "steps must be a list in square brackets"),
        ("lines = []\nstepps = []", "'stepps' is not known here; did you mean 'steps'?"),
    ],
)
def test_faults_in_an_earlier_version_are_told(tmp_path: Path, earlier: str, words: str) -> None:
    path = tmp_path / "f.toml"
    path.write_text(f"[[phase]]\n[[earlier]]\nversion = 1\n{earlier}\n", encoding="utf-8")
    with pytest.raises(FileFaultsError) as raised:
        read_formula(path)
    assert any(words in str(fault) for fault in raised.value.faults), raised.value.faults


def test_a_stock_of_an_earlier_version_says_where_it_is_wrong(tmp_path: Path) -> None:
    path = tmp_path / "f.toml"
    path.write_text(
        "[[phase]]\n[[earlier]]\nversion = 1\nlines = []\n[[earlier.stock]]\nname = 'A'\ncontents = { Aqua = 90 }\n",
        encoding="utf-8",
    )
    with pytest.raises(FileFaultsError, match=r"line 5, stock: A: its parts add to 90 %"):
        read_formula(path)


def test_keeping_a_version_keeps_its_stock(tmp_path: Path) -> None:
    old = with_material(water_and(("Acid stock", "5")), Stock("Acid stock", {"Citric Acid": 10.0, "Aqua": 90.0}))
    new = with_material(keep_version(old, old), Stock("Acid stock", {"Citric Acid": 20.0, "Aqua": 80.0}))
    assert back(new, tmp_path).earlier[0].materials[0].composition["Citric Acid"] == 10.0
