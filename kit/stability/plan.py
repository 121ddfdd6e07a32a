"""Plan: which conditions, time points and attributes a stability study looks at, and the limits of each attribute.

The ready plans lie in ``data/stability-plans``. ISO/TR 18811:2018 sets no conditions, times or limits for
cosmetics: the maker chooses and justifies them. What the ready plans propose is common practice unless their
``source`` says otherwise.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal, TypeVar, get_args

from kit.errors import EntryError, RangeError
from kit.resources import load_table, resource_folder

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

Named = TypeVar("Named")


def check_name(name: str, problem: str) -> None:
    """Refuse an empty name with the sentence ``problem``."""
    if not name.strip():
        raise RangeError(problem)


def check_distinct(names: Iterable[str], what: str, where: str) -> None:
    """Refuse a name that occurs twice, however it is written."""
    seen = set()
    for name in names:
        if name.casefold() in seen:
            msg = f"{where}: the {what} {name!r} is named twice. Give each {what} a name of its own."
            raise RangeError(msg)
        seen.add(name.casefold())


def pick(
    name: str, choices: Sequence[Named], names_of: Callable[[Named], tuple[str, ...]], what: str, where: str
) -> Named:
    """The one among ``choices`` that goes by ``name``, in capitals or not.

    Raises
    ------
    EntryError
        None does; the sentence lists the names there are.
    """
    for choice in choices:
        if name in names_of(choice):
            return choice
    wanted = name.strip().casefold()
    for choice in choices:
        if wanted in (known.casefold() for known in names_of(choice)):
            return choice
    known = ", ".join(names_of(choice)[0] for choice in choices)
    msg = f"{name.strip()!r} is not {what} of {where!r}. Choose one of: {known}."
    raise EntryError(msg)


Kind = Literal["number", "grade", "yes/no", "text", "colour"]
KINDS: tuple[Kind, ...] = get_args(Kind)


@dataclass(frozen=True, slots=True)
class Attribute:
    """One thing to look at or measure at each pull.

    Attributes
    ----------
    key, label
        The short name in the log, and what the screen shows.
    kind
        "number" (with ``unit``), "grade" (a whole number on ``scale``), "yes/no", "text" or "colour" (typed as
        L* a* b*).
    how
        How to measure it, in one sentence.
    lower, upper
        Acceptance limits. [unit of the attribute]
    change, change_percent
        Allowed change from the start, up or down; of a colour, the allowed CIEDE2000 difference from the start.
        [unit of the attribute; % of the start]
    least, most
        What is possible at all; beyond it the entry is taken for a slip of the pen. [unit of the attribute]
    whole
        True for a count.
    expected
        Of a yes/no attribute: the answer that is within the limit, "yes" or "no".
    optional
        True where a pull counts as done without it.
    scale
        Of a grade: the words for 0, 1, 2 ...
    source
        Where the limits come from.
    """

    key: str
    label: str
    kind: Kind
    unit: str = ""
    how: str = ""
    lower: float | None = None
    upper: float | None = None
    change: float | None = None
    change_percent: float | None = None
    least: float | None = None
    most: float | None = None
    whole: bool = False
    expected: str = ""
    optional: bool = False
    scale: tuple[str, ...] = ()
    source: str = ""

    def __post_init__(self) -> None:
        check_name(self.key, "An attribute needs a key, such as 'ph'.")
        check_name(self.label, f"{self.key}: an attribute needs a label, such as 'pH'.")
        if self.kind not in KINDS:
            msg = f"{self.label}: {self.kind!r} is not a kind of attribute. Choose one of {', '.join(KINDS)}."
            raise RangeError(msg)
        if (self.kind == "grade") != bool(self.scale):
            msg = f"{self.label}: a grade, and only a grade, needs a scale: the words for 0, 1, 2 and so on."
            raise RangeError(msg)
        if self.expected not in ("", "yes", "no"):
            msg = f"{self.label}: the expected answer is {self.expected!r}. Write yes or no, or leave it empty."
            raise RangeError(msg)
        if self.lower is not None and self.upper is not None and not self.lower < self.upper:
            msg = f"{self.label}: its lower limit {self.lower:g} must be below its upper limit {self.upper:g}."
            raise RangeError(msg)
        no_limits = (self.lower, self.upper, self.change_percent, self.least, self.most) == (None,) * 5
        if self.kind == "colour" and not no_limits:
            msg = f"{self.label}: a colour has one limit, its allowed change from the start. Leave the others empty."
            raise RangeError(msg)
        for allowed in (self.change, self.change_percent):
            if allowed is not None and not allowed > 0:
                msg = f"{self.label}: the allowed change from the start must be above 0, got {allowed:g}."
                raise RangeError(msg)

    @property
    def numeric(self) -> bool:
        """True where a reading has a number: numbers and grades."""
        return self.kind in ("number", "grade")

    @property
    def title(self) -> str:
        """The label with its unit: "Lower layer [mm]", "Appearance [grade 0-4]", "Colour [L* a* b*]"."""
        if self.kind == "colour":
            return f"{self.label} [L* a* b*]"
        if self.kind == "grade":
            return f"{self.label} [grade 0-{len(self.scale) - 1}]"
        return f"{self.label} [{self.unit}]" if self.unit else self.label


def what_to_type(attribute: Attribute) -> str:
    """What stands faintly in an empty box."""
    if attribute.kind == "grade":
        return ", ".join(f"{n} {words.split(':')[0]}" for n, words in enumerate(attribute.scale))
    kinds = {"yes/no": "yes or no", "text": "a few words", "colour": "L* a* b*, such as 62,1 4,5 18,0"}
    return kinds.get(attribute.kind, attribute.unit or "a number")


def limit_phrases(attribute: Attribute, *, brief: bool = True) -> list[str]:
    """The limits of an attribute, a few words for each; not brief, from what a change counts is said as well.

    Examples
    --------
    >>> from kit.stability.plan import every_attribute
    >>> limit_phrases(every_attribute()["ph"]), limit_phrases(every_attribute()["ph"], brief=False)
    (['change at most 0.5'], ['change from the start at most 0.5'])
    """
    unit = f" {attribute.unit}" if attribute.unit else ""
    grade = "grade " if brief and attribute.kind == "grade" else ""
    change = "change" if brief else "change from the start"
    words = [
        f"{word} {grade}{limit:g}{unit}"
        for word, limit in (("at least", attribute.lower), ("at most", attribute.upper))
        if limit is not None
    ]
    if attribute.change is not None:
        of = " (CIEDE2000)" if attribute.kind == "colour" else unit
        words.append(f"{change} at most {attribute.change:g}{of}")
    if attribute.change_percent is not None:
        words.append(f"{change} at most {attribute.change_percent:g} %")
    if attribute.expected:
        words.append(f"expected: {attribute.expected}")
    return words


def limits_in_brief(attribute: Attribute) -> str:
    """The limits of an attribute on one line: "at most 20 shakes", "change at most 0.5"; empty where it has none.

    Examples
    --------
    >>> from kit.stability.plan import every_attribute
    >>> limits_in_brief(every_attribute()["ph"]), limits_in_brief(every_attribute()["leak"])
    ('change at most 0.5', 'expected: no')
    """
    return ", ".join(limit_phrases(attribute))


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


def plan_from_dict(data: Mapping[str, Any]) -> Plan:
    """The plan from the dict that :func:`dataclasses.asdict` makes of one.

    Examples
    --------
    >>> from dataclasses import asdict
    >>> plan = plans()["freeze-thaw"]
    >>> plan_from_dict(asdict(plan)) == plan
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
