"""Published worked examples for amounts and rounding, with their source beside each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from kit.formula.amounts import read_amount
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.formula.requirements import flat_percents, requirements
from kit.library.description import Description
from kit.library.library import Library
from kit.library.table import limits
from kit.rounding import round_to_step, round_to_total

if TYPE_CHECKING:
    from kit.library.description import ProductKind

# Populations of the United States, census of 1790, and the 120 - here 60 - seats by Hamilton's method, as
# worked in M. Balinski and H. P. Young, "Fair Representation", 2nd ed. (2001).
CENSUS_1790 = {
    "Virginia": (630_560, 11), "Massachusetts": (475_327, 8), "Pennsylvania": (432_879, 7),
    "North Carolina": (353_523, 6), "New York": (331_589, 6), "Maryland": (278_514, 5), "Connecticut": (236_841, 4),
    "South Carolina": (206_236, 3), "New Jersey": (179_570, 3), "New Hampshire": (141_822, 2), "Vermont": (85_533, 1),
    "Georgia": (70_835, 1), "Kentucky": (68_705, 1), "Rhode Island": (68_446, 1), "Delaware": (55_540, 1),
}  # fmt: skip


@pytest.mark.parametrize("step", [1.0, 0.1, 0.01])
def test_sixty_seats_by_hamiltons_method(step: float) -> None:
    people = [count for count, _ in CENSUS_1790.values()]
    quotas = [count / sum(people) * 60 * step for count in people]
    seats = [round(mass / step) for mass in round_to_total(quotas, step)]
    assert seats == [seats for _, seats in CENSUS_1790.values()]


def test_the_first_pass_leaves_eight_seats_and_who_gets_them() -> None:
    people = {state: count for state, (count, _) in CENSUS_1790.items()}
    quotas = {state: count / sum(people.values()) * 60 for state, count in people.items()}
    assert 60 - sum(int(quota) for quota in quotas.values()) == 8
    seats = dict(zip(quotas, round_to_total(list(quotas.values()), 1.0), strict=True))
    assert {state for state in quotas if seats[state] > int(quotas[state])} == {
        "New Jersey", "Connecticut", "Delaware", "Massachusetts", "North Carolina", "Maryland", "New York", "Virginia",
    }  # fmt: skip


def test_one_part_may_lose_when_the_whole_grows() -> None:
    """The Alabama paradox, textbook example (from memory): 6, 6, 2 people for 10 and then 11 seats."""
    assert round_to_total([6 / 14 * 10, 6 / 14 * 10, 2 / 14 * 10], 1) == [4, 4, 2]
    assert round_to_total([6 / 14 * 11, 6 / 14 * 11, 2 / 14 * 11], 1) == [5, 5, 1]


@pytest.mark.parametrize(
    ("value", "step", "expected"),
    [  # IS 2:2022 (Bureau of Indian Standards), rules for rounding off, the worked rows of its tables
        (4.36, 1, 4),
        (2.355, 1, 2),
        (15.205, 0.1, 15.2),
        (9.625, 1, 10),
        (2.651, 0.1, 2.7),
        (0.3552, 0.01, 0.36),
        (12.545001, 0.01, 12.55),
        # IEEE 754 doubles 2.675 and 12.35 lie below their decimals; decimal half-even gives these
        (2.675, 0.01, 2.68),
        (12.35, 0.1, 12.4),
        # ISO 80000-1:2009, annex B, rule A: halfway goes to the even multiple
        (12.25, 0.1, 12.2),
        (12.275, 0.1, 12.3),
        (1225.0, 10, 1220),
        (1235.0, 10, 1240),
    ],
)
def test_halves_go_to_the_even_step(value: float, step: float, expected: float) -> None:
    assert round_to_step(value, step) == expected


def test_significant_figures_of_a_textbook() -> None:
    """OpenStax, Chemistry 2e, examples 1.3 to 1.5: halves to even, sums to the coarsest place."""
    assert [round_to_step(31.57, 1), round_to_step(8.1649, 0.01)] == [32, 8.16]
    assert [round_to_step(0.051065, 0.00001), round_to_step(0.90275, 0.0001)] == [0.05106, 0.9028]
    assert round_to_step(1.0023 + 4.383, 0.001) == 5.385
    assert round_to_step(486 - 421.23, 1) == 65
    assert [round_to_step(0.6238 * 6.6, 0.1), round_to_step(421.23 / 486, 0.001)] == [4.1, 0.867]


@pytest.mark.parametrize(
    ("written", "percent"),
    [  # 1 ppm is 1 mg/kg, 1 ‰ is 1 g/kg (ISO 80000-1:2009, 7.4.3 asks for such plain ratios)
        ("1 ppm", 0.0001),
        ("1 mg/kg", 0.0001),
        ("10000 ppm", 1.0),
        ("1 ‰", 0.1),
        ("1 g/kg", 0.1),
        ("1 mg/g", 0.1),
        ("1 ppb", 1e-7),
        ("15 ppm", 0.0015),  # Annex V entry 57: methylisothiazolinone, 0.0015 %
    ],
)
def test_shares_by_mass(written: str, percent: float) -> None:
    assert read_amount(written).value == pytest.approx(percent, rel=1e-12)


@pytest.mark.parametrize(
    ("salt", "percent", "limit", "as_acid"),
    [  # M(acid)/M(salt): 122.12/144.10 and 112.13/150.22, IUPAC 2021 abridged atomic weights
        ("Sodium Benzoate", 0.59, 0.5, 0.5000),
        ("Sodium Benzoate", 2.95, 2.5, 2.5000),
        ("Potassium Sorbate", 0.8038, 0.6, 0.6000),
    ],
)
def test_a_salt_counts_as_its_acid(salt: str, percent: float, limit: float, as_acid: float) -> None:
    kind: ProductKind = "rinse-off" if limit == 2.5 else "leave-on"
    lines = (Line("Aqua", "q.s."), Line(salt, str(percent)))
    formula = Formula("Toner", (Phase("Water", "water", lines),), description=Description(product_kind=kind))
    found = [r for r in requirements(formula, Materials.of(formula, Library.bundled()), limits()) if r.stated == limit]
    assert len(found) == 1
    assert found[0].found(flat_percents(formula)) == pytest.approx(as_acid, abs=5e-5)
