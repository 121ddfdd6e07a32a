"""What rests on a description that says too little, dates, names of one substance, answers, and what was looked up."""

from __future__ import annotations

import time
from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING

import pytest

from kit.errors import EntryError, RangeError
from kit.formula.checks import check
from kit.formula.expansion import Materials
from kit.formula.looked_up import NOT_LOOKED_UP, looked_up
from kit.formula.model import Answer, Formula, Line, Phase
from kit.library.cas import is_cas
from kit.library.description import Description
from kit.library.ingredient import Ingredient, Stock
from kit.library.library import Library
from kit.library.limit import Limit, Limits
from kit.library.naming import names_for_rules, same_name
from kit.library.table import FIRST_DAY, limits
from tests.pace import on_this_machine

if TYPE_CHECKING:
    from kit.findings import Finding

LIBRARY = Library.bundled()
#: Invented limits of one entry: a half on the body, two elsewhere; and a ban for small children.
BODY = Limit("body", ("Urea",), "body lotion", 0.5, entry="entry 1", source="An invented law, entry 1")
ELSE = Limit("else", ("Urea",), "not body lotion", 2.0, entry="entry 1", source="An invented law, entry 1")
SMALL = Limit("small", ("Urea",), "under 3", 0.0, entry="entry 2", source="An invented law, entry 2")


def urea(percent: str, description: Description | None = None, name: str = "Urea", *own: Ingredient | Stock) -> Formula:
    lines = (Line("Aqua", "q.s."), Line(name, percent))
    return Formula("Trial", (Phase("Water", "water", lines),), description=description or Description(), materials=own)


def about(formula: Formula, *rules: Limit) -> list[Finding]:
    found = check(formula, Materials(LIBRARY, formula.materials), rules)
    return [one for one in found if "invented law" in one.source]


def test_what_the_description_leaves_open_is_asked_for_once() -> None:
    (found,) = about(urea("1"), BODY, ELSE)
    assert (found.severity, found.place.field) == ("caution", "description")
    assert found.sentence == (
        "The description of the product does not say what it is. On that rests whether this holds, which the formula "
        "would break: Urea at most 0.5 % (body lotion), entry 1. Say it in the description."
    )
    assert [one.severity for one in about(urea("1", Description(product_type="body lotion")), BODY, ELSE)] == ["stop"]
    assert about(urea("1", Description(product_type="toner")), BODY, ELSE) == []


def test_what_is_broken_whatever_it_is_stops() -> None:
    (found,) = about(urea("3"), BODY, ELSE)
    assert found.severity == "stop"
    assert "the limit (not body lotion) is 2 %" in found.sentence
    assert found.sentence.endswith("One limit of this entry or another is broken, whatever the product is.")


def test_one_question_for_each_thing_that_is_not_said() -> None:
    found = about(urea("1"), BODY, ELSE, SMALL)
    assert [one.matter for one in found] == ["tell: product_type", "tell: users"]
    told = Description(product_type="toner", users=("adults",))
    assert about(urea("1", told), BODY, ELSE, SMALL) == []
    (banned,) = about(urea("0.01", Description(users=("under 3",))), SMALL)
    assert banned.severity == "stop"


def test_an_own_ingredient_is_found_by_its_cas_number_and_by_its_other_names() -> None:
    for own in (
        Ingredient("Brightening powder", cas=("123-31-9",), own=True),
        Ingredient("Brightening powder", other_names=("p-hydroxyphenol",), own=True),
    ):
        formula = urea("1", Description(product_type="face cream"), "Brightening powder", own)
        found = [one for one in check(formula, Materials(LIBRARY, (own,)), limits()) if one.severity == "stop"]
        assert any("prohibited" in one.sentence and "Brightening powder" in one.sentence for one in found)


def test_a_cas_number_with_a_wrong_digit_is_refused_with_the_right_one() -> None:
    # Check digits as the Chemical Abstracts Service computes them: 7732-18-5 is water, 64-17-5 ethanol.
    assert is_cas("7732-18-5")
    assert is_cas("64-17-5")
    with pytest.raises(EntryError, match=r"'64-17-6' is not a CAS number: its last digit would have to be 5"):
        Ingredient("Spirit", cas=("64-17-6",))
    with pytest.raises(EntryError, match="It has three parts"):
        Ingredient("Spirit", cas=("64175",))


def test_names_of_one_substance_are_one_name_and_denatured_alcohol_counts_as_alcohol() -> None:
    assert same_name("Water") == same_name("7732-18-5") == same_name("aqua")
    assert same_name("Alcohol") in names_for_rules("SD Alcohol 40-B")
    limit = Limit("spirit", ("Alcohol",), "", 10.0, source="An invented law, entry 3")
    (found,) = about(urea("20", None, "Alcohol Denat."), limit)
    assert found.sentence.startswith("Alcohol Denat. comes to 20 %")


def test_a_limit_has_days_and_what_is_proposed_is_not_applied() -> None:
    early = Limit("early", ("Urea",), "", 3.0, source="An invented law, entry 4", until_day="2026-05-31")
    late = replace(early, key="late", max_percent=1.0, from_day="2026-06-01", until_day="")
    planned = replace(early, key="planned", max_percent=0.1, until_day="", pending=True)
    assert [one.key for one in (early, late, planned) if one.is_in_force("2026-05-31")] == ["early"]
    assert [one.key for one in (early, late, planned) if one.is_in_force("2026-06-01")] == ["late"]
    with pytest.raises(RangeError, match="its tables begin with"):
        limits("eu", "1999-01-01")
    with pytest.raises(RangeError, match="is not a day"):
        limits("eu", "soon")
    assert limits("eu", FIRST_DAY).day == FIRST_DAY


def test_an_answer_stays_with_its_caution_while_the_amount_changes() -> None:
    formula = urea("1")
    (asked,) = about(formula, BODY, ELSE)
    answered = replace(formula, answers=(Answer(asked.matter, "it goes to two kinds, see the folder", "2026-03-02"),))
    (found,) = about(answered, BODY, ELSE)
    assert found.answer == "it goes to two kinds, see the folder"
    (later,) = about(replace(urea("1.5"), answers=answered.answers), BODY, ELSE)
    assert later.answer
    (stop,) = about(replace(urea("3"), answers=(Answer("limit: urea", "no", ""),)), BODY, ELSE)
    assert (stop.severity, stop.answer) == ("stop", "")


@pytest.mark.parametrize(("because", "day"), [(" ", ""), ("seen", "yesterday")])
def test_an_answer_without_a_reason_or_with_no_day_is_refused(because: str, day: str) -> None:
    with pytest.raises(RangeError):
        Answer("trade: x", because, day)


def test_what_was_looked_up_is_said_and_what_nobody_knows() -> None:
    formula = urea("1", None, "Moon Dust")
    said = looked_up(formula, Materials(LIBRARY), limits("eu", "2026-11-01"))
    assert (said.place, said.day, said.unknown) == ("European Union", "2026-11-01", ("Moon Dust",))
    assert said.rules == len(limits("eu", "2026-11-01"))
    assert f"Compared with {said.rules} rules of the European Union" in said.sentence
    assert "1 of 2 materials is unknown to it: Moon Dust" in said.sentence
    assert said.sentence.endswith(NOT_LOOKED_UP)
    assert looked_up(urea("1"), Materials(LIBRARY), Limits()).unknown == ()


def test_a_part_of_a_blend_that_nobody_knows_is_unknown_too() -> None:
    blend = Ingredient("Mix", composition={"Aqua": 90.0, "Star Dust": 10.0}, own=True)
    formula = urea("1", None, "Mix", blend)
    assert looked_up(formula, Materials(LIBRARY, (blend,)), limits()).unknown == ("Star Dust",)


def test_what_comes_later_is_told_with_its_day_and_what_is_proposed_as_such() -> None:
    now = Limits()
    now.later = Limits([
        replace(SMALL, key="soon", holds_for="", from_day="2027-06-06"),
        replace(SMALL, key="planned", holds_for="", pending=True),
    ])  # fmt: skip
    found = [one for one in check(urea("1"), Materials(LIBRARY), now) if "invented law" in one.source]
    assert [one.severity for one in found] == ["note", "note"]
    assert found[0].sentence.startswith("From 2027-06-06 on: Urea is not permitted")
    assert found[1].sentence.startswith("Proposed, and not in force: Urea is not permitted")


def test_an_entry_that_only_asks_something_is_told_as_a_note() -> None:
    asks = Limit("asks", ("Urea",), "leave-on", 100.0, scope="kept in nitrite-free vessels", source="An invented law")
    (found,) = about(urea("1"), asks)
    assert (found.severity, found.sentence) == ("note", "Urea: kept in nitrite-free vessels. Local rules decide.")
    assert about(urea("1", Description("rinse-off")), asks) == []


def test_a_pump_spray_has_to_be_shown_to_make_coarse_drops() -> None:
    lungs = replace(SMALL, holds_for="breathed in")
    (found,) = about(urea("1", Description(applied="pump spray")), lungs)
    assert found.severity == "caution"
    assert found.sentence.startswith(
        "Whether a pump spray can be breathed in has to be shown, by the size of its drops."
    )


@pytest.mark.parametrize("seed", range(3))
def test_thirty_lines_are_checked_against_every_rule_in_two_milliseconds(seed: int) -> None:
    """The best of ten, in processor time, so that a busy machine does not count against it. [s]"""
    names = [one.inci for one in LIBRARY if not one.composition and one.inci != "Aqua"]
    lines = (Line("Aqua", "q.s."), *(Line(name, "1") for name in Random(seed).sample(names, 29)))
    phases = (Phase("Water", "water", lines[:20]), Phase("Oil", "oil", lines[20:]))
    formula = Formula("Thirty", phases, description=Description(product_type="body lotion", layering="emulsified"))
    materials, rules = Materials(LIBRARY), limits()

    def once() -> float:
        start = time.process_time()
        check(formula, materials, rules)
        return time.process_time() - start

    assert min(once() for _ in range(10)) < on_this_machine(0.002)


def test_a_blend_that_nobody_knows_is_met_by_the_rules_about_what_it_is_named_after() -> None:
    limit = replace(SMALL, holds_for="", max_percent=0.5)
    (found,) = about(urea("1", None, "Moon Wax (and) Urea"), limit)
    assert found.severity == "caution"
    assert found.sentence.startswith("Moon Wax (and) Urea comes to 1 %; the limit is 0.5 %.")
    assert "Nobody knows what Moon Wax (and) Urea holds of it, so the whole was counted" in found.sentence
    banned = check(urea("1", None, "Aqua (and) Hydroquinone"), Materials(LIBRARY), limits())
    assert any("Hydroquinone" in one.sentence and "Annex II" in one.source for one in banned)
