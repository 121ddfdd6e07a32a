"""The pH of ideal solutions: the balance of charges, judged by another solver on a balance written anew."""

from __future__ import annotations

from math import log10

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from kit.bench.acids import acid, acids, handling_findings, neutralising_mass
from kit.bench.ph import (
    ESTIMATE,
    HIGHEST_PH,
    LOWEST_PH,
    Solute,
    Solution,
    computed_curve,
    henderson_hasselbalch,
    moles_to_reach,
    solution_of,
    species_shares,
    undissociated_percent,
)
from kit.errors import RangeError, UnknownNameError

PKAS = st.lists(st.floats(1, 13), min_size=1, max_size=3).map(lambda values: tuple(sorted(values)))
SOLUTES = st.builds(Solute, st.floats(1e-6, 1), PKAS, st.integers(0, 2))
SOLUTIONS = st.builds(
    Solution, st.lists(SOLUTES, max_size=3).map(tuple), st.floats(-1, 1).filter(lambda x: x == 0 or abs(x) > 1e-9)
)


def balance(ph: float, solution: Solution) -> float:
    """The balance of charges written in another way: products of constants over powers of [H]."""
    h = 10.0**-ph
    total = h - 1e-14 / h + solution.strong
    for each in solution.solutes:
        terms, product = [1.0], 1.0
        for pka in each.pka:
            product *= 10.0**-pka / h
            terms.append(product)
        charge = sum((each.top_charge - lost) * term for lost, term in enumerate(terms)) / sum(terms)
        total += each.concentration * charge
    return total


@given(SOLUTIONS)
def test_another_solver_finds_the_same_ph(solution: Solution) -> None:
    assume(balance(LOWEST_PH, solution) > 0 > balance(HIGHEST_PH, solution))
    judged = brentq(balance, LOWEST_PH, HIGHEST_PH, args=(solution,), xtol=1e-12)
    assert solution.ph == pytest.approx(judged, abs=1e-6)


@given(SOLUTIONS, st.floats(0, 13.5))
def test_the_excess_falls_as_the_ph_rises(solution: Solution, ph: float) -> None:
    assert solution.excess(ph) > solution.excess(ph + 0.5)


@given(PKAS, st.floats(-1, 15))
def test_the_forms_of_an_acid_are_all_of_it(pka: tuple[float, ...], ph: float) -> None:
    shares = species_shares(ph, pka)
    assert len(shares) == len(pka) + 1
    assert sum(shares) == pytest.approx(1)
    assert min(shares) >= 0


@given(st.floats(0.1, 1), st.floats(5, 9), st.floats(0.2, 0.8))
def test_the_buffer_formula_comes_near_in_the_middle_of_a_strong_buffer(
    molar: float, pka: float, turned: float
) -> None:
    solution = Solution((Solute(molar, (pka,)),), strong=molar * turned)
    assert solution.approximate_ph == pytest.approx(pka + log10(turned / (1 - turned)))
    assert solution.ph == pytest.approx(solution.approximate_ph, abs=0.01)


def test_the_buffer_formula_has_nothing_to_say_about_these() -> None:
    assert Solution((Solute(0.1, (4.0,)),)).approximate_ph is None  # the acid alone
    assert Solution((Solute(0.1, (4.0,)),), strong=0.1).approximate_ph is None  # its salt alone
    assert Solution((Solute(0.1, (4.0,)),), strong=-0.05).approximate_ph is None  # with a strong acid
    assert Solution((Solute(0.1, (4.0,)), Solute(0.1, (6.0,))), strong=0.05).approximate_ph is None  # two acids
    assert Solution(()).approximate_ph is None
    # Half an amine neutralised by a strong acid stands at its pKa.
    assert Solution((Solute(0.1, (7.76,), 1),), strong=-0.05).approximate_ph == pytest.approx(7.76)


@given(SOLUTES, st.floats(2, 12), st.floats(-0.5, 0.5))
def test_what_is_needed_to_reach_a_ph_reaches_it(solute: Solute, target: float, strong: float) -> None:
    start = Solution((solute,), strong)
    charge = -1.0 if start.excess(target) > 0 else 1.0  # a strong acid or a strong base, as it needs
    moles = moles_to_reach(target, start, (), charge)
    assert Solution((solute,), strong + charge * moles).excess(target) == pytest.approx(0, abs=1e-9)
    if moles > 1e-9:
        with pytest.raises(RangeError, match=f"does not bring this solution to pH {target:g}"):
            moles_to_reach(target, start, (), -charge)


def test_strong_bases_and_pure_water() -> None:
    assert Solution(()).ph == pytest.approx(7, abs=1e-9)
    assert Solution((), strong=0.01).ph == pytest.approx(12, abs=1e-6)
    assert Solution((), strong=-0.01).ph == pytest.approx(2, abs=1e-6)
    # 1e-8 mol/L of strong acid is not pH 8: water gives its own. By hand, h = (c + sqrt(c^2 + 4e-14)) / 2.
    assert Solution((), strong=-1e-8).ph == pytest.approx(-log10((1e-8 + (1e-16 + 4e-14) ** 0.5) / 2), abs=1e-6)


def test_weighed_substances_become_moles() -> None:
    both = solution_of({"Citric Acid, monohydrate": 2.1014, "Citric Acid": 1.9212, "Sodium Hydroxide": 0.8}, 1000)
    (solute,) = both.solutes
    assert solute.concentration == pytest.approx(0.02, rel=1e-4)
    assert both.strong == pytest.approx(0.02, rel=1e-4)
    # A third of the protons gone: between the first and the second constant.
    assert 3.128 < both.ph < 4.761


def test_a_curve_is_the_ph_of_each_mixture() -> None:
    curve = computed_curve({"Sodium Benzoate": 0.5}, {"Citric Acid": 10}, 100, [0, 1, 2])
    assert curve[0] > 8
    assert curve == sorted(curve, reverse=True)
    by_hand = solution_of({"Sodium Benzoate": 0.5, "Citric Acid": 0.2}, 102)
    assert curve[2] == by_hand.ph
    # The same substance in product and stock adds up.
    (twice,) = computed_curve({"Citric Acid": 1}, {"Citric Acid": 1}, 50, [50])
    assert twice == pytest.approx(solution_of({"Citric Acid": 1}, 100).ph)


def test_the_estimate_is_called_one() -> None:
    assert "up to 0.35" in ESTIMATE
    assert ESTIMATE.endswith("Measure.")


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: Solute(-1, (4.0,)), r"A concentration is 0 mol/L or more, got -1\."),
        (lambda: Solute(1, (5.0, 4.0)), r"pKa must rise from the first proton to the last, got 5, 4\."),
        (lambda: Solution((), strong=50).ph, r"pH outside -1 to 15, where this reckoning means nothing\."),
        (lambda: Solution((), strong=-50).ph, r"pH outside -1 to 15"),
        (lambda: solution_of({"Citric Acid": 1}, 0), r"volume of the solution must be more than 0 mL, got 0\."),
        (lambda: solution_of({"Citric Acid": -1}, 100), r"Citric Acid: -1 g is below zero\. Give 0 g or more\."),
        (lambda: henderson_hasselbalch(4, 0, 1), r"needs both the acid and its salt in more than 0 mol; got 0 and 1\."),
        (lambda: computed_curve({}, {}, 0, [1]), r"Mass and density must be more than 0, got 0 g and 1 g/mL\."),
        (lambda: moles_to_reach(3, Solution(()), (), 1.0), r"does not bring this solution to pH 3: it is too weak"),
        (
            lambda: moles_to_reach(2, Solution(()), (12.0,), 0.0),
            r"does not bring this solution to pH 2: it is too weak for it, or moves it away\.",
        ),
    ],
)
def test_what_cannot_be(work: object, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()  # type: ignore[operator]


def test_an_unknown_acid_is_told_what_there_is() -> None:
    with pytest.raises(UnknownNameError, match=r"how Vinegar moves the pH\. Choose one of: Citric Acid, anhydrous; "):
        acid("Vinegar")
    with pytest.raises(UnknownNameError, match="how a material without a name moves"):
        acid(" ")
    with pytest.raises(UnknownNameError, match="name an acid first and a strong base second"):
        neutralising_mass("Sodium Hydroxide", "Citric Acid", 1)
    with pytest.raises(UnknownNameError, match="Triethanolamine does not neutralise"):
        neutralising_mass("Citric Acid", "Triethanolamine", 1)


def test_handling_says_what_can_burn() -> None:
    assert [f.severity for f in handling_findings(["Aqua", "sodium hydroxide"])] == ["caution"]
    both = handling_findings(["Citric Acid", "Potassium Hydroxide"])
    assert any(f.sentence.startswith("Caustic: goggles and gloves. Add it to water") for f in both)
    assert any("keep it from eyes" in f.sentence for f in both)
    assert handling_findings(["Glycerin"]) == []


def test_every_key_of_the_table_finds_its_own_row() -> None:
    for key, row in acids().items():
        assert acid(key.upper()) is row


def test_undissociated_falls_with_the_ph() -> None:
    assert undissociated_percent(4.2, 4.2) == pytest.approx(50)
    assert undissociated_percent(3, 4.2) > undissociated_percent(6, 4.2)
