"""Change a ready plan before a study starts: drop or add places, days and things to look at, and set limits."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError
from kit.stability.attribute_words import limits_of
from kit.stability.plan import Condition, Plan, TimePoint, every_attribute
from kit.stability.plan_files import every_condition
from kit.units import read_number
from kit.widgets.panel import controls, offer, try_to

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from kit.stability.attribute import Attribute

LIMITS = {
    "lower": "At least",
    "upper": "At most",
    "change": "Change from the start at most",
    "change_percent": "Change from the start at most [%]",
}


class PlanForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Ticks for places and things to look at, a line for the days, and boxes for the limits of one attribute.

    ``plan()`` is the plan as it is set here; ``changed`` is called after every change. The many ticks are made only
    when :meth:`lay` is called, by whoever unfolds the form.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._changed = changed
        self._ready: Plan | None = None
        self._laid = False
        self._conditions: dict[str, Condition] = {}
        self._attributes: dict[str, Attribute] = {}
        self._showing = False
        self.places: dict[str, ipw.Checkbox] = {}
        self.things: dict[str, ipw.Checkbox] = {}
        self.places_box, self.things_box = (ipw.HBox(layout={"flex_flow": "row wrap"}) for _ in range(2))
        wide = {"description_width": "initial"}
        self.days = ipw.Text(description="Days of the pulls", style=wide, layout={"width": "480px"})
        self.own_label = ipw.Text(description="Another place", placeholder="Bathroom shelf", style=wide)
        self.own_coldest = ipw.Text(description="from [°C]", layout={"width": "160px"})
        self.own_warmest = ipw.Text(description="to [°C]", layout={"width": "160px"})
        self.own_add = ipw.Button(description="Add this place", layout={"width": "auto"})
        self.attribute = ipw.Dropdown(description="Limits of")
        self.limits = {
            name: ipw.Text(description=words, style=wide, layout={"width": "auto"}) for name, words in LIMITS.items()
        }
        self.set_limits = ipw.Button(description="Set these limits", layout={"width": "auto"})
        self.told, self.message = ipw.HTML(), ipw.HTML()
        super().__init__(
            [
                ipw.HTML("<b>Places</b>"),
                self.places_box,
                controls(self.own_label, self.own_coldest, self.own_warmest, self.own_add),
                self.days,
                ipw.HTML("<b>Look at</b>"),
                self.things_box,
                controls(self.attribute, *self.limits.values(), self.set_limits),
                self.told,
                self.message,
            ]
        )
        self.days.observe(lambda _: self._tell_change(), names="value")
        self.attribute.observe(lambda _: self._show_limits(), names="value")
        self.own_add.on_click(lambda _: try_to(self.message, self._add_place))
        self.set_limits.on_click(lambda _: try_to(self.message, self._set_limits))

    def show(self, ready: Plan) -> None:
        """Start from this plan."""
        self._ready = ready
        if self._laid:
            self.lay()

    def lay(self) -> None:
        """Make the ticks and boxes for the plan in hand."""
        ready = self._ready
        if ready is None:
            return
        self._laid = True
        own = {one.key: one for one in ready.conditions}
        self._conditions = own | {key: one for key, one in every_condition().items() if key not in own}
        things = {one.key: one for one in ready.attributes}
        self._attributes = things | {key: one for key, one in every_attribute().items() if key not in things}
        self._showing = True
        self.days.value = ", ".join(str(point.days) for point in ready.time_points)
        self.places = {key: self._tick(one.label, key in own) for key, one in self._conditions.items()}
        self.things = {key: self._tick(one.title, key in things) for key, one in self._attributes.items()}
        self.places_box.children = tuple(self.places.values())
        self.things_box.children = tuple(self.things.values())
        limited = [one for one in self._attributes.values() if one.kind in ("number", "grade", "colour")]
        offer(self.attribute, [(one.title, one.key) for one in limited])
        self._showing = False
        self.message.value = ""
        self._show_limits()

    def plan(self) -> Plan:
        """The plan as it is set; the ready one itself where nothing was changed.

        Raises
        ------
        KitError
            Nothing is ticked, or the days cannot be read.
        """
        assert self._ready is not None
        ready = self._ready
        if not self._laid:
            return ready
        made = replace(
            ready,
            conditions=tuple(one for key, one in self._conditions.items() if self.places[key].value),
            time_points=tuple(self._time_points(ready.time_points)),
            attributes=tuple(one for key, one in self._attributes.items() if self.things[key].value),
        )
        if made == ready or ready.title.endswith(" (changed)"):
            return made
        source = f"changed by the maker; before that: {ready.source}"
        return replace(made, key=f"{ready.key}-changed", title=f"{ready.title} (changed)", source=source)

    def _tick(self, words: str, on: bool) -> ipw.Checkbox:
        tick = ipw.Checkbox(value=on, description=words, indent=False, layout={"width": "270px"})
        tick.observe(lambda _: self._tell_change(), names="value")
        return tick

    def _tell_change(self) -> None:
        if not self._showing:
            self._changed()

    def _time_points(self, ready: Iterable[TimePoint]) -> list[TimePoint]:
        known = {one.days: one for one in ready}
        days = []
        for part in self.days.value.replace(";", ",").split(","):
            text = part.strip()
            if not (text.isascii() and text.isdigit() and len(text) < 5):
                msg = f"Days of the pulls: {text!r} is not a number of days. Write them as 0, 7, 14, 28."
                raise EntryError(msg)
            days.append(int(text))
        return [known.get(day) or _time_point(day) for day in sorted(set(days))]

    def _add_place(self) -> str:
        label = self.own_label.value.strip()
        coldest, warmest = (read_number(box.value) for box in (self.own_coldest, self.own_warmest))
        key = "_".join(label.casefold().split())
        if key in self._conditions:
            msg = f"There is a place called {label!r} already. Give this one another name."
            raise EntryError(msg)
        place = Condition(key, label, coldest, warmest, source="the maker's own")
        self._conditions[key] = place
        self.places[key] = self._tick(place.label, True)
        self.places_box.children = tuple(self.places.values())
        for box in (self.own_label, self.own_coldest, self.own_warmest):
            box.value = ""
        self._changed()
        return f"Added {label}."

    def _show_limits(self) -> None:
        if self.attribute.value is None:
            return
        attribute = self._attributes[self.attribute.value]
        for name, box in self.limits.items():
            limit = getattr(attribute, name)
            box.value = "" if limit is None else f"{limit:g}"
            box.disabled = attribute.kind == "colour" and name != "change"
        source = f"Source of these limits: {attribute.source or 'none named'}. {attribute.how}"
        self.told.value = f'<div class="sw-subtitle">{escape(source)}</div>'
        self.message.value = ""

    def _set_limits(self) -> str:
        attribute = self._attributes[self.attribute.value]
        limits = {name: read_number(box.value) if box.value.strip() else None for name, box in self.limits.items()}
        made = replace(attribute, **limits, source="the maker's own limits")  # type: ignore[arg-type]
        self._attributes[attribute.key] = made
        self.things[attribute.key].value = True
        self._show_limits()
        self._changed()
        return f"{made.label}: {limits_of(made) or 'no limit'}."


def _time_point(days: int) -> TimePoint:
    """A pull on that day, with a tenth of it as grace and a week at most (common practice)."""
    weeks, rest = divmod(days, 7)
    count, word = (weeks, "week") if weeks and not rest else (days, "day")
    return TimePoint(f"{count} {word}{'s' if count != 1 else ''}", days, min(7, days // 10))
