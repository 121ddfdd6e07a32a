"""Plan: which conditions, which time points and which attributes a stability study looks at.

The ready plans lie in ``data/stability-plans``. ISO/TR 18811:2018 sets no conditions, times or limits for
cosmetics: the maker chooses and justifies them. What the ready plans propose is common practice unless their
``source`` says otherwise.
"""

from __future__ import annotations

import tomllib
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from kit.errors import RangeError
from kit.resources import load_table, resource_folder
from kit.stability.attribute import KINDS, Attribute, Kind
from kit.stability.names import check_distinct, check_name, pick

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "KINDS",
    "Attribute",
    "Condition",
    "Kind",
    "Plan",
    "TimePoint",
    "every_attribute",
    "plan_as_dict",
    "plan_from_dict",
    "plans",
]

FOLDER = "stability-plans"


@dataclass(frozen=True, slots=True)
class Condition:
    """One place in which bottles are kept.

    ``coldest`` and ``warmest`` bound its temperature [°C]; ``temperature`` [°C] is the one to reckon with, or
    None where it swings too far to mean anything; ``light`` is "dark", "daylight", or the lamp in words; ``how``
    says how to set it up, ``source`` where its figures come from.
    """

    key: str
    label: str
    coldest: float
    warmest: float
    temperature: float | None = None
    light: str = "dark"
    how: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        check_name(self.key, "A condition needs a key, such as 'fridge'.")
        check_name(self.label, f"{self.key}: a condition needs a label, such as 'Fridge, 4 to 8 °C'.")
        if not -273.15 < self.coldest <= self.warmest:
            msg = (
                f"{self.label}: its coldest temperature, {self.coldest:g} °C, must not be above its warmest, "
                f"{self.warmest:g} °C."
            )
            raise RangeError(msg)
        if self.temperature is not None and not self.coldest <= self.temperature <= self.warmest:
            msg = f"{self.label}: {self.temperature:g} °C lies outside {self.coldest:g} to {self.warmest:g} °C."
            raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class TimePoint:
    """One pull: its name, how many days after the start it is due, how many days late is still in time."""

    label: str
    days: int
    grace: int = 0

    def __post_init__(self) -> None:
        check_name(self.label, "A time point needs a label, such as '4 weeks'.")
        if self.days < 0 or self.grace < 0:
            msg = f"{self.label}: days and grace count from the start and cannot be below 0."
            raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class Plan:
    """Conditions x time points x attributes, each named once."""

    key: str
    title: str
    conditions: tuple[Condition, ...]
    time_points: tuple[TimePoint, ...]
    attributes: tuple[Attribute, ...]
    about: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        check_name(self.key, "A plan needs a key, such as 'home-twelve-weeks'.")
        check_name(self.title, f"{self.key}: a plan needs a title.")
        for what, names in (
            ("condition", [condition.key for condition in self.conditions]),
            ("time point", [point.label for point in self.time_points]),
            ("attribute", [attribute.key for attribute in self.attributes]),
        ):
            if not names:
                msg = f"{self.title}: a plan needs at least one {what}."
                raise RangeError(msg)
            check_distinct(names, what, self.title)
        days = [point.days for point in self.time_points]
        if days != sorted(set(days)):
            msg = f"{self.title}: its time points must follow one another, each later than the one before."
            raise RangeError(msg)

    def condition(self, name: str) -> Condition:
        """The condition of that key or label."""
        return pick(name, self.conditions, lambda one: (one.key, one.label), "a condition", self.title)

    def time_point(self, name: str) -> TimePoint:
        """The time point of that label."""
        return pick(name, self.time_points, lambda one: (one.label,), "a time point", self.title)

    def attribute(self, name: str) -> Attribute:
        """The attribute of that key or label."""
        return pick(name, self.attributes, lambda one: (one.key, one.label), "an attribute", self.title)


def plan_as_dict(plan: Plan) -> dict[str, Any]:
    """The plan as plain lists, texts and numbers, ready for JSON."""
    return asdict(plan)


def plan_from_dict(data: Mapping[str, Any]) -> Plan:
    """The plan that :func:`plan_as_dict` wrote.

    Examples
    --------
    >>> plan = plans()["freeze-thaw"]
    >>> plan_from_dict(plan_as_dict(plan)) == plan
    True
    """
    return Plan(
        key=data["key"],
        title=data["title"],
        about=data.get("about", ""),
        source=data.get("source", ""),
        conditions=tuple(Condition(**one) for one in data["conditions"]),
        time_points=tuple(TimePoint(**one) for one in data["time_points"]),
        attributes=tuple(_attribute(one) for one in data["attributes"]),
    )


def plans() -> dict[str, Plan]:
    """The ready plans by their key.

    Examples
    --------
    >>> [point.label for point in plans()["home-twelve-weeks"].time_points]
    ['start', '1 day', '1 week', '2 weeks', '4 weeks', '8 weeks', '12 weeks']
    """
    return {plan.key: plan for plan in _ready_plans()}


def every_attribute() -> dict[str, Attribute]:
    """Every ready attribute by its key, whether a ready plan asks for it or not."""
    return {row["key"]: _attribute(_attribute_row(row)) for row in load_table(FOLDER).rows}


@lru_cache(maxsize=1)
def _ready_plans() -> tuple[Plan, ...]:
    attributes = {row["key"]: _attribute_row(row) for row in load_table(FOLDER).rows}
    found = []
    for file in sorted((resource_folder("data") / FOLDER).glob("*.toml")):
        if file.name != "source.toml":
            data = tomllib.loads(file.read_text(encoding="utf-8"))
            data["attributes"] = [attributes[key] for key in data["attributes"]]
            found.append(plan_from_dict(data))
    return tuple(found)


def _attribute(data: Mapping[str, Any]) -> Attribute:
    return Attribute(**{**data, "scale": tuple(data["scale"])})


def _attribute_row(row: Mapping[str, str]) -> dict[str, Any]:
    data: dict[str, Any] = dict(row)
    for key in ("lower", "upper", "change", "change_percent", "least", "most"):
        data[key] = float(row[key]) if row[key] else None
    for key in ("whole", "optional"):
        data[key] = row[key] == "yes"
    data["scale"] = row["scale"].split("|") if row["scale"] else []
    return data
