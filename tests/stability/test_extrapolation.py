"""How far beyond the last reading an estimate may reach."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from kit.errors import RangeError
from kit.iso_dates import days_in_months
from kit.stability.q1e import cap

if TYPE_CHECKING:
    from kit.stability.q1e import Storage, Warm


@pytest.mark.parametrize(
    ("observed", "warm", "storage", "months"),
    [  # ICH Q1E, decision tree with a statistical analysis; the factors are from memory
        (6, "no significant change", "room", 12),
        (12, "no significant change", "room", 24),
        (18, "no significant change", "room", 30),
        (6, "change when warm, none in between", "room", 9),
        (18, "change when warm, none in between", "room", 24),
        (12, "change in between too", "room", 12),
        (12, "not told", "room", 12),
        (6, "no significant change", "cold", 9),
        (24, "no significant change", "cold", 30),
        (24, "change when warm, none in between", "cold", 24),
        (0, "no significant change", "room", 0),
    ],
)
def test_the_reach(observed: int, warm: Warm, storage: Storage, months: int) -> None:
    found = cap(days_in_months(observed), warm=warm, storage=storage)
    assert found.days == pytest.approx(days_in_months(months), abs=0.5)
    assert found.source.startswith("ICH Q1E")


@pytest.mark.parametrize(
    ("observed", "warm", "words"),
    [
        (84, "no significant change", "the estimate may reach 2 times the days with readings: day 168."),
        (730.5, "no significant change", "may reach 12 months beyond the last reading, on day 730.5: day 1096."),
        (
            84,
            "change when warm, none in between",
            "a significant change when warm but none in between and kept at room",
        ),
        (84, "not told", "Nothing was told about warm storage, so the estimate ends with the last reading, on day 84."),
    ],
)
def test_the_reasons(observed: float, warm: str, words: str) -> None:
    assert words in cap(observed, warm=warm).reason  # type: ignore[arg-type]


def test_a_reading_before_the_start_is_refused() -> None:
    with pytest.raises(RangeError, match="The last reading is on day -3; it cannot be before the start"):
        cap(-3)
