"""A ready plan that a maker changes: what she adds is hers, what she leaves alone stays as it was."""

from __future__ import annotations

import pytest

from kit.errors import EntryError, RangeError
from kit.stability.plan import plans
from kit.stability.plan_draft import Days, Limits, OwnPlace, OwnThing, PlanDraft
from tests.boxes import check_box

READY = plans()["home-twelve-weeks"]
PLACES = [one.key for one in READY.conditions]
THINGS = [one.key for one in READY.attributes]
DAYS = [one.days for one in READY.time_points]


def test_an_unchanged_draft_is_the_ready_plan_itself() -> None:
    draft = PlanDraft.of(READY)
    assert draft.plan(PLACES, THINGS, DAYS) == READY
    same = draft.attributes[THINGS[0]]
    assert draft.with_limits(THINGS[0], Limits.of(same)) is draft


def test_what_is_added_stands_in_the_plan_as_the_makers_own() -> None:
    draft = PlanDraft.of(READY).with_place(OwnPlace("Bathroom shelf", 18.0, 29.0, "lamp"))
    for thing in (
        OwnThing("Foam height", "number", "mm"),
        OwnThing("Shine", "grade", "mm"),
        OwnThing("Dust", "yes/no"),
    ):
        draft = draft.with_thing(thing)
    place, things = list(draft.conditions)[-1], list(draft.attributes)[-3:]
    draft = draft.with_limits(things[0], Limits(lower=20.0, change_percent=10.0))
    plan = draft.plan([*PLACES, place], [*THINGS, *things], [0, 1, 7, 45, 100])
    assert (plan.key, plan.title) == (f"{READY.key}-changed", f"{READY.title} (changed)")
    assert plan.source == f"changed by the maker; before that: {READY.source}"
    assert (plan.conditions[-1].coldest, plan.conditions[-1].warmest, plan.conditions[-1].light) == (18, 29, "lamp")
    foam, shine, dust = plan.attributes[-3:]
    assert (foam.kind, foam.unit, foam.lower, foam.upper, foam.change_percent) == ("number", "mm", 20, None, 10)
    assert (shine.kind, shine.unit, len(shine.scale)) == ("grade", "", 5)  # grades 0 to 4, and no unit
    assert (dust.kind, dust.scale) == ("yes/no", ())
    known = {one.days: one for one in READY.time_points}
    # Grace is a tenth of the day and a week at most (common practice).
    made = {one.days: (one.label, one.grace) for one in plan.time_points if one.days not in known}
    expected = {1: ("1 day", 0), 7: ("1 week", 0), 45: ("45 days", 4), 100: ("100 days", 7)}
    assert made == {day: words for day, words in expected.items() if day not in known}
    again = PlanDraft.of(plan).plan([place], [things[0]], [0])
    assert (again.title, again.key) == (plan.title, plan.key)  # changed once more, it is not "(changed) (changed)"


def test_what_is_there_twice_or_left_out_is_refused() -> None:
    draft = PlanDraft.of(READY)
    with pytest.raises(EntryError, match="There is a place called 'Shelf' already"):
        draft.with_place(OwnPlace("Shelf", 10.0, 20.0)).with_place(OwnPlace("Shelf", 5.0, 6.0))
    with pytest.raises(EntryError, match="is among the things to look at already"):
        draft.with_thing(OwnThing(READY.attributes[0].label.upper()))
    # "Line between the layers" has the key layer_line, so only its label is the same; of "Leak!" only the key.
    for label in ("Line between the LAYERS", "Leak!"):
        with pytest.raises(EntryError, match=f"'{label}' is among the things to look at already"):
            draft.with_thing(OwnThing(label))
    with pytest.raises(RangeError):
        draft.plan([], THINGS, DAYS)
    assert Days().read("14; 0,7,7") == (0, 7, 14)
    for text, words in {"7, 14": "there is no 0", "0, x": "'x' is not a number of days", "0, 12345": "'12345'"}.items():
        with pytest.raises(EntryError, match=words):
            Days().read(text)


def test_what_may_be_said_of_a_place_and_of_days() -> None:
    for name in ("coldest", "warmest"):
        check_box(OwnPlace, name, "", ("-100", "100"), ("-100.1", "100.1"))
    check_box(OwnPlace, "light", "dark", ("lamp",), ("moonlight",))
    assert OwnPlace("Sill", -100.0, 100.0).condition().light == "dark"
    check_box(OwnThing, "kind", "a number", ("yes or no",), ("a smell",))
    assert OwnThing("Foam").attribute().kind == "number"
    assert Days().read("9999; 0") == (0, 9999)
    assert Days().read("7, 0, 7") == (0, 7)
    for wrong in ("0, 10000", "0, 7.5", "0, -7", "0,, 7", "", "7, 14", "0 7"):
        with pytest.raises(EntryError):
            Days().read(wrong)
