"""One name for each substance that rules speak of, however it was written."""

from __future__ import annotations

from functools import lru_cache

from kit.library.columns import split_list
from kit.resources import load_table
from kit.visible_text import plain_letters

#: The tables that give a substance further names: table → its column of the name by which rules know it.
_TABLES = {
    "substance-names": "inci",
    "stop-list-eu": "name",
    "stop-list-us": "name",
    "colourants": "name",
    "colourants-us": "name",
    "ingredients": "inci",
}


@lru_cache(maxsize=1)
def _known() -> dict[str, str]:
    """Plain letters of every further name and CAS number → plain letters of the name by which rules know it."""
    rows = [
        (plain_letters(row[column]), (row.get("plain_name", ""), *_listed(row, "other_names"), *_listed(row, "cas")))
        for table, column in _TABLES.items()
        for row in load_table(table).rows
    ]
    own = {name for name, _ in rows}
    found: dict[str, str] = {}
    for name, others in rows:
        known_as = found.get(name, name)
        for other in filter(None, map(plain_letters, others)):
            if other not in own:  # one substance's other name is no other substance's own name
                found.setdefault(other, known_as)
    return found


def _listed(row: dict[str, str], column: str) -> tuple[str, ...]:
    return split_list(row.get(column, ""))


@lru_cache(maxsize=1)
def _counted() -> dict[str, str]:
    """Plain letters of a substance → that of another whose rules hold for it too."""
    return {
        same_name(row["inci"]): same_name(row["counts_as"])
        for row in load_table("substance-names").rows
        if row["counts_as"]
    }


def same_name(name: str) -> str:
    """The one spelling, in plain letters, of all names and CAS numbers of a substance that the tables know.

    Examples
    --------
    >>> same_name("Water") == same_name("7732-18-5") == same_name("Aqua")
    True
    """
    plain = plain_letters(name)
    return _known().get(plain, plain)


def names_for_rules(*names: str) -> tuple[str, ...]:
    """Every spelling under which a rule may mean a substance with these names and CAS numbers.

    Examples
    --------
    >>> same_name("Alcohol") in names_for_rules("Alcohol Denat.")
    True
    """
    found = dict.fromkeys(same_name(name) for name in names if name.strip())
    counted = _counted()
    waiting = list(found)
    while waiting:
        wider = counted.get(waiting.pop())
        if wider and wider not in found:
            found[wider] = None
            waiting.append(wider)
    return tuple(found)


def cas_numbers() -> dict[str, tuple[str, ...]]:
    """The CAS numbers of substances, by the plain letters of the name in ``data/substance-names``."""
    return {plain_letters(row["inci"]): split_list(row["cas"]) for row in load_table("substance-names").rows}
