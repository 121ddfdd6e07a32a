"""Strengths: how they are read, turned into one another, and what is refused in which words."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.bench.conversion import convert, w_v_for_w_w_note
from kit.bench.strength import STRENGTH_UNITS, Strength, read_strength
from kit.errors import EntryError, KitError, RangeError

ALL: Any = {"density": 1.08, "active_density": 1.26, "molar_mass": 92.09, "equivalents": 3}


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("20 % w/w", 20, "% w/w"),
        ("20% (m/m)", 20, "% w/w"),
        ("20 w/w %", 20, "% w/w"),
        ("20 % by weight", 20, "% w/w"),
        ("20 % w/v", 20, "% w/v"),
        ("0,5 %w/v", 0.5, "% w/v"),
        ("70 % v/v", 70, "% v/v"),
        ("40 % vol", 40, "% v/v"),
        ("800 ppm", 800, "ppm"),
        ("1 250 PPM", 1250, "ppm"),
        ("5 mg/mL", 5, "mg/mL"),
        ("5 g/l", 5, "g/L"),
        ("5 mcg/mL", 5, "µg/mL"),
        ("3 g/100 mL", 3, "% w/v"),
        ("1 in 200", 0.5, "% w/w"),
        ("1:200", 0.5, "% w/w"),
        ("1:1 000 w/v", 0.1, "% w/v"),
        ("3 parts in 10", 30, "% w/w"),
        ("1 part in 4 (v/v)", 25, "% v/v"),
        ("1 + 9", 10, "% w/w"),
        ("0.1 mol/L", 0.1, "mol/L"),
        ("0,1 M", 0.1, "mol/L"),
        ("10 mM", 10, "mmol/L"),
        ("0.1 N", 0.1, "N"),
        ("2e-3 % w/w", 0.002, "% w/w"),
    ],
)
def test_strengths_are_read_as_people_write_them(text: str, value: float, unit: str) -> None:
    found = read_strength(text)
    assert found.value == pytest.approx(value)
    assert found.unit == unit


def test_every_unit_reads_back() -> None:
    for unit in STRENGTH_UNITS:
        assert read_strength(str(Strength(0.5, unit))) == Strength(
            0.5, unit, meaning=read_strength(f"0.5 {unit}").meaning
        )


@pytest.mark.parametrize(
    ("unit", "base"),
    [
        # grams in 100 g: a kilogram is ten times 100 g
        ("g/kg", 1 / 10),
        ("mg/g", 100 / 1000),
        ("ppm", 100 / 1e6),
        ("mg/kg", 0.001 / 10),
        ("ppb", 100 / 1e9),
        # grams in 100 mL: a litre is ten times 100 mL
        ("g/L", 1 / 10),
        ("mg/mL", 0.001 * 100),
        ("mg/L", 0.001 / 10),
        ("µg/mL", 1e-6 * 100),
        ("g/mL", 100),
        # millilitres in 100 mL
        ("mL/L", 1 / 10),
        ("mmol/L", 0.001),
        *((unit, 1) for unit in ("% w/w", "% w/v", "% v/v", "mol/L", "N")),
    ],
)
def test_one_of_each_unit_counts_as_its_name_says(unit: str, base: float) -> None:
    assert Strength(1, unit).base == pytest.approx(base, rel=1e-12)


@pytest.mark.parametrize("text", ["0.1 N, 3 equivalents", "0.1 N (3 eq)", "0,1 N; 3 eq."])
def test_the_number_of_equivalents_may_stand_behind(text: str) -> None:
    assert read_strength(text).equivalents == 3
    assert str(read_strength(text)) == "0.1 N (3 equivalents)"
    assert read_strength("0.1 N", equivalents=3) == read_strength(text)


def test_which_meaning_was_taken_is_said() -> None:
    colon = read_strength("1:200").meaning
    assert "1:200 is taken as 1 in 200 parts of the whole, by mass: 0.5 % w/w." in colon
    assert "It is not 1 part and 200 parts, 0.4975 %, which is written 1 + 200." in colon
    assert "In pharmacy a solid in a liquid would be w/v" in colon
    assert "In pharmacy" not in read_strength("1:200 w/v").meaning
    assert "It is not" not in read_strength("1 in 200").meaning
    assert "20 % is taken by mass, w/w, as formulas are." in read_strength("20 %").meaning
    assert read_strength("800 ppm").meaning == "ppm is taken as mg/kg, by mass."
    assert read_strength("20 % w/w").meaning == ""


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("-3 % w/w", r"The strength comes to -3 % w/w; nothing can be weaker than 0\. Look at the sign\."),
        ("−2 g/L", r"The strength comes to -2 g/L; nothing can be weaker"),
        ("120 % w/w", r"comes to 120 % w/w; it must be from 0 to 100 %\. Look at the number and its basis\."),
        ("101 % v/v", r"comes to 101 % v/v; it must be from 0 to 100 %"),
        ("1500 g/kg", r"comes to 150 % w/w; it must be from 0 to 100 %"),
        ("600 % w/v", r"comes to 600 % w/v; nothing of this trade is heavier than 5 g/mL"),
        ("2 in 1", r"'2 in 1' asks for 2 parts in a whole of 1\. The part must be the smaller number\."),
        ("1 in 0", r"a whole of 0\. The part must"),
        ("0.1 N, 0 eq", r"the number of equivalents must be 1 or more, such as 3 for citric acid"),
    ],
)
def test_impossible_strengths(text: str, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        read_strength(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("7", r"'7' has no unit\. Write \"7 % w/w\", \"7 g/L\" or another"),
        ("1 to 9", r"'1 to 9' can mean two things\. Write \"1 in 9\" .* or \"1 \+ 9\""),
        ("strong", r"'strong' is not a strength\. Write it like 20 % w/w"),
        ("", "'' is not a strength"),
        ("5 spoons", "'5 spoons' is not a strength"),
        ("0.1 m", "'0.1 m' is not a strength"),
        ("1.2.3 % w/w", r"'1\.2\.3' is not a number"),
    ],
)
def test_what_cannot_be_read(text: str, words: str) -> None:
    with pytest.raises(EntryError, match=words):
        read_strength(text)


@given(st.text(max_size=30))
def test_no_text_makes_it_stumble(text: str) -> None:
    with suppress(KitError):
        assert read_strength(text).value >= 0


def test_a_unit_nobody_knows() -> None:
    with pytest.raises(EntryError, match=r"The unit 'oz/cup' of a strength is not known\. Write one of % w/w"):
        Strength(1, "oz/cup")


@given(st.sampled_from(sorted(STRENGTH_UNITS)), st.sampled_from(sorted(STRENGTH_UNITS)), st.floats(1e-6, 1))
def test_there_and_back_is_the_same(one: str, other: str, part: float) -> None:
    # 60 % w/w of the table's figures is possible on every basis.
    most = convert(Strength(60), one, **ALL).value
    start = Strength(part * most, one)
    back = convert(convert(start, other, **ALL), one, **ALL)
    assert back.value == pytest.approx(start.value, rel=1e-9)
    assert back.unit == one


@given(st.floats(0.7, 2.0))
def test_a_pure_liquid_is_a_hundred_percent_on_each_basis(density: float) -> None:
    same: Any = {"density": density, "active_density": density}
    assert convert(Strength(100), "% v/v", **same).value == pytest.approx(100, rel=1e-12)
    assert convert(convert(Strength(100), "% w/v", **same), "% w/w", **same).value == pytest.approx(100, rel=1e-12)


@given(st.floats(0, 100), st.floats(0.5, 3))
def test_twice_as_dense_is_twice_the_grams_in_a_volume(percent: float, density: float) -> None:
    assume(percent * density <= 400)
    found = convert(Strength(percent), "g/L", density=density).value
    assert found == pytest.approx(10 * percent * density)


@pytest.mark.parametrize(
    ("start", "to", "figures", "words"),
    [
        (
            "20 % w/w",
            "% w/v",
            {},
            r"20 % w/w needs the density of the solution in g/mL to become % w/v\. Weigh 100 mL of it\.",
        ),
        (
            "20 % w/v",
            "% v/v",
            {},
            r"needs the density of the pure active in g/mL to become % v/v\. It stands on the data sheet\.",
        ),
        ("20 % w/w", "% v/v", {}, "the density of the solution in g/mL and the density of the pure active in g/mL"),
        ("0.1 M", "g/L", {}, r"0\.1 mol/L needs the molar mass in g/mol to become g/L\. Mind the water of a hydrate\."),
        ("0.1 N", "M", {}, r"0\.1 N needs the number of equivalents in a mole to become mol/L\."),
        (
            "0.1 N",
            "ppm",
            {},
            "density of the solution in g/mL, the molar mass in g/mol and the number of equivalents in a mole to",
        ),
        ("5 % w/w", "g/L", {"density": -1}, r"the density of the solution in g/mL to become g/L, above 0; got -1\."),
        ("90 % w/v", "% w/w", {"density": 0.8}, r"The strength comes to 112\.5 % w/w; it must be"),
        (
            "12 M",
            "% w/v",
            {"density": 1.1, "molar_mass": 192.12},
            r"would be 230\.5 g in 100 mL, but 100 mL of a solution of 1\.1 g/mL weigh only 110 g\.",
        ),
        (
            "90 % w/w",
            "% v/v",
            {"density": 1.2, "active_density": 0.9},
            r"comes to 120 % v/v; it must be from 0 to 100 %",
        ),
    ],
)
def test_what_a_conversion_needs_and_what_it_refuses(start: str, to: str, figures: dict[str, Any], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        convert(start, to, **figures)


def test_within_one_family_nothing_is_needed() -> None:
    assert convert("0.5 % w/w", "ppm").value == pytest.approx(5000)
    assert convert("5 mg/mL", "% w/v").value == pytest.approx(0.5)
    assert convert("0.3 N, 3 eq", "M").value == pytest.approx(0.1)


def test_the_target_may_be_written_freely_too() -> None:
    assert convert("1 % m/v", "g/l").unit == "g/L"
    with pytest.raises(EntryError, match="is not a strength"):
        convert("1 % w/w", "cups")


def test_how_far_w_v_and_w_w_are_apart() -> None:
    note = w_v_for_w_w_note("20 % w/v", density=1.08)
    assert note.severity == "caution"
    assert note.sentence == (
        "20 % w/v is 18.52 % w/w here: at 1.08 g/mL the two differ by 8 %. Read as 20 % w/w, it would be 8 % too high."
    )
    assert note.source.startswith("USP General Notices")
    low = w_v_for_w_w_note("20 % w/w", density=1.08).sentence
    assert low.endswith("Read as 20 % w/v, it would be 7.41 % too low.")
    near = w_v_for_w_w_note("20 % w/v", density=1.005)
    assert near.severity == "note"
    assert near.sentence.endswith("Read as 20 % w/w, it would be 0.5 % too high.")
    assert "the two bases are the same" in w_v_for_w_w_note("1 % w/v", density=1.0).sentence
    assert "cannot be said: 20 % w/v needs the density" in w_v_for_w_w_note("20 % w/v").sentence
