"""Freezing of solutions in water: curves against a second published source, the ideal law, and what is refused."""

from __future__ import annotations

import pytest

from kit.errors import RangeError
from kit.library.sources import sources
from kit.liquids.freezing import FreezingCurve, freezing_curve, freezing_curves, ideal_lowering
from kit.resources import load_table
from tests.present import present
from tests.rows import each_of

#: Å. Melinder (2010), read with CoolProp 8.0.0 (fluids MEA, MGL, MNA, MCA): none of these points is in the table.
MELINDER = "Melinder (2010)"
#: Lange's Handbook of Chemistry, 15th edition, table 5.13, read in copies of its pages.
LANGE = "Lange's Handbook, table 5.13"
#: The table of ASHRAE for propylene glycol, as quoted in a data sheet of a cooling unit.
ASHRAE = "ASHRAE"
#: Smithsonian Physical Tables (1956), molalities of NaCl and MgSO4 turned into percent.
SMITHSONIAN = "Smithsonian Physical Tables"

PUBLISHED = [
    ("Alcohol", 5, 2.03, 0.1, MELINDER), ("Alcohol", 15, 7.39, 0.1, MELINDER), ("Alcohol", 25, 15.45, 0.3, MELINDER),
    ("Alcohol", 45, 33.78, 0.5, MELINDER), ("Alcohol", 60, 44.91, 0.5, MELINDER),
    ("Alcohol", 11.3, 5.0, 0.3, LANGE), ("Alcohol", 20.3, 10.6, 0.6, LANGE), ("Alcohol", 33.8, 23.6, 0.7, LANGE),
    ("Alcohol", 46.3, 33.9, 1.0, LANGE), ("Alcohol", 56.1, 41.0, 1.3, LANGE),
    ("Glycerin", 10, 2.31, 0.1, MELINDER), ("Glycerin", 30, 9.76, 0.1, MELINDER),
    ("Glycerin", 30, 9.5, 0.4, LANGE), ("Glycerin", 50, 22.0, 1.3, LANGE), ("Glycerin", 60, 33.6, 1.4, LANGE),
    ("Propylene Glycol", 20, 7.1, 0.15, ASHRAE), ("Propylene Glycol", 25, 9.6, 0.25, ASHRAE),
    ("Propylene Glycol", 30, 12.7, 0.15, ASHRAE), ("Propylene Glycol", 40, 21.1, 0.6, ASHRAE),
    ("Sodium Chloride", 5, 3.05, 0.01, MELINDER), ("Sodium Chloride", 15, 10.90, 0.05, MELINDER),
    ("Sodium Chloride", 15, 10.88, 0.05, LANGE), ("Sodium Chloride", 23, 20.69, 0.05, LANGE),
    ("Sodium Chloride", 4.199, 2.60, 0.08, SMITHSONIAN),
    ("Magnesium Sulfate", 10.746, 2.08, 0.1, SMITHSONIAN), ("Magnesium Sulfate", 15.29, 3.41, 0.15, SMITHSONIAN),
    ("Calcium Chloride", 10, 5.84, 0.1, MELINDER), ("Calcium Chloride", 20, 18.26, 0.1, MELINDER),
    ("Potassium Sulfate", 4.174, 1.01, 0.05, SMITHSONIAN),
    ("Magnesium Chloride", 5, 3.11, 0.15, LANGE), ("Magnesium Chloride", 10, 8.02, 0.3, "CoolProp 8.0.0, fluid VMG"),
]  # fmt: skip


@each_of(("name", "percent", "published", "within", "source"), PUBLISHED)
def test_a_second_published_source_says_the_same(
    name: str, percent: float, published: float, within: float, source: str
) -> None:
    assert present(freezing_curve(name)).lowering(percent) == pytest.approx(published, abs=within), source


def test_curves_grow_are_sourced_and_end_where_their_source_ends() -> None:
    table = load_table("freezing-curves")
    assert {*table.about["units"], *table.about["columns"]} == set(table.rows[0])
    assert len(freezing_curves()) >= 20
    for curve in freezing_curves().values():
        for points in (curve.strengths, curve.lowerings):
            assert list(points) == sorted(set(points)), curve.inci
        assert set(curve.sources) <= set(sources())
        assert curve.lowering(0) == 0
        middle = curve.most / 2
        assert curve.strength_at(curve.lowering(middle)) == pytest.approx(middle / (100 - middle))
        with pytest.raises(RangeError, match=f"known from 0 to .* % w/w in water, not at {curve.most + 1:g}"):
            curve.lowering(curve.most + 1)
        with pytest.raises(RangeError, match="known down to"):
            curve.strength_at(curve.furthest + 1)
    assert present(freezing_curve("alcohol denat.")).inci == "Alcohol"
    assert present(freezing_curve("Sodium Sulfate Decahydrate")).inci == "Sodium Sulfate"
    assert freezing_curve("Aqua") is None


def test_the_ideal_law_lies_as_near_as_it_says() -> None:
    """Within 15 % of the measured curves of uncharged substances up to 1 mol/kg, and within 25 % up to 3 mol/kg."""
    masses = {
        "Urea": 60.06, "Sucrose": 342.30, "Glucose": 180.16, "Glycerin": 92.09, "Alcohol": 46.07,
        "Propylene Glycol": 76.09, "Isopropyl Alcohol": 60.10, "Lactic Acid": 90.08, "Citric Acid": 192.12,
    }  # fmt: skip
    seen = 0
    for name, mass in masses.items():
        curve = present(freezing_curve(name))
        for molality in (0.25, 0.5, 1.0, 2.0, 3.0):
            if (strength := molality * mass / 1000) > curve.strengths[-1]:
                continue
            measured = curve.lowering(100 * strength / (1 + strength))
            assert ideal_lowering(molality) == pytest.approx(measured, rel=0.15 if molality <= 1 else 0.25), name
            seen += 1
    assert seen > 35
    assert ideal_lowering(0.5, 2) == pytest.approx(1.86)
    with pytest.raises(RangeError, match="amounts of 0 or more"):
        ideal_lowering(-1)


@each_of("curve", list(freezing_curves().values()))
def test_a_curve_holds_to_its_end_and_is_straight_between_its_points(curve: FreezingCurve) -> None:
    assert curve.lowering(curve.most) == pytest.approx(curve.furthest)
    assert curve.strength_at(curve.furthest) == pytest.approx(curve.strengths[-1])
    assert curve.strength_at(0) == 0
    first, half = curve.lowerings[0], curve.strengths[0] / 2  # to the first point from nothing at nothing
    assert curve.lowering(100 * half / (1 + half)) == pytest.approx(first / 2)
    middle = (curve.strengths[0] + curve.strengths[1]) / 2
    assert curve.lowering(100 * middle / (1 + middle)) == pytest.approx((first + curve.lowerings[1]) / 2)
    for percent in (-0.01, curve.most * 1.001):
        with pytest.raises(RangeError, match="freezing is known from 0 to"):
            curve.lowering(percent)
    for lowering in (-0.01, curve.furthest * 1.001):
        with pytest.raises(RangeError, match="freezing is known down to"):
            curve.strength_at(lowering)


def test_nothing_lowers_nothing() -> None:
    assert (ideal_lowering(0), ideal_lowering(1, 0), ideal_lowering(2, 1.5)) == pytest.approx((0, 0, 5.58))
    with pytest.raises(RangeError, match="amounts of 0 or more"):
        ideal_lowering(1, -1)
