"""Batches: the weighings add up exactly, and small ones say what would be enough."""

from __future__ import annotations

from decimal import Decimal
from math import inf
from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.bench.weighing import MOST, Batch, smallest_sound_batch, sound_batches, sound_in_words, weigh
from kit.demos import demo
from kit.errors import EntryError, RangeError, UnitError
from kit.formula.model import Formula, Line, Phase
from kit.rounding import all_digits
from kit.units import quantity
from tests.layers.some_formulas import formulas, two_layers

STEPS = st.sampled_from([0.001, 0.01, 0.02, 0.05, 0.1, 0.5, 1.0])
MASSES = st.floats(5, 20000)
TOLERANCES = st.sampled_from([0.1, 0.5, 1.0, 2.0, 7.0, 50.0])


def adds_up(batch: Batch) -> None:
    d = Decimal(repr(batch.balance.readability))
    grams = [Decimal(repr(w.grams)) for w in batch.weighings]
    assert sum(grams) == Decimal(repr(batch.mass))
    assert all(g % d == 0 for g in grams)
    off = [abs(g - Decimal(repr(w.target))) for w, g in zip(batch.weighings, grams, strict=True)]
    largest = max(range(len(off)), key=lambda n: batch.weighings[n].target)
    nearest = all(each <= d / 2 for n, each in enumerate(off) if n != largest)
    assert nearest or max(off) < d, "each at its nearest step but the largest, which takes the rest if it can bear it"
    for w in batch.weighings:
        assert w.target == pytest.approx(w.percent * batch.mass / 100, rel=1e-7)
    assert sum(batch.phase_grams(p) for p in range(len(batch.formula.phases))) == pytest.approx(batch.mass)


@given(formulas(other=True), MASSES, STEPS)
def test_the_weighings_add_to_the_batch_exactly(formula: Formula, mass: float, step: float) -> None:
    batch = weigh(formula, f"{all_digits(mass)} g", Balance(step, 500))
    assert abs(batch.mass - mass) <= step / 2 * (1 + 1e-9)
    adds_up(batch)


def test_two_thousand_batches_from_a_fixed_seed() -> None:
    random = Random(41)
    for n in range(2000):
        mass = 10 ** random.uniform(0.7, 4.5)
        adds_up(
            weigh(
                two_layers(random, other=n % 3 == 0),
                f"{all_digits(mass)} g",
                Balance(random.choice([0.001, 0.01, 0.5])),
            )
        )


def test_a_total_just_off_a_hundred_still_adds_up() -> None:
    formula = Formula("Off", (Phase("W", "water", (Line("Aqua", "60.0000009"), Line("Glycerin", "40"))),))
    adds_up(weigh(formula, "5000 kg", Balance(0.01, 500)))


@given(formulas(), st.floats(10, 1000), st.integers(2, 20))
def test_scaling_scales_every_target(formula: Formula, mass: float, times: int) -> None:
    small = weigh(formula, f"{round(mass)} g", Balance(1, 500))
    large = weigh(formula, f"{round(mass) * times} g", Balance(1, 500))
    assert [w.target for w in large.weighings] == pytest.approx([times * w.target for w in small.weighings])


def small_ones(batch: Batch) -> list[str]:
    return [w.material for w in batch.small]


@given(formulas(other=True), MASSES, STEPS, TOLERANCES)
def test_the_advised_batch_is_enough(formula: Formula, mass: float, step: float, tolerance: float) -> None:
    balance = Balance(step, 1e9)
    batch = weigh(formula, f"{all_digits(mass)} g", balance, tolerance)
    for weighing in batch.small:
        advised = batch.sound_from(weighing)
        if advised == inf:
            assert smallest_sound_batch(formula, balance, tolerance) > 0.99 * MOST
            continue
        assert advised > batch.mass
        again = weigh(formula, f"{all_digits(advised)} g", balance, tolerance)
        assert (weighing.phase, weighing.line) not in [(w.phase, w.line) for w in again.small]


@given(formulas(other=True), MASSES, STEPS, TOLERANCES)
def test_small_weighings_are_one_finding_that_names_each(
    formula: Formula, mass: float, step: float, tolerance: float
) -> None:
    batch = weigh(formula, f"{all_digits(mass)} g", Balance(step, 1e9), tolerance)
    found = [f for f in batch.findings if "small for a balance" in f.sentence]
    assert len(found) == bool(batch.small)
    assert all(w.material in found[0].sentence for w in batch.small)


@given(formulas(other=True), STEPS, TOLERANCES)
def test_the_smallest_sound_batch_is_just_enough(formula: Formula, step: float, tolerance: float) -> None:
    balance = Balance(step, 1e9)
    least = smallest_sound_batch(formula, balance, tolerance)
    assert Decimal(repr(least)) % Decimal(repr(step)) == 0
    assert small_ones(weigh(formula, f"{all_digits(least)} g", balance, tolerance)) == []
    below = float(Decimal(repr(least)) - Decimal(repr(step)))
    assume(below > 0)
    assert small_ones(weigh(formula, f"{all_digits(below)} g", balance, tolerance)) != []


@given(formulas(other=True), MASSES, STEPS, TOLERANCES)
def test_the_smallest_sound_batch_and_the_findings_agree(
    formula: Formula, mass: float, step: float, tolerance: float
) -> None:
    balance = Balance(step, 1e9)
    batch = weigh(formula, f"{all_digits(mass)} g", balance, tolerance)
    assert (small_ones(batch) == []) is (batch.mass >= smallest_sound_batch(formula, balance, tolerance))


def toner(*more: Line) -> Formula:
    return Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "3"), *more)),))


def test_a_small_weighing_says_what_to_do() -> None:
    batch = weigh(toner(Line("Tocopherol", "0.05")), "250 g", Balance(0.01, 500), tolerance=1)
    (finding,) = batch.findings
    # 0.05 % of 250 g is 0.125 g; at 1 % the least is 2 x 0.41 x 0.01 / 0.01 = 0.82 g, so 1640 g are enough.
    assert finding.sentence == (
        "0.12 g of Tocopherol is small for a balance that reads 0.01 g: below 0.82 g it can be off by more than 1 %. "
        "Make 1700 g or more, weigh it as a stock, or use a finer balance."
    )
    assert finding.severity == "caution"
    assert (finding.place.phase, finding.place.line, finding.place.field) == (0, 2, "grams")
    assert finding.source.startswith("USP general chapter 41")
    assert smallest_sound_batch(batch.formula, batch.balance, 1) == 1640


def test_seven_small_lines_are_told_in_one_sentence_with_their_batches() -> None:
    more = (Line("Tocopherol", "0.5"), Line("Parfum", "1"), Line("CI 42090", "0.0001"))
    (finding,) = weigh(toner(*more), "200 g", Balance(0.1, 2000)).findings
    # at 1 % the least is 2 x 0.41 x 0.1 / 0.01 = 8.2 g: 3 % of 274 g, 0.5 % of 1640 g, 1 % of 820 g. Of the dye
    # 0.0002 g are needed; a stock of 100 x 0.0002 / 8.2 % would do just so, and 0.002 % is the next round one below.
    assert finding.sentence == (
        "4 lines are small for a balance that reads 0.1 g (below 8.2 g it can be off by more than 1 %): Glycerin 6 g "
        "(sound from 280 g), Tocopherol 1 g (sound from 1700 g), Parfum 2 g (sound from 820 g), CI 42090 0.0002 g. "
        "Make a batch so large, weigh them as stocks, or use a finer balance. CI 42090: weigh it as a stock of "
        "0.002 %, made in steps; 10 g of that hold what is needed."
    )
    assert (finding.place.phase, finding.place.field) == (None, "mass")


def test_a_huge_batch_is_no_advice_but_a_stock_that_is_weighable() -> None:
    (finding,) = weigh(toner(Line("Tocopherol", "1 ppm")), "100 g", Balance(0.01, 500)).findings
    assert finding.sentence.endswith(
        "Tocopherol: weigh it as a stock of 0.01 %, made in steps; 1 g of that hold what is needed."
    )
    assert Balance(0.01, 500).least_weight(1) <= 1


def test_a_trace_that_no_batch_could_hold_asks_for_a_finer_balance() -> None:
    trace = Formula("Trace", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Panthenol", "2.2e-308"))),))
    (finding,) = weigh(trace, "250 g").findings
    assert finding.sentence.endswith("not even a stock helps in a batch so small; make more, or use a finer balance.")
    said = sound_in_words(smallest_sound_batch(trace, Balance()), 1)
    assert said == "No batch up to a tonne keeps every line within 1 %: make the smallest parts as a stock."


def test_a_load_beyond_the_balance_is_said() -> None:
    balance = Balance(0.1, 500)
    assert weigh(toner(), "510 g", balance, 10).findings == []
    (finding,) = weigh(toner(), "600 g", balance, 10).findings
    assert finding.sentence == ("582 g is more than the balance carries, 500 g with the vessel. Weigh it in parts.")
    assert finding.place.field == "mass"


def test_a_line_of_nothing_is_no_small_weighing_and_a_blank_line_no_weighing() -> None:
    batch = weigh(toner(Line("Parfum", "0"), Line()), "250 g")
    assert [(w.material, w.grams) for w in batch.weighings] == [
        ("Aqua", 242.5),
        ("Glycerin", 7.5),
        ("Parfum", 0.0),
    ]
    assert batch.findings == []
    assert batch.weighings[2].rounding_error == 0


def test_the_rounding_error_is_of_the_wanted_amount() -> None:
    batch = weigh(toner(), "1.1 g", Balance(0.1, 500))
    glycerin = batch.weighings[1]
    # By hand: 3 % of 1.1 g is 0.033 g, weighed as 0.0 g on this balance: 100 % short.
    assert glycerin.grams == 0.0
    assert glycerin.rounding_error == pytest.approx(-100)


def test_mass_is_a_quantity() -> None:
    assert weigh(toner(), "0.25 kg").mass == weigh(toner(), quantity(250, "g")).mass == 250
    assert weigh(toner(), quantity(1, "lb")).mass == 453.59
    with pytest.raises(UnitError, match=r'batch mass has no unit \(got 250\)\. Write "250 g"\.'):
        weigh(toner(), 250)
    with pytest.raises(UnitError, match=r'batch mass has no unit \(got \'250\'\)\. Write "250 g"\.'):
        weigh(toner(), "250")
    with pytest.raises(UnitError, match="batch mass must be an amount that can be turned into g, got 250"):
        weigh(toner(), "250 mL")
    with pytest.raises(UnitError, match=r"batch mass: the unit 'spoons' is not known\. Write it in g"):
        weigh(toner(), "3 spoons")
    with pytest.raises(EntryError, match="'a lot' does not start with a number"):
        weigh(toner(), "a lot")


@pytest.mark.parametrize(("mass", "said"), [("0 g", "0"), ("-5 g", "-5"), ("4 mg", "0.004")])
def test_a_batch_below_one_step_is_refused(mass: str, said: str) -> None:
    with pytest.raises(
        RangeError, match=rf"A batch of {said} g is less than one step of the balance, 0\.01 g\. Make more\."
    ):
        weigh(toner(), mass)


def test_an_incomplete_formula_is_not_weighed() -> None:
    with pytest.raises(RangeError, match=r"Toner cannot be weighed yet: Parfum \(line 3 of Water\) has no amount"):
        weigh(toner(Line("Parfum", "")), "250 g")
    with pytest.raises(RangeError, match=r"Short cannot be weighed yet: it adds to 90 %, not 100 %\."):
        smallest_sound_batch(Formula("Short", (Phase("W", "water", (Line("Aqua", "90"),)),)), Balance())


def test_a_tolerance_of_nothing_is_refused() -> None:
    for tolerance in (0, -1):
        with pytest.raises(RangeError, match="The tolerance of a weighing must be more than 0 %"):
            _ = weigh(toner(), "250 g", tolerance=tolerance).findings
        with pytest.raises(RangeError, match="The tolerance of a weighing must be more than 0 %"):
            smallest_sound_batch(toner(), Balance(), tolerance)


def test_the_table_of_the_demo() -> None:
    batch = weigh(demo(), "250 g")
    table = batch.table()
    assert list(table.columns) == ["phase", "ingredient", "percent w/w", "target g", "weigh g", "rounding %"]
    assert table["weigh g"].sum() == pytest.approx(250)
    assert list(table.loc[1]) == ["Water layer", "Glycerin", 4.0, 10.0, 10.0, 0.0]
    assert [batch.phase_grams(p) for p in (0, 1)] == [212.5, 37.5]


@given(formulas(other=True), STEPS)
def test_half_the_tolerance_takes_twice_the_batch(formula: Formula, step: float) -> None:
    found = sound_batches(formula, Balance(step, 1e9), (0.5, 1.0, 2.0))
    assert list(found) == [0.5, 1.0, 2.0]
    assert found[0.5] == pytest.approx(2 * found[1.0], abs=2 * step)
    assert found[1.0] == pytest.approx(2 * found[2.0], abs=2 * step)
