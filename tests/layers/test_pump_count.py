"""Priming, doses in a bottle and how even they are."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.layers.pump_count import Strokes, count_doses
from kit.rounding import all_digits
from tests.boxes import check_box
from tests.rows import each_of

if TYPE_CHECKING:
    from collections.abc import Callable


@given(st.floats(20, 500), st.floats(0.1, 4), st.floats(0, 5), st.integers(1, 3), st.floats(0, 5))
def test_every_millilitre_is_dosed_or_stays(
    fill: float, stroke: float, dead: float, strokes: int, unreached: float
) -> None:
    pump = Strokes(stroke, dead=dead)
    if fill - unreached - dead < stroke * strokes:
        return
    found = count_doses(f"{all_digits(fill)} mL", pump, strokes=strokes, unreached=f"{all_digits(unreached)} mL")
    assert found.usual * stroke * strokes + found.left == pytest.approx(fill, rel=1e-9)
    assert dead + unreached - 1e-6 <= found.left < dead + unreached + stroke * strokes + 1e-6
    assert found.least == found.usual == found.most  # nothing was said of tolerance or scatter
    assert (found.priming - 1) * stroke < dead <= found.priming * stroke + 1e-6 or dead == found.priming == 0


def test_the_spread_is_that_of_drawn_pumps() -> None:
    """A Monte Carlo of 20,000 pumps (JCGM 101): means even within the tolerance, strokes normal around them."""
    pump = Strokes(0.9, tolerance=12, scatter=8)
    found = count_doses("60 mL", pump)
    rng = np.random.default_rng(3)
    means = 0.9 * (1 + 0.12 * rng.uniform(-1, 1, 20_000))
    counts = [int((np.cumsum(rng.normal(mean, 0.9 * 0.08, 140)) <= 60.0).sum()) for mean in means]
    inside = np.mean([found.least <= count <= found.most for count in counts])
    assert 0.93 < inside <= 1
    assert np.std(counts) == pytest.approx((found.most - found.least) / 4, rel=0.1)


@given(st.floats(0.1, 5), st.just(0.0) | st.floats(1e-9, 30), st.floats(0, 30), st.integers(1, 20))
def test_the_tolerance_of_a_pump_does_not_average_out(
    stroke: float, tolerance: float, scatter: float, strokes: int
) -> None:
    pump = Strokes(stroke, tolerance, scatter)
    one, off_one = pump.dose()
    many, off = pump.dose(strokes)
    assert many == pytest.approx(strokes * one)
    assert off <= strokes * off_one * (1 + 1e-9)
    assert off >= 2 * many * tolerance / 100 / math.sqrt(3) * (1 - 1e-9)


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: Strokes(0), r"One stroke must be more than 0 mL, got 0 mL\."),
        (lambda: Strokes(1, 100), "Tolerance and scatter of a stroke are 0 to less than 100 %"),
        (lambda: Strokes(1, dead=-1), "Tube and chamber cannot hold -1 mL"),
        (lambda: Strokes(1).dose(0), "A dose is one stroke or more, not 0"),
        (lambda: count_doses("0 mL", Strokes(1)), "Fill more than 0 mL"),
        (
            lambda: count_doses("3 mL", Strokes(2, dead=1.5)),
            r"Of 3 mL only 1\.5 mL can be drawn: less than one dose of 2 mL",
        ),
    ],
)
def test_what_cannot_be_is_said(work: Callable[[], object], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()


def test_the_answer_in_words() -> None:
    found = count_doses("100 mL", Strokes(1.0, tolerance=10, scatter=3, dead=1.5), unreached="2.5 mL")
    assert found.sentence == (
        "About 96 doses, from 84 to 107 after 2 strokes to prime the pump; 4 mL stay in bottle, tube and chamber."
    )


@each_of(
    ("name", "first", "takes", "refuses"),
    [
        ("tolerance", "0 ± %", ("0", "90"), ("-0.1", "90.1")),
        ("scatter", "0 %", ("0", "90"), ("-0.1", "90.1")),
        ("dead", "0 mL", ("0", "100"), ("-0.1", "100.1")),
    ],
)
def test_what_may_be_said_of_strokes(name: str, first: str, takes: tuple[str, ...], refuses: tuple[str, ...]) -> None:
    check_box(Strokes, name, first, takes, refuses)
    assert Strokes(0.1, 99.9, 99.9, 0.0).volume == 0.1
    for wrong in ({"tolerance": 100.0}, {"scatter": 100.0}, {"tolerance": -0.1}, {"scatter": -0.1}):
        with pytest.raises(RangeError, match="Tolerance and scatter of a stroke are 0 to less than 100 %"):
            Strokes(1.0, **wrong)


def test_a_dose_of_several_strokes_and_the_count_of_doses_by_hand() -> None:
    # JCGM 100:2008, 4.3.7: a tolerance of ± 12 % is 12 / √3 = 6.93 % for all strokes alike; 8 % of one stroke is 16 % /
    # √4 ... of four 8 × √4 = 16 % of one: 2 √((4 × 6.93 %)² + 16 %²) = 2 × 32.0 %
    dose, off = Strokes(0.5, tolerance=12, scatter=8).dose(4)
    assert (dose, off) == pytest.approx((2.0, 2 * 0.5 * math.hypot(4 * 0.12 / math.sqrt(3), 0.16)))
    # 30 mL less 4 and 1 are 25 doses of 2 strokes of 0.5 mL; ± 2 × 25 × √(6.93 %² + (8 % / √50)²) = 3.51
    found = count_doses("30 mL", Strokes(0.5, 12, 8, dead=1.0), strokes=2, unreached="4 mL")
    assert (found.usual, found.least, found.most, found.priming, found.left) == (25, 21, 28, 2, 5.0)
    assert count_doses("2 mL", Strokes(1.0), strokes=2).usual == 1  # just one dose is enough
    one = count_doses("10 mL", Strokes(1.0, dead=0.5))
    assert one.sentence == "About 9 doses after 1 stroke to prime the pump; 1 mL stay in bottle, tube and chamber."
    assert count_doses("10 mL", Strokes(1.0)).sentence == "About 10 doses; 0 mL stay in bottle, tube and chamber."
    with pytest.raises(RangeError, match="leave 0 mL or more below the tube"):
        count_doses("10 mL", Strokes(1.0), unreached="-1 mL")
