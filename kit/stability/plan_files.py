"""A plan of one's own as a TOML file, and all that the ready plans offer to choose from.

The file holds what ``data/stability-plans`` holds: ``key``, ``title``, ``about`` and ``source``, then a table
``[[conditions]]``, ``[[time_points]]`` and ``[[attributes]]`` for each. In place of an attribute's table its key may
stand in a list (``attributes = ["ph", "mass"]``): it is then the ready one.
"""

from __future__ import annotations

import tomllib
from dataclasses import MISSING, asdict, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.errors import Fault, FileFaultsError, KitError, StoreError
from kit.saving import save_unless_same
from kit.stability.plan import Attribute, Condition, Plan, TimePoint, every_attribute, plan_from_dict, plans
from kit.visible_text import brief

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.saving import Seen

__all__ = ["ENDING", "every_condition", "own_plans", "read_plan", "save_plan"]

#: How the file of a plan is called, so that it is found again: "autumn.plan.toml".
ENDING = ".plan.toml"

_TEXTS = ("key", "title", "about", "source")
_PARTS: dict[str, tuple[type[Condition] | type[TimePoint] | type[Attribute], str]] = {
    "conditions": (Condition, "condition"),
    "time_points": (TimePoint, "time point"),
    "attributes": (Attribute, "attribute"),
}
#: The fields of a part by what may stand in them; every other field is a text.
_NUMBERS = {"coldest", "warmest", "temperature", "lower", "upper", "change", "change_percent", "least", "most"}
#: Beyond these a number in a plan means nothing: what a limit may be, and the days of 27 years.
MOST, MOST_DAYS = 1e15, 9_999
_WHOLE, _YES_OR_NO = {"days", "grace"}, {"whole", "optional"}


def read_plan(path: str | Path) -> Plan:
    """The plan in a TOML file.

    Raises
    ------
    FileFaultsError
        With everything that is wrong in the file.
    StoreError
        There is no such file, or it cannot be read.
    """
    path = Path(path)
    try:
        return plan_of(path.read_bytes(), path.name)
    except OSError as error:
        msg = f"{path.name} cannot be read ({error.strerror}). Choose a plan that is there."
        raise StoreError(msg) from error


def plan_of(content: bytes, name: str) -> Plan:
    """The plan that these bytes of a TOML file hold; see :func:`read_plan`."""
    try:
        data = tomllib.loads(content.decode("utf-8-sig").replace("\r\n", "\n"))
    except UnicodeDecodeError as error:
        raise FileFaultsError(name, [Fault("file", "it is not plain text in UTF-8. Save it as UTF-8.")]) from error
    except (ValueError, RecursionError) as error:
        raise FileFaultsError(name, [Fault("file", f"it is not TOML ({error}).")]) from error
    faults: list[Fault] = []
    told = {key: _text(data, key, faults) for key in _TEXTS}
    unknown = [key for key in data if key not in _PARTS and key not in _TEXTS]
    faults += [Fault(key, "a plan has no such entry. Take it out, or look at how it is written.") for key in unknown]
    parts = {key: _parts(data.get(key), key, faults) for key in _PARTS}
    if not faults:
        try:
            return plan_from_dict({**told, **parts})
        except KitError as error:
            faults.append(Fault("plan", str(error)))
    raise FileFaultsError(name, faults)


def save_plan(path: str | Path, plan: Plan, *, seen: Seen | None = None) -> None:
    """Write a plan so that :func:`read_plan` gives the same one; what the file held goes to its earlier saves."""
    import tomlkit

    path = Path(path)
    document = tomlkit.document()
    for name in _TEXTS:
        document[name] = getattr(plan, name)
    for name in _PARTS:
        tables = tomlkit.aot()
        for part in getattr(plan, name):
            table = tomlkit.table()
            table.update(
                {
                    key: _plain(value)
                    for key, value in asdict(part).items()
                    if value is not False and value not in (None, "", ())
                }
            )
            tables.append(table)
        document[name] = tables
    save_unless_same(path, tomlkit.dumps(document).encode(), lambda there: plan_of(there, path.name), seen=seen)


def own_plans(folder: Path, seen: Seen | None = None) -> tuple[dict[str, Plan], list[str]]:
    """The plans of a folder by their key, and a sentence for each file that cannot be read."""
    found: dict[str, Plan] = {}
    troubles = []
    for path in sorted(folder.glob(f"*{ENDING}")):
        try:
            plan = seen.read(path, read_plan) if seen is not None else read_plan(path)
        except KitError as error:
            troubles.append(str(error))
        else:
            found[plan.key] = plan
    return found, troubles


def every_condition() -> dict[str, Condition]:
    """Every condition of the ready plans by its key."""
    return {one.key: one for plan in plans().values() for one in plan.conditions}


def _plain(value: object) -> object:
    return list(value) if isinstance(value, tuple) else value


def _text(data: Mapping[str, Any], name: str, faults: list[Fault]) -> str:
    value = data.get(name, "")
    if isinstance(value, str):
        return value
    faults.append(Fault(name, f"it must be a text in quotation marks, not {brief(value)}."))
    return ""


def _parts(found: object, name: str, faults: list[Fault]) -> list[dict[str, Any]]:
    what = _PARTS[name][1]
    if not isinstance(found, list) or not found:
        faults.append(Fault(name, f"a plan needs at least one {what}: write [[{name}]] and its lines below."))
        return []
    return [_part(one, name, f"{what} {number}", faults) for number, one in enumerate(found, start=1)]


def _part(data: object, name: str, where: str, faults: list[Fault]) -> dict[str, Any]:
    if name == "attributes" and isinstance(data, str):
        if data in every_attribute():
            return asdict(every_attribute()[data])
        faults.append(Fault(where, f"there is no ready {brief(data)}. Choose one of: {', '.join(every_attribute())}."))
        return {}
    if not isinstance(data, dict):
        faults.append(Fault(where, f"it must be a table under [[{name}]], not {brief(data)}."))
        return {}
    kind = _PARTS[name][0]
    known = {one.name: one.default is MISSING for one in fields(kind)}
    wrong = [f"{key!r} is not known here" for key in data if key not in known]
    wrong += [f"{key!r} is missing" for key, needed in known.items() if needed and key not in data]
    wrong += [
        f"{key!r} must be {_wanted(key)}, not {brief(data[key])}"
        for key in known
        if key in data and not _fits(key, data[key])
    ]
    if not wrong:
        values = {"scale": (), **data} if kind is Attribute else dict(data)
        if kind is Attribute:
            values["scale"] = tuple(values["scale"])
        try:
            return asdict(kind(**values))
        except KitError as error:
            wrong = [str(error)]
    faults.extend(Fault(where, sentence if sentence.endswith(".") else f"{sentence}.") for sentence in wrong)
    return {}


def _fits(key: str, value: object) -> bool:
    if key in _YES_OR_NO:
        return isinstance(value, bool)
    if key in _WHOLE:
        return type(value) is int and value <= MOST_DAYS
    if key in _NUMBERS:
        return isinstance(value, int | float) and not isinstance(value, bool) and -MOST < value < MOST
    if key == "scale":
        return isinstance(value, list) and all(isinstance(one, str) for one in value)
    return isinstance(value, str)


def _wanted(key: str) -> str:
    if key in _YES_OR_NO:
        return "true or false"
    if key in _WHOLE:
        return f"a whole number up to {MOST_DAYS}"
    if key in _NUMBERS:
        return "a number"
    return "a list of texts" if key == "scale" else "a text in quotation marks"
