"""Choose what is read: a pull, one of its bottles or all of them, every row or one attribute."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.widgets.panel import controls, offer
from kit.widgets.stability_words import OPEN

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.stability.plan import Attribute
    from kit.stability.schedule import Due
    from kit.stability.study import Observation, Study

#: In the choice of bottles and of rows: all of them.
EVERY = "every"
#: A batch and the key of a condition.
Bottle = tuple[str, str]

_ORDER = {"overdue": 0, "due": 1, "partly done": 2, "to come": 3, "missed": 4, "done": 5}


class PullChoice(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """The pulls that lack readings, the open ones first; ``changed`` is called when another choice is made."""

    def __init__(self, changed: Callable[[], None]) -> None:
        wide = {"width": "420px"}
        self.pull = ipw.Dropdown(description="Pull", layout=wide)
        self.bottle = ipw.Dropdown(description="Bottle", layout=wide)
        self.look_at = ipw.Dropdown(description="Look at", layout=wide)
        self.measurement = ipw.BoundedIntText(
            value=1,
            min=1,
            max=9,
            description="Measurement no.",
            tooltip="2 where the same thing is measured a second time at the same pull",
            style={"description_width": "initial"},
            layout={"width": "190px"},
        )
        super().__init__([controls(self.pull, self.bottle, self.look_at, self.measurement)])
        self._changed = changed
        self._offering = False
        self._study: Study | None = None
        self._pulls: list[Due] = []
        self._values: dict[tuple[str, ...], dict[str, Observation]] = {}
        self._read: set[tuple[str, str, str, str, int]] = set()
        self.pull.observe(lambda _: self._chosen(pull=True), names="value")
        self.bottle.observe(lambda _: self._chosen(), names="value")
        self.look_at.observe(lambda _: self._chosen(), names="value")
        self.measurement.observe(lambda _: self._offer(), names="value")

    def show(self, study: Study, found: list[Due], now: list[Observation]) -> None:
        """Offer what this study lacks."""
        self._study, self._pulls, self._values = study, found, {}
        self._read = {(row.batch, row.condition, row.attribute, row.time_point, row.replicate) for row in now}
        for row in now:
            if row.replicate == 1:
                self._values.setdefault((row.batch, row.condition, row.attribute), {})[row.time_point] = row
        self._offering = True
        try:
            offer(self.look_at, [("every row", EVERY), *((one.title, one.key) for one in study.plan.attributes)])
        finally:
            self._offering = False
        self._offer()

    def _offer(self) -> None:
        """Offer the pulls and bottles that lack this measurement."""
        if self._study is None:
            return
        self._offering = True
        try:
            offer(self.pull, [(self._words(label), label) for label in self._labels_to_read()])
            self._offer_bottles()
        finally:
            self._offering = False
        self._changed()

    @property
    def study(self) -> Study | None:
        """The study in hand; None where there is nothing to read."""
        return self._study if self.pull.value is not None else None

    @property
    def label(self) -> str:
        """The label of the chosen pull."""
        return str(self.pull.value)

    @property
    def one_bottle(self) -> Bottle | None:
        """The bottle in hand, unless all of a pull are."""
        return self.bottle.value if isinstance(self.bottle.value, tuple) else None

    def bottles(self) -> list[Bottle]:
        """The bottles in hand."""
        if self.bottle.value == EVERY:
            return [value for _, value in self.bottle.options if value != EVERY]
        return [] if self.bottle.value is None else [self.bottle.value]

    def wanted(self, bottle: Bottle) -> list[Attribute]:
        """What is asked for and not yet read of a bottle."""
        return [one for one in self.unread(bottle, self.label) if self.look_at.value in (EVERY, one.key)]

    def unread(self, bottle: Bottle, label: str) -> list[Attribute]:
        """The attributes without this measurement."""
        assert self._study is not None
        number = self.measurement.value
        return [one for one in self._study.plan.attributes if (*bottle, one.key, label, number) not in self._read]

    def earlier(self, bottle: Bottle, key: str) -> tuple[Observation | None, Observation | None]:
        """The last reading of the same bottle and attribute before this pull, and the one at the start."""
        assert self._study is not None
        read = self._values.get((*bottle, key), {})
        points = [point.label for point in self._study.plan.time_points]
        earlier = [read[label] for label in points[: points.index(self.label)] if label in read]
        return (earlier[-1] if earlier else None), (read.get(points[0]) if self.label != points[0] else None)

    def readings_of(self, bottle: Bottle, label: str) -> list[Observation]:
        """What the log has of a bottle at a pull."""
        return [
            rows[label]
            for (batch, condition, _), rows in self._values.items()
            if (batch, condition) == bottle and label in rows
        ]

    def go_on(self) -> None:
        """To the next bottle that waits at this pull, or has nothing read; else to the first pull that waits."""
        offered = [bottle for _, bottle in self.bottle.options]
        here = [((pull.batch, pull.condition), pull.state) for pull in self._pulls if pull.time_point == self.label]
        here = [(bottle, state) for bottle, state in here if bottle in offered]
        waiting = [bottle for bottle, state in here if state in OPEN]
        waiting += [bottle for bottle, _ in here if not self.readings_of(bottle, self.label)]
        if waiting:
            self.bottle.value = waiting[0]
        elif self.pull.options:
            self.pull.value = self.pull.options[0][1]
            self.bottle.value = self.bottle.options[0][1]

    def _chosen(self, *, pull: bool = False) -> None:
        if self._offering:
            return
        if pull:
            self._offering = True
            try:
                self._offer_bottles()
            finally:
                self._offering = False
        self._changed()

    def _labels_to_read(self) -> list[str]:
        best: dict[str, int] = {}
        for pull in self._pulls:
            if self.unread((pull.batch, pull.condition), pull.time_point):
                best[pull.time_point] = min(_ORDER[pull.state], best.get(pull.time_point, 9))
        return sorted(best, key=lambda label: best[label])

    def _words(self, label: str) -> str:
        here = [pull for pull in self._pulls if pull.time_point == label]
        waiting = [pull for pull in here if pull.state in OPEN]
        read = sum(pull.state == "done" for pull in here)
        words = here[0].state if len({pull.state for pull in here}) == 1 else f"{read} of {len(here)} bottles read"
        words = f"{len(waiting)} of {len(here)} bottles open" if waiting else words
        return f"{label} · {here[0].due_on} · {words}"

    def _offer_bottles(self) -> None:
        if self.study is None:
            offer(self.bottle, [])
            return
        states = {(pull.batch, pull.condition): pull.state for pull in self._pulls if pull.time_point == self.label}
        offered: list[tuple[str, Any]] = [
            (f"{bottle[0]} · {self.study.plan.condition(bottle[1]).label} ({states[bottle]})", bottle)
            for bottle in sorted(states, key=lambda one: states[one] in ("done", "missed"))
            if self.unread(bottle, self.label)
        ]
        offer(self.bottle, [*offered, *([("every bottle of this pull", EVERY)] if len(offered) > 1 else [])])
