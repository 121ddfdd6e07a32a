"""Everything the kit has to say about a formula while it is being written."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from kit.errors import CompositionError
from kit.findings import Finding, Place, worst_first
from kit.formula.amounts import TOTAL_TOLERANCE
from kit.formula.compatibility import Contents, compatibility_findings, low_risk_findings, ph_findings
from kit.formula.requirements import flat_percents, requirements
from kit.formula.steps import step_findings
from kit.formula.told import findings_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.ingredient import Ingredient
    from kit.library.limit import Limit

CHALLENGE_TEST = (
    "Only a challenge test by a laboratory (ISO 11930) shows whether a product with water withstands microbes."
)


def check(formula: Formula, materials: Materials, limits: Iterable[Limit], *, ph: float | None = None) -> list[Finding]:
    """Every finding about a formula, worst first. Never raises over a formula, which may be incomplete.

    Parameters
    ----------
    limits
        Those of the place where the product is to be; see :func:`kit.library.table.limits`.
    ph
        Measured in the water layer; None where it was not.

    Raises
    ------
    RangeError
        The pH is not between 0 and 14.
    """
    found = [
        *_amounts(formula),
        *_total(formula),
        *formula.description.contradictions,
        *_names(formula, materials),
        *_holds(formula),
    ]
    try:
        contents = Contents.of(formula, materials)
        found += _limits_and_rules(formula, materials, limits)
        found += _usual_ranges(formula, materials)
        found += _preservation(contents)
        found += step_findings(formula, materials)
        found += low_risk_findings(contents, ph)
        found += compatibility_findings(contents)
    except CompositionError as error:
        found.append(Finding("stop", str(error)))
    else:
        if ph is not None:
            found += ph_findings(contents, ph, limits)
    return worst_first(_answered(found, formula))


def _answered(found: Iterable[Finding], formula: Formula) -> list[Finding]:
    """The findings, each caution with what the maker answered to it."""
    answers = {answer.matter: answer.because for answer in formula.answers}
    return [
        replace(finding, answer=answers[finding.matter])
        if finding.severity == "caution" and finding.matter in answers
        else finding
        for finding in found
    ]


def _amounts(formula: Formula) -> Iterator[Finding]:
    for p, i, sentence in formula.resolution.problems:
        yield Finding("stop", sentence, Place(p, i, "amount"))
    for p, i, line, _ in formula.each_line():
        if line.is_blank:
            continue
        if not line.entry.strip():
            yield Finding("stop", f"{line.material} has no amount yet.", Place(p, i, "amount"))
        if not line.material.strip():
            yield Finding("stop", "This amount has no ingredient yet. Type part of its name.", Place(p, i, "material"))


def _total(formula: Formula) -> Iterator[Finding]:
    if formula.resolution.not_moved:
        yield Finding("stop", formula.resolution.not_moved, Place(field="total"))
    off = formula.total - 100
    if formula.phases and abs(off) > TOTAL_TOLERANCE:
        word = "missing" if off < 0 else "too much"
        yield Finding(
            "stop",
            f"The lines add to {formula.total:.6g} %: {abs(off):.4g} % is {word}. "
            "Mend an amount, or type q.s. for the material that takes what is left.",
            Place(field="total"),
        )


def _names(formula: Formula, materials: Materials) -> Iterator[Finding]:
    seen: set[tuple[int, str]] = set()
    for p, i, line, _ in formula.each_line():
        name = line.material.strip()
        if not name:
            continue
        known = materials.get(name)
        phase = formula.phases[p]
        if known is None:
            yield Finding(
                "caution",
                f"{name} is not in the library, so nothing is known about its density, limits or range. "
                "Choose a name from the list, or add it as your own ingredient.",
                Place(p, i, "material"),
            )
        elif {known.phase, phase.kind} == {"water", "oil"}:
            yield Finding(
                "caution",
                f"{name} belongs in the {known.phase} layer, and {phase.name} is {phase.kind}.",
                Place(p, i, "material"),
                "common practice",
            )
        if (p, name.casefold()) in seen:
            yield Finding("note", f"{name} stands twice in {phase.name}.", Place(p, i, "material"))
        seen.add((p, name.casefold()))


def _holds(formula: Formula) -> Iterator[Finding]:
    for kind in ("water", "oil", "other"):
        lines = [(p, i, line) for p, i, line, _ in formula.each_line() if formula.phases[p].kind == kind]
        fills = [(p, i) for p, i, line in lines if line.hold == "fill"]
        for p, i in fills[1:]:
            yield Finding(
                "caution",
                f"Another line already fills the {kind} layer. Let this one keep its share or its level.",
                Place(p, i, "hold"),
            )
        if lines and not fills and all(line.hold == "level" for _, _, line in lines):
            yield Finding(
                "note",
                f"Every line of the {kind} layer keeps its level, so that layer cannot grow or shrink. "
                "Let one line fill it to explore other ratios.",
                Place(lines[0][0], None, "hold"),
            )


def _limits_and_rules(formula: Formula, materials: Materials, limits: Iterable[Limit]) -> Iterator[Finding]:
    yield from findings_of(requirements(formula, materials, limits), flat_percents(formula), formula.description)


def _usual_ranges(formula: Formula, materials: Materials) -> Iterator[Finding]:
    for p, i, line, percent in formula.each_line():
        for ingredient, of_whole in _ranged(line.material, percent, materials):
            low, high = ingredient.usual_low, ingredient.usual_high
            if low and of_whole < low.value:
                side, source = "below", low.source
            elif high and of_whole > high.value:
                side, source = "above", high.source
            else:
                continue
            usual = " to ".join(f"{figure.value:g}" for figure in (low, high) if figure)
            yield Finding(
                "note",
                f"{of_whole:.3g} % {ingredient.inci} is {side} its usual range, {usual} %: "
                "a habit of the trade, not a law.",
                Place(p, i, "amount"),
                source.replace("-", " "),
            )


def _ranged(name: str, percent: float | None, materials: Materials) -> Iterator[tuple[Ingredient, float]]:
    """The ingredient of a line, or the active of its stock, with its percent of the whole."""
    material = materials.get(name) if name.strip() and percent is not None else None
    if material is None or percent is None:
        return
    active = getattr(material, "active", name)
    ingredient = materials.ingredient(active) if active else None
    if ingredient is not None:
        share = 100.0 if active == name else materials.substances(name).get(ingredient.inci, 0.0)
        if share:
            yield ingredient, percent * share / 100.0


def _preservation(contents: Contents) -> Iterator[Finding]:
    substances = contents.whole
    if contents.water <= 0:
        return
    preserving = [name for name in substances if _is_preservative(name, contents.materials)]
    if not preserving:
        yield Finding(
            "caution",
            f"There is water here and no preservative that the library knows. {CHALLENGE_TEST}",
            Place(field="total"),
            "common practice",
        )
    elif not contents.in_layer(preserving, ("water", "other")):
        yield Finding(
            "caution",
            f"{', '.join(preserving)} stands only in the oil layer and does not guard the water. {CHALLENGE_TEST}",
            Place(field="total"),
            "common practice",
        )


def _is_preservative(name: str, materials: Materials) -> bool:
    ingredient = materials.ingredient(name)
    return ingredient is not None and any(role.startswith("preservative") for role in ingredient.roles)
