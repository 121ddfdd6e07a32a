"""The volume of a mixture: real where tables reach, ideal for the rest, and never silent about the difference."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.formula.expansion import Materials
from kit.layers.density import material_density
from kit.layers.mixing import Contents, Mixed
from kit.layers.substance import (
    SALT_ROOM,
    SOLID_ROOM,
    expansions,
    figure_uncertainty,
    reference_celsius,
    usual_expansion,
)
from kit.library.ingredient import Figure, Ingredient, Stock
from kit.library.library import Library
from kit.liquids.aqueous import aqueous_solutions
from kit.liquids.water import water_density_at
from kit.resources import load_table
from tests.present import present

LIBRARY = Library.bundled()
#: Those without a row in the library too: a table is a table.
TABLED = sorted(each.substance for each in aqueous_solutions())


def mixed(*parts: tuple[str, float], celsius: float = 20.0, own: tuple[Ingredient | Stock, ...] = ()) -> Mixed:
    found = Contents.of([name for name, _ in parts], Materials(LIBRARY, own)).mix([x for _, x in parts], celsius)
    assert found is not None
    return found


@given(st.sampled_from(TABLED), st.floats(0, 1), st.floats(0, 1))
def test_one_dissolved_substance_is_exactly_its_table(name: str, strong: float, warm: float) -> None:
    solution = next(each for each in aqueous_solutions() if each.substance == name)
    percent = strong * solution.most / 100 * 99.9
    celsius = solution.coldest + warm * (solution.warmest - solution.coldest)
    sold = percent / solution.brings  # with its crystal water
    if sold > 99.9:
        return
    found = mixed((name, sold), ("Aqua", 100 - sold), celsius=celsius)
    assert found.density == pytest.approx(solution.density(percent, celsius), rel=1e-9)
    assert found.density * found.uncertainty / found.volume == pytest.approx(
        solution.uncertainty_at(percent, celsius), rel=1e-6, abs=1e-12
    )
    assert found.unknown_share == 0


@pytest.mark.parametrize(
    ("name", "percent", "published"),
    [
        # CRC Handbook, Concentrative properties of aqueous solutions, 20 °C, as it stands in published_solutions.csv
        ("Sodium Hydroxide", 10, 1.1089),
        ("Sodium Chloride", 10, 1.0707),
        ("Magnesium Sulfate", 10, 1.1034),
        # OIML R 22, 20 °C, formula of Wagenbreth and Blanke: 913.77 kg/m3
        ("Alcohol", 50, 0.91377),
        # D. R. Lide (editor), CRC Handbook: sodium chloride 20 %
        ("Sodium Chloride", 20, 1.1478),
    ],
)
def test_published_solutions(name: str, percent: float, published: float) -> None:
    found = mixed((name, percent), ("Aqua", 100 - percent))
    assert found.density == pytest.approx(published, abs=1.5e-3)
    assert abs(found.density - published) <= 3 * found.density * found.uncertainty / found.volume + 1e-4


def test_crystal_water_counts_as_water() -> None:
    # Epsom salt holds 48.83 % magnesium sulfate: 20.48 g of it in 100 g are a 10 % solution, 1.1034 g/mL (CRC)
    found = mixed(("Magnesium Sulfate Heptahydrate", 20.48), ("Aqua", 79.52))
    assert found.density == pytest.approx(1.1034, abs=1.5e-3)
    alike = mixed(("Magnesium Sulfate", 10.0), ("Aqua", 90.0))
    assert found.density == pytest.approx(alike.density, abs=3e-5)
    both = mixed(("Magnesium Sulfate Heptahydrate", 10.24), ("Magnesium Sulfate", 5.0), ("Aqua", 84.76))
    assert both.density == pytest.approx(alike.density, abs=3e-5)


@given(
    st.lists(st.sampled_from([*TABLED, "Aqua", "Phenoxyethanol", "Xanthan Gum"]), min_size=2, max_size=6, unique=True),
    st.lists(st.floats(0.01, 30), min_size=6, max_size=6),
    st.floats(1.5, 40),
    st.floats(0, 60),
)
def test_scale_and_order_of_the_lines_make_no_difference(
    names: list[str], amounts: list[float], times: float, celsius: float
) -> None:
    parts = list(zip(names, amounts, strict=False))
    if not {"Aqua", "Phenoxyethanol", "Xanthan Gum"} & set(names):
        parts.append(("Aqua", 10.0))  # of a salt that nothing dissolves there may be no density at all
    found = mixed(*parts, celsius=celsius)
    scaled = mixed(*reversed([(name, times * x) for name, x in parts]), celsius=celsius)
    assert scaled.density == pytest.approx(found.density, rel=1e-12)
    assert scaled.uncertainty == pytest.approx(found.uncertainty, rel=1e-9)
    assert 0.5 < found.density < 4
    assert found.volume > 0


@given(st.sampled_from(TABLED), st.sampled_from(TABLED), st.floats(0.1, 8))
def test_a_trace_of_another_substance_changes_next_to_nothing(one: str, other: str, percent: float) -> None:
    plain = mixed((one, percent), ("Aqua", 100 - percent))
    with_trace = mixed((one, percent), (other, 1e-7), ("Aqua", 100 - percent))
    assert with_trace.density == pytest.approx(plain.density, abs=1e-7)


def test_no_water_means_nothing_is_dissolved_in_it() -> None:
    # by hand: ideal volumes of pure ethanol (OIML R 22) and propylene glycol (CRC Handbook)
    found = mixed(("Alcohol", 50), ("Propylene Glycol", 50))
    assert found.density == pytest.approx(100 / (50 / 0.78924 + 50 / 1.0361), abs=1e-4)
    assert mixed(("Alcohol", 100)).density == pytest.approx(0.78924, abs=1e-5)


def test_stronger_than_its_table_is_carried_and_marked() -> None:
    found = mixed(("Sodium Chloride", 35), ("Aqua", 65))
    (salt,) = [part for part in found.parts if part.substance.name == "Sodium Chloride"]
    assert salt.beyond == "strength"
    inside = mixed(("Sodium Chloride", 25), ("Aqua", 75))
    assert found.uncertainty / found.volume > 3 * inside.uncertainty / inside.volume
    # by hand: 65 g of water take up 26.5 / 73.5 of it, 23.44 g, a solution of 1.1998 g/mL (CRC, 26 %: 1.1972); 11.56 g
    # are left over at the library's 3.23 g/mL
    assert found.density == pytest.approx(100 / (88.44 / 1.2007 + 11.56 / 3.23), abs=4e-3)


@given(st.sampled_from(TABLED), st.floats(0.01, 100))
def test_the_edge_of_a_table_is_no_step_and_beyond_it_nothing_is_absurd(name: str, water: float) -> None:
    table = next(each for each in aqueous_solutions() if each.substance == name)
    assert 0.6 < mixed((name, 100 - water * 0.99), ("Aqua", water * 0.99)).density < 3.5
    edge = table.most / table.brings
    if edge < 99.9:
        below, above = (mixed((name, x), ("Aqua", 100 - x)).density for x in (edge * (1 - 1e-7), edge * (1 + 1e-7)))
        assert above == pytest.approx(below, abs=1e-5)


def test_the_makers_own_density_of_a_stock_counts() -> None:
    stock = Stock("Salt stock", {"Sodium Chloride": 20.0, "Aqua": 80.0}, density=Figure(1.140, "own"))
    assert mixed(("Salt stock", 100), own=(stock,)).density == pytest.approx(1.140, rel=1e-12)
    # by hand: the stock's own room, 1/1.140 mL/g, stays its room where nothing else changes; the table says 1.1478
    half = mixed(("Salt stock", 50), ("Aqua", 50), own=(stock,))
    table = mixed(("Sodium Chloride", 10), ("Aqua", 90))
    assert 1 / half.density - 1 / table.density == pytest.approx(0.5 * (1 / 1.140 - 1 / 1.1478), abs=2e-4)


def test_what_a_measured_stock_holds_is_not_unknown() -> None:
    cloudy = Stock("Cloudy stock", {"Aqua": 80.0, "Nobody knows": 20.0}, density=Figure(1.05, "own"))
    found = mixed(("Cloudy stock", 50), ("Aqua", 50), own=(cloudy,))
    assert found.unknown_share == 0
    # by hand: 50 g take 50 / 1.05 mL
    assert found.density == pytest.approx(100 / (50 / 1.05 + 50 / water_density_at(20)), rel=1e-12)


def test_a_pure_liquid_measured_by_the_maker_beats_its_table() -> None:
    own = Ingredient("Glycerin", density=Figure(1.2550, "own"))
    assert material_density("Glycerin", Materials(LIBRARY, (own,))) == pytest.approx(1.2550, rel=1e-12)


def test_a_solid_without_a_table_takes_less_room_than_its_crystal_and_says_so() -> None:
    own = (
        Ingredient("Salt X", charge="anionic", density=Figure(1.5, "data sheet", "the solid, at 20 °C")),
        Ingredient("Solid Y", charge="nonionic", density=Figure(1.5, "data sheet", "the solid, at 20 °C")),
    )
    for each, (part, doubt) in zip(own, (SALT_ROOM, SOLID_ROOM), strict=True):
        found = mixed((each.inci, 10), ("Aqua", 90), own=own)
        assert found.density == pytest.approx(100 / (10 * part / 1.5 + 90 / water_density_at(20)), rel=1e-12)
        assert found.uncertainty >= 0.1 * doubt / 1.5
        assert {part.how for part in found.parts} == {"water", "dissolved solid"}


@pytest.mark.parametrize(
    ("name", "crystal", "percent"),
    # densities of the crystals: from memory, as the library has them; sucrose 1.587 g/mL from memory
    [("Urea", 1.32, 10), ("Citric Acid", 1.66, 10), ("Sodium Benzoate", 1.50, 5), ("Malic Acid", 1.61, 5)],
)
def test_the_estimated_room_of_a_solid_fits_those_that_have_a_table(name: str, crystal: float, percent: float) -> None:
    table = next(each for each in aqueous_solutions() if each.substance == name)
    part, doubt = SALT_ROOM if present(LIBRARY.get(name)).charge in ("anionic", "acid") else SOLID_ROOM
    assert table.apparent_volume(percent, 20) * crystal == pytest.approx(part, abs=2.5 * doubt)


def test_an_acid_with_a_base_is_uncertain_by_what_their_salt_takes() -> None:
    # 10 g of citric acid with 6.24 g of sodium hydroxide are 13.43 g of trisodium citrate and water: the table of the
    # salt is what comes out in truth
    apart = mixed(("Citric Acid", 10), ("Sodium Hydroxide", 6.24), ("Aqua", 83.76))
    salt = mixed(("Sodium Citrate", 13.43), ("Aqua", 86.57))
    assert apart.reacts
    assert not salt.reacts
    off = abs(1 / apart.density - 1 / salt.density)
    assert off <= 2 * apart.uncertainty
    assert off > 2 * mixed(("Citric Acid", 10), ("Aqua", 90)).uncertainty


def test_what_a_note_says_of_a_density_is_read() -> None:
    assert reference_celsius(Figure(0.913, "codex-cxs-210", "at 40 °C; published range 0.908 to 0.921")) == 40
    assert reference_celsius(Figure(0.913, "own")) == 20
    # GUM 4.3.7: a range is rectangular, half of it over the square root of three
    half_range = figure_uncertainty(Figure(0.945, "cn", "at 20 °C; published range 0.93 to 0.96"))
    assert half_range == pytest.approx(0.015 / 3**0.5)
    assert figure_uncertainty(Figure(1.0, "from-memory")) == 0.01


def test_every_library_density_has_a_temperature_and_an_uncertainty() -> None:
    for inci in expansions():
        figure = present(LIBRARY.get(inci)).density
        assert figure is not None
        assert 0 < figure_uncertainty(figure) < 0.05, inci
        assert 15 <= reference_celsius(figure) <= 60, inci


def test_a_powder_that_no_water_dissolves_keeps_the_room_of_its_crystals() -> None:
    powder = Ingredient("Powder", charge="anionic", density=Figure(2.0, "data sheet", "the solid, at 20 °C"))
    # by hand: 10 g take 5 mL, 90 g of squalane 90 / 0.8130 mL (0.810 g/mL at 25 °C)
    found = mixed(("Powder", 10), ("Squalane", 90), own=(powder,))
    assert found.density == pytest.approx(100 / (10 / 2.0 + 90 / (0.810 * 1.00375)), rel=1e-4)
    assert material_density("Powder", Materials(LIBRARY, (powder,))) == pytest.approx(2.0)


def test_a_plant_water_counts_as_water_and_says_so() -> None:
    # OIML R 22: 45 % w/w ethanol, 0.92472 g/mL
    found = mixed(("Alcohol", 45), ("Hamamelis Virginiana Leaf Water", 55))
    assert found.density == pytest.approx(0.92472, abs=1e-4)
    assert found.density * found.uncertainty / found.volume == pytest.approx(
        0.003 * 0.55 * 0.92472**2 / 0.9247, rel=0.2
    )
    own = Ingredient("Rosa Damascena Flower Water", density=Figure(1.004, "own"))
    assert mixed(("Rosa Damascena Flower Water", 100), own=(own,)).density == pytest.approx(1.004, rel=1e-12)


def test_a_mixture_that_is_sold_as_such_keeps_its_own_density() -> None:
    # the library's figure, from memory; what is dissolved in it has no density by itself
    name = "Aqua (and) Cocamidopropyl Betaine (and) Sodium Chloride"
    found = mixed((name, 100))
    assert found.density == pytest.approx(present(present(LIBRARY.get(name)).density).value, rel=1e-12)
    assert found.unknown_share == 0
    assert "measured" in {part.how for part in found.parts}
    assert found.sources == (present(present(LIBRARY.get(name)).density).source,)


def test_a_syrup_of_a_sugar_without_a_density_of_its_own_is_known() -> None:
    # sucrose 50 %, 20 °C: CRC Handbook, as it stands in published_solutions.csv; its name as somebody may type it
    assert mixed(("sucrose", 50), ("Aqua", 50)).density == pytest.approx(1.2295, abs=1.5e-3)
    # by hand: 35 g of water take up 50.6 / 49.4 of it, 35.85 g; nobody knows what the other 29.15 g take
    syrup = mixed(("Sucrose", 65), ("Aqua", 35))
    assert syrup.unknown_share == pytest.approx(29.15, abs=0.01)
    assert {part.beyond for part in syrup.parts} == {"", "strength"}
    assert syrup.density == pytest.approx(mixed(("Sucrose", 50.6), ("Aqua", 49.4)).density, rel=1e-9)


def test_a_stock_of_stocks_is_as_sure_as_the_same_things_weighed_apart() -> None:
    inner = Stock("Inner", {"Sodium Chloride": 20.0, "Aqua": 80.0}, density=Figure(1.140, "own"))
    outer = Stock("Outer", {"Inner": 30.0, "Aqua": 70.0})
    twice = Stock("Twice", {"Outer": 50.0, "Aqua": 50.0})
    for name, part in (("Outer", 30.0), ("Twice", 15.0)):
        found = mixed((name, 100), own=(inner, outer, twice))
        apart = mixed(("Inner", part), ("Aqua", 100 - part), own=(inner, outer, twice))
        assert found.density == pytest.approx(apart.density, rel=1e-12)
        assert found.uncertainty == pytest.approx(apart.uncertainty, rel=1e-9)


def test_a_liquid_of_unknown_expansion_is_taken_for_the_middle_of_those_known() -> None:
    known = [float(row["per_kelvin"]) for row in load_table("expansion").rows if row["source"] != "from-memory"]
    # GUM 4.3.7: anywhere between the least and the most is rectangular, half of it over the square root of three
    least, most = min(known), max(known)
    assert usual_expansion() == pytest.approx(((least + most) / 2, (most - least) / 2 / 3**0.5))


def test_a_mole_of_base_beside_an_acid_makes_ten_millilitres_uncertain() -> None:
    # 10 g of citric acid with 6.24 g of sodium hydroxide, 40.00 g/mol: 0.156 mol, ± 1.56 mL; each apart is surer
    both = mixed(("Citric Acid", 10), ("Sodium Hydroxide", 6.24), ("Aqua", 83.76))
    acid, base = mixed(("Citric Acid", 10), ("Aqua", 90)), mixed(("Sodium Hydroxide", 6.24), ("Aqua", 93.76))
    assert 100 * both.uncertainty / both.mass == pytest.approx(10 * 6.24 / 39.997, rel=0.03)
    assert max(acid.uncertainty / acid.mass, base.uncertainty / base.mass) < 0.2 * both.uncertainty / both.mass
    assert not acid.reacts
    assert not base.reacts
