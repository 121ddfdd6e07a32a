"""What Annex IV says about the colourants of a product."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.label.allergens import exceeds
from kit.label.gathering import is_colourant
from kit.label.names import printed_name
from kit.library.columns import split_list
from kit.library.letters import plain_letters
from kit.library.sources import source_text
from kit.resources import load_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.formula.expansion import Materials
    from kit.formula.model import ProductKind


@dataclass(frozen=True, slots=True)
class Colourant:
    """One entry of ``data/colourants``; ``max_percent`` is None where the annex gives no figure. [% w/w]"""

    name: str
    other_names: tuple[str, ...]
    restriction: str
    rinse_off_only: bool
    max_percent: float | None
    source: str


@lru_cache(maxsize=1)
def colourants() -> dict[str, Colourant]:
    """The colourants that were read, by the plain letters of each of their names."""
    found = {}
    for row in load_table("colourants").rows:
        source = source_text(row["source_key"]).removesuffix(", Annex IV")
        colourant = Colourant(
            name=row["name"],
            other_names=split_list(row["other_names"]),
            restriction=row["restriction"],
            rinse_off_only=row["product_kind"] == "rinse-off",
            max_percent=float(row["max_percent"]) if row["max_percent"] else None,
            source=f"{source}, {row['entry']}",
        )
        for name in (colourant.name, *colourant.other_names):
            found[plain_letters(name)] = colourant
    return found


def colourant_findings(
    substances: Mapping[str, Mapping[str, float]], product_kind: ProductKind, materials: Materials
) -> list[Finding]:
    """What to say about the colourants among these substances."""
    found: list[Finding] = []
    here = Place(field="declaration")
    for inci, lines in substances.items():
        if not is_colourant(inci, materials):
            continue
        percent = sum(lines.values())
        entry = colourants().get(plain_letters(printed_name(inci, "eu").name))
        if entry is None:
            sentence = f"{inci} is not among the colourants of Annex IV that the kit has. Look it up before you use it."
            found.append(Finding("caution", sentence, here, source_text("eu-annex-iv")))
        elif entry.rinse_off_only and product_kind == "leave-on":
            sentence = f"{inci} is for products that are rinsed off; this one stays on the skin."
            found.append(Finding("stop", sentence, here, entry.source))
        elif entry.max_percent is not None and exceeds(percent, entry.max_percent):
            sentence = f"{inci} is at {percent:.4g} %; the most is {entry.max_percent:g} %."
            found.append(Finding("stop", sentence, here, entry.source))
        elif entry.restriction.startswith("not "):
            found.append(Finding("note", f"Annex IV restricts {inci}: {entry.restriction}.", here, entry.source))
    return found
