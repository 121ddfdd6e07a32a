"""Which column of a table of old notes is what, as its heading suggests, and in which unit its numbers are."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import KitError
from kit.numbers import readings
from kit.stability.old_notes.headings import OTHER_NAMES, WORDS, heading_key, split_head, written_unit
from kit.units import known_unit, magnitude

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from kit.stability.old_notes.meanings import Word
    from kit.stability.old_notes.table import ForeignTable
    from kit.stability.plan import Attribute, Plan
    from kit.stability.study import Study

#: Where a field comes from: a column counted from 0, a text that is the same for every row, or nowhere.
Origin = int | str | None


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """Which column is what.

    ``attributes`` names the columns that hold one attribute each (a "wide" table); ``attribute`` and ``value`` are the
    columns of a "long" one, whose unit may stand in a column too. Without ``time_point`` the pull is found by its day.
    ``day_first`` answers what comes first in a day such as 3/4/2026, and ``units`` in which unit the numbers of a
    column are where its heading leaves that open; "" is the plan's own. ``meanings`` tells which grade, or which place
    by its key, a word of the maker's stands for.
    """

    batch: Origin = None
    condition: Origin = None
    time_point: Origin = None
    observed_on: Origin = None
    observer: Origin = None
    note: Origin = None
    replicate: Origin = None
    attributes: tuple[tuple[int, str], ...] = ()
    attribute: Origin = None
    value: Origin = None
    unit: Origin = None
    units: tuple[tuple[int, str], ...] = ()
    day_first: bool | None = None
    meanings: tuple[tuple[Word, str], ...] = ()


def guess_mapping(table: ForeignTable, study: Study) -> ColumnMap:
    """The mapping that the names of the columns suggest; what no name suggests stays open.

    A name as it stands goes before one whose words are in another order or have more around them, and a name of the
    attribute itself before its other names. A field that has only one possible content, such as the batch of a study of
    one batch, is filled with it.
    """
    free = dict(enumerate(table.head))
    wide: list[tuple[int, str]] = []
    guessed: dict[str, Origin] = {}
    for say in (_plain, heading_key):
        for attribute in study.plan.attributes:
            own = (attribute.key, attribute.label, attribute.title)
            if attribute.key not in [key for _, key in wide]:
                number = _found(free, own, say)
                number = _found(free, OTHER_NAMES.get(attribute.key, ()), say) if number is None else number
                if number is not None:
                    wide.append((number, attribute.key))
                    del free[number]
        for name, words in WORDS.items():
            number = None if name in guessed else _found(free, words, say)
            if number is not None:
                guessed[name] = number
                del free[number]
    if "value" not in guessed or "attribute" not in guessed:
        for name in ("value", "attribute", "unit"):
            guessed.pop(name, None)
    _counted_days(table, guessed)
    for name, only in (("batch", study.batches), ("condition", [one.key for one in study.plan.conditions])):
        if name not in guessed and len(only) == 1:
            guessed[name] = only[0]
    return ColumnMap(**guessed, attributes=tuple(sorted(wide)) if "value" not in guessed else ())  # type: ignore[arg-type]


def _found(free: Mapping[int, str], names: Iterable[str], say: Callable[[str], str | frozenset[str]]) -> int | None:
    """The first column that says the same as one of these names, the names in their order."""
    heads = {number: say(head) for number, head in free.items()}
    for name in names:
        said = say(name)
        if said if isinstance(said, str) else any(len(word) > 1 for word in said):
            number = next((number for number, head in heads.items() if head == said), None)
            if number is not None:
                return number
    return None


def attribute_of(plan: Plan, name: str) -> Attribute:
    """The attribute of that name, or of one that people use for it.

    Raises
    ------
    EntryError
        The plan has none.
    """
    meant = heading_key(name)
    for attribute in plan.attributes if meant else ():
        own = (attribute.key, attribute.label, attribute.title)
        if meant in {heading_key(one) for one in (*own, *OTHER_NAMES.get(attribute.key, ()))}:
            return attribute
    return plan.attribute(name)


def _counted_days(table: ForeignTable, guessed: dict[str, Origin]) -> None:
    """A column "Day" of nothing but small numbers counts the days since the start: it is the pull."""
    column = guessed.get("observed_on")
    if isinstance(column, int) and "time_point" not in guessed:
        filled = [text for text in table.column(column) if text]
        if filled and all(text.isdigit() and len(text) < 4 for text in filled):
            guessed["time_point"] = guessed.pop("observed_on")


def _plain(name: str) -> str:
    return " ".join(re.sub(r"[\[(].*?[\])]|[_\-.:*#]", " ", name).casefold().split())


@dataclass(frozen=True, slots=True)
class ColumnUnit:
    """In which unit the bare numbers of a column are.

    ``unit`` is the one to turn from, "" for the plan's own; ``asked`` the text over the column that could be a unit and
    cannot be turned into the plan's; ``words`` a text in brackets that is taken for words.
    """

    unit: str = ""
    asked: str = ""
    words: str = ""


def unit_of_column(attribute: Attribute, head: str, said: str | None = None) -> ColumnUnit:
    """The unit of a column of readings, from its heading, or as a maker said it.

    Examples
    --------
    >>> from kit.stability.plan import every_attribute
    >>> layer = every_attribute()["lower_layer"]
    >>> unit_of_column(layer, "Height lower cm").unit, unit_of_column(layer, "Lower layer (mL)").asked
    ('cm', 'mL')
    """
    if attribute.kind != "number" or not attribute.unit:
        return ColumnUnit()
    if said is not None:
        return ColumnUnit("" if said == attribute.unit else said)
    name, behind = split_head(head)
    if not behind or head.casefold() == attribute.label.casefold():
        return ColumnUnit()
    unit = written_unit(behind) or behind
    if unit.casefold() in (attribute.unit.casefold(), written_unit(attribute.unit).casefold()):
        return ColumnUnit()
    if converts(attribute, unit):
        return ColumnUnit(unit)
    like_a_unit = written_unit(behind) or known_unit(behind) or re.search(r"[%°/µ]", behind) or len(behind) <= 3
    return ColumnUnit(asked=behind) if name and like_a_unit and " " not in behind else ColumnUnit(words=behind)


def converts(attribute: Attribute, unit: str) -> bool:
    """Whether a unit can be turned into that of the attribute."""
    try:
        magnitude(f"1 {unit}", attribute.unit, name=attribute.label)
    except KitError:
        return False
    return True


def with_unit(unit: str, text: str) -> str:
    """A bare number with the unit of its column: 4.6 under "Lower layer [cm]" is 4.6 cm."""
    if not unit:
        return text
    try:
        readings(text)
    except KitError:
        return text
    return f"{text} {unit}"
