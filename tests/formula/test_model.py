"""What a formula knows of itself: its percents, its total, and whether it is ready."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError, RangeError
from kit.formula.checks import check
from kit.formula.editing import edited, set_line
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase, Rule, require_complete
from kit.formula.moved import Ratio
from tests.formula.made import LIBRARY, formulas, water_and

TWO = Formula(
    "Shake",
    (
        Phase("Water layer", "water", (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "4"))),
        Phase("Oil layer", "oil", (Line("Squalane", "15"),)),
    ),
)


def test_percents_totals_and_lines() -> None:
    assert TWO.percents == ((81, 4), (15,))
    assert (TWO.total, TWO.phase_total(0), TWO.phase_total(1)) == (100, 85, 15)
    assert [(p, i, line.material, x) for p, i, line, x in TWO.each_line()] == [
        (0, 0, "Aqua", 81),
        (0, 1, "Glycerin", 4),
        (1, 0, "Squalane", 15),
    ]
    assert TWO.is_complete


def test_a_formula_cannot_be_changed_in_place() -> None:
    with pytest.raises(FrozenInstanceError):
        TWO.title = "Other"  # type: ignore[misc]


@pytest.mark.parametrize(
    ("entries", "complete"),
    [
        (("q.s.", "4"), True),
        (("96", "4"), True),
        (("96", "4.0000005"), True),  # within the tolerance for totals, 1e-6
        (("96", "4.00001"), False),
        (("96", "3.99"), False),
        (("96", ""), False),
        (("96", "some"), False),
        (("q.s.", "104"), False),
        (("102", "-2"), False),
        (("q.s.", "q.s."), False),
    ],
)
def test_complete_means_every_line_counts_and_they_make_the_whole(entries: tuple[str, str], complete: bool) -> None:
    formula = Formula("T", (Phase("W", "water", (Line("Aqua", entries[0]), Line("Glycerin", entries[1]))),))
    assert formula.is_complete is complete


def test_nothing_is_not_complete() -> None:
    assert not Formula().is_complete
    assert not Formula(phases=(Phase("W"),)).is_complete


def test_blank_lines_do_not_count() -> None:
    assert Line("  ", " ").is_blank
    assert not Line("Aqua").is_blank
    assert not Line("", "3").is_blank
    formula = Formula("T", (Phase("W", "water", (Line(), Line("Aqua", "100"), Line())),))
    assert formula.is_complete
    assert formula.percents == ((0, 100, 0),)
    again = formula.with_percents(((0, 100, 0),)).phases[0].lines
    assert (again[0], again[2]) == (Line(), Line())


def test_what_is_ready_gives_its_percents() -> None:
    assert require_complete(TWO, "weighed") == ((81, 4), (15,))


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (
            ("Glycerin", ""),
            (
                "Toner cannot be weighed yet: Glycerin (line 2 of Water layer) has no amount that can be used. "
                "Mend it in the table."
            ),
        ),
        (("", "some"), "Toner cannot be weighed yet: a line without a name (line 2 of Water layer) has no amount"),
        (("Glycerin", "-1"), "Glycerin (line 2 of Water layer) has no amount that can be used"),
        (("Glycerin", "101"), "Aqua (line 1 of Water layer) has no amount that can be used"),
    ],
)
def test_what_is_not_ready_says_which_line(line: tuple[str, str], words: str) -> None:
    with pytest.raises(RangeError) as raised:
        require_complete(water_and(line), "weighed")
    assert words in str(raised.value)


def test_a_total_that_is_off_says_by_what_it_is_off() -> None:
    formula = Formula("Toner", (Phase("W", "water", (Line("Aqua", "96"), Line("Glycerin", "3"))),))
    with pytest.raises(RangeError) as raised:
        require_complete(formula, "printed")
    assert str(raised.value) == (
        "Toner cannot be printed yet: it adds to 99 %, not 100 %. Type q.s. for the solvent, or mend the amounts."
    )


@given(st.lists(st.floats(1e-6, 1), min_size=2, max_size=10), st.booleans(), st.integers(1, 9))
def test_new_percents_read_back_exactly(parts: list[float], has_rest: bool, cut: int) -> None:
    percents = [100 * part / sum(parts) for part in parts]
    cut = min(cut, len(percents) - 1)
    shape = (tuple(percents[:cut]), tuple(percents[cut:]))
    start = Formula(
        "T", tuple(Phase(f"P{n}", "water", tuple(Line("Aqua", "1") for _ in xs)) for n, xs in enumerate(shape))
    )
    if has_rest:
        first = start.phases[0]
        start = Formula("T", (Phase("P0", "water", (Line("Aqua", "q.s."), *first.lines[1:])), start.phases[1]))
    moved = start.with_percents(shape)
    for found, wanted in zip(moved.percents, shape, strict=True):
        assert found == pytest.approx(wanted, abs=1e-12)
    assert (moved.phases[0].lines[0].entry == "q.s.") is has_rest
    assert moved.is_complete


def test_percents_from_an_array_are_written_as_plain_numbers() -> None:
    import numpy as np

    moved = TWO.with_percents(tuple(tuple(np.array(xs)) for xs in ((80.5, 4.5), (15.0,))))
    assert [line.entry for _, _, line, _ in moved.each_line()] == [
        "q.s.",
        "4.5",
        "15",
    ]  # what is the same stays as typed
    assert moved.percents == ((80.5, 4.5), (15,))


@given(formulas())
def test_any_formula_can_be_asked(formula: Formula) -> None:
    values = [percent for *_, percent in formula.each_line() if percent is not None]
    assert formula.total == pytest.approx(sum(values), abs=1e-12 * max([100.0, *map(abs, values)]))
    if formula.is_complete:
        assert sum(map(sum, require_complete(formula, "weighed"))) == pytest.approx(100, abs=2e-6)
    else:
        with pytest.raises(RangeError, match="cannot be weighed yet"):
            require_complete(formula, "weighed")


def test_a_rule_needs_an_end_and_its_ends_in_order() -> None:
    with pytest.raises(RangeError) as neither:
        Rule("Parfum")
    assert str(neither.value) == "The rule for Parfum has neither a least nor a most. Give one of them in %."
    with pytest.raises(RangeError, match=r"The rule for Parfum asks for at least 2 % and at most 1 %\."):
        Rule("Parfum", 2, 1)
    assert Rule("Parfum", 1, 1).low == 1


def test_a_sign_that_no_text_has_is_refused() -> None:
    for made in (lambda: Line("Aq\0ua"), lambda: Line("Aqua", "1\0"), lambda: Line(note="\0"), lambda: Phase("W\0")):
        with pytest.raises(EntryError, match="holds the sign NUL, which no text has"):
            made()


def test_a_ratio_that_the_layers_cannot_follow_is_said_wherever_percents_are_needed() -> None:
    for oil, other, words in ((101, None, "not 101 % oil and 0 % other"), (20, -1, "not 20 % oil and -1 % other")):
        with pytest.raises(RangeError, match=words):
            Ratio(oil, other)
    level = Phase("Oil layer", "oil", (Line("Squalane", "15", "level"),))
    held = replace(TWO, phases=(TWO.phases[0], level), ratio=Ratio(30))
    words = "Every line of the oil layer keeps its % of the whole, so the layer cannot grow or shrink"
    with pytest.raises(RangeError, match=words):
        require_complete(held, "weighed in")
    (stop,) = (found for found in check(held, Materials(LIBRARY), []) if words in found.sentence)
    assert (stop.severity, stop.place.field) == ("stop", "total")
    # where nothing can move, what is typed counts again, and the ratio goes
    typed = edited(held, lambda formula: set_line(formula, 0, 1, entry="5"))
    assert (typed.ratio, typed.percents) == (None, ((80, 5), (15,)))
    # three layers of 30, 60 and 10 %: with 40 % of the third, oil and water share the other 60 %
    clay = (Line("Aqua", "60", "fill"), Line("Squalane", "30", "fill"), Line("Kaolin", "10", "fill"))
    three = Formula("Mask", tuple(Phase(k, k, (x,)) for k, x in zip(("water", "oil", "other"), clay, strict=True)))  # type: ignore[arg-type]
    assert replace(three, ratio=Ratio(45, 40)).percents == ((15,), (45,), (40,))
    assert (
        "The oil layer can be 0 to 60 % of this formula, not 61 %"
        in replace(three, ratio=Ratio(61, 40)).resolution.not_moved
    )
