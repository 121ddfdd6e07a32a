"""The life of a bottle in use, day by day: what is dosed, what evaporates, and what that leaves (array engine).

Each day a person takes some doses. A dose takes of both layers as they are shaken up; the air that comes in for it
takes up vapour; while the bottle stands open, vapour leaves through the neck; and some leaves through the closed
bottle's wall, as far as the maker has weighed it. Every gram is dosed, gone into the air, or left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.in_use.mass_loss import MONTH
from kit.in_use.vapour import ALCOHOLS, AMBIENT, GAS_CONSTANT, VAN_LAAR, WATER, ZERO_CELSIUS, vapours
from kit.inputs import Number, asked
from kit.soundness import refuse_odd_fields
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy as np
    import numpy.typing as npt

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.in_use.vapour import Vapour
    from kit.layers.bottle import Bottle
    from kit.layers.density import Layer
    from kit.library.ingredient import PhaseKind

    Array = npt.NDArray[np.float64]

#: A fat counts with this where nobody knows a molar mass in an oil layer: triolein, C57H104O6. [g/mol]
OF_A_FAT = 885.4
#: A layer of less is none. [mL]
NOTHING_LEFT = 1e-9
#: The bottle is shown so often. [d]
WEEK = 7


@dataclass(frozen=True, slots=True)
class Habits:
    """How a bottle is used and kept.

    Attributes
    ----------
    upper_share
        How much of the upper layer a dose takes, as a part of its share in the bottle: 1 is a bottle shaken well.
    spread
        Geometric standard deviation from person to person of doses a day, open time and way of shaking.
    storage_loss
        Of the closed bottle; see :func:`kit.in_use.mass_loss.mass_loss`. [g per month]
    """

    dose: float = asked("One dose", Number(0.01, 1000), 1.0, unit="mL")
    doses_a_day: float = asked("Doses a day", Number(0, 100, digits=3), 1.0)
    days: float = asked("Kept for", Number(1, 1830, digits=4), 365.0, unit="d", help="From filling on.")
    celsius: float = asked("Where it stands", Number(0, 60), 21.0, unit="°C")
    open_seconds: float = asked("Open at each dose", Number(0, 86400), 0.0, unit="s", help="0 for a pump or spray.")
    neck_width: float = asked("Neck, inside", Number(1, 200), 18.0, unit="mm")
    upper_share: float = asked(
        "Upper layer in a dose", Number(0, 100, digits=3), 1.0, unit="times its share", help="1: shaken well."
    )
    spread: float = asked("People differ", Number(1, 5, digits=3), 1.4, unit="times", help="1: all the same.")
    storage_loss: float = asked(
        "Closed, it loses", Number(0, 1000), 0.0, unit="g a month", help="Weigh a closed bottle for some weeks."
    )

    def __post_init__(self) -> None:
        refuse_odd_fields(self)


@dataclass(frozen=True, slots=True)
class Liquid:
    """One layer as it was filled.

    Attributes
    ----------
    mass
        [g]
    density
        [g/mL]
    shares
        Substance → its part of the layer. [0 to 1]
    moles_of_rest
        Of all that does not evaporate, in a gram of the layer. [mol/g]
    unknown
        Substances without a known molar mass.
    specific
        Substance that evaporates → the room that a gram of it takes here. [mL/g]
    """

    kind: PhaseKind
    name: str
    mass: float
    density: float
    shares: Mapping[str, float]
    moles_of_rest: float
    unknown: tuple[str, ...]
    specific: Mapping[str, float]

    @property
    def volatile(self) -> tuple[str, ...]:
        """What evaporates, as far as it is known."""
        return tuple(self.specific)


def liquids(formula: Formula, materials: Materials, layers: Sequence[Layer], fill: float) -> list[Liquid]:
    """The layers of a filled bottle, split into their substances.

    Parameters
    ----------
    fill
        [mL]
    """
    room = math.fsum(layer.volume_per_100_g for layer in layers)
    found = []
    for layer in layers:
        shares: dict[str, float] = {}
        for p, _, line, percent in formula.each_line():
            if formula.phases[p].kind == layer.kind and percent:
                for name, part in materials.substances(line.material).items():
                    shares[name] = shares.get(name, 0.0) + percent * part / 100 / layer.percent
        found.append(_liquid(layer, shares, materials, layer.percent * fill / room))
    return found


def _liquid(layer: Layer, shares: Mapping[str, float], materials: Materials, mass: float) -> Liquid:
    known = vapours()
    moles, unknown, room, alone = 0.0, [], 0.0, {}
    for name, share in shares.items():
        vapour, ingredient = known.get(plain_letters(name)), materials.ingredient(name)
        figure = ingredient.density if ingredient is not None else None
        own = 1 / figure.value if figure is not None else 1 / layer.density
        if vapour is not None:
            alone[name] = own
            room += share * own
            continue
        room += share / layer.density
        if ingredient is not None and ingredient.molar_mass is not None:
            moles += share / ingredient.molar_mass.value
        else:
            unknown.append(name)
            moles += share / OF_A_FAT
    mixed = 1 / (layer.density * room) if room else 1.0  # what mixing took, shared out evenly
    specific = {name: own * mixed for name, own in alone.items()}
    return Liquid(layer.kind, layer.name, mass, layer.density, shares, moles, tuple(unknown), specific)


@dataclass(frozen=True)
class LayerLife:
    """One layer over the life: rows are the days shown, columns the people.

    Attributes
    ----------
    mass, volume
        [g, mL]
    held
        Substance that evaporates → its mass. [g]
    """

    liquid: Liquid
    mass: Array
    volume: Array
    held: Mapping[str, Array]

    @property
    def density(self) -> Array:
        """[g/mL]; not a number where nothing is left."""
        import numpy as np

        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(self.volume > NOTHING_LEFT, self.mass / self.volume, np.nan)

    def percent(self, name: str) -> Array:
        """A substance in the layer; not a number where nothing is left. [% w/w of the layer]"""
        import numpy as np

        if name in self.held:
            part = self.held[name]
        else:
            staying = 1 - sum(self.liquid.shares[each] for each in self.liquid.volatile)
            rest = self.mass - sum(self.held.values(), np.zeros_like(self.mass))
            part = rest * (self.liquid.shares.get(name, 0.0) / staying if staying > 0 else 0.0)
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(self.volume > NOTHING_LEFT, 100 * part / self.mass, np.nan)


@dataclass(frozen=True)
class Life:
    """A bottle over its life, for one person and for many: column 0 is the usual person.

    Attributes
    ----------
    days
        The days that are shown, from 0 on. [d]
    layers
        In the order of the formula.
    dosed, evaporated
        So far: rows are the days shown. [g]
    filled
        [g]
    """

    habits: Habits
    bottle: Bottle
    days: tuple[float, ...]
    layers: tuple[LayerLife, ...]
    dosed: Array
    evaporated: Array
    filled: float
    gone: Mapping[str, Array] = field(default_factory=dict)

    @property
    def left(self) -> Array:
        """What is in the bottle. [g]"""
        import numpy as np

        return np.asarray(sum(layer.mass for layer in self.layers))

    @property
    def unaccounted(self) -> float:
        """The most that any column misses of what was filled: 0 but for the digits of a float. [g]"""
        import numpy as np

        return float(np.max(np.abs(self.left + self.dosed + self.evaporated - self.filled)))

    def layer(self, kind: PhaseKind) -> LayerLife | None:
        """The layer of a kind."""
        return next((each for each in self.layers if each.liquid.kind == kind), None)

    def share(self, kind: PhaseKind) -> Array:
        """A layer's part of what is left; not a number where the bottle is empty. [% w/w]"""
        import numpy as np

        found, left = self.layer(kind), self.left
        if found is None:
            return np.full_like(left, np.nan)
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(left > 1e-9, 100 * found.mass / left, np.nan)

    def lasts(self) -> float:
        """The day on which the usual person has used it up, or the end of the time. [d]"""
        for day, mass in zip(self.days, self.left[:, 0], strict=True):
            if mass <= self.filled * 1e-6:
                return day
        return self.days[-1]

    def standing(self, week: int) -> list[tuple[LayerLife, float, float, float]]:
        """How the layers stand for the usual person: layer, volume, bottom, top; from below. [mL, mm, mm]"""
        at = min(week, len(self.days) - 1)
        there = [each for each in self.layers if each.volume[at, 0] > NOTHING_LEFT]
        ordered = sorted(there, key=lambda each: -float(each.density[at, 0]))
        found, below = [], 0.0
        for each in ordered:
            volume = float(each.volume[at, 0])
            top = min(below + volume, self.bottle.brimful)
            found.append((each, volume, self.bottle.level(below), self.bottle.level(top)))
            below = top
        return found


def live(filled: Sequence[Liquid], bottle: Bottle, habits: Habits, people: int = 200, seed: int = 0) -> Life:
    """Follow one usual person and many that differ from her through the life of a bottle.

    Parameters
    ----------
    people
        How many besides the usual one. Their doses, open time and shaking are log-normal about hers.
    seed
        Of the differences.

    Raises
    ------
    RangeError
        No layer, or more in the bottle than it holds.

    Notes
    -----
    The vapour above is that of the layer in which a substance presses hardest: where the bottle was shaken before
    the dose, both layers send theirs into the air; air over layers at rest takes less of the lower one. Raoult's law
    and what it is short of: :func:`kit.in_use.vapour.partial_pressures`. A step is a day.
    """
    import numpy as np

    if not filled:
        msg = "There is no layer to follow: type a formula with amounts first."
        raise RangeError(msg)
    volume = sum(each.mass / each.density for each in filled)
    if volume > bottle.brimful * (1 + 1e-9):
        msg = f"{volume:.4g} mL cannot stand in {bottle.name}, which holds {bottle.brimful:.4g} mL to the brim."
        raise RangeError(msg)
    run = _Run(filled, bottle, habits, people, seed)
    shown, whole = [run.seen()], math.floor(habits.days)
    days = [0.0]
    for day in range(1, whole + 1):
        run.day()
        if day % WEEK == 0 or day == whole:
            shown.append(run.seen())
            days.append(float(day))
    layers = []
    for n, liquid in enumerate(filled):
        parts = np.array([one.parts[n] for one in shown])  # days, substances and rest, people
        held = {name: parts[:, k] for k, name in enumerate(liquid.volatile)}
        layers.append(LayerLife(liquid, parts.sum(axis=1), np.array([one.volumes[n] for one in shown]), held))
    gone = {name: np.array([one.gone[name] for one in shown]) for name in run.names}
    every = np.array([one.dosed for one in shown])
    return Life(
        habits, bottle, tuple(days), tuple(layers), every, sum(gone.values(), np.zeros_like(every)),
        sum(each.mass for each in filled), gone,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Seen:
    parts: list[Array]
    volumes: list[Array]
    dosed: Array
    gone: dict[str, Array]


class _Run:
    """The state of many bottles, and what a day does to them."""

    def __init__(self, filled: Sequence[Liquid], bottle: Bottle, habits: Habits, people: int, seed: int) -> None:
        import numpy as np

        self.filled, self.bottle, self.habits = filled, bottle, habits
        noise = np.random.default_rng(seed).standard_normal((3, people + 1))
        noise[:, 0] = 0.0
        doses, opened, shaking = np.exp(math.log(habits.spread) * noise)
        self.drawn = habits.dose * habits.doses_a_day * doses
        self.opened = habits.open_seconds * habits.doses_a_day * doses * opened
        self.shaking = habits.upper_share * shaking if habits.upper_share != 1 else np.ones(people + 1)
        self.known: dict[str, Vapour] = {
            name: vapours()[plain_letters(name)] for each in filled for name in each.volatile
        }
        self.names = tuple(self.known)
        self.pressures = {name: one.pressure(habits.celsius) for name, one in self.known.items()}
        self.parts = [self._begin(each, people + 1) for each in filled]
        self.room = [np.array([*each.specific.values(), _rest_room(each)])[:, None] for each in filled]  # mL/g
        self.dosed = np.zeros(people + 1)
        self.gone = {name: np.zeros(people + 1) for name in self.names}

    @staticmethod
    def _begin(liquid: Liquid, people: int) -> Array:
        import numpy as np

        shares = [liquid.shares[name] for name in liquid.volatile]
        return np.outer([*shares, 1 - sum(shares)], np.full(people, liquid.mass))

    def volumes(self) -> list[Array]:
        """Of the layers. [mL]"""
        return [(parts * room).sum(axis=0) for parts, room in zip(self.parts, self.room, strict=True)]

    def seen(self) -> _Seen:
        """The state as it is now."""
        gone = {name: one.copy() for name, one in self.gone.items()}
        return _Seen([one.copy() for one in self.parts], self.volumes(), self.dosed.copy(), gone)

    def day(self) -> None:
        """Dose, breathe, stand open, and lose a little through the wall."""
        import numpy as np

        before = sum(self.volumes())
        self._dose()
        pressures, source = self._above()
        kelvin = self.habits.celsius + ZERO_CELSIUS
        breathed = (before - sum(self.volumes())) / (GAS_CONSTANT * kelvin * 1000)  # mol for each kPa
        leaving = {name: pressures[name] * self.known[name].molar_mass * breathed for name in self.names}
        if self.habits.open_seconds > 0:
            for name, loss in self._opened(pressures).items():
                leaving[name] = leaving[name] + loss
        if self.habits.storage_loss > 0 and self.names:
            pull = {name: pressures[name] * self.known[name].molar_mass for name in self.names}
            all_pull = np.maximum(sum(pull.values()), 1e-300)
            for name in self.names:
                leaving[name] = leaving[name] + self.habits.storage_loss / MONTH * pull[name] / all_pull
        for name, loss in leaving.items():
            self._take(name, loss, source[name])

    def _dose(self) -> None:
        import numpy as np

        volumes = self.volumes()
        total = np.asarray(sum(volumes))
        drawn = np.minimum(self.drawn, total)
        weights = volumes
        if len(volumes) > 1:
            upper = min(range(len(volumes)), key=lambda n: self.filled[n].density)
            weights = [volume * (self.shaking if n == upper else 1.0) for n, volume in enumerate(volumes)]
        every = np.maximum(sum(weights), 1e-300)
        wanted = [np.minimum(drawn * weight / every, volume) for weight, volume in zip(weights, volumes, strict=True)]
        short = drawn - sum(wanted)  # where one layer ran out within the dose, the others give the rest
        for n, volume in enumerate(volumes):
            more = np.minimum(short, volume - wanted[n])
            wanted[n], short = wanted[n] + more, short - more
        for n, volume in enumerate(volumes):
            with np.errstate(invalid="ignore", divide="ignore"):
                part = np.where(volume > NOTHING_LEFT, np.minimum(wanted[n] / volume, 1.0), 1.0)
            taken = self.parts[n] * part
            self.parts[n] = self.parts[n] - taken
            self.dosed = self.dosed + taken.sum(axis=0)

    def _above(self) -> tuple[dict[str, Array], dict[str, Array]]:
        """The partial pressure of each substance, and the layer in which it presses hardest. [kPa]"""
        import numpy as np

        best = {name: np.zeros_like(self.dosed) for name in self.names}
        source = {name: np.zeros(self.dosed.shape, dtype=int) for name in self.names}
        for n, liquid in enumerate(self.filled):
            moles = {name: self.parts[n][k] / self.known[name].molar_mass for k, name in enumerate(liquid.volatile)}
            staying = 1 - sum(liquid.shares[name] for name in liquid.volatile)
            rest = self.parts[n][-1] * (liquid.moles_of_rest / staying if staying > 1e-12 else 0.0)
            every = np.maximum(sum(moles.values(), rest), 1e-300)
            activity = _activities(moles)
            for name, amount in moles.items():
                pressure = amount / every * activity.get(name, 1.0) * self.pressures[name]
                stronger = pressure > best[name]
                best[name] = np.where(stronger, pressure, best[name])
                source[name] = np.where(stronger, n, source[name])
        return best, source

    def _opened(self, pressures: Mapping[str, Array]) -> dict[str, Array]:
        """Stefan's law through the neck; see :func:`kit.in_use.vapour.open_loss_rate`. [g]"""
        import numpy as np

        way = np.maximum(self.bottle.height - self._levels(), 1.0)
        area = math.pi * self.habits.neck_width**2 / 4
        per_cubic_mm = AMBIENT / (GAS_CONSTANT * (self.habits.celsius + ZERO_CELSIUS)) / 1e6
        found = {}
        for name, pressure in pressures.items():
            vapour = self.known[name]
            push = np.log(AMBIENT / (AMBIENT - np.minimum(pressure, 0.99 * AMBIENT)))
            rate = vapour.diffusion_in_air(self.habits.celsius) * per_cubic_mm / way * push * area * vapour.molar_mass
            found[name] = rate * self.opened
        return found

    def _levels(self) -> Array:
        import numpy as np

        half = self.bottle.half_widths()
        heights = sorted({0.0, *(height for height, _ in half), self.bottle.height})
        rooms = [self.bottle.volume(height) for height in heights]
        return np.asarray(np.interp(np.asarray(sum(self.volumes())), rooms, heights))

    def _take(self, name: str, loss: Array, source: Array) -> None:
        """Let a loss go from the layer it comes from, as far as there is any."""
        import numpy as np

        for n, liquid in enumerate(self.filled):
            if name in liquid.volatile:
                k = liquid.volatile.index(name)
                going = np.where(source == n, np.minimum(loss, self.parts[n][k]), 0.0)
                self.parts[n][k] = self.parts[n][k] - going
                self.gone[name] = self.gone[name] + going


def _rest_room(liquid: Liquid) -> float:
    """The room that a gram of what stays takes, so that all of the layer has its density. [mL/g]"""
    staying = 1 - sum(liquid.shares[name] for name in liquid.volatile)
    if staying <= 1e-12:
        return 1 / liquid.density
    taken = sum(liquid.shares[name] * room for name, room in liquid.specific.items())
    return (1 / liquid.density - taken) / staying


def _activities(moles: Mapping[str, Array]) -> dict[str, Array]:
    """Van Laar's, where alcohol and water stand together; see :func:`kit.in_use.vapour.van_laar`."""
    import numpy as np

    spirits = [name for name in ALCOHOLS if name in moles]
    if not spirits or WATER not in moles:
        return {}
    alcohol, water = np.asarray(sum(moles[name] for name in spirits)), moles[WATER]
    both = np.maximum(alcohol + water, 1e-300)
    a, w = alcohol / both, water / both
    first, second = VAN_LAAR
    mean = np.maximum(first * a + second * w, 1e-300)
    of_alcohol, of_water = np.exp(first * (second * w / mean) ** 2), np.exp(second * (first * a / mean) ** 2)
    return {WATER: of_water, **dict.fromkeys(spirits, of_alcohol)}
