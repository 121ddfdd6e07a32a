"""Tables of notes as people write them, in English, German and French, and what each holds for a study."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest

from kit.stability.old_notes.cells import read_day
from kit.stability.old_notes.columns import guess_mapping, unit_of_column
from kit.stability.old_notes.headings import WORDS, counted_pull, heading_key
from kit.stability.old_notes.readings import preview
from kit.stability.old_notes.table import read_table
from kit.stability.plan import every_attribute, plans
from kit.stability.reading import read_value
from kit.stability.study import Study

FOLDER = Path(__file__).parent / "old_notes"
EXPECTED = tomllib.loads((FOLDER / "expected.toml").read_text(encoding="utf-8"))
MIST = Study(7, "Face mist", plans()["home-twelve-weeks"], ("M1", "M2"), date(2026, 2, 2))
TODAY = date(2026, 5, 1)


def test_every_table_has_what_is_expected_of_it() -> None:
    assert {path.stem for path in FOLDER.glob("*.csv")} == set(EXPECTED)
    assert len(EXPECTED) >= 20


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_notes_are_read_as_they_were_meant(name: str) -> None:
    wanted = EXPECTED[name]
    table = read_table((FOLDER / f"{name}.csv").read_bytes(), f"{name}.csv")
    found = preview(table, MIST, guess_mapping(table, MIST), TODAY)
    said = []
    for one in found.readings:
        reading = read_value(MIST.plan.attribute(one.attribute), one.value)
        value = one.value if reading.number is None else f"{reading.number:.5g}"
        said.append(f"{one.batch}|{one.condition}|{one.time_point}|{one.attribute}|{value}|{one.observed_on}")
    assert sorted(said) == sorted(wanted.get("readings", []))
    refused = [tuple(one.split("|")) for one in wanted.get("refused", [])]
    assert [(str(one.line), one.column) for one in found.refused] == [one[:2] for one in refused]
    assert all(words in one.reason for one, (*_, words) in zip(found.refused, refused, strict=True))
    assert len(found.asks) == len(wanted.get("asks", []))
    assert all(words in ask for words, ask in zip(wanted.get("asks", []), found.asks, strict=True))
    if "told" in wanted:
        assert len(found.told) == len(wanted["told"])
        assert all(words in told for words, told in zip(wanted["told"], found.told, strict=True))


def test_no_two_fields_are_known_by_one_word() -> None:
    known = [word for words in WORDS.values() for word in words]
    assert sorted(set(known)) == sorted(known)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Gemessener pH-Wert", "pH measured"),
        ("Height lower cm", "Lower height [mm]"),
        ("Jar no.", "Which jar no."),
    ],
)
def test_the_order_of_words_and_what_surrounds_them_do_not_matter(one: str, other: str) -> None:
    assert heading_key(one) == heading_key(other)


@pytest.mark.parametrize(
    ("key", "head", "unit", "asked"),
    [
        ("lower_layer", "Lower layer", "", ""),
        ("lower_layer", "Lower layer, cm", "cm", ""),
        ("lower_layer", "Lower layer in inches", "inch", ""),
        ("lower_layer", "Lower layer [Millimetre]", "", ""),
        ("lower_layer", "Lower layer g", "", "g"),
        ("lower_layer", "Lower layer (°C)", "", "°C"),
        ("density", "Density g/cm³", "", ""),
        ("density", "Density kg/m3", "kg/m³", ""),
        ("microbes", "Plate count (cfu/g)", "", ""),
        ("microbes", "Plate count (CFU/mL)", "", "CFU/mL"),
        ("ph", "pH (mm)", "", ""),
        ("odour", "Odour (cm)", "", ""),
    ],
)
def test_the_unit_of_a_column_is_read_turned_or_asked_for(key: str, head: str, unit: str, asked: str) -> None:
    found = unit_of_column(every_attribute()[key], head)
    assert (found.unit, found.asked) == (unit, asked)


@pytest.mark.parametrize(
    ("behind", "is_asked"),
    [
        ("grams", True), ("seconds", True), ("mg/mL", True), ("°Brix", True), ("%vol", True), ("µx/y", True),
        ("abc", True), ("abcd", False), ("a b", False), ("left jar", False),
    ],
)  # fmt: skip
def test_what_could_be_a_unit_is_asked_for_and_other_words_are_words(behind: str, is_asked: bool) -> None:
    layer = every_attribute()["lower_layer"]
    found = unit_of_column(layer, f"Lower layer ({behind})")
    assert (found.asked, found.words) == ((behind, "") if is_asked else ("", behind))
    alone = unit_of_column(layer, f"({behind})")  # without a name there is nothing that it could be the unit of
    assert (alone.asked, alone.words) == ("", behind)


@pytest.mark.parametrize(
    ("head", "text", "said"),
    [("Week", "4", "4 weeks"), ("Wochen", "4", "4 weeks"), ("Days", "28", "28 days"), ("Pull", "4", "4"),
     ("Week", "4 weeks", "4 weeks")],
)  # fmt: skip
def test_a_bare_number_counts_what_its_heading_names(head: str, text: str, said: str) -> None:
    assert counted_pull(head, text) == said


@pytest.mark.parametrize("text", ["9. März 2026", "9 mars 2026", "9 Mar 2026", "9 mar. 2026"])
def test_a_month_is_read_in_three_languages(text: str) -> None:
    assert read_day(text) == date(2026, 3, 9)


def test_a_month_cut_too_short_is_asked_for() -> None:
    with pytest.raises(ValueError, match="is not a day"):
        read_day("9 jui 2026")
