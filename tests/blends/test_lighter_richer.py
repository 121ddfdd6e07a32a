"""From light to rich: a published blend, the ends, the way home, and what stays."""

from __future__ import annotations

from math import log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from kit.blends.lighter_richer import OilPath, index_of, kinematic_at, tilted
from kit.blends.oil_viscosity import kinematic_of
from kit.errors import EntryError, RangeError
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.layers.density import layers_of
from kit.layers.viscosity import layer_viscosity
from kit.library.ingredient import Ingredient
from kit.library.library import Library

LIBRARY = Materials(Library.bundled())
SERUM = Formula(
    "Night serum",
    (
        Phase("Water", "water", (Line("Aqua", "q.s.", "fill"), Line("Phenoxyethanol", "0.4", "level"))),
        Phase(
            "Oil",
            "oil",
            (
                Line("Isopropyl Myristate", "10"),
                Line("Squalane", "12", "fill"),
                Line("Ricinus Communis Seed Oil", "8"),
                Line("Tocopherol", "0.2", "level"),
                Line("Polyglyceryl-4 Oleate", "0.3"),
            ),
        ),
    ),
)


def test_two_oils_are_blended_to_a_published_viscosity() -> None:
    """Maples (2000), as in ``tests/published``: 32 and 220 mm²/s half and half make 75.935."""
    shares = tilted([80, 20], [index_of(32), index_of(220)], index_of(75.935))
    assert shares == pytest.approx([50, 50], abs=1e-3)
    # Arrhenius by hand: ln 10 is half way from ln 1 to ln 100
    assert kinematic_at((index_of(1, "arrhenius") + index_of(100, "arrhenius")) / 2, "arrhenius") == pytest.approx(10)


@pytest.mark.parametrize("apart", [0.001, 0.5, 1.0, 10.0, 5000.0])
def test_oils_far_apart_or_hardly_apart_are_blended_alike(apart: float) -> None:
    """By hand: the mean number of 75 and 25 parts lies a quarter of the way, and of 25 and 75 three quarters."""
    assert tilted([50, 50], [3, 3 + apart], 3 + apart / 4) == pytest.approx([75, 25])
    assert tilted([50, 50], [3, 3 + apart], 3 + 3 * apart / 4) == pytest.approx([25, 75])
    assert tilted([50, 50, 0], [3, 3 + apart, 99], 3 + apart / 4) == pytest.approx([75, 25, 0])
    assert tilted([50, 50, 0], [3, 3 + apart, 99], 3 + 3 * apart / 4) == pytest.approx([25, 75, 0])


@given(
    st.lists(st.tuples(st.floats(0.5, 60), st.floats(1, 40)), min_size=2, max_size=6).filter(
        lambda rows: max(x for _, x in rows) - min(x for _, x in rows) > 1
    ),
    st.floats(0.02, 0.98),
)
def test_a_tilted_blend_has_its_number_and_goes_home(rows: list[tuple[float, float]], part: float) -> None:
    shares, numbers = map(list, zip(*rows, strict=True))
    wanted = min(numbers) + part * (max(numbers) - min(numbers))
    found = tilted(shares, numbers, wanted)
    assert sum(found) == pytest.approx(sum(shares))
    assert np.dot(found, numbers) / sum(found) == pytest.approx(wanted, abs=1e-6)
    mean = float(np.dot(shares, numbers) / sum(shares))
    if min(numbers) < mean < max(numbers) and min(found) > 1e-6:
        assert tilted(found, numbers, mean) == pytest.approx(shares, rel=1e-4, abs=1e-6)


def test_no_other_blend_of_that_number_is_nearer() -> None:
    shares, numbers, wanted = np.array([40.0, 35.0, 25.0]), np.array([10.0, 22.0, 31.0]), 24.0
    found = tilted(list(shares), list(numbers), wanted)
    judge = minimize(
        lambda q: float(np.sum(q * np.log(q / shares))),
        shares,
        bounds=[(1e-6, 100)] * 3,
        constraints=[
            {"type": "eq", "fun": lambda q: q.sum() - 100},
            {"type": "eq", "fun": lambda q: q @ numbers / 100 - wanted},
        ],
        options={"ftol": 1e-13},
    )
    assert found == pytest.approx(list(judge.x), abs=2e-3)


def test_a_serum_from_light_to_rich() -> None:
    path = OilPath.of(SERUM, LIBRARY)
    assert path.names == ("Isopropyl Myristate", "Squalane", "Ricinus Communis Seed Oil")
    assert path.at(0) is path.formula
    said = " ".join(one.sentence for one in path.findings)
    assert "Left as it is: Tocopherol" in said
    values = []
    for at in (-100, -50, 0, 50, 100):
        there = path.at(at)
        assert there.total == pytest.approx(100, abs=1e-9)
        assert there.phase_total(1) == pytest.approx(30.5, abs=1e-9)
        assert there.phases[0] == SERUM.phases[0]
        assert there.phases[1].lines[3:] == SERUM.phases[1].lines[3:]
        layer = next(one for one in layers_of(there, LIBRARY) if one.kind == "oil")
        values.append(layer_viscosity(there, LIBRARY, layer).value)
    assert values == sorted(values)
    assert values[-1] > 10 * values[0]
    assert path.kinematic(-100) > min(path.kinematics)
    assert log(path.kinematic(100)) < log(max(path.kinematics))


def test_an_oil_without_a_viscosity_and_what_is_no_oil_stay() -> None:
    lines = (Line("Squalane", "40"), Line("Isopropyl Myristate", "30"), Line("Mystery oil", "20"), Line("", ""))
    serum = Formula("Serum", (Phase("Water", "water", (Line("Aqua", "10"),)), Phase("Oil", "oil", lines)))
    path = OilPath.of(serum, LIBRARY)
    assert path.names == ("Squalane", "Isopropyl Myristate")
    assert path.findings[0].severity == "caution"
    assert path.findings[0].sentence == "Left as it is: Mystery oil, of which the table has no viscosity."
    assert "Left as it is: " not in path.findings[1].sentence
    richer = path.at(50)
    assert [percents[2] for percents in richer.percents[1:]] == [20]
    assert tilted([70, 30], [4, 8], 5.2) == [70, 30]  # the mean is 0.7 x 4 + 0.3 x 8 already


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("Limonene", "fragrance part"),
        ("Tocopherol (and) Helianthus Annuus Seed Oil", "antioxidant"),
        ("Polysorbate 80", "emulsifier"),
    ],
)
def test_what_is_there_for_another_reason_stays_though_its_viscosity_is_known(name: str, reason: str) -> None:
    """Each has a share like the oils beside it, and a viscosity, so only its role keeps it where it is."""
    known = LIBRARY.ingredient(name)
    assert known is not None
    assert reason in known.roles
    assert kinematic_of(name, LIBRARY) is not None
    oils = (Line("Squalane", "60"), Line("Isopropyl Myristate", "37"), Line(name, "3"))
    path = OilPath.of(Formula("Oil", (Phase("Oil", "oil", oils),)), LIBRARY)
    assert path.names == ("Squalane", "Isopropyl Myristate")
    assert path.findings[0].severity == "note"
    assert path.findings[0].sentence.startswith(f"Left as it is: {name}. It keeps its level")
    assert path.at(80).percents[0][2] == 3


@pytest.mark.parametrize(
    ("roles", "moves"),
    [((), False), (("emollient",), True), (("skin conditioner",), True), (("emollient", "vitamin"), False)],
)
def test_an_own_oil_moves_where_its_roles_say_that_it_is_one(roles: tuple[str, ...], moves: bool) -> None:
    own = Ingredient("House oil", roles=roles, phase="oil", composition={"Isopropyl Myristate": 100.0}, own=True)
    oils = (Line("Squalane", "60"), Line("Caprylic/Capric Triglyceride", "30"), Line("House oil", "10"))
    path = OilPath.of(
        Formula("Oil", (Phase("Oil", "oil", oils),), materials=(own,)), Materials(Library.bundled(), (own,))
    )
    assert ("House oil" in path.names) == moves


def test_the_ends_of_the_slider_stop_short_of_one_oil_alone() -> None:
    """By hand: 40 of 10 mm²/s and 60 of 100 mm²/s; ln 10 x (0.4 x 1 + 0.6 x 2) = 1.6 ln 10 is the mean.

    Half way to the left it is 1.6 - 0.5 x 0.95 x 0.6 = 1.315, so 68.5 parts of the light oil; one step to the right
    1.6 + 0.01 x 0.95 x 0.4 = 1.6038, so 39.62 parts; at the right end 1.6 + 0.95 x 0.4 = 1.98, so 2 parts.
    """
    path = OilPath(SERUM, "arrhenius", ((1, 0), (1, 1)), ("light", "rich"), (40.0, 60.0), (10.0, 100.0))
    assert path.moved(-50) == pytest.approx([68.5, 31.5])
    assert path.moved(1) == pytest.approx([39.62, 60.38])
    assert path.moved(100) == pytest.approx([2, 98])
    assert path.kinematic(-50) == pytest.approx(10**1.315)
    assert path.kinematic(0) == pytest.approx(10**1.6)


def test_what_cannot_move_is_told() -> None:
    one = Formula("Oil", (Phase("Oil", "oil", (Line("Squalane", "100"),)),))
    with pytest.raises(EntryError, match="Fewer than two oils"):
        OilPath.of(one, LIBRARY)
    with pytest.raises(RangeError, match="adds to 90 %"):
        OilPath.of(Formula("Oil", (Phase("Oil", "oil", (Line("Squalane", "90"),)),)), LIBRARY)
    with pytest.raises(RangeError, match="slider goes from -100"):
        OilPath.of(SERUM, LIBRARY).at(101)
    with pytest.raises(RangeError, match="No blend of these oils"):
        tilted([1, 1], [3, 4], 5)
    with pytest.raises(RangeError, match="is that of no oil"):
        index_of(0.1, "arrhenius")
