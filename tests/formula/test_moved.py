"""Which lines take what is left of a layer that was moved, so that they could come below nothing."""

from __future__ import annotations

import pytest

from kit.formula.model import Line, Phase
from kit.formula.moved import straight


@pytest.mark.parametrize(
    ("holds", "fills", "at_30"),
    [
        # of 20 %: 5 % stay, 5 % are a quarter of the layer, and the rest fills; at 30 %: 5, 7.5 and 17.5
        (("level", "share", "fill"), (False, False, True), [5.0, 7.5, 17.5]),
        # none fills: the two shares, as 1 to 2, take the 25 % that the level leaves of 30
        (("level", "share", "share"), (False, True, True), [5.0, 25 / 3, 50 / 3]),
    ],
)
def test_what_takes_the_rest_of_a_layer(holds: tuple, fills: tuple[bool, ...], at_30: list[float]) -> None:  # type: ignore[type-arg]
    names = ("Tocopherol", "Undecane", "Squalane")
    oil = Phase("Oil", "oil", tuple(Line(name, "", hold) for name, hold in zip(names, holds, strict=True)))
    water = Phase("Water", "water", (Line("Aqua", "80"),))
    lines = straight("Shake", (oil, water), ((5.0, 5.0, 10.0), (80.0,)), ("oil", "water"))
    assert lines.fills[:3] == fills
    assert lines.percents({"oil": 30.0, "water": 70.0})[:3] == pytest.approx(at_30)
