"""Where a bottle started."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.stability.demo import demo_observations, demo_study
from kit.stability.study import start_of

STUDY = demo_study()
FIRST = {row.attribute: row for row in reversed(demo_observations()) if row.time_point == "start"}


def twice(attribute: str, one: str, other: str) -> list[object]:
    row = FIRST[attribute]
    number = {"ph": float, "appearance": float}.get(attribute)
    made = [
        replace(row, id=id_, value=value, number=number(value) if number else None, replicate=replicate)
        for id_, (value, replicate) in enumerate([(other, 2), (one, 1)])
    ]
    return [*made, replace(made[0], id=9, time_point="1 week", value="3", number=3.0, replicate=1)]


@pytest.mark.parametrize(
    ("attribute", "one", "other", "value"),
    [
        ("ph", "5.0", "5.4", "5.2"),
        ("appearance", "0", "3", "0"),
        ("colour", "60 4 18", "62 4 18", "60 4 18"),
    ],
)
def test_only_numbers_have_a_mean(attribute: str, one: str, other: str, value: str) -> None:
    found = start_of(STUDY, twice(attribute, one, other))  # type: ignore[arg-type]
    assert found is not None
    assert found.value == value


def test_without_a_first_pull_there_is_no_start() -> None:
    assert start_of(STUDY, [replace(FIRST["ph"], time_point="1 week")]) is None
