"""What a batch really is, and the least that mends it, judged by linear programming."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from kit.bench.actual import actual, correction, partial_correction
from kit.bench.balance import Balance
from kit.bench.weighing import Batch, weigh
from kit.demos import demo
from kit.errors import RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.library.library import Library
from kit.library.table import limits

LIBRARY = Library.bundled()
NAMES = ["Aqua", "Glycerin", "Panthenol", "Urea", "Betaine", "Sodium PCA"]


def made_of(*parts: float, mass: str = "100 g") -> Batch:
    lines = tuple(Line(name, repr(100 * part / sum(parts))) for name, part in zip(NAMES, parts, strict=False))
    return weigh(Formula("Toner", (Phase("Water", "water", lines),)), mass)


@st.composite
def weighed_batches(draw: st.DrawFn) -> tuple[Batch, list[float]]:
    parts = draw(st.lists(st.floats(0.5, 100), min_size=2, max_size=6))
    batch = made_of(*parts)
    slips = draw(st.lists(st.floats(0.5, 1.6), min_size=len(parts), max_size=len(parts)))
    return batch, [one.target * slip for one, slip in zip(batch.weighings, slips, strict=True)]


def least_by_linear_programme(batch: Batch, weighed: list[float], tolerance: float) -> float:
    """The least addition such that every line ends within the tolerance: variables are the additions."""
    shares = np.array([one.percent for one in batch.weighings]) / 100
    shares = shares / shares.sum()
    held, count, t = np.array(weighed), len(weighed), tolerance / 100
    ones = np.ones((count, count))
    below = (1 - t) * shares[:, None] * ones - np.eye(count)
    above = np.eye(count) - (1 + t) * shares[:, None] * ones
    bounds = np.concatenate([held - (1 - t) * shares * held.sum(), (1 + t) * shares * held.sum() - held])
    solved = linprog(np.ones(count), A_ub=np.vstack([below, above]), b_ub=bounds, bounds=(0, None))
    assert solved.success
    return float(solved.fun)


@given(weighed_batches())
def test_the_percents_are_the_masses(made: tuple[Batch, list[float]]) -> None:
    batch, weighed = made
    real = actual(batch, weighed)
    assert real.mass == pytest.approx(sum(weighed))
    assert sum(line.percent for line in real.lines) == pytest.approx(100)
    assert real.formula.is_complete
    for line, mass in zip(real.lines, weighed, strict=True):
        assert line.percent * real.mass / 100 == pytest.approx(mass)
        assert line.off_grams == mass - line.planned
        assert line.off == pytest.approx(100 * (line.percent / line.percent_planned - 1), abs=1e-9)


@given(weighed_batches(), st.floats(0.1, 10))
def test_scaling_all_weighings_changes_no_percent(made: tuple[Batch, list[float]], by: float) -> None:
    batch, weighed = made
    one, other = actual(batch, weighed), actual(batch, [by * mass for mass in weighed])
    assert [line.percent for line in other.lines] == pytest.approx([line.percent for line in one.lines])


@given(weighed_batches())
def test_the_full_correction_brings_every_line_back_with_the_least(made: tuple[Batch, list[float]]) -> None:
    batch, weighed = made
    found = correction(batch, weighed)
    planned = [one.percent_planned for one in actual(batch, weighed).lines]
    assert found.percents == pytest.approx(planned)
    assert found.mass == pytest.approx(sum(weighed) + found.added)
    assert all(one.grams > 0 for one in found.additions)
    # At least one line needs nothing: were it not so, less would do.
    assert len(found.additions) < len(weighed)
    assert found.added == pytest.approx(least_by_linear_programme(batch, weighed, 0), abs=1e-5)


@given(weighed_batches(), st.floats(0.1, 30))
def test_the_partial_correction_is_the_least_that_a_linear_programme_finds(
    made: tuple[Batch, list[float]], tolerance: float
) -> None:
    batch, weighed = made
    found = partial_correction(batch, weighed, tolerance)
    assert found.added == pytest.approx(least_by_linear_programme(batch, weighed, tolerance), abs=1e-5)
    assert found.added <= correction(batch, weighed).added + 1e-9
    assert found.mass == pytest.approx(sum(weighed) + found.added)
    assert sum(found.percents) == pytest.approx(100)
    for line, percent in zip(actual(batch, weighed).lines, found.percents, strict=True):
        off = 100 * (percent / line.percent_planned - 1)
        assert abs(off) <= tolerance + 1e-6
        assert percent * found.mass / 100 >= line.weighed - 1e-9


@given(weighed_batches())
def test_adding_what_is_proposed_leaves_nothing_to_correct(made: tuple[Batch, list[float]]) -> None:
    batch, weighed = made
    found = correction(batch, weighed)
    more = {(one.phase, one.line): one.grams for one in found.additions}
    after = [mass + more.get((one.phase, one.line), 0.0) for one, mass in zip(batch.weighings, weighed, strict=True)]
    assert actual(batch, after).outside(1e-6) == []
    assert correction(batch, after).added == pytest.approx(0, abs=1e-9)


def test_a_batch_as_planned_needs_nothing() -> None:
    batch = made_of(96, 4)
    weighed = [one.target for one in batch.weighings]
    for found in (correction(batch, weighed), partial_correction(batch, weighed)):
        assert found.additions == ()
        assert found.sentence == "Nothing needs to be added."
    assert partial_correction(batch, [96.5, 4.0]).additions == ()  # half a percent off, and one is allowed


def test_by_hand() -> None:
    batch = made_of(96, 4)
    full = correction(batch, [96.0, 5.0])
    assert (full.added, full.mass) == pytest.approx((24, 125))
    # 5 g may be 4.4 % of the batch: 113.64 g, so 12.64 g more.
    assert partial_correction(batch, [96.0, 5.0], 10).added == pytest.approx(5 / 0.044 - 101)
    assert partial_correction(batch, [96.0, 5.0], 0).added == pytest.approx(24)
    # 3 g in place of 4 g: the water is right, Glycerin comes up to it.
    assert correction(batch, [96.0, 3.0]).sentence == "Add 1 g Glycerin: 1 g in all. The batch is then 100 g."


def test_what_is_still_to_come_counts_as_planned() -> None:
    real = actual(made_of(96, 4), [96.0, None])
    assert [line.is_weighed for line in real.lines] == [True, False]
    assert not real.is_finished
    assert real.lines[1].percent == pytest.approx(4)
    assert actual(made_of(96, 4), [96.0, 4.0]).is_finished


def test_the_checks_see_the_real_percents() -> None:
    batch = weigh(demo(), "250 g")
    materials = Materials.of(demo(), LIBRARY)
    weighed = [one.grams for one in batch.weighings]
    assert [f for f in actual(batch, weighed).check(materials, limits()) if f.severity != "note"] == []
    weighed[4] = 1.8  # Sodium Benzoate in place of 1.00 g
    found = actual(batch, weighed).check(materials, limits(), tolerance=5)
    assert [f.severity for f in found[:3]] == ["stop", "caution", "caution"]
    assert "Sodium Benzoate, counted as Benzoic Acid, comes to 0.608" in found[0].sentence
    off = next(f for f in found if f.source == "your own tolerance")
    assert "Sodium Benzoate is really 0.7177 %, 79.4 % above its 0.4 %; you allow 5 %." in off.sentence
    assert (off.place.phase, off.place.line) == (0, 4)
    weighed[4] = 0.5
    below = actual(batch, weighed).check(materials, limits(), tolerance=5)
    assert any("49.9 % below its 0.4 %" in f.sentence for f in below)


def test_the_table_shows_each_line() -> None:
    table = actual(made_of(96, 4), [96.0, 5.0]).table()
    assert list(table["really % w/w"].round(3)) == [95.05, 4.95]
    assert list(table["off g"].round(6)) == [0, 1]


def test_something_that_the_formula_does_not_hold() -> None:
    lines = (Line("Aqua", "100"), Line("Glycerin", "0"))
    batch = weigh(Formula("Water", (Phase("Water", "water", lines),)), "100 g")
    real = actual(batch, [100.0, 1.0])
    assert real.lines[1].off == float("inf")
    findings = real.check(Materials(LIBRARY), limits())
    assert any(f.sentence == "1 g of Glycerin went in, and the formula asks for none." for f in findings)
    for work in (correction, partial_correction):
        with pytest.raises(RangeError, match="no addition brings that back to 0 %"):
            work(batch, [100.0, 1.0])
    assert actual(batch, [100.0, 0.0]).lines[1].off == 0
    assert correction(batch, [100.0, 0.0]).additions == ()


@pytest.mark.parametrize(
    ("weighed", "words"),
    [
        ([1.0], "This batch has 2 weighings and 1 masses were given"),
        ([-1.0, 4.0], r"Aqua: a weighed mass of -1 g cannot be\. Give 0 g or more\."),
        ([96.0, float("nan")], "Glycerin: a weighed mass of nan g cannot be"),
        ([0.0, 0.0], "Nothing has been weighed into the vessel"),
    ],
)
def test_weighings_that_cannot_be(weighed: list[float], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        actual(made_of(96, 4), weighed)


@pytest.mark.parametrize("tolerance", [-1, 100])
def test_a_tolerance_is_a_part_of_the_whole(tolerance: float) -> None:
    with pytest.raises(RangeError, match=f"from 0 to less than 100 %, got {tolerance} %"):
        partial_correction(made_of(96, 4), [96.0, 4.0], tolerance)


def test_lines_still_to_weigh_are_one_finding() -> None:
    batch = weigh(demo(), "437.5 g", Balance(0.01, 600))
    much = batch.weighings[0].target + 25
    real = actual(batch, [much, batch.weighings[1].target, *(None for _ in batch.weighings[2:])])
    found = real.check(Materials.of(batch.formula, Library.bundled()), ())
    off = [f for f in found if f.source == "your own tolerance"]
    # 25 g too much of 437.5: every other percent falls to 437.5 / 462.5 of itself, 5.41 % below
    assert [f.matter for f in off].count("still to weigh") == 1
    assert len(off) == 3
    waiting = next(f for f in off if f.matter)
    assert waiting.sentence.startswith("9 lines are still to weigh. As planned, they would be up to 5.41 % below")
