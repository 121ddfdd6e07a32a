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
