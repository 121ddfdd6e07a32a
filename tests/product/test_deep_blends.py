"""Blends inside blends, as deep and as often as anybody may write them: each is split once."""

from __future__ import annotations

from time import perf_counter

import pytest

from kit.formula.model import Formula, Line, Phase
from kit.library.ingredient import Ingredient
from kit.product.product import Product


def twice(levels: int) -> list[Ingredient]:
    """Two blends on each level, each of the two of the next."""
    rows = [
        Ingredient(inci=f"{name} {n}", composition={f"Half {n + 1}": share, f"Rest {n + 1}": 100 - share}, own=True)
        for n in range(levels)
        for name, share in (("Half", 40.0), ("Rest", 60.0))
    ]
    ends = {"Half": {"Glycerin": 25.0, "Aqua": 75.0}, "Rest": {"Glycerin": 75.0, "Aqua": 25.0}}
    return rows + [Ingredient(inci=f"{name} {levels}", composition=parts, own=True) for name, parts in ends.items()]


def in_a_row(levels: int) -> list[Ingredient]:
    """Each blend holds little but the next."""
    inner = [f"Half {n + 1}" for n in range(levels)]
    rows = [
        Ingredient(inci=f"Half {n}", composition={part: 99.9, "Aqua": 0.1}, own=True) for n, part in enumerate(inner)
    ]
    return [*rows, Ingredient(inci=f"Half {levels}", composition={"Glycerin": 50.0, "Aqua": 50.0}, own=True)]


#: Level by level the two come nearer to one another, to their middle; of a row 99.9 % are left each time.
DEEP = [(twice(60), 25.0), (in_a_row(3000), 25 * 0.999**3000)]


@pytest.mark.parametrize(("materials", "glycerin"), DEEP)
def test_blends_of_blends_are_split_once_each(materials: list[Ingredient], glycerin: float) -> None:
    lines = (Line("Half 0", "50"), Line("Aqua", "50"))
    product = Product(Formula("Hand rinse", (Phase("A", "water", lines),), materials=tuple(materials)))
    began = perf_counter()
    declared = {entry.name: entry.percent for entry in product.label.declaration.entries}
    (layer,) = product.layers
    assert product.findings is not None
    assert perf_counter() - began < 20
    assert sum(declared.values()) == pytest.approx(100, rel=1e-9)
    assert declared["Glycerin"] == pytest.approx(glycerin, rel=1e-9)
    assert 0.99 < layer.density < 1.07
