"""Which rows of a maker's own table are totals and not lines."""

from __future__ import annotations

import pytest

from kit.formula.table_rows import PastedRow
from kit.formula.totals import heads_with_its_sum, is_total

ABOVE = [PastedRow("Aqua", "60", "A"), PastedRow("Urea", "10", "A"), PastedRow("Squalane", "20", "B"),
         PastedRow("Undecane", "5", "B")]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "entry", "total", "words"),
    [
        ("Total", "95", True, "is the total and was not taken"),  # 60 + 10 + 20 + 5
        ("Total", "25", True, "is the total and was not taken"),  # of the phase in hand: 20 + 5
        ("Total", "95.005", True, "is the total and was not taken"),  # rounded to a hundredth
        ("Total", "95.05", True, "but the lines above it add to 95 %"),
        ("Total", "100", True, "but the lines above it add to 95 %"),
        ("Total", "95 g", True, "but the lines above it add to 0 g"),
        ("Total", "", True, "is the total and was not taken"),
        ("Sum of the oils", "25", True, "is the sum of lines above"),
        ("Sum of the oils", "100", True, "is the sum of lines above"),
        ("Sum of the oils", "24", False, ""),
        ("Glycerin", "95", False, ""),  # a name that means no total is a line, whatever its amount
        ("", "95", True, "is the sum of the lines above"),
        ("", "100", True, "is the sum of the lines above"),
        ("", "94", False, ""),
    ],
)
def test_a_total_by_its_name_or_its_amount(name: str, entry: str, total: bool, words: str) -> None:
    is_it, said = is_total(PastedRow(name, entry, number=7), ABOVE, "B", last=True)
    assert is_it is total
    assert (words in said) if words else not said
    assert not said or said.startswith(f"row 7, {name} {entry}".replace("  ", " ").rstrip())


def test_only_the_last_amount_without_a_name_is_a_total() -> None:
    assert is_total(PastedRow("", "95"), ABOVE, "B", last=False) == (False, "")


def test_beside_a_rest_100_or_any_mass_is_the_total() -> None:
    lines = [PastedRow("Aqua", "q.s."), PastedRow("Urea", "10")]
    for entry, words in (("100", "is the total"), ("250 g", "is the total"), ("90", "the lines above it add to 10 %")):
        is_it, said = is_total(PastedRow("Total", entry), lines, "", last=True)
        assert is_it
        assert words in said
    assert is_total(PastedRow("Total", "100"), [], "", last=False)[0]
    assert is_total(PastedRow("Sum of the oils", "100"), [], "", last=False) == (False, "")


@pytest.mark.parametrize(
    ("amounts", "heads"),
    [(("20", "5"), True), (("25",), True), (("20", "4"), False), (("20 g", "25"), True), ((), False)],
)
def test_a_heading_with_the_sum_of_its_phase_beside_it(amounts: tuple[str, ...], heads: bool) -> None:
    below = [PastedRow("Squalane", amount) for amount in amounts]
    assert heads_with_its_sum(PastedRow("Oil phase", "25"), below) is heads
    assert not heads_with_its_sum(PastedRow("Oil phase", "25", "B"), below)  # a phase stands beside it already
    assert not heads_with_its_sum(PastedRow("Glycerin", "25"), below)
    # the lines of the next phase are not of this one
    apart = [*below[:1], PastedRow("Water phase", "5"), PastedRow("Aqua", "5")]
    assert heads_with_its_sum(PastedRow("Oil phase", "25"), apart) is (amounts == ("25",))
