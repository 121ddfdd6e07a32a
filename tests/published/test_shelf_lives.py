"""Shelf lives, analyses of covariance and straight lines in print, with their source beside each.

Times are in months here: the calculation does not mind which unit it is given.
"""

from __future__ import annotations

import pytest

from kit.stability.regression import lines_through_origin, straight_lines
from kit.stability.shelf_life import shelf_life
from tests.stability.shelf_life_data import jmp, moisture, potency, related, simulated

# NIST Statistical Reference Datasets, linear regression, Norris (36 pairs) and its certified values
NORRIS_X = """0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0
228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5"""
NORRIS_Y = """0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7
228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2"""


@pytest.mark.parametrize(
    ("what", "certified"),
    [
        ("intercept", -0.262323073774029),
        ("intercept_error", 0.232818234301152),
        ("slope", 1.00211681802045),
        ("slope_error", 0.429796848199937e-03),
        ("s", 0.884796396144373),
        ("r_squared", 0.999993745883712),
        ("sse", 26.6173985294224),
        ("f", 5436385.54079785),
        ("df", 34),
    ],
)
def test_norris(what: str, certified: float) -> None:
    x, y = ([float(one) for one in text.split()] for text in (NORRIS_X, NORRIS_Y))
    assert float(getattr(straight_lines(x, y), what)) == pytest.approx(certified, rel=1e-11)


@pytest.mark.parametrize(
    ("what", "certified"),
    [  # NIST Statistical Reference Datasets, NoInt1: x 60 to 70, y 130 to 140, certified values
        ("slope", 2.07438016528926),
        ("slope_error", 0.165289256198347e-01),
        ("s", 3.56753034006338),
        ("r_squared", 0.999365492298663),
        ("sse", 127.272727272727),
        ("f", 15750.25),
        ("df", 10),
    ],
)
def test_no_intercept(what: str, certified: float) -> None:
    found = lines_through_origin(list(range(60, 71)), list(range(130, 141)))
    assert float(getattr(found, what)) == pytest.approx(certified, rel=1e-12)


def test_three_alike_batches_share_a_line() -> None:
    """LGA, batches 2, 5 and 7: one line for all; p-values recomputed with statsmodels."""
    found = shelf_life(potency("b2", "b5", "b7"), lower=95)
    assert found.model_key == "common line"
    assert found.pooling.slopes == pytest.approx(0.797, abs=0.0005)
    assert found.pooling.intercepts == pytest.approx(0.651, abs=0.0005)
    sloped = shelf_life(potency("b2", "b5", "b7"), lower=95, error="common slope")
    assert sloped.pooling.intercepts == pytest.approx(0.635, abs=0.0005)
    # The line itself: intercept printed in the documentation of expirest, the rest recomputed.
    assert found.fits[0].intercept == pytest.approx(100.5669, abs=5e-5)
    assert found.fits[0].slope == pytest.approx(-0.1930, abs=5e-5)
    assert found.fits[0].s == pytest.approx(0.789106, abs=5e-7)
    assert found.fits[0].df == 29


@pytest.mark.parametrize(
    ("model", "spread", "months"),
    [  # expirest 0.1.7, expected values of its own tests, one-sided 95 %; a search finds them to about 5e-6
        ("common line", "own", 25.9957631369),
        ("common slope", "own", 24.5668769601),
        ("separate lines", "pooled", 23.4703822657),
        ("separate lines", "own", 23.1480372703),
    ],
)
def test_where_each_model_meets_the_limit(model: str, spread: str, months: float) -> None:
    found = shelf_life(potency("b2", "b5", "b7"), lower=95, model=model, spread=spread)  # type: ignore[arg-type]
    assert found.crossing == pytest.approx(months, abs=1e-5)


@pytest.mark.parametrize(("spread", "printed", "exact"), [("own", 15.84487, 15.844878), ("pooled", 15.6061, 15.606131)])
def test_batches_that_age_differently(spread: str, printed: float, exact: float) -> None:
    """LGA, batches 4, 5 and 8, as worked in the README of expirest; more digits recomputed with statsmodels."""
    found = shelf_life(potency("b4", "b5", "b8"), lower=95, spread=spread)  # type: ignore[arg-type]
    assert found.model_key == "separate lines"
    assert found.pooling.slopes == pytest.approx(0.1704, abs=5e-5)
    assert found.governing == "b8"
    assert found.crossing == pytest.approx(printed, abs=5e-5)
    assert found.crossing == pytest.approx(exact, abs=1e-6)


@pytest.mark.parametrize(("spread", "months"), [("own", 15.8449), ("pooled", 15.6061)])
def test_a_rising_substance_meets_its_upper_limit(spread: str, months: float) -> None:
    """LGA, table XI, which is table VIII turned over, so that the months are the same; recomputed."""
    found = shelf_life(related(), upper=0.3, spread=spread)  # type: ignore[arg-type]
    assert found.model_key == "separate lines"
    assert found.pooling.slopes == pytest.approx(0.1704, abs=5e-5)
    assert found.governing == "b8"
    assert found.crossing == pytest.approx(months, abs=5e-5)


def test_readings_without_a_trend_cross_far_beyond_themselves() -> None:
    """LGA, table XIII, as worked in the README of expirest: the crossing is an extrapolation, and said to be one."""
    found = shelf_life(moisture(), upper=4.5, warm="no significant change")
    assert found.model_key == "common line"
    assert found.fits[0].intercept == pytest.approx(2.456782, abs=5e-7)
    assert found.crossing == pytest.approx(96.30552, abs=1e-5)
    assert found.days == 48
    said = " ".join(finding.sentence for finding in found.findings)
    assert "not met within the days that the readings support, 48: it is met on day 96 only" in said
    assert "No change was seen in the batch that ends first" in said


def test_a_common_slope_and_four_starts() -> None:
    """JMP documentation, Stability Analysis: slopes p = 0.8043, starts below 0.0001; 23.475 months is from memory."""
    found = shelf_life(jmp(), lower=95)
    assert found.model_key == "common slope"
    assert found.pooling.slopes == pytest.approx(0.8043, abs=5e-5)
    assert found.pooling.intercepts is not None
    assert found.pooling.intercepts < 0.0001
    assert found.governing == "b2"
    assert found.crossing == pytest.approx(23.475, abs=0.0005)


@pytest.mark.parametrize(("sided", "months"), [("one", 15.17), ("two", 14.80)])
def test_one_side_or_two(sided: str, months: float) -> None:
    """Data of the SAS/STAT User's Guide, MIXED, with a limit of 90 %; months recomputed, each batch its own scatter."""
    found = shelf_life(simulated(), lower=90, sided=sided)  # type: ignore[arg-type]
    assert sum(fit.readings for fit in found.fits) == 84
    assert (found.model_key, found.governing) == ("separate lines", "2")
    assert found.crossing == pytest.approx(months, abs=0.005)


@pytest.mark.parametrize(
    ("slopes", "starts", "model"),
    [  # ICH Q1E, appendix B, as told in the JMP documentation and the README of expirest: at 0.25, slopes first
        (0.2, 0.0, "separate lines"),
        (0.0, 0.2, "common slope"),
        (0.0, 0.0, "common line"),
    ],
)
def test_the_decision_table(slopes: float, starts: float, model: str) -> None:
    from kit.stability.series import Series

    bumps = (0.1, -0.1, 0.1, -0.1, 0.0)
    made = [
        Series(
            str(batch),
            tuple(range(5)),
            tuple(10 + starts * 5 * batch - (1 + slopes * batch) * day + bump for day, bump in enumerate(bumps)),
        )
        for batch in range(3)
    ]
    assert shelf_life(made, lower=0).model_key == model
