"""Grades counted as steps in an order."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kit.errors import EntryError
from kit.stability.grades import GradeSummary, grade_summary, grade_trend
from tests.stability.test_series import LOOK, PLAN, STUDY, seen

if TYPE_CHECKING:
    from kit.stability.study import Study


def summary(*rows: tuple[str, str, int, int], study: Study = STUDY) -> GradeSummary:
    made = [
        seen(number, str(grade), day, "look", batch=batch, condition=condition)
        for number, (batch, condition, day, grade) in enumerate(rows, start=1)
    ]
    return grade_summary(study, made, "look")


def test_counts_shares_median_and_range() -> None:
    found = summary(("A", "room", 0, 0), ("B", "room", 0, 1), ("A", "room", 14, 1), ("B", "room", 15, 1))
    start, later = found.at
    assert (start.condition, start.time_point, start.counts, start.bottles) == ("room", "start", (1, 1, 0), 2)
    assert start.shares == (50.0, 50.0, 0.0)
    assert (start.median, start.median_words) == ((0, 1), "0 to 1")  # never 0.5
    assert (start.lowest, start.highest, start.beyond) == (0, 1, 0)
    assert (later.median_words, later.lowest, later.highest) == ("1", 1, 1)


def test_the_first_time_a_bottle_passed_its_limit() -> None:
    found = summary(("A", "room", 0, 0), ("A", "room", 16, 2), ("A", "room", 28, 1), ("B", "room", 0, 0))
    one, other = found.bottles
    assert (one.passed_on, one.passed_at, one.last_day) == (16, "2 weeks", 28)
    assert (other.passed_on, other.passed_at) == (None, "")
    assert found.sentence == (
        "Counted from 4 grades of 2 bottles: 1 passed the limit of Appearance, first on day 16 (batch A, room)."
    )
    assert found.at[1].beyond == 1


def test_an_allowed_change_of_a_grade_counts_too() -> None:
    strict = replace(LOOK, upper=None, change=0.5)
    study = replace(STUDY, plan=replace(PLAN, attributes=(strict,)))
    found = summary(("A", "room", 0, 1), ("A", "room", 14, 1), ("A", "room", 28, 2), study=study)
    assert found.bottles[0].passed_on == 28
    unlimited = replace(STUDY, plan=replace(PLAN, attributes=(replace(LOOK, upper=None),)))
    assert summary(("A", "room", 0, 1), study=unlimited).sentence == (
        "Counted from 1 grade of 1 bottle: Appearance has no limit grade."
    )


def test_nothing_passed_and_nothing_read() -> None:
    assert summary(("A", "room", 0, 0)).sentence.endswith("none has passed the limit of Appearance so far.")
    empty = summary()
    assert (empty.at, empty.bottles, empty.within) == ((), (), ())


def test_how_long_bottles_stayed_within_is_kaplan_and_meiers_estimate() -> None:
    batches = tuple("ABCDEF")
    study = replace(STUDY, batches=batches)
    last = {"A": (14, 2), "B": (20, 1), "C": (28, 2), "D": (28, 2), "E": (40, 1), "F": (40, 2)}
    rows = [(batch, "room", 0, 0) for batch in batches] + [(b, "room", *seen_at) for b, seen_at in last.items()]
    found = summary(*rows, study=study)
    judge = stats.ecdf(
        stats.CensoredData.right_censored([day for day, _ in last.values()], [grade < 2 for _, grade in last.values()])
    ).sf
    assert [(step.day, step.watched, step.passed) for step in found.within] == [(14, 6, 1), (28, 4, 2), (40, 2, 1)]
    for step in found.within:
        assert step.share == pytest.approx(100 * float(judge.evaluate(step.day)))


def test_conditions_are_counted_apart() -> None:
    found = summary(("A", "room", 14, 2), ("A", "warm", 14, 2), ("B", "warm", 14, 0))
    assert [(step.condition, step.share) for step in found.within] == [("room", 0.0), ("warm", 50.0)]


def test_only_grades_are_counted() -> None:
    with pytest.raises(EntryError, match="pH is no grade, so there are no grades to count"):
        grade_summary(STUDY, [], "ph")


DISTINCT = st.permutations(range(6))


@given(DISTINCT)
def test_without_ties_the_exact_p_is_scipys(grades: list[int]) -> None:
    days = list(range(6))
    found, judge = grade_trend(days, grades), stats.kendalltau(days, grades, method="exact")
    assert found.exact
    assert found.tau == pytest.approx(judge.statistic)
    assert found.p == pytest.approx(judge.pvalue)


@given(st.lists(st.integers(0, 4), min_size=4, max_size=14))
def test_tau_with_ties_is_scipys(grades: list[int]) -> None:
    found = grade_trend([7.0 * day for day in range(len(grades))], grades)
    if len(set(grades)) < 2:
        assert (found.tau, found.p) == (None, None)
        assert found.words == f"All {len(grades)} grades are the same: there is no trend to test."
        return
    judge = stats.kendalltau(range(len(grades)), grades, method="asymptotic")
    assert found.tau == pytest.approx(judge.statistic)
    if not found.exact:
        assert found.p == pytest.approx(judge.pvalue)
    assert found.p is not None
    assert 0 < found.p <= 1


def test_with_ties_the_exact_p_counts_every_order() -> None:
    """0 0 1 1 2 has 30 orders; no other climbs as far, and only its mirror falls as far."""
    found = grade_trend((0, 7, 14, 28, 56), (0, 0, 1, 1, 2))
    assert found.exact
    assert found.p == pytest.approx(2 / 30)
    assert math.isclose(found.tau or 0, 8 / math.sqrt(80))


def test_words_of_a_trend() -> None:
    assert grade_trend((0, 1), (0, 1)).words == "2 readings are too few to see a trend."
    assert "go down with time" in grade_trend((0, 1, 2, 3), (3, 2, 1, 0)).words
    assert "go neither up nor down" in grade_trend((0, 1, 2, 3), (0, 1, 1, 0)).words
    long = grade_trend(range(12), (0, 0, 0, 1, 0, 1, 1, 2, 1, 2, 2, 3))
    assert "approximate p = " in long.words
    assert long.words.endswith("12 readings).")
