"""Readings as rows, by themselves: chains of corrections, values kept with their numbers, sizes of bottles."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from kit.errors import AmbiguousError, EntryError, FileFaultsError, RangeError
from kit.stability.exchange import COLUMNS, from_csv, to_csv
from kit.stability.old_notes.values import Sizes
from kit.stability.plan import Attribute, plans
from kit.stability.reading import Reading, read_kept, read_value
from kit.stability.study import Cell, Observation, Study, current, history

PLAN = plans()["home-twelve-weeks"]
STUDY = Study(1, "Hair oil, clear", PLAN, ("A", "B"), date(2026, 1, 12))
FIRST = Observation(1, 1, "A", "fridge", "start", "ph", "5.4", 5.4, date(2026, 1, 12))
SECOND = replace(FIRST, id=2, value="4.5", number=4.5, replaces=1, reason="typed wrong")
THIRD = replace(FIRST, id=4, value="4.6", number=4.6, replaces=2, reason="read again")
OTHER = replace(FIRST, id=3, batch="B")


def test_a_chain_of_corrections_is_the_same_from_each_of_its_readings() -> None:
    rows = [FIRST, SECOND, OTHER, THIRD]
    for one in (FIRST, SECOND, THIRD):
        assert history(rows, one.id) == [FIRST, SECOND, THIRD]
    assert history(rows, 3) == [OTHER]
    assert current(rows) == [OTHER, THIRD]
    assert from_csv(to_csv(STUDY, rows).encode(), "rows.csv", STUDY) == rows
    with pytest.raises(RangeError, match="a study needs at least one batch"):
        replace(STUDY, batches=())


def test_a_file_whose_corrections_do_not_fit_is_told_by_row() -> None:
    for rows, words in (
        ([FIRST, replace(OTHER, id=1)], "reading 1 is in the file twice"),
        ([FIRST, replace(OTHER, reason="why")], "reading 3 gives a reason but does not say which reading"),
        ([FIRST, replace(FIRST, id=2)], "reading 2 is of the same thing as reading 1"),
        ([FIRST, replace(SECOND, reason="")], "reading 2 replaces reading 1 without a reason"),
        ([FIRST, replace(SECOND, replaces=9)], "which is not an earlier row of the same thing"),
        ([FIRST, replace(SECOND, batch="B")], "which is not an earlier row of the same thing"),
        ([FIRST, replace(SECOND, replicate=2)], "which is not an earlier row of the same thing"),
        ([FIRST, SECOND, replace(THIRD, replaces=1)], "which another row has replaced already"),
        ([replace(FIRST, recorded_at="noon")], "recorded_at: 'noon' is not a moment"),
    ):
        with pytest.raises(FileFaultsError, match=f"row {len(rows) + 1}: .*{words}"):
            from_csv(to_csv(STUDY, rows).encode(), "rows.csv", STUDY)
    assert COLUMNS[0] == "reading"


def test_a_value_that_can_be_two_numbers_is_the_one_it_was_kept_with() -> None:
    mass = Attribute("mass", "Mass", "number", unit="g")
    with pytest.raises(AmbiguousError):
        read_value(mass, "1.250")
    assert read_value(mass, 1.25).number == 1.25  # a number of a program's, not a text of a person's
    assert [read_kept(mass, "1.250", number).number for number in (1.25, 1250.0)] == [1.25, 1250]
    assert read_kept(mass, "> 1.250", None) == Reading("> 1.250", None, None, 1.25, None)
    with pytest.raises(AmbiguousError):
        read_kept(mass, "1.250", 7.0)


def test_a_bottle_is_about_as_heavy_as_it_was() -> None:
    attribute = PLAN.attribute("mass")
    cell = Cell("A", "fridge", "1 week", "mass")
    kept = replace(FIRST, attribute="mass", value="110", number=110.0)
    open_end = replace(kept, value="> 90", number=None)  # says only on which side it lies: nothing to compare with
    for already, grams in (([kept], 22.0), ([kept], 550.0), ([open_end], 3.0), ([], 3.0)):
        Sizes(PLAN, already).check(cell, attribute, Reading(f"{grams:g}", grams))
    for grams in (21.9, 551.0):  # more than five times lighter or heavier
        with pytest.raises(EntryError, match="is far from the 110 g"):
            Sizes(PLAN, [kept]).check(cell, attribute, Reading(f"{grams:g}", grams))


def test_only_heights_weights_and_densities_are_held_against_what_the_bottle_had() -> None:
    cell = Cell("A", "fridge", "1 week", "mass")
    kept = replace(FIRST, attribute="mass", value="110", number=110.0)
    for attribute, number in (
        (PLAN.attribute("ph"), 3.0),
        (PLAN.attribute("mass"), 0.0),
        (PLAN.attribute("mass"), None),
    ):
        Sizes(PLAN, [kept]).check(cell, attribute, Reading("any", number))
    tall = Attribute("foam", "Foam", "number", unit="mm")
    Sizes(PLAN, []).check(cell, tall, Reading("300", 300.0))
    with pytest.raises(EntryError, match="301 mm is higher than the bottles of a study, at most 300 mm"):
        Sizes(PLAN, []).check(cell, tall, Reading("301", 301.0))
