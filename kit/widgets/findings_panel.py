"""Every finding about the formula in hand: worst first, each with its place and, on demand, its source."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError
from kit.findings import SEVERITIES, by_matter
from kit.formula.model import Answer, PhReading, refuse_odd_ph
from kit.inputs import REQUIRED, Choice, Day, Input, Text, Tick
from kit.library.sources import source_behind
from kit.library.table import JURISDICTIONS
from kit.numbers import read_likely
from kit.widgets.form import Button, Form
from kit.widgets.html import SIGNS, soft
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.findings import Finding, Place
    from kit.formula.model import Formula
    from kit.library.sources import Source as FoundIn
    from kit.widgets.panel import Source

LOCAL = "Where you make, sell or give away the product, local rules decide; ask which hold there."

NOTHING = (
    "Nothing to say about this formula. That is no approval: the kit knows only what its tables hold, and only a "
    "qualified person can judge a product."
)

MENDING = (
    "“What would mend it” (RepairPanel) shows the smallest change of the amounts that keeps every limit and rule, or "
    "names those that contradict each other."
)

#: What a source is worth, in words for a person.
WORTH = {
    "law": "a law",
    "standard": "a standard",
    "published": "published",
    "recomputed": "recomputed",
    "common practice": "a habit of the trade, not a law",
    "from memory": "from memory, not looked up",
}


@dataclass(frozen=True, slots=True)
class Measured:
    """A pH that was measured in a water layer; one that no such layer has is refused."""

    kind: str = "number"

    def read(self, text: str, unit: str = "") -> float:  # noqa: ARG002
        """The pH; a KitError says what is wrong with it."""
        ph = read_likely(text, 0, 14)
        refuse_odd_ph(ph)
        return ph

    def write(self, value: float) -> str:
        """All its digits."""
        return f"{value:.10g}"


KEPT = "Both are kept with the formula; type the pH again when what it was measured in has changed."

ASKED = (
    Input("jurisdiction", "Limits of", Choice(JURISDICTIONS), "eu"),
    Input("on", "Placed on the market on", Day(), "", help="The day for which limits are looked up; empty: today."),
    Input("ph", "pH measured in the water layer", Measured(), None, example="may stay empty"),
    Input("ph_on", "pH measured on", Day(), "", help=KEPT, applies=lambda values: values["ph"] is not None),
    *(Input(severity, severity, Tick(), default=True) for severity in SEVERITIES),
)

ANSWER = (
    Input("of", "Caution", Choice({"": "choose one"}), ""),
    Input("because", "Seen, because", Text(), REQUIRED, example="tried for twelve weeks, see the log"),
)
#: So many letters of a finding stand in a list of them.
MOST_WORDS = 110


class FindingsPanel(Panel):
    """The findings of the formula in hand, for the place whose limits count and the pH that was measured."""

    watches = ("formula", "library", "jurisdiction", "on", "ph")
    title = "Findings"
    subtitle = "what the formula breaks, what may go wrong, and what is good to know"

    def __init__(self, source: Source = None) -> None:
        self.form = Form(ASKED, on_change=self._typed)
        self.list = ipw.HTML().add_class("sw-answer")
        self.answer = Form(
            ANSWER,
            [Button("keep", "Keep the answer", self._keep, "It is kept with the formula and printed on its papers")],
            fold="Answer a caution: seen, because …",
            wide=("of", "because"),
        )
        super().__init__(source, [self.form, self.list, self.answer])

    def refresh(self) -> None:
        """Show the findings as they are now."""
        bench = self.bench
        self.form.set(jurisdiction=bench.jurisdiction, on=bench.on, ph=bench.ph)
        in_one = bench.formula.description.is_one_piece
        self.form.describe("ph", words="pH measured" if in_one else "pH measured in the water layer")
        measured = bench.formula.measured_ph
        self.form.follow(ph_on=measured.day if measured else "")
        findings = bench.product.findings
        for severity in SEVERITIES:
            count = sum(finding.severity == severity for finding in findings)
            self.form.describe(severity, words=f"{SIGNS[severity]} {severity} ({count})")
        shown = [finding for finding in findings if self.form[finding.severity]]
        hidden = len(findings) - len(shown)
        said = "".join(matter_html(group, bench.formula) for group in by_matter(shown))
        rest = soft(f"{hidden} more not shown") if hidden else ""
        looked_up = soft(escape(bench.product.looked_up.sentence))
        nothing = "" if findings else soft(NOTHING)
        if bench.product.stops:
            nothing += soft(MENDING)
        self.list.value = f'<div class="sw-sentences">{said}</div>{rest}{nothing}{looked_up}'
        cautions = {one.matter: brief_words(one) for one in findings if one.severity == "caution" and one.matter}
        self.answer.offer("of", {"": "choose one", **cautions})

    def _typed(self, names: tuple[str, ...]) -> None:
        self.bench.jurisdiction, self.bench.on = self.form["jurisdiction"], self.form["on"]
        if "ph" in names or "ph_on" in names:
            ph, day = self.form["ph"], self.form["ph_on"] if "ph_on" in names else ""
            self.bench.measure_ph(None if ph is None else PhReading(ph, day))
        self._changed()

    def _keep(self) -> str:
        """Keep what the maker answered to a caution, with the formula."""
        typed, formula = self.answer.read(), self.bench.formula
        if not typed["of"]:
            msg = "Choose the caution that you answer."
            raise EntryError(msg)
        others = tuple(answer for answer in formula.answers if answer.matter != typed["of"])
        made = Answer(typed["of"], typed["because"], date.today().isoformat())
        self.bench.change(replace(formula, answers=(*others, made)))
        return "Kept with the formula, and printed on its papers. Save the formula to keep it on disk."


def brief_words(finding: Finding) -> str:
    """A finding in one line of a list."""
    words = finding.sentence
    return words if len(words) <= MOST_WORDS else f"{words[: MOST_WORDS - 1]}…"


def matter_html(group: Sequence[Finding], formula: Formula) -> str:
    """The most serious finding about a matter; the others folded below it."""
    first, *others = group
    if not others:
        return finding_html(first, formula)
    rest = "".join(finding_html(finding, formula) for finding in others)
    more = f'<details class="sw-behind"><summary>{len(others)} more on this matter</summary>{rest}</details>'
    return f"{finding_html(first, formula)}{more}"


def finding_html(finding: Finding, formula: Formula) -> str:
    """One finding with its place, and its source behind a click; every text from a person is escaped."""
    place = place_words(finding.place, formula)
    where = f'<span class="sw-place">{escape(place)}</span> ' if place else ""
    return (
        f'<div class="sw-finding" data-severity="{finding.severity}">{SIGNS[finding.severity]} '
        f"<b>{finding.severity}</b> {where}{escape(finding.sentence)}{_answer(finding)}{_source(finding)}</div>"
    )


def place_words(place: Place, formula: Formula) -> str:
    """Where a finding belongs, in words: "Water layer, line 3, Sodium Benzoate:"; empty for the whole formula."""
    if place.phase is None or not 0 <= place.phase < len(formula.phases):
        return "The whole formula:"
    phase = formula.phases[place.phase]
    if place.line is None or not 0 <= place.line < len(phase.lines):
        return f"{phase.name}:"
    material = phase.lines[place.line].material.strip()
    return ", ".join(filter(None, [phase.name, f"line {place.line + 1}", material])) + ":"


def _answer(finding: Finding) -> str:
    return f" <b>Seen, because:</b> {escape(finding.answer)}" if finding.answer else ""


def _source(finding: Finding) -> str:
    if not finding.source:
        return ""
    behind = source_behind(finding.source)
    title, as_of = _title_and_date(finding.source)
    rows = [("source", title), ("as of", as_of), *_worth(behind)]
    if behind is not None and behind.kind == "law":
        rows.append(("and", LOCAL))
    lines = "".join(f"<div><b>{name}</b> {escape(text)}</div>" for name, text in rows if text)
    label = behind.kind if behind is not None else "yours"
    return f'<details class="sw-behind"><summary>source: {escape(label)}</summary>{lines}</details>'


def _worth(source: FoundIn | None) -> list[tuple[str, str]]:
    if source is None:
        return []
    return [("what it is worth", WORTH[source.kind]), ("how it was read", source.note)]


def _title_and_date(source: str) -> tuple[str, str]:
    title, _, as_of = source.rpartition(", as of ")
    return (title, as_of) if title else (source, "")
