"""The study in hand: a log, a study of it, its readings, and which pull and bottle are to be read next."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from kit.stability.schedule import due, proposed_day
from kit.stability.study import current

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from kit.stability.log.store import StabilityLog
    from kit.stability.plan import Attribute
    from kit.stability.schedule import Due
    from kit.stability.study import Observation, Study

#: In the choice of bottles and of rows: all of them.
EVERY = "every"
#: A batch and the key of a condition.
Bottle = tuple[str, str]
OPEN = ("overdue", "due", "partly done")
_ORDER = {"overdue": 0, "due": 1, "partly done": 2, "to come": 3, "missed": 4, "done": 5}


@dataclass(frozen=True, eq=False)
class StudyInHand:
    """What a panel of stability shows, as the log was when it was last read.

    Attributes
    ----------
    studies, study
        Those of the log, oldest first, and the one in hand.
    readings
        Every reading of it in the order of saving, corrected ones too; see ``now``.
    label, bottle
        The pull to be read, "" where there is none, and its bottle, or ``EVERY`` for all of them.
    look_at
        The key of the only attribute to look at, or ``EVERY``.
    measurement
        2 where the same thing is measured a second time at one pull.
    by
        The hand that reads.
    """

    log: StabilityLog
    today: date
    studies: Sequence[Study] = ()
    study: Study | None = None
    readings: Sequence[Observation] = ()
    label: str = ""
    bottle: Bottle | str | None = None
    look_at: str = EVERY
    measurement: int = 1
    by: str = ""

    def read(self, today: date, study_id: int | None = None) -> StudyInHand:
        """The log as it is now, with the study of this number; else with the one in hand, else with the newest.

        Raises
        ------
        UnknownNameError
            There is no study of that number.
        StoreError
            The log cannot be read.
        """
        studies = self.log.studies()
        if study_id is None and studies:
            held = self.study.id if self.study is not None else None
            study_id = held if held in [one.id for one in studies] else studies[-1].id
        found = None if study_id is None else self.log.study(study_id)
        readings = [] if found is None else self.log.observations(found.id)
        return replace(self, today=today, studies=studies, study=found, readings=readings).settled()

    def settled(self) -> StudyInHand:
        """The same with a pull and a bottle that lack readings: those chosen where they do, else the first."""
        attributes = [one.key for one in self.study.plan.attributes] if self.study else []
        look_at = self.look_at if self.look_at in attributes else EVERY
        label = self.label if self.label in self.pulls else next(iter(self.pulls), "")
        made = replace(self, label=label, look_at=look_at)
        bottle = self.bottle if self.bottle in made.bottles else next(iter(made.bottles), None)
        return replace(made, bottle=bottle)

    # ---- what was read ------------------------------------------------------------------------------------

    @cached_property
    def now(self) -> list[Observation]:
        """The readings that count: the newest of each chain of corrections."""
        return current(self.readings)

    @cached_property
    def due(self) -> list[Due]:
        """Every pull of the study, in order of its day."""
        return due(self.study, self.now, self.today) if self.study is not None else []

    @cached_property
    def _read(self) -> set[tuple[str, str, str, str, int]]:
        return {(row.batch, row.condition, row.attribute, row.time_point, row.replicate) for row in self.now}

    @cached_property
    def _first(self) -> dict[tuple[str, str, str], dict[str, Observation]]:
        """The first measurement of each attribute of each bottle, by pull."""
        found: dict[tuple[str, str, str], dict[str, Observation]] = defaultdict(dict)
        for row in self.now:
            if row.replicate == 1:
                found[row.batch, row.condition, row.attribute][row.time_point] = row
        return found

    def unread(self, bottle: Bottle, label: str) -> list[Attribute]:
        """The attributes of a bottle without this measurement."""
        attributes = self.study.plan.attributes if self.study is not None else ()
        return [one for one in attributes if (*bottle, one.key, label, self.measurement) not in self._read]

    def is_read(self, bottle: Bottle, label: str) -> bool:
        """Whether nothing is left of a bottle at a pull but what is optional."""
        return all(one.optional for one in self.unread(bottle, label))

    def wanted(self, bottle: Bottle) -> list[Attribute]:
        """What is asked for and not yet read of a bottle at the pull in hand."""
        return [one for one in self.unread(bottle, self.label) if self.look_at in (EVERY, one.key)]

    def earlier(self, bottle: Bottle, key: str) -> tuple[Observation | None, Observation | None]:
        """The last reading of the same bottle and attribute before this pull, and the one at the start."""
        assert self.study is not None
        read = self._first.get((*bottle, key), {})
        points = [point.label for point in self.study.plan.time_points]
        earlier = [read[label] for label in points[: points.index(self.label)] if label in read]
        return (earlier[-1] if earlier else None), (read.get(points[0]) if self.label != points[0] else None)

    def readings_of(self, bottle: Bottle, label: str) -> list[Observation]:
        """What the log has of a bottle at a pull."""
        return [rows[label] for (*place, _), rows in self._first.items() if tuple(place) == bottle and label in rows]

    # ---- what can be read ---------------------------------------------------------------------------------

    @cached_property
    def pulls(self) -> dict[str, str]:
        """The pulls that lack readings, the open ones first, each in words."""
        best: dict[str, int] = {}
        for pull in self.due:
            if self.unread((pull.batch, pull.condition), pull.time_point):
                best[pull.time_point] = min(_ORDER[pull.state], best.get(pull.time_point, 9))
        return {label: self._words(label) for label in sorted(best, key=lambda one: best[one])}

    @property
    def likely_day(self) -> date:
        """The day on which the pull in hand was most likely seen."""
        if self.study is None or not self.label:
            return self.today
        return proposed_day(self.study, self.study.plan.time_point(self.label), self.today)

    def _words(self, label: str) -> str:
        here = [pull for pull in self.due if pull.time_point == label]
        waiting = [pull for pull in here if pull.state in OPEN]
        read = sum(pull.state == "done" for pull in here)
        words = here[0].state if len({pull.state for pull in here}) == 1 else f"{read} of {len(here)} bottles read"
        words = f"{len(waiting)} of {len(here)} bottles open" if waiting else words
        return f"{label} · {here[0].due_on} · {words}"

    @cached_property
    def _states(self) -> dict[Bottle, str]:
        """The bottles of the pull in hand that lack readings, and how each stands; the read and missed ones last."""
        here = {(pull.batch, pull.condition): pull.state for pull in self.due if pull.time_point == self.label}
        order = sorted(here, key=lambda one: here[one] in ("done", "missed"))
        return {bottle: here[bottle] for bottle in order if self.unread(bottle, self.label)}

    @cached_property
    def bottles(self) -> dict[Bottle | str, str]:
        """The choices of bottles at the pull in hand, in words."""
        found: dict[Bottle | str, str] = {
            bottle: f"{self.place(bottle)} ({state})" for bottle, state in self._states.items()
        }
        return found | ({EVERY: "every bottle of this pull"} if len(found) > 1 else {})

    def place(self, bottle: Bottle) -> str:
        """A bottle in words."""
        assert self.study is not None
        return f"{bottle[0]} · {self.study.plan.condition(bottle[1]).label}"

    @property
    def one_bottle(self) -> Bottle | None:
        """The bottle in hand, unless all of a pull are."""
        return self.bottle if isinstance(self.bottle, tuple) else None

    @property
    def bottles_in_hand(self) -> list[Bottle]:
        """The one bottle, or every one of the pull."""
        return [self.bottle] if isinstance(self.bottle, tuple) else list(self._states)

    def next_bottle(self) -> StudyInHand:
        """With the next bottle that waits at this pull, or has nothing read; else with the first pull that waits."""
        waiting = [bottle for bottle, state in self._states.items() if state in OPEN]
        waiting += [bottle for bottle in self._states if not self.readings_of(bottle, self.label)]
        if waiting:
            return replace(self, bottle=waiting[0])
        return replace(self, label="", bottle=None).settled()

    # ---- rows ---------------------------------------------------------------------------------------------

    def key(self, bottle: Bottle, attribute: str) -> str:
        """The key of a row, which no other pull, measurement or study has.

        What the browser sends a moment late, after a save has led on to the next pull, then finds no box there.
        """
        assert self.study is not None
        plan = self.study.plan
        places = (
            self.study.batches.index(bottle[0]),
            [one.key for one in plan.conditions].index(bottle[1]),
            [one.key for one in plan.attributes].index(attribute),
            [one.label for one in plan.time_points].index(self.label),
            self.measurement,
            self.study.id,
        )
        return ".".join(str(place) for place in places)

    def row(self, key: str) -> tuple[Bottle, Attribute]:
        """The bottle and the attribute of a row."""
        assert self.study is not None
        batch, condition, attribute, *_ = (int(one) for one in key.split("."))
        plan = self.study.plan
        return (self.study.batches[batch], plan.conditions[condition].key), plan.attributes[attribute]
