"""Many products at once are far quicker than one by one with statsmodels, and give the same days."""

from __future__ import annotations

import time

import pytest

from tests.benchmarks.shelf_lives import products, with_arrays, with_statsmodels

#: Some eight times less than it is on a quiet machine, so that a busy one does not fail it.
AT_LEAST = 50


def test_a_thousand_products_take_a_fiftieth_of_the_time() -> None:
    days, values = products(1000)
    with_arrays(days, values)
    begin = time.perf_counter()
    found = with_arrays(days, values)
    together = time.perf_counter() - begin
    few = 20
    begin = time.perf_counter()
    judged = with_statsmodels(days[:few], values[:few])
    one_by_one = (time.perf_counter() - begin) * len(days) / few
    assert list(found.days[:few]) == pytest.approx(judged, rel=1e-9)
    assert one_by_one / together > AT_LEAST
