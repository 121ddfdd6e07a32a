"""Premixes: the same substances, every weighing large enough, as little left over as can be."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.bench.premix import Premix, premix_amounts, premixes, proposals, with_premix
from kit.bench.premix_search import ROUND_STRENGTHS, premixes_in_chain
from kit.bench.serial import DilutionStep
from kit.bench.weighing import Batch, weigh
from kit.demos import demo
from kit.errors import RangeError
from kit.formula.editing import set_line
from kit.formula.expansion import expand
from kit.formula.model import Formula, Line, Phase
from kit.library.ingredient import Stock
from kit.rounding import all_digits
from tests.layers.some_formulas import formulas, materials_of
from tests.present import present

MASSES = st.floats(10, 2000)
BALANCES = st.builds(Balance, st.sampled_from([0.001, 0.01, 0.05, 0.1]), st.sampled_from([300.0, 1e5]))
TOLERANCES = st.sampled_from([0.5, 1.0, 3.0])


def small_lines(formula: Formula, mass: float, balance: Balance, tolerance: float) -> list[str]:
    return [w.material for w in weigh(formula, f"{all_digits(mass)} g", balance, tolerance).small]


def keeps_the_rules_of_a_chain(premix: Premix, batch: Batch, least: float) -> None:
    """Every step can be weighed and carried, each is thinned from the one before, and the active adds up."""
    before = 100.0
    for step, stock in zip(premix.chain, premix.stocks, strict=True):
        assert step.take >= least * (1 - 1e-9)
        assert step.take + step.diluent == pytest.approx(step.makes)
        assert step.makes <= batch.balance.capacity * (1 + 1e-9)
        assert step.strength * step.makes == pytest.approx(before * step.take)
        assert stock.contents[premix.active] == pytest.approx(step.strength)
        before = step.strength
    uses = [*(step.take for step in premix.chain[1:]), premix.amounts.use]
    assert all(use <= step.makes * (1 + 1e-9) for use, step in zip(uses, premix.chain, strict=True))
    assert premix.amounts.use * premix.strength / 100 == pytest.approx(premix.amounts.use * before / 100)
    single = premix_amounts(premix.amounts.use * premix.strength / 100, least, premix.strength).make
    assert single > min(batch.balance.capacity, batch.mass)
    if single <= batch.balance.capacity:
        assert sum(step.makes for step in premix.chain) < single


@given(formulas(other=True), MASSES, BALANCES, TOLERANCES)
def test_every_premix_keeps_its_rules_and_the_substances(
    formula: Formula, mass: float, balance: Balance, tolerance: float
) -> None:
    batch = weigh(formula, f"{all_digits(mass)} g", balance, tolerance)
    found = proposals(batch, materials_of(formula))
    least = balance.least_weight(tolerance)
    mixed = formula
    for premix in found.premixes:
        a = premix.amounts
        assert a.active >= least * (1 - 1e-9)
        assert a.use >= least * (1 - 1e-9)
        assert a.use <= a.make * (1 + 1e-12)
        assert a.make <= balance.capacity
        assert 0 < premix.strength <= premix.best_strength * (1 + 1e-12)
        if premix.chain:
            keeps_the_rules_of_a_chain(premix, batch, least)
        else:
            assert a.make >= premix.best_make * (1 - 1e-12)
        assert premix.kind == formula.phases[premix.phase].kind
        mixed = with_premix(mixed, premix)
    before, after = expand(formula, materials_of(formula)), expand(mixed, materials_of(mixed))
    assert {name: x for name, x in after.items() if x > 1e-9} == pytest.approx(
        {name: x for name, x in before.items() if x > 1e-9}, abs=1e-9
    )
    failed = sum(finding.place.line is not None for finding in found.findings)
    assert len(small_lines(formula, batch.mass, balance, tolerance)) == failed + len(found.premixes)
    assert len(small_lines(mixed, batch.mass, balance, tolerance)) == failed


@given(formulas(other=True), st.floats(1, 60), BALANCES, TOLERANCES)
def test_the_way_out_is_one(formula: Formula, mass: float, balance: Balance, tolerance: float) -> None:
    batch = weigh(formula, f"{all_digits(mass)} g", balance, tolerance)
    found = proposals(batch, materials_of(formula)).findings
    assume(found)
    told = present(re.search(r"Make ([\d.]+) g, or .* reads ([\d.e-]+) g", found[-1].sentence))
    enough, step = map(float, told.groups())
    assert enough > batch.mass
    larger = weigh(formula, f"{all_digits(enough)} g", balance, tolerance)
    assert proposals(larger, materials_of(formula)).findings == ()
    finer = weigh(formula, f"{all_digits(batch.mass)} g", Balance(step, balance.capacity), tolerance)
    assert proposals(finer, materials_of(formula)).findings == ()


def test_the_strongest_round_strength_leaves_least_over() -> None:
    batch = weigh(demo(), "50 g")
    by_name = {premix.active: premix for premix in premixes(batch)}
    salt = by_name["Sodium Chloride"]
    # By hand: 0.25 g; least 0.82 g; at most 0.25/0.82 = 30.5 %, so 20 %: 0.82/0.2 = 4.1 g made, 1.25 g used.
    assert (salt.strength, salt.carrier) == (20.0, "Aqua")
    assert salt.amounts.make == pytest.approx(4.1)
    assert salt.amounts.use == pytest.approx(1.25)
    assert salt.best_strength == pytest.approx(30.4878, abs=1e-4)
    assert salt.percent == pytest.approx(2.5)
    assert salt.sentence == (
        "Sodium Chloride: stir 0.82 g into 3.28 g of Aqua, 20 % strong. Use 1.25 g of it and 1 g less Aqua; 2.85 g "
        "is left over. All its weighings together keep within 1.1 %. That is more than the 1 % you "
        "allow: make more, or use a finer balance. Least would be left over at 30.5 %: 2.69 g to make."
    )
    assert by_name["Parfum"].carrier == "Coco-Caprylate"
    assert all(premix.strength in ROUND_STRENGTHS for premix in by_name.values())


def test_what_is_just_within_the_tolerance_or_as_strong_as_can_be_needs_no_further_words() -> None:
    salt = next(p for p in premixes(weigh(demo(), "50 g")) if p.active == "Sodium Chloride")
    allowed, least = "% you allow: make more", "Least would be left over at"
    for error, tolerance, more in ((0.5, 0.5, False), (0.51, 0.5, True), (2.9, 3.0, False), (3.1, 3.0, True)):
        assert (allowed in replace(salt, error=error, tolerance=tolerance).sentence) == more
    for best, more in ((20.0, False), (20.5, True)):
        assert (least in replace(salt, best_strength=best).sentence) == more
    chain = tuple(DilutionStep(1, 4, 5, 20, 0) for _ in "ab")
    assert least not in replace(salt, best_strength=20.5, chain=chain).sentence


def test_the_error_counts_every_weighing() -> None:
    salt = next(p for p in premixes(weigh(demo(), "50 g")) if p.active == "Sodium Chloride")
    # By hand, with 2s = 0.0082 g: strength c = a/(a + k), so its error is hypot(k, a)/(a + k) x 2s/a.
    strength = 0.0082 / 0.82 * (3.28**2 + 0.82**2) ** 0.5 / 4.1
    assert salt.error == pytest.approx(100 * (strength**2 + (0.0082 / 1.25) ** 2) ** 0.5)


def test_a_premix_is_put_to_use() -> None:
    formula = demo()
    salt = next(p for p in premixes(weigh(formula, "50 g")) if p.active == "Sodium Chloride")
    mixed = with_premix(formula, salt)
    line = mixed.phases[0].lines[3]
    assert (line.material, line.entry, line.hold) == ("Sodium Chloride 20 % in Aqua", "2.5", "share")
    assert mixed.phases[0].lines[0] == formula.phases[0].lines[0]
    assert mixed.percents[0][0] == pytest.approx(74.4 - 2.0)
    stock = mixed.materials[-1]
    assert isinstance(stock, Stock)
    assert (dict(stock.contents), stock.phase) == ({"Sodium Chloride": 20.0, "Aqua": 80.0}, "water")
    with pytest.raises(RangeError, match=r"has changed since the premix of Sodium Chloride was worked out\. Ask"):
        with_premix(mixed, salt)
    with pytest.raises(RangeError, match="would bring more Aqua than the formula holds"):
        with_premix(set_line(set_line(formula, 0, 3, entry="20"), 0, 1, entry="30"), salt)


def test_a_stock_of_that_name_is_not_overwritten() -> None:
    formula = demo()
    salt = next(p for p in premixes(weigh(formula, "50 g")) if p.active == "Sodium Chloride")
    other = Stock(salt.name, {"Glycerin": 100.0})
    mixed = with_premix(replace(formula, materials=(*formula.materials, other)), salt)
    assert mixed.phases[0].lines[3].material == "Sodium Chloride 20 % in Aqua (2)"
    assert other in mixed.materials


def test_only_what_mixes_carries() -> None:
    oily = Formula("Oily", (Phase("W", "water", (Line("Aqua", "q.s.", "fill"), Line("Tocopherol", "0.2"))),))
    batch = weigh(oily, "100 g")
    assert [premix.carrier for premix in premixes(batch)] == ["Aqua"]
    found = proposals(batch, materials_of(oily))
    assert found.premixes == ()
    assert found.findings[0].sentence == (
        "No premix helps Tocopherol, 0.2 g: nothing else in W is known to mix with it."
    )
    assert (found.findings[0].place.phase, found.findings[0].place.line) == (0, 1)
    assert found.findings[1].sentence == (
        "Make 500 g, or use a balance that reads 0.001 g and repeats as well: then every line can be weighed or "
        "premixed."
    )


def test_the_other_phase_and_a_filler_of_it() -> None:
    powder = Formula("P", (Phase("P", "other", (Line("Kaolin", "q.s.", "fill"), Line("Zinc Oxide", "0.2"))),))
    assert "nothing else in P is known to mix" in proposals(weigh(powder, "100 g")).findings[0].sentence
    lines = (Line("Glycerin", "20", "fill"), Line("Aqua", "q.s."), Line("Panthenol", "0.2"))
    (premix,) = premixes(weigh(Formula("T", (Phase("W", "water", lines),)), "100 g"))
    assert premix.carrier == "Glycerin"
    little = replace(lines[0], entry="1")
    (premix,) = premixes(weigh(Formula("T", (Phase("W", "water", (little, *lines[1:])),)), "100 g"))
    assert premix.carrier == "Aqua"


def test_where_one_premix_would_not_do_two_in_a_row_do() -> None:
    """0.001 g on a balance that reads 0.01 g, within 1 %: one premix of 0.1 % would be 820 g."""
    toner = Formula("T", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Dye", "0.001"))),))
    balance = Balance(0.01, 200)
    batch = weigh(toner, "100 g", balance)
    (premix,) = proposals(batch).premixes
    first, second = premix.chain
    # By hand: least 0.82 g; 0.82 g of dye in 32.8 g is 2.5 %, 0.82 g of that in 20.5 g is 0.1 %, of which 1 g is used.
    assert (first.take, first.makes, first.strength) == pytest.approx((0.82, 32.8, 2.5))
    assert (second.take, second.makes, second.strength) == pytest.approx((0.82, 20.5, 0.1))
    assert premix.amounts.use == pytest.approx(1.0)
    # Each step's strength is off by hypot(k, a) / (a + k) x 2s/a, and what is used by 2s/m, with 2s = 0.0082 g.
    parts = [0.0082 / 0.82 * (k**2 + 0.82**2) ** 0.5 / (k + 0.82) for k in (31.98, 19.68)]
    assert premix.error == pytest.approx(100 * (sum(x * x for x in parts) + 0.0082**2) ** 0.5)
    assert premix.sentence == (
        "Dye: one premix would come to 820 g, so make 2 in a row. Premix 1: stir 0.82 g of it into 31.98 g of Aqua, "
        "2.5 % strong. Premix 2: stir 0.82 g of premix 1 into 19.68 g of Aqua, 0.1 % strong. Use 1 g of it and 0.999 g "
        "less Aqua; 19.5 g is left over. All its weighings together keep within 1.6 %. That is more "
        "than the 1 % you allow: make more, or use a finer balance."
    )
    sheets = premix.makings(balance)
    assert [[(part.material, part.grams) for part in sheet.portions] for sheet in sheets] == [
        [("Dye", 0.82), ("Aqua", 31.98)],
        [("Dye 2.5 % in Aqua", 0.82), ("Aqua", 19.68)],
    ]
    mixed = with_premix(toner, premix)
    assert mixed.phases[0].lines[1].material == "Dye 0.1 % in Aqua"
    assert [stock.name for stock in mixed.materials] == ["Dye 2.5 % in Aqua", "Dye 0.1 % in Aqua"]
    assert expand(mixed, materials_of(mixed))["Dye"] == pytest.approx(0.001)


def test_more_premix_than_product_is_no_advice() -> None:
    """0.05 % on a balance that reads 0.1 g: 820 g of premix for 250 g of toner would be; two in a row are 164 g."""
    toner = Formula("T", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Peptide", "0.05"))),))
    balance = Balance(0.1, 1000)
    (premix,) = proposals(weigh(toner, "250 g", balance)).premixes
    assert [step.strength for step in premix.chain] == [10.0, 1.0]
    assert sum(step.makes for step in premix.chain) == pytest.approx(164)
    # In a batch that is larger than the premix, one will do again.
    (plain,) = proposals(weigh(toner, "1000 g", balance)).premixes
    assert plain.chain == ()
    assert len(plain.makings(balance)) == 1


def test_too_much_premix_for_the_balance() -> None:
    toner = Formula("T", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Dye", "0.001"))),))
    found = proposals(weigh(toner, "100 g", Balance(0.1, 9)))
    assert found.findings[0].sentence == (
        "No premix helps Dye, 0.001 g: it would take 6.72e+04 g of premix, and the balance carries 9 g."
    )


def test_a_batch_without_small_lines_needs_none() -> None:
    found = proposals(weigh(demo(), "5000 g"))
    assert (found.premixes, found.findings) == ((), ())


def test_one_amount_too_many_of_nothing() -> None:
    with pytest.raises(RangeError, match="must be more than 0; got 0 and 1"):
        premix_amounts(0, 1, 10)
    for strength in (0, 101, float("nan")):
        with pytest.raises(RangeError, match="more than 0 and at most 100 %, got"):
            premix_amounts(1, 2, strength)
    enough = premix_amounts(3, 2, 50)
    assert (enough.active, enough.make, enough.use, enough.left_over) == (3, 6, 6, 0)


def test_a_chain_has_two_to_four_premixes() -> None:
    # Each premix takes the least that can be weighed into all that the balance carries: here 10 times weaker each.
    counts = {50.0: 2, 1.005: 2, 0.995: 3, 0.1005: 3, 0.0995: 4, 0.01005: 4, 0.00995: None}
    assert {strength: premixes_in_chain(strength, 10.0, 100.0) for strength in counts} == counts
    # At the edge the last digit could be lost in the steps, so one more is taken.
    assert premixes_in_chain(1.0, 10.0, 100.0) == 3
    # A balance that carries 1.2 times its least weight can thin; 1.2 x 1.2 = 1.44 is more than 100 ÷ 80 = 1.25.
    assert [premixes_in_chain(80.0, 100.0, most) for most in (121.0, 120.0, 119.0)] == [2, 2, None]


def test_of_a_gum_no_strong_premix_is_proposed() -> None:
    """A judgement of the trade, not of arithmetic: half xanthan gum and half water is a lump, and no stock."""
    lines = (Line("Aqua", "q.s."), Line("Xanthan Gum", "0.25"), Line("Sodium Gluconate", "0.1"))
    formula = Formula("Gel", (Phase("Water phase", "water", lines),))
    # on 0.01 g at 1 % a weighing is sound from 0.82 g (USP 41): 0.625 g of gum and 0.25 g of gluconate are small
    found = proposals(weigh(formula, "250 g", Balance(0.01), 1.0), materials_of(formula))
    assert [premix.active for premix in found.premixes] == ["Sodium Gluconate"]
    assert found.findings[0].sentence.startswith("No premix helps Xanthan Gum, 0.62 g: it swells")
    assert "then every line can be weighed or premixed" in found.findings[-1].sentence
