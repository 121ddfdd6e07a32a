"""Thin what is at hand: mass adds up, there and back is the identity, and what is not known is said."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.conversion import density_in_water
from kit.bench.dilution import dilute
from kit.bench.thinning import diluent_to_add, strength_after
from kit.errors import KitError, RangeError
from kit.rounding import all_digits
from tests.present import present

if TYPE_CHECKING:
    from kit.library.ingredient import Basis

MASSES = st.floats(0.1, 5000)
SHARES = st.floats(0.05, 0.999)
MOST = {"Alcohol": 100.0, "Sodium Hydroxide": 50.0, "Sodium Chloride": 26.0, "Magnesium Sulfate Heptahydrate": 54.0}
KNOWN = st.sampled_from(list(MOST.items()))
BASES = st.sampled_from(["w/w", "w/v"])


@given(MASSES, st.floats(0.1, 100), SHARES)
def test_by_mass_it_is_the_dilution_turned_round(have: float, strength: float, part: float) -> None:
    found = diluent_to_add(f"{all_digits(have)} g", strength, strength * part)
    assert found.mass is not None
    again = dilute(strength, strength * part, found.mass)
    assert (again.stock, again.diluent) == pytest.approx((have, found.diluent), rel=1e-9, abs=1e-9)
    assert found.have == have
    assert found.volume is None


@given(MASSES, KNOWN, st.floats(0.02, 1), SHARES, BASES, st.sampled_from(["g", "mL"]))
def test_adding_what_is_told_leaves_the_strength_that_was_wanted(
    have: float, solution: tuple[str, float], share: float, part: float, basis: Basis, unit: str
) -> None:
    active, most = solution
    strength = most * share * (0.7 if basis == "w/v" else 1)
    more: Any = {"basis": basis, "active": active, "celsius": 25.0}
    told = diluent_to_add(f"{all_digits(have)} {unit}", strength, strength * part, **more)
    assert None not in (told.have, told.diluent, told.volume, told.diluent_volume, told.shrinks)
    diluent, diluent_volume = present(told.diluent), present(told.diluent_volume)
    back = strength_after(f"{all_digits(have)} {unit}", strength, f"{all_digits(diluent)} g", **more)
    assert back.strength == pytest.approx(strength * part, rel=1e-6)
    assert back.mass == pytest.approx(told.mass)
    assert back.volume == pytest.approx(told.volume, rel=1e-6)
    by_volume = strength_after(f"{all_digits(have)} {unit}", strength, f"{all_digits(diluent_volume)} mL", **more)
    assert by_volume.strength == pytest.approx(back.strength, rel=1e-9)


def test_the_room_that_mixing_takes_or_gives_is_told() -> None:
    # alcohol and water shrink (OIML R 22), 100 mL of 96 % w/w to half its strength; by given densities, by hand:
    # 100 mL of 1.2 g/mL at 30 % w/v to 20 %: 150 mL of 1.1 g/mL is 165 g, so 45 g of water (0.9982 g/mL) come to it
    shrinks = diluent_to_add("100 mL", 96, 48, active="Alcohol", celsius=20.0)
    assert present(shrinks.shrinks) > 0
    assert "mL less than the two volumes together" in shrinks.sentence
    grows = diluent_to_add("100 mL", 30, 20, basis="w/v", density=1.2, wanted_density=1.1)
    assert grows.diluent == pytest.approx(45)
    assert grows.shrinks == pytest.approx(100 + 45 / 0.9982 - 150, abs=0.01)
    assert "mL more than the two volumes together" in grows.sentence


@given(MASSES, SHARES)
def test_a_mark_needs_no_density_but_what_to_add_does(have: float, part: float) -> None:
    found = diluent_to_add(f"{all_digits(have)} mL", 30, 30 * part, basis="w/v")
    assert found.volume == pytest.approx(have / part)
    assert (found.have, found.diluent, found.mass, found.shrinks) == (None, None, None, None)
    assert "How much that is to add is not known without the densities of both solutions" in found.sentence
    # With both densities given, by hand: m2 - m1 = V2 d2 - V1 d1.
    after = 1 + 0.2 * part
    full = diluent_to_add(f"{all_digits(have)} mL", 30, 30 * part, basis="w/v", density=1.2, wanted_density=after)
    assert full.diluent == pytest.approx(have / part * after - have * 1.2, abs=1e-6)


@given(KNOWN, st.floats(0.02, 1), SHARES, BASES)
def test_the_densities_are_those_of_the_conversion_of_strengths(
    solution: tuple[str, float], share: float, part: float, basis: Basis
) -> None:
    active, most = solution
    strength = most * share * (0.7 if basis == "w/v" else 1)
    told = diluent_to_add("100 mL", strength, strength * part, basis=basis, active=active)
    assert told.have == pytest.approx(100 * density_in_water(active, strength, basis), rel=1e-9)
    assert told.mass == pytest.approx(present(told.volume) * density_in_water(active, strength * part, basis), rel=1e-9)


def test_own_densities_go_before_the_table() -> None:
    table = diluent_to_add("100 mL", 20, 10, basis="w/v", active="Sodium Chloride")
    own = diluent_to_add("100 mL", 20, 10, basis="w/v", active="Sodium Chloride", density=1.2, wanted_density=1.1)
    assert own.diluent == pytest.approx(200 * 1.1 - 100 * 1.2)
    assert own.diluent != pytest.approx(table.diluent)
    # In another diluent than water the table does not hold.
    assert diluent_to_add("100 mL", 20, 10, basis="w/v", active="Alcohol", diluent="Glycerin").diluent is None


def test_the_sentences() -> None:
    assert diluent_to_add("100 g", 30, 10).sentence == (
        "Add 200 g (200.36 mL) of diluent: it comes to 300 g at 10 % w/w. Its volume is not known without its density: "
        "weigh 100 mL of it."
    )
    assert diluent_to_add("100 g", 30, 10, active="Sodium Hydroxide").sentence == (
        "Add 200 g (200.36 mL) of diluent: it comes to 300 g or 270.62 mL at 10 % w/w. That is 5.17 mL less than the "
        "two volumes together."
    )


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (
            lambda: diluent_to_add("100 g", 10, 20),
            r"only weakens: from 10 % it leads to less .* not to 20 %\.",
        ),
        (lambda: diluent_to_add("100 g", 10, 0), r"not to 0 %\."),
        (lambda: diluent_to_add("100 mL", 10, 5), r"100 mL at a strength in % w/w needs the density .* Weigh it inst"),
        (lambda: diluent_to_add("100 g", 10, 5, basis="w/v"), r"in % w/v needs the density of the solution in g/mL\."),
        (lambda: diluent_to_add("0 g", 10, 5), r"An amount must be more than 0, got 0 g\."),
        (lambda: diluent_to_add("100 g", 10, 5, density=-1), r"A density must be more than 0 g/mL, got -1\."),
        (lambda: diluent_to_add("1 g", 10, 5, diluent_density=0), r"density of the diluent must be more than 0 g/mL"),
        (
            lambda: diluent_to_add("100 g", 10, 5, basis="m/m"),  # type: ignore[arg-type]
            r"The basis 'm/m' is not known\. Write one of w/w",
        ),
        (
            lambda: diluent_to_add("100 mL", 30, 29.9, basis="w/v", density=1.2, wanted_density=1.0),
            r"With these densities the weaker solution would weigh less than what is at hand\.",
        ),
        (lambda: strength_after("100 g", 0, "1 g"), r"must be stronger than 0 %, got 0 %\."),
        (lambda: strength_after("100 mL", 10, "1 g"), r"100 mL needs its density in g/mL before it can be added\."),
        (lambda: strength_after("9 g", 9, "1 mL", diluent="Glycerin"), r"1 mL needs its density in g/mL before it can"),
        (lambda: strength_after("9 g", 9, "1 g", basis="w/v"), r"9 % w/v needs the density of the solution in g/mL"),
        (
            lambda: strength_after("9 g", 9, "1 g", basis="w/v", density=1.02),
            r"The strength of the mixture in % w/v needs its density in g/mL\. Weigh 100 mL of it\.",
        ),
        (
            lambda: strength_after("9 g", 9, "1 g", basis="v/v", density=1.02, diluent="Glycerin"),
            r"A strength in % v/v needs the density of the pure active in g/mL\.",
        ),
    ],
)
def test_what_cannot_be_told(work: object, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()  # type: ignore[operator]


def test_a_temperature_beyond_the_table_is_refused() -> None:
    with pytest.raises(KitError, match="not at 60 °C"):
        diluent_to_add("100 mL", 90, 70, basis="v/v", active="Alcohol", celsius=60)
