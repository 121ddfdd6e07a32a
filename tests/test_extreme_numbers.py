"""Numbers that no bench has, given to every public calculation: a finite answer, or the kit's own words."""

from __future__ import annotations

import inspect
import os
import random
import warnings
from dataclasses import fields, is_dataclass
from importlib import import_module
from math import inf, isfinite, nan
from typing import TYPE_CHECKING, Any

import pytest

from kit.bench.alligation import OnShelf, mix_from_many
from kit.errors import KitError, RangeError
from kit.soundness import sound
from kit.stability.kinetics import rate
from kit.stability.series import Series
from kit.stability.shelf_life import shelf_life

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

ROOMS = ("bench", "blends", "in_use", "label", "layers", "liquids", "stability")
FLOATS = (0.0, 1.0, -1.0, 5e-324, 1e-300, 1e-9, 1e9, 1e300, 1.7e308, inf, -inf, nan, 50.0, 100.0, 20.0, 0.5)
WHOLE = (0, 1, -1, 2, 10, 10**9, 10**18, 10**400)
TEXTS = ("0 g", "100 g", "-5 g", "1e308 g", "1e-300 g", "50 mL", "-1 mL", "1e-300 mL", "10 mm", "1e308 lb", "20 °C")
#: What has an answer that is infinite: nothing is left neutral; no rate bounds the interval.
UNBOUNDED = {"in_use.log_d", "in_use.course", "in_use.welch_ratio"}
TIMES = int(os.environ.get("SHAKEWELL_EXAMPLES", "12"))


def an_argument(kind: str, chance: random.Random) -> Any:
    """A value for an argument of that kind; None for one that this test cannot make."""
    odd = chance.random() < 0.5
    return {
        "float": chance.choice(FLOATS) if odd else chance.uniform(0, 100),
        "float | None": chance.choice(FLOATS),
        "int": chance.choice(WHOLE),
        "object": chance.choice(TEXTS),
        "Sequence[float]": [chance.choice(FLOATS) if odd else chance.random() for _ in range(chance.randint(0, 5))],
    }.get(kind.replace("Iterable", "Sequence"))  # fmt: skip


def calculations() -> dict[str, Callable[..., object]]:
    """Every public function whose arguments this test can make."""
    found: dict[str, Callable[..., object]] = {}
    for room in ROOMS:
        door = import_module(f"kit.{room}")
        for name in dir(door):
            function = getattr(door, name)
            if inspect.isfunction(function):
                asked = inspect.signature(function).parameters.values()
                kinds = [str(each.annotation) for each in asked if each.default is each.empty]
                if kinds and all(an_argument(kind, random.Random(1)) is not None for kind in kinds):
                    found[f"{room}.{name}"] = function
    return found


def floats_in(value: object) -> Iterator[float]:
    if isinstance(value, float):
        yield value
    elif isinstance(value, list | tuple):
        for each in value:
            yield from floats_in(each)
    elif is_dataclass(value):
        yield from floats_in([getattr(value, one.name) for one in fields(value)])


def test_every_calculation_is_finite_or_refuses_in_words() -> None:
    faults, found = [], calculations()
    assert len(found) > 80
    for name, function in found.items():
        chance = random.Random(name)  # so that what is tried of one does not hang on which others there are
        for _ in range(TIMES):
            given = {
                each.name: an_argument(str(each.annotation), chance)
                for each in inspect.signature(function).parameters.values()
                if each.default is each.empty or (an_argument(str(each.annotation), chance) and chance.random() < 0.5)
            }
            try:
                with warnings.catch_warnings(action="ignore"):
                    answer = function(**given)
                if name not in UNBOUNDED and not all(map(isfinite, floats_in(answer))):
                    faults.append(f"{name}({given}) gives {answer}")
            except KitError:
                pass
            except Exception as error:
                faults.append(f"{name}({given}) raises {error!r}")
    assert not faults, "\n".join(faults[:20])


def test_what_is_wrong_with_a_number_is_said() -> None:
    @sound(above=("volume",), least=("mass",))
    def density(mass: float, volume: float, counts: tuple[float, ...] = ()) -> float:
        return mass / volume + sum(counts)

    assert density(9.0, 10.0) == 0.9
    for given, words in {
        (nan, 1.0): "mass is not a number to compute with: nan",
        (1.0, -2.0): "volume must be above 0, got -2",
        (-1.0, 2.0): "mass must be 0 or more, got -1",
        (1.0, 0.0): "volume must be above 0, got 0",
        (1e300, 1e-300): "With these numbers density is too large or too small",
        (10**400, 1.0): "mass is not a number to compute with: 1000000000",
    }.items():
        with pytest.raises(RangeError, match=words):
            density(*given)
    with pytest.raises(RangeError, match="counts is not a number to compute with: inf"):
        density(1.0, 1.0, (2.0, inf))


def test_readings_that_stay_have_no_trend_and_their_order_means_nothing() -> None:
    """So do levels of two batches that differ; a trend of the last digits would be met on day 3.7e32."""
    days = (78, 165, 243, 259, 263, 322, 326)
    for level in (384.6415, 0.1, 5.3, 1e-9):
        for order in ("zero", "first"):
            flat = Series("A", days, (level,) * 7)
            assert rate(flat, 25, order).k == 0
            both = [flat, Series("B", days, (1.01 * level,) * 7)]
            for series in ([flat], both):
                found = shelf_life(series, lower=0.9 * level, upper=1.1 * level, order=order)
                assert found.crossing is None
                assert "never meets" in found.sentence
    falling = [
        Series(batch, days, tuple(5.3 - 0.002 * day + off for day in days))
        for batch, off in zip("ABC", (0.0, 0.01, 0.02), strict=True)
    ]
    turned = [Series(one.batch, one.days[::-1], one.values[::-1]) for one in falling[::-1]]
    one, other = shelf_life(falling, lower=4.2), shelf_life(turned, lower=4.2)
    assert (one.days, one.crossing, one.governing, one.fits) == (
        other.days,
        other.crossing,
        other.governing,
        other.fits,
    )


def test_a_microgram_is_mixed_as_exactly_as_a_tonne() -> None:
    for scale in (1e-12, 1e-9, 1e-6, 1.0, 1e9):
        shelf = [OnShelf("water", 0), OnShelf("ten", 10 * scale, most=30 * scale), OnShelf("fifty", 50 * scale)]
        mixed = mix_from_many(shelf, 8 * scale, 100 * scale)
        assert mixed == pytest.approx({"water": 60 * scale, "ten": 30 * scale, "fifty": 10 * scale}, rel=1e-12)
