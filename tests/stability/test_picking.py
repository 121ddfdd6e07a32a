"""Readings picked out of many, and a clock that stands still."""

from __future__ import annotations

import pytest

from kit.errors import KitError
from kit.stability import always, day_of, demo_notes, demo_observations, in_brief, readings_of


def test_what_is_named_is_picked_in_its_order_and_nothing_is_lost() -> None:
    every = list(demo_observations())
    assert readings_of(every) == every
    parts = [readings_of(every, batch=batch) for batch in ("TL-01", "TL-02", "TL-03")]
    assert sum(map(len, parts)) == len(every)
    warm = readings_of(parts[2], condition="warm_box", attribute="ph")
    assert warm == [o for o in every if (o.batch, o.condition, o.attribute) == ("TL-03", "warm_box", "ph")]
    assert in_brief(warm).startswith("5.30 at start, 5.29 at 1 day, ")
    assert in_brief(readings_of(every, batch="none")) == ""


def test_a_clock_stands_still_and_a_text_that_is_no_day_is_told() -> None:
    assert always("2026-04-06")() == day_of("2026-04-06")
    with pytest.raises(KitError, match=r"'6.4.26' is no day. Write year, month and day, such as 2026-04-06."):
        always("6.4.26")


def test_the_old_notes_hold_what_old_notes_have_wrong() -> None:
    notes = demo_notes()
    assert notes.head == ("Lot", "Storage", "Date", "pH", "Lower layer [cm]", "Comments")
    assert "attic" in notes.column(1)
    assert "five" in notes.column(3)
