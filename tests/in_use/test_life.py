"""The life of a bottle: every gram is accounted for, and what does not evaporate does not drift."""

from __future__ import annotations

import math
import time
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from molmass import Formula as Molecule
from scipy.stats import linregress

from kit.errors import RangeError
from kit.formula.model import Formula, Line, Phase
from kit.in_use.life import OF_A_FAT, Habits, LayerLife, Life, Liquid, _activities, liquids, live
from kit.in_use.life_findings import last_week, life_findings
from kit.in_use.mass_loss import MONTH, WEIGHINGS, Weighed, mass_loss
from kit.in_use.vapour import headspace_loss, open_loss_rate, van_laar, vapour_of
from kit.layers.bottle import Bottle
from kit.product.product import Product
from tests.boxes import check_box
from tests.pace import on_this_machine
from tests.rows import each_of


def product(water: dict[str, str], oil: dict[str, str]) -> Product:
    """A product of the test's own: two layers with names of their own."""
    phases = [
        Phase(name, kind, tuple(Line(material, amount) for material, amount in lines.items()))  # type: ignore[arg-type]
        for name, kind, lines in (("Spirit", "water", water), ("Light part", "oil", oil))
        if lines
    ]
    return Product(Formula("Evening splash", tuple(phases)))


SPLASH = product(
    {"Aqua": "q.s.", "Alcohol": "30", "Phenoxyethanol": "0.6", "Glycerin": "2"},
    {"Cyclopentasiloxane": "15", "Isododecane": "5", "Squalane": "9"},
)
STILL = product({"Glycerin": "60"}, {"Squalane": "25", "Ricinus Communis Seed Oil": "15"})


def life_of(one: Product, habits: Habits, people: int = 20) -> Life:
    return live(liquids(one.formula, one.materials, one.layers, one.fill), one.bottle, habits, people)


@settings(max_examples=25)
@given(
    st.builds(
        Habits, dose=st.floats(0.01, 30), doses_a_day=st.floats(0, 20), days=st.floats(1, 120),
        celsius=st.floats(0, 60), open_seconds=st.floats(0, 86400), neck_width=st.floats(1, 60),
        upper_share=st.floats(0, 50), spread=st.floats(1, 5), storage_loss=st.floats(0, 50),
    ),
    st.sampled_from([SPLASH, STILL, product({"Aqua": "60", "Alcohol": "40"}, {})]),
)  # fmt: skip
def test_every_gram_is_dosed_gone_or_left(habits: Habits, one: Product) -> None:
    life = life_of(one, habits)
    assert life.unaccounted <= 1e-9 * life.filled
    for layer in life.layers:
        assert (layer.mass >= 0).all()
        assert (np.diff(layer.mass, axis=0) <= 1e-12).all()
    assert (np.diff(life.dosed, axis=0) >= 0).all()
    assert life.filled == pytest.approx(one.density * one.fill)
    standing = life.standing(0)
    assert standing[0][2] == 0
    assert standing[-1][3] == pytest.approx(one.bottle.level(one.fill))


def test_without_anything_that_evaporates_nothing_drifts() -> None:
    life = life_of(STILL, Habits(dose=0.5, doses_a_day=1, days=150, open_seconds=60, storage_loss=1))
    assert (life.evaporated == 0).all()
    for layer, kind in zip(life.layers, ("water", "oil"), strict=True):
        share = life.share(kind)  # type: ignore[arg-type]
        assert np.nanmax(np.abs(share - share[0])) < 1e-9
        assert np.nanmax(np.abs(layer.density - layer.liquid.density)) < 1e-9
    names = [f.sentence for f in life_findings(life, STILL.materials)]
    assert any("0 of them evaporate here" in words for words in names)
    assert not any("ISO 11930" in words for words in names)


def test_air_that_came_in_is_saturated() -> None:
    """A pump draws 80 mL of water alone, and as much air takes up vapour: 17.3 g/m³ at 20 °C (psychrometric tables)."""
    water = product({"Aqua": "100"}, {})
    life = life_of(water, Habits(dose=1, doses_a_day=1, days=80, celsius=20, spread=1))
    assert life.dosed[-1, 0] == pytest.approx(80 * water.density)
    assert life.evaporated[-1, 0] == pytest.approx(17.3e-6 * 80, rel=0.01)
    assert headspace_loss(vapour_of("Aqua").pressure(20), 18.02, 20, 80) == pytest.approx(life.evaporated[-1, 0])


def test_what_leaves_an_open_neck_is_stefans_law() -> None:
    """3.3779e-4 mol/(m² s) of water at 25 °C through 0.1 m with 26 mm²/s: a worked example of Stefan's tube.

    Worked by hand: through a neck of 20 mm, pi 0.010² m², in 2 doses of 3600 s, at 18.015 g/mol. Air that comes in for
    both doses takes 23.0 g/m³ with it (psychrometric tables), which is 5e-7 g.
    """
    water = product({"Aqua": "100"}, {})
    straight = Bottle.cylinder("40 mm", "240 mL")  # 190.99 mm deep; 114.33 mL stand 90.98 mm high
    assert straight.height - straight.level(114.3319) == pytest.approx(100.0, abs=0.01)
    habits = Habits(dose=0.01, doses_a_day=2, days=1, celsius=25, open_seconds=3600, neck_width=20, spread=1)
    life = live(liquids(water.formula, water.materials, water.layers, 114.3319), straight, habits, 3)
    moles = 3.3779e-4 * vapour_of("Aqua").diffusion_in_air(25) / 26 * math.pi * 0.010**2 * 2 * 3600
    assert life.evaporated[-1] == pytest.approx(18.015 * moles + 23.0e-6 * 0.02, rel=1e-3)


def test_a_logged_loss_is_what_goes() -> None:
    life = life_of(SPLASH, Habits(doses_a_day=0, days=365, storage_loss=0.5))
    assert life.dosed[-1, 0] == 0
    assert life.evaporated[-1, 0] == pytest.approx(0.5 / MONTH * 365)
    assert life.layers[0].percent("Alcohol")[-1, 0] < life.layers[0].percent("Alcohol")[0, 0]
    assert life.layers[0].percent("Phenoxyethanol")[-1, 0] > life.layers[0].percent("Phenoxyethanol")[0, 0]
    said = " ".join(f.sentence for f in life_findings(life, SPLASH.materials))
    for words in ("ISO 11930", "category 2", "not known here: Isododecane", "Alcohol from"):
        assert words in said


def test_only_the_lower_layer_where_nobody_shakes() -> None:
    even = Habits(dose=1, doses_a_day=1, days=20, spread=1)
    life = life_of(STILL, replace(even, upper_share=0))
    upper = min(life.layers, key=lambda each: each.liquid.density)
    assert (upper.mass[:, 0] == upper.mass[0, 0]).all()
    assert life.share(upper.liquid.kind)[-1, 0] > life.share(upper.liquid.kind)[0, 0]


def test_warmer_and_longer_open_loses_more_and_a_thousand_people_take_less_than_a_second() -> None:
    base = Habits(dose=0.2, doses_a_day=1, days=100, open_seconds=20, spread=1)
    lost = [
        life_of(SPLASH, one).evaporated[-1, 0]
        for one in (base, replace(base, celsius=35), replace(base, celsius=35, open_seconds=60))
    ]
    assert lost == sorted(lost)
    assert lost[0] < lost[2]
    filled = liquids(SPLASH.formula, SPLASH.materials, SPLASH.layers, SPLASH.fill)
    start = time.perf_counter()
    live(filled, SPLASH.bottle, replace(base, days=365, spread=1.4), 1000)
    assert time.perf_counter() - start < on_this_machine(1)


def test_bad_input_is_said_in_words() -> None:
    filled = liquids(SPLASH.formula, SPLASH.materials, SPLASH.layers, 100)
    with pytest.raises(RangeError, match="cannot stand in small, which holds 30 mL"):
        live(filled, Bottle.cylinder("30 mm", "30 mL", "small"), Habits())
    with pytest.raises(RangeError, match="no layer to follow"):
        live([], SPLASH.bottle, Habits())
    with pytest.raises(RangeError, match="weighed on two days"):
        mass_loss([Weighed(0, 131.42)])


def test_a_line_through_weighings_is_scipys() -> None:
    weighings = WEIGHINGS.read("0 131.42\n14 131.30\n28 131.15\n56 130.93\n84 130.66")
    found = mass_loss(weighings)
    judge = linregress([w.day for w in weighings], [w.grams for w in weighings])
    assert found.per_month == pytest.approx(-judge.slope * MONTH, rel=1e-9)
    assert found.standard_error == pytest.approx(judge.stderr * MONTH, rel=1e-9)
    assert found.low is not None
    assert found.low < found.per_month < (found.high or 0)
    assert (found.high or 0) - found.per_month == pytest.approx(3.182 * (found.standard_error or 0), rel=1e-3)  # t of 3
    assert "g a month (" in found.sentence()
    assert "a third would say" in mass_loss(weighings[:2]).sentence()
    assert "may be nothing" in mass_loss([Weighed(0, 10), Weighed(5, 10.01), Weighed(9, 10)]).sentence()


def test_a_fat_counts_as_triolein() -> None:
    assert pytest.approx(Molecule("C57H104O6").mass, abs=0.1) == OF_A_FAT  # judge: molmass


def test_activities_of_many_bottles_are_those_of_one_formula() -> None:
    shares = np.array([0.001, 0.1, 0.35, 0.8, 0.999])
    found = _activities({"Aqua": 7.0 * (1 - shares), "Alcohol": 7.0 * shares})
    for n, share in enumerate(shares):
        assert (found["Alcohol"][n], found["Aqua"][n]) == pytest.approx(van_laar(float(share)), rel=1e-9)


def test_a_bottle_of_one_layer_and_how_long_it_lasts() -> None:
    tonic = product({"Aqua": "60", "Glycerin": "40"}, {})
    habits = Habits(dose=2, doses_a_day=5, days=60, spread=1)
    life = life_of(tonic, habits, people=3)
    # ten mL a day: the days shown are whole weeks, and the first on which 100 mL are used up is the 14th
    assert tonic.fill == 100
    assert life.lasts() == 14
    assert np.isnan(life.share("oil")).all()
    assert life.share("water")[0, 0] == 100
    layer = life.layers[0]
    assert [layer.percent(name)[0, 0] for name in ("Aqua", "Glycerin", "Squalane")] == pytest.approx([60, 40, 0])
    assert np.isnan(layer.percent("Glycerin")[-1, 0])  # nothing is left
    assert life_of(tonic, replace(habits, doses_a_day=0, days=30)).lasts() == 30
    pure = life_of(product({"Aqua": "100"}, {}), replace(habits, days=7)).layers[0]
    assert (pure.percent("Aqua")[0, 0], pure.percent("Glycerin")[0, 0]) == (100, 0)


def test_what_nobody_knows_of_a_substance_is_said() -> None:
    odd = product({"Aqua": "q.s.", "Strange Powder": "5", "Alcohol": "10"}, {"Squalane": "20"})
    said = [f.sentence for f in life_findings(life_of(odd, Habits()), odd.materials)]
    assert "Nobody here knows whether these evaporate: Strange Powder. They count as staying." in said
    assert any("The molar mass is not known of Strange Powder: each counts as a fat" in words for words in said)
    known = [f.sentence for f in life_findings(life_of(STILL, Habits()), STILL.materials)]
    assert not any("molar mass is not known" in words or "Nobody here knows" in words for words in known)


@each_of(
    ("name", "first", "takes", "refuses", "third"),
    [
        ("dose", "1 mL", ("0.01", "1000"), ("0.009", "1001"), ""),
        ("doses_a_day", "1", ("0", "100"), ("-0.1", "100.1"), "0.333"),
        ("days", "365 d", ("1", "1830"), ("0.9", "1831"), "0.3333"),  # a year; up to five
        ("celsius", "21 °C", ("0", "60"), ("-1", "61"), ""),  # where vapour pressures are known
        ("open_seconds", "0 s", ("0", "86400"), ("-1", "86401"), ""),  # at most all day
        ("neck_width", "18 mm", ("1", "200"), ("0.9", "201"), ""),
        ("upper_share", "1 times its share", ("0", "100"), ("-0.1", "101"), "0.333"),
        ("spread", "1.4 times", ("1", "5"), ("0.9", "5.1"), "0.333"),  # below 1 nobody differs by less than nothing
        ("storage_loss", "0 g a month", ("0", "1000"), ("-0.1", "1001"), ""),
    ],
)
def test_what_may_be_said_of_a_bottle_s_use(
    name: str, first: str, takes: tuple[str, ...], refuses: tuple[str, ...], third: str
) -> None:
    check_box(Habits, name, first, takes, refuses, third)
    for text in takes:
        assert getattr(Habits(**{name: float(text)}), name) == float(text)


def test_people_differ_by_doses_and_by_open_time_each_for_itself() -> None:
    """Doses are log-normal with ln 1.4 as their spread; time open is doses times seconds, so √2 ln 1.4."""
    water = product({"Aqua": "100"}, {})
    habits = Habits(dose=0.01, doses_a_day=2, days=1, celsius=25, open_seconds=600, spread=1.4)
    life = live(liquids(water.formula, water.materials, water.layers, water.fill), water.bottle, habits, 20_000)
    doses, gone = np.log(life.dosed[-1, 1:]), np.log(life.evaporated[-1, 1:])
    assert np.std(doses) == pytest.approx(math.log(1.4), rel=0.02)
    assert np.std(gone) == pytest.approx(math.sqrt(2) * math.log(1.4), rel=0.02)
    assert np.mean(doses) == pytest.approx(math.log(0.02 * water.density), abs=0.01)  # 2 doses of 0.01 mL
    assert np.mean(gone) == pytest.approx(math.log(life.evaporated[-1, 0]), abs=0.02)  # the usual person is the middle
    unshaken = life_of(STILL, Habits(dose=1, days=7, upper_share=0.5, spread=2))
    assert len(set(unshaken.share("oil")[-1, 1:])) > 10  # the way of shaking differs too


def test_a_bottle_filled_to_the_brim_is_a_millimetre_of_still_air_at_least() -> None:
    """After a dose of 0.01 mL the liquid stands 0.008 mm below the mouth; Stefan's law takes 1 mm (our own choice)."""
    water, straight = product({"Aqua": "100"}, {}), Bottle.cylinder("40 mm", "240 mL")
    habits = Habits(dose=0.01, doses_a_day=1, days=1, celsius=25, open_seconds=60, neck_width=20, spread=1)
    life = live(liquids(water.formula, water.materials, water.layers, 240), straight, habits, 1)
    vapour = vapour_of("Aqua")
    through = 60 * open_loss_rate(vapour.pressure(25), vapour, 25, 20, 1.0)
    assert life.evaporated[-1, 0] == pytest.approx(through, rel=1e-3)


def told_life(rows: list[tuple[float, float, float]], percent: float = 10.0) -> Life:
    """Weeks of a bottle by hand: spirit, of it alcohol, and oil. [g]"""
    spirit, alcohol, oil = (np.array([[row[n]] for row in rows]) for n in (0, 1, 2))
    shares = {"Aqua": 1 - percent / 100, "Alcohol": percent / 100}
    lower = Liquid("water", "Spirit", 100, 1.0, shares, 0.0, (), {"Aqua": 1.0, "Alcohol": 1.0})
    upper = Liquid("oil", "Haze", 50, 1.0, {"Squalane": 1.0}, 0.01, (), {})
    held = {"Aqua": spirit - alcohol, "Alcohol": alcohol}
    layers = (LayerLife(lower, spirit, spirit, held), LayerLife(upper, oil, oil, {}))
    days = tuple(7.0 * n for n in range(len(rows)))
    whole = rows[0][0] + rows[0][2]
    return Life(Habits(), SPLASH.bottle, days, layers, np.zeros_like(oil), np.zeros_like(oil), whole)


@each_of(
    ("rows", "told", "silent"),
    [
        # a level that moves by 2 % of what it was is no matter, by more it is told; 10 % of the spirit at first
        ([(100, 10, 50), (100, 9.81, 50)], (), ("By week",)),
        ([(100, 10, 50), (100, 9.79, 50)], ("By week 1", "Alcohol from 10 to 9.79 % of the Spirit"), ("Haze goes",)),
        ([(100, 10, 50), (100, 10.21, 50)], ("Alcohol from 10 to 10.2 % of the Spirit",), ()),
        # a third of what is left is oil; 0.5 points more or less of it are no matter
        ([(300, 30, 150), (298, 29.8, 151)], (), ("By week",)),  # 151 / 449 is 33.63 %
        ([(300, 30, 150), (296, 29.6, 152)], ("the Haze goes from 33.3 to 33.9 % of what is left",), ("Alcohol from",)),
        # what is told is of the last week in which more than a twentieth of the fill is left
        ([(100, 10, 50), (50, 4, 25), (5.1, 0.1, 2.55)], ("By week 2", "Alcohol from 10 to 1.96 %"), ()),
        ([(100, 10, 50), (50, 4, 25), (5, 0.1, 2.5)], ("By week 1", "Alcohol from 10 to 8 %"), ()),
    ],
)
def test_what_is_worth_telling_of_a_life(
    rows: list[tuple[float, float, float]], told: tuple[str, ...], silent: tuple[str, ...]
) -> None:
    said = " ".join(one.sentence for one in life_findings(told_life(rows), SPLASH.materials))
    assert all(words in said for words in told), said
    assert not any(words in said for words in silent), said


def test_the_layers_stand_on_one_another_and_the_last_drops_are_none() -> None:
    life = told_life([(60, 6, 30), (0, 0, 20)])
    level = life.bottle.level
    (lower, below, *first), (upper, above, *second) = life.standing(0)
    assert (lower.liquid.name, below, upper.liquid.name, above) == ("Spirit", 60, "Haze", 30)
    assert (first, second) == ([0, level(60)], [level(60), level(90)])
    assert [(one.liquid.name, *rest) for one, *rest in life.standing(9)] == [
        ("Haze", 20, 0, level(20))
    ]  # the last week
    assert (life.lasts(), last_week(life)) == (7, 1)
    assert told_life([(60, 6, 30), (0, 0, 0)]).lasts() == 7
    assert np.isnan(told_life([(60, 6, 30), (0, 0, 0)]).share("oil")[-1, 0])
    assert life.share("oil")[0, 0] == pytest.approx(100 / 3)
    assert life.layer("other") is None


def test_many_names_are_counted_rather_than_listed() -> None:
    strange = [f"Powder {letter}" for letter in "ABCDEFG"]
    odd = product({"Aqua": "q.s.", **dict.fromkeys(strange, "1")}, {})
    said = [f.sentence for f in life_findings(life_of(odd, Habits(days=1)), odd.materials)]
    six = ", ".join(strange[:6])
    assert f"Nobody here knows whether these evaporate: {six} and 1 more. They count as staying." in said
    assert "Looked up 8 substances; 1 of them evaporate here: Aqua." in said
    fewer = product({"Aqua": "q.s.", **dict.fromkeys(strange[:6], "1")}, {})
    said = [f.sentence for f in life_findings(life_of(fewer, Habits(days=1)), fewer.materials)]
    assert f"Nobody here knows whether these evaporate: {six}. They count as staying." in said


def test_the_loss_of_two_and_of_three_weighings_by_hand() -> None:
    # 3 g in 30 d, and a month is 365.25 / 12 d; the third weighing lies 0.1 g off the line through the others
    two = mass_loss([Weighed(10, 100), Weighed(40, 97)])
    assert two.per_month == pytest.approx(3 / 30 * 365.25 / 12)
    assert (two.count, two.low, two.residual) == (2, None, None)
    assert two.sentence() == (
        "The closed bottle loses 3.04 g a month, from 2 weighings; a third would say how far that may be off."
    )
    three = mass_loss([Weighed(0, 100), Weighed(10, 99.1), Weighed(20, 98)])
    # the middle lies 0.1 above: residuals -1/30, 2/30, -1/30; their squares 6/900 over one degree of freedom
    assert three.residual == pytest.approx(math.sqrt(6 / 900))
    # slope -0.1; Sxx 200; t of one degree of freedom 12.706 (table 1.3.6.7.2 of the e-Handbook)
    error = math.sqrt(6 / 900 / 200) * 365.25 / 12
    assert (three.per_month, three.standard_error) == pytest.approx((0.1 * 365.25 / 12, error))
    assert ((three.high or 0) - three.per_month) / error == pytest.approx(12.706, abs=5e-4)
    assert (three.high or 0) - three.per_month == pytest.approx(three.per_month - (three.low or 0))
    with pytest.raises(RangeError, match="on two days at least"):
        mass_loss([Weighed(3, 100), Weighed(3, 99)])


def test_a_bottle_is_used_up_where_a_millionth_is_left() -> None:
    assert told_life([(60, 6, 30), (0.3, 0, 0.2), (8e-5, 0, 0), (0, 0, 0)]).lasts() == 14
    with pytest.raises(RangeError, match="on two days at least"):
        mass_loss([])
