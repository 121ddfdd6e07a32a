"""The comparison paper: versions of a formula side by side, what changed and what that did, on its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.formula.versions import version_label
from kit.layers.density_words import HOW
from kit.library.table import JURISDICTIONS
from kit.papers.compared import MOST, compared
from kit.papers.paper import PaperSpec
from kit.rounding import percent_on_paper

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.formula.compare import LineRow
    from kit.formula.model import Formula
    from kit.papers.compared import Comparison, Described, Step
    from kit.product.product import Product

#: A change smaller than this is not printed as one. [% w/w]
NOTHING = 5e-7


@dataclass(frozen=True, slots=True)
class ComparisonOptions:
    """What a comparison is made of besides the product.

    Attributes
    ----------
    versions
        What each is called → the version, the oldest first; None for the product beside its own earlier ones.
    made_on, made_by
        Printed at the head; a line to write on where they are empty.
    """

    versions: Mapping[str, Formula] | None = None
    made_on: str = ""
    made_by: str = ""


def beside(others: Mapping[str, Formula], name: str, formula: Formula) -> dict[str, Formula]:
    """Others and, last, a formula under a name of its own: another of that name is called another."""
    return {f"{key} (another)" if key == name else key: one for key, one in others.items()} | {name: formula}


def context(product: Product, options: ComparisonOptions) -> dict[str, Any]:
    """What the paper prints.

    Raises
    ------
    RangeError
        Nothing to compare with, or more than can be read side by side.
    """
    kept = (*product.formula.earlier[1 - MOST :], product.formula)
    versions = {version_label(one): one for one in kept} if options.versions is None else options.versions
    found = compared(versions, product.library, product.limits, product.prices, ph=product.ph)
    return context_of(found, options)


def context_of(comparison: Comparison, options: ComparisonOptions) -> dict[str, Any]:
    """What the paper prints of versions that have been compared."""
    versions = comparison.versions
    stops = [finding for version in versions for finding in version.findings if finding.severity == "stop"]
    return {
        "findings": [*dict.fromkeys(stops)],
        "title": versions[-1].formula.title,
        "versions": [_version(version) for version in versions],
        "overall": _step(comparison.overall),
        "steps": [_step(step) for step in comparison.steps] if len(versions) > 2 else [],
        "rows": [_row(row, versions[-1]) for row in comparison.rows],
        "substances": [
            {
                "name": substance.name,
                "percents": [_percent(x) for x in substance.percents],
                "change": change_in_words(substance.percents[0], substance.percents[-1]),
            }
            for substance in comparison.substances
        ],
        "problem": comparison.problem,
        "places": [
            {
                "place": words,
                "lists": [{"name": v.name, "list": ", ".join(v.declared[place])} for v in versions],
                "changes": comparison.overall.declared(place),
            }
            for place, words in JURISDICTIONS.items()
        ],
        "currency": comparison.currency,
        "how_densities": HOW,
        "made_on": options.made_on,
        "made_by": options.made_by,
    }


def change_in_words(before: float | None, after: float | None) -> str:
    """What happened to a percent, with a sign and a word, so that nothing hangs on colour.

    Examples
    --------
    >>> change_in_words(6, 4), change_in_words(None, 2), change_in_words(4, 4)
    ('▼ less by 2', '+ added', '')
    """
    if before is None or after is None:
        return "" if before is after else "+ added" if before is None else "− removed"
    moved = after - before
    if abs(moved) < NOTHING:
        return ""
    return f"{'▲ more' if moved > 0 else '▼ less'} by {abs(moved):.4g}"


def _percent(percent: float | None) -> str:
    return "—" if percent is None else percent_on_paper(percent)


def _version(version: Described) -> dict[str, Any]:
    formula = version.formula
    counts = {kind: sum(f.severity == kind for f in version.findings) for kind in ("stop", "caution", "note")}
    return {
        "name": version.name,
        "because": formula.change_note,
        "total": f"{formula.total:.6g}",
        "density": "—" if version.density is None else f"{version.density:.4f}",
        "cost": "—" if version.cost is None else version.cost.text,
        "findings": ", ".join(f"{count} {kind}" for kind, count in counts.items() if count) or "none",
    }


def _row(row: LineRow, last: Described) -> dict[str, Any]:
    there = next(standing for standing in reversed(row.standings) if standing is not None)
    kinds = {phase.name: phase.kind for phase in last.formula.phases}
    return {
        "material": row.material,
        "phase": there.phase,
        "kind": kinds.get(there.phase, "other"),
        "percents": [_percent(x) if s is not None else "—" for s, x in zip(row.standings, row.percents, strict=True)],
        "words": row.words,
    }


def _step(step: Step) -> dict[str, Any]:
    found = step.findings
    return {
        "before": step.before.name,
        "after": step.after.name,
        "lines": [{"material": line.material, "words": line.words} for line in step.differences.changed],
        "about": step.differences.about,
        "gained": found.gained,
        "lost": found.lost,
        "is_empty": step.is_empty,
    }


SPEC = PaperSpec(
    "comparison",
    "Comparison",
    "beside its own earlier versions, up to five: lines, findings, cost, label",
    "product",
    ComparisonOptions,
    context,
    (
        "findings", "title", "versions", "overall", "steps", "rows", "substances", "problem", "places", "currency",
        "how_densities", "made_on", "made_by",
    ),
    lambda product, _: (product.formula.title,),
    command="compare",
)  # fmt: skip
