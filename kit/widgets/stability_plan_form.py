"""Change a ready plan before a study starts: drop or add places, days and things to look at, and set limits."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from math import inf
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.numbers import read_likely
from kit.rounding import all_digits
from kit.saving import file_stem
from kit.stability.plan import Attribute, Condition, Plan, TimePoint, every_attribute, limits_in_brief
from kit.stability.plan_files import every_condition
from kit.widgets.panel import controls, offer, try_to

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

LIMITS = {
    "lower": "At least",
    "upper": "At most",
    "change": "Change from the start at most",
    "change_percent": "Change from the start at most [%]",
}


KINDS = [("a number", "number"), ("a grade, 0 to 4", "grade"), ("yes or no", "yes/no"), ("words", "text")]


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
        self.own_light = ipw.Dropdown(options=("dark", "daylight", "lamp"), description="Light")
        self.own_add = ipw.Button(description="Add this place", layout={"width": "auto"})
        self.thing_label = ipw.Text(description="Another thing", placeholder="Foam height", style=wide)
        self.thing_kind = ipw.Dropdown(options=KINDS, description="Read as")
        self.thing_unit = ipw.Text(description="Unit", placeholder="mm", layout={"width": "180px"})
        self.thing_add = ipw.Button(description="Add this thing", layout={"width": "auto"})
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
                controls(self.own_label, self.own_coldest, self.own_warmest, self.own_light, self.own_add),
                self.days,
                ipw.HTML("<b>Look at</b>"),
                self.things_box,
                controls(self.thing_label, self.thing_kind, self.thing_unit, self.thing_add),
                controls(self.attribute, *self.limits.values(), self.set_limits),
                self.told,
                self.message,
            ]
        )
        self.days.observe(lambda _: self._tell_change(), names="value")
        self.attribute.observe(lambda _: self._show_limits(), names="value")
        self.thing_add.on_click(lambda _: try_to(self.message, self._add_thing))
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
        self._offer_limited()
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
        if 0 not in days:
            msg = "Days of the pulls: there is no 0. Changes are counted from the readings at the start, on day 0."
            raise EntryError(msg)
        return [known.get(day) or _time_point(day) for day in sorted(set(days))]

    def _add_place(self) -> str:
        label = self.own_label.value.strip()
        if not label:
            msg = "Another place: write its name, and between which temperatures it lies."
            raise EntryError(msg)
        coldest, warmest = (
            _number(self.own_coldest, "from [°C]", -100, 100),
            _number(self.own_warmest, "to [°C]", -100, 100),
        )
        key = file_stem(label)
        if key in self._conditions:
            msg = f"There is a place called {label!r} already. Give this one another name."
            raise EntryError(msg)
        place = Condition(key, label, coldest, warmest, light=self.own_light.value, source="the maker's own")
        self._conditions[key] = place
        self.places[key] = self._tick(place.label, True)
        self.places_box.children = tuple(self.places.values())
        for box in (self.own_label, self.own_coldest, self.own_warmest):
            box.value = ""
        self._changed()
        return f"Added {label}."

    def _add_thing(self) -> str:
        label, kind = self.thing_label.value.strip(), self.thing_kind.value
        if not label:
            msg = "Another thing: write what is to be looked at, such as 'Foam height'."
            raise EntryError(msg)
        key = file_stem(label)
        if key in self._attributes or label.casefold() in (one.label.casefold() for one in self._attributes.values()):
            msg = f"{label!r} is among the things to look at already. Tick it, or give this one another name."
            raise EntryError(msg)
        unit = self.thing_unit.value.strip() if kind == "number" else ""
        scale = every_attribute()["appearance"].scale if kind == "grade" else ()
        made = Attribute(key, label, kind, unit, scale=scale, source="the maker's own")
        self._attributes[key] = made
        self.things[key] = self._tick(made.title, True)
        self.things_box.children = tuple(self.things.values())
        self._offer_limited()
        self.thing_label.value = self.thing_unit.value = ""
        self._changed()
        return f"Added {made.title}.{' Its limits can be set below.' if made.numeric else ''}"

    def _offer_limited(self) -> None:
        """Offer the attributes that can have limits."""
        limited = [one for one in self._attributes.values() if one.kind in ("number", "grade", "colour")]
        offer(self.attribute, [(one.title, one.key) for one in limited])

    def _show_limits(self) -> None:
        if self.attribute.value is None:
            return
        attribute = self._attributes[self.attribute.value]
        for name, box in self.limits.items():
            limit = getattr(attribute, name)
            box.value = "" if limit is None else all_digits(limit)
            box.disabled = attribute.kind == "colour" and name != "change"
        source = f"Source of these limits: {attribute.source or 'none named'}. {attribute.how}"
        self.told.value = f'<div class="sw-subtitle">{escape(source)}</div>'
        self.message.value = ""

    def _set_limits(self) -> str:
        attribute = self._attributes[self.attribute.value]
        limits = {name: _number(box, LIMITS[name]) if box.value.strip() else None for name, box in self.limits.items()}
        made = attribute
        if any(getattr(attribute, name) != limit for name, limit in limits.items()):
            made = replace(attribute, **limits, source="the maker's own limits")  # type: ignore[arg-type]
        self._attributes[attribute.key] = made
        self.things[attribute.key].value = True
        self._show_limits()
        self._changed()
        return f"{made.label}: {limits_in_brief(made) or 'no limit'}."


def _number(box: ipw.Text, words: str, low: float = -inf, high: float = inf) -> float:
    """The number in a box; an error says which box it is."""
    try:
        return read_likely(box.value, low, high)
    except KitError as error:
        msg = f"{words}: {error}"
        raise EntryError(msg) from error


def _time_point(days: int) -> TimePoint:
    """A pull on that day, with a tenth of it as grace and a week at most (common practice)."""
    weeks, rest = divmod(days, 7)
    count, word = (weeks, "week") if weeks and not rest else (days, "day")
    return TimePoint(f"{count} {word}{'s' if count != 1 else ''}", days, min(7, days // 10))
