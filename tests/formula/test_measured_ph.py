"""A pH that the maker measured: kept with the formula and its versions, told of, and used by what is checked."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from kit.errors import FileFaultsError, RangeError
from kit.formula.differences import about_changes
from kit.formula.files import read_formula, save_formula
from kit.formula.files.draft import of_draft, to_draft
from kit.formula.model import PhReading
from kit.formula.versions import keep_version, kept_version, variant_formula, with_variant
from kit.product.beginning import begin_from
from kit.product.product import Product
from tests.formula.made import water_and

if TYPE_CHECKING:
    from pathlib import Path

READ = PhReading(5.25, "2026-05-31")
BY_HAND = """# the summer one
title = "Salt splash"
measured_ph = { value = 5.20, day = "2026-05-31" }  # by the strip

[[phase]]
name = "Water"
[[phase.line]]
ingredient = "Aqua"
amount = "q.s."
[[phase.line]]
ingredient = "Alcohol"
amount = 20
"""


def test_number_day_and_remarks_outlive_a_save(tmp_path: Path) -> None:
    path = tmp_path / "splash.toml"
    path.write_text(BY_HAND, encoding="utf-8")
    formula = read_formula(path)
    assert formula.measured_ph == PhReading(5.2, "2026-05-31")
    save_formula(replace(formula, note="Shake."), path)
    kept = path.read_text(encoding="utf-8")
    assert 'measured_ph = { value = 5.20, day = "2026-05-31" }  # by the strip' in kept
    for said in (PhReading(6.0), READ, None):
        formula = replace(formula, measured_ph=said)
        save_formula(formula, path)
        assert read_formula(path) == formula
        assert of_draft(to_draft(formula, ""), "draft")[0] == formula
    assert path.read_text(encoding="utf-8").startswith("# the summer one\n")
    assert "measured_ph" not in path.read_text(encoding="utf-8")
    path.write_text(BY_HAND.replace('{ value = 5.20, day = "2026-05-31" }', "5"), encoding="utf-8")
    assert read_formula(path).measured_ph == PhReading(5.0)


def test_each_kept_version_has_its_own(tmp_path: Path) -> None:
    first = water_and(("Sodium Chloride", "2"))
    second = keep_version(replace(first, measured_ph=READ), first, "measured")
    third = keep_version(replace(second, measured_ph=None), second, "made anew")
    path = tmp_path / "salt.toml"
    save_formula(third, path)
    again = read_formula(path)
    assert again == third
    assert [kept_version(again, number).measured_ph for number in (1, 2, 3)] == [None, READ, None]


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("15", "line 3, measured_ph: A pH of 15 is not believable"),
        ('"acid"', "line 3, measured_ph: measured_ph must be a number such as 5.2"),
        ('{ value = 5, day = "31/5/2026" }', "'31/5/2026' is not a day"),
        ('{ day = "2026-05-31" }', "measured_ph must be a number such as 5.2"),
        ("{ value = 5, on = 3 }", "'on' is not known here"),
    ],
)
def test_what_cannot_be_is_refused_with_its_line(tmp_path: Path, written: str, words: str) -> None:
    path = tmp_path / "splash.toml"
    path.write_text(BY_HAND.replace('{ value = 5.20, day = "2026-05-31" }', written), encoding="utf-8")
    with pytest.raises(FileFaultsError) as refused:
        read_formula(path)
    assert words in str(refused.value)


def test_it_judges_the_product_and_no_other_one(tmp_path: Path) -> None:
    formula = water_and(("Sodium Benzoate", "0.4"), measured_ph=PhReading(7.5))
    product = Product(formula)
    assert any("You measured 7.5." in finding.sentence for finding in product.findings)
    assert "Judged at pH 7.5, measured." in product.looked_up.sentence
    assert begin_from(formula, "Another").measured_ph is None
    assert variant_formula(with_variant(formula, "dry hair"), "dry hair").measured_ph is None
    assert about_changes(formula, replace(formula, measured_ph=READ)) == [
        "The pH of the water layer was 7.5, now 5.25 (2026-05-31)."
    ]
    (note,) = save_formula(formula, tmp_path / "toner.xlsx")
    assert "the measured pH" in note.sentence
    with pytest.raises(RangeError, match="not believable"):
        PhReading(-1)
