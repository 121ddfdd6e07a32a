"""Formulas of every shape, drawn at random, for the properties that must hold for each of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st

from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase, Rule
from kit.library.ingredient import PHASE_KINDS, Figure, Ingredient, Stock
from kit.library.library import Library

if TYPE_CHECKING:
    from random import Random

    from kit.formula.model import Hold
    from kit.library.ingredient import PhaseKind

HEAVY_OIL = Ingredient("Heavy Oil (invented)", phase="oil", density=Figure(1.31, "own"))
POWDER = Ingredient("Light Powder (invented)", phase="other", density=Figure(0.71, "own"))
STOCK = Stock(
    "Sorbate stock (invented)",
    {"Potassium Sorbate": 20.0, "Sodium Benzoate": 5.0, "Aqua": 75.0},
    active="Potassium Sorbate",
    strength=20.0,
    density=Figure(1.08, "own"),
)
OWN = (HEAVY_OIL, POWDER, STOCK)

WATER = (
    "Aqua",
    "Glycerin",
    "Propanediol",
    "Sodium Benzoate",
    "Potassium Sorbate",
    STOCK.name,
    "Sodium Chloride",
)
#: What shrinks, or brings crystal water, or has a table that ends soon.
REAL = (
    "Aqua",
    "Alcohol",
    "Glycerin",
    "Propylene Glycol",
    "Magnesium Sulfate Heptahydrate",
    "Sodium Hydroxide",
    "Citric Acid",
    "Sodium Bicarbonate",
    "Phenoxyethanol",
    "Xanthan Gum",
    STOCK.name,
)
OIL = ("Coco-Caprylate", "Prunus Armeniaca Kernel Oil", "Tocopherol", "Parfum", "Squalane")
RULES = ("Sodium Benzoate", "Potassium Sorbate", "Glycerin", "Parfum", "Tocopherol", "Coco-Caprylate")


def two_layers(
    random: Random,
    *,
    heavy: bool = False,
    other: bool = False,
    level_most: float = 3.0,
    waters: tuple[str, ...] = WATER,
) -> Formula:
    """A complete formula with a water and an oil layer, its holds and amounts at random, at times with q.s."""
    water: list[tuple[str, PhaseKind]] = [
        (name, "water") for name in random.sample(waters, random.randint(2, len(waters)))
    ]
    oil: list[tuple[str, PhaseKind]] = [(name, "oil") for name in random.sample(OIL, random.randint(1, len(OIL)))]
    if heavy:
        oil = [(HEAVY_OIL.name, "oil"), *oil[:1]]
    rest: list[tuple[str, PhaseKind]] = [(POWDER.name, "other")] if other else []
    lines: list[tuple[str, PhaseKind, Hold, float]] = []
    mains: tuple[Hold, ...] = ("fill", "fill", "share")
    others: tuple[Hold, ...] = ("share", "level")
    for members in (water, oil):
        main = random.choice(mains)
        for n, (name, kind) in enumerate(members):
            hold = main if n == 0 else random.choice(others)
            parts = random.uniform(20, 60) if n == 0 else random.choice((0.0, random.uniform(0.01, level_most)))
            lines.append((name, kind, hold, parts))
    lines += [(name, kind, "share", random.uniform(0.5, 5)) for name, kind in rest]
    whole = sum(parts for *_, parts in lines)
    rest_at = random.choice((None, 0))
    phases: list[Phase] = []
    for kind in PHASE_KINDS:
        own = [
            Line(name, "q.s." if n == rest_at else repr(100 * parts / whole), hold)
            for n, (name, of, hold, parts) in enumerate(lines)
            if of == kind
        ]
        if own:
            phases.append(Phase(f"{kind} layer", kind, tuple(own)))
    return Formula("Drawn", tuple(phases), materials=OWN)


def with_rules(formula: Formula, random: Random) -> Formula:
    """The same formula with rules of the maker's own, some of which no ratio can keep."""
    rules = []
    for name in random.sample(RULES, random.randint(0, 4)):
        low, high = sorted(random.choice((0.05, 0.3, 1.0, 2.0, 4.0)) * random.uniform(0.5, 2) for _ in range(2))
        keep = random.choice(("low", "high", "both"))
        rules.append(
            Rule(
                name,
                low if keep != "high" else None,
                high if keep != "low" else None,
                random.choice(("whole", "water", "oil")),
            )
        )
    return Formula(formula.title, formula.phases, materials=formula.materials, rules=tuple(rules))


def materials_of(formula: Formula) -> Materials:
    """Where a drawn formula finds its materials."""
    return Materials.of(formula, Library.bundled())


def formulas(**how: Any) -> st.SearchStrategy[Formula]:
    """Two-layer formulas for hypothesis."""
    return st.randoms(use_true_random=False).map(lambda random: two_layers(random, **how))


def ruled_formulas() -> st.SearchStrategy[Formula]:
    """Two-layer formulas with rules for hypothesis."""
    return st.randoms(use_true_random=False).map(lambda random: with_rules(two_layers(random), random))
