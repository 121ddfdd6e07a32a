"""What other tables know of an ingredient: viscosity, solubility, log P and pKa, each figure in one table only."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kit.library.columns import split_list
from kit.library.ingredient import Figure, Solubility, SolubleIn
from kit.resources import load_table

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping


def other_tables() -> Callable[[str], dict[str, Any]]:
    """What ``data/viscosities``, ``preservatives``, ``acids`` and ``properties`` know, by INCI name."""
    viscosities = {row["inci"]: row for row in load_table("viscosities").rows}
    preservatives = {row["inci"]: row for row in load_table("preservatives").rows}
    properties = {row["inci"]: row for row in load_table("properties").rows}
    acids: dict[str, dict[str, str]] = {}
    for row in load_table("acids").rows:
        acids.setdefault(row["name"], row)
    nothing: dict[str, str] = {}

    def known(inci: str) -> dict[str, Any]:
        preservative, row = preservatives.get(inci, nothing), properties.get(inci, nothing)
        return {
            "viscosity": _viscosity(viscosities.get(inci, nothing)),
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
