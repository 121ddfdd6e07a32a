"""Every finding about the formula in hand: worst first, each with its place and, on demand, its source."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.findings import SEVERITIES
from kit.formula.compatibility import refuse_odd_ph
from kit.library.sources import source_behind
from kit.library.table import JURISDICTIONS
from kit.numbers import read_likely
from kit.widgets.html import SIGNS, heading
from kit.widgets.panel import Panel, controls, try_to
from kit.widgets.shown import on_hand, show_in

if TYPE_CHECKING:
    from kit.findings import Finding, Place
    from kit.formula.model import Formula
    from kit.library.sources import Source
    from kit.library.table import Jurisdiction
    from kit.widgets.bench import Bench

LOCAL = "Where you make, sell or give away the product, local rules decide; ask which hold there."

NOTHING = (
    "Nothing to say about this formula. That is no approval: the kit knows only what its tables hold, and only a "
    "qualified person can judge a product."
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


class FindingsPanel(Panel):
    """The findings of the formula in hand, for the place whose limits count and the pH that was measured."""

    watches = ("formula", "library", "jurisdiction", "ph")

    def __init__(self, bench: Bench) -> None:
        style = {"style": {"description_width": "initial"}}
        places = [(words, name) for name, words in JURISDICTIONS.items()]
        self.jurisdiction = ipw.Dropdown(options=places, value=bench.jurisdiction, description="Limits of", **style)
        self.ph = ipw.Text(
            description="pH measured in the water layer",
            placeholder="may stay empty",
            continuous_update=False,
            layout={"width": "340px"},
            **style,
        )
        self.shown = {
            severity: ipw.Checkbox(value=True, indent=False, layout={"width": "auto"}) for severity in SEVERITIES
        }
        self.message, self.list = ipw.HTML(), ipw.HTML()
        head = heading("Findings", "what the formula breaks, what may go wrong, and what is good to know")
        super().__init__(
            bench,
            [
                ipw.HTML(head),
                controls(self.jurisdiction, self.ph),
                controls(*self.shown.values()),
                self.message,
                self.list,
            ],
        )
        on_hand(self.jurisdiction, self._choose)
        on_hand(self.ph, self._measure)
        for box in self.shown.values():
            box.observe(lambda _: self._changed(), names="value")

    def refresh(self) -> None:
        """Show the findings as they are now."""
        bench = self.bench
        show_in(self.jurisdiction, bench.jurisdiction)
        if bench.ph is None or self._typed_ph() != bench.ph:
            show_in(self.ph, "" if bench.ph is None else f"{bench.ph:.10g}")
        findings = bench.product.findings
        for severity, box in self.shown.items():
            count = sum(finding.severity == severity for finding in findings)
            box.description = f"{SIGNS[severity]} {severity} ({count})"
        shown = [finding for finding in findings if self.shown[finding.severity].value]
        hidden = len(findings) - len(shown)
        said = "".join(finding_html(finding, bench.formula) for finding in shown)
        rest = f'<div class="sw-subtitle">{hidden} more not shown</div>' if hidden else ""
        empty = "" if findings else f'<div class="sw-subtitle">{escape(NOTHING)}</div>'
        self.list.value = f'<div class="sw-sentences">{said}</div>{rest}{empty}'

    def _typed_ph(self) -> float | None:
        try:
            return read_likely(self.ph.value, 0, 14)
        except ValueError:
            return None

    def _choose(self, jurisdiction: Jurisdiction) -> None:
        self.bench.jurisdiction = jurisdiction

    def _measure(self, text: str) -> None:
        def work() -> None:
            ph = read_likely(text, 0, 14) if text.strip() else None
            if ph is not None:
                refuse_odd_ph(ph)
            self.bench.ph = ph

        try_to(self.message, work)


def finding_html(finding: Finding, formula: Formula) -> str:
    """One finding with its place, and its source behind a click; every text from a person is escaped."""
    place = place_words(finding.place, formula)
    where = f'<span class="sw-place">{escape(place)}</span> ' if place else ""
    return (
        f'<div class="sw-finding" data-severity="{finding.severity}">{SIGNS[finding.severity]} '
        f"<b>{finding.severity}</b> {where}{escape(finding.sentence)}{_source(finding)}</div>"
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


def _worth(source: Source | None) -> list[tuple[str, str]]:
    if source is None:
        return []
    return [("what it is worth", WORTH[source.kind]), ("how it was read", source.note)]


def _title_and_date(source: str) -> tuple[str, str]:
    title, _, as_of = source.rpartition(", as of ")
    return (title, as_of) if title else (source, "")
