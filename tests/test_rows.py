"""A test over many rows fails where one row fails, and names it."""

from __future__ import annotations

import inspect
from typing import TYPE_CHECKING

import pytest

from tests.rows import SHOWN, each_of

if TYPE_CHECKING:
    from pathlib import Path


def test_every_row_is_tried_and_every_fault_is_named() -> None:
    seen = []

    @each_of(("word", "number"), [("one", 1), ("two", 20), ("three", 30)], ids=lambda row: row[0])
    def check(word: str, number: int) -> None:
        seen.append(word)
        assert number < 10, f"{number} is large"

    with pytest.raises(AssertionError, match=r"(?s)2 of 3 rows:\ntwo: .*20 is large.*\nthree: .*30 is large"):
        check()
    assert seen == ["one", "two", "three"]


def test_a_check_of_nothing_fails_and_many_faults_are_counted() -> None:
    with pytest.raises(AssertionError, match="no row to check"):
        each_of("row", [])(lambda row: None)()

    def fails(row: int) -> None:
        raise ValueError(row)

    with pytest.raises(AssertionError, match=f"{SHOWN + 3} of .*(?s:.*)… and 3 more"):
        each_of("row", range(SHOWN + 3))(fails)()


@each_of("row", ["a", "b"])
def test_fixtures_come_through(row: str, tmp_path: Path) -> None:
    (tmp_path / row).touch()
    assert list(inspect.signature(test_fixtures_come_through).parameters) == ["tmp_path"]
