"""The benchmark runs and prints every row with its bar; how fast it is, a person judges."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from kit.layers.ratio import RatioPath
from tests.benchmarks.run import PAPERS_BAR, every_paper, long_formula, timed

SCRIPT = Path(__file__).parent / "run.py"


@pytest.mark.slow
def test_it_prints_every_row() -> None:
    done = subprocess.run(
        [sys.executable, str(SCRIPT), "--rounds", "3", "--starts", "1"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    head, *rows = done.stdout.splitlines()
    assert head.split() == ["what", "median", "ms", "p95", "ms", "bar"]
    found = {re.split(r"  +", row)[0]: row for row in rows}
    assert list(found) == [
        "slider step, 20 lines",
        "slider step by the height that is seen, 30 lines",
        "weighing panel, one step, 20 lines",
        "uncertainty by propagation, 20 lines",
        "their random numbers alone, separate",
        "100 000 batches drawn, separate",
        "the one as a multiple of the other, separate (times 1)",
        "their random numbers alone, one vessel",
        "100 000 batches drawn, one vessel",
        "the one as a multiple of the other, one vessel (times 1)",
        "pH panel with its curve",
        "dilution panel",
        "a chain of premixes",
        "200 doses from 1,000 bottles, every drop size",
        "separation panel, one step of its time",
        "sweep of 5,000 ratios, lines and rules",
        "sweep of 5,000 ratios, lines and sums",
        "the bare product and sums on the same arrays",
        "the one as a multiple of the other (times 1)",
        "one ratio as a loop of quantities",
        "one as a frame",
        "ratios in the time of the loop (times 1)",
        "ratios in the time of the frame (times 1)",
        "1,000 shelf lives of three batches",
        "10 shelf lives by statsmodels",
        "shelf lives in the time of one by statsmodels (times 1)",
        "20 of 500 blends of five parts, D-optimal",
        "the triangle of a trial, drawn anew",
        "the best blend under two goals, 400 worlds",
        "check, 30 lines",
        "window, 30 lines",
        "weigh, 30 lines",
        "expand, 30 lines",
        "densities of all layers, 30 lines",
        "every paper, 30 lines",
        "python itself",
        "import kit",
        "import pandas",
        "import kit as a part of import pandas (times 1)",
        "demo opened and computed, cold",
    ]
    assert found["slider step, 20 lines"].endswith("p95 at most 15 ms")
    assert found["check, 30 lines"].endswith("median at most 2 ms")
    assert found["import kit as a part of import pandas (times 1)"].endswith("at most 0.25")
    assert all(float(number) > 0 for number in re.findall(r" (\d+\.\d\d) ", found["check, 30 lines"]))


def test_the_formulas_measured_are_as_long_as_they_say_and_move() -> None:
    for lines in (20, 30):
        formula = long_formula(lines)
        assert len(list(formula.each_line())) == lines
        assert RatioPath.of(formula).at(30).is_complete


def test_a_measurement_measures_every_round_and_none_else() -> None:
    seen: list[int] = []
    row = timed("counting", seen.append, 20)
    assert seen == list(range(21))
    assert 0 <= row.median <= row.p95


def test_every_paper_is_made_out_well_within_what_a_hand_waits_for() -> None:
    row = timed("every paper", every_paper, 3)
    assert every_paper(1) > 30_000
    assert row.median < 6 * PAPERS_BAR  # a wide margin: two busy cores make times meaningless
