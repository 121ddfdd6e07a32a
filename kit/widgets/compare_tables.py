"""The tables of the compare panel, as HTML."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from kit.library.table import JURISDICTIONS
from kit.papers.comparison import change_in_words
from kit.rounding import percent_text
from kit.widgets.html import SIGNS, sheet

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.papers.compared import Comparison, Step

SAME = "same"


def line_table(comparison: Comparison) -> str:
    """Every line of any version; what happened to it from the first version to the last stands beside it."""
    last = comparison.versions[-1].formula
    kinds = {phase.name: phase.kind for version in comparison.versions for phase in version.formula.phases}
    kinds |= {phase.name: phase.kind for phase in last.phases}
    rows, marks = [], []
    for row in comparison.rows:
        there = next(standing for standing in reversed(row.standings) if standing is not None)
        percents = ["—" if standing is None else percent_text(standing.percent) or "?" for standing in row.standings]
        rows.append([row.material, *percents, row.words or SAME])
        marks.append(str(kinds.get(there.phase, "other")))
    names = [version.name for version in comparison.versions]
    return sheet(["line, % w/w", *names, "first to last"], rows, numbers=range(1, len(names) + 1), kinds=marks)


def substance_table(comparison: Comparison) -> str:
    """Every substance of any version."""
    rows = [
        [
            substance.name,
            *(percent_text(percent) or "—" for percent in substance.percents),
            change_in_words(substance.percents[0], substance.percents[-1]) or SAME,
        ]
        for substance in comparison.substances
    ]
    names = [version.name for version in comparison.versions]
    caption = "Blends and stocks taken apart into what they hold."
    return sheet(["substance, % w/w", *names, "first to last"], rows, numbers=range(1, len(names) + 1), caption=caption)


def sums_table(comparison: Comparison) -> str:
    """Density, cost, findings and lists of ingredients of each version."""
    versions = comparison.versions
    rows = [["density shaken, g/mL", *("—" if v.density is None else f"{v.density:.4f}" for v in versions)]]
    if comparison.currency:
        rows.append(
            ["materials of 100 g", *("—" if version.cost is None else version.cost.text for version in versions)]
        )
    rows += [
        [f"findings: {kind}", *(str(sum(f.severity == kind for f in v.findings)) for v in versions)]
        for kind in ("stop", "caution", "note")
    ]
    return sheet(["", *(version.name for version in versions)], rows, numbers=range(1, len(versions) + 1))


def declared_table(comparison: Comparison) -> str:
    """The list of ingredients of each version, and what changed in it."""
    rows = [
        [f"{version.name}, {words}", ", ".join(version.declared[place]) or "nothing to declare"]
        for place, words in JURISDICTIONS.items()
        for version in comparison.versions
    ]
    told = [
        f"{words}: {' '.join(comparison.overall.declared(place)) or 'the list is the same.'}"
        for place, words in JURISDICTIONS.items()
    ]
    return sheet(["list of ingredients", ""], rows) + "".join(f"<div>{escape(sentence)}</div>" for sentence in told)


def step_words(step: Step) -> str:
    """What changed from one version to another, as sentences, with the findings that came and went."""
    title = f"<b>From {escape(step.before.name)} to {escape(step.after.name)}</b>"
    if step.is_empty:
        return f"<div>{title}: nothing changed.</div>"
    items = [f"<b>{escape(line.material)}</b> {escape(line.words)}" for line in step.differences.changed]
    items += [escape(sentence) for sentence in step.differences.about]
    items = items or ["No line, step, stock or rule changed."]
    listed = "".join(f"<li>{item}</li>" for item in items)
    found = [_finding("+ new", finding) for finding in step.findings.gained]
    found += [_finding("− gone", finding) for finding in step.findings.lost]
    said = f'<div class="sw-sentences">{"".join(found)}</div>' if found else "<div>No finding came or went.</div>"
    return f"<div>{title}</div><ul>{listed}</ul>{said}"


def _finding(word: str, finding: Finding) -> str:
    source = f' <span class="sw-source">{escape(finding.source)}</span>' if finding.source else ""
    return (
        f'<div class="sw-finding" data-severity="{finding.severity}">{SIGNS[finding.severity]} '
        f"<b>{escape(word)} {finding.severity}</b> {escape(finding.sentence)}{source}</div>"
    )
