"""What each dose of a layered product holds as a pump, spray, disc-top or dropper takes it, to the last one.

The simplest model, and our choice: each dose is a slice of the column of liquid (:mod:`kit.in_use.column`). A pump,
a spray and a pipette take what stands just above the end of their tube; a bottle that is tilted gives its uppermost
liquid first, one that is turned over its lowest. Every gram is dosed or left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.in_use.column import AtRest, Parting, ShakenUp
from kit.in_use.dispensers import Manner
from kit.layers.bottle import stand
from kit.layers.dosing import MOST_DOSES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.column import Column
    from kit.in_use.dispensers import Dispenser
    from kit.layers.bottle import Bottle, Standing
    from kit.layers.density import Layer
    from kit.layers.shaken import Shaken

#: Of doses while the product parts, about so many steps are worked out; more doses are alike within a step.
STEPS = 48
#: A step is at most this part of the doses that are left.
TOWARDS_THE_END = 12
#: A part of the dose that is none.
NO_DOSE = 1e-9
#: A dose is of one layer where that is more of it than this. [part of its mass]
NEARLY = 0.99
#: What the last tenth of the bottle is.
TENTH = 0.1
#: What a bottle is where nothing is said.
NOT_SHAKEN = Manner()


@dataclass(frozen=True, slots=True)
class LastTenth:
    """What the last tenth of a bottle holds.

    Attributes
    ----------
    dose
        The first dose of it; None where more than a tenth never comes out.
    held
        In the bottle before that dose, layer by layer from below. [g]
    low, high
        The layer that is followed, in its doses. [% w/w]
    """

    dose: int | None
    held: tuple[float, ...]
    low: float
    high: float


@dataclass(frozen=True)
class Dispensed:
    """A bottle used up dose by dose.

    Attributes
    ----------
    standing
        Its layers as they stood at first, from below.
    doses
        Of each dose what it held of each layer; the last may be a short one, with air. [g]
    left
        Of each layer, what never comes out. [g]
    """

    dispenser: Dispenser
    manner: Manner
    standing: tuple[Standing, ...]
    doses: tuple[tuple[float, ...], ...]
    left: tuple[float, ...]

    @cached_property
    def filled(self) -> tuple[float, ...]:
        """Of each layer, from below. [g]"""
        return tuple(each.volume * each.layer.density for each in self.standing)

    @cached_property
    def followed(self) -> int:
        """The place of the layer whose share is told: the oil layer, or the uppermost where there is none."""
        kinds = [each.layer.kind for each in self.standing]
        return kinds.index("oil") if "oil" in kinds else len(kinds) - 1

    @property
    def name(self) -> str:
        """The name of the layer that is followed."""
        return self.standing[self.followed].layer.name

    @cached_property
    def label(self) -> float:
        """That layer in the product as filled. [% w/w]"""
        return 100 * self.filled[self.followed] / math.fsum(self.filled)

    @cached_property
    def masses(self) -> tuple[float, ...]:
        """Of each dose. [g]"""
        return tuple(math.fsum(dose) for dose in self.doses)

    @cached_property
    def percents(self) -> tuple[float, ...]:
        """The layer that is followed, in each dose. [% w/w]"""
        at = self.followed
        return tuple(100 * dose[at] / mass for dose, mass in zip(self.doses, self.masses, strict=True))

    @cached_property
    def used(self) -> tuple[float, ...]:
        """How much of the fill has come out after each dose. [% w/w]"""
        filled, out, found = math.fsum(self.filled), 0.0, []
        for mass in self.masses:
            out += mass
            found.append(100 * out / filled)
        return tuple(found)

    @cached_property
    def volumes(self) -> tuple[float, ...]:
        """Of each dose. [mL]"""
        densities = [each.layer.density for each in self.standing]
        return tuple(math.fsum(m / d for m, d in zip(dose, densities, strict=True)) for dose in self.doses)

    @property
    def is_short(self) -> bool:
        """Whether the last dose is less than a whole one: the tube draws air with it."""
        return self.volumes[-1] < self.dispenser.dose * (1 - 1e-6)

    @property
    def unaccounted(self) -> float:
        """What is missing of any layer as filled: 0 but for the digits of a float. [g]"""
        out = zip(*self.doses, strict=True)
        each = zip(self.filled, out, self.left, strict=True)
        return max(abs(math.fsum([filled, -left, *(-mass for mass in taken)])) for filled, taken, left in each)

    def after(self, doses: int) -> tuple[float, ...]:
        """What is in the bottle after so many doses, layer by layer from below. [g]"""
        out = zip(*self.doses[:doses], strict=True) if doses else [()] * len(self.filled)
        return tuple(
            max(0.0, math.fsum([filled, *(-mass for mass in taken)]))
            for filled, taken in zip(self.filled, out, strict=True)
        )

    def doses_by(self, used: float) -> int:
        """How many doses have come out when so much of the fill has, at most all. [% w/w]"""
        return sum(part <= used + 1e-6 for part in self.used)

    def layer_of(self, dose: Sequence[float]) -> str:
        """The layer that nearly all of a dose is of, or "both layers"."""
        at = max(range(len(dose)), key=lambda n: dose[n])
        if dose[at] > NEARLY * math.fsum(dose):
            return self.standing[at].layer.name
        return "both layers" if len(dose) == 2 else "several layers"

    @property
    def first(self) -> str:
        """The layer that the first dose is of, or "both layers"."""
        return self.layer_of(self.doses[0])

    @cached_property
    def last_tenth(self) -> LastTenth:
        """What the last tenth of the bottle holds, by mass."""
        dose = next((n for n, used in enumerate((0.0, *self.used)) if used >= 100 * (1 - TENTH) - 1e-9), None)
        if dose is None or dose >= len(self.doses):
            return LastTenth(None, self.left, math.nan, math.nan)
        return LastTenth(dose + 1, self.after(dose), min(self.percents[dose:]), max(self.percents[dose:]))


def dispense(
    layers: Sequence[Layer],
    bottle: Bottle,
    fill: float,
    dispenser: Dispenser,
    manner: Manner = NOT_SHAKEN,
    shaken: Shaken | None = None,
) -> Dispensed:
    """Use up a bottle dose by dose.

    Parameters
    ----------
    fill
        [mL]
    shaken
        The product shaken, by :func:`kit.layers.shaken.shake`; only where a person waits after shaking.

    Raises
    ------
    RangeError
        Nothing within reach of the tube, more doses than are followed, more in the bottle than it holds, or a wait
        where nothing is known of how the layers part.

    Notes
    -----
    By mass balance alone: left after a dose = left before it − the dose. The slice of a dose is exact for layers at
    rest and for a bottle shaken up. While the product parts, few doses are worked out one by one; many in about a
    hundred steps, each from its middle, in which the doses are alike.
    """
    standing = tuple(stand(layers, bottle, fill))
    column = _column(standing, manner, shaken)
    below = dispenser.out_of_reach(bottle)
    above = fill - below
    if above <= NO_DOSE * fill:
        msg = (
            f"The {dispenser.kind} takes nothing: {below:.4g} mL stand below the end of its tube or cling, and "
            f"{fill:.4g} mL are in the bottle. Let the tube end lower, or fill more."
        )
        raise RangeError(msg)
    count = math.ceil(above / dispenser.dose - 1e-6)
    if count > MOST_DOSES:
        msg = (
            f"{count} doses of the {dispenser.kind} from one bottle are too many to follow; {MOST_DOSES} at most. "
            "Make the dose larger."
        )
        raise RangeError(msg)
    run = _Run(column, dispenser, [each.volume for each in standing], below)
    done = 0
    while done < count:
        step = _step(count, done) if isinstance(column, Parting) else 1
        run.take(step, is_last=done + step == count)
        done += step
    densities = [each.layer.density for each in standing]
    doses = tuple(tuple(v * d for v, d in zip(dose, densities, strict=True)) for dose in run.doses)
    left = tuple(v * d for v, d in zip(run.left, densities, strict=True))
    return Dispensed(dispenser, manner, standing, doses, left)


def _step(count: int, done: int) -> int:
    """As many doses as count as alike next; fewer towards the end, where what is left changes fast."""
    return max(1, min(math.ceil(count / STEPS), (count - done) // TOWARDS_THE_END, count - done))


def _column(standing: Sequence[Standing], manner: Manner, shaken: Shaken | None) -> Column:
    """What holds for the content of the bottle when a dose is taken."""
    if manner.shaking == "never" or len(standing) == 1:
        return AtRest()
    if manner.shaking == "at once" or manner.delay == 0:
        return ShakenUp()
    if shaken is None:
        msg = "To say what a dose holds some time after shaking, it must be known how the layers part: shake it first."
        raise RangeError(msg)
    return Parting(shaken, [each.layer.kind for each in standing].index(shaken.drops.kind), manner.delay)


class _Run:
    """What is left of each layer, and what a dose takes of it. [mL]"""

    def __init__(self, column: Column, dispenser: Dispenser, volumes: list[float], below: float) -> None:
        self.column, self.dispenser, self.below = column, dispenser, below
        self.left = volumes
        self.doses: list[tuple[float, ...]] = []

    def take(self, doses: int, *, is_last: bool) -> None:
        """Take so many doses, alike but for a short last one."""
        size = self.dispenser.dose
        whole = doses - 1 if is_last else doses
        if doses > 1:  # from the middle of the step
            first = self._slice(self.left, size)
            middle = [max(0.0, v - taken * (doses - 1) / 2) for v, taken in zip(self.left, first, strict=True)]
            self._draw(self._slice(middle, size), whole)
        elif whole:
            self._draw(self._slice(self.left, size), whole)
        if is_last:
            rest = min(size, math.fsum(self.left) - self.below)
            if rest > NO_DOSE * size:
                self._draw(self._slice(self.left, rest), 1)

    def _slice(self, volumes: Sequence[float], size: float) -> list[float]:
        total = sum(volumes)
        return self.column.taken(volumes, self.dispenser.starts(total, size, self.below), size)

    def _draw(self, dose: list[float], times: int) -> None:
        """Draw a dose so many times; where a layer runs out, the others make up for it."""
        for _ in range(times):
            left = [v - taken for v, taken in zip(self.left, dose, strict=True)]
            drawn = dose
            if min(left) < 0:
                lacking = -sum(v for v in left if v < 0)
                drawn = [min(taken, v) for taken, v in zip(dose, self.left, strict=True)]
                drawn = _made_up(drawn, self.left, lacking)
                left = [max(0.0, v - taken) for v, taken in zip(self.left, drawn, strict=True)]
            self.left = left
            self.doses.append(tuple(drawn))


def _made_up(drawn: Sequence[float], there: Sequence[float], lacking: float) -> list[float]:
    """The dose with what is lacking taken from the layers of which there is more."""
    room = [v - taken for v, taken in zip(there, drawn, strict=True)]
    total = math.fsum(room)
    part = min(1.0, lacking / total) if total > 0 else 0.0
    return [taken + part * more for taken, more in zip(drawn, room, strict=True)]
