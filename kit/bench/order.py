"""How a batch is weighed: in separate dishes or into one vessel, in which order, and what the balance then shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.rounding import round_to_step
from kit.units import magnitude

if TYPE_CHECKING:
    from kit.bench.weighing import Batch, Weighing

Arrangement = Literal["separate", "vessel per phase", "one vessel"]
#: The arrangements, and the words for each.
ARRANGEMENTS: dict[Arrangement, str] = {
    "separate": "a dish for each line",
    "vessel per phase": "a vessel for each phase",
    "one vessel": "one vessel for all",
}

WeighingOrder = Literal["as written", "smallest first"]
WEIGHING_ORDERS: tuple[WeighingOrder, ...] = ("as written", "smallest first")

#: A line is small in a heavy vessel below this share of what is on the pan already, from this share of the
#: capacity upwards: common practice, no published limit.
SMALL_SHARE, HEAVY_SHARE = 0.01, 0.5


@dataclass(frozen=True, slots=True)
class Step:
    """One weighing at the balance.

    Attributes
    ----------
    vessel
        Which dish or vessel, counted from 0.
    before, after
        What the balance shows before and after, where the empty vessel was tared once. [g]
    load
        On the pan afterwards, vessel included. [g]
    """

    weighing: Weighing
    vessel: int
    before: float
    after: float
    load: float


def chains(
    batch: Batch, arrangement: Arrangement = "separate", order: WeighingOrder = "as written"
) -> tuple[tuple[int, ...], ...]:
    """The weighings that go into each vessel, one after another, as numbers into ``batch.weighings``.

    Lines of 0 g are not weighed and stand in no vessel. A line that goes to another balance than the first has a dish
    of its own there, from which it is added.

    Raises
    ------
    RangeError
        An arrangement or order that is not known.

    Examples
    --------
    >>> from kit.bench.weighing import weigh
    >>> from kit.formula.model import Formula, Line, Phase
    >>> toner = Formula("Toner", (Phase("Water", "water", (Line("Aqua", "q.s."), Line("Glycerin", "3"))),))
    >>> chains(weigh(toner, "250 g"), "one vessel", "smallest first")
    ((1, 0),)
    """
    if arrangement not in ARRANGEMENTS:
        msg = f"The arrangement {arrangement!r} is not known. Write one of {', '.join(ARRANGEMENTS)}."
        raise RangeError(msg)
    if order not in WEIGHING_ORDERS:
        msg = f"The order {order!r} is not known. Write one of {', '.join(WEIGHING_ORDERS)}."
        raise RangeError(msg)
    weighed = [n for n, weighing in enumerate(batch.weighings) if weighing.grams > 0]
    numbers = [n for n in weighed if batch.weighings[n].balance == batch.balance.alone]
    if arrangement == "separate":
        groups = [[n] for n in weighed]
    elif arrangement == "one vessel":
        groups = [numbers] if numbers else []
    else:
        phases = dict.fromkeys(batch.weighings[n].phase for n in numbers)
        groups = [[n for n in numbers if batch.weighings[n].phase == phase] for phase in phases]
    if arrangement != "separate":
        groups += [[n] for n in weighed if n not in numbers]
    if order == "smallest first":
        groups = [sorted(group, key=lambda n: batch.weighings[n].grams) for group in groups]
        groups.sort(key=lambda group: batch.weighings[group[0]].grams if arrangement == "separate" else 0.0)
    return tuple(tuple(group) for group in groups)


def weighing_steps(
    batch: Batch,
    arrangement: Arrangement = "separate",
    order: WeighingOrder = "as written",
    *,
    vessel: object = "0 g",
) -> tuple[Step, ...]:
    """Every weighing in its turn, with what the balance shows before and after it.

    Parameters
    ----------
    vessel
        What the empty dish or vessel weighs: "150 g" or a pint quantity.

    Raises
    ------
    RangeError
        A vessel of less than 0 g.
    """
    empty = magnitude(vessel, "g", name="vessel")
    if not empty >= 0:
        msg = f"A vessel weighs 0 g or more, got {empty:g} g."
        raise RangeError(msg)
    steps = []
    for number, chain in enumerate(chains(batch, arrangement, order)):
        shown = 0.0
        for n in chain:
            before = shown
            shown = round_to_step(shown + batch.weighings[n].grams, batch.weighings[n].balance.readability)
            steps.append(Step(batch.weighings[n], number, before, shown, empty + shown))
    return tuple(steps)


def arrangement_findings(
    batch: Batch,
    arrangement: Arrangement = "separate",
    order: WeighingOrder = "as written",
    *,
    vessel: object = "0 g",
) -> list[Finding]:
    """What the way of weighing does: the capacity reached, small amounts into a heavy vessel, readings shared."""
    steps = weighing_steps(batch, arrangement, order, vessel=vessel)
    found = _overloads(steps, arrangement)
    small = [step for step in steps if _is_small_in_heavy(step)]
    if small:
        better = (
            "Use a lighter vessel, or a dish for each."
            if order == "smallest first"
            else "Weigh the smallest first, or each in a dish of its own."
        )
        names = ", ".join(dict.fromkeys(step.weighing.material for step in small))
        found.append(
            Finding(
                "caution",
                f"{names}: a small amount into a heavy vessel. Balances scatter more under a heavy load than their "
                f"plate says. {better}",
                Place(small[0].weighing.phase, small[0].weighing.line, "grams"),
                "common practice",
            )
        )
    if any(len(chain) > 1 for chain in chains(batch, arrangement, order)):
        found.append(
            Finding(
                "note",
                "In one vessel each reading ends one line and begins the next: what one gets too much by, its "
                "neighbour gets too little. An overshoot cannot be taken out again.",
                Place(field="mass"),
            )
        )
    return found


def _overloads(steps: tuple[Step, ...], arrangement: Arrangement) -> list[Finding]:
    """The first weighing of each vessel that is more than the balance carries."""
    first = {step.vessel: step for step in reversed(steps) if step.load > step.weighing.balance.capacity}
    way_out = "Weigh it in parts." if arrangement == "separate" else "Use more vessels, or weigh the large lines apart."
    return [
        Finding(
            "caution",
            f"With {step.weighing.material} the load reaches {step.load:g} g, vessel included; the balance carries "
            f"{step.weighing.balance.capacity:g} g. {way_out}",
            Place(step.weighing.phase, step.weighing.line, "grams"),
        )
        for step in sorted(first.values(), key=lambda step: step.vessel)
    ]


def _is_small_in_heavy(step: Step) -> bool:
    already = step.load - step.weighing.grams
    return already >= HEAVY_SHARE * step.weighing.balance.capacity and step.weighing.grams < SMALL_SHARE * already
