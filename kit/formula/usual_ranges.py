"""Usual ranges: habits of the trade, each judged in the layer in which the material works.

The ranges were formed with products of one phase. In a product that stands in two layers a preservative works in the
water and an antioxidant of oils in the oil, so the range is a percent of that layer. ``data/usual-of`` says which.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, cast

from kit.findings import Finding, Place
from kit.formula.compatibility_rules import source_words
from kit.formula.model import LAYER_NAMES
from kit.formula.requirements import EDGE, Requirement, flat_percents
from kit.resources import load_table
from kit.visible_text import listed, plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula, Rule
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
    return _usual_of(ingredient.inci, ingredient.roles, ingredient.phase)


@lru_cache(maxsize=2048)
def _usual_of(inci: str, roles: tuple[str, ...], phase: str) -> UsualOf:
    names = [inci, *(f"role:{role}" for role in roles)]
    row = next((_table()[key] for key in map(plain_letters, names) if key in _table()), None)
    if row is None:
        return UsualOf("whole", low_end=True)
    layer = row["layer"]
    if layer == "own":
        layer = phase if phase in ("water", "oil") else "whole"
    return UsualOf(cast("Of", layer), row["low_end"] == "yes")


@dataclass(frozen=True, slots=True)
class _End:
    """One end of a usual range in one formula, and how far the formula is beyond it.

    Attributes
    ----------
    shares
        How much of each line is the material: line number → share; lines without it are left out.
    counted
        Of what the range is a percent: water, oil or whole.
    beyond
        By how much the material is outside, of what it is counted in; negative where it is within. [% w/w]
    beyond_whole
        The same if the range were one of the whole. [% w/w]
    """

    ingredient: Ingredient
    shares: Mapping[int, float]
    counted: str
    figure: Figure
    sign: float
    beyond: float
    beyond_whole: float

    @property
    def is_told(self) -> bool:
        """Whether it is passed, and by enough to say so.

        What its layer alone holds too much or too little of is told for what guards that layer; of the rest, only what
        is unusual in the whole product too.
        """
        guards = not _BOUND_TO_THEIR_LAYER.isdisjoint(self.ingredient.roles)
        return self.beyond > EDGE and (guards or self.beyond_whole > EDGE)

    @property
    def usual(self) -> str:
        """The range in words."""
        ends = [self.ingredient.usual_low, self.ingredient.usual_high]
        return f"{' to '.join(f'{each.value:g}' for each in ends if each)} %"


def habits(formula: Formula, materials: Materials) -> list[Requirement]:
    """Both ends of the usual range of every material of a formula, as inequalities that are linear in the lines.

    There is none for a material that its layer is made of, nor at an end for which the maker has a rule of her own.
    """
    reader = _Reader(formula, materials)
    return [reader.requirement(end) for end in reader.ends()]


def habits_along(formula: Formula, materials: Materials) -> tuple[list[Requirement], list[Requirement]]:
    """The habits that can end a window of ratios, and those that are passed already and so can not.

    A habit that the amounts as typed keep stays an end while the ratio is moved beyond it.
    """
    now, typed = flat_percents(formula), [percent or 0.0 for phase in formula.typed.percents for percent in phase]
    kept: list[Requirement] = []
    passed: list[Requirement] = []
    for habit in habits(formula, materials):
        room = max(habit.slack(now), habit.slack(typed))
        (kept if room >= -EDGE else passed).append(habit)
    return kept, passed


def usual_range_findings(formula: Formula, materials: Materials) -> list[Finding]:
    """What lies outside its usual range: one note for all that is above, one for all that is below."""
    reader = _Reader(formula, materials)
    told = [end for end in reader.ends() if end.is_told]
    sides = [("Above", [end for end in told if end.sign > 0]), ("Below", [end for end in told if end.sign < 0])]
    return [_told(side, [(end, reader.requirement(end)) for end in each], reader) for side, each in sides if each]


def _told(side: str, told: list[tuple[_End, Requirement]], reader: _Reader) -> Finding:
    first = told[0][1].finding(reader.percents)
    if len(told) == 1 and first is not None:
        return first
    each = [
        f"{habit.found(reader.percents):.3g} % {habit.name.partition(' usually ')[0]} ({end.usual})"
        for end, habit in told
    ]
    sources = listed([habit.source for _, habit in told])
    sentence = f"{side} their usual range: {listed(each)}. These are habits of the trade, not laws."
    return Finding("note", sentence, Place(field="total"), sources, MATTER)


class _Reader:
    """A formula read once for its usual ranges."""

    def __init__(self, formula: Formula, materials: Materials) -> None:
        self.formula, self.materials = formula, materials
        lines = list(formula.each_line())
        self.places = [Place(p, i, "amount") for p, i, _, _ in lines]
        self.kinds = [formula.phases[p].kind for p, _, _, _ in lines]
        self.percents = [percent or 0.0 for _, _, _, percent in lines]
        self._names = [line.material.strip() for _, _, line, _ in lines]
        self._fills = [line.hold == "fill" for _, _, line, _ in lines]
        self._size: dict[str, float] = {}
        self._most: dict[str, float] = {}
        for kind, percent in zip(self.kinds, self.percents, strict=True):
            self._size[kind] = self._size.get(kind, 0.0) + percent
            self._most[kind] = max(self._most.get(kind, 0.0), percent)
        self._size["whole"] = sum(self.percents)
        self._of: dict[str, dict[int, float]] = {}
        for n, name in enumerate(self._names):
            for substance, share in (materials.substances(name) if name else {}).items():
                self._of.setdefault(substance, {})[n] = share / 100.0
        self._rules = {(rule.material.strip().casefold(), end) for rule in formula.rules for end in _ends_of(rule)}

    def ends(self) -> Iterator[_End]:
        """Every end of every range."""
        for ingredient, shares in self._ranged():
            counted = self._counted(ingredient, shares)
            if counted is None:
                continue
            low, high = ingredient.usual_low, ingredient.usual_high
            if low and low.value > 0 and usual_of(ingredient).low_end and not self._own_rule(ingredient, "low"):
                yield self._end(ingredient, shares, counted, low, -1.0)
            if high and not self._own_rule(ingredient, "high"):
                yield self._end(ingredient, shares, counted, high, 1.0)

    def _ranged(self) -> Iterator[tuple[Ingredient, dict[int, float]]]:
        """The ingredients of the lines and the actives of their stocks, each once, with what the lines hold of them.

        A single substance counts in all that holds it, a blend where it stands.
        """
        seen: set[str] = set()
        for name in filter(None, self._names):
            active = getattr(self.materials.get(name), "active", name)
            ingredient = self.materials.ingredient(active) if active else None
            if ingredient is None or ingredient.inci in seen or not (ingredient.usual_low or ingredient.usual_high):
                continue
            seen.add(ingredient.inci)
            if ingredient.composition:
                lines = enumerate(self._names)
                yield ingredient, {n: 1.0 for n, each in lines if each and self.materials.get(each) is ingredient}
            else:
                yield ingredient, self._of.get(ingredient.inci, {})

    def _counted(self, ingredient: Ingredient, shares: Mapping[int, float]) -> str | None:
        """Of what its range is a percent here; None where it has none."""
        of, description = usual_of(ingredient).layer, self.formula.description
        if not shares or (description.product_type == "perfume" and not _SCENTS.isdisjoint(ingredient.roles)):
            return None
        is_base = of == "base" or "solvent" in ingredient.roles
        if (of == "base" and description.layering != "emulsified") or (is_base and self._makes_its_layer(shares)):
            return None
        if of not in ("water", "oil") or description.layering in _UNLAYERED:
            return "whole"
        alone = self._size.get(of, 0.0) >= self._size["whole"]
        return of if not alone and any(self.kinds[n] == of for n in shares) else "whole"

    def _makes_its_layer(self, shares: Mapping[int, float]) -> bool:
        """Whether it fills a layer, or none of its layer is more."""
        return any(self._fills[n] or self.percents[n] >= self._most[self.kinds[n]] for n in shares)

    def _own_rule(self, ingredient: Ingredient, end: str) -> bool:
        names = (ingredient.inci, *ingredient.other_names) if self._rules else ()
        return any((name.casefold(), end) in self._rules for name in names)

    def _end(
        self, ingredient: Ingredient, shares: Mapping[int, float], counted: str, figure: Figure, sign: float
    ) -> _End:
        whole = sum(share * self.percents[n] for n, share in shares.items())
        amount, size = whole, 100.0
        if counted != "whole":
            amount = sum(share * self.percents[n] for n, share in shares.items() if self.kinds[n] == counted)
            size = self._size[counted]
        beyond, beyond_whole = sign * (amount - figure.value * size / 100.0), sign * (whole - figure.value)
        return _End(ingredient, shares, counted, figure, sign, beyond, beyond_whole)

    def requirement(self, end: _End) -> Requirement:
        """An end as an inequality."""
        counted, stated = end.counted, end.figure.value
        inside = tuple(kind == counted for kind in self.kinds) if counted != "whole" else ()
        brought = [0.0] * len(self.kinds)
        for n, share in end.shares.items():
            if counted in ("whole", self.kinds[n]):
                brought[n] = share
        layer = [stated / 100.0 if is_in else 0.0 for is_in in inside] or [0.0] * len(brought)
        where = "" if counted == "whole" else f" in the {LAYER_NAMES[counted]}"
        side, word = ("above", "most") if end.sign > 0 else ("below", "least")
        inci = end.ingredient.inci
        return Requirement(
            name=f"{inci}{where} usually at {word} {stated:g} %",
            weights=tuple(end.sign * (b - part) for b, part in zip(brought, layer, strict=True)),
            bound=0.0 if inside else end.sign * stated,
            severity="note",
            place=self.places[max(end.shares, key=lambda n: (brought[n] * self.percents[n], brought[n], -n))],
            sentence=f"{{found}} {inci}{where} is {side} its usual range, {end.usual}: "
            "a habit of the trade, not a law.",
            source=source_words(end.figure.source),
            shown=tuple(brought),
            layer_lines=inside,
            stated=stated,
            kind="habit",
            matter=f"{MATTER}: {plain_letters(inci)}",
        )


def _ends_of(rule: Rule) -> Iterator[str]:
    if rule.low is not None:
        yield "low"
    if rule.high is not None:
        yield "high"
