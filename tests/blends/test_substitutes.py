"""Substitutes: what is near, what is never offered, blends against scipy, and what follows for the product."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import nnls

from kit.bench.price import Price
from kit.bench.price_list import PriceList
from kit.bench.unit_costs import UnitCosts
from kit.blends.blend_match import MOST_CANDIDATES, match_blend
from kit.blends.properties import Properties, Weights, distance
from kit.blends.substitutes import Substitute, Substitutes, is_prohibited, matching_blend, substitutes, swapped
from kit.errors import EntryError, KitError, UnknownNameError
from kit.formula.expansion import Materials
from kit.formula.files import read_formula
from kit.formula.model import Formula, Line, Phase
from kit.layers.viscosity import blend_kinematic
from kit.library.ingredient import Ingredient
from kit.library.library import Library
from kit.library.table import limits
from kit.product.effects import effects, finding_effects
from kit.product.product import Product
from tests.present import present

if TYPE_CHECKING:
    from kit.formula.model import Hold

PRODUCTS = Path(__file__).resolve().parents[1] / "published" / "products"
LIBRARY = Materials(Library.bundled())
EU = limits("eu", "2026-12-01")


def body_oil() -> Product:
    """Two layers, salt, preservatives and a colour: no demo."""
    return Product(read_formula(PRODUCTS / "two_layer_body_oil.toml"), on="2026-12-01")


def place_of(formula: Formula, name: str) -> tuple[int, int]:
    """Where a material stands."""
    return next((p, i) for p, i, line, _ in formula.each_line() if line.material == name)


rows = st.lists(st.lists(st.floats(-5, 5), min_size=3, max_size=3), min_size=1, max_size=3)


@given(rows, st.lists(st.floats(-5, 5), min_size=3, max_size=3))
def test_a_blend_is_the_least_squares_of_scipy(candidates: list[list[float]], target: list[float]) -> None:
    found = match_blend(candidates, target)
    heavy = 1e5
    matrix = np.vstack([np.array(candidates).T, heavy * np.ones(len(candidates))])
    judge, _ = nnls(matrix, np.array([*target, heavy]))
    shares = judge / judge.sum()
    missed = np.linalg.norm(shares @ np.array(candidates) - target)
    assert found.error <= missed + 1e-6
    assert sum(share for _, share in found.parts) == pytest.approx(1)
    assert all(share >= 0 for _, share in found.parts)
    made = np.sum([share * np.array(candidates[n]) for n, share in found.parts], axis=0)
    assert np.linalg.norm(made - target) == pytest.approx(found.error, abs=1e-9)
    assert found.missed == pytest.approx(list(made - target), abs=1e-9)


def test_a_known_blend_is_found_again_among_many() -> None:
    random = np.random.default_rng(20)
    candidates = random.normal(size=(20, 4))
    target = 0.5 * candidates[3] + 0.3 * candidates[11] + 0.2 * candidates[17]
    found = match_blend(candidates.tolist(), target.tolist())
    assert [n for n, _ in found.parts] == [3, 11, 17]
    assert [share for _, share in found.parts] == pytest.approx([0.5, 0.3, 0.2])
    assert match_blend(candidates.tolist(), target.tolist(), most=1).error > 0.1


def test_a_miss_is_told_in_its_unit_whatever_its_weight() -> None:
    """By hand: both miss the second property by 4, and half of each hits the first.

    With weights of 1/2 and 1/4 the error is the root of (0 / 2)² + (4 / 4)², 1; without one for the second it is 0,
    and the miss of 4 stays one.
    """
    for second, error in ((0.25, 1.0), (0.0, 0.0)):
        found = match_blend([[10.0, 7.0], [14.0, 7.0]], [12.0, 3.0], [0.5, second])
        assert dict(found.parts) == pytest.approx({0: 0.5, 1: 0.5})
        assert found.missed == pytest.approx((0.0, 4.0))
        assert found.error == pytest.approx(error)


def test_weights_say_which_miss_counts_more() -> None:
    """By hand: x parts of (0, 3) in (1, 0) aiming at (0, 0) miss by 1 - x and 3x.

    w²(1 - x)² + 9x² is least at x = w² / (w² + 9): 0.1 for a weight of 1, 0.5 for one of 3.
    """
    for weight, share in ((1.0, 0.1), (3.0, 0.5)):
        found = match_blend([[1.0, 0.0], [0.0, 3.0]], [0.0, 0.0], [weight, 1.0])
        assert dict(found.parts)[1] == pytest.approx(share)
        assert found.missed == pytest.approx((1 - share, 3 * share))
        assert [part for _, part in found.parts] == sorted((part for _, part in found.parts), reverse=True)


def test_likeness_is_gowers_and_what_is_not_known_is_no_merit() -> None:
    one = Properties("one", {"density": 0.90, "polarity": 5.0}, {"charge": {"charge": "nonionic"}})
    other = Properties("other", {"density": 0.92}, {"charge": {"charge": "anionic"}})
    weights = Weights(density=1, viscosity=2, polarity=1, charge=2)
    unlike, parts = distance(one, other, weights)
    # by hand: density 0.02 / 0.1, log P not known counts 0.5, charge wholly unlike; (0.2 + 0.5 + 2) / 4
    assert unlike == pytest.approx(0.675)
    assert parts == {"density": pytest.approx(0.2), "polarity": None, "charge": 1.0}
    assert distance(one, one, weights)[0] == 0
    with pytest.raises(KitError, match="Nothing that counts is known of one"):
        distance(one, other, Weights(*[0.0] * 9))


def test_what_is_offered_shares_layer_and_role_and_is_not_prohibited() -> None:
    product = body_oil()
    faults = []
    for p, i, line, _ in product.formula.each_line():
        found = substitutes(product.formula, (p, i), product.materials, product.limits, count=12)
        wanted = product.materials.ingredient(line.material)
        assert wanted is not None
        for one in found.found:
            if one.ingredient.phase != wanted.phase:
                faults.append(f"{one.name} for {line.material}: another layer")
            trial = replace(product, formula=swapped(product.formula, (p, i), [(one.name, 100.0)]))
            if any("not permitted" in stop.sentence or "prohibited" in stop.sentence for stop in trial.stops):
                faults.append(f"{one.name} for {line.material}: {trial.stops[0].sentence}")
        assert [one.unlike for one in found.found] == sorted(one.unlike for one in found.found)
    assert not faults, "\n".join(faults)
    benzoate = substitutes(
        product.formula, place_of(product.formula, "Sodium Benzoate"), product.materials, product.limits, count=25
    )
    assert "Methylisothiazolinone" in benzoate.refused  # not permitted in leave-on products: Annex V, entry 57
    assert any("challenge test" in one.sentence for one in benzoate.findings)
    assert is_prohibited("Methylisothiazolinone", product.formula, product.materials, EU)
    with pytest.raises(EntryError, match="guards the product"):
        matching_blend(benzoate)


def test_weights_and_prices_move_what_is_near() -> None:
    formula = Formula("Oil", (Phase("Oil", "oil", (Line("Isopropyl Myristate", "100"),)),))
    prices = PriceList(
        "EUR",
        (Price("Isopropyl Myristate", 1, "kg", 10.0), Price("Isopropyl Palmitate", 1, "kg", 200.0),
         Price("Squalane", 1, "kg", 10.0)),
    )  # fmt: skip
    costs = UnitCosts(prices, LIBRARY)
    only = dict.fromkeys(
        ("density", "viscosity", "polarity", "hlb", "solubility", "charge", "volatility", "melting"), 0.0
    )
    near = substitutes(formula, (0, 0), LIBRARY, (), costs=costs)
    assert near.found[0].name == "Isopropyl Palmitate"
    cheap = substitutes(formula, (0, 0), LIBRARY, (), Weights(**only, price=1.0), costs=costs)
    assert cheap.found[0].name == "Squalane"
    assert cheap.found[1].unknown == ("price",)  # the third with a price is the dear one
    said = " ".join(one.sentence for one in near.findings)
    assert "No spreading on skin is in the tables" in said
    assert "Viscosity from memory: Isopropyl Myristate" in said


def test_a_blend_of_oils_reaches_density_and_viscosity_of_the_line() -> None:
    product = body_oil()
    place = place_of(product.formula, "Helianthus Annuus Seed Oil")
    found = substitutes(product.formula, place, product.materials, product.limits, count=20)
    blend = matching_blend(found)
    assert sum(share for _, share in blend.parts) == pytest.approx(100)
    assert 1 <= len(blend.parts) <= 3
    cards = {one.name: one.properties.numbers for one in found.found}
    density = 100 / sum(share / cards[name]["density"] for name, share in blend.parts)
    assert density == pytest.approx(blend.reached["density"][1])
    mixed = blend_kinematic([(share, np.exp(cards[name]["viscosity"])) for name, share in blend.parts])
    assert mixed == pytest.approx(blend.reached["viscosity"][1])
    light = matching_blend(found, targets={"viscosity": 60.0})
    assert light.reached["viscosity"][0] == pytest.approx(60)
    assert not set(light.left_out) & {name for name, _ in light.parts}


def test_what_follows_for_the_product() -> None:
    product = body_oil()
    place = place_of(product.formula, "Isopropyl Myristate")
    formula = swapped(product.formula, place, [("Squalane", 70.0), ("Undecane", 30.0)])
    after = replace(product, formula=formula)
    assert formula.total == pytest.approx(product.formula.total, abs=1e-9)
    assert product.formula.phase_total(place[0]) == pytest.approx(formula.phase_total(place[0]), abs=1e-9)
    told = {one.what: one for one in effects(product, after)}
    assert told["layers, from below"].before == "water layer, oil layer"
    assert told["oil layer, viscosity in mPa·s"].is_change
    assert not told["water layer, density in g/mL"].is_change
    assert "Squalane" in told["list of ingredients"].after
    assert "min" in told["95 % parted after"].after
    assert "materials of 100 g" not in told  # there is no price list
    assert product.formula.phases[place[0]].lines[place[1]].hold == formula.phases[place[0]].lines[place[1]].hold
    banned = replace(product, formula=swapped(product.formula, place, [("Cyclotetrasiloxane", 100.0)]))
    assert any(one.severity == "stop" for one in finding_effects(product, banned).gained)


def test_what_cannot_be_is_told() -> None:
    formula = Formula("Oil", (Phase("Oil", "oil", (Line("My own oil", "60"), Line("Squalane", "40"))),))
    with pytest.raises(UnknownNameError, match="My own oil is no ingredient of the library"):
        substitutes(formula, (0, 0), LIBRARY, ())
    with pytest.raises(EntryError, match="has no such line"):
        substitutes(formula, (0, 7), LIBRARY, ())
    with pytest.raises(EntryError, match="add to 100 %, not 90 %"):
        swapped(formula, (0, 1), [("Undecane", 90.0)])
    with pytest.raises(EntryError, match="among 1 to 25 candidates, not among 0"):
        match_blend([], [1.0])
    with pytest.raises(EntryError, match="needs 2 properties"):
        match_blend([[1.0]], [1.0, 2.0])
    salt = Formula("Salt", (Phase("Water", "water", (Line("Sodium Chloride", "100"),)),))
    with pytest.raises(EntryError, match="one figure makes no likeness"):
        matching_blend(substitutes(salt, (0, 0), LIBRARY, ()))
    oil = Formula("Oil", (Phase("Oil", "oil", (Line("Isopropyl Myristate", "100"),)),))
    found = substitutes(oil, (0, 0), LIBRARY, ())
    none = Weights(density=0, viscosity=0, hlb=0, price=0)
    with pytest.raises(
        EntryError, match="None of density, viscosity, HLB or price of Isopropyl Myristate is known and"
    ):
        matching_blend(found, none)
    with pytest.raises(EntryError, match="Of no candidate price is known, so none can be blended"):
        matching_blend(found, none, targets={"price": 0.05})
    unnamed = Formula("Oil", (Phase("Oil", "oil", (Line("", "60"), Line("Squalane", "40"))),))
    with pytest.raises(UnknownNameError, match="A line without a name is no ingredient of the library"):
        substitutes(unnamed, (0, 0), LIBRARY, ())


def test_a_target_of_ones_own_alone_is_reached_by_mass_and_volume() -> None:
    oil = Formula("Oil", (Phase("Oil", "oil", (Line("Isopropyl Myristate", "100"),)),))
    found = substitutes(oil, (0, 0), LIBRARY, (), count=20)
    blend = matching_blend(found, Weights(density=0, viscosity=0, hlb=0, price=0), targets={"density": 0.9})
    cards = {one.name: one.properties.numbers["density"] for one in found.found}
    assert set(blend.reached) == {"density"}
    # ideal volumes: the density of a blend is 100 g over the volumes of its parts
    assert 100 / sum(share / cards[name] for name, share in blend.parts) == pytest.approx(0.9)
    assert blend.sentence == " + ".join(f"{share:.3g} % {name}" for name, share in blend.parts)
    # of more candidates than can be tried together, those that are most alike
    many = substitutes(oil, (0, 0), LIBRARY, (), count=80)
    dense = [one.name for one in many.found if "density" in one.properties.numbers]
    assert len(dense) > MOST_CANDIDATES
    blend = matching_blend(many, Weights(viscosity=0, hlb=0, price=0), targets={"density": 0.9})
    assert {name for name, _ in blend.parts} <= set(dense[:MOST_CANDIDATES])


def test_of_an_own_ingredient_without_facts_nothing_is_made_up() -> None:
    loop = Ingredient("Loop", composition={"Loop": 100.0}, own=True)  # a blend that is part of itself
    found = Properties.of(loop, Materials(Library.bundled(), (loop,)))
    assert (found.numbers, found.words) == ({}, {})


def in_the_middle(entry: str, hold: Hold = "level") -> Formula:
    """An oil of which the second of three lines is to be replaced."""
    lines = (Line("Squalane", "20"), Line("Isopropyl Myristate", entry, hold), Line("Isoamyl Laurate", "q.s."))
    return Formula("Oil", (Phase("Oil", "oil", lines),))


@pytest.mark.parametrize(
    ("entry", "step", "shares", "amounts"),
    [
        # of 33.33: 35 % are 11.6655 and 25 % are 8.3325; the first takes what these leave
        ("33.33", 0.01, (40, 35, 25), ("13.33", "11.67", "8.33")),
        ("33.33", 0.5, (40, 35, 25), ("13.33", "11.5", "8.5")),
        # below ten steps, finer ones: 33 % of 0.0155 are 0.005115; two whole steps would be more than the line has
        ("0.0155", 0.01, (34, 33, 33), ("0.0053", "0.0051", "0.0051")),
        # half of 1.03 lies between two steps; the second part is not more than the first leaves
        ("1.03", 0.02, (0, 50, 50), ("0", "0.52", "0.51")),
        ("10", 0.01, (60, 40, 0), ("6", "4")),
    ],
)
def test_a_blend_stands_where_the_line_stood_in_whole_steps_that_add_to_it(
    entry: str, step: float, shares: tuple[float, ...], amounts: tuple[str, ...]
) -> None:
    names = ("Undecane", "Isododecane", "Dicaprylyl Ether")
    made = swapped(in_the_middle(entry), (0, 1), list(zip(names, shares, strict=True)), step)
    lines = made.phases[0].lines
    assert [line.material for line in lines] == ["Squalane", *names[: len(amounts)], "Isoamyl Laurate"]
    assert [line.entry for line in lines[1:-1]] == list(amounts)
    assert {line.hold for line in lines[1:-1]} == {"level"}


def test_of_a_blend_the_first_fills_and_the_others_keep_their_share() -> None:
    filled = swapped(in_the_middle("30", "fill"), (0, 1), [("Undecane", 50.0), ("Isododecane", 50.0)])
    assert [line.hold for line in filled.phases[0].lines[1:3]] == ["fill", "share"]
    rest = swapped(in_the_middle("30"), (0, 2), [("Undecane", 50.0), ("Isododecane", 50.0)])
    assert [line.entry for line in rest.phases[0].lines[2:]] == ["q.s.", "25"]  # half of what 20 and 30 leave of 100


@pytest.mark.parametrize("place", [(-1, 0), (1, 0), (0, -1), (0, 3)])
def test_no_line_is_found_by_counting_from_the_end(place: tuple[int, int]) -> None:
    with pytest.raises(EntryError, match="has no such line"):
        swapped(in_the_middle("30"), place, [("Undecane", 100.0)])


@pytest.mark.parametrize("shares", [(), (110.0, -10.0), (50.0, 49.99), (50.0, 50.01)])
def test_shares_that_are_none_are_refused(shares: tuple[float, ...]) -> None:
    with pytest.raises(EntryError, match=r"must be 0 or more and add to 100 %"):
        swapped(in_the_middle("30"), (0, 1), [("Undecane", share) for share in shares])


def test_what_is_read_of_a_card_is_in_its_own_measure() -> None:
    """Squalane has 31.1 mm²/s (its card: 31.1 mPa·s would be 38.4 mm²/s over 0.81 g/mL); mineral oil two HLB."""
    squalane = Properties.of(present(LIBRARY.ingredient("Squalane")), LIBRARY)
    assert np.exp(squalane.numbers["viscosity"]) == pytest.approx(31.1 / 0.81, rel=0.05)
    # Griffin (1949) has 10 for an emulsion of oil in water; for water in oil lists say 4 to 6
    assert Properties.of(present(LIBRARY.ingredient("Paraffinum Liquidum")), LIBRARY).numbers["hlb"] == 10
    # at 20 °C undecane has some 39 Pa over it: between 10 and 100, so a logarithm between 1 and 2
    undecane = Properties.of(present(LIBRARY.ingredient("Undecane")), LIBRARY)
    assert 1 < undecane.numbers["volatility"] < 2
    assert undecane.numbers["melting"] == pytest.approx(-26, abs=0.5)  # handbooks: -26 °C (from memory)
    prices = UnitCosts(PriceList("EUR", (Price("Squalane", 1, "kg", 50.0),)), LIBRARY)
    priced = Properties.of(present(LIBRARY.ingredient("Squalane")), LIBRARY, prices)
    assert np.exp(priced.numbers["price"]) == pytest.approx(0.05)  # per gram


@pytest.mark.parametrize(
    ("name", "half"),
    [
        ("density", 0.05), ("viscosity", np.log(10) / 2), ("polarity", 2.0), ("hlb", 2.0), ("volatility", 1.0),
        ("melting", 15.0), ("price", np.log(2)),
    ],
)  # fmt: skip
def test_half_of_what_counts_as_wholly_unlike_is_half_unlike(name: str, half: float) -> None:
    """Wholly unlike: 0.1 g/mL, a factor of ten, 4 of log P and HLB, a hundred in pressure, 30 °C, four in price."""
    one = Properties("one", {name: 3.0}, {})
    assert one.unlike(Properties("other", {name: 3.0 - half}, {}), name) == pytest.approx(0.5)
    assert one.unlike(Properties("other", {name: 3.0 + 3 * half}, {}), name) == 1.0
    assert one.unlike(Properties("other", {}, {}), name) is None


def test_solubility_is_unlike_in_so_many_of_the_solvents_both_are_known_in() -> None:
    one = Properties("one", {}, {"solubility": {"water": "mixes", "oil": "insoluble", "alcohol": "mixes"}})
    for other, unlike in (
        ({"water": "insoluble", "oil": "mixes", "alcohol": "mixes"}, 2 / 3),
        ({"water": "mixes", "oil": "mixes"}, 1 / 2),
        ({"water": "mixes"}, 0.0),
    ):
        found = one.unlike(Properties("other", {}, {"solubility": other}), "solubility")
        assert found == pytest.approx(unlike)
    assert one.unlike(Properties("other", {}, {"solubility": {"acetone": "mixes"}}), "solubility") is None


@pytest.mark.parametrize(
    ("name", "wanted", "off"),
    [
        ("density", 1.0, 1 / 1.02),  # 0.02 mL/g more room
        ("price", 0.04, 0.05),  # a quarter dearer
        ("viscosity", 30.0, 38.5165011),  # VBN = 14.534 ln ln(ν + 0.8) + 10.975 (Maples): 28.878 and 29.878
    ],
)
def test_one_unit_of_a_miss_weighs_as_one_of_hlb(name: str, wanted: float, off: float) -> None:
    """By hand: w parts of miss 1 beside 1 - x of another miss, w x² + (1 - x)², are least at x = 1 / (w + 1)."""

    def known(of: str, value: float, hlb: float) -> Properties:
        logs = name in ("viscosity", "price")
        return Properties(of, {name: float(np.log(value)) if logs else value, "hlb": hlb}, {})

    card = present(LIBRARY.ingredient("Squalane"))
    cards = [replace(card, inci=of) for of in ("Off in it", "Off in HLB")]
    found = Substitutes(
        known("Wanted", wanted, 10.0),
        tuple(
            Substitute(each, known(each.inci, *figures), 0.0, {})
            for each, figures in zip(cards, ((off, 10.0), (wanted, 11.0)), strict=True)
        ),
        (),
        (),
    )
    for weight, share in ((1.0, 50.0), (3.0, 25.0)):
        others = dict.fromkeys(("density", "viscosity", "price"), 0.0) | {name: weight}
        blend = matching_blend(found, Weights(**others, hlb=1.0))
        assert dict(blend.parts)["Off in it"] == pytest.approx(share, rel=1e-3)
        low, high = blend.reached["hlb"]
        assert (low, high) == pytest.approx((10.0, 11 - share / 100), rel=1e-3)
        assert blend.reached[name][0] == pytest.approx(wanted)
    alone = matching_blend(found, Weights(density=1, viscosity=1, price=1, hlb=1), most=1)
    assert len(alone.parts) == 1


def test_an_own_ingredient_is_offered_once_and_one_of_the_library_not_twice() -> None:
    mine = replace(present(LIBRARY.ingredient("Isopropyl Palmitate")), inci="My own ester", own=True)
    again = present(LIBRARY.ingredient("Isopropyl Palmitate"))
    materials = Materials(Library.bundled(), (mine, again))
    names = [one.name for one in substitutes(in_the_middle("30"), (0, 1), materials, (), count=30).found]
    assert names.count("My own ester") == 1
    assert names.count("Isopropyl Palmitate") == 1
