"""A log of stock and pH, read between its points and carried to the next batch."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.bench.titration import Dose, Reading, Titration, as_line
from kit.demos import demo
from kit.errors import EntryError, RangeError, UnitError
from kit.formula.model import Formula, Line, Phase
from kit.rounding import all_digits

LOG = [(0, 6.2), (1, 5.1), (2, 4.4), (3, 4.1)]


@st.composite
def falling_logs(draw: st.DrawFn) -> list[tuple[float, float]]:
    steps = draw(st.lists(st.tuples(st.floats(0.01, 5), st.floats(0.01, 0.9)), min_size=1, max_size=8))
    grams, ph = 0.0, 11.0
    found = [(grams, ph)]
    for more, down in steps:
        grams, ph = grams + more, ph - down
        found.append((grams, ph))
    return found


@given(falling_logs(), st.floats(0, 1), st.randoms(use_true_random=False))
def test_the_dose_lies_where_linear_interpolation_puts_it(
    log: list[tuple[float, float]], share: float, random: object
) -> None:
    lowest, highest = log[-1][1], log[0][1]
    target = lowest + share * (highest - lowest)
    assume(lowest <= target <= highest)
    mixed = list(log)
    random.shuffle(mixed)  # type: ignore[attr-defined]
    dose = Titration.of("100 g", mixed).to_reach(target)
    judged = np.interp(-target, [-ph for _, ph in log], [grams for grams, _ in log])
    assert dose.grams == pytest.approx(judged, abs=1e-9)
    assert dose.low.grams <= dose.grams <= dose.high.grams
    assert dose.high.ph <= target <= dose.low.ph


@given(falling_logs(), st.floats(0.01, 5))
def test_nothing_is_extrapolated(log: list[tuple[float, float]], beyond: float) -> None:
    titration = Titration.of("100 g", log)
    for target in (log[-1][1] - beyond, log[0][1] + beyond):
        with pytest.raises(RangeError, match=r"lies outside what was measured.*nothing is guessed beyond it"):
            titration.to_reach(target)


@given(falling_logs(), st.floats(0.1, 1000))
def test_a_dose_scales_with_the_sample(log: list[tuple[float, float]], mass: float) -> None:
    target = (log[0][1] + log[-1][1]) / 2
    one = Titration.of("100 g", log).to_reach(target)
    other = Titration.of(f"{all_digits(mass)} g", [(grams * mass / 100, ph) for grams, ph in log]).to_reach(target)
    assert other.per_100 == pytest.approx(one.per_100)
    assert other.percent == pytest.approx(one.percent)


def test_a_target_that_was_measured_is_that_reading() -> None:
    dose = Titration.of("50 g", LOG).to_reach(5.1)
    assert (dose.grams, dose.low, dose.high) == (1, Reading(1, 5.1), Reading(1, 5.1))
    assert dose.sentence == "pH 5.1 was measured itself, at 1 g of stock: 2 g per 100 g of product."
    assert Titration.of("50 g", LOG).to_reach(6.2).grams == 0
    assert Titration.of("50 g", LOG).to_reach(4.1).grams == 3


def test_the_interval_is_said() -> None:
    dose = Titration.of("200 g", LOG).to_reach(4.75)
    assert dose.grams == pytest.approx(1.5)
    assert dose.per_100 == pytest.approx(0.75)
    assert dose.percent == pytest.approx(100 * 1.5 / 201.5)
    assert "on the straight line between 1 g (pH 5.1) and 2 g (pH 4.4)" in dose.sentence


def test_a_base_raises_the_ph_just_as_well() -> None:
    assert Titration.of("100 g", [(0, 3.5), (1, 4.5), (2, 6.5)]).to_reach(5.5).grams == pytest.approx(1.5)


def test_readings_of_one_amount_become_their_mean() -> None:
    titration = Titration.of("100 g", [(0, 6.0), (1, 5.1), (1, 4.9), (2, 4.0)])
    assert [one.ph for one in titration.readings] == pytest.approx([6.0, 5.0, 4.0])
    ((number, titre),) = titration.repeats
    assert number == 1
    assert titre == pytest.approx(0.2)
    (finding,) = titration.findings
    assert finding.severity == "caution"
    assert finding.sentence == "The readings at 1 g differ by 0.2: their mean is used."
    assert Titration.of("100 g", [(0, 6.0), (1, 5.05), (1, 5.0)]).findings == []


def test_a_step_back_and_a_gap_are_said() -> None:
    back = Titration.of("100 g", [(0, 6.0), (1, 5.0), (2, 5.3), (3, 4.6)]).findings
    assert [f.severity for f in back] == ["caution"]
    assert "From 1 to 2 g the pH goes up by 0.3, against all the rest" in back[0].sentence
    gap = Titration.of("100 g", [(0, 7.0), (1, 4.9)]).findings
    assert [f.severity for f in gap] == ["note"]
    assert "Between 0 and 1 g the pH moves by 2.1: too far for a straight line" in gap[0].sentence
    # As far as a meter wavers is no step back.
    assert Titration.of("100 g", [(0, 6.0), (1, 5.0), (2, 5.04), (3, 4.6)]).findings == []
    up = Titration.of("100 g", [(0, 4.0), (1, 4.8), (2, 4.5), (3, 5.2)]).findings
    assert "the pH goes down by 0.3" in up[0].sentence


def test_a_target_passed_twice_is_refused_with_the_places() -> None:
    titration = Titration.of("100 g", [(0, 6.0), (1, 4.6), (2, 5.2), (3, 4.2)])
    with pytest.raises(RangeError, match="pass pH 5 more than once: at 0 to 1 g and 1 to 2 g and 2 to 3 g"):
        titration.to_reach(5.0)
    assert titration.to_reach(4.5).low == Reading(2, 5.2)
    # Two readings at the very target are two places as well.
    with pytest.raises(RangeError, match="more than once: at 1 to 1 g and 2 to 2 g"):
        Titration.of("100 g", [(0, 6.0), (1, 5.0), (2, 5.0), (3, 4.2)]).to_reach(5.0)


@pytest.mark.parametrize(
    ("product", "readings", "words"),
    [
        ("0 g", LOG, r"The product must weigh more than 0 g, got 0 g\."),
        ("100 g", [], "Two readings at least are needed.*There is none yet"),
        ("100 g", [(1, 5.0), (1, 5.1)], "There is only one amount yet"),
        ("100 g", [(0, 15), (1, 5)], r"A pH of 15 is off the scale of a meter, 0 to 14\."),
        ("100 g", [(0, float("nan")), (1, 5)], "A pH of nan is off the scale"),
        ("100 g", [(-1, 5), (1, 5)], r"must be 0 g or more, got -1 g\. Count all that has gone in so far\."),
        ("100 g", [(float("inf"), 5), (1, 5)], "must be 0 g or more, got inf"),
    ],
)
def test_a_log_that_cannot_be(product: str, readings: list[tuple[float, float]], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        Titration.of(product, readings)


def test_the_sample_needs_its_unit() -> None:
    with pytest.raises(UnitError, match=r'product has no unit \(got 100\)\. Write "100 g"\.'):
        Titration.of(100, LOG)


# ---- carried to a formula -----------------------------------------------------------------------------------


def dose_of(per_100: float) -> Dose:
    return Dose(5.0, per_100, 100.0, Reading(0, 6), Reading(2 * per_100 or 1, 4))


@given(st.floats(0.001, 20))
def test_every_other_line_keeps_its_ratio_to_the_stock_as_measured(per_100: float) -> None:
    formula = demo()
    made = as_line(formula, dose_of(per_100), "Sodium Hydroxide 10 % stock")
    after = {line.material: percent or 0.0 for *_, line, percent in made.formula.each_line()}
    assert made.formula.is_complete
    assert after["Sodium Hydroxide 10 % stock"] == pytest.approx(per_100, abs=1e-5)
    for *_, line, percent in formula.each_line():
        lost = made.added if line.material == "Aqua" else 0.0
        assert after[line.material] == pytest.approx((percent or 0.0) - lost, abs=1e-9)
    assert made.left == pytest.approx(after["Aqua"])


def test_more_of_a_stock_that_is_there_joins_its_line() -> None:
    made = as_line(demo(), dose_of(1.25), "citric acid 10 % STOCK")
    assert (made.line.material, made.line.entry, made.added) == ("Citric Acid 10 % stock", "4.75", 1.25)
    assert made.displaced == "Aqua"
    assert sum(line.material == "Citric Acid 10 % stock" for *_, line, _ in made.formula.each_line()) == 1


def test_without_qs_the_line_that_fills_the_water_gives_way() -> None:
    lines = (Line("Aqua", "95", "fill"), Line("Glycerin", "5"))
    toner = Formula("Toner", (Phase("Oil", "oil"), Phase("Water", "water", lines)))
    made = as_line(toner, dose_of(1.23456789), "Stock")
    assert made.formula.is_complete
    assert made.formula.phases[1].lines[0].entry == "93.76543"
    assert made.formula.phases[made.phase].lines[-1] == Line("Stock", "1.23457", "share")


def test_grams_without_a_batch_mass_become_percents_first() -> None:
    lines = (Line("Aqua", "190 g", "fill"), Line("Glycerin", "10 g"))
    made = as_line(Formula("Toner", (Phase("Water", "water", lines),)), dose_of(2), "Stock")
    assert made.formula.is_complete
    assert [percent for *_, percent in made.formula.each_line()] == pytest.approx([93, 5, 2])


def test_a_line_that_cannot_be_made() -> None:
    still = Formula("Balm", (Phase("Water", "water", (Line("Aqua", "95"), Line("Glycerin", "5"))),))
    with pytest.raises(RangeError, match=r"No line of Balm fills up to 100 %.*Type q\.s\. for its water"):
        as_line(still, dose_of(1), "Stock")
    with pytest.raises(EntryError, match="Name the stock that was added"):
        as_line(demo(), dose_of(1), " ")
    with pytest.raises(RangeError, match=r"80 % of Stock is more than the 74\.4 % of Aqua\. Use a stronger stock\."):
        as_line(demo(), dose_of(80), "Stock")
    with pytest.raises(RangeError, match="aqua is itself the line that fills up to 100 %"):
        as_line(demo(), dose_of(1), "aqua")
    with pytest.raises(RangeError, match="cannot be adjusted yet: it adds to 95 %"):
        as_line(Formula("Half", (Phase("Water", "water", (Line("Aqua", "95"),)),)), dose_of(1), "Stock")
