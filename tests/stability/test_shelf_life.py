"""The estimate, its cap and its words; the numbers themselves are held in test_crossing and tests/published."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError, RangeError
from kit.stability.series import Series
from kit.stability.shelf_life import ShelfLife, shelf_life
from tests.stability.shelf_life_data import moisture, potency

if TYPE_CHECKING:
    from kit.stability.kinetics import Order

DAYS = (0.0, 14.0, 28.0, 42.0, 56.0, 70.0, 84.0)
BUMPS = (0.02, -0.03, 0.01, 0.02, -0.02, 0.01, -0.01)


def batch(name: str, start: float = 5.3, slope: float = -0.004, days: tuple[float, ...] = DAYS) -> Series:
    turned = BUMPS[ord(name) % 7 :] + BUMPS
    return Series(name, days, tuple(start + slope * day + bump for day, bump in zip(days, turned, strict=False)))


def said(found: ShelfLife) -> str:
    return " | ".join(str(finding) for finding in found.findings)


def test_the_sentence_tells_what_it_was_computed_from() -> None:
    found = shelf_life([batch("A"), batch("B"), batch("C")], lower=4.8, warm="no significant change")
    assert found.sentence.startswith(
        "Computed from 21 readings of 3 batches over 84 days: the one-sided 95 % confidence"
    )
    assert re.search(
        r"meets the lower limit 4\.8 on day 11\d\.\d, so they support 11\d days \(3 whole months\)\.", found.sentence
    )
    assert found.sentence.endswith(
        "It is an estimate of the mean, not of each bottle, and no proof; later readings must confirm it."
    )
    assert found.days == math.floor(found.crossing or 0)
    assert found.months == 3


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (
            {},
            "they support 84 days (2 whole months) and no more. Nothing was told about warm storage, so",
        ),
        ({"warm": "change in between too"}, "There was a significant change in warm storage, so the estimate ends"),
        ({"lower": None}, "no limit was given, so there is nothing to meet"),
        ({"lower": 5.31}, "lies beyond the lower limit 5.31 from the start, so the readings support no time at all"),
        (
            {"lower": None, "upper": 5.6},
            "never meets the upper limit 5.6; they support 84 days (2 whole months) and no more",
        ),
        (
            {"upper": 5.6, "sided": "two"},
            "the two-sided 95 % confidence limit of the mean meets the lower limit 4.8 or",
        ),
        ({"confidence": 0.9}, "the one-sided 90 % confidence limit"),
    ],
)
def test_other_sentences(asked: dict[str, object], words: str) -> None:
    found = shelf_life([batch("A"), batch("B")], **{"lower": 4.8, **asked})  # type: ignore[arg-type]
    assert words in found.sentence
    for word in ("safe", "guarantee", "preserved", "will last"):
        assert word not in found.sentence + said(found) + " ".join(step.words for step in found.steps)


def test_a_batch_that_governs_is_named() -> None:
    found = shelf_life([batch("A"), batch("B", 5.1), batch("C", 5.6)], lower=4.8)
    assert found.model_key == "common slope"
    assert found.governing == "B"
    assert "first in batch B on day" in found.sentence
    assert found.model.startswith("3 lines with a common slope, each with its own start (slopes: p = ")


def test_the_steps_come_in_order_each_with_a_source() -> None:
    found = shelf_life([batch("A"), batch("B")], lower=4.8)
    begin = [step.words.split(" ")[0].rstrip(":") for step in found.steps]
    assert begin == ["Taken", "Equal", "Model", "Confidence", "Nothing", "The", "The", "Day", "The", "The"]
    assert all(step.source for step in found.steps)
    assert "rounded down to a whole day: 84 days" in found.steps[5].words


def test_separate_lines_say_whose_scatter_they_use() -> None:
    series = [batch("A"), batch("B", 5.3, -0.008)]
    for spread, words in (("own", "each batch its own"), ("pooled", "one pooled over the batches")):
        found = shelf_life(series, lower=4.8, spread=spread)  # type: ignore[arg-type]
        assert any(
            f"Scatter about the separate lines: {words}. ICH Q1E leaves it open." == s.words for s in found.steps
        )
        assert found.pooling.spread == spread


def test_what_is_cautioned() -> None:
    found = shelf_life([batch("A", days=DAYS[:3])], lower=4.8)
    assert "caution: A batch was read on 3 days only, so its limits are wide." in said(found)
    assert "note: One batch says little about how batches differ; ICH asks for three." in said(found)
    assert "note: The readings end on day 28; ICH asks for twelve months" in said(found)
    assert "Two batches say little" in said(shelf_life([batch("A"), batch("B")], lower=4.8))
    three = said(shelf_life([batch("A"), batch("B"), batch("C")], lower=4.8))
    assert "say little" not in three
    assert "One line speaks for the batches together" in three
    severities = [finding.severity for finding in found.findings]
    assert severities == sorted(severities, key=["stop", "caution", "note"].index)


def test_too_few_readings_are_findings_not_errors() -> None:
    found = shelf_life([batch("A", days=DAYS[:2]), Series("B", (), ())], lower=4.8)
    assert (found.days, found.crossing, found.fits, found.cap) == (None, None, (), None)
    assert found.sentence.startswith("Nothing was computed. There are too few readings for a line: read each batch on")
    assert "stop: There are too few readings" in said(found)
    assert "Batch A has readings on 2 days; a line with its scatter needs 3 or more. It was left out." in said(found)
    assert found.band([0, 10]) == {}
    assert found.months is None
    assert shelf_life([], lower=4.8).days is None


def test_a_batch_with_too_few_readings_is_left_out() -> None:
    with_it = shelf_life([batch("A"), batch("B", days=DAYS[:2])], lower=4.8)
    alone = shelf_life([batch("A")], lower=4.8)
    assert with_it.crossing == alone.crossing
    assert [fit.batch for fit in with_it.fits] == ["A"]
    assert "Batch B has readings on 2 days" in said(with_it)


def test_the_batch_read_for_the_shortest_time_sets_the_reach() -> None:
    found = shelf_life([batch("A"), batch("B", days=DAYS[:5])], lower=4.8)
    assert found.cap is not None
    assert (found.days, found.cap.days) == (56, 56)
    assert "The readings end on day 56" in said(found)


@pytest.mark.parametrize("bad", [0.0, -0.2])
def test_logarithms_need_readings_above_zero(bad: float) -> None:
    series = [Series("A", (0, 7, 14, 21), (3.0, 2.0, 1.0, bad))]
    found = shelf_life(series, lower=0.5, order="first")
    assert found.days is None
    assert f"Batch A has a reading of {bad:g}: first order takes logarithms, which need readings above 0" in said(found)
    assert shelf_life(series, lower=0.5).days is not None


def test_first_order_is_zero_order_of_the_logarithms() -> None:
    values = (100.0, 88.0, 79.5, 70.1, 62.3)
    days = (0.0, 20.0, 40.0, 60.0, 80.0)
    first = shelf_life([Series("A", days, values)], lower=50, order="first")
    logs = shelf_life([Series("A", days, tuple(map(math.log, values)))], lower=math.log(50))
    assert first.crossing == pytest.approx(logs.crossing)
    band, in_logs = first.band([0, 40])["A"], logs.band([0, 40])["A"]
    assert band.mean == pytest.approx([math.exp(one) for one in in_logs.mean])
    assert band.lower == pytest.approx([math.exp(one) for one in in_logs.lower])
    assert "the natural logarithms of the readings" in first.steps[0].words


def test_the_band_meets_the_limit_where_the_crossing_is() -> None:
    found = shelf_life(potency("b4", "b5", "b8"), lower=95)
    for fit in found.fits:
        assert fit.crossing is not None
        band = found.band([fit.crossing])[fit.batch]
        assert band.lower[0] == pytest.approx(95)
        assert band.mean[0] == pytest.approx(fit.intercept + fit.slope * fit.crossing)
        assert band.upper[0] - band.mean[0] == pytest.approx(band.mean[0] - band.lower[0])
    assert found.crossing == min(fit.crossing or 0 for fit in found.fits)


@pytest.mark.parametrize(
    ("asked", "error", "words"),
    [
        ({"lower": 5, "upper": 5}, RangeError, "The lower limit 5 must be below the upper limit 5."),
        ({"confidence": 95}, RangeError, "The confidence is 95; it must lie between 0 and 1, such as 0.95."),
        (
            {"pooling_level": 0},
            RangeError,
            "The level of the pooling tests is 0; it must lie between 0 and 1, such as 0.25",
        ),
        ({"lower": 0, "order": "first"}, RangeError, "In first order a limit must be above 0, got 0"),
        ({"warm": "hot"}, RangeError, "'hot' is none of the choices: not told, no significant change"),
        ({"storage": "attic"}, RangeError, "'attic' is none of the choices: room, cold"),
        ({"lower": math.nan}, RangeError, "A limit is no number"),
        (
            {"lower": 4.8, "model": "a curve"},
            RangeError,
            "'a curve' is not a model. Choose one of: one batch, common line",
        ),
    ],
)
def test_nonsense_is_refused(asked: dict[str, object], error: type[Exception], words: str) -> None:
    with pytest.raises(error, match=re.escape(words)):
        shelf_life([batch("A")], **asked)  # type: ignore[arg-type]


def test_grades_and_batches_named_twice_are_refused() -> None:
    with pytest.raises(EntryError, match="Batch A has grades: their steps are not equal"):
        shelf_life([Series("A", DAYS, (0, 0, 1, 1, 1, 2, 2), "grade")], upper=2)
    with pytest.raises(EntryError, match="The batches A, A are not all different"):
        shelf_life([batch("A"), batch("A")], lower=4.8)


def test_readings_that_agree_to_the_last_digit_are_cautioned() -> None:
    found = shelf_life([Series("A", DAYS, (5.3,) * 7)], lower=4.8)
    assert found.crossing is None
    assert "perhaps rounding hides their scatter" in said(found)


@given(st.floats(0.1, 10), st.floats(-50, 50), st.sampled_from(["zero", "first"]))
def test_the_unit_of_the_readings_does_not_matter(factor: float, shift: float, order: Order) -> None:
    moved = 0.0 if order == "first" else shift
    series = potency("b2", "b5", "b7")
    turned = [Series(s.batch, s.days, tuple(factor * value + moved for value in s.values)) for s in series]
    one = shelf_life(series, lower=95, order=order)
    other = shelf_life(turned, lower=factor * 95 + moved, order=order)
    assert other.model_key == one.model_key
    assert other.crossing == pytest.approx(one.crossing, rel=1e-9)


@given(st.permutations(["b2", "b5", "b7", "b8"]))
def test_the_order_of_batches_does_not_matter(names: list[str]) -> None:
    assert shelf_life(potency(*names), lower=95).crossing == pytest.approx(
        shelf_life(potency("b2", "b5", "b7", "b8"), lower=95).crossing, rel=1e-12
    )


def test_turned_upside_down_the_limit_is_met_on_the_same_day() -> None:
    down = shelf_life(potency("b4", "b5", "b8"), lower=95)
    up = shelf_life(
        [Series(s.batch, s.days, tuple(-v for v in s.values)) for s in potency("b4", "b5", "b8")], upper=-95
    )
    assert up.crossing == pytest.approx(down.crossing, rel=1e-12)


def test_a_chosen_model_is_said_to_be_chosen() -> None:
    found = shelf_life(moisture(), upper=4.5, model="separate lines")
    assert found.model == "3 lines, each with its own slope and start, as chosen"
    assert found.pooling.slopes is not None
