"""Products as makers write them, against what a chemist of the rules and an old formulator would say of each.

``products.csv`` was written from the laws and from the trade, and never from the tables of the kit. A line says what
must be told, what must not be (a false alarm), or what may be. Its ``matter`` holds alternatives parted by ``|``, each
of words joined by ``&`` that all have to occur; ``*`` is any finding. ``place`` is where a law is to be named in the
sentence or its source: an annex or a section; ``label`` where it is the label that has to say it; ``list`` where the
list of ingredients has to; ``trade`` where it is no law. ``basis`` says what was read and when, or that it is from
memory or common practice.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, cast

import pytest

from kit.findings import SEVERITIES, Finding, by_matter
from kit.formula.files import read_formula
from kit.formula.model import PhReading
from kit.product.product import Product
from tests.rows import each_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.library.table import Jurisdiction

HERE = Path(__file__).parent

#: The day on which the products are placed on the market, so that the answers stay the same.
DAY = "2026-12-01"

#: Matters of the trade that the kit does not tell yet, as "product, jurisdiction: matter". It should be empty.
TRADE_MISSES: frozenset[str] = frozenset()

#: What stands in a finding, or in its source, that rests on a law.
LAWS = ("Annex", "CFR", "Code of Federal Regulations", "Federal Food, Drug")

#: How many of all stops and cautions may be false alarms.
FALSE_ALARMS = 0.1


@dataclass(frozen=True, slots=True)
class Expected:
    """One line of ``products.csv``."""

    product: str
    jurisdiction: str
    line: str
    matter: str
    severity: str
    place: str
    entry: str
    basis: str
    why: str

    def __str__(self) -> str:
        return f"{self.product}, {self.jurisdiction}: {self.matter}"

    @property
    def explained(self) -> str:
        """The line with what it rests on."""
        return f"{self} [{self.severity}; {self.place} {self.entry}; {self.why}]"

    def is_about(self, text: str) -> bool:
        """Whether a text speaks of the matter."""
        return self.matter == "*" or any(
            all(_occurs(words.strip(), text) for words in each.split("&")) for each in self.matter.split("|")
        )

    def is_as_grave(self, finding: Finding) -> bool:
        """Whether a finding is at least as serious as the line says."""
        return SEVERITIES.index(finding.severity) <= SEVERITIES.index(self.severity)

    def is_met(self, product: Product) -> bool:
        """Whether the kit tells what must be told."""
        if self.place == "list":
            return self.is_about(product.label_with(None).declaration.text)
        if self.place == "label":
            label = product.label_with(None)
            return any(self.is_about(said) for said in (*label.cautions, *(one.sentence for one in label.findings)))
        return any(
            self.is_about(finding.sentence)
            and self.is_as_grave(finding)
            and (self.place == "trade" or any(_occurs(place.strip(), str(finding)) for place in self.place.split("|")))
            for finding in product.findings
        )


def _occurs(words: str, text: str) -> bool:
    """Whether words stand in a text, the last one perhaps with an ending."""
    return re.search(rf"(?<!\w){re.escape(words)}", text, re.IGNORECASE) is not None


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


EXPECTED = [Expected(**row) for row in _rows(HERE / "products.csv")]
RUNS = {(row["product"], row["jurisdiction"]): row["ph"] for row in _rows(HERE / "products" / "runs.csv")}


@cache
def made(name: str, jurisdiction: str) -> Product:
    """A product as it was made, for one place."""
    ph = RUNS[name, jurisdiction]
    formula = read_formula(HERE / "products" / f"{name}.toml", [])
    formula = replace(formula, measured_ph=PhReading(float(ph)) if ph else None)
    return Product(formula, jurisdiction=cast("Jurisdiction", jurisdiction), on=DAY)


def lines_of(name: str, jurisdiction: str, kind: str) -> Iterator[Expected]:
    """The lines of one kind about a product."""
    return (one for one in EXPECTED if (one.product, one.jurisdiction, one.line) == (name, jurisdiction, kind))


def missed(*, law: bool) -> list[Expected]:
    """What must be told and is not."""
    return [
        one
        for one in EXPECTED
        if one.line == "must" and (one.place != "trade") is law and not one.is_met(made(one.product, one.jurisdiction))
    ]


def alarms() -> tuple[list[str], int]:
    """The false alarms, each with the reason, and how many stops and cautions there are."""
    false, count = [], 0
    for name, jurisdiction in RUNS:
        told: set[Expected] = set()
        for finding in (group[0] for group in by_matter(made(name, jurisdiction).findings)):  # as a person sees them
            if finding.severity == "note":
                continue
            count += 1
            if reason := why_false(name, jurisdiction, finding, told):
                false.append(f"{name}, {jurisdiction}: {finding} <- {reason}")
    return false, count


def why_false(name: str, jurisdiction: str, finding: Finding, told: set[Expected]) -> str:
    """Why a stop or caution is a false alarm; empty where it is none. A matter of law is to be ``told`` once."""
    about = [
        one
        for one in EXPECTED
        if one.product == name
        and (one.jurisdiction == jurisdiction or one.place == "trade")
        and one.is_about(finding.sentence)
    ]
    for one in about:
        if one.line == "must not" and one.is_as_grave(finding):
            return one.why
    if not any(_occurs(law, str(finding)) for law in LAWS):
        return "" if any(one.line != "must not" for one in about) else "nobody asked for it"
    asked = [one for one in about if one.line == "must" and one.place != "trade" and _same_entry(one, finding)]
    if fresh := [one for one in asked if one not in told]:
        told.add(fresh[0])
        return ""
    if any(one.line == "may" for one in about):
        return ""
    return "it was told already" if asked else "nobody asked for this entry of the law"


def _same_entry(one: Expected, finding: Finding) -> bool:
    """Whether a line and a finding speak of one entry of an annex, as far as both name one."""
    wanted, found = (set(re.findall(r"entry (\d+[a-z]?)", text)) for text in (one.entry, str(finding)))
    return not wanted or not found or bool(wanted & found)


def listing(title: str, lines: list[str]) -> str:
    """Lines under a title that counts them."""
    return "\n".join([f"{len(lines)} {title}", *lines])


def test_every_file_and_every_line_is_used() -> None:
    assert {path.stem for path in (HERE / "products").glob("*.toml")} == {name for name, _ in RUNS}
    assert {(one.product, one.jurisdiction) for one in EXPECTED} == set(RUNS)
    assert {one.line for one in EXPECTED} <= {"must", "must not", "may"}
    assert all(one.why for one in EXPECTED)


def test_every_must_says_what_it_rests_on() -> None:
    musts = [one for one in EXPECTED if one.line == "must"]
    assert [one.explained for one in musts if one.severity not in SEVERITIES or not one.basis] == []
    assert [one.explained for one in musts if one.place != "trade" and not one.entry] == []
    assert len(musts) >= 110
    assert sum(one.line == "must not" for one in EXPECTED) >= 60


@each_of(("name", "jurisdiction"), list(RUNS))
def test_the_lines_of_a_product_add_up(name: str, jurisdiction: str) -> None:
    assert made(name, jurisdiction).formula.total == pytest.approx(100)


def test_no_law_is_missed() -> None:
    lines = [one.explained for one in missed(law=True)]
    asked = sum(one.line == "must" and one.place != "trade" for one in EXPECTED)
    assert not lines, listing(f"of {asked} matters of law are not told:", lines)


def test_what_the_trade_knows_is_told_or_named_as_missing() -> None:
    lines = {str(one) for one in missed(law=False)}
    asked = sum(one.line == "must" and one.place == "trade" for one in EXPECTED)
    new = listing(f"of {asked} matters of the trade are not told:", sorted(lines - TRADE_MISSES))
    assert lines <= TRADE_MISSES, new
    assert lines >= TRADE_MISSES, listing("are told by now; take them out:", sorted(TRADE_MISSES - lines))


def test_false_alarms_are_few() -> None:
    false, count = alarms()
    assert len(false) <= FALSE_ALARMS * count, listing(f"of {count} stops and cautions are false alarms:", false)
