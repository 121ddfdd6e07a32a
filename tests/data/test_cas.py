"""CAS numbers: each has the check digit that its other digits ask for, in every table, and means one substance."""

from __future__ import annotations

import re

import pytest

from kit.library.columns import split_list
from kit.resources import load_table, resource_folder
from kit.visible_text import plain_letters

# Where the numbers stand: (table, name of the row, number).
NUMBERS = [
    (folder.name, row.get("name") or row.get("inci") or row.get("names") or "", number)
    for folder in sorted((resource_folder("data")).iterdir())
    if (folder / "table.csv").is_file()
    for row in load_table(folder.name).rows
    for number in split_list(row.get("cas", ""))
]
# The tables in which a number leads to the one name by which rules know a substance.
NAMING = {"substance-names": "inci", "stop-list-eu": "name"}


def check_digit(number: str) -> int:
    """The rule of the Chemical Abstracts Service, "Check Digit Verification of CAS Registry Numbers".

    From the right, the digits before the last one count once, twice, three times and so on; their sum modulo 10 is the
    last digit.
    """
    digits = number.replace("-", "")[:-1]
    return sum(place * int(digit) for place, digit in enumerate(reversed(digits), start=1)) % 10


@pytest.mark.parametrize(
    ("number", "digit"),
    [
        ("107-07-3", 3),  # the page of the Chemical Abstracts Service: 7·1 + 0·2 + 7·3 + 0·4 + 1·5 = 33
        ("71-23-8", 8),  # a letter of its client services on 1-propanol: 3·1 + 2·2 + 1·3 + 7·4 = 38
        ("64-17-5", 5),  # ethanol, worked in public notes on the rule: 7·1 + 1·2 + 4·3 + 6·4 = 45
        ("7732-18-5", 5),  # water: 8·1 + 1·2 + 2·3 + 3·4 + 7·5 + 7·6 = 105
    ],
)
def test_the_rule_gives_the_digits_of_published_examples(number: str, digit: int) -> None:
    assert check_digit(number) == digit == int(number[-1])


@pytest.mark.parametrize("mistyped", ["7732-18-6", "7723-18-5", "64-71-5", "107-70-3"])
def test_the_rule_finds_a_wrong_or_exchanged_digit(mistyped: str) -> None:
    assert check_digit(mistyped) != int(mistyped[-1])


def test_there_are_many_numbers_in_several_tables() -> None:
    assert len({number for _, _, number in NUMBERS}) > 1100
    assert {"allergens", "stop-list-eu", "substance-names"} <= {table for table, _, _ in NUMBERS}


@pytest.mark.parametrize("table", sorted({table for table, _, _ in NUMBERS}))
def test_every_number_of_a_table_has_the_form_and_the_check_digit(table: str) -> None:
    wrong = [
        (name, number)
        for found, name, number in NUMBERS
        if found == table
        and not (re.fullmatch(r"[1-9]\d{1,6}-\d\d-\d", number) and check_digit(number) == int(number[-1]))
    ]
    assert not wrong


def test_a_number_or_other_name_means_one_substance() -> None:
    """By a name or number that was typed only one name is found, so that no rule is missed and none is mixed up."""
    own = {plain_letters(row[column]) for table, column in NAMING.items() for row in load_table(table).rows}
    means: dict[str, set[str]] = {}
    for table, column in NAMING.items():
        for row in load_table(table).rows:
            for other in (*split_list(row["other_names"]), *split_list(row["cas"])):
                means.setdefault(plain_letters(other), set()).add(plain_letters(row[column]))
    assert {name: found for name, found in means.items() if len(found) > 1} == {}
    assert {name: found for name, found in means.items() if name in own and found != {name}} == {}
