"""Days and whole months, by the calendar and without a date."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.iso_dates import days_in_months, months_after, whole_months
from kit.stability.plan import plans

DATES = st.dates(date(1999, 1, 1), date(2060, 12, 31))


@pytest.mark.parametrize(
    ("start", "months", "end"),
    [
        (date(2027, 1, 31), 1, date(2027, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2028, 2, 29), 48, date(2032, 2, 29)),
        (date(2027, 3, 31), 6, date(2027, 9, 30)),
        (date(2027, 12, 1), 1, date(2028, 1, 1)),
        (date(2027, 5, 17), 0, date(2027, 5, 17)),
    ],
)
def test_a_month_later_is_the_same_day_or_the_last_of_the_month(start: date, months: int, end: date) -> None:
    assert months_after(start, months) == end
    assert whole_months((end - start).days, start) == months
    if months:
        assert whole_months((end - start).days - 1, start) == months - 1


@given(DATES, st.integers(0, 240))
def test_months_are_those_of_a_general_calendar_library(start: date, months: int) -> None:
    end = start + relativedelta(months=months)
    assert months_after(start, months) == end
    assert whole_months((end - start).days, start) == months


@given(DATES, st.integers(0, 9000))
def test_a_month_counts_once_it_is_over(start: date, days: int) -> None:
    months, end = whole_months(days, start), start + timedelta(days=days)
    assert months_after(start, months) <= end < months_after(start, months + 1)
    assert abs(whole_months(days) - months) <= 1


@given(st.integers(0, 600))
def test_months_and_back_are_the_same_months(months: int) -> None:
    days = days_in_months(months)
    assert whole_months(days) == months
    assert whole_months(days + 0.9) == months
    assert days == 0 or whole_months(days - 1) == months - 1


def test_each_plan_means_by_its_months_what_is_counted() -> None:
    """The plans say "12 months" for day 365; what is read there is 12 months and not 11."""
    points = [point for plan in plans().values() for point in plan.time_points if point.label.endswith(" months")]
    assert len(points) >= 6
    for point in points:
        assert whole_months(point.days) == int(point.label.split()[0])


def test_no_days_below_zero_are_counted() -> None:
    with pytest.raises(RangeError, match=r"-1 days are not how long something keeps\. Give days from 0 on\."):
        whole_months(-1)
