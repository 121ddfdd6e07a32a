"""Counting salts and esters as their acid."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.library.limits import Limit

BENZOIC = Limit("benzoic", ("Benzoic Acid", "Sodium Benzoate"), "leave-on", 0.5, "Benzoic Acid", 122.12)


@pytest.mark.parametrize(
    ("acid", "salt", "expected"),
    [
        (122.12, 144.10, 0.8475),  # sodium benzoate: ratio of molar masses, molmass 2026.1.8
        (112.13, 150.22, 0.746),  # potassium sorbate: 1 g holds 0.746 g sorbic acid
    ],
)
def test_a_salt_counts_as_its_acid(acid: float, salt: float, expected: float) -> None:
    limit = Limit("acid", ("Acid", "Salt"), "any", 0.5, "Acid", acid)
    assert limit.factor(salt) == pytest.approx(expected, abs=5e-4 if expected == 0.746 else 5e-5)


@given(st.floats(10, 1000), st.floats(10, 1000))
def test_as_many_moles_of_acid_as_of_salt(acid: float, salt: float) -> None:
    limit = Limit("acid", ("Salt",), "any", 0.5, "Acid", acid)
    assert limit.factor(salt) * salt == pytest.approx(acid)


def test_without_a_molar_mass_the_whole_gram_counts() -> None:
    assert BENZOIC.factor(None) == 1.0
    assert Limit("plain", ("Phenoxyethanol",), "any", 1.0).factor(138.17) == 1.0


def test_it_holds_for_its_kind_of_product() -> None:
    assert BENZOIC.applies_to("leave-on")
    assert not BENZOIC.applies_to("rinse-off")
    assert Limit("plain", ("Phenoxyethanol",), "any", 1.0).applies_to("rinse-off")


def test_impossible_numbers_are_refused_in_words() -> None:
    with pytest.raises(RangeError, match=r"plain: a limit of 101 % is not between 0 and 100 % w/w\."):
        Limit("plain", ("Phenoxyethanol",), "any", 101)
    with pytest.raises(RangeError, match=r"A molar mass of 0 g/mol is not possible\. Give it in g/mol, above 0\."):
        BENZOIC.factor(0)
