"""The bundled ingredients, limits and regulated substances, read from their tables on first need and then kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal, cast

from kit.errors import Fault, FileFaultsError, RangeError, UnknownNameError
from kit.iso_dates import is_iso_date, today
from kit.library.columns import number_or_none, split_list
from kit.library.ingredient import Figure, Solubility, SolubleIn
from kit.library.limit import Limit, Limits
from kit.library.naming import cas_numbers
from kit.library.rows import read_ingredient
from kit.library.sources import FROM_MEMORY, source_text
from kit.resources import load_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from kit.library.ingredient import Ingredient


Jurisdiction = Literal["eu", "us"]

#: Whose rules the kit has: short name → what a person reads.
JURISDICTIONS: dict[Jurisdiction, str] = {"eu": "European Union", "us": "United States"}


#: The first day of which the tables of limits can tell what was in force.
FIRST_DAY = "2026-01-01"

#: What to say about a row of a stop list that says nothing itself, and about a colourant where it is not allowed.
PROHIBITED = "{name} is prohibited in cosmetic products; the formula holds {found}. Take it out."
COLOUR_ELSEWHERE = "As a colourant {name} is not allowed in such a product; the formula holds {found}. Take another."


@lru_cache(maxsize=1)
def ingredients() -> tuple[Ingredient, ...]:
    """The ingredients of ``data/ingredients`` in the order of the table, with what other tables know of them."""
    found: list[Ingredient] = []
    faults: list[Fault] = []
    known = other_tables()
    for number, row in enumerate(load_table("ingredients").rows, start=2):
        ingredient, wrong = read_ingredient(
            row, f"row {number}", default_source=FROM_MEMORY, decimal_mark=".", known=known(row["inci"])
        )
        faults += wrong
        if ingredient is not None:
            found.append(ingredient)
    if faults:
        name = "data/ingredients/table.csv"
        raise FileFaultsError(name, faults)
    return tuple(found)


def limits(jurisdiction: str = "eu", on: str = "") -> Limits:
    """The limits of one place in the world that are in force on a day: those of its tables of limits and colourants,
    and its stop list.

    Parameters
    ----------
    jurisdiction
        One of :data:`JURISDICTIONS`. Which rules hold for a product, its maker's own place decides.
    on
        The day on which the product is placed on the market, as ISO text; empty: today.

    Raises
    ------
    UnknownNameError
        The kit has no limits of that place.
    RangeError
        The day is none, or lies before those of which the tables know.

    Examples
    --------
    >>> [limit.key for limit in limits("us") if limit.max_percent == 0][:2]
    ['bithionol', 'vinyl-chloride']
    """
    if jurisdiction not in JURISDICTIONS:
        names = ", ".join(JURISDICTIONS)
        msg = f"There are no limits for {jurisdiction!r}. Choose one of {names}."
        raise UnknownNameError(msg)
    day = on or today()
    if not is_iso_date(day):
        msg = f"{day!r} is not a day. Write year-month-day, such as 2026-05-31."
        raise RangeError(msg)
    if day < FIRST_DAY:
        msg = f"The kit does not know which limits held on {day}; its tables begin with {FIRST_DAY}. Take a later day."
        raise RangeError(msg)
    return _in_force(jurisdiction, day)


@lru_cache(maxsize=16)
def _in_force(jurisdiction: str, day: str) -> Limits:
    every = all_limits(jurisdiction)
    found = Limits(limit for limit in every if limit.is_in_force(day))
    found.place, found.day = JURISDICTIONS[cast("Jurisdiction", jurisdiction)], day
    found.later = Limits(limit for limit in every if limit.pending or limit.from_day > day)
    return found


@lru_cache(maxsize=len(JURISDICTIONS))
def all_limits(jurisdiction: str) -> tuple[Limit, ...]:
    """Every limit of a place: in force, past, to come or only proposed."""
    colours = "colourants" if jurisdiction == "eu" else f"colourants-{jurisdiction}"
    return (
        *(_limit(row) for row in load_table(f"limits-{jurisdiction}").rows),
        *(_stopped(row) for row in load_table(f"stop-list-{jurisdiction}").rows),
        *(limit for row in load_table(colours).rows for limit in _colour(row, jurisdiction)),
    )


@dataclass(frozen=True, slots=True)
class Salt:
    """A salt or ester that a limit counts as its acid: its molar mass and how many acids one molecule gives."""

    inci: str
    molecular_formula: str
    molar_mass: float
    gives: int


@lru_cache(maxsize=1)
def salts() -> dict[str, Salt]:
    """The substances of ``data/substances`` by their plain letters."""
    return {
        plain_letters(row["inci"]): Salt(
            row["inci"], row["molecular_formula"], float(row["molar_mass_g_mol"]), int(row["gives"])
        )
        for row in load_table("substances").rows
    }


def _limit(row: dict[str, str]) -> Limit:
    return Limit(
        key=row["key"],
        substances=split_list(row["substances"]),
        holds_for=row["holds_for"],
        max_percent=float(row["max_percent"]),
        expressed_as=row["expressed_as"],
        expressed_as_molar_mass=number_or_none(row["expressed_as_molar_mass_g_mol"]),
        scope=row["scope"],
        entry=row["entry"],
        source=_citation(source_text(row["source_key"]), row["entry"], row["as_of"]),
        as_of=row["as_of"],
        conditional=row["conditional"] == "yes",
        ph_low=number_or_none(row["ph_low"]),
        ph_high=number_or_none(row["ph_high"]),
        needs=split_list(row["needs"]),
        below=row["below"] == "yes",
        purpose=row["purpose"],
        **_dates(row),
    )


def _stopped(row: dict[str, str]) -> Limit:
    """A row of a stop list: nothing of it beyond traces."""
    return Limit(
        key=row["key"],
        substances=split_list(row["name"]),
        holds_for=row["holds_for"],
        max_percent=float(row["traces_percent"] or 0),
        entry=row["entry"],
        source=_citation(source_text(row["source_key"]), row["entry"], row["as_of"]),
        as_of=row["as_of"],
        kind=cast("Any", row["kind"]),
        severity=cast("Any", row["severity"]),
        said=row["sentence"] or PROHIBITED,
        **_dates(row),
    )


def _colour(row: dict[str, str], jurisdiction: str) -> Iterator[Limit]:
    """A row of a table of colourants: the products where alone it is allowed, and the most of it, if there are any."""
    limit = Limit(
        key=f"{jurisdiction} colour {row['name']}",
        substances=(row["name"],),
        holds_for="",
        max_percent=0.0,
        entry=row["entry"],
        source=_citation(source_text(row["source_key"]), row["entry"], ""),
        kind="colour",
        scope=row.get("restriction", ""),
    )
    if row["holds_for"]:
        yield replace(limit, only_for=row["holds_for"], said=COLOUR_ELSEWHERE)
    if row.get("max_percent"):
        yield replace(limit, key=f"{limit.key}, most", max_percent=float(row["max_percent"]))


def _dates(row: dict[str, str]) -> dict[str, Any]:
    return {"from_day": row["from"], "until_day": row["until"], "pending": row["pending"] == "yes"}


def _citation(regulation: str, entry: str, as_of: str) -> str:
    annex = regulation.rpartition(", ")[2]
    entry = entry.removeprefix(f"{annex}, ")
    return ", ".join(filter(None, [regulation.rstrip("."), entry, as_of and f"as of {as_of}"]))


def other_tables() -> Callable[[str], dict[str, Any]]:
    """What ``data/viscosities``, ``preservatives``, ``acids`` and ``properties`` know, by INCI name."""
    viscosities = {row["inci"]: row for row in load_table("viscosities").rows}
    preservatives = {row["inci"]: row for row in load_table("preservatives").rows}
    properties = {row["inci"]: row for row in load_table("properties").rows}
    acids: dict[str, dict[str, str]] = {}
    for row in load_table("acids").rows:
        acids.setdefault(row["name"], row)
    numbers = cas_numbers()
    nothing: dict[str, str] = {}

    def known(inci: str) -> dict[str, Any]:
        preservative, row = preservatives.get(inci, nothing), properties.get(inci, nothing)
        return {
            "viscosity": _viscosity(viscosities.get(inci, nothing)),
            "cas": numbers.get(plain_letters(inci), ()),
            "solubility": _solubility(row, preservative),
            "log_p": _first("log_p", "log_p_source", preservative, row),
            "pka": _pka(acids.get(inci), preservative, row),
        }

    return known


def _viscosity(row: Mapping[str, str]) -> Figure | None:
    if not row:
        return None
    at = f"at {row['temperature_degc']} °C"
    note = f"{at}; {row['note']}" if row["note"] else at
    return Figure(float(row["viscosity_mpa_s"]), row["viscosity_source"], note)


def _solubility(row: Mapping[str, str], preservative: Mapping[str, str]) -> Solubility:
    figure = None
    if row.get("water_g_l"):
        figure = Figure(float(row["water_g_l"]), row["water_source"], f"at {row['water_celsius']} °C")
    elif preservative.get("solubility_g_l"):
        note = f"at {preservative['solubility_celsius']} °C, undissociated"
        figure = Figure(float(preservative["solubility_g_l"]), preservative["solubility_source"], note)

    def words(column: str, with_figure: Figure | None = None) -> SolubleIn | None:
        text = row.get(column, "")
        return SolubleIn(text, row["words_source"], with_figure) if text else None

    return Solubility(words("water", figure), words("oil"), words("alcohol"))


def _first(column: str, source: str, *rows: Mapping[str, str] | None) -> Figure | None:
    found = next((row for row in rows if row and row[column]), None)
    return None if found is None else Figure(float(found[column]), found[source])


def _pka(*rows: Mapping[str, str] | None) -> tuple[Figure, ...]:
    found = next((row for row in rows if row and row["pka"]), None)
    if found is None:
        return ()
    return tuple(Figure(float(part), found["pka_source"]) for part in split_list(found["pka"]))
