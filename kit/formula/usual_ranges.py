"""Usual ranges: habits of the trade, each judged in the layer in which the material works.

The ranges were formed with products of one phase. In a product that stands in two layers a preservative works in the
water and an antioxidant of oils in the oil, so the range is a percent of that layer. ``data/usual-of`` says which.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Literal, cast

from kit.findings import Finding, Place
from kit.formula.compatibility_rules import source_words
from kit.formula.model import LAYER_NAMES
from kit.formula.requirements import EDGE, Requirement, flat_percents
from kit.resources import load_table
from kit.visible_text import listed, plain_letters

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.ingredient import Figure, Ingredient

#: Of what a range is a percent. ``base``: the material is what its layer is made of, so that its range means something
#: only in an emulsion.
Of = Literal["water", "oil", "whole", "base"]

#: Roles that fail where their layer holds too much or too little of them, whatever the whole holds.
_BOUND_TO_THEIR_LAYER = {"preservative", "booster"}

#: Products in which nothing stands in layers: a range is a percent of the whole there.
_UNLAYERED = ("emulsified", "one phase")

#: What a perfume is made of.
_SCENTS = {"fragrance", "fragrance part", "essential oil"}

MATTER = "usual range"


@dataclass(frozen=True, slots=True)
class UsualOf:
    """Of which layer a range speaks, and whether its low end is worth saying."""

    layer: Of
    low_end: bool


@lru_cache(maxsize=1)
def _table() -> dict[str, dict[str, str]]:
    return {plain_letters(row["of"]): row for row in load_table("usual-of").rows}


def usual_of(ingredient: Ingredient) -> UsualOf:
    """Of which layer the usual range of an ingredient speaks.

    Examples
    --------
    >>> from kit.library.table import ingredients
    >>> known = {each.inci: usual_of(each).layer for each in ingredients()}
    >>> known["Phenoxyethanol"], known["Tocopherol"], known["Squalane"]
    ('water', 'oil', 'base')
    """
    names = [ingredient.inci, *(f"role:{role}" for role in ingredient.roles)]
    row = next((_table()[key] for key in map(plain_letters, names) if key in _table()), None)
    if row is None:
        return UsualOf("whole", low_end=True)
    layer = row["layer"]
    if layer == "own":
        layer = ingredient.phase if ingredient.phase in ("water", "oil") else "whole"
    return UsualOf(cast("Of", layer), row["low_end"] == "yes")


@dataclass(frozen=True)
class Habit:
    """One end of a usual range in one formula.

    Attributes
    ----------
    requirement
        As an inequality, linear in the lines, of the kind "habit".
    usual
        The range in words.
    of_whole
        What the material comes to in each line: percent of the whole = Σ of_whole x percents.
    """

    ingredient: Ingredient
    requirement: Requirement
    usual: str
    of_whole: tuple[float, ...]
    figure: Figure
    sign: float

    def is_told(self, percents: list[float]) -> bool:
        """Whether it is passed, and by enough to say so.

        What its layer alone holds too much or too little of is told for what guards that layer; of the rest, only what
        is unusual in the whole product too.
        """
        if self.requirement.slack(percents) >= -EDGE:
            return False
        whole = sum(share * percent for share, percent in zip(self.of_whole, percents, strict=True))
        bound = not _BOUND_TO_THEIR_LAYER.isdisjoint(self.ingredient.roles)
        return bound or self.sign * (whole - self.figure.value) > EDGE


def habits(formula: Formula, materials: Materials) -> list[Habit]:
    """Both ends of the usual range of every material of a formula.

    There is none for a material that its layer is made of, nor at an end for which the maker has a rule of her own.
    """
    return _Reader(formula, materials).habits


def habits_along(formula: Formula, materials: Materials) -> tuple[list[Requirement], list[Requirement]]:
    """The habits that can end a window of ratios, and those that are passed already and so can not.

    A habit that the amounts as typed keep stays an end while the ratio is moved beyond it.
    """
    now, typed = flat_percents(formula), [percent or 0.0 for phase in formula.typed.percents for percent in phase]
    kept: list[Requirement] = []
    passed: list[Requirement] = []
    for habit in habits(formula, materials):
        room = max(habit.requirement.slack(now), habit.requirement.slack(typed))
        (kept if room >= -EDGE else passed).append(habit.requirement)
    return kept, passed


def usual_range_findings(formula: Formula, materials: Materials) -> list[Finding]:
    """What lies outside its usual range: one note for all that is above, one for all that is below."""
    percents = flat_percents(formula)
    told = [habit for habit in habits(formula, materials) if habit.is_told(percents)]
    sides = [("Above", [h for h in told if h.sign > 0]), ("Below", [h for h in told if h.sign < 0])]
    return [_told(side, each, percents) for side, each in sides if each]


def _told(side: str, told: list[Habit], percents: list[float]) -> Finding:
    first = told[0].requirement.finding(percents)
    if len(told) == 1 and first is not None:
        return first
    each = [
        f"{habit.requirement.found(percents):.3g} % {habit.requirement.name.partition(' usually ')[0]} ({habit.usual})"
        for habit in told
    ]
    sources = listed([habit.requirement.source for habit in told])
    sentence = f"{side} their usual range: {listed(each)}. These are habits of the trade, not laws."
    return Finding("note", sentence, Place(field="total"), sources, MATTER)


@dataclass(frozen=True)
class _Reader:
    """A formula read for its usual ranges."""

    formula: Formula
    materials: Materials

    @cached_property
    def names(self) -> list[str]:
        return [line.material.strip() for _, _, line, _ in self.formula.each_line()]

    @cached_property
    def kinds(self) -> list[str]:
        return [self.formula.phases[p].kind for p, _, _, _ in self.formula.each_line()]

    @cached_property
    def percents(self) -> list[float]:
        return flat_percents(self.formula)

    @property
    def habits(self) -> list[Habit]:
        found = []
        for ingredient in self._ranged():
            share = self._share(ingredient)
            counted = self._counted(ingredient, share)
            if counted is None:
                continue
            low, high = ingredient.usual_low, ingredient.usual_high
            if low and low.value > 0 and usual_of(ingredient).low_end and not self._own_rule(ingredient, "low"):
                found.append(self._habit(ingredient, share, counted, low, -1.0))
            if high and not self._own_rule(ingredient, "high"):
                found.append(self._habit(ingredient, share, counted, high, 1.0))
        return found

    def _ranged(self) -> list[Ingredient]:
        """The ingredients of the lines, and the actives of their stocks, each once."""
        found: dict[str, Ingredient] = {}
        for name in filter(None, self.names):
            active = getattr(self.materials.get(name), "active", name)
            ingredient = self.materials.ingredient(active) if active else None
            if ingredient is not None and (ingredient.usual_low or ingredient.usual_high):
                found.setdefault(ingredient.inci, ingredient)
        return list(found.values())

    def _share(self, ingredient: Ingredient) -> tuple[float, ...]:
        """How much of each line is the ingredient: a single substance in all that holds it, a blend where it stands."""
        if ingredient.composition:
            return tuple(float(self.materials.ingredient(name) == ingredient) if name else 0.0 for name in self.names)
        of = ingredient.inci
        return tuple(self.materials.substances(name).get(of, 0.0) / 100.0 if name else 0.0 for name in self.names)

    def _counted(self, ingredient: Ingredient, share: tuple[float, ...]) -> str | None:
        """Of what its range is a percent here; None where it has none."""
        of, layering = usual_of(ingredient).layer, self.formula.description.layering
        if self.formula.description.product_type == "perfume" and not _SCENTS.isdisjoint(ingredient.roles):
            return None
        is_base = of == "base" or "solvent" in ingredient.roles
        if (of == "base" and layering != "emulsified") or (is_base and self._makes_its_layer(share)):
            return None
        stands_there = any(s and kind == of for s, kind in zip(share, self.kinds, strict=True))
        others = any(x > 0 and kind != of for x, kind in zip(self.percents, self.kinds, strict=True))
        return of if of in ("water", "oil") and layering not in _UNLAYERED and stands_there and others else "whole"

    def _makes_its_layer(self, share: tuple[float, ...]) -> bool:
        """Whether it fills a layer, or none of its layer is more."""
        lines = [line for _, _, line, _ in self.formula.each_line()]
        for n, part in enumerate(share):
            beside = [x for x, kind in zip(self.percents, self.kinds, strict=True) if kind == self.kinds[n]]
            if part and (lines[n].hold == "fill" or self.percents[n] >= max(beside)):
                return True
        return False

    def _own_rule(self, ingredient: Ingredient, end: str) -> bool:
        names = {ingredient.inci.casefold(), *(name.casefold() for name in ingredient.other_names)}
        return any(
            rule.material.strip().casefold() in names and getattr(rule, end) is not None for rule in self.formula.rules
        )

    def _habit(
        self, ingredient: Ingredient, share: tuple[float, ...], counted: str, figure: Figure, sign: float
    ) -> Habit:
        inside = tuple(kind == counted for kind in self.kinds) if counted != "whole" else ()
        brought = tuple(s if counted in ("whole", kind) else 0.0 for s, kind in zip(share, self.kinds, strict=True))
        layer = [figure.value / 100.0 if is_in else 0.0 for is_in in inside] or [0.0] * len(brought)
        ends = [f"{each.value:g}" for each in (ingredient.usual_low, ingredient.usual_high) if each]
        usual = f"{' to '.join(ends)} %"
        where = "" if counted == "whole" else f" in the {LAYER_NAMES[counted]}"
        side, word = ("above", "most") if sign > 0 else ("below", "least")
        place = max(range(len(brought)), key=lambda n: (brought[n] * self.percents[n], brought[n]))
        requirement = Requirement(
            name=f"{ingredient.inci}{where} usually at {word} {figure.value:g} %",
            weights=tuple(sign * (b - part) for b, part in zip(brought, layer, strict=True)),
            bound=0.0 if inside else sign * figure.value,
            severity="note",
            place=[Place(p, i, "amount") for p, i, _, _ in self.formula.each_line()][place],
            sentence=f"{{found}} {ingredient.inci}{where} is {side} its usual range, {usual}: "
            "a habit of the trade, not a law.",
            source=source_words(figure.source),
            shown=brought,
            layer_lines=inside,
            stated=figure.value,
            kind="habit",
            matter=f"{MATTER}: {plain_letters(ingredient.inci)}",
        )
        return Habit(ingredient, requirement, usual, share, figure, sign)
