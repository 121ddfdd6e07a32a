"""Colourants: what the annex of Europe and the list of the United States say of those in a product."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.label.allergens import exceeds
from kit.label.entries import printed_name
from kit.label.gathering import is_colourant
from kit.library.columns import number_or_none, split_list
from kit.library.condition import read_condition
from kit.library.naming import same_name
from kit.library.sources import source_text
from kit.resources import load_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kit.formula.expansion import Materials
    from kit.library.description import Description
    from kit.library.table import Jurisdiction

HERE = Place(field="declaration")

#: Colour Index numbers that are not in Annex IV, of minerals that shine rather than colour: plain letters → INCI name.
MINERALS = {"ci 77019": "Mica"}


@dataclass(frozen=True, slots=True)
class Colourant:
    """One row of a table of colourants.

    Attributes
    ----------
    holds_for
        The products in which alone it is allowed, as :func:`kit.library.condition.read_condition` reads it.
    max_percent
        None where there is no figure. [% w/w]
    certified
        Whether each batch of it must be certified, as many of the United States must.
    """

    name: str
    other_names: tuple[str, ...]
    restriction: str
    holds_for: str
    max_percent: float | None
    source: str
    certified: bool = False


@lru_cache(maxsize=2)
def colourants(jurisdiction: Jurisdiction = "eu") -> dict[str, Colourant]:
    """The colourants of a place, by the plain letters of each of their names."""
    found = {}
    for row in load_table("colourants" if jurisdiction == "eu" else "colourants-us").rows:
        source = source_text(row["source_key"]).removesuffix(", Annex IV").rstrip(".")
        colourant = Colourant(
            name=row["name"],
            other_names=split_list(row["other_names"]),
            restriction=row.get("restriction", ""),
            holds_for=row["holds_for"],
            max_percent=number_or_none(row.get("max_percent", "")),
            source=f"{source}, {row['entry']}",
            certified=row.get("batch_certified") == "yes",
        )
        for name in (colourant.name, *colourant.other_names):
            found[plain_letters(name)] = colourant
    return found


def colourant_findings(
    substances: Mapping[str, Mapping[str, float]],
    description: Description,
    materials: Materials,
    jurisdiction: Jurisdiction = "eu",
) -> list[Finding]:
    """What to say about the colourants among these substances."""
    found: list[Finding] = []
    for inci, lines in substances.items():
        if is_colourant(inci, materials):
            entry = colourants(jurisdiction).get(plain_letters(printed_name(inci, "eu").name))
            if jurisdiction == "us":
                found += _in_the_united_states(inci, entry)
            else:
                found += _in_annex_iv(inci, entry, sum(lines.values()), description)
    return found


def _in_annex_iv(inci: str, entry: Colourant | None, percent: float, description: Description) -> Iterator[Finding]:
    matter = f"limit: {same_name(inci)}"
    if entry is None:
        yield _outside_annex_iv(inci, description, matter)
        return
    if read_condition(entry.holds_for).holds(description) is False:
        sentence = f"{inci} is for other products: {entry.restriction or entry.holds_for}."
        yield Finding("stop", sentence, HERE, entry.source, matter)
    elif entry.max_percent is not None and exceeds(percent, entry.max_percent):
        sentence = f"{inci} is at {percent:.4g} %; the most is {entry.max_percent:g} %."
        yield Finding("stop", sentence, HERE, entry.source, matter)


def _outside_annex_iv(inci: str, description: Description, matter: str) -> Finding:
    source = source_text("eu-annex-iv")
    if plain_letters(inci) in MINERALS:
        name = MINERALS[plain_letters(inci)]
        sentence = f"{inci} is not in Annex IV. Where it does not colour, it is listed under its own name, {name}."
        return Finding("caution", sentence, HERE, source, matter)
    if read_condition("hair dye").holds(description):
        sentence = (
            f"{inci} is not in Annex IV. What dyes hair may be in Annex III instead: look it up before you use it."
        )
        return Finding("caution", sentence, HERE, source, matter)
    sentence = (
        f"{inci} is not among the colourants of Annex IV, and a colour may come from that list alone. Take another."
    )
    return Finding("stop", sentence, HERE, source, matter)


def _in_the_united_states(inci: str, entry: Colourant | None) -> Iterator[Finding]:
    """Only what the check of the formula does not say: where it may be used, that tells."""
    if entry is not None and entry.certified:
        names = " or ".join(name for name in entry.other_names if "&C" in name) or entry.name
        sentence = (
            f"{inci} may only come from a lot that the Food and Drug Administration certified, as {names}. Ask the "
            "supplier for the lot number of the certificate."
        )
        yield Finding("note", sentence, HERE, entry.source)
    elif entry is None and plain_letters(inci) not in _told_by_the_check():
        sentence = (
            f"{inci} is not among the colour additives of the United States that the kit has. Look it up in title 21, "
            "parts 73 and 74, before you use it: a colour that is not listed makes a product adulterated there."
        )
        yield Finding("caution", sentence, HERE, source_text("us-fdca-601"))


@lru_cache(maxsize=1)
def _told_by_the_check() -> frozenset[str]:
    """Plain letters of the colours of which the stop list of the United States speaks."""
    rows = (row for row in load_table("stop-list-us").rows if row["kind"] == "colour")
    return frozenset(plain_letters(row["name"]) for row in rows)
