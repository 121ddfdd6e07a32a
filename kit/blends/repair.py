"""The smallest change that keeps every rule of a formula, or the cheapest or lightest that does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.bench.price_list import PriceList
from kit.blends.mended import Binding, Change, Repair
from kit.blends.oil_viscosity import kinematic_of
from kit.blends.programme import Condition, Goal, equation, whole_step
from kit.blends.repair_conditions import FormulaConditions, only
from kit.blends.repair_wishes import RepairWishes
from kit.errors import EntryError, RangeError
from kit.findings import Finding, Place
from kit.formula import editing
from kit.formula.requirements import EDGE
from kit.layers.viscosity import blend_index
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kit.blends.programme import Programme
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.formula.requirements import Requirement
    from kit.library.limit import Limit

#: A change below this is rounding. [% w/w]
UNCHANGED = 1e-9
#: By how much a rule is tightened when a rounding went past it, one try after the other. [% w/w]
TIGHTER = (0.0, 1e-5, 1e-4, 1e-3, 1e-2)

NOT_JUDGED = (
    "Only what is linear in the amounts was solved for: limits, your own rules, and what is asked here. What gets on "
    "with what, the pH, how the layers part and whether microbes are held is for the other findings, trials and tests."
)


def repair(
    formula: Formula,
    materials: Materials,
    limits: Iterable[Limit],
    wishes: RepairWishes | None = None,
    *,
    prices: PriceList | None = None,
    batch: float = 1000.0,
    step: float = 0.01,
) -> Repair:
    """The smallest change of the amounts that keeps every rule, or what else is wished.

    Parameters
    ----------
    batch
        Mass of the batch, for what is on hand. [g]
    step
        What can be weighed: amounts that change become whole steps, finer ones where they are below ten steps. [% w/w]

    Raises
    ------
    RangeError
        A line has no amount, or the step is none.
    EntryError
        A locked line or a bottle that the formula does not hold, or there is nothing to make cheaper or lighter.

    Notes
    -----
    The least Σ wᵢ |Δxᵢ| under Σ x = 100 and the rules, which are linear in the amounts; a linear programme, then a
    mixed-integer one for the steps of the balance; see :class:`kit.blends.programme.Programme`.

    Examples
    --------
    >>> from kit.formula.expansion import Materials
    >>> from kit.formula.model import Formula, Line, Phase, Rule
    >>> from kit.library.library import Library
    >>> oils = (Line("Squalane", "70", "fill"), Line("Isoamyl Laurate", "30"))
    >>> made = Formula("Beard oil", (Phase("Oil", "oil", oils),), rules=(Rule("Isoamyl Laurate", high=25),))
    >>> found = repair(made, Materials(Library.bundled()), ())
    >>> found.sentence, [(change.material, change.after) for change in found.changes]
    ('2 lines change, 10 % in all.', [('Squalane', 75.0), ('Isoamyl Laurate', 25.0)])
    """
    if not 0 < step <= 10:
        msg = f"A step of {step:g} % cannot be weighed for. It must lie above 0 and at most at 10 %."
        raise RangeError(msg)
    return _Repairer(formula, materials, limits, wishes or RepairWishes(), prices or PriceList(), batch, step).found()


class _Repairer(FormulaConditions):
    """What is asked of a formula, solved."""

    def found(self) -> Repair:
        """The answer."""
        broken = tuple(dict.fromkeys(r.name for r in self.required if r.slack(self.start) < -EDGE))
        programme = self.programme({})
        nearest = programme.nearest(self.start, self.weights)
        if nearest is None:
            return self._refused(broken, programme)
        if self.wishes.aim == "smallest":
            percents = self._weighable(nearest.amounts, (), None)
            return self._answer(broken, percents, nearest.prices, "% of change")
        costs, more, unit = self._aim(nearest.amounts)
        programme = self.programme({}, more)
        best = programme.best(costs)
        if best is None:
            return self._refused(broken, programme)
        goal = Goal(tuple(costs), best.value)
        closest = programme.nearest(self.start, self.weights, goal) or best
        percents = self._weighable(closest.amounts, more, goal)
        return self._answer(broken, percents, best.prices, unit)

    def _refused(self, broken: tuple[str, ...], programme: Programme) -> Repair:
        return Repair(
            self.asked_about, None, broken, contradiction=programme.contradiction(), findings=tuple(self.findings)
        )

    def _aim(self, base: Sequence[float]) -> tuple[list[float], list[Condition], str]:
        """What is to be made small, what else must hold for that, and its unit."""
        if self.wishes.aim == "use up":
            return self._use_up()
        if self.wishes.aim == "cheapest":
            costs, kept = self.per_percent(), set(self.unpriced())
            if not any(costs):
                msg = "No line has a price, so nothing can be made cheaper. Write a price list first."
                raise EntryError(msg)
            kept |= {n for n, (_, _, line) in enumerate(self.lines) if self.guards(line.material)}
            why, unit = "has no price or guards the product", f"{self.costs.currency} per 100 g".strip()
        else:
            costs, kept = self._light()
            why, unit = "has no viscosity in the table", "of the layer's blending number"
        self._say_kept(kept, why)
        reach = self.wishes.reach / 100
        size, rest = len(self.names), self.formula.typed.rest_at
        more: list[Condition] = []
        for n, name in enumerate(self.names):
            p, i, line = self.lines[n]
            if n in kept:
                more += equation(f"{name} is left as it is", only(n, size), base[n], "near")
            elif line.hold != "fill" and (p, i) != rest:
                words, far = f"{name} moves by at most {self.wishes.reach:g} % of it", reach * base[n]
                more.append(Condition(words, only(n, size), base[n] + far, "near"))
                more.append(Condition(words, tuple(-w for w in only(n, size)), far - base[n], "near"))
        return costs, more, unit

    def _light(self) -> tuple[list[float], set[int]]:
        """The share of each line in the blending number of the oil layer, and the oils of which none is known."""
        oil = sum(x for x, kind in zip(self.start, self.kinds, strict=True) if kind == "oil")
        if oil <= 0:
            msg = "There is no oil layer to make lighter."
            raise EntryError(msg)
        costs, unknown = [0.0] * len(self.names), set()
        for n, (_, _, line) in enumerate(self.lines):
            if self.kinds[n] == "oil" and line.material.strip():
                kinematic = kinematic_of(line.material, self.materials)
                if kinematic is None:
                    unknown.add(n)
                else:
                    costs[n] = blend_index(kinematic) / oil
        if not any(costs):
            msg = "No oil of this formula has a viscosity in the table, so none can be told to be lighter."
            raise EntryError(msg)
        inside = tuple(float(kind == "oil") for kind in self.kinds)
        self.fixed += equation(f"the oil layer keeps its {oil:.4g} %", inside, oil, "layer") * (not self.keeps_layers)
        return costs, unknown

    def _say_kept(self, kept: Iterable[int], why: str) -> None:
        if names := [self.names[n] for n in sorted(kept) if self.start[n] > 0]:
            sentence = f"Left as it is, since it {why}: {listed(names)}."
            self.findings.append(Finding("note", sentence, Place(field="aim")))

    def _use_up(self) -> tuple[list[float], list[Condition], str]:
        if self.wishes.bottle not in self.names:
            msg = f"{self.wishes.bottle or 'Nothing'} is no line of this formula. Choose the line to use up."
            raise EntryError(msg)
        n, size = self.names.index(self.wishes.bottle), len(self.names)
        words = f"no more than the {self.wishes.grams:g} g of {self.wishes.bottle}"
        most = 100 * self.wishes.grams / self.batch
        costs = [-1.0 if m == n else 0.0 for m in range(size)]
        return costs, [Condition(words, only(n, size), most, "stock")], f"% of {self.wishes.bottle}"

    # ---- what can be weighed ----------------------------------------------------------------------------

    def _weighable(self, amounts: Sequence[float], more: Sequence[Condition], goal: Goal | None) -> tuple[float, ...]:
        """The amounts in whole steps of the balance, still keeping every rule; as they are where none are near."""
        moved = [n for n in range(len(amounts)) if abs(amounts[n] - self.start[n]) > UNCHANGED]
        if not moved:
            return tuple(self.start)
        near = self.start if goal is None else amounts  # a goal's steps lie about what reaches it
        locked = {one.weights.index(1.0) for one in self.fixed if one.kind == "locked" and 1.0 in one.weights}
        for among in (moved, [n for n in range(len(amounts)) if n not in locked]):
            steps = {n: whole_step(amounts[n], self.step) for n in among}
            free = self._takers(among, amounts)
            margins: dict[str, float] = {}
            for tighter in TIGHTER:
                margins = dict.fromkeys(margins, tighter)
                stepped = {n: size for n, size in steps.items() if n not in free}
                found = self.programme(margins, more).on_steps(near, self.weights, stepped, free)
                if found is None:
                    break
                passed = [r.name for r in self.required if r.slack(found) < -EDGE]
                if not passed:
                    self._say_small(found, moved)
                    return found
                margins = dict.fromkeys([*margins, *passed], 0.0)
        sentence = "No whole steps of the balance keep every rule, so the amounts are exact. Weigh them as stocks."
        self.findings.append(Finding("caution", sentence, Place(field="mass")))
        return self._exact(amounts, more, goal)

    def _exact(self, amounts: Sequence[float], more: Sequence[Condition], goal: Goal | None) -> tuple[float, ...]:
        """The amounts without steps, a hair inside every rule that rounding would pass."""
        passed: list[str] = []
        for tighter in TIGHTER:
            found = self.programme(dict.fromkeys(passed, tighter), more).nearest(self.start, self.weights, goal)
            if found is None:
                break
            amounts = tuple(float(f"{x:.12g}") for x in found.amounts)
            again = [r.name for r in self.required if r.slack(amounts) < -EDGE]
            if not again:
                break
            passed += again
        return tuple(amounts)

    def _takers(self, among: Sequence[int], amounts: Sequence[float]) -> list[int]:
        """The line of each layer that takes what whole steps leave; first the one of the whole."""
        rest = self.formula.typed.rest_at
        best: dict[str, int] = {}
        order = sorted(among, key=lambda n: (self.lines[n][:2] != rest, self.lines[n][2].hold != "fill", -amounts[n]))
        for n in order:
            best.setdefault(self.kinds[n] if self.keeps_layers else "all", n)
        return list(best.values())

    def _say_small(self, percents: Sequence[float], moved: Sequence[int]) -> None:
        if small := [self.names[n] for n in moved if 0 < percents[n] < 10 * self.step]:
            sentence = (
                f"{listed(small)} comes below ten steps of the balance in this batch: weigh it as a stock or premix."
            )
            self.findings.append(Finding("note", sentence, Place(field="mass")))

    # ---- the answer -------------------------------------------------------------------------------------

    def _answer(
        self, broken: tuple[str, ...], percents: Sequence[float], prices: Mapping[str, float], unit: str
    ) -> Repair:
        changes = []
        for n, (p, i, line) in enumerate(self.lines):
            if abs(percents[n] - self.start[n]) > UNCHANGED:
                grams = self.batch * (percents[n] - self.start[n]) / 100
                changes.append(Change(p, i, line.material.strip(), self.start[n], percents[n], grams))
        eases = {r.name: self._ease(r, percents) for r in self.required}
        bindings = [Binding(name, price * eases.get(name, 1.0)) for name, price in prices.items()] if changes else []
        guards = [change.material for change in changes if self.guards(change.material)]
        if guards:
            sentence = (
                f"The amount of {listed(guards)} changes: whether the product still withstands microbes, or its pH and "
                "oils still hold, has to be tested anew."
            )
            self.findings.append(Finding("caution", sentence, Place(field="amount"), "common practice"))
        self.findings.append(Finding("note", NOT_JUDGED, Place(field="aim")))
        return Repair(
            self.asked_about,
            self._taken(percents) if changes else self.asked_about,
            broken,
            tuple(changes),
            tuple(sorted(bindings, key=lambda one: -one.price)),
            unit,
            findings=tuple(self.findings),
            percents=tuple(percents),
        )

    def _ease(self, rule: Requirement, percents: Sequence[float]) -> float:
        """How much room one more percent in a rule gives: less where it is counted in a layer."""
        if not rule.layer_lines:
            return 1.0
        return sum(x for x, inside in zip(percents, rule.layer_lines, strict=True) if inside) / 100

    def _taken(self, percents: Sequence[float]) -> Formula:
        flat = iter(percents)
        nested = tuple(tuple(next(flat) for _ in phase.lines) for phase in self.formula.phases)
        formula = self.formula.with_percents(nested)
        for n, (p, i, _) in reversed(list(enumerate(self.lines))):
            if percents[n] <= UNCHANGED < self.start[n]:
                formula = editing.remove_line(formula, p, i)
        return formula
