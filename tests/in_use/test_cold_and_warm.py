"""A closed bottle from cold to warm: published freezing, melting and pressures; what must hold for every product."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.in_use.closed_bottle import gauge_pressure, vapour_over
from kit.in_use.cold_and_warm import ColdAndWarm, Journey, cold_and_warm
from kit.in_use.cold_and_warm_findings import cold_and_warm_findings, proposed_cycles
from kit.in_use.density_bands import density_bands
from kit.in_use.freezing import Solute, WaterFreezing, water_freezing
from kit.in_use.oil_clouding import oil_clouding
from kit.in_use.on_the_way import on_the_way
from kit.in_use.vapour import AMBIENT, vapour_of
from kit.layers.bottle import Bottle, usual_bottle
from kit.layers.density import layer_density, layers_of
from kit.layers.temperature import expansion_room, most_fill
from kit.library.description import Description
from kit.library.library import Library
from tests.boxes import check_box
from tests.in_use.some_products import layered
from tests.present import present
from tests.rows import each_of

NOTHING = Materials.of(Formula("Nothing", ()), Library.bundled())


def freezing(**shares: float) -> WaterFreezing:
    return water_freezing("water part", {name.replace("_", " "): share for name, share in shares.items()}, NOTHING)


def closed(
    water: dict[str, str], oil: dict[str, str], fill: float = 100.0, journey: Journey | None = None,
    bottle: Bottle | None = None,
) -> ColdAndWarm:  # fmt: skip
    formula, materials = layered(water, oil)
    vessel = bottle or usual_bottle()
    return cold_and_warm(formula, materials, layers_of(formula, materials), vessel, fill, journey or Journey())


MIST = closed({"Aqua": "q.s.", "Alcohol": "20"}, {"Cyclopentasiloxane": "30"})
SALTY = closed({"Aqua": "q.s.", "Sodium Chloride": "12", "Xanthan Gum": "0.2"}, {"Squalane": "20"})
COCONUT = closed({"Aqua": "q.s."}, {"Cocos Nucifera Oil": "25", "Squalane": "4", "Tocopherol": "1"})


def test_mixtures_freeze_where_they_were_measured_to() -> None:
    """Sea water of 35 g/kg, salts after Kester and others (1967, read in two copies): -1.922 °C by Unesco (1983)."""
    sea = {
        "Sodium Chloride": 2.3926, "Sodium Sulfate": 0.4008, "Potassium Chloride": 0.0677, "Sodium Bicarbonate": 0.0196,
        "Magnesium Chloride Hexahydrate": 5.327 * 0.20333, "Calcium Chloride Dihydrate": 1.033 * 0.14703,
    }  # fmt: skip
    found = water_freezing("sea", {**sea, "Aqua": 100 - math.fsum(sea.values())}, NOTHING)
    # Fofonoff and Millard (1983): -0.0575 S + 1.710523e-3 S^1.5 - 2.154996e-4 S^2 (coefficients from memory).
    unesco = -0.0575 * 35 + 1.710523e-3 * 35**1.5 - 2.154996e-4 * 35**2
    assert unesco == pytest.approx(-1.922, abs=0.001)
    low, high = present(found.coldest), present(found.warmest)
    assert low < unesco < high
    assert (low + high) / 2 == pytest.approx(unesco, abs=0.05)
    # 10 % alcohol: -4.47 °C (CRC Handbook); 20 %: -10.92 (CRC), -10.6 near 20.3 % (Lange's Handbook)
    for percent, published in ((10, -4.47), (20, -10.92)):
        spirit = freezing(Aqua=100 - percent, Alcohol=percent)
        assert present(spirit.coldest) < published < present(spirit.warmest)
    assert (freezing(Aqua=100).coldest, freezing(Aqua=100).warmest) == (0, 0)


def test_ice_follows_the_lever_rule_and_grows_by_nine_percent() -> None:
    """5 % salt at -10.89 °C: its brine holds 15 % (CRC Handbook), so 5 × 85/15 = 28.33 of 95 parts stay liquid."""
    brine = freezing(Aqua=95, Sodium_Chloride=5)
    least, most = brine.ice(-10.89)
    assert least == most == pytest.approx(1 - 28.333 / 95, abs=0.001)
    # 100 g of water: 100.02 mL at 0 °C, 109.09 mL of ice of 0.9167 g/mL (published density)
    assert freezing(Aqua=100).grows(100, -5) == pytest.approx(100 / 0.9167 - 100 / 0.99984)
    assert freezing(Aqua=100).grows(100, -5) == pytest.approx(9.07, abs=0.01)


SOLUTES = ("Alcohol", "Glycerin", "Sodium Chloride", "Magnesium Sulfate", "Propanediol", "Sodium Benzoate", "Urea")


@settings(max_examples=40)
@given(
    st.dictionaries(st.sampled_from(SOLUTES), st.floats(0.05, 8), min_size=1, max_size=4),
    st.sampled_from(SOLUTES), st.floats(0.1, 5), st.floats(-40, -0.1), st.floats(0.1, 10),
)  # fmt: skip
def test_more_dissolved_freezes_colder_and_colder_is_more_ice(
    dissolved: dict[str, float], more: str, added: float, celsius: float, colder: float
) -> None:
    before = water_freezing("part", {"Aqua": 100, **dissolved}, NOTHING)
    after = water_freezing("part", {"Aqua": 100, **dissolved, more: dissolved.get(more, 0.0) + added}, NOTHING)
    tiny = 1e-9
    assert present(after.warmest) <= present(before.warmest) + tiny
    assert after.coldest is None or after.coldest <= present(before.coldest) + tiny
    least, most = before.ice(celsius)
    assert 0 <= least <= most <= 1
    assert before.ice(celsius - colder)[1] >= most - tiny
    assert after.ice(celsius)[1] <= most + tiny


def test_what_is_not_known_of_freezing_is_said() -> None:
    strong = freezing(Aqua=30, Alcohol=70)
    assert strong.begins == "below -49.5 °C; how far below is not known"
    assert strong.ice(-45) == (0, 0)
    gum = freezing(Aqua=99, Xanthan_Gum=1)
    assert gum.not_counted == ("Xanthan Gum",)
    assert "Not counted, 1 % of the layer: Xanthan Gum" in gum.sentence()
    assert "holds no water" in freezing(Glycerin=100).sentence()
    ideal = freezing(Aqua=90, Propanediol=10)
    assert "Propanediol by the ideal law" in ideal.sentence()
    # 10 g of 76.1 g/mol in 90 g of water: 1.46 mol/kg × 1.86 = 2.72 K (ideal law, by hand)
    assert present(ideal.coldest) < -2.72 < present(ideal.warmest)
    salt = freezing(Aqua=99, Sodium_Benzoate=1)
    assert present(salt.warmest) == 0
    # into three particles at the most, 15 % off for the ideal law and 0.1 K for tables
    assert present(salt.coldest) == pytest.approx(-3 * 1.86 * 10 / 0.99 / 144.11 * 1.15 - 0.1, abs=0.002)


def test_oils_cloud_by_the_table_and_the_rest_is_not_known() -> None:
    """Coconut oil melts from 20 to 28 °C (Food Chemistry); squalane at -38 °C (CRC Handbook)."""
    found = present(COCONUT.clouding)
    assert found.clear_above == 28
    assert found.at(15) == (["Cocos Nucifera Oil"], [])
    assert found.at(24) == ([], ["Cocos Nucifera Oil"])
    assert found.at(30) == ([], [])
    assert found.unknown_share == pytest.approx(100 / 30)
    assert "Not known where they cloud, 3.33 % of the layer: Tocopherol" in found.sentence()
    assert "is not known" in oil_clouding("Oil", {"Tocopherol": 1}).sentence()
    # Olive oil is turbid from 5 to 10 °C and a granular mass below 0 °C (encyclopedia entry)
    assert oil_clouding("Oil", {"Olea Europaea Fruit Oil": 1}).at(7) == ([], ["Olea Europaea Fruit Oil"])


def test_pressures_are_those_of_the_gas_law_and_of_steam_tables() -> None:
    """360 kPa at 24 °C are 391.5 kPa at 50 °C (a textbook's exercise); steam tables: 2.339 and 12.352 kPa."""
    dry = gauge_pressure(350, 350, 50, 24) + AMBIENT
    assert dry / AMBIENT * 360 == pytest.approx(391.5, abs=0.05)
    wet = gauge_pressure(10, 10, 50, 20, 12.352, 2.339)
    assert wet == pytest.approx((101.325 - 2.339) * 323.15 / 293.15 + 12.352 - 101.325)
    assert wet == pytest.approx(20.14, abs=0.01)
    water = closed({"Aqua": "q.s."}, {})
    assert vapour_over(water.liquids, 50)[0] == pytest.approx(12.352, rel=0.002)
    for room, then, words in ((0.0, 5.0, "holds no air"), (5.0, 0.0, "holds no air")):
        with pytest.raises(RangeError, match=words):
            gauge_pressure(room, then, 50, 20)
    with pytest.raises(RangeError, match="boils at"):
        gauge_pressure(5, 5, 50, 20, 10, 101.4)


@settings(max_examples=40)
@given(st.floats(1, 50), st.floats(0, 59), st.floats(0.5, 40), st.floats(0, 50), st.floats(0, 20), st.floats(0.5, 1))
def test_a_warmer_bottle_presses_harder(
    room: float, at: float, warmer: float, vapour: float, more: float, squeezed: float
) -> None:
    cool = gauge_pressure(room, room, at, 20, vapour)
    assert gauge_pressure(room * squeezed, room, at + warmer, 20, vapour + more) > cool
    # no vapour and no expansion: the gas law alone
    assert gauge_pressure(room, room, at, 20) + AMBIENT == pytest.approx(AMBIENT * (at + 273.15) / 293.15)
    assert gauge_pressure(room, room, 20, 20, vapour, vapour) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("found", [MIST, SALTY, COCONUT], ids=["mist", "salty", "coconut"])
def test_along_the_way_nothing_jumps_or_is_lost(found: ColdAndWarm) -> None:
    warm = [found.at(celsius) for celsius in range(61)]
    pressures = [present(each.pressure) for each in warm]
    assert pressures == sorted(pressures)
    assert warm[20].pressure == pytest.approx(0, abs=1e-9)
    assert [each.room for each in warm] == sorted((each.room for each in warm), reverse=True)
    for celsius in range(-20, 61, 5):
        then = found.at(celsius)
        assert then.standing[0].bottom == 0
        assert math.fsum(each.volume for each in then.standing) == pytest.approx(then.volume)
        assert then.room + then.volume == pytest.approx(found.bottle.brimful)
        low, high = then.pressure_band or (0.0, 0.0)
        assert low <= (then.pressure or 0.0) <= high or then.pressure is None
    events = on_the_way(found)
    assert [each.low for each in events] == sorted(each.low for each in events)
    assert all(each.source for each in events)
    with pytest.raises(RangeError, match="not at 61 °C"):
        found.at(61)


def test_the_room_is_that_of_the_rule_for_packs() -> None:
    """ADR (2013), 4.1.1.4: filled as far as it allows, the bottle is 98 % full at 50 °C."""
    formula, materials = layered({"Aqua": "q.s.", "Glycerin": "5"}, {"Squalane": "30"})
    rule = expansion_room(formula, materials, 120, 100)
    grows = rule.grows / 100 / 30
    fill = most_fill(120, grows)
    found = closed(
        {"Aqua": "q.s.", "Glycerin": "5"}, {"Squalane": "30"}, fill, bottle=Bottle.cylinder("40 mm", "120 mL")
    )
    assert present(found.fuller_than(98)) == pytest.approx(50, abs=0.01)
    assert found.at(50).volume / fill == pytest.approx(1 + rule.grows / 100)
    assert found.at(50).off / fill * 100 == pytest.approx(rule.off, rel=1e-6)


def test_where_the_order_cannot_be_told_is_the_whole_band() -> None:
    bands = present(MIST.bands)
    (low, high), (meets,) = bands.untold[0], bands.meets
    assert low < meets < high
    formula, materials = layered({"Aqua": "q.s.", "Alcohol": "20"}, {"Cyclopentasiloxane": "30"})
    for edge in (low, high):
        water, oil = (layer_density(formula, materials, kind, edge) for kind in ("water", "oil"))
        band = 2 * math.hypot(water.uncertainty, oil.uncertainty)
        assert abs(water.value - oil.value) == pytest.approx(band, abs=1e-7)
    assert (bands.below(low - 1), bands.below(meets), bands.below(high + 1)) == ("oil", None, "water")
    assert f"Between {low:.0f} and {high:.0f} °C it cannot be told which layer lies below." in bands.sentence()
    assert "From 40 to 60 °C it is not known: how 32.1 % of the Water layer expands" in bands.sentence()
    assert bands.below(50) is None
    assert bands.likely == ((40.0, 60.0, "water"),)
    assert "There the Water layer would lie below if that expanded as usual liquids do." in bands.sentence()
    assert present(SALTY.bands).sentence() == (
        "From 0 to 60 °C the Water layer lies below the Oil layer, ± twice the uncertainty."
    )
    assert density_bands(*layered({"Aqua": "q.s."}, {})) is None
    with pytest.raises(RangeError, match="from 0 to 100 °C"):
        density_bands(formula, materials, -5)


def test_the_way_from_cold_to_warm_names_each_stretch_where_the_order_is_not_known() -> None:
    (low, high), (meets,) = present(MIST.bands).untold[0], present(MIST.bands).meets
    met = {each.what: (each.low, each.high) for each in on_the_way(MIST)}
    assert met["it cannot be told which layer lies below"] == (low, high)
    assert met["the densities of both layers meet"] == (meets, meets)
    assert met["which layer lies below is not known"] == (40, 60)  # the table of the alcohol ends at 40 °C
    assert [MIST.at(celsius).order_is_known for celsius in (low - 1, meets, high + 1, 50)] == [True, False, True, False]
    assert closed({"Aqua": "q.s."}, {}).at(20).order_is_known  # one layer has no order to doubt
    kinds = [[layer.kind for layer in MIST.at(celsius).standing] for celsius in (low - 1, high + 1)]
    assert kinds == [["oil", "water"], ["water", "oil"]]


def test_findings_say_what_bursts_burns_and_is_to_be_tested() -> None:
    said = {each.sentence: each.severity for each in cold_and_warm_findings(MIST)}
    words = " ".join(said)
    assert "Alcohol (category 2)" in words
    assert "the rules of your country and carrier decide" in words
    assert "Freeze-thaw, three cycles (its water begins to freeze only below -18 °C" in words
    assert "safe" not in words
    assert [plan.key for plan, _ in proposed_cycles(MIST)] == ["cold-warm-cycles", "freeze-thaw"]
    iced = " ".join(each.sentence for each in cold_and_warm_findings(COCONUT))
    assert "100 % of the water in the Water layer is ice" in iced
    assert "leave room in the bottles" in iced
    full = closed({"Aqua": "q.s.", "Glycerin": "3"}, {"Squalane": "30"}, 110.9)
    brim = [each for each in cold_and_warm_findings(full) if each.severity == "caution"]
    assert any("bursts or leaks" in each.sentence for each in brim)
    assert any("breaks or the cap lifts" in each.sentence for each in brim)
    assert full.at(55).is_overfull
    assert full.at(60).pressure is None
    with pytest.raises(RangeError, match="lies above the warmest"):
        closed({"Aqua": "q.s."}, {}, journey=Journey(coldest=40, warmest=10))
    with pytest.raises(RangeError, match="cannot stand in"):
        closed({"Aqua": "q.s."}, {}, 500)
    with pytest.raises(RangeError, match="nothing in it has a density"):
        closed({"Aqua": "q.s."}, {"Strange Oil": "30"})
    with pytest.raises(RangeError, match="Two has no amounts yet, so nothing is in the bottle"):
        closed({"Aqua": "0"}, {"Squalane": "0"})


def test_a_product_of_one_layer_is_told_only_what_can_happen_to_it() -> None:
    oil = closed({}, {"Cocos Nucifera Oil": "40", "Squalane": "60"}, journey=Journey(coldest=5))
    said = [each.sentence for each in cold_and_warm_findings(oil)]
    assert (oil.freezing, oil.bands) == (None, None)
    assert any("First to cloud in the Oil layer: Cocos Nucifera Oil (40 % of it)" in words for words in said)
    assert any("Freeze-thaw, three cycles (oils may set, and nothing here tells where it freezes)" in w for w in said)
    assert not any("lies below" in words or "first ice" in words or "is ice" in words for words in said)
    assert not any("Below 0 °C" in words for words in said)
    what = [each.what for each in on_the_way(oil)]
    assert any(words.startswith("Cocos Nucifera Oil (40 % of the oil layer) melts") for words in what)
    assert not any("first ice" in words or "is ice" in words or "densities" in words for words in what)
    water = closed({"Aqua": "q.s."}, {}, journey=Journey(coldest=5, warmest=30))
    said = [each.sentence for each in cold_and_warm_findings(water)]
    assert water.clouding is None
    assert not any("cloud" in words or "is ice" in words or "stands in" in words for words in said)
    # Water freezes at 0 °C, and the journey ends at 5 °C; what else is told is no cause for care.
    assert {each.severity for each in cold_and_warm_findings(water)} == {"note"}
    assert not any("first ice" in each.what for each in on_the_way(water))
    assert [each.where for each in on_the_way(water)] == ["5 °C", "20 °C", "30 °C"]


def test_a_powder_layer_is_not_looked_at_and_a_full_bottle_is_told() -> None:
    lines = (Line("Kaolin", "10"),)
    formula, _ = layered({"Aqua": "q.s."}, {})
    formula = replace(formula, phases=(*formula.phases[:1], Phase("Clay", "other", lines)))
    materials = Materials.of(formula, Library.bundled())
    with_clay = cold_and_warm(formula, materials, layers_of(formula, materials), usual_bottle(), 100.0, Journey())
    said = [each.sentence for each in cold_and_warm_findings(with_clay)]
    assert "Freezing and clouding were not looked at for: Clay." in said
    full = closed({"Aqua": "q.s."}, {}, 109.5, Journey(coldest=5, warmest=50))
    # Water of 20 °C takes 0.99821 / 0.98804 = 1.0103 times as much room at 50 °C (CRC Handbook): 110.63 of 111.32 mL.
    warm = next(each for each in cold_and_warm_findings(full) if each.sentence.startswith("At 50 °C 0.7"))
    assert warm.severity == "caution"
    assert warm.sentence.endswith("It is more than 98 % full then: fill less.")
    # 109.5 of 111.32 mL are 98.4 %, and at 0 °C no less than 98.1 %: fuller than 98 % throughout, never full.
    assert (full.fuller_than(98), full.fuller_than(100)) == (0, None)
    over = closed({"Aqua": "q.s."}, {}, 111.0, Journey(coldest=5, warmest=40))
    assert "it may be full to bursting" in on_the_way(over)[-1].what


def test_a_range_that_begins_or_ends_where_the_order_cannot_be_told() -> None:
    mist = layered({"Aqua": "q.s.", "Alcohol": "20"}, {"Cyclopentasiloxane": "30"})
    (low, high), (meets,) = present(MIST.bands).untold[0], present(MIST.bands).meets
    colder, warmer = present(density_bands(*mist, 0, meets)), present(density_bands(*mist, meets, 40))
    assert (len(colder.untold), len(warmer.untold)) == (1, 1)
    assert colder.untold[0] == pytest.approx((low, meets), abs=1e-6)
    assert warmer.untold[0] == pytest.approx((meets, high), abs=1e-6)
    assert warmer.sentence().startswith(f"Between {meets:.0f} and {high:.0f} °C it cannot be told")
    none = present(density_bands(*layered({"Aqua": "q.s."}, {"Strange Oil": "30"})))
    assert none.likely == ((0, 60, ""),)
    spirit = present(density_bands(*layered({"Aqua": "q.s.", "Alcohol": "70"}, {"Squalane": "30"})))
    assert spirit.likely == ((40, 60, ""),)  # nothing but alcohol, whose table ends at 40 °C; its band is too wide
    assert "would lie below" not in spirit.sentence()
    assert none.sentence() == (
        "From 0 to 60 °C it is not known: the Oil layer has no density. Stand a bottle there for a day and look."
    )


def test_an_emulsion_is_drawn_in_one_piece_and_has_no_order_of_layers() -> None:
    formula, materials = layered({"Aqua": "q.s.", "Glycerin": "4"}, {"Squalane": "20"})
    parted = cold_and_warm(formula, materials, layers_of(formula, materials), usual_bottle(), 100.0, Journey())
    formula = replace(formula, description=Description(layering="emulsified"))
    found = cold_and_warm(formula, materials, layers_of(formula, materials), usual_bottle(), 100.0, Journey())
    assert found.bands is None
    assert len(parted.at(20).standing) == 2
    for celsius in (-10.0, 20.0, 50.0):
        (one,) = found.at(celsius).standing
        assert one.volume == pytest.approx(math.fsum(layer.volume for layer in parted.at(celsius).standing))
        assert one.top == pytest.approx(parted.at(celsius).standing[-1].top)
        assert one.ice == max(layer.ice for layer in parted.at(celsius).standing)
    assert not any("lies below" in finding.sentence for finding in cold_and_warm_findings(found))


@each_of(
    ("name", "first", "takes", "refuses"),
    [
        ("closed_at", "20 °C", ("0", "60"), ("-0.1", "60.1")),  # densities and vapour pressures are known there
        ("coldest", "-10 °C", ("-20", "60"), ("-20.1", "60.1")),
        ("warmest", "50 °C", ("0", "60"), ("-0.1", "60.1")),
    ],
)
def test_what_may_be_said_of_the_way(name: str, first: str, takes: tuple[str, ...], refuses: tuple[str, ...]) -> None:
    check_box(Journey, name, first, takes, refuses)
    for text in takes:
        assert getattr(Journey(**{name: float(text)}), name) == float(text)


@given(st.floats(1e-3, 1e3))
def test_a_mixture_freezes_alike_however_much_of_it_is_written_down(times: float) -> None:
    shares = {"Aqua": 80.0, "Alcohol": 10.0, "Sodium Benzoate": 1.0, "Xanthan Gum": 1.0}
    found = water_freezing("part", {name: times * share for name, share in shares.items()}, NOTHING)
    whole = water_freezing("part", shares, NOTHING)
    assert found.sentence() == whole.sentence()
    assert (found.water, found.not_counted_share) == pytest.approx((100 * 80 / 92, 100 * 1 / 92))


def test_a_bottle_is_looked_at_from_cold_to_warm_and_holds_no_more_than_to_the_brim() -> None:
    assert [MIST.at(celsius).celsius for celsius in (-20, 60)] == [-20, 60]
    for celsius in (-20.1, 60.1):
        with pytest.raises(RangeError, match=f"from -20 to 60 °C, not at {celsius} °C"):
            MIST.at(celsius)
    tall = Bottle.cylinder("40 mm", "120 mL")
    assert closed({"Aqua": "q.s."}, {}, 120, bottle=tall).at(20).room == pytest.approx(0, abs=1e-9)
    for fill in (0.0, 120.01):
        with pytest.raises(RangeError, match="cannot stand in"):
            closed({"Aqua": "q.s."}, {}, fill, bottle=tall)
    closed({"Aqua": "q.s."}, {}, 0.5, bottle=tall)


def test_the_layers_of_a_bottle_stand_on_one_another() -> None:
    for celsius in (-20, 0, 20, 60):
        then, level = SALTY.at(celsius), SALTY.bottle.level
        lower, upper = then.standing
        assert (lower.kind, upper.kind) == ("water", "oil")
        assert (lower.bottom, lower.top, upper.bottom) == (0, level(lower.volume), level(lower.volume))
        assert upper.top == level(lower.volume + upper.volume)
        assert upper.ice == 0
    # filled near the brim, what grows beyond it is drawn to the brim
    full = closed({"Aqua": "q.s."}, {}, 111.0)
    assert full.at(60).volume > full.bottle.brimful
    assert full.at(60).standing[0].top == full.bottle.level(full.bottle.brimful)


def test_what_gives_off_vapour_that_can_be_lit_is_told_from_its_flash_point_on() -> None:
    # Limonene 43 °C (data/volatility, by a data sheet); water has none and is passed over
    for warmest, told in ((42.0, False), (43.0, True), (60.0, True)):
        found = closed({"Aqua": "q.s."}, {"Limonene": "20", "Squalane": "10"}, journey=Journey(warmest=warmest))
        lit = [one for one in on_the_way(found) if "can be lit" in one.what]
        assert [(one.low, one.high) for one in lit] == ([(43.0, warmest)] if told else [])


def test_only_the_first_oils_to_cloud_are_shown_on_the_way() -> None:
    oils = (
        "Cocos Nucifera Oil", "Theobroma Cacao Seed Butter", "Isopropyl Myristate", "Butyrospermum Parkii Butter",
        "Olea Europaea Fruit Oil", "Isopropyl Palmitate",
    )  # fmt: skip
    found = closed({}, dict.fromkeys(oils, "10"), journey=Journey(coldest=-20))
    known = present(found.clouding).known
    assert len(known) == 6
    assert [one.melts_to for one, _ in known] == sorted((one.melts_to for one, _ in known), reverse=True)
    melts = [one.what.split(" (")[0] for one in on_the_way(found) if " melts, by itself" in one.what]
    assert sorted(melts) == sorted(one.inci for one, _ in known[:4])


def test_what_is_a_caution_and_what_a_note() -> None:
    def severities(found: ColdAndWarm, *words: str) -> list[str]:
        every = cold_and_warm_findings(found)
        return [next(one.severity for one in every if word in one.sentence) for word in words]

    # coconut oil is clear above 28 °C, and water freezes at 0 °C: both on a way down to -10 °C, neither from 30 °C on
    assert severities(COCONUT, "First to cloud", "The first ice", "lies below") == ["caution", "caution", "note"]
    warm = closed({"Aqua": "q.s."}, {"Cocos Nucifera Oil": "25", "Squalane": "5"}, journey=Journey(30.0, 28.1, 50.0))
    assert severities(warm, "First to cloud", "The first ice") == ["note", "note"]
    just = closed({"Aqua": "q.s."}, {"Cocos Nucifera Oil": "25", "Squalane": "5"}, journey=Journey(30.0, 28.0, 50.0))
    assert severities(just, "First to cloud") == ["caution"]
    unknown = closed({"Aqua": "q.s."}, {"Tocopherol": "25"})
    assert severities(unknown, "clouds is not known") == ["note"]
    # the mist's order cannot be told somewhere between 0 and 40 °C; on a way that stays above, it is known or likely
    (low, high) = present(MIST.bands).untold[0]
    for coldest, warmest, severity in (
        (0.0, low - 0.1, "note"),
        (0.0, low + 0.1, "caution"),
        (high + 0.1, 50.0, "note"),
    ):
        mist = closed(
            {"Aqua": "q.s.", "Alcohol": "20"}, {"Cyclopentasiloxane": "30"}, journey=Journey(20, coldest, warmest)
        )
        assert severities(mist, "it cannot be told which layer lies below") == [severity]


def test_both_stretches_beside_one_where_the_order_cannot_be_told_are_named() -> None:
    bands = present(MIST.bands)
    (low, high) = bands.untold[0]
    assert bands.sentence().startswith(
        f"Between {low:.0f} and {high:.0f} °C it cannot be told which layer lies below. From 0 to {low:.0f} °C the "
        "Oil layer lies below the Water layer, ± twice the uncertainty. "
        f"From {high:.0f} to 40 °C the Water layer lies below the Oil layer, ± twice the uncertainty."
    )


def test_the_pressure_is_that_of_the_air_that_was_shut_in_and_its_band_that_of_the_volume() -> None:
    for fill in (20.0, 60.0, 100.0):
        found = closed({"Aqua": "q.s.", "Glycerin": "5"}, {"Squalane": "30"}, fill)
        then, vapour = found.at(50), [vapour_over(found.liquids, celsius)[0] for celsius in (50, 20)]
        shut_in = found.bottle.brimful - fill
        assert then.pressure == pytest.approx(gauge_pressure(then.room, shut_in, 50, 20, *vapour))
        low, high = present(then.pressure_band)
        assert low == pytest.approx(gauge_pressure(then.room + then.off, shut_in, 50, 20, *vapour))
        assert high == pytest.approx(gauge_pressure(then.room - then.off, shut_in, 50, 20, *vapour))
        cold = found.at(-5)
        assert (cold.vapour, cold.pressure, cold.pressure_band) == (None, None, None)
        assert found.at(0).vapour is not None
    for wrong in ((-0.5, 0.0), (0.0, -0.5), (0.0, AMBIENT)):
        with pytest.raises(RangeError, match="boils at"):
            gauge_pressure(5, 5, 50, 20, *wrong)


def test_how_much_expands_by_nobody_knows_how_much() -> None:
    # the alcohol's table ends at 40 °C: at 60 °C it is 32.1 % of the water layer, at 50 °C a little less of its volume
    then = MIST.at(50)
    water = next(one.volume for one in then.standing if one.kind == "water")
    assert then.carried == pytest.approx(32.1 * water / then.volume, rel=0.01)
    assert MIST.at(30).carried == 0
    assert SALTY.at(20).off == pytest.approx(0, abs=1e-6)  # nothing has grown yet
    assert 0 < SALTY.at(40).off < SALTY.at(60).off


def test_what_is_not_counted_is_named_from_the_largest_on() -> None:
    found = freezing(Aqua=90, Strange_Powder=1, Xanthan_Gum=3, Other_Powder=2)
    assert found.not_counted == ("Xanthan Gum", "Other Powder", "Strange Powder")
    assert "Not counted, 6.25 % of the layer: Xanthan Gum, Other Powder and Strange Powder" in found.sentence()
    for share, told in ((0.04, False), (0.06, True)):  # from a twentieth of a percent on
        assert ("Not counted" in freezing(Aqua=100 - share, Xanthan_Gum=share).sentence()) == told
    every = {f"Oil {letter}": n for n, letter in enumerate("ABCDEF", start=1)}
    clouding = oil_clouding("Oil", every)
    assert [name for name, _ in clouding.unknown] == ["Oil F", "Oil E", "Oil D", "Oil C", "Oil B", "Oil A"]
    assert "has none of it (Oil F, Oil E, Oil D, Oil C and 2 more)" in clouding.sentence()
    assert "(Oil D, Oil C, Oil B, Oil A)" in oil_clouding("Oil", dict(list(every.items())[:4])).sentence()


def test_an_oil_layer_is_told_by_what_clouds_first() -> None:
    # Food Chemistry has shea butter melting from 23 to 42 °C, coconut oil from 20 to 28 °C (data/melting)
    mixed = oil_clouding("Oil", {"Squalane": 0, "Cocos Nucifera Oil": 98, "Butyrospermum Parkii Butter": 2})
    assert mixed.sentence() == (
        "First to cloud in the Oil: Butyrospermum Parkii Butter (2 % of it), which by itself is wholly melted above 42 "
        "°C and set below 23 °C. Mixed with the rest it clouds later; how much later only a cold bottle tells."
    )
    assert (mixed.clear_above, [one.inci for one, _ in mixed.known][1:]) == (42, ["Cocos Nucifera Oil"])
    alone = oil_clouding("Oil", {"Stearic Acid": 99.5, "Tocopherol": 0.5})  # 69.3 °C, the CRC Handbook
    assert alone.sentence() == (
        "First to cloud in the Oil: Stearic Acid (99.5 % of it), which by itself is wholly melted above 69.3 °C. Not "
        "known where they cloud, 0.5 % of the layer: Tocopherol."
    )
    assert "Mixed with the rest" in oil_clouding("Oil", {"Stearic Acid": 98.9, "Tocopherol": 1.1}).sentence()


def test_a_warm_bottle_is_a_caution_where_it_presses_by_a_third_of_the_air_or_is_nearly_full() -> None:
    seen = set()
    for fill in (60.0, 105.0, 108.5):
        for warmest in (30.0, 40.0, 45.0, 50.0, 55.0, 60.0):
            found = closed({"Aqua": "q.s.", "Alcohol": "15"}, {"Squalane": "30"}, fill, Journey(warmest=warmest))
            then = found.at(warmest)
            if then.is_overfull:
                continue
            told = next(one for one in cold_and_warm_findings(found) if f"At {warmest:g} °C" in one.sentence)
            full = 100 * (then.volume + then.off) / found.bottle.brimful > 98  # ADR (2013), 4.1.1.4
            pressed = present(then.pressure) > 33  # kPa, our own choice
            assert (told.severity == "caution") == (full or pressed)
            assert ("It is more than 98 % full then" in told.sentence) == full
            seen.add((full, pressed))
    assert seen >= {(False, False), (False, True), (True, True)}


def test_what_is_told_on_the_way_of_a_bottle_that_is_nearly_full() -> None:
    tall = Bottle.cylinder("40 mm", "120 mL")
    brim = closed({"Aqua": "q.s."}, {}, 120.0, Journey(20, 5, 40), tall)
    told = {each.where: each.what for each in on_the_way(brim)}
    # no air was shut in, so there is no pressure to tell; cold, water takes less room than at 20 °C
    assert [brim.at(celsius).pressure for celsius in (5, 20, 40)] == [None] * 3
    assert told["5 °C"] == "0.2 mL of air in the bottle"  # 120 mL × (1 - 0.99821 / 0.99997)
    assert told["20 °C"] == "closed with 0.0 mL of air in the bottle"
    assert told["40 °C"] == "0.0 mL of air in the bottle; it may be full to bursting"
    warm = closed({"Aqua": "q.s."}, {}, 100.0, Journey(30, 10, 50), tall)
    told = {each.where: each.what for each in on_the_way(warm)}
    for celsius, way in ((10, "under"), (50, "over")):
        kpa = abs(present(warm.at(celsius).pressure))
        assert told[f"{celsius} °C"].endswith(f"mL of air in the bottle, {kpa:.0f} kPa {way} the air outside")
    assert told["30 °C"] == "closed with 20.0 mL of air in the bottle"
    frozen = closed({"Aqua": "q.s."}, {}, 100.0, Journey(20, -5, 40), tall)
    cold = next(each for each in on_the_way(frozen) if each.where == "-5 °C")
    # 99.82 g of ice of 0.9167 g/mL take 108.9 mL
    assert cold.what == "11.1 mL of air in the bottle; 100 % of the water is ice, which asks for room"


def test_where_ice_begins_is_told_on_the_way_as_far_as_it_is_known() -> None:
    # stronger than anybody measured: below where the curve of magnesium sulfate ends, and no colder end is known
    strong = closed({"Aqua": "q.s.", "Magnesium Sulfate": "28"}, {}, journey=Journey(20, -20, 40))
    frozen = present(strong.freezing)
    assert frozen.coldest is None
    (ice,) = [each for each in on_the_way(strong) if "the first ice forms" in each.what]
    assert (ice.low, ice.high) == (frozen.warmest, frozen.warmest)
    brine = closed({"Aqua": "q.s.", "Sodium Chloride": "5"}, {}, journey=Journey(20, -20, 40))
    salty = present(brine.freezing)
    (ice,) = [each for each in on_the_way(brine) if "the first ice forms" in each.what]
    assert (ice.low, ice.high) == (salty.coldest, salty.warmest)
    assert present(salty.coldest) < present(salty.warmest)
    told = {each.where: each.what for each in on_the_way(closed({"Aqua": "q.s."}, {}, journey=Journey(30, 5, 45)))}
    assert [words for words in told.values() if words.startswith("closed with")] == [told["30 °C"]]
    little = on_the_way(closed({"Aqua": "q.s."}, {}, journey=Journey(20, 19.8, 20.2)))
    assert [words.what.split(", ")[-1] for words in (little[0], little[2])] == [
        "0 kPa under the air outside", "0 kPa over the air outside",
    ]  # fmt: skip


def test_what_hardly_evaporates_hardly_presses_and_how_far_the_ideal_law_goes() -> None:
    silicone = closed({}, {"Cyclopentasiloxane": "q.s."}, 50.0)
    assert vapour_over(silicone.liquids, 25)[0] == pytest.approx(vapour_of("Cyclopentasiloxane").pressure(25))
    # 1.86 K for each mole of particles, up to 3 mol/kg of a substance that parts into three
    assert Solute("salt", 0.1, None, 1.0, 0.0, 3.0).furthest == pytest.approx(1.86 * 3 * 3)
