"""Every change gives a new formula and leaves the old one alone."""

from __future__ import annotations

from collections import Counter
from copy import deepcopy
from typing import TYPE_CHECKING

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.formula import editing
from kit.formula.model import Formula, Line, Phase
from kit.formula.moved import Ratio
from kit.formula.versions import keep_version
from kit.library.ingredient import Stock
from tests.formula.made import formulas

if TYPE_CHECKING:
    from collections.abc import Callable

START = Formula(
    "Shake",
    (
        Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "4"), Line("Urea", "2"))),
        Phase("Oil", "oil", (Line("Squalane", "15"),)),
    ),
)
ACID = Stock("Acid stock", {"Citric Acid": 10, "Aqua": 90})

CHANGES: list[Callable[[Formula], Formula]] = [
    lambda f: editing.set_line(f, 0, 1, entry="5", hold="level"),
    lambda f: editing.set_phase(f, 1, name="Oils", kind="other"),
    lambda f: editing.add_lines(f, 0, 1, [Line("Alcohol", "3")]),
    lambda f: editing.remove_line(f, 0, 2),
    lambda f: editing.move_line(f, 0, 0, 1, 0),
    lambda f: editing.add_phase(f, 1),
    lambda f: editing.remove_phase(f, 0),
    lambda f: editing.move_phase(f, 0, 1),
    lambda f: editing.with_material(f, ACID),
    lambda f: keep_version(f, f, "as it was"),
]


def names(formula: Formula) -> list[list[str]]:
    return [[line.material for line in phase.lines] for phase in formula.phases]


@pytest.mark.parametrize("change", CHANGES)
def test_the_old_formula_stays_as_it_was(change: Callable[[Formula], Formula]) -> None:
    before = deepcopy(START)
    after = change(START)
    assert before == START
    assert after != before


def test_a_line_is_changed_where_it_stands() -> None:
    after = editing.set_line(START, 0, 1, entry="5", hold="level", note="more")
    assert after.phases[0].lines[1] == Line("Glycerin", "5", "level", "more")
    assert after.phases[0].lines[::2] == START.phases[0].lines[::2]
    assert after.percents[0] == (78, 5, 2)


def test_lines_and_phases_come_and_go() -> None:
    assert names(editing.add_lines(START, 0, 1, [Line("A"), Line("B")])) == [
        ["Aqua", "A", "B", "Glycerin", "Urea"],
        ["Squalane"],
    ]
    assert names(editing.remove_line(START, 0, 1)) == [["Aqua", "Urea"], ["Squalane"]]
    assert names(editing.remove_phase(START, 0)) == [["Squalane"]]
    assert names(editing.move_phase(START, 0, 1)) == [["Squalane"], ["Aqua", "Glycerin", "Urea"]]
    assert names(editing.move_phase(START, 1, -5)) == [["Squalane"], ["Aqua", "Glycerin", "Urea"]]
    added = editing.add_phase(START, 1)
    assert added.phases[1] == Phase("Phase 3", "other", (Line(),))
    assert editing.add_phase(START, 2, Phase("Scent", "oil")).phases[2] == Phase("Scent", "oil")
    assert editing.set_phase(START, 1, name="Oils").phases[1].lines == START.phases[1].lines


@pytest.mark.parametrize(
    ("frm", "to", "expected"),
    [
        ((0, 0), (0, 2), [["Glycerin", "Urea", "Aqua"], ["Squalane"]]),
        ((0, 2), (0, 0), [["Urea", "Aqua", "Glycerin"], ["Squalane"]]),
        ((0, 1), (1, 1), [["Aqua", "Urea"], ["Squalane", "Glycerin"]]),
        ((1, 0), (0, 99), [["Aqua", "Glycerin", "Urea", "Squalane"], []]),
        ((0, 1), (0, -9), [["Glycerin", "Aqua", "Urea"], ["Squalane"]]),
    ],
)
def test_a_line_moves_to_where_it_was_dropped(
    frm: tuple[int, int], to: tuple[int, int], expected: list[list[str]]
) -> None:
    assert names(editing.move_line(START, *frm, *to)) == expected


@given(formulas(least=1), st.data())
def test_moving_loses_and_doubles_nothing(formula: Formula, data: st.DataObject) -> None:
    assume(formula.phases)
    phase, to_phase = (data.draw(st.integers(0, len(formula.phases) - 1)) for _ in "ab")
    line = data.draw(st.integers(0, len(formula.phases[phase].lines) - 1))
    to_line = data.draw(st.integers(-2, 6))
    after = editing.move_line(formula, phase, line, to_phase, to_line)
    assert Counter(x for *_, x, _ in after.each_line()) == Counter(x for *_, x, _ in formula.each_line())
    assert formula.phases[phase].lines[line] in after.phases[to_phase].lines
    assert [(p.name, p.kind) for p in after.phases] == [(p.name, p.kind) for p in formula.phases]


@pytest.mark.parametrize("phase", [-1, 2])
@pytest.mark.parametrize(
    "change",
    [
        lambda f, n: editing.set_line(f, n, 0, entry="1"),
        lambda f, n: editing.set_phase(f, n, name="x"),
        lambda f, n: editing.add_lines(f, n, 0, []),
        lambda f, n: editing.remove_line(f, n, 0),
        lambda f, n: editing.move_line(f, n, 0, 0, 0),
        lambda f, n: editing.move_line(f, 0, 0, n, 0),
        editing.remove_phase,
        lambda f, n: editing.move_phase(f, n, 0),
    ],
)
def test_a_phase_that_is_not_there(change: Callable[[Formula, int], Formula], phase: int) -> None:
    with pytest.raises(RangeError) as raised:
        change(START, phase)
    assert str(raised.value) == f"There is no phase number {phase + 1}; the formula has 2 here."


@pytest.mark.parametrize("line", [-1, 3])
@pytest.mark.parametrize(
    "change",
    [
        lambda f, n: editing.set_line(f, 0, n, entry="1"),
        lambda f, n: editing.remove_line(f, 0, n),
        lambda f, n: editing.move_line(f, 0, n, 1, 0),
    ],
)
def test_a_line_that_is_not_there(change: Callable[[Formula, int], Formula], line: int) -> None:
    with pytest.raises(RangeError) as raised:
        change(START, line)
    assert str(raised.value) == f"There is no line number {line + 1}; the formula has 3 here."


def test_a_material_takes_the_place_of_one_of_the_same_name() -> None:
    stronger = Stock("ACID STOCK", {"Citric Acid": 20, "Aqua": 80})
    other = Stock("Salt stock", {"Sodium Chloride": 10, "Aqua": 90})
    both = editing.with_material(editing.with_material(START, ACID), other)
    assert both.materials == (ACID, other)
    assert editing.with_material(both, stronger).materials == (other, stronger)


def test_versions_are_numbered_on_and_the_past_is_kept_oldest_first() -> None:
    first = editing.set_line(START, 0, 1, entry="3")
    second = keep_version(first, START, "less glycerin")
    assert (second.version, second.change_note, second.earlier) == (2, "less glycerin", (START,))
    third = keep_version(editing.set_line(second, 0, 1, entry="2"), second, "still less")
    assert third.version == 3
    assert [old.version for old in third.earlier] == [1, 2]
    assert all(old.earlier == () for old in third.earlier)
    assert [old.phases[0].lines[1].entry for old in (*third.earlier, third)] == ["4", "3", "2"]


def test_going_back_to_an_old_version_still_gets_a_new_number() -> None:
    late = Formula("Shake", version=2, earlier=(Formula("Shake", version=7),))
    assert keep_version(late, late).version == 8


def test_amounts_that_are_settled_carry_no_noise_of_computing() -> None:
    oil = (Line("Squalane", "55.1", "fill"), Line("Jojoba", "22.4"), Line("Tocopherol", "2.5"))
    water = (Line("Aqua", "q.s.", "fill"), Line("Citric Acid", "0.15"), Line("Urea", "1.5"))
    moved = Formula("T", (Phase("O", "oil", oil), Phase("W", "water", water)), ratio=Ratio(30.0))
    entries = [line.entry for *_, line, _ in editing.settled(moved).each_line()]
    assert entries == ["20.6625", "8.4", "0.9375", "q.s.", "0.525", "5.25"]
