"""The label paper: the text of a label, why the list of ingredients stands as it does, and what is missing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.findings import worst_first
from kit.library.table import JURISDICTIONS
from kit.papers.layout import templates
from kit.rounding import percent_on_paper

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.findings import Finding
    from kit.formula.model import Formula
    from kit.label.label_text import LabelText


@dataclass(frozen=True, slots=True)
class LabelPaper:
    """All that a label paper prints.

    Attributes
    ----------
    findings
        About the formula; those of the label itself are printed with them.
    """

    formula: Formula
    label: LabelText
    findings: Sequence[Finding] = ()


def label_paper_html(paper: LabelPaper) -> str:
    """The paper as one HTML document that needs nothing else."""
    label = paper.label
    told = [finding.source for finding in label.findings] + [missing.source for missing in label.missing]
    return (
        templates()
        .get_template("label_paper.html")
        .render(
            formula=paper.formula,
            place=JURISDICTIONS[label.jurisdiction],
            label=label,
            text=label.text,
            findings=worst_first([*paper.findings, *label.findings]),
            entries=[
                {
                    "name": entry.name,
                    "percent": percent_on_paper(entry.percent),
                    "group": f"{entry.group}, named within another" if entry.within else entry.group,
                    "reason": entry.reason,
                }
                for entry in label.declaration.entries
            ],
            sources=list(dict.fromkeys(source for source in told if source)),
        )
    )
