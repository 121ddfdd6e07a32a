"""Reading one amount, and turning a column of them into % w/w."""

from __future__ import annotations

from functools import reduce
from operator import add

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kit.formula.amounts import SHARE_UNITS, read_amount, resolve_amounts
from kit.rounding import all_digits
from kit.units import registry
from tests.formula.made import ENTRIES

COLUMNS = st.lists(st.lists(ENTRIES, max_size=5), max_size=3)


@pytest.mark.parametrize(
    ("written", "percent"),
    [
        ("3.5", 3.5),
        ("3,5 %", 3.5),
        ("3.5%", 3.5),
        ("3.5 % w/w", 3.5),
        ("3.5 %W/W", 3.5),
        ("4 percent", 4),
        ("1\xa0200 ppm", 0.12),
        ("800ppm", 0.08),
        ("800 PPM", 0.08),
        ("800 mg/kg", 0.08),
        ("5 ‰", 0.5),
        ("5 g/kg", 0.5),
        ("5 mg/g", 0.5),
        ("20 ppb", 2e-6),
        ("0", 0),
        ("100 %", 100),
        ("2e-3", 0.002),
    ],
)
def test_percents_and_shares(written: str, percent: float) -> None:
    amount = read_amount(written)
    assert (amount.kind, amount.problem) == ("percent", "")
    assert amount.value == pytest.approx(percent, rel=1e-12)


@pytest.mark.parametrize(
    ("written", "grams"),
    [("12 g", 12), ("12,5 g", 12.5), ("0.5 kg", 500), ("250 mg", 0.25), ("1 250 g", 1250), ("1 oz", 28.349523125)],
)
def test_masses(written: str, grams: float) -> None:
    amount = read_amount(written)
    assert (amount.kind, amount.problem) == ("mass", "")
    assert amount.value == pytest.approx(grams, rel=1e-12)


@pytest.mark.parametrize(
    "written",
    [
        "q.s.",
        "qs",
        "QS",
        "Q.S.",
        "q. s.",
        "q.s. to 100",
        "q.s. ad 100 %",
        "qs 100%",
        "to 100",
        "ad 100 %",
        "rest",
        " q.s. ",
    ],
)
def test_all_ways_to_say_what_is_left(written: str) -> None:
    assert read_amount(written).kind == "rest"


@pytest.mark.parametrize("written", ["", "  ", "\t", "\xa0"])
def test_nothing_typed_is_no_fault(written: str) -> None:
    assert read_amount(written) == read_amount("")
    assert (read_amount(written).kind, read_amount(written).problem) == ("blank", "")


@pytest.mark.parametrize(
    "written", ["10 % w/v", "10% v/v", "10 w/v", "10 % (w/v)", "10 % m/v", "10 W/V %", "5 mL", "2 L"]
)
def test_what_is_by_volume_is_refused_with_the_way_out(written: str) -> None:
    amount = read_amount(written)
    assert (amount.kind, amount.value) == ("unreadable", 0)
    assert amount.problem == (
        f"{written!r} is by volume, and a formula is by mass. Type the % w/w, or make it a stock, "
        "which turns w/v and v/v into w/w through its density."
    )


@pytest.mark.parametrize("written", ["some", "three %", "5 m", "5 gr", "5 blub", "1,2,3 %", "%", "q.s. to 90", "1e999"])
def test_what_is_no_amount_is_answered_with_examples(written: str) -> None:
    amount = read_amount(written)
    assert (amount.kind, amount.value) == ("unreadable", 0)
    assert amount.problem == (
        f"{written!r} is not an amount. Type a percent (3.5), ppm (800 ppm), a mass (12 g), "
        "or q.s. for what is left to 100 %."
    )


def test_below_zero_and_above_the_whole_keep_their_value_and_get_a_sentence() -> None:
    far = read_amount("2000000000")  # beyond a thousand million percent no sum is worth its digits
    assert (far.kind, far.value) == ("unreadable", 0)
    assert far.problem == "'2000000000' is far more than the whole formula. Type 100 % or less."
    assert read_amount("1000000000").value == 1e9
    low, mass, high = read_amount("-2 %"), read_amount("−3 g"), read_amount("120")
    assert (low.kind, low.value, low.problem) == ("percent", -2, "-2 is below zero. An amount is 0 or more.")
    assert (mass.kind, mass.value, mass.problem) == ("mass", -3, "-3 is below zero. An amount is 0 or more.")
    assert (high.value, high.problem) == (120, "'120' is more than the whole formula. Type 100 % or less.")
    assert read_amount("2000 g").problem == ""
    assert resolve_amounts([["-2 %", "q.s."]]).percents == ((-2, 102),)


@given(st.text())
@example("5 g/0")
@example("5 '")
@example("0¼")
@example("5 Ⅳ")
@example("5 (((((")
@example("5 g^9^9^9^9")
@example("5 " + "g*" * 3000 + "g")
def test_nonsense_is_answered_never_raised(written: str) -> None:
    amount = read_amount(written)
    assert amount.kind in ("percent", "mass", "rest", "blank", "unreadable")
    assert bool(amount.problem) or amount.kind != "unreadable"


def test_any_unit_that_pint_knows_is_a_mass_or_refused() -> None:
    """pint's own names, odd ones such as decibels included."""
    kinds = {read_amount(f"5 {unit}").kind for unit in sorted(registry()._units)[::7]}
    assert kinds <= {"mass", "percent", "unreadable"}
    assert {"mass", "unreadable"} <= kinds


@given(st.floats(0, 100), st.sampled_from(sorted(SHARE_UNITS)))
def test_a_share_reads_back(percent: float, unit: str) -> None:
    typed = f"{all_digits(percent / SHARE_UNITS[unit])} {unit}"
    assert read_amount(typed).value == pytest.approx(percent, rel=1e-12, abs=1e-300)


def test_qs_takes_what_is_left() -> None:
    found = resolve_amounts([["q.s.", "4", "800 ppm"], ["15"]])
    assert found.percents[0][0] == pytest.approx(100 - 4 - 0.08 - 15, rel=1e-12)
    assert (found.rest_at, found.total, found.problems) == ((0, 0), 100, ())


def test_a_second_qs_has_no_amount_and_says_so() -> None:
    found = resolve_amounts([["4", "q.s."], ["q.s."]])
    assert found.percents == ((4, 96), (None,))
    assert found.rest_at == (0, 1)
    assert found.problems == (
        (1, 0, "Another line already says q.s.; only one can take what is left to 100 %. Type a percent here."),
    )


def test_qs_without_room_says_by_how_much() -> None:
    found = resolve_amounts([["q.s.", "60", "45"]])
    assert found.percents[0][0] == -5
    assert found.problems == (
        (0, 0, "The other lines already add to 105 %, which leaves nothing for q.s. Lower them."),
    )


def test_binary_dust_does_not_push_qs_below_nothing() -> None:
    """14.4 + 83.2 + 2.4 is more than 100 in the last binary digit."""
    entries = ["q.s.", "14.4", "83.2", "2.4"]
    assert reduce(add, map(float, entries[1:])) > 100  # sum() itself adds better from Python 3.12 on
    found = resolve_amounts([entries])
    assert (found.percents[0][0], found.problems) == (0, ())


def test_masses_alone_settle_the_batch_themselves() -> None:
    found = resolve_amounts([["180 g", "20 g"], ["50 g"]])
    assert found.percents == ((72, 8), (20,))
    assert (found.batch_mass, found.total, found.problems) == (250, 100, ())


def test_masses_beside_percents_follow_the_formula_in_the_docstring() -> None:
    """M = Σ masses ÷ (1 - Σ percents ÷ 100): 90 g beside 10 % are 100 g."""
    found = resolve_amounts([["60 g", "30 g", "10 %"]])
    assert found.batch_mass == pytest.approx(100, rel=1e-12)
    assert found.percents[0] == pytest.approx((60, 30, 10), rel=1e-12)


def test_masses_that_are_written_for_a_batch() -> None:
    found = resolve_amounts([["q.s.", "10 g"]], written_for=250)
    assert found.percents == ((96, 4),)
    assert found.batch_mass == 250
    short = resolve_amounts([["100 g"]], written_for=250)
    assert (short.percents, short.total) == (((40,),), 40)


def test_grams_beside_qs_need_the_batch_they_are_meant_for() -> None:
    found = resolve_amounts([["q.s.", "10 g", "4"]])
    assert found.percents == ((96, None, 4),)
    assert found.problems == (
        (
            0,
            1,
            (
                "Grams beside q.s. need the batch mass they are meant for. Fill in 'grams are written for', "
                "or type a percent."
            ),
        ),
    )


def test_percents_that_leave_no_room_for_grams() -> None:
    found = resolve_amounts([["100", "10 g"]])
    assert found.percents == ((100, None),)
    assert found.problems == ((0, 1, "The percents already add to 100 %, which leaves no room for lines in grams."),)


def test_no_grams_are_no_percent_and_grams_below_zero_are_not_made_whole() -> None:
    assert resolve_amounts([["100", "0 g"]]).percents == ((100, 0),)
    below = resolve_amounts([["-5 g", "-15 g"]])
    assert below.percents == ((None, None),)
    assert len(below.problems) == 2


def test_blank_and_unreadable_entries_have_no_percent() -> None:
    found = resolve_amounts([["", "some", "4"]])
    assert found.percents == ((None, None, 4),)
    assert [(p, i) for p, i, _ in found.problems] == [(0, 1)]
    assert found.total == 4


@given(COLUMNS, st.none() | st.floats(-10, 1e6))
def test_any_column_is_answered(entries: list[list[str]], written_for: float | None) -> None:
    found = resolve_amounts(entries, written_for)
    assert [len(phase) for phase in found.percents] == [len(phase) for phase in entries]
    known = [value for phase in found.percents for value in phase if value is not None]
    digits = 1e-12 * max([100.0, *map(abs, known)])  # what is left beside a huge entry has lost its last digits
    assert found.total == pytest.approx(sum(known), abs=digits)
    assert all(sentence for *_, sentence in found.problems)


@given(st.lists(st.floats(0.001, 1000), min_size=1, max_size=8), st.floats(0.01, 1000))
def test_the_scale_of_a_column_of_grams_does_not_matter(grams: list[float], scale: float) -> None:
    one = resolve_amounts([[f"{all_digits(mass)} g" for mass in grams]])
    other = resolve_amounts([[f"{all_digits(mass * scale)} g" for mass in grams]])
    assert one.percents[0] == pytest.approx(other.percents[0], rel=1e-9)
    assert one.total == pytest.approx(100, rel=1e-9)


def test_the_line_that_says_to_100_takes_what_is_left_wherever_it_stands() -> None:
    found = resolve_amounts([["q.s.", "4"], ["to 100", "q.s."]])
    assert found.percents == ((None, 4.0), (96.0, None))
    assert found.rest_at == (1, 0)
    assert [place[:2] for place in found.problems] == [(0, 0), (1, 1)]


@pytest.mark.parametrize(
    ("text", "what"),
    [("3-5 %", "a range"), ("1 to 2", "a range"), ("<1", "a bound"), ("ca. 3", "a bound"), ("trace", "no amount that")],
)
def test_what_is_no_single_amount_is_told_as_what_it_is(text: str, what: str) -> None:
    amount = read_amount(text)
    assert amount.kind == "unreadable"
    assert f"{text!r} is {what}" in amount.problem


@pytest.mark.parametrize(
    "text",
    ["q.s.", "QS 100", "qs to 100%", "q.s.p. 100", "c.s.p. 100", "q.b. a 100", "ad 100", "auf 100 %", "tot 100",
     "to 100.00 %", "balance", "Rest", "reste", "resto", "à 100", "hasta 100", "remainder"],
)  # fmt: skip
def test_every_way_to_say_what_is_left(text: str) -> None:
    assert read_amount(text).kind == "rest"
