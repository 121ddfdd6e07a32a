"""A ready plan that is being changed: what it may hold, places and things of the maker's own, limits and days."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from kit.errors import EntryError
from kit.file_names import file_stem
from kit.inputs import REQUIRED, Choice, Number, asked
from kit.stability.plan import Attribute, Condition, Plan, TimePoint, every_attribute
from kit.stability.plan_files import every_condition

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

LIGHTS = Choice({light: light for light in ("dark", "daylight", "lamp")})
KINDS = Choice({"number": "a number", "grade": "a grade, 0 to 4", "yes/no": "yes or no", "text": "words"})


@dataclass(frozen=True)
class OwnPlace:
    """A place of the maker's own, between two temperatures. [°C]"""

    label: str = asked("Another place", default=REQUIRED, example="Bathroom shelf")
    coldest: float = asked("from", Number(-100, 100), REQUIRED, unit="°C")
    warmest: float = asked("to", Number(-100, 100), REQUIRED, unit="°C")
    light: str = asked("Light", LIGHTS, "dark")

    def condition(self) -> Condition:
        """It as a condition of a plan."""
        return Condition(file_stem(self.label), source="the maker's own", **asdict(self))


@dataclass(frozen=True)
class OwnThing:
    """A thing to look at of the maker's own; its unit counts where it is read as a number."""

    label: str = asked("Another thing", default=REQUIRED, example="Foam height")
    kind: str = asked("Read as", KINDS, "number")
    unit: str = asked("Unit", example="mm", applies=lambda values: values["kind"] == "number")

    def attribute(self) -> Attribute:
        """It as an attribute of a plan."""
        unit = self.unit if self.kind == "number" else ""
        scale = every_attribute()["appearance"].scale if self.kind == "grade" else ()
        kind: Any = self.kind
        return Attribute(file_stem(self.label), self.label, kind, unit, scale=scale, source="the maker's own")


@dataclass(frozen=True)
class Limits:
    """The limits of one attribute; see :class:`kit.stability.plan.Attribute`."""

    lower: float | None = asked("At least", Number(), None)
    upper: float | None = asked("At most", Number(), None)
    change: float | None = asked("Change from the start at most", Number(), None)
    change_percent: float | None = asked("Change at most, of the start", Number(), None, unit="%")

    @classmethod
    def of(cls, attribute: Attribute) -> Limits:
        """Those of an attribute."""
        return cls(attribute.lower, attribute.upper, attribute.change, attribute.change_percent)


@dataclass(frozen=True)
class Days:
    """The days of the pulls, between commas or semicolons; a reader of :mod:`kit.inputs`.

    Examples
    --------
    >>> Days().read("0, 7;14"), Days().write((0, 7, 14))
    ((0, 7, 14), '0, 7, 14')
    """

    kind: str = "text"

    def read(self, text: str, unit: str = "") -> tuple[int, ...]:  # noqa: ARG002
        """The days in their order, the start among them."""
        parts = [part.strip() for part in text.replace(";", ",").split(",")]
        for part in parts:
            if not (part.isascii() and part.isdigit() and len(part) < 5):
                msg = f"{part!r} is not a number of days. Write them as 0, 7, 14, 28."
                raise EntryError(msg)
        if 0 not in map(int, parts):
            msg = "there is no 0. Changes are counted from the readings at the start, on day 0."
            raise EntryError(msg)
        return tuple(sorted({int(part) for part in parts}))

    def write(self, value: Collection[int]) -> str:
        """The days between commas."""
        return ", ".join(map(str, value))


@dataclass(frozen=True)
class PlanDraft:
    """A ready plan, and every place and thing that it may hold, by key; those that are its own stand first."""

    ready: Plan
    conditions: Mapping[str, Condition]
    attributes: Mapping[str, Attribute]

    @classmethod
    def of(cls, ready: Plan) -> PlanDraft:
        """The draft of a plan with all that the ready plans offer."""
        conditions = {one.key: one for one in ready.conditions}
        attributes = {one.key: one for one in ready.attributes}
        return cls(
            ready,
            {**conditions, **every_condition(), **conditions},
            {**attributes, **every_attribute(), **attributes},
        )

    def with_place(self, place: OwnPlace) -> PlanDraft:
        """The same with one more place.

        Raises
        ------
        KitError
            There is one of that name, or its temperatures are no range.
        """
        made = place.condition()
        if made.key in self.conditions:
            msg = f"There is a place called {made.label!r} already. Give this one another name."
            raise EntryError(msg)
        return replace(self, conditions={**self.conditions, made.key: made})

    def with_thing(self, thing: OwnThing) -> PlanDraft:
        """The same with one more thing to look at; an EntryError where there is one of that name."""
        made = thing.attribute()
        labels = [one.label.casefold() for one in self.attributes.values()]
        if made.key in self.attributes or made.label.casefold() in labels:
            msg = f"{made.label!r} is among the things to look at already. Tick it, or give this one another name."
            raise EntryError(msg)
        return replace(self, attributes={**self.attributes, made.key: made})

    def with_limits(self, key: str, limits: Limits) -> PlanDraft:
        """The same with other limits of an attribute, which are the maker's own from then on."""
        attribute = self.attributes[key]
        if Limits.of(attribute) == limits:
            return self
        made = replace(attribute, **asdict(limits), source="the maker's own limits")
        return replace(self, attributes={**self.attributes, key: made})

    def plan(self, places: Collection[str], things: Collection[str], days: Collection[int]) -> Plan:
        """The plan of these places, things and days; the ready one itself where nothing was changed.

        Raises
        ------
        RangeError
            Nothing is left of one of them.
        """
        known = {one.days: one for one in self.ready.time_points}
        made = replace(
            self.ready,
            conditions=tuple(one for key, one in self.conditions.items() if key in places),
            time_points=tuple(known.get(day) or _time_point(day) for day in days),
            attributes=tuple(one for key, one in self.attributes.items() if key in things),
        )
        if made == self.ready or self.ready.title.endswith(" (changed)"):
            return made
        source = f"changed by the maker; before that: {self.ready.source}"
        title = f"{self.ready.title} (changed)"
        return replace(made, key=f"{self.ready.key}-changed", title=title, source=source)


#: What can be seen only where a product stands in layers.
OF_LAYERS = frozenset(
    {"colour_lower", "leaching", "lower_layer", "middle_layer", "upper_layer", "minutes_to_separate",
     "shakes_to_remix", "layer_line"}
)  # fmt: skip


SEPARATION = "separation"
_A_LAYER = re.compile(r"(the (lower|upper|water)|each) layer")


def in_one_piece(plan: Plan) -> Plan:
    """The plan for a product in one piece, such as a shampoo or a lotion: without what only layers have.

    In place of that it is looked at for separation, and what is drawn from a layer is drawn from the product.
    """
    kept = [
        replace(one, label=one.label.removesuffix(" of the lower layer"), how=_A_LAYER.sub("the product", one.how))
        for one in plan.attributes
        if one.key not in OF_LAYERS
    ]
    if SEPARATION not in [one.key for one in kept]:
        at = next((n for n, one in enumerate(kept) if one.key == "mass"), len(kept))
        kept.insert(at, every_attribute()[SEPARATION])
    if kept == [*plan.attributes]:
        return plan  # it is one already, such as the maker saved
    return replace(plan, key=f"{plan.key}-one-piece", title=f"{plan.title}, one piece", attributes=tuple(kept))


def _time_point(days: int) -> TimePoint:
    """A pull on that day, with a tenth of it as grace and a week at most (common practice)."""
    weeks, rest = divmod(days, 7)
    count, word = (weeks, "week") if weeks and not rest else (days, "day")
    return TimePoint(f"{count} {word}{'s' if count != 1 else ''}", days, min(7, days // 10))
