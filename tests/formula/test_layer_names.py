"""Headings of phases, and the layer that most of a phase says."""

from __future__ import annotations

import pytest

from kit.formula.layer_names import Most, is_phase_heading, kind_of_most
from kit.formula.model import Line
from kit.library.ingredient import Ingredient


@pytest.mark.parametrize(
    ("text", "heading"),
    [
        ("Oil phase" + " of" * 17, True),  # 60 signs
        ("Oil phase " + " of" * 17, False),
        ("A2", True), ("A 2)", True), ("B.", True), ("AB", False),
        ("B. Oil", True), ("B. Heat to 70 °C", False), ("Stir the oil phase. Then wait", False),
        ("Wasserschicht", True), ("Capa", True), ("Escape", False), ("D Colour", False),
    ],
)  # fmt: skip
def test_what_begins_a_phase(text: str, heading: bool) -> None:
    assert is_phase_heading(text) is heading


def test_the_heaviest_three_say_the_layer_and_what_belongs_elsewhere_is_named() -> None:
    lines = [
        Line("Squalane", "3"), Line("Aqua", "2"), Line("Undecane", "1"), Line("Isoamyl Laurate", "4"),
        Line("Isododecane", "2"),
    ]  # fmt: skip
    assert kind_of_most([lines]) == [Most("oil", ("Isoamyl Laurate", "Squalane", "Isododecane"), ("Aqua",))]
    # by mass and not by how many: 11 of water are more than 10 of four oils
    heavy = [line if line.material != "Aqua" else Line("Aqua", "11") for line in lines]
    assert kind_of_most([heavy])[0].kind == "water"


def test_each_phase_speaks_for_itself_and_what_nobody_knows_says_nothing() -> None:
    own = Ingredient("My own oil", phase="oil", own=True)
    phases: tuple[list[Line], ...] = (
        [Line("Mystery", "99"), Line("Aqua", "1")],
        [Line("Mystery", "5")],
        [Line("MY OWN OIL", "q.s.")],
        [],
    )
    found = kind_of_most(phases, (own,))
    assert [most.kind for most in found] == ["water", None, "oil", None]
    # an amount that cannot be read counts next to nothing, but more than nothing at all
    assert kind_of_most([[Line("Squalane", "some"), Line("Aqua", "0.1")]])[0].kind == "water"
    assert kind_of_most([[Line("Squalane", "some")]])[0].kind == "oil"
