"""Tie lines: the printed ones met, each mixture on its line, masses kept, nothing said beyond what was measured."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError, UnknownNameError
from kit.in_use.ternary_systems import (
    CORRELATIONS,
    Composition,
    Correlation,
    TernarySystem,
    TieLine,
    along,
    straight_line,
    ternary_system,
    ternary_systems,
)
from kit.in_use.tie_lines import along_ratio, settle, water_share
from kit.resources import load_table
from tests.present import present
from tests.rows import each_of

#: Molar masses from IUPAC's atomic weights: water, ethanol, limonene. [g/mol]
MOLAR = (18.015, 46.069, 136.238)
ETHER = "water-isopropyl-alcohol-ether"
ACID = "water-acetic-acid-ether"
PROPYL = "water-propyl-alcohol-cyclohexane"


def cross(origin: Composition, one: Composition, other: Composition) -> float:
    return (one.shared - origin.shared) * (other.oil - origin.oil) - (one.oil - origin.oil) * (
        other.shared - origin.shared
    )


def off(line: TieLine, point: Composition) -> float:
    """How far a composition lies beside a tie line. [% w/w]"""
    ends = line.water_layer, line.oil_layer
    return abs(cross(*ends, point)) / math.hypot(ends[1].shared - ends[0].shared, ends[1].oil - ends[0].oil)


@each_of("row", load_table("tie-lines").rows)
def test_a_printed_tie_line_is_met_from_any_mixture_on_it(row: dict[str, str]) -> None:
    """Sources row by row: data/tie-lines. The tables print both layers; the middle of each must part into them."""
    system = ternary_system(row["system"])
    ends = [
        Composition.of(*(float(row[f"{layer}_{part}"]) for part in ("water", "shared", "oil")))
        for layer in ("water", "oil")
    ]
    for layer in ("water", "oil"):
        printed = sum(float(row[f"{layer}_{part}"]) for part in ("water", "shared", "oil"))
        assert printed == pytest.approx(100, abs=0.25), "the printed parts add up"
    if row["printed"]:
        for end, text in zip(ends, row["printed"].removeprefix("mole fractions ").split(" | "), strict=True):
            moles = [part / molar for part, molar in zip(end.parts, MOLAR, strict=True)]
            assert [n / sum(moles) for n in moles] == pytest.approx([float(x) for x in text.split()], abs=2e-5)
    found = settle(system, ends[0].toward(ends[1], 0.5))
    assert found.layers == "two"
    line = present(found.line)
    assert present(found.water_share) == pytest.approx(0.5, abs=1e-9)
    assert line.water_layer.parts == pytest.approx(ends[0].parts, abs=1e-9)
    assert line.oil_layer.parts == pytest.approx(ends[1].parts, abs=1e-9)


#: The same ends as mole fractions of propanol and cyclohexane, as the database prints them beside the mass fractions.
PRINTED_MOLES = (
    (0.061, 0.001, 0.371, 0.460), (0.092, 0.003, 0.429, 0.300), (0.100, 0.004, 0.440, 0.218),
    (0.121, 0.006, 0.426, 0.140), (0.160, 0.010, 0.360, 0.062),
)  # fmt: skip


def test_mass_and_mole_fractions_in_print_agree() -> None:
    """IUPAC-NIST Solubility Database, system 69_133; molar masses of 60.096 and 84.16 g/mol by IUPAC's weights."""
    for line, printed in zip(ternary_system(PROPYL).lines, PRINTED_MOLES, strict=True):
        for end, moles in ((line.water_layer, printed[:2]), (line.oil_layer, printed[2:])):
            held = [part / molar for part, molar in zip(end.parts, (18.015, 60.096, 84.16), strict=True)]
            assert [n / sum(held) for n in held[1:]] == pytest.approx(list(moles), abs=0.0015)


#: Propanol and cyclohexane where another laboratory saw haze at 25 °C. [mass fractions]
WASHBURN = (
    (0.3794, 0.5664), (0.4522, 0.4657), (0.5150, 0.3681), (0.5668, 0.2695), (0.5873, 0.1777), (0.3563, 0.0216),
    (0.2742, 0.0072),
)  # fmt: skip


@each_of(("shared", "oil"), WASHBURN)
def test_another_laboratory_saw_haze_where_the_layers_part(shared: float, oil: float) -> None:
    """E. R. Washburn and others, J. Am. Chem. Soc. 64 (1942) 1886, as in the IUPAC-NIST database, system 69_132; the
    tie lines are of 1991. A step of 5 % inward there are two layers, one of 5 % outward there are not.
    """
    system, haze = ternary_system(PROPYL), Composition.of(1 - shared - oil, shared, oil)
    inward, outward = haze.toward(Composition(50, 0, 50), 0.05), haze.toward(Composition(0, 100, 0), 0.05)
    assert settle(system, inward).layers == "two"
    assert settle(system, outward).layers != "two"


def test_the_gap_of_limonene_closes_near_where_another_paper_says() -> None:
    """J. Chem. Eng. Data 40 (1995) 578-581, abstract: at 293 K the gap ends at about 73 % by mass of ethanol."""
    highest = max(point.shared for point in ternary_system("water-alcohol-limonene").saturation)
    assert highest == pytest.approx(73, abs=5)


def test_tie_lines_of_a_system_rise_and_never_cross() -> None:
    assert len(ternary_systems()) >= 3
    for system in ternary_systems():
        ratios = [(line.water_ratio, line.oil_ratio) for line in system.lines]
        assert all(a < c and b < d for (a, b), (c, d) in itertools.pairwise(ratios)), system.key
        for one, other in itertools.combinations(system.lines, 2):
            ends = (one.water_layer, one.oil_layer), (other.water_layer, other.oil_layer)
            apart = [cross(*ends[k], ends[1 - k][0]) * cross(*ends[k], ends[1 - k][1]) for k in (0, 1)]
            assert max(apart) > 0, f"{system.key}: two tie lines cross"


@given(
    st.sampled_from(ternary_systems()),
    st.floats(0, 1), st.floats(0, 1), st.floats(0, 1),
)  # fmt: skip
def test_the_tie_line_meets_the_mixture_and_masses_are_kept(
    system: TernarySystem, which: float, part: float, share: float
) -> None:
    spot = which * (len(system.lines) - 1)
    n = min(int(spot), len(system.lines) - 2)
    line = system.lines[n].toward(system.lines[n + 1], part)
    overall = line.oil_layer.toward(line.water_layer, share)
    found = settle(system, overall)
    if not min(overall.water, overall.oil) > 0:
        assert found.layers == "one"
        return
    if found.line is None or found.water_share is None:  # at an end of its line, to the last digit
        assert min(share, 1 - share) < 1e-9
        return
    assert off(found.line, overall) < 1e-9
    together = found.line.oil_layer.toward(found.line.water_layer, found.water_share)
    assert together.parts == pytest.approx(overall.parts, abs=1e-9)
    assert sum(found.line.water_layer.parts) == pytest.approx(100, abs=1e-9)
    assert min(*found.line.water_layer.parts, *found.line.oil_layer.parts) >= 0


@given(st.sampled_from(ternary_systems()), st.floats(0, 100), st.floats(0, 100), st.floats(0.001, 100))
def test_every_mixture_has_an_answer_and_two_layers_hold_what_was_put_in(
    system: TernarySystem, water: float, shared: float, oil: float
) -> None:
    overall = Composition.of(water, shared, oil)
    found = settle(system, overall)
    assert found.words.startswith({"one": "One layer", "two": "Two layers", "not known": "Not known"}[found.layers])
    if found.line is not None:
        share, line = present(found.water_share), found.line
        for whole, a, b in zip(overall.parts, line.water_layer.parts, line.oil_layer.parts, strict=True):
            assert share * a + (1 - share) * b == pytest.approx(whole, abs=1e-9)


def test_the_worked_example_of_a_textbook() -> None:
    """R. E. Treybal, Mass-Transfer Operations, 3rd edition, illustration 10.2 (from memory): 100 kg of 30 % acetic
    acid, three times 40 kg of isopropyl ether. Raffinate and extract: 25.8 and 11.7 % acid, 96.4 and 43.6 kg; 22.7 and
    9.5 %, 90.1 and 46.3 kg; 20 and 7.8 %, 84.4 and 45.7 kg. The book read its figures off a graph.
    """
    system, mass, raffinate = ternary_system(ACID), 100.0, Composition(70, 30, 0)
    book = [(25.8, 11.7, 96.4, 43.6), (22.7, 9.5, 90.1, 46.3), (20.0, 7.8, 84.4, 45.7)]
    for x, y, kept, drawn in book:
        whole = [mass * part / 100 for part in raffinate.parts]
        found = settle(system, Composition.of(whole[0], whole[1], whole[2] + 40))
        line, share = present(found.line), present(found.water_share)
        assert line.water_layer.shared == pytest.approx(x, abs=0.5)
        assert line.oil_layer.shared == pytest.approx(y, abs=0.5)
        assert share * (mass + 40) == pytest.approx(kept, abs=0.5)
        assert (1 - share) * (mass + 40) == pytest.approx(drawn, abs=0.5)
        mass, raffinate = share * (mass + 40), line.water_layer


def symmetric(chi: float, lines: int) -> TernarySystem:
    """A model whose tie lines and plait point are known exactly: only water and oil repel one another.

    With ΔG/RT = Σ x ln x + χ x₁x₃ the layers mirror each other: ln(a/c) = χ(a - c), and the plait point lies at
    x₁ = x₃ = 1/χ. J. M. Prausnitz and others, Molecular Thermodynamics of Fluid-Phase Equilibria, on strictly regular
    solutions (from memory); derived anew by hand.
    """
    made = []
    for k in range(lines):
        gap = 0.93 * (1 - k / lines)
        ratio = math.exp(chi * gap)
        both = gap * (ratio + 1) / (ratio - 1)
        if both <= 1:
            a, c = (both + gap) / 2, (both - gap) / 2
            made.append(TieLine(Composition.of(a, 1 - both, c), Composition.of(c, 1 - both, a)))
    return TernarySystem("model", "A model", "water", "middle", "oil", 25.0, tuple(made))


@each_of("chi", [2.3, 2.5, 3.0, 4.0])
def test_the_plait_point_of_a_model_that_is_known_exactly(chi: float) -> None:
    system = symmetric(chi, 14)
    plait = present(system.plait)
    assert plait.parts == pytest.approx((100 / chi, 100 - 200 / chi, 100 / chi), abs=0.6)
    hand = system.correlated("Hand")
    assert (hand.slope, hand.intercept, hand.r_squared) == pytest.approx((1, 0, 1), abs=1e-9)
    assert off(system.lines[-1].toward(system.lines[-2], 0.5), plait) > 0


def test_a_plait_point_is_told_only_near_the_last_tie_line() -> None:
    told = {system.key: system.plait for system in ternary_systems()}
    assert told["water-alcohol-cyclohexane"] is None, "the tie lines end at 41 % of alcohol"
    for key, plait in told.items():
        if plait is not None:
            system = ternary_system(key)
            last = system.lines[-1]
            assert plait.shared / plait.water > last.water_ratio
            assert sum(plait.parts) == pytest.approx(100, abs=1e-9)
            assert settle(system, plait).layers in ("not known", "one")


def test_correlations_say_how_straight_the_lines_lie() -> None:
    """Othmer and Tobias (1942) and Hand (1930) found straight lines; the data of a textbook and of 1988 are."""
    for key in (ETHER, ACID, "water-tert-butyl-alcohol-diisobutylene", PROPYL):
        for name in ("Hand", "Othmer-Tobias"):
            assert ternary_system(key).correlated(name).r_squared > 0.98, (key, name)
    for system, name in itertools.product(ternary_systems(), CORRELATIONS):
        line = system.correlated(name)
        assert 0 <= line.r_squared <= 1 <= line.lines
        assert line.residual >= 0
    made = [TieLine(Composition.of(1, x, 0), Composition.of(0, math.exp(0.5) * x**1.5, 1)) for x in (0.1, 0.3, 0.9)]
    exact = straight_line("Hand", made)
    assert (exact.intercept, exact.slope, exact.r_squared) == pytest.approx((0.5, 1.5, 1))


def test_nothing_is_said_beyond_the_measured_lines() -> None:
    acid = settle(ternary_system(ACID), Composition.of(50, 0.1, 49.9))
    assert acid.layers == "not known"
    assert "The first tie line" in acid.words
    assert "0.69 % in the water layer" in acid.words
    ether = ternary_system(ETHER)
    near = settle(ternary_system(ACID), Composition.of(28, 43, 29))
    assert near.layers == "not known"
    assert "beyond the last measured tie line" in near.words
    assert "Only a trial tells" in near.words
    assert settle(ether, Composition.of(30, 60, 10)).layers == "one"
    assert settle(ether, Composition.of(0, 60, 40)).layers == "one"
    assert settle(ether, Composition.of(60, 40, 0)).layers == "one"
    assert settle(ether, Composition.of(99.9, 0.05, 0.05)).layers == "one"


def test_beyond_the_tie_lines_a_measured_curve_still_tells_one_from_two() -> None:
    """Ethanol, cyclohexane and water at 25 °C: IUPAC-NIST 69_76 prints the curve to 69 % of ethanol, ties to 41 %."""
    system = ternary_system("water-alcohol-cyclohexane")
    for inside in ((25, 50, 25), (12, 60, 28), (5, 30, 65), (35, 58, 7)):
        found = settle(system, Composition(*inside))
        assert (found.layers, found.line, found.water_share) == ("two", None, None), inside
        assert "not known" in found.words
    for outside in ((15, 68.5, 16.5), (38, 60.5, 1.5), (5, 60, 35), (1, 30, 69)):
        assert settle(system, Composition(*outside)).layers == "one", outside


def test_a_shift_of_the_ratio_moves_along_a_straight_line_through_the_layers() -> None:
    ether = ternary_system(ETHER)
    steps = along_ratio(ether, Composition.of(80, 20, 0), Composition.of(0, 0, 100), [0, 1, 10, 50, 90, 100])
    assert [step.settled.layers for step in steps] == ["one", "one", "two", "two", "two", "one"]
    held = [present(step.settled.line).water_layer.shared for step in steps[2:5]]
    assert held == sorted(held, reverse=True), "more oil draws more of the alcohol out of the water layer"
    shares = [present(step.settled.oil_share) for step in steps[2:5]]
    assert shares == sorted(shares)


def test_the_lever_rule_and_what_is_refused() -> None:
    line = TieLine(Composition(90, 8, 2), Composition(2, 4, 94))
    assert water_share(line, line.oil_layer.toward(line.water_layer, 0.25)) == pytest.approx(0.25)
    assert water_share(line, line.water_layer) == pytest.approx(1)
    for amounts in ((-1, 1, 1), (0, 0, 0), (math.nan, 1, 1), (math.inf, 1, 1)):
        with pytest.raises(RangeError, match="no amounts of three liquids"):
            Composition.of(*amounts)
    with pytest.raises(UnknownNameError, match="no measured system 'soup'"):
        ternary_system("soup")
    with pytest.raises(RangeError, match="needs two tie lines"):
        straight_line("Hand", [line])
    with pytest.raises(RangeError, match="all lie in one place"):
        straight_line("Hand", [line, line])
    with pytest.raises(RangeError, match="oil layer of 101 %"):
        along_ratio(ternary_system(ETHER), Composition(80, 20, 0), Composition(0, 0, 100), [101])


def test_points_are_ordered_along_the_curve_from_the_water_to_the_oil() -> None:
    # the angle seen from the middle of the side: a quarter turn for the top, where water and oil are equal
    corners = [Composition.of(*parts) for parts in ((100, 0, 0), (60, 20, 20), (20, 60, 20), (20, 20, 60), (0, 0, 100))]
    assert [along(one) for one in corners] == pytest.approx(
        [0, math.atan2(20, 40), math.pi / 2, math.pi - math.atan2(20, 40), math.pi]
    )


@each_of("name", ["Hand", "Othmer-Tobias", "Bachman"])
def test_the_line_of_a_correlation_is_that_of_numpy_in_its_printed_coordinates(name: Correlation) -> None:
    """The coordinates as the papers of 1930, 1942 and 1940 have them; numpy's polyfit is the judge."""
    system = ternary_system(ETHER)
    x, y = [], []
    for line in system.lines:
        (water, b, _), (_, c, oil) = line.water_layer.parts, line.oil_layer.parts
        if b > 0 < c:
            x.append({"Hand": math.log(b / water), "Othmer-Tobias": math.log((100 - water) / water),
                      "Bachman": oil / water}[name])  # fmt: skip
            y.append(
                {"Hand": math.log(c / oil), "Othmer-Tobias": math.log((100 - oil) / oil), "Bachman": oil / 100}[name]
            )
    found, (slope, intercept) = system.correlated(name), np.polyfit(x, y, 1)
    assert (found.name, found.lines) == (name, len(x))
    assert (found.slope, found.intercept) == pytest.approx((slope, intercept))
    assert found.r_squared == pytest.approx(np.corrcoef(x, y)[0, 1] ** 2)
    assert found.residual == pytest.approx(math.sqrt(np.mean((np.array(y) - slope * np.array(x) - intercept) ** 2)))
