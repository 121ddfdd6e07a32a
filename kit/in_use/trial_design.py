"""A plan of trials: variants with more salt or alcohol, or less, all shaken alike, in an order that chance chose."""

from __future__ import annotations

import random
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.inputs import Number, Text, Tick, asked, count
from kit.numbers import read_likely

if TYPE_CHECKING:
    from collections.abc import Sequence

#: More variants or runs than this is no afternoon's work.
MOST_VARIANTS, MOST_RUNS = 12, 120
#: What a plan leaves to the maker's judgement.
BEWARE = (
    "This is a plan to find out, not advice: salt and alcohol also change thickness, feel, keeping, pH and the label, "
    "and alcohol the danger of fire. Make each variant as a small batch, look at its findings first, and have the "
    "keeping of the one that you choose tested anew (ISO 11930)."
)
SOURCE = "complete blocks in random order: R. A. Fisher, The Design of Experiments (1935) (from memory)"


@dataclass(frozen=True, slots=True)
class Design:
    """What is asked of a plan of trials.

    Attributes
    ----------
    salt, alcohol
        Levels in the water layer, between commas or semicolons. [% w/w of it]
    repeats
        How often each variant is tried.
    shakes
        The same for all.
    watch
        How long each trial is watched at most. [s]
    seed
        By which the order can be drawn again.
    blocks
        Whether each variant is tried once before any is tried again.
    """

    salt: str = asked("Salt in the water layer", Text(), "0; 1; 3", unit="%", help="Levels, ; between them.")
    alcohol: str = asked("Alcohol in it", Text(), "0", unit="%", help="Levels, ; between them.")
    repeats: int = asked("Each", count(1, 30), 4, unit="times")
    shakes: int = asked("Shaken", count(1, 1000), 10, unit="times")
    watch: float = asked("Watched for", Number(1, 86_400), 600.0, unit="s")
    seed: int = asked("Draw number", count(0, 999_999), 1, help="The same number draws the same order again.")
    blocks: bool = asked("Once each before any again", Tick(), default=True)


@dataclass(frozen=True, slots=True)
class Variant:
    """One variant of a plan: its name, and salt and alcohol in the water layer. [% w/w of it]"""

    name: str
    salt: float
    alcohol: float


@dataclass(frozen=True, slots=True)
class Run:
    """One trial of a plan: which variant comes at this place, and for which time."""

    place: int
    variant: Variant
    repeat: int


def variants(design: Design) -> tuple[Variant, ...]:
    """Every pair of a level of salt and one of alcohol.

    Raises
    ------
    EntryError
        A level that is no number.
    RangeError
        A level outside 0 to 100 %, fewer than two variants, or more than can be tried.

    Examples
    --------
    >>> [one.name for one in variants(Design(salt="0; 2", alcohol="0"))]
    ['as it is', 'salt 2 %']
    """
    salts, alcohols = _levels(design.salt, "salt"), _levels(design.alcohol, "alcohol")
    found = tuple(Variant(_name(salt, alcohol), salt, alcohol) for salt, alcohol in product(salts, alcohols))
    if not 2 <= len(found) <= MOST_VARIANTS:
        msg = f"{len(found)} variants: a plan compares 2 to {MOST_VARIANTS}. Type levels such as 0; 1; 3."
        raise RangeError(msg)
    if len(found) * design.repeats > MOST_RUNS:
        msg = f"{len(found)} variants {design.repeats} times are more than {MOST_RUNS} trials. Take fewer."
        raise RangeError(msg)
    return found


def trial_plan(design: Design) -> tuple[Run, ...]:
    """The trials in the order in which they are done, drawn by chance; in blocks, once each before any again.

    Raises
    ------
    KitError
        As :func:`variants`.

    References
    ----------
    .. [1] R. A. Fisher, The Design of Experiments (1935), chapter 4 (from memory).
    """
    each, chance = variants(design), random.Random(design.seed)
    rounds = [[(one, repeat) for one in each] for repeat in range(1, design.repeats + 1)]
    if design.blocks:
        for one_round in rounds:
            chance.shuffle(one_round)
        order = [pair for one_round in rounds for pair in one_round]
    else:
        order = [pair for one_round in rounds for pair in one_round]
        chance.shuffle(order)
    return tuple(Run(place, variant, repeat) for place, (variant, repeat) in enumerate(order, start=1))


def _levels(text: str, what: str) -> tuple[float, ...]:
    parts = [part for part in text.replace("%", " ").replace(";", " ").split() if part.strip(",")] or ["0"]
    found = [read_likely(part.strip(","), 0, 100) for part in parts]
    if not all(0 <= level <= 100 for level in found):
        msg = f"A level of {what} lies from 0 to 100 % of the water layer; got {max(found, key=abs):g} %."
        raise RangeError(msg)
    return tuple(dict.fromkeys(found))


def _name(salt: float, alcohol: float) -> str:
    parts = [f"{what} {level:g} %" for what, level in (("salt", salt), ("alcohol", alcohol)) if level]
    return ", ".join(parts) or "as it is"


def evenly_drawn(runs: Sequence[Run]) -> dict[str, float]:
    """The mean place of each variant in the order; far apart, time of day could pass for a difference.

    Examples
    --------
    >>> plan = trial_plan(Design(salt="0; 2", repeats=2))
    >>> sorted(evenly_drawn(plan)) == ["as it is", "salt 2 %"]
    True
    """
    places: dict[str, list[int]] = {}
    for run in runs:
        places.setdefault(run.variant.name, []).append(run.place)
    return {name: sum(each) / len(each) for name, each in places.items()}
