"""The stacked bands: a few points a line, and yet exact at every ratio."""

from __future__ import annotations

from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.layers.ratio import Band, RatioPath, stacked_bands
from tests.layers.some_formulas import formulas

if TYPE_CHECKING:
    from kit.formula.model import Formula


def edges_at(band: Band, oil: float) -> tuple[float, float]:
    """Lower and upper edge, on the straight between the two points around this ratio."""
    for (left, low, high), (right, low_next, high_next) in pairwise(band.points):
        if left <= oil <= right:
            part = (oil - left) / (right - left)
            return low + part * (low_next - low), high + part * (high_next - high)
    raise AssertionError(oil)


@given(formulas(other=True, level_most=20), st.floats(0, 1))
def test_the_edges_are_the_cumulative_sums_at_every_ratio(formula: Formula, part: float) -> None:
    path = RatioPath.of(formula)
    oil = part * path.most
    bands = stacked_bands(path)
    sums = [0.0, *accumulate(max(percent, 0.0) for percent in path.percents(oil))]
    found = [edges_at(band, oil) for band in bands]
    assert [low for low, _ in found] == pytest.approx(sums[:-1], abs=1e-7)
    assert [high for _, high in found] == pytest.approx(sums[1:], abs=1e-7)


@given(formulas(other=True, level_most=20))
def test_the_bands_span_the_axis_with_few_points_and_leave_no_gap(formula: Formula) -> None:
    path = RatioPath.of(formula)
    bands = stacked_bands(path)
    lines = [(formula.phases[p].kind, line.material) for p, _, line, _ in formula.each_line()]
    assert [(band.kind, band.name) for band in bands] == lines
    for lower, upper in pairwise(bands):
        assert [(oil, high) for oil, _, high in lower.points] == [(oil, low) for oil, low, _ in upper.points]
    for band in bands:
        oils = [oil for oil, _, _ in band.points]
        assert (oils[0], oils[-1]) == (0, path.most)
        assert all(left < right for left, right in pairwise(oils))
        assert len(oils) <= 2 + sum(path.fills)
        assert all(high >= low for _, low, high in band.points)
