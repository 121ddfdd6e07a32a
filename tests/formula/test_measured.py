"""A density that the maker measured: kept with the formula, and believed as far as the layer is what was measured."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import KitError
from kit.formula.differences import about_changes
from kit.formula.files import read_formula, save_formula
from kit.formula.model import Formula, Line, MeasuredDensity, Phase, layer_mix, moved_away
from kit.layers.density import FAR, layer_density, layers_of
from kit.layers.density_words import density_text, density_words
from tests.layers.some_formulas import REAL, formulas, materials_of
from tests.present import present

if TYPE_CHECKING:
    from pathlib import Path


def measured(formula: Formula, value: float, *, celsius: float = 20.0, uncertainty: float = 0.001) -> Formula:
    found = MeasuredDensity("water", value, layer_mix(formula, "water"), celsius, uncertainty)
    return replace(formula, densities=(found,))


def spirit(alcohol: float = 30.0) -> Formula:
    water = Phase("W", "water", (Line("Alcohol", repr(alcohol)), Line("Aqua", repr(70 - alcohol))))
    return Formula("Spirit", (water, Phase("O", "oil", (Line("Coco-Caprylate", "30"),))))


@given(formulas(waters=REAL), st.floats(0.8, 1.4), st.sampled_from([0.0, 20.0, 25.0, 60.0]))
def test_where_and_when_it_was_measured_it_is_the_density(formula: Formula, value: float, celsius: float) -> None:
    formula = measured(formula, value, celsius=celsius)
    found = layer_density(formula, materials_of(formula), "water", celsius)
    assert found.value == pytest.approx(value, rel=1e-12)
    assert found.uncertainty == pytest.approx(0.001, rel=1e-9)
    assert found.is_known
    assert found.unknown_share == 0


def test_a_measured_density_beats_a_table() -> None:
    # OIML R 22 has 0.9294 g/mL for 42.9 % w/w; what was bought was weaker
    formula = measured(spirit(), 0.9350)
    water = layers_of(formula, materials_of(formula))[0]
    assert water.density == pytest.approx(0.9350, rel=1e-12)
    assert density_text(present(water.about)) == "0.935 ± 0.002"
    assert density_words(present(water.about)).endswith(" at 20 °C; you measured it.")  # and no table is named


def test_it_counts_the_less_the_further_the_layer_has_moved() -> None:
    measured_of = measured(spirit(), 0.9350).densities
    found = []
    for alcohol in (30.0, 33.0, 37.0, 44.0, 60.0):
        formula = replace(spirit(alcohol), densities=measured_of)
        plain = spirit(alcohol)
        both = [layer_density(each, materials_of(each), "water") for each in (formula, plain)]
        found.append((both[0].measured, both[0].value - both[1].value))
    # by hand: 3, 7 and 14 of 70 parts have moved: 0.043, 0.1 and 0.2 of the layer, of which FAR is the last
    assert [counts for counts, _ in found] == pytest.approx([1, 1 - 3 / 70 / FAR, 0.5, 0, 0], abs=1e-9)
    offs = [off for _, off in found]
    assert offs == sorted(offs, reverse=True)
    assert offs[-1] == 0


def test_it_is_carried_to_other_temperatures_by_what_expands() -> None:
    plain, formula = spirit(), measured(spirit(), 0.9350)
    for celsius in (5.0, 40.0):
        there, at_20 = (layer_density(plain, materials_of(plain), "water", t).value for t in (celsius, 20.0))
        found = layer_density(formula, materials_of(formula), "water", celsius)
        assert found.value == pytest.approx(0.9350 * there / at_20, rel=1e-12)


def test_it_is_kept_in_the_file_and_in_what_has_changed(tmp_path: Path) -> None:
    formula = measured(spirit(), 0.9350, celsius=23.5)
    path = tmp_path / "spirit.toml"
    save_formula(formula, path)
    assert read_formula(path).densities == formula.densities
    assert "[[measured_density]]" in path.read_text(encoding="utf-8")
    (note,) = save_formula(formula, tmp_path / "spirit.xlsx")
    assert "measured densities" in note.sentence
    words = " ".join(about_changes(spirit(), formula))
    assert "A measured density is new: water layer 0.935 g/mL at 23.5 °C." in words


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({"value": 9.25}, "not believable for a layer"),
        ({"celsius": 120.0}, "0 to 100 °C, not at 120 °C"),
        ({"uncertainty": 0.0}, "lies between 0 and 0.1 g/mL"),
        ({"mix": {}}, "needs what the layer was made of"),
        ({"mix": {"Aqua": 50.0}}, "its parts add to 50 %"),
    ],
)
def test_what_cannot_be_is_refused(how: dict[str, object], words: str) -> None:
    given = {"layer": "water", "value": 1.0, "mix": {"Aqua": 100.0}, **how}
    with pytest.raises(KitError, match=words):
        MeasuredDensity(**given)  # type: ignore[arg-type]


def test_how_far_a_mixture_has_moved() -> None:
    assert moved_away({"A": 60.0, "B": 40.0}, {"A": 50.0, "B": 40.0, "C": 10.0}) == pytest.approx(0.1)
    assert moved_away({"A": 100.0}, {"B": 100.0}) == 1
