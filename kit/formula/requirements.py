"""What a formula must hold to: legal limits and the maker's own rules, each as one linear inequality.

A limit speaks of substances and a rule of materials or layers, but each comes down to
Σ weight x percent <= bound over the lines. The checks evaluate it where the formula stands; the window of
allowed ratios solves it for the ratio.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import compress
from operator import mul
from typing import TYPE_CHECKING, Literal

from kit.findings import Finding, Place, Severity
from kit.formula.model import LAYER_NAMES
from kit.library.description import PRODUCT_KINDS
from kit.library.limit import LOCAL_RULES, Limits, rounded_off
from kit.library.naming import same_name
from kit.library.table import salts
from kit.visible_text import listed, plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula, Rule
    from kit.library.limit import Limit

#: How far a percent may pass its bound before that counts, for rounding in the last binary digits. A limit that must
#: not be reached has its bound this far twice below what is stated, so that exactly there it is broken. [% w/w]
EDGE = 1e-9


@dataclass(frozen=True, slots=True)
class Requirement:
    """Σ weights x percents <= bound.

    Attributes
    ----------
    name
        A few words for a label: "Benzoic Acid at most 0.5 %", or "below 0.1 %" where that must not be reached.
    weights
        One per line of the formula, phases in order.
    place
        The line it concerns most.
    sentence
        What to say when it is broken; ``{found}`` stands for the percent found.
    shown
        The percent found is ``scale x Σ shown x percents``, or, counted in a layer, that over the layer.
    layer_lines
        For a rule counted in a layer: which lines make up that layer; otherwise empty.
    bound
        What is compared: the stated percent, widened by what the rounding of molar masses can make of it where one
        substance counts as another, or narrowed by a hair where the stated percent itself is too much. [% w/w]
    stated
        The percent that the sentence compares with. [% w/w]
    is_open
        Whether the stated percent itself breaks it.
    kind
        A "conditional limit" holds only under a condition that the description leaves open or cannot tell: it is
        said, but it does not end the window. A "habit" of the trade ends it and is no law. Only an "own rule" can be
        relaxed.
    limit
        The limit that it is, if it is one.
    asks
        What the description would have to tell before it is known whether it holds at all.
    matter
        See :class:`kit.findings.Finding`.
    """

    name: str
    weights: tuple[float, ...]
    bound: float
    severity: Severity
    place: Place
    sentence: str
    source: str
    shown: tuple[float, ...]
    layer_lines: tuple[bool, ...] = ()
    stated: float = 0.0
    kind: Literal["limit", "conditional limit", "own rule", "habit", "arithmetic"] = "limit"
    is_open: bool = False
    limit: Limit | None = None
    asks: tuple[str, ...] = ()
    matter: str = ""

    def slack(self, percents: Sequence[float]) -> float:
        """How much room is left; below zero it is broken. [% w/w]"""
        return float(self.bound - sum(map(mul, self.weights, percents)))

    def found(self, percents: Sequence[float]) -> float:
        """The percent that the requirement is about, of the whole or of the layer. [% w/w]"""
        amount = float(sum(map(mul, self.shown, percents)))
        if not self.layer_lines:
            return amount
        layer = sum(compress(percents, self.layer_lines))
        return 100.0 * amount / layer if layer else 0.0

    def ease(self, percents: Sequence[float]) -> float:
        """How much room one more percent in an own rule would give; 0 where nothing can be relaxed. [% per %]"""
        if self.kind != "own rule":
            return 0.0
        if not self.layer_lines:
            return 1.0
        return sum(x for x, inside in zip(percents, self.layer_lines, strict=True) if inside) / 100.0

    def finding(self, percents: Sequence[float]) -> Finding | None:
        """A finding if it is broken at these percents."""
        if self.slack(percents) >= -EDGE:
            return None
        sentence = self.sentence.replace("{found}", _percent(self.found(percents), self.stated))
        return Finding(self.severity, sentence, self.place, self.source, self.matter)


def flat_percents(formula: Formula) -> list[float]:
    """The percents of all lines in order, with 0 for a line that has none yet. [% w/w]"""
    return [percent or 0.0 for phase in formula.percents for percent in phase]


def requirements(formula: Formula, materials: Materials, limits: Iterable[Limit]) -> list[Requirement]:
    """Every limit that concerns a substance of the formula, and every rule of the maker about something in it."""
    content = [
        materials.substances(line.material) if line.material.strip() else {} for _, _, line, _ in formula.each_line()
    ]
    places = [Place(p, i, "amount") for p, i, _, _ in formula.each_line()]
    percents = flat_percents(formula)
    present = known_by_rules({name for parts in content for name in parts}, materials)
    bringing: dict[str, list[int]] = {}  # a limit is about few substances, and these are in few lines
    for number, parts in enumerate(content):
        for name in parts:
            bringing.setdefault(name, []).append(number)
    found = []
    for limit in Limits.of(limits).concerning(present):
        applies = limit.applies_to(formula.description) if limit.is_of_percent else False
        if applies is not False:
            asks = limit.asks(formula.description) if applies is None else ()
            found.append(_from_limit(limit, asks, content, bringing, places, materials, present, percents))
    for rule in formula.rules:
        found.extend(_from_rule(formula, rule, content, places, materials))
    return found


def idle_rules(formula: Formula, materials: Materials) -> list[Rule]:
    """The maker's rules about a material that is in no line and in nothing that a line holds: they say nothing here."""
    if not formula.rules:
        return []
    content = [
        materials.substances(line.material) if line.material.strip() else {} for _, _, line, _ in formula.each_line()
    ]
    return [rule for rule in formula.rules if not any(_shares(formula, rule, content, materials))]


def _shares(formula: Formula, rule: Rule, content: Sequence[Mapping[str, float]], materials: Materials) -> list[float]:
    """How much of each line is the material of a rule, 0 to 1."""
    of = _known_name(materials, rule.material)
    names = [_known_name(materials, line.material) for _, _, line, _ in formula.each_line()]
    return [
        1.0 if name.casefold() == of.casefold() else parts.get(of, 0.0) / 100.0
        for name, parts in zip(names, content, strict=True)
    ]


def known_by_rules(names: Iterable[str], materials: Materials) -> dict[str, list[str]]:
    """The name by which rules know a substance → the substances of the formula that it means."""
    found: dict[str, list[str]] = {}
    for name in sorted(names):
        for key in materials.names_for_rules(name):
            found.setdefault(key, []).append(name)
    return found


def meant_by(limit: Limit, present: Mapping[str, list[str]]) -> list[str]:
    """The substances of a formula that a limit is about, in its order."""
    keys = dict.fromkeys(same_name(name) for name in limit.substances)
    return list(dict.fromkeys(name for key in keys for name in present.get(key, ())))


def _from_limit(
    limit: Limit,
    asks: tuple[str, ...],
    content: Sequence[Mapping[str, float]],
    bringing: Mapping[str, Sequence[int]],
    places: Sequence[Place],
    materials: Materials,
    known_as: Mapping[str, list[str]],
    percents: Sequence[float],
) -> Requirement:
    present = meant_by(limit, known_as)
    factors = {name: _factor(limit, name, materials) / 100.0 for name in present}
    brought = [0.0] * len(content)
    for name, factor in factors.items():
        for number in bringing.get(name, ()):
            brought[number] += content[number][name] * factor
    weights = tuple(brought)
    what = " + ".join(present)
    counted_as = f", counted as {limit.expressed_as}," if limit.expressed_as and present != [limit.expressed_as] else ""
    where = scope_words(limit)
    kind = f" in {where} products" if where in PRODUCT_KINDS else f" ({where})" if where else ""
    if limit.max_percent > 0:
        most = f"{'below' if limit.below else 'at most'} {limit.max_percent:g} %"
        name = f"{what} {most}{' as ' + limit.expressed_as if counted_as else ''}"
        allowed = f"it must stay below {limit.max_percent:g} %{kind}"
        if not limit.below:
            allowed = f"the limit{kind} is {limit.max_percent:g} %"
        sentence = f"{what}{counted_as} comes to {{found}}; {allowed}. Lower it."
    else:
        name = f"{what} not permitted{kind}"
        sentence = f"{what} is not permitted{kind}; the formula holds {{found}}. Take it out."
    if limit.purpose == "preservative":
        sentence = (
            f"{what}{counted_as} comes to {{found}}, and as a preservative at most {limit.max_percent:g} % is "
            "permitted. More may only be there for another purpose, which the presentation of the product must show; "
            "it is then no preservative of this product."
        )
    if limit.said:
        sentence = limit.said.replace("{name}", what)
        name = name if limit.max_percent > 0 else f"{what} not permitted{kind}"
    if limit.scope:
        sentence += f" ({limit.scope})"
    unsure = [name for name in present if materials.is_blend_of_unknown_shares(name)]
    if unsure:
        sentence += f" Nobody knows what {listed(unsure)} holds of it, so the whole was counted: write its composition."
    soft = limit.conditional or bool(asks) or bool(unsure) or limit.purpose == "preservative"
    severity = limit.severity
    if severity == "stop" and soft:
        severity = "note" if limit.purpose == "preservative" else "caution"
    return Requirement(
        name=name,
        weights=weights,
        bound=_bound(limit, present, materials),
        severity=severity,
        place=_largest(places, weights, percents),
        sentence=f"{sentence} {LOCAL_RULES}",
        source=limit.source,
        shown=weights,
        stated=limit.max_percent,
        kind="conditional limit" if soft or limit.severity != "stop" else "limit",
        is_open=limit.below,
        limit=limit,
        asks=asks,
        matter=f"limit: {same_name(present[0])}",
    )


def scope_words(limit: Limit) -> str:
    """For which products a limit holds, in the words of a description; empty for all."""
    only = limit.only_for.removeprefix("not ")
    if only == limit.only_for or ";" in only:
        only = f"outside {limit.only_for}" if only else ""
    parts = ", ".join(part.strip() for part in limit.holds_for.split(";") if part.strip())
    return ", ".join(filter(None, [parts, only])).replace(" | ", " or ")


def _bound(limit: Limit, present: Sequence[str], materials: Materials) -> float:
    """What a limit is compared at, so that it is broken exactly where its words say so. [% w/w]"""
    if limit.below:
        return limit.max_percent - 2 * EDGE
    if limit.expressed_as_molar_mass is None:
        return limit.max_percent
    others = [_molar_mass(name, materials) for name in present if name != limit.expressed_as]
    rounded = [rounded_off(limit.expressed_as_molar_mass, mass) for mass in others if mass]
    return limit.max_percent * (1 + max(rounded, default=0.0))


def _from_rule(
    formula: Formula,
    rule: Rule,
    content: Sequence[Mapping[str, float]],
    places: Sequence[Place],
    materials: Materials,
) -> list[Requirement]:
    share = _shares(formula, rule, content, materials)
    if not any(share):
        return []
    kinds = [formula.phases[place.phase or 0].kind for place in places]
    inside = tuple(kind == rule.of for kind in kinds) if rule.of != "whole" else ()
    counted = tuple(s if rule.of in ("whole", kind) else 0.0 for s, kind in zip(share, kinds, strict=True))
    place = _largest(places, counted, flat_percents(formula))
    where = f" of the {LAYER_NAMES[rule.of]}" if rule.of != "whole" else ""
    reason = f" ({rule.reason})" if rule.reason else ""
    made = []
    for bound, sign, word in ((rule.low, -1.0, "least"), (rule.high, 1.0, "most")):
        if bound is None:
            continue
        layer = tuple(bound / 100.0 if is_in else 0.0 for is_in in inside) or (0.0,) * len(counted)
        made.append(
            Requirement(
                name=f"{rule.material} at {word} {bound:g} %{where}",
                weights=tuple(sign * (c - b) for c, b in zip(counted, layer, strict=True)),
                bound=0.0 if inside else sign * bound,
                severity="caution",
                place=place,
                sentence=f"{rule.material} is {{found}}{where}; your own rule asks for at {word} {bound:g} %{reason}.",
                source="the maker's own rule",
                shown=counted,
                layer_lines=inside,
                stated=bound,
                kind="own rule",
            )
        )
    return made


def _largest(places: Sequence[Place], weights: Sequence[float], percents: Sequence[float]) -> Place:
    if not places:
        return Place()
    brought = list(map(mul, weights, percents))
    most = max(brought)
    heaviest = max(compress(weights, map(most.__eq__, brought)), default=0.0)
    if heaviest <= 0:
        return Place()
    first = next(n for n, pair in enumerate(zip(brought, weights, strict=True)) if pair == (most, heaviest))
    return places[first]


def _known_name(materials: Materials, name: str) -> str:
    """The name under which a material is known, whichever of its names was written."""
    found = materials.get(name) if name.strip() else None
    return found.name if found else name.strip()


def _factor(limit: Limit, name: str, materials: Materials) -> float:
    """How much one gram of a substance counts, by its molar mass in the library or in the table of salts. [g/g]"""
    if not limit.expressed_as:
        return 1.0
    salt = salts().get(plain_letters(name))
    return limit.factor(_molar_mass(name, materials), salt.gives if salt else 1)


def _molar_mass(name: str, materials: Materials) -> float | None:
    ingredient, salt = materials.ingredient(name), salts().get(plain_letters(name))
    if ingredient is not None and ingredient.molar_mass is not None:
        return ingredient.molar_mass.value
    return salt.molar_mass if salt else None


def _percent(value: float, stated: float) -> str:
    """A percent with enough digits that a breach never rounds to the very figure it breaks."""
    for digits in range(4 if value >= 0.001 else 2, 17):
        text = f"{value:.{digits}g}"
        if float(text) != stated:
            break
    return f"{text} %"
