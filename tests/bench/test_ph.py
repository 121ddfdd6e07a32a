"""The pH of ideal solutions: the balance of charges, judged by another solver on a balance written anew."""

from __future__ import annotations

from math import log10

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from kit.bench.acids import acid, acids, debye_huckel_constant, handling_findings, log_activity, neutralising_mass
from kit.bench.neutralise import stock_to_reach
from kit.bench.ph import (
    ESTIMATE,
    HIGHEST_PH,
    LOWEST_PH,
    Equilibrium,
    Solute,
    Solution,
    computed_curve,
    henderson_hasselbalch,
    mixed,
    moles_to_reach,
    solution_of,
)
from kit.errors import RangeError, UnknownNameError
from kit.layers.partition import species_shares, undissociated_fraction
from kit.rounding import all_digits

PKAS = st.lists(st.floats(1, 13), min_size=1, max_size=3).map(lambda values: tuple(sorted(values)))
SOLUTES = st.builds(Solute, st.floats(1e-6, 1), PKAS, st.integers(0, 2))
SOLUTIONS = st.builds(
    Solution, st.lists(SOLUTES, max_size=3).map(tuple), st.floats(-1, 1).filter(lambda x: x == 0 or abs(x) > 1e-9)
)


def balance(ph: float, solution: Solution) -> float:
    """The balance of charges written in another way: products of constants over powers of [H]."""
    h = 10.0**-ph
    total: float = h - 1e-14 / h + solution.strong
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
    curve = computed_curve({"Sodium Benzoate": 0.5}, {"Citric Acid": 10}, "100 g", [0, 1, 2])
    assert curve[0] > 8
    assert curve == sorted(curve, reverse=True)
    by_hand = solution_of({"Sodium Benzoate": 0.5, "Citric Acid": 0.2}, 102)
    assert curve[2] == pytest.approx(by_hand.equilibrium().ph, abs=1e-6)
    # The same substance in product and stock adds up.
    (twice,) = computed_curve({"Citric Acid": 1}, {"Citric Acid": 1}, "50 g", [50])
    assert twice == pytest.approx(solution_of({"Citric Acid": 1}, 100).equilibrium().ph)


def test_the_estimate_is_called_one() -> None:
    assert "within 0.2" in ESTIMATE
    assert ESTIMATE.endswith("Measure.")


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: Solute(-1, (4.0,)), r"A concentration is 0 mol/L or more, got -1\."),
        (lambda: debye_huckel_constant(70), r"is known from 0 to 60 °C, got 70 °C\."),
        (lambda: log_activity(-0.1), r"An ionic strength is 0 mol/kg or more, got -0\.1\."),
        (lambda: Solute(1, (5.0, 4.0)), r"pKa must rise from the first proton to the last, got 5, 4\."),
        (lambda: Solution((), strong=50).ph, r"pH outside -1 to 15, where this computation means nothing\."),
        (lambda: Solution((), strong=-50).ph, r"pH outside -1 to 15"),
        (lambda: solution_of({"Citric Acid": 1}, 0), r"volume of the solution must be more than 0 mL, got 0\."),
        (lambda: solution_of({"Citric Acid": -1}, 100), r"Citric Acid: -1 g is below zero\. Give 0 g or more\."),
        (lambda: henderson_hasselbalch(4, 0, 1), r"needs both the acid and its salt in more than 0 mol; got 0 and 1\."),
        (lambda: computed_curve({}, {}, "0 g", [1]), r"Mass and density must be more than 0, got 0 g and 1 g/mL\."),
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
    with pytest.raises(UnknownNameError, match="name an acid first and a base second"):
        neutralising_mass("Sodium Hydroxide", "Citric Acid", "1 g")
    with pytest.raises(UnknownNameError, match="Lactic Acid does not neutralise Citric Acid, anhydrous: name an acid"):
        neutralising_mass("Citric Acid", "Lactic Acid", "1 g")


def test_a_weak_base_neutralises_what_it_is_strong_enough_for() -> None:
    # By hand: three protons, 3 x 149.19 / 192.12 g; arginine takes one proton at 8.991; carbonate one at 10.33.
    assert neutralising_mass("Citric Acid", "Triethanolamine", "1 g") == pytest.approx(3 * 149.19 / 192.12)
    assert neutralising_mass("Lactic Acid", "Arginine", "1 g") == pytest.approx(174.20 / 90.08)
    # At pKa 3.86 both protons of the carbonate count, at the 6.396 of citric acid one.
    assert neutralising_mass("Lactic Acid", "Sodium Carbonate", "1 g") == pytest.approx(105.99 / 90.08 / 2)
    assert neutralising_mass("Citric Acid", "Sodium Carbonate", "1 g") == pytest.approx(3 * 105.99 / 192.12)
    with pytest.raises(
        RangeError, match=r"Triethanolamine is too weak to take the last proton of Phosphoric Acid \(pKa"
    ):
        neutralising_mass("Phosphoric Acid", "Triethanolamine", "1 g")


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
    assert undissociated_fraction(4.2, 4.2) == pytest.approx(0.5)
    assert undissociated_fraction(3, 4.2) > undissociated_fraction(6, 4.2)


@given(SOLUTIONS)
def test_ph_and_ionic_strength_agree_with_each_other(solution: Solution) -> None:
    assume(balance(LOWEST_PH, solution) > 0.5 > -0.5 > balance(HIGHEST_PH, solution))
    found = solution.equilibrium()
    excess, _, strength = solution.sums(found.ph, log_activity(found.ionic_strength))
    assert excess == pytest.approx(0, abs=1e-9)
    assert strength == pytest.approx(found.ionic_strength, abs=1e-6)
    assert bool(found.findings) == (found.ionic_strength > 0.5)
    assert solution.equilibrium(Equilibrium(3.0, 0.2)).ph == pytest.approx(found.ph, abs=1e-6)


@given(SOLUTES, st.floats(1e-9, 1e-5))
def test_an_endlessly_thin_solution_is_ideal(solute: Solute, molar: float) -> None:
    thin = Solution((Solute(molar, solute.pka, 0),))
    assert thin.equilibrium().ph == pytest.approx(thin.ph, abs=0.01)


def test_salt_moves_a_buffer() -> None:
    """An anion of charge two is more at home in salt water: phosphate falls by some 0.26 in 0.1 mol/kg."""
    plain = Solution((Solute(0.001, (2.148, 7.198, 12.375)),), 0.0015)
    salty = Solution(plain.solutes, plain.strong, salt=0.1)
    assert salty.ph == plain.ph
    assert plain.equilibrium().ph - salty.equilibrium().ph == pytest.approx(3 * (0.1069 - 0.0215), abs=0.01)


ACIDS = st.sampled_from([key for key, each in acids().items() if each.kind == "acid"])
BASES = st.sampled_from([key for key, each in acids().items() if each.kind == "base"])
SALTS = st.sampled_from([key for key, each in acids().items() if each.kind == "salt"])


PRODUCTS = st.tuples(ACIDS, st.floats(0.05, 5), SALTS, st.floats(0, 3)).map(lambda t: {t[0]: t[1], t[2]: t[3]})


@given(PRODUCTS, BASES, st.floats(1, 100), st.floats(1, 1000), st.floats(2, 12))
def test_the_computed_stock_reaches_the_ph(
    product: dict[str, float], base: str, percent: float, mass: float, target: float
) -> None:
    stock = {base: percent}
    try:
        dose = stock_to_reach(target, product, stock, f"{all_digits(mass)} g")
    except RangeError:
        strong = not acid(base).pka  # lye leads anywhere above the product's own pH
        assert not strong or target < mixed(product, {}, mass, 0).equilibrium().ph + 0.02
        return
    found = mixed(product, stock, mass, dose.grams).equilibrium()
    assert found.ph == pytest.approx(target, abs=1e-4)
    assert found.ionic_strength == pytest.approx(dose.ionic_strength, abs=1e-3)
    twice = stock_to_reach(target, product, stock, f"{all_digits(2 * mass)} g")
    assert twice.grams == pytest.approx(2 * dose.grams, rel=1e-6)


def test_what_a_stock_cannot_do_is_said_with_both_ph() -> None:
    with pytest.raises(
        RangeError, match=r"computed to stand at pH 2\.\d\d, the stock at 10\.\d\d: mixing them gives not"
    ):
        stock_to_reach(11.5, {"Lactic Acid": 1}, {"Triethanolamine": 10}, "100 g")
    with pytest.raises(RangeError, match=r"pH 5 would take more than 100 times its mass\. Use a stronger stock"):
        stock_to_reach(5, {"Lactic Acid": 5}, {"Sodium Lactate": 0.01}, "100 g")


def test_carbonates_fizz() -> None:
    (finding,) = stock_to_reach(6, {"Citric Acid": 0.5}, {"Sodium Bicarbonate": 5}, "100 g").findings
    assert finding.sentence.startswith("Computed with all carbon dioxide still in the water.")
    dose = stock_to_reach(5.5, {"Citric Acid": 0.5}, {"Triethanolamine": 20}, "100 g")
    assert dose.findings == []
    assert dose.sentence.startswith("Computed, pH 5.5 takes about 4.")
    assert "creep up" in dose.sentence
