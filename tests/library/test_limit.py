"""Counting salts and esters as their acid."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula

from kit.errors import RangeError, UnknownNameError
from kit.library.description import Description
from kit.library.limit import Limit
from kit.library.table import JURISDICTIONS, limits

BENZOIC = Limit("benzoic", ("Benzoic Acid", "Sodium Benzoate"), "leave-on", 0.5, "Benzoic Acid", 122.12)


@pytest.mark.parametrize(
    ("acid", "salt", "expected"),
    [
        (122.12, 144.10, 0.8475),  # sodium benzoate: ratio of molar masses, molmass 2026.1.8
        (112.13, 150.22, 0.746),  # potassium sorbate: 1 g holds 0.746 g sorbic acid
    ],
)
def test_a_salt_counts_as_its_acid(acid: float, salt: float, expected: float) -> None:
    limit = Limit("acid", ("Acid", "Salt"), "", 0.5, "Acid", acid)
    assert limit.factor(salt) == pytest.approx(expected, abs=5e-4 if expected == 0.746 else 5e-5)


@given(st.floats(10, 1000), st.floats(10, 1000))
def test_as_many_moles_of_acid_as_of_salt(acid: float, salt: float) -> None:
    limit = Limit("acid", ("Salt",), "", 0.5, "Acid", acid)
    assert limit.factor(salt) * salt == pytest.approx(acid)


def test_without_a_molar_mass_the_whole_gram_counts() -> None:
    assert BENZOIC.factor(None) == 1.0
    assert Limit("plain", ("Phenoxyethanol",), "", 1.0).factor(138.17) == 1.0


def test_it_holds_for_its_kind_of_product() -> None:
    washed_off = Description("rinse-off")
    assert BENZOIC.applies_to(Description("leave-on"))
    assert BENZOIC.applies_to(washed_off) is False
    assert Limit("plain", ("Phenoxyethanol",), "", 1.0).applies_to(washed_off)


def test_impossible_numbers_are_refused_in_words() -> None:
    with pytest.raises(RangeError, match=r"plain: a limit of 101 % is not between 0 and 100 % w/w\."):
        Limit("plain", ("Phenoxyethanol",), "", 101)
    with pytest.raises(RangeError, match=r"A molar mass of 0 g/mol is not possible\. Give it in g/mol, above 0\."):
        BENZOIC.factor(0)


@pytest.mark.parametrize(
    ("salt", "acid", "gives", "factor"),
    [  # molar masses by molmass 2026.1.8 from the formulas; n M(acid) / M(salt)
        ("C12H14CaO4", "C6H8O2", 2, 0.8549),  # calcium sorbate as sorbic acid
        ("C6H10CaO4", "C3H6O2", 2, 0.7956),  # calcium propionate as propionic acid
        ("C7H5KO2", "C7H6O2", 1, 0.7622),  # potassium benzoate as benzoic acid
    ],
)
def test_a_salt_of_two_acids_counts_for_both(salt: str, acid: str, gives: int, factor: float) -> None:
    limit = Limit("acid", ("Salt",), "", 0.6, "Acid", Formula(acid).mass)
    assert limit.factor(Formula(salt).mass, gives) == pytest.approx(factor, abs=2e-4)


def test_limits_are_found_by_the_substances_that_they_name() -> None:
    eu = limits()
    assert [limit.key for limit in eu.concerning(["SORBIC  acid"])] == ["sorbic"]
    assert eu.concerning(["Aqua", "Glycerin"]) == []
    assert eu.concerning([]) == []
    for limit in eu:
        for name in limit.needs or limit.substances:
            assert limit in eu.concerning([name])


def test_a_limit_that_needs_a_substance_sleeps_without_it() -> None:
    keys = [limit.key for limit in limits().concerning(["Methylisothiazolinone"])]
    assert "mci-mi-rinse-off" not in keys
    assert "mci-mi-rinse-off" in [limit.key for limit in limits().concerning(["Methylchloroisothiazolinone"])]


def test_each_place_has_limits_of_its_own() -> None:
    assert set(JURISDICTIONS) == {"eu", "us"}
    assert {limit.key for limit in limits("us")}.isdisjoint(limit.key for limit in limits("eu"))
    with pytest.raises(UnknownNameError, match=r"There are no limits for 'mars'\. Choose one of eu, us\."):
        limits("mars")


def test_a_limit_on_the_ph_alone_is_none_on_a_percent() -> None:
    (caustic,) = [limit for limit in limits() if limit.key == "caustic-ph"]
    assert (caustic.ph_high, caustic.is_of_percent) == (11.0, False)
