"""The head space for what a product grows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS95

from kit.errors import RangeError
from kit.formula.model import Formula, Line, Phase
from kit.layers.substance import usual_expansion
from kit.layers.temperature import expansion_room, mean_expansion, most_fill
from tests.layers.some_formulas import materials_of

if TYPE_CHECKING:
    from collections.abc import Callable


def one_layer(*lines: tuple[str, str], kind: str = "water") -> Formula:
    return Formula("Try", (Phase("One", kind, tuple(Line(*line) for line in lines)),))  # type: ignore[arg-type]


@pytest.mark.parametrize("warmest", [30.0, 50.0, 60.0, 80.0])
def test_water_grows_as_the_reference_library_says(warmest: float) -> None:
    """The judge is `iapws` (IAPWS-95 at 0.101325 MPa)."""
    cold, warm = (IAPWS95(T=celsius + 273.15, P=0.101325).rho for celsius in (20.0, warmest))
    water = one_layer(("Aqua", "q.s."))
    found = expansion_room(water, materials_of(water), 120.0, 100.0, warmest=warmest)
    assert found.grows == pytest.approx(100 * (cold / warm - 1), abs=0.001)
    assert found.most == pytest.approx(120 * 0.98 * warm / cold, abs=0.002)
    assert found.full == pytest.approx(100 * 100 / 120 * cold / warm, abs=0.002)


@given(st.floats(1, 5000), st.floats(0, 2e-3), st.floats(0, 50), st.floats(10, 100))
def test_what_is_filled_to_the_most_is_as_full_as_it_may_be_at_its_warmest(
    brimful: float, expansion: float, filled_at: float, fullest: float
) -> None:
    most = most_fill(brimful, expansion, filled_at=filled_at, fullest=fullest)
    assert most * (1 + expansion * (50 - filled_at)) == pytest.approx(brimful * fullest / 100, rel=1e-12)


def test_a_bottle_filled_too_full_is_told() -> None:
    water = one_layer(("Aqua", "q.s."))
    full, less = (expansion_room(water, materials_of(water), 100.0, fill) for fill in (99.5, 90.0))
    assert full.finding().severity == "caution"
    assert "fill no more than 97.0 mL" in full.sentence
    assert "it will be 100.5 % full" in full.sentence
    assert less.finding().severity == "note"
    assert full.finding().source.startswith("ADR (2013), 4.1.1.4")


def test_two_layers_grow_each_by_itself() -> None:
    both = Formula(
        "Shake",
        (
            Phase("W", "water", (Line("Aqua", "60", "fill"),)),
            Phase("O", "oil", (Line("Olea Europaea Fruit Oil", "40"),)),
        ),
    )
    materials = materials_of(both)
    found = expansion_room(both, materials, 120.0, 100.0, warmest=40.0)
    water = expansion_room(one_layer(("Aqua", "q.s.")), materials, 120.0, 100.0, warmest=40.0)
    oil = expansion_room(
        one_layer(("Olea Europaea Fruit Oil", "100"), kind="oil"), materials, 120.0, 100.0, warmest=40.0
    )
    assert water.grows < found.grows < oil.grows


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ((("Aqua", "q.s."), ("Something Nobody Knows", "30")), "how 30 % of the water layer expands from 20 to 50 °C"),
        ((("Something Nobody Knows", "100"),), "how 100 % of the water layer expands from 20 to 50 °C"),
        ((), "has no amounts yet, so it does not grow"),
    ],
)
def test_what_is_not_known_is_refused(lines: tuple[tuple[str, str], ...], words: str) -> None:
    formula = one_layer(*lines)
    with pytest.raises(RangeError, match=words):
        expansion_room(formula, materials_of(formula), 120.0, 100.0)


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: mean_expansion(0, 1), "Densities must be more than 0 g/mL"),
        (lambda: mean_expansion(1, 0.9, low=50, high=15), "The warmer temperature must be above the cooler"),
        (lambda: most_fill(0, 3e-4), "A pack of 0 mL that may be 98 % full holds nothing"),
        (lambda: most_fill(100, 3e-4, filled_at=70), "It is filled at 70 °C, above its warmest, 50 °C"),
        (lambda: most_fill(100, -1), "An expansion of -1 per K is not that of a liquid"),
    ],
)
def test_what_cannot_be_is_said(work: Callable[[], object], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()


def test_a_little_that_nobody_knows_widens_the_answer_and_fills_less() -> None:
    known, little = one_layer(("Aqua", "q.s.")), one_layer(("Aqua", "q.s."), ("Something Nobody Knows", "5"))
    sure, less = (expansion_room(each, materials_of(each), 120.0, 100.0) for each in (known, little))
    assert sure.off < 0.01 < less.off
    assert less.most < sure.most
    assert less.most * (1 + (less.grows + less.off) / 100) == pytest.approx(0.98 * 120, rel=1e-9)


def test_what_nobody_knows_is_as_unsure_as_the_middle_of_what_is_known() -> None:
    little = one_layer(("Aqua", "q.s."), ("Something Nobody Knows", "5"))
    materials = materials_of(little)
    found, sure = (expansion_room(each, materials, 120.0, 100.0) for each in (little, one_layer(("Aqua", "q.s."))))
    # 5 % of it, whose expansion is uncertain by u over 30 K: twice that, beside what water itself is unsure of
    (_, u) = usual_expansion()
    assert found.off == pytest.approx(100 * 2 * 0.05 * u * 30 * (1 + found.grows / 100), rel=0.05)
    assert sure.off < found.off / 20


def test_the_caution_begins_where_the_bottle_is_fuller_than_it_may_be() -> None:
    water = one_layer(("Aqua", "q.s."))
    most = expansion_room(water, materials_of(water), 100.0, 90.0).most
    severities = [expansion_room(water, materials_of(water), 100.0, f).finding().severity for f in (most, most + 0.01)]
    assert severities == ["note", "caution"]
