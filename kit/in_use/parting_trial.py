"""A trial of parting: how a bottle was shaken, what was seen while it parted, and how long that took.

Times are seconds since the shaking ended. A trial that was watched and had not parted by then says so: it counts as
longer than it was watched for, never as missing.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from math import inf
from typing import TYPE_CHECKING

from kit.errors import EntryError, RangeError
from kit.in_use.line_between import LINE_WORDS, line_grade
from kit.inputs import REQUIRED, Choice, Day, Number, Rows, Text, asked, count
from kit.iso_dates import today
from kit.layers.drop_fit import CONTRADICTION, Timing
from kit.soundness import refuse_odd_fields

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.layers.separation import Seen

#: What was seen right after the last shake.
MIXES = ("mixed", "streaks", "not mixed")
#: The same in a sentence; a full mix is the first of them.
MIX_WORDS = {
    "": "not looked at",
    "mixed": "mixed: one even liquid",
    "streaks": "streaks, or a seam that stayed",
    "not mixed": "not mixed: the layers are still there",
}
SEEN_WORDS = {"lower": "clear lower layer", "upper": "clear upper layer"}
#: Nothing at a bench is watched for longer. [s]
LONGEST = 30 * 86_400.0
#: No vessel is so high. [mm]
HIGHEST = 10_000.0


@dataclass(frozen=True, slots=True)
class Reading:
    """The clear layer at one moment: seconds after shaking, and its height. [s, mm]"""

    seconds: float
    millimetres: float

    def __post_init__(self) -> None:
        refuse_odd_fields(self)


#: How readings are typed: a line each.
READINGS = Rows(Reading, {"s": (0, inf), "mm": (0, inf)})


@dataclass(frozen=True, slots=True)
class Trial:
    """One bottle, shaken once and watched.

    Attributes
    ----------
    variant, batch, bottle
        What was shaken, which batch of it, in which bottle.
    shakes
        Full up-and-down shakes.
    temperature
        Of the product. [°C]
    stood
        How long it had stood unshaken before; None where nobody noted it. [days]
    mix
        One of :data:`MIXES`, right after the last shake; empty where nobody looked.
    seen
        Of which layer the heights are: "lower" or "upper".
    readings
        Heights of that clear layer, in order of time.
    parted
        When the line between the layers was whole again; None where that was not seen. [s]
    watched
        How long it was watched without parting; None where it parted. [s]
    line
        A word of :func:`kit.in_use.line_between.line_grades`; empty where nobody looked.
    """

    variant: str = asked(
        "Variant", Text("name"), REQUIRED, example="without salt", help="By which trials of the same thing are found."
    )
    batch: str = asked("Batch", example="TL-07")
    bottle: str = asked("Bottle", example="round 100 mL, 85 mL in it")
    shakes: int = asked("Shaken", count(1, 1000), 10, unit="times", help="Full up-and-down shakes, at one pace.")
    temperature: float | None = asked("At", Number(-20, 80), None, unit="°C")
    stood: float | None = asked(
        "Had stood for", Number(0, 3660), None, unit="days", help="Unshaken, before this trial."
    )
    day: str = asked("Day", Day(), "", example="2026-03-14", help="Empty: today.")
    mix: str = asked("After the last shake", Choice(MIX_WORDS), "")
    seen: Seen = asked("Heights are of the", Choice(SEEN_WORDS), "lower")
    readings: tuple[Reading, ...] = asked(
        "Seconds and mm", READINGS, (), example="30 4.5", help="A line each: seconds after shaking, height in mm."
    )
    parted: float | None = asked(
        "Parted after", Number(0, LONGEST), None, unit="s", help="When the line between the layers was whole again."
    )
    watched: float | None = asked(
        "Not parted after", Number(0, LONGEST), None, unit="s", help="Where it had not parted when you stopped."
    )
    line: str = asked("The line then", Choice({"": "not looked at", **{word: word for word in LINE_WORDS}}), "")
    note: str = asked("Note")

    def __post_init__(self) -> None:
        for name in ("variant", "batch", "bottle", "note"):
            plain = " ".join(getattr(self, name).split()).encode("utf-8", "replace").decode()
            object.__setattr__(self, name, plain)
        object.__setattr__(self, "readings", tuple(sorted(self.readings, key=lambda one: one.seconds)))
        object.__setattr__(self, "day", self.day or today())
        if not self.variant:
            msg = "A trial needs the name of its variant, such as 'without salt'."
            raise EntryError(msg)
        if self.mix not in MIX_WORDS:
            msg = f"{self.mix[:40]!r} is not how a mix is graded. Write one of: {', '.join(MIXES)}."
            raise EntryError(msg)
        if self.line:
            object.__setattr__(self, "line", line_grade(self.line).word)
        self._check_times()

    def _check_times(self) -> None:
        """Refuse what cannot have been seen."""
        if not self.shakes >= 1:
            msg = f"{self.shakes:g} shakes are none. Count the full up-and-down shakes, 1 or more."
            raise RangeError(msg)
        for value, what in ((self.parted, "It parted"), (self.watched, "It was watched until")):
            if value is not None and not 0 < value <= LONGEST:
                msg = (
                    f"{what} {value:g} s after shaking: count the seconds from the end of shaking, above 0 and up to "
                    f"{LONGEST:.0f} s, which is 30 days."
                )
                raise RangeError(msg)
        if self.parted is not None and self.watched is not None:
            msg = "It parted, or it had not parted when you stopped: fill in one of the two."
            raise EntryError(msg)
        for one in self.readings:
            if not (0 <= one.seconds <= LONGEST and 0 <= one.millimetres < HIGHEST):
                msg = (
                    f"A reading of {one.millimetres:g} mm at {one.seconds:g} s: seconds lie from 0 to {LONGEST:.0f}, "
                    f"which is 30 days, and millimetres from 0 to below {HIGHEST:.0f}."
                )
                raise RangeError(msg)
        for before, after in pairwise(self.readings):
            if after.millimetres < before.millimetres - CONTRADICTION:
                msg = (
                    f"These readings contradict one another: {before.millimetres:g} mm at {before.seconds:g} s, then "
                    f"only {after.millimetres:g} mm at {after.seconds:g} s. A clear layer does not shrink; mend one."
                )
                raise RangeError(msg)

    @property
    def time(self) -> float | None:
        """When it parted, or how long it was watched without; None where neither was noted. [s]"""
        return self.parted if self.parted is not None else self.watched

    @property
    def has_parted(self) -> bool:
        """Whether it was seen to part."""
        return self.parted is not None

    @property
    def ending(self) -> str:
        """How it ended, in words."""
        if self.parted is not None:
            return f"parted after {self.parted:g} s"
        return f"not parted after {self.watched:g} s" if self.watched is not None else "end not noted"

    @property
    def timings(self) -> tuple[Timing, ...]:
        """The readings as :func:`kit.layers.drop_fit.fit_drop_size` takes them. [min, mm]"""
        return tuple(Timing(one.seconds / 60, one.millimetres) for one in self.readings if one.seconds > 0)


@dataclass(frozen=True, slots=True)
class KeptTrial:
    """A trial as it stands in the book: its number, and whether a later row has taken its place.

    Attributes
    ----------
    corrects
        The number of the trial whose place it takes; 0 for a trial of its own.
    why
        Why it was corrected or withdrawn.
    replaced
        The number of the row that took its place; 0 where it still counts.
    """

    number: int
    trial: Trial | None
    corrects: int = 0
    why: str = ""
    replaced: int = field(default=0, compare=False)

    @property
    def counts(self) -> bool:
        """Whether it is a trial that still stands."""
        return self.trial is not None and not self.replaced


def variants_of(trials: Sequence[Trial]) -> tuple[str, ...]:
    """The names of the variants, in the order in which they were first tried; capitals make no difference."""
    return tuple({key_of(trial.variant): trial.variant for trial in reversed(trials)}[key] for key in _keys(trials))


def of_variant(trials: Sequence[Trial], variant: str) -> tuple[Trial, ...]:
    """The trials of one variant."""
    return tuple(trial for trial in trials if key_of(trial.variant) == key_of(variant))


def key_of(name: str) -> str:
    """By which two spellings of one name are the same."""
    return " ".join(name.split()).casefold()


def _keys(trials: Sequence[Trial]) -> list[str]:
    return list(dict.fromkeys(key_of(trial.variant) for trial in trials))
