"""The study in hand: what is offered to be read, and where it goes on."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from kit.errors import UnknownNameError
from kit.stability.in_hand import EVERY, StudyInHand
from kit.stability.log.store import StabilityLog
from kit.stability.plan import plans

if TYPE_CHECKING:
    from pathlib import Path

DAY = date(2026, 3, 9)


@pytest.fixture
def hand(tmp_path: Path) -> StudyInHand:
    log = StabilityLog.open(tmp_path / "log.db")
    log.start_study("Shake", plans()["home-twelve-weeks"], ["A", "B"], DAY)
    return StudyInHand(log, DAY).read(DAY)


def test_a_log_without_a_study_has_nothing_in_hand(tmp_path: Path) -> None:
    hand = StudyInHand(StabilityLog.open(tmp_path / "empty.db"), DAY).read(DAY)
    assert (hand.study, hand.label, hand.bottle, hand.bottles_in_hand) == (None, "", None, [])
    with pytest.raises(UnknownNameError, match="There is no study 3"):
        hand.read(DAY, 3)


def test_the_first_open_bottle_is_in_hand_and_then_the_next(hand: StudyInHand) -> None:
    assert (hand.label, hand.one_bottle) == ("start", ("A", "cupboard"))
    assert len(hand.bottles_in_hand) == 1
    assert len(replace(hand, bottle=EVERY).bottles_in_hand) == 8
    assert hand.study is not None
    for one in hand.unread(("A", "cupboard"), "start"):
        if not one.optional:
            value = "no" if one.kind == "yes/no" else "1"
            hand.log.record(hand.study.id, "A", "cupboard", "start", one.key, value, DAY)
    read = hand.read(DAY)
    assert read.is_read(("A", "cupboard"), "start")
    assert not hand.is_read(("A", "cupboard"), "start")  # the value itself stays as it was
    assert read.one_bottle == ("A", "cupboard")  # what is optional can still be added
    assert read.next_bottle().one_bottle != ("A", "cupboard")


def test_what_is_chosen_stays_where_it_can_still_be_read(hand: StudyInHand) -> None:
    chosen = replace(hand, label="1 week", bottle=("B", "fridge"), look_at="ph").settled()
    later = chosen.read(DAY + timedelta(days=1))
    assert (later.label, later.bottle, later.look_at) == ("1 week", ("B", "fridge"), "ph")
    assert [one.key for one in later.wanted(("B", "fridge"))] == ["ph"]
    lost = replace(hand, label="no such pull", bottle=("Z", "fridge"), look_at="taste").settled()
    assert (lost.label in lost.pulls, lost.bottle in lost.bottles, lost.look_at) == (True, True, EVERY)


def test_the_reading_before_and_the_one_at_the_start(hand: StudyInHand) -> None:
    assert hand.study is not None
    bottle, points = ("A", "fridge"), [point.label for point in hand.study.plan.time_points]
    assert hand.pulls["start"].endswith("8 of 8 bottles open")
    assert hand.pulls[points[1]].endswith("· to come")  # all in one state: the state itself
    assert (hand.likely_day, replace(hand, label="").likely_day) == (DAY, DAY)
    for label, value in zip(points[:2], ("5.4", "5.3"), strict=True):
        hand.log.record(hand.study.id, *bottle, label, "ph", value, DAY)
    again = hand.log.record(hand.study.id, *bottle, points[1], "ph", "5.2", DAY, replicate=2)
    read = hand.read(DAY)
    values = []
    for label in points[:3]:
        before = replace(read, label=label).earlier(bottle, "ph")
        values.append(tuple(one and one.value for one in before))
    # nothing before the start; the start alone; then the last first measurement, and the start
    assert values == [(None, None), ("5.4", "5.4"), ("5.3", "5.4")]
    assert [one.value for one in read.readings_of(bottle, points[1])] == ["5.3"]
    assert again.replicate == 2
    assert replace(read, label=points[2]).earlier(("B", "fridge"), "ph") == (None, None)


def test_a_pull_says_how_many_of_its_bottles_are_open_or_read(hand: StudyInHand) -> None:
    assert hand.study is not None
    week = hand.study.plan.time_points[1].label
    for label in ("start", week):
        for one in hand.study.plan.attributes:
            if not one.optional:
                value = "no" if one.kind == "yes/no" else "1"
                hand.log.record(hand.study.id, "A", "cupboard", label, one.key, value, DAY)
    hand.log.record(hand.study.id, "A", "fridge", "start", "ph", "5.4", DAY)
    read = hand.read(DAY)
    # of eight bottles one is read at either pull; at the start one more is begun and still open
    assert read.pulls["start"].endswith("· 7 of 8 bottles open")
    assert read.pulls[week].endswith("· 1 of 8 bottles read")
    assert read.pulls[hand.study.plan.time_points[2].label].endswith("· to come")
    assert [list(read.pulls).index(label) for label in ("start", week)] == [0, 1]


def test_a_study_of_one_bottle_is_told_in_the_same_words(tmp_path: Path) -> None:
    plan = plans()["home-twelve-weeks"]
    log = StabilityLog.open(tmp_path / "one.db")
    log.start_study("Only one", replace(plan, conditions=plan.conditions[:1]), ["A"], DAY)
    hand = StudyInHand(log, DAY).read(DAY)
    assert hand.pulls["start"] == f"start · {DAY} · 1 of 1 bottles open"
    assert hand.pulls[plan.time_points[1].label].endswith("· to come")
    assert list(hand.bottles) == [("A", plan.conditions[0].key)]  # one bottle is not "every bottle"


def test_the_key_of_a_row_leads_back_to_its_bottle_and_attribute(hand: StudyInHand) -> None:
    key = hand.key(("B", "window"), "mass")
    bottle, attribute = hand.row(key)
    assert (bottle, attribute.key) == (("B", "window"), "mass")
    assert key != replace(hand, measurement=2).key(("B", "window"), "mass")
    assert key != replace(hand, label="1 week").key(("B", "window"), "mass")
