"""What can take the place of a line: the nearest ingredients by what matters, or a blend of two or three of them."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING

from kit.blends.blend_match import MOST_CANDIDATES, Match, match_blend
from kit.blends.programme import whole_step
from kit.blends.properties import SCALES, Properties, Weights, distance
from kit.errors import EntryError, UnknownNameError
from kit.findings import Finding, Place
from kit.formula import editing
from kit.formula.model import require_complete
from kit.formula.requirements import known_by_rules, meant_by
from kit.layers.viscosity import blend_index, kinematic_from_index, known_viscosities
from kit.library.limit import Limits
from kit.library.sources import FROM_MEMORY
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kit.bench.unit_costs import UnitCosts
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.ingredient import Ingredient
    from kit.library.limit import Limit

#: A blending number that lies so far off counts as one unit of miss: at 30 mm²/s about a factor of 1.3 (a judgement).
INDEX_UNIT = 1.0
#: Of what blends linearly by mass: the unit of a miss (judgements). 1/ρ [mL/g], blending number, HLB, [part of price]
UNITS = {"density": 0.02, "viscosity": INDEX_UNIT, "hlb": 1.0, "price": 0.25}

#: Of so many of the nearest it is said that a viscosity is from memory.
NAMED = 10

TRY = (
    "Likeness in a table is no proof: smell, feel, purity and how it ages are not in it. Make a small batch of both, "
    "and judge its stability and skin feel anew."
)
GUARDS = (
    "What preserves, chelates or keeps oils from rancidity is not exchanged by likeness: a qualified person must test "
    "the product anew, and where it holds water, by a challenge test."
)
_GUARDING = frozenset({"preservative", "booster", "antioxidant", "chelator", "UV filter"})


@dataclass(frozen=True)
class Substitute:
    """An ingredient that may take the place of another.

    Attributes
    ----------
    unlike
        0: the same in all that counts, 1: unlike in all of it.
    parts
        Property → how unlike, 0 to 1; None where it is not known of this one.
    """

    ingredient: Ingredient
    properties: Properties
    unlike: float
    parts: Mapping[str, float | None]

    @property
    def name(self) -> str:
        """Its INCI name."""
        return self.ingredient.inci

    @property
    def unknown(self) -> tuple[str, ...]:
        """What counts and is not known of it, in words."""
        return tuple(SCALES[name][0] for name, part in self.parts.items() if part is None)


@dataclass(frozen=True)
class Substitutes:
    """What was found for a line.

    Attributes
    ----------
    wanted
        What is known of the material that is to be replaced.
    found
        Nearest first.
    refused
        Names of what would be near enough to think of and is prohibited in this product.
    findings
        What is not known of the material itself, and what a likeness does not say.
    guards
        Whether the material preserves or keeps, so that nothing takes its place by likeness alone.
    """

    wanted: Properties
    found: tuple[Substitute, ...]
    refused: tuple[str, ...]
    findings: tuple[Finding, ...]
    guards: bool = False


@dataclass(frozen=True)
class SubstituteBlend:
    """A blend that comes near the properties of a line.

    Attributes
    ----------
    parts
        Names with their shares of the line, largest first. [%]
    reached
        Property → (wanted, reached) in the units of a card: g/mL, mm²/s, HLB, currency/g.
    left_out
        Candidates of which something that counts is not known: name → what.
    """

    parts: tuple[tuple[str, float], ...]
    reached: Mapping[str, tuple[float, float]]
    left_out: Mapping[str, tuple[str, ...]]
    match: Match

    @property
    def sentence(self) -> str:
        """The blend in words."""
        return " + ".join(f"{share:.3g} % {name}" for name, share in self.parts)


def substitutes(
    formula: Formula,
    place: tuple[int, int],
    materials: Materials,
    limits: Iterable[Limit],
    weights: Weights | None = None,
    *,
    costs: UnitCosts | None = None,
    count: int = 10,
) -> Substitutes:
    """The ingredients nearest to that of a line, of the same kind of layer and role, nearest first.

    What is prohibited in the product is never offered. See :func:`kit.blends.properties.distance` for how it is
    counted.

    Parameters
    ----------
    place
        Phase and line, counted from 0.
    costs
        Where the prices come from; None: prices do not count.

    Raises
    ------
    UnknownNameError
        The material of the line is not in the library.
    EntryError
        There is no such line.

    Examples
    --------
    >>> from kit.formula.expansion import Materials
    >>> from kit.formula.model import Formula, Line, Phase
    >>> from kit.library.library import Library
    >>> made = Formula("Oil", (Phase("Oil", "oil", (Line("Isopropyl Myristate", "100"),)),))
    >>> found = substitutes(made, (0, 0), Materials(Library.bundled()), (), count=2)
    >>> [one.name for one in found.found]
    ['Isopropyl Palmitate', 'Dicaprylyl Ether']
    """
    wanted, weights = _ingredient(formula, place, materials), weights or Weights()
    target = Properties.of(wanted, materials, costs)
    rules = Limits.of(limits)
    roles = _families(wanted.roles)
    ranked: list[Substitute] = []
    for other in (*_own(materials), *materials.library):
        if other.inci == wanted.inci or other.phase != wanted.phase or roles.isdisjoint(_families(other.roles)):
            continue
        properties = Properties.of(other, materials, costs)
        unlike, parts = distance(target, properties, weights)
        ranked.append(Substitute(other, properties, unlike, parts))
    ranked.sort(key=lambda one: (one.unlike, one.name))
    found: list[Substitute] = []
    refused: list[str] = []
    for one in ranked:
        if len(found) >= count:
            break
        if is_prohibited(one.name, formula, materials, rules):
            refused.append(one.name)
        else:
            found.append(one)
    said = tuple(_said(wanted, target, refused, found))
    return Substitutes(target, tuple(found), tuple(refused), said, not _GUARDING.isdisjoint(wanted.roles))


def is_prohibited(name: str, formula: Formula, materials: Materials, limits: Iterable[Limit]) -> bool:
    """Whether something in a material is not permitted in a product, or may not be, as far as its description tells."""
    present = known_by_rules(materials.substances(name), materials)
    return any(
        limit.is_of_percent
        and limit.max_percent <= 0
        and limit.applies_to(formula.description) is not False
        and meant_by(limit, present)
        for limit in Limits.of(limits).concerning(present)
    )


def matching_blend(
    found: Substitutes,
    weights: Weights | None = None,
    *,
    targets: Mapping[str, float] | None = None,
    most: int = 3,
) -> SubstituteBlend:
    """The blend of at most so many of the substitutes that comes nearest to the line, or to targets of one's own.

    Density blends by ideal volumes, viscosity by blending numbers, HLB and price by mass, so each is linear in the
    shares; what else counts in a likeness is not, and is left to the choice of the candidates.

    Parameters
    ----------
    targets
        Instead of what the line has: "density" [g/mL], "viscosity" [mm²/s], "hlb", "price" [currency/g].

    Raises
    ------
    EntryError
        Nothing that blends linearly is known of the line, or no candidate has all of it.

    References
    ----------
    .. [1] R. E. Maples, Petroleum Refinery Process Economics, 2nd ed. (2000): blending numbers.
    .. [2] W. C. Griffin, Journal of the Society of Cosmetic Chemists 1 (1949) 311-326: HLB by mass.
    """
    if found.guards:
        msg = f"{found.wanted.name} guards the product, and no blend by density or viscosity does that. {GUARDS}"
        raise EntryError(msg)
    weights, wishes = weights or Weights(), dict(targets or {})
    wanted = {name: wishes.get(name, _plain(found.wanted, name)) for name in UNITS}
    used = [name for name in UNITS if wanted[name] is not None and (getattr(weights, name) > 0 or name in wishes)]
    if not used:
        msg = (
            f"None of density, viscosity, HLB or price of {found.wanted.name} is known and counts, and nothing else "
            "blends by a rule. Give a target or a weight."
        )
        raise EntryError(msg)
    if len(used) < 2 and not wishes:
        msg = (
            f"Of {found.wanted.name} only the {SCALES[used[0]][0]} is known and counts: one figure makes no likeness. "
            "Choose a single substitute, or give a target of your own."
        )
        raise EntryError(msg)
    rows: list[list[float]] = []
    names: list[str] = []
    left_out: dict[str, tuple[str, ...]] = {}
    for one in found.found:
        if len(rows) == MOST_CANDIDATES:
            break
        values = {name: _plain(one.properties, name) for name in used}
        lacking = tuple(SCALES[name][0] for name, value in values.items() if value is None)
        if lacking:
            left_out[one.name] = lacking
        else:
            rows.append([_linear(name, value) for name, value in values.items() if value is not None])
            names.append(one.name)
    if not rows:
        msg = f"Of no candidate {listed([SCALES[name][0] for name in used])} is known, so none can be blended."
        raise EntryError(msg)
    target = [_linear(name, value) for name in used if (value := wanted[name]) is not None]
    units = [UNITS[name] * (abs(t) if name == "price" else 1.0) for name, t in zip(used, target, strict=True)]
    scale = [(getattr(weights, name) or 1.0) ** 0.5 / unit for name, unit in zip(used, units, strict=True)]
    match = match_blend(rows, target, scale, most)
    reached = {
        name: (_back(name, t), _back(name, t + miss)) for name, t, miss in zip(used, target, match.missed, strict=True)
    }
    parts = tuple((names[n], 100 * share) for n, share in match.parts)
    return SubstituteBlend(parts, reached, left_out, match)


def swapped(
    formula: Formula, place: tuple[int, int], parts: Sequence[tuple[str, float]], step: float = 0.01
) -> Formula:
    """The formula in which a line is replaced by one material or by a blend, in whole steps. [%, % w/w]

    The first takes over how the line holds, and what the steps leave; where the line fills its layer, the others keep
    their share of it. Below ten steps a part has finer ones, so that the blend of a small line stays the blend.

    Parameters
    ----------
    parts
        Names with their shares of the line, adding to 100.

    Raises
    ------
    EntryError
        There is no such line, or the shares do not add to 100.
    RangeError
        A blend in a formula that is not complete.
    """
    _line(formula, place)
    if not parts or abs(sum(share for _, share in parts) - 100) > 1e-6 or min(share for _, share in parts) < 0:
        msg = f"The shares of a blend must be 0 or more and add to 100 %, not {sum(share for _, share in parts):g} %."
        raise EntryError(msg)
    (p, i), formula = place, editing.settled(formula)
    if len(parts) == 1:
        return editing.set_line(formula, p, i, material=parts[0][0])
    percent = require_complete(formula, "given a blend")[p][i]
    line = formula.phases[p].lines[i]
    rest: list[float] = []
    for _, share in parts[1:]:
        amount = percent * share / 100
        fine = whole_step(amount, step)
        rest.append(min(float(f"{fine * round(amount / fine):.10g}"), percent - sum(rest)))
    is_rest = (p, i) == formula.typed.rest_at
    first = line.entry if is_rest else f"{percent - sum(rest):.12g}"
    made = editing.set_line(formula, p, i, material=parts[0][0], entry=first)
    hold = "share" if line.hold == "fill" else line.hold
    lines = [
        type(line)(name, f"{amount:.12g}", hold)
        for (name, _), amount in zip(parts[1:], rest, strict=True)
        if amount > 0
    ]
    return editing.add_lines(made, p, i + 1, lines)


def _line(formula: Formula, place: tuple[int, int]) -> str:
    p, i = place
    if not (0 <= p < len(formula.phases) and 0 <= i < len(formula.phases[p].lines)):
        msg = "The formula has no such line. Choose one of its lines."
        raise EntryError(msg)
    return formula.phases[p].lines[i].material.strip()


def _ingredient(formula: Formula, place: tuple[int, int], materials: Materials) -> Ingredient:
    name = _line(formula, place)
    found = materials.ingredient(name) if name else None
    if found is None:
        msg = (
            f"{name or 'A line without a name'} is no ingredient of the library, so nothing is known by which to find "
            "its like. Add it as your own ingredient first."
        )
        raise UnknownNameError(msg)
    return found


def _own(materials: Materials) -> list[Ingredient]:
    """Ingredients that travel with the formula and are not in the library."""
    found = [materials.ingredient(each.name) for each in materials.own]
    return [each for each in found if each is not None and materials.library.get(each.inci) is not each]


def _families(roles: Iterable[str]) -> set[str]:
    """Roles, with those that are kinds of one: a light emollient is an emollient."""
    return {name for role in roles for name in (role, "emollient" if "emollient" in role else role)}


def _said(
    wanted: Ingredient, target: Properties, refused: Sequence[str], found: Sequence[Substitute]
) -> Iterable[Finding]:
    place = Place(field="line")
    lacking = [words for name, (words, _) in SCALES.items() if name not in target.numbers and name not in target.words]
    if lacking:
        sentence = f"Not known of {wanted.inci}, and so not compared: {listed(lacking)}."
        yield Finding("note", sentence, place)
    yield Finding("note", "No spreading on skin is in the tables of the kit; it was not compared.", place)
    remembered = [
        one.inci
        for one in (wanted, *(each.ingredient for each in found[:NAMED]))
        if one.inci in known_viscosities() and known_viscosities()[one.inci].source == FROM_MEMORY
    ]
    if remembered:
        yield Finding("note", f"Viscosity from memory: {listed(remembered)}.", place, "from memory")
    if refused:
        yield Finding("note", f"Not offered, since it is prohibited in this product: {listed(refused)}.", place)
    if not _GUARDING.isdisjoint(wanted.roles):
        yield Finding("caution", GUARDS, place, "common practice")
    yield Finding("note", TRY, place, "common practice")


def _plain(properties: Properties, name: str) -> float | None:
    """A property in the units of a card."""
    value = properties.numbers.get(name)
    return exp(value) if value is not None and name in ("viscosity", "price") else value


def _linear(name: str, value: float) -> float:
    """What blends linearly by mass."""
    if name == "density":
        return 1 / value
    return blend_index(value) if name == "viscosity" else value


def _back(name: str, value: float) -> float:
    """The property that has this linear figure."""
    if name == "density":
        return 1 / value
    return kinematic_from_index(value) if name == "viscosity" else value
