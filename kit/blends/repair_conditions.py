"""A formula as a linear programme sees it: its rules, and what is asked to stay, as inequalities over the lines."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from kit.bench.unit_costs import UnitCosts
from kit.blends.programme import Condition, Programme, equation
from kit.blends.repair_wishes import RepairWishes, line_names
from kit.errors import EntryError, RangeError
from kit.findings import Finding, Place
from kit.formula import editing
from kit.formula.requirements import EDGE, flat_percents, requirements
from kit.formula.usual_ranges import habits_along
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kit.bench.price_list import PriceList
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.formula.requirements import Requirement
    from kit.library.limit import Limit

#: How much a percent of change counts (judgements): of what its layer is filled with or mostly made of, of what keeps
#: its percent of the whole, of what guards the product; 1 of all else.
FILLS, LEVEL, GUARDS = 0.5, 1.5, 3.0
#: What takes the place of nothing else: it is made more only where a rule asks for more of it.
NEVER_RAISED = frozenset({"fragrance", "fragrance part", "essential oil", "colourant"})
#: What is not made less for the sake of a price.
GUARDING = frozenset({"preservative", "booster", "chelator", "antioxidant", "pH adjuster", "buffer"})
#: A line that has to stay keeps at least this part of its amount (a judgement). [-]
STAYS = 1e-4


class FormulaConditions:
    """A formula read once for its repair: what holds it, and how much a change of each line counts."""

    def __init__(
        self,
        formula: Formula,
        materials: Materials,
        limits: Iterable[Limit],
        wishes: RepairWishes,
        prices: PriceList,
        batch: float,
        step: float,
    ) -> None:
        self.formula, self.materials, self.wishes = editing.settled(formula), materials, wishes
        self.asked_about = formula
        _need_amounts(self.formula)
        self.batch, self.step = batch, step
        self.names = line_names(self.formula)
        self.lines = [(p, i, line) for p, i, line, _ in self.formula.each_line()]
        self.start = flat_percents(self.formula)
        self.kinds = [self.formula.phases[p].kind for p, _, _ in self.lines]
        self.costs = UnitCosts(prices, materials)
        self.findings: list[Finding] = []
        self.required = self._rules(requirements(self.formula, materials, limits))
        self.fixed = self._conditions()

    @cached_property
    def weights(self) -> list[float]:
        """How much a change of each line counts."""
        rest = self.formula.typed.rest_at
        filled = {self.kinds[n] for n, (p, i, line) in enumerate(self.lines) if line.hold == "fill" or (p, i) == rest}
        found = []
        for n, (p, i, line) in enumerate(self.lines):
            most = max(x for x, kind in zip(self.start, self.kinds, strict=True) if kind == self.kinds[n])
            carries = self.kinds[n] not in filled and self.start[n] == most
            if line.hold == "fill" or (p, i) == rest or carries:
                found.append(FILLS)
            elif self.guards(line.material):
                found.append(GUARDS)
            else:
                found.append(LEVEL if line.hold == "level" else 1.0)
        return found

    def guards(self, name: str) -> bool:
        """Whether a material guards the product."""
        return self._has_role(name, GUARDING)

    def _has_role(self, name: str, roles: frozenset[str]) -> bool:
        known = self.materials.ingredient(name)
        return known is not None and not roles.isdisjoint(known.roles)

    # ---- what must hold ---------------------------------------------------------------------------------

    def _rules(self, required: Iterable[Requirement]) -> list[Requirement]:
        """Those that count, with a word for each that no amount can mend."""
        kept = []
        for rule in required:
            is_broken = rule.slack(self.start) < -EDGE
            if (
                rule.kind == "conditional limit"
                and is_broken
                and (rule.severity == "note" or not self.wishes.conditional)
            ):
                continue
            if _forbids(rule) and is_broken and not self.wishes.remove:
                holders = [self.names[n] for n, w in enumerate(rule.weights) if w > 0 and self.start[n] > 0]
                sentence = (
                    f"{rule.name}: no amount mends this, only taking out {listed(holders)}. Allow lines to be taken "
                    "out, or use another material."
                )
                self.findings.append(Finding("stop", sentence, rule.place, rule.source))
                continue
            kept.append(rule)
        habits = habits_along(self.formula, self.materials)[0] if self.wishes.habits else []
        out = {n for rule in kept if _forbids(rule) for n, w in enumerate(rule.weights) if w > 0}
        return [*kept, *(habit for habit in habits if not any(habit.weights[n] < 0 for n in out))]

    def _conditions(self) -> list[Condition]:
        unknown = [name for name in self.wishes.locked if name not in self.names]
        if unknown:
            msg = f"{listed(unknown)} cannot be left as it is: the formula has no such line."
            raise EntryError(msg)
        size = len(self.names)
        found: list[Condition] = []
        for n, name in enumerate(self.names):
            one = only(n, size)
            if name in self.wishes.locked or self.lines[n][2].is_blank:
                found += equation(f"{name} stays as it is", one, self.start[n], "locked")
            elif not self.wishes.remove and self.start[n] > 0:
                least = tuple(-w for w in one)
                found.append(Condition(f"{name} stays in the formula", least, -STAYS * self.start[n], "stays"))
            wanted = any(rule.kind == "own rule" and rule.weights[n] < 0 for rule in self.required)
            if (
                self._has_role(self.lines[n][2].material, NEVER_RAISED)
                and not wanted
                and name not in self.wishes.locked
            ):
                found.append(Condition(f"{name} is not raised", one, self.start[n], "near"))
        if self.wishes.layers and abs(sum(self.start) - 100) < 1e-6 and len(set(self.kinds)) > 1:
            for kind in dict.fromkeys(self.kinds):
                inside = tuple(float(k == kind) for k in self.kinds)
                amount = sum(x for x, k in zip(self.start, self.kinds, strict=True) if k == kind)
                found += equation(f"the {kind} layer keeps its {amount:.4g} %", inside, amount, "layer")
        found += self._stock()
        if self.wishes.most_cost is not None:
            name = f"the materials of 100 g cost at most {self.wishes.most_cost:g} {self.costs.currency}".rstrip()
            found.append(Condition(name, tuple(self.per_percent()), self.wishes.most_cost, "cost"))
            self._say_unpriced()
        return found

    def _stock(self) -> Iterable[Condition]:
        """No more of each material than there is."""
        for name, grams in self.wishes.on_hand:
            known = self.materials.get(name)
            own = (known.name if known else name).casefold()
            inside = [
                float(own in (line.material.strip().casefold(), getattr(found, "name", "").casefold()))
                for _, _, line in self.lines
                for found in [self.materials.get(line.material) if line.material.strip() else None]
            ]
            if not any(inside):
                sentence = f"{name} is in no line, so what there is of it says nothing here."
                self.findings.append(Finding("note", sentence, Place(field="on_hand")))
                continue
            most = 100 * grams / self.batch
            yield Condition(f"no more {name} than the {grams:g} g there are", tuple(inside), most, "stock")

    def per_percent(self) -> list[float]:
        """What a percent of each line costs in 100 g; 0 where it has no price. [currency]"""
        named = [line.material for _, _, line in self.lines]
        return [self.costs.of(name).per_gram if name.strip() else 0.0 for name in named]

    def unpriced(self) -> list[int]:
        """The lines that have no price."""
        return [n for n, (_, _, line) in enumerate(self.lines) if not self.costs.of(line.material).is_known]

    def _say_unpriced(self) -> None:
        if lacking := [self.names[n] for n in self.unpriced() if self.start[n] > 0]:
            sentence = f"{listed(lacking)} has no price, and counts as costing nothing. Add it to the price list."
            self.findings.append(Finding("caution", sentence, Place(field="price")))

    @property
    def keeps_layers(self) -> bool:
        """Whether each layer keeps its share of the whole."""
        return any(one.kind == "layer" for one in self.fixed)

    def programme(self, margins: Mapping[str, float], more: Sequence[Condition] = ()) -> Programme:
        """All conditions, with these rules tightened."""
        rules = [Condition(r.name, r.weights, r.bound - margins.get(r.name, 0.0)) for r in self.required]
        return Programme(len(self.names), (*rules, *self.fixed, *more))


def _forbids(rule: Requirement) -> bool:
    """Whether a rule permits none of what it is about."""
    return rule.kind in ("limit", "conditional limit") and rule.stated <= 0


def only(at: int, size: int) -> tuple[float, ...]:
    """The weights of one line by itself."""
    return tuple(1.0 if n == at else 0.0 for n in range(size))


def _need_amounts(formula: Formula) -> None:
    for p, i, line, percent in formula.each_line():
        if percent is None and not line.is_blank:
            msg = (
                f"{line.material or 'A line without a name'} (line {i + 1} of {formula.phases[p].name}) has no amount "
                "that can be used. Type one first."
            )
            raise RangeError(msg)
    if not any(percent for *_, percent in formula.each_line()):
        msg = f"{formula.title} has no amounts yet. Type them first."
        raise RangeError(msg)
