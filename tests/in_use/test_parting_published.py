"""Trials of parting against figures in print; each with its source beside it."""

from __future__ import annotations

import math

import pytest
from scipy.stats import CensoredData, binomtest, logrank, ttest_ind

from kit.errors import RangeError
from kit.in_use.interface import HINZE, capillary_length, critical_weber, largest_drop, tension_effect
from kit.in_use.parting_compare import Time, log_rank, rank_ratio, welch, welch_ratio
from kit.in_use.parting_fit import PartingLaw, fit_parting
from kit.in_use.parting_trial import Reading
from kit.in_use.shake_share import least_share, most_share, trials_for_share
from kit.layers.timed import drop_share_from_speed
from kit.layers.velocity import hindrance, stokes_velocity
from tests.present import present
from tests.rows import each_of

#: Extra hours of sleep after two medicines: Student, Biometrika 6 (1908) 1, as R's data set "sleep" has them.
SLEEP = (
    [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0],
    [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4],
)
#: Weeks in remission with 6-mercaptopurine and with none, and whether it ended: Freireich and others, Blood 21 (1963)
#: 699, as printed in courses of survival analysis.
TREATED = [(t, True) for t in (6, 6, 6, 7, 10, 13, 16, 22, 23)] + [
    (t, False) for t in (6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)
]
PLACEBO = [(t, True) for t in (1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)]


def test_exact_binomial_bounds() -> None:
    # NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1: 4 of 20, 90 %: 0.071354 to 0.401029 (last figure by a
    # root finder; the beta distribution has 0.401028)
    assert least_share(4, 20, 95) == pytest.approx(0.071354, abs=5e-7)
    assert most_share(4, 20, 95) == pytest.approx(0.401029, abs=1.5e-6)
    # a printed table of exact intervals: 3 of 20 and 12 of 30, 95 and 90 % two-sided: 0.0321, 0.3789; 0.2495, 0.5661
    assert (least_share(3, 20, 97.5), most_share(3, 20, 97.5)) == pytest.approx((0.0321, 0.3789), abs=5e-5)
    assert (least_share(12, 30, 95), most_share(12, 30, 95)) == pytest.approx((0.2495, 0.5661), abs=5e-5)
    # "59 of 59 for 95 % at 95 %", the success run of reliability handbooks (from memory); SciPy's own as a judge
    assert trials_for_share(0.95) == 59
    for k, n in ((0, 3), (1, 7), (5, 5), (18, 20)):
        judge = binomtest(k, n, alternative="greater").proportion_ci(0.95, "exact")
        assert least_share(k, n) == pytest.approx(float(judge.low), abs=1e-12)


def test_welch() -> None:
    # R's manual page of t.test, data "sleep": t = -1.8608, df = 17.776, p = 0.07939, -3.3654832 to 0.2054832
    difference, error, freedom = welch(*SLEEP)
    assert (difference / error, freedom) == pytest.approx((-1.8608, 17.776), abs=(5e-4))
    found = welch_ratio([math.exp(x) for x in SLEEP[0]], [math.exp(x) for x in SLEEP[1]])
    assert found.p == pytest.approx(0.07939, abs=5e-6)
    assert (math.log(found.low), math.log(found.high)) == pytest.approx((-3.3654832, 0.2054832), abs=5e-7)
    assert found.p == pytest.approx(float(ttest_ind(*SLEEP, equal_var=False).pvalue), rel=1e-9)
    assert not found.tells


def test_log_rank() -> None:
    # R's survdiff and textbooks of survival analysis on these data: chi-squared 16.8 (16.79), p = 4e-05
    assert log_rank(PLACEBO, TREATED) ** 2 == pytest.approx(16.79, abs=0.005)
    groups = [
        CensoredData(uncensored=[t for t, e in g if e], right=[t for t, e in g if not e]) for g in (PLACEBO, TREATED)
    ]
    judge = logrank(*groups)
    assert log_rank(PLACEBO, TREATED) == pytest.approx(float(judge.statistic), rel=1e-9)
    found = rank_ratio(TREATED, PLACEBO)
    assert found.p == pytest.approx(4.17e-5, rel=2e-3)
    # medians 23 and 8 weeks (Kaplan and Meier, printed with the same data): the ratio lies in the interval
    assert found.low < 23 / 8 < found.high
    assert present(found.value) == pytest.approx(23 / 8, rel=0.5)


def test_hinze_and_the_capillary_length() -> None:
    # M. Sevik and S. H. Park, J. Fluids Eng. 95 (1973) 53, abstract: Hinze's critical Weber number is 0.59
    assert abs(HINZE ** (5 / 3) - 0.59) < 0.006
    for tension, density, power in ((35.0, 0.998, 10.0), (5.0, 0.86, 200.0)):
        drop = largest_drop(tension, density, power)
        assert critical_weber(drop, tension, density, power) == pytest.approx(HINZE ** (5 / 3), rel=1e-12)
    # water against air at 20 °C, 72.8 mN/m: 2.7 mm (encyclopedia pages on the capillary length)
    assert capillary_length(72.8, 0.997) == pytest.approx(2.7, abs=0.05)
    # J. O. Hinze (1955): size goes with the 3/5 power of the tension; G. G. Stokes (1851): time with its square
    found = tension_effect(4.0, 32.0)
    assert found.drops == pytest.approx(largest_drop(4.0, 1.0, 50.0) / largest_drop(32.0, 1.0, 50.0), rel=1e-12)
    slower = stokes_velocity(100.0, 0.9, 1.0, 1.0) / stokes_velocity(100.0 * found.drops, 0.9, 1.0, 1.0)
    assert found.settling == pytest.approx(slower, rel=1e-12)
    # (4 / 32) ^ 0.6 = 0.287 of the size, and 1 / 0.287² = 12.1 times the time
    assert found.sentence().startswith(
        "At the same shaking, drops at 4 mN/m are 0.29 times as large as at 32 mN/m (Hinze), and by Stokes such drops "
        "settle in 12 times the time."
    )


def test_hindered_settling() -> None:
    # examination item (chemical engineering, mechanical operations): 1.7 of 17 mm/s, index 4.5: a share of 0.40
    assert drop_share_from_speed(1.7, 17.0, 4.5) == pytest.approx(0.40, abs=0.005)
    # G. J. Kynch, Trans. Faraday Soc. 48 (1952) 166: while the shares above stay even, the edge moves at one speed; so
    # a crowd at that share clears 60 mm less the drops' own layer, 24 mm, in 36 mm / 1.7 mm/s
    law = PartingLaw(final=36.0, speed=17.0 * hindrance(0.40, 4.5), settling=1.0)
    assert law.time_until(0.999999) == pytest.approx(36.0 / 1.7, rel=0.01)
    fit = fit_parting([Reading(t, law.height(t)) for t in (3, 6, 9, 12, 15, 18)], 36.0)
    assert fit.law.speed == pytest.approx(law.speed, rel=1e-4)
    assert fit.law.settling > 0.98 or fit.law.turn > 18


def test_merging_in_proportion_to_what_is_left() -> None:
    # S. Hartland and S. A. K. Jeelani (1988), merging in proportion to the packed layer (from memory): equal parts of
    # the rest in equal times; the half-life is ln 2 and the tenth-life ln 10 of the time constant
    law = PartingLaw(final=50.0, speed=0.25, settling=0.0)
    assert law.merging == 200.0
    assert law.time_until(0.5) == pytest.approx(200 * 0.693147, abs=1e-3)
    assert law.time_until(0.9) == pytest.approx(200 * 2.302585, abs=1e-3)
    half = PartingLaw(final=50.0, speed=0.25, settling=0.4)
    first = half.time_until(0.7) - half.turn
    assert half.time_until(0.85) - half.time_until(0.7) == pytest.approx(first, rel=1e-12)


def test_what_cannot_be_is_refused() -> None:
    for work in (
        lambda: least_share(3, 2),
        lambda: least_share(0, 0),
        lambda: trials_for_share(1.0),
        lambda: welch_ratio([1.0], [1.0, 2.0]),
        lambda: rank_ratio([], [(1.0, True)]),
        lambda: largest_drop(0, 1, 1),
        lambda: PartingLaw(1, 1, 1.2),
    ):
        with pytest.raises(RangeError):
            work()


def test_tensions_in_figures_worked_out_by_hand() -> None:
    # √(0.0728 N/m / (998 kg/m³ × 9.80665 m/s²)) = √7.438411e-6 m
    assert capillary_length(72.8, 0.998) == pytest.approx(2.727345, rel=1e-6)
    # 0.725 (0.03 / 1000)^0.6 10^-0.4 m: 0.725 × 1.931e-3 × 0.39811
    assert largest_drop(30.0, 1.0, 10.0) == pytest.approx(0.725 * 3e-5**0.6 * 10**-0.4 * 1e6)
    assert largest_drop(30.0, 1.0, 10.0) == pytest.approx(557.5, abs=0.5)
    # 1000 × 10^(2/3) × (1e-4)^(5/3) / 0.03
    assert critical_weber(100.0, 30.0, 1.0, 10.0) == pytest.approx(1000 * 4.641589 * 2.154435e-7 / 0.03, rel=1e-6)


@each_of(
    "work",
    [
        lambda: largest_drop(1e300, 1e-300, 1e-300),
        lambda: critical_weber(1e300, 1.0, 1.0, 1e300),
        lambda: capillary_length(1e300, 1e-300),
        lambda: tension_effect(1e-300, 1e300),
        lambda: largest_drop(1.0, 1.0, 0.0),
        lambda: critical_weber(0.0, 1.0, 1.0, 1.0),
        lambda: capillary_length(1.0, -1.0),
        lambda: tension_effect(math.inf, 1.0),
    ],
)
def test_a_tension_that_cannot_be_is_refused(work: object) -> None:
    with pytest.raises(RangeError):
        work()  # type: ignore[operator]


def test_a_bound_is_taken_at_levels_from_50_to_below_100() -> None:
    # by hand: 1 - (1 - p)² = 0.5 for one success of two; 0.5^(1/2) for two of two; one trial for half at 50 %
    assert least_share(1, 2, 50) == pytest.approx(1 - math.sqrt(0.5))
    assert least_share(2, 2, 50) == pytest.approx(math.sqrt(0.5))
    assert trials_for_share(0.5, 50) == 1
    assert trials_for_share(0.25, 75) == 1  # 1 - 0.75 is just the share
    for level in (49.9, 100, math.nan):
        with pytest.raises(RangeError, match="a level from 50"):
            least_share(1, 2, level)
        with pytest.raises(RangeError, match="a level from 50"):
            trials_for_share(0.9, level)
    for share in (0.0, -0.5, 1.0):
        with pytest.raises(RangeError, match="Choose a share between 0 and 1"):
            trials_for_share(share)
    for successes, trials in ((-1, 2), (3, 2), (0, 0), (1, 1_000_000_001)):
        with pytest.raises(RangeError, match="there must be a trial or more"):
            least_share(successes, trials)
        with pytest.raises(RangeError, match="there must be a trial or more"):
            most_share(successes, trials)
    assert least_share(1_000_000_000, 1_000_000_000) < 1


@each_of(
    ("times", "base"),
    [
        (TREATED, PLACEBO),
        (PLACEBO, TREATED),
        ([(600.0, False)] * 4, [(100.0, True), (110.0, True), (90.0, True), (105.0, True)]),
        ([(100.0, True), (150.0, True), (200.0, False)], [(80.0, True), (90.0, False), (130.0, True)]),
        ([(5.0, True)] * 4, [(5.0, True)] * 3 + [(9.0, False)]),
    ],
)
def test_the_interval_of_a_ratio_is_where_the_log_rank_test_lets_it_pass(times: list[Time], base: list[Time]) -> None:
    def apart(ratio: float) -> float:
        return abs(log_rank(times, [(ratio * t, parted) for t, parted in base]))

    found, bound = rank_ratio(times, base), 1.959964  # of the normal distribution, 95 % on both sides
    if found.low > 0:
        assert apart(found.low * 0.9999) > bound >= apart(found.low * 1.0001)
    else:
        assert apart(1e-9) <= bound
    if math.isfinite(found.high):
        assert apart(found.high * 1.0001) > bound >= apart(found.high * 0.9999)
    else:
        assert apart(1e9) <= bound
    assert found.p == pytest.approx(math.erfc(apart(1.0) / math.sqrt(2)))  # two-sided, of the normal distribution
    wide = rank_ratio(times, base, 99.0)
    assert wide.low <= found.low <= found.high <= wide.high


def test_the_last_millimetre_merges_by_the_same_law() -> None:
    # 0.8 mm at 0.01 mm/s from the start by merging alone: 0.8 (1 - exp(-t / 80 s)); with half of it settling first,
    # 0.4 mm in 40 s and then by 40 s
    alone = PartingLaw(0.8, 0.01, 0.0)
    assert [alone.height(t) for t in (0, 80, 160)] == pytest.approx([0, 0.8 * 0.632121, 0.8 * 0.864665], rel=1e-5)
    both = PartingLaw(0.8, 0.01, 0.5)
    assert [both.height(t) for t in (20, 40, 80)] == pytest.approx([0.2, 0.4, 0.4 + 0.4 * 0.632121], rel=1e-5)
    assert (both.turn, both.merging) == pytest.approx((40, 40))
    settles = PartingLaw(40.0, 0.5, 1.0)
    assert [settles.height(t) for t in (0, 40, 80, 1000)] == pytest.approx([0, 20, 40, 40])


def test_groups_that_do_not_scatter_have_the_freedom_of_both() -> None:
    assert welch([1, 1, 1], [2, 2]) == (-1, 0, 3)
    assert welch([1, 2], [1, 2]) == pytest.approx((0, math.sqrt(0.5), 2))  # two equal variances of 1/4
