"""The bundled ingredients and limits, read from their tables on first need and then kept."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, cast

from kit.errors import Fault, FileFaultsError
from kit.library.limits import Limit, LimitKind
from kit.library.rows import read_ingredient, split_list
from kit.library.sources import FROM_MEMORY, source_text
from kit.resources import load_table

if TYPE_CHECKING:
    from kit.library.ingredient import Ingredient


@lru_cache(maxsize=1)
def ingredients() -> tuple[Ingredient, ...]:
    """The ingredients of ``data/ingredients``, in the order of the table."""
    found: list[Ingredient] = []
    faults: list[Fault] = []
    for number, row in enumerate(load_table("ingredients").rows, start=2):
        ingredient, wrong = read_ingredient(row, f"row {number}", default_source=FROM_MEMORY)
        faults += wrong
        if ingredient is not None:
            found.append(ingredient)
    if faults:
        name = "data/ingredients/table.csv"
        raise FileFaultsError(name, faults)
    return tuple(found)


@lru_cache(maxsize=1)
def limits() -> tuple[Limit, ...]:
    """The limits of ``data/limits-eu``, in the order of the table."""
    return tuple(_limit(row) for row in load_table("limits-eu").rows)


def _limit(row: dict[str, str]) -> Limit:
    molar_mass = row["expressed_as_molar_mass_g_mol"]
    return Limit(
        key=row["key"],
        substances=split_list(row["substances"]),
        product_kind=cast("LimitKind", row["product_kind"]),
        max_percent=float(row["max_percent"]),
        expressed_as=row["expressed_as"],
        expressed_as_molar_mass=float(molar_mass) if molar_mass else None,
        scope=row["scope"],
        entry=row["entry"],
        source=_citation(source_text(row["source_key"]), row["entry"], row["as_of"]),
        as_of=row["as_of"],
        conditional=row["conditional"] == "yes",
    )


def _citation(regulation: str, entry: str, as_of: str) -> str:
    annex = regulation.rpartition(", ")[2]
    return f"{regulation}, {entry.removeprefix(f'{annex}, ')}, as of {as_of}"
