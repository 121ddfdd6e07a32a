"""Everything the kit has to say about a formula while it is being written."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from kit.errors import CompositionError
from kit.findings import Finding, Place, worst_first
from kit.formula.amounts import TOTAL_TOLERANCE
from kit.formula.asked_stocks import asked_stock
from kit.formula.compatibility import Contents, compatibility_findings, low_risk_findings
from kit.formula.ph_windows import ph_findings, ph_question
from kit.formula.requirements import flat_percents, idle_rules, requirements
from kit.formula.steps import step_findings
from kit.formula.told import conditions, findings_of, to_come
from kit.formula.usual_ranges import usual_range_findings
from kit.library.limit import Limits
from kit.liquids.alcohol import ETHANOL
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
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
    rules = Limits.of(limits)
    found = [
        *_amounts(formula),
        *_total(formula),
        *formula.description.contradictions,
        *_names(formula, materials),
        *_holds(formula),
    ]
    try:
        contents = Contents.of(formula, materials, rules.place)
        found += _limits_and_rules(formula, materials, rules)
        found += [*_layers(formula, materials, contents), *_apart(formula, contents)]
        found += usual_range_findings(formula, materials)
        low_risk = low_risk_findings(contents, ph)
        found += [*([] if low_risk else _preservation(contents)), *low_risk]
        found += step_findings(formula, materials)
        found += compatibility_findings(contents)
    except CompositionError as error:
        found.append(Finding("stop", str(error)))
    else:
        where = "the product" if formula.description.is_one_piece else "the water layer"
        found += ph_question(contents, where) if ph is None else ph_findings(contents, ph, rules)
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
                f"{name} is not in the library: its density and range are unknown, and rules find it by its name "
                "alone. "
                f"{_instead(name, materials)}",
                Place(p, i, "material"),
                matter=f"unknown: {name.casefold()}",
            )
        if (p, name.casefold()) in seen:
            yield Finding("note", f"{name} stands twice in {phase.name}.", Place(p, i, "material"))
        seen.add((p, name.casefold()))


#: Beside one of these roles oil and water stay together, and a material may stand where it does not dissolve.
_TOGETHER = {"emulsifier", "solubiliser", "surfactant"}

#: What dissolves in neither layer.
_UNDISSOLVED = {"powder", "clay", "UV filter", "scrub"}

#: From here on a layer dissolves scents and the like as alcohol does. [% w/w of the layer]
_ALCOHOLIC = 30.0


def _layers(formula: Formula, materials: Materials, contents: Contents) -> Iterator[Finding]:
    """Materials in the wrong layer of a product that is meant to stand in layers, one caution for each layer."""
    layering = formula.description.layering
    found_here = [materials.ingredient(name) for name in contents.whole]
    roles = {role for ingredient in found_here if ingredient is not None for role in ingredient.roles}
    stands = contents.has("layers") and _TOGETHER.isdisjoint(roles)
    if not (layering == "two layers" or (not layering and stands)):
        return
    water = contents.percents("water")
    alcoholic = sum(water.get(name, 0.0) for name in ETHANOL) >= _ALCOHOLIC
    misplaced: dict[tuple[int, str], list[tuple[Place, str]]] = {}
    for p, i, line, _ in formula.each_line():
        known, phase = materials.get(line.material.strip()), formula.phases[p]
        if known is None or {known.phase, phase.kind} != {"water", "oil"} or (alcoholic and phase.kind == "water"):
            continue
        if not _UNDISSOLVED.isdisjoint(getattr(known, "roles", ())):
            continue
        misplaced.setdefault((p, known.phase), []).append((Place(p, i, "material"), line.material.strip()))
    for (p, belongs), found in misplaced.items():
        verb = "belongs" if len(found) == 1 else "belong"
        yield Finding(
            "caution",
            f"{listed([name for _, name in found])} {verb} in the {belongs} layer, and {formula.phases[p].name} is "
            f"{formula.phases[p].kind}.",
            found[0][0],
            "common practice",
            f"layer: {', '.join(name.casefold() for _, name in found)}",
        )


def _apart(formula: Formula, contents: Contents) -> Iterator[Finding]:
    """Preservatives in a phase of its own kind, which does not move with the water that they guard."""
    if not contents.has("layers"):
        return
    for p, phase in enumerate(formula.phases):
        lines = [(i, line.material.strip()) for i, line in enumerate(phase.lines)]
        guards = [
            (i, name)
            for i, name in lines
            if any(_is_preservative(part, contents.materials) for part in contents.materials.substances(name))
        ]
        if phase.kind == "other" and guards:
            yield Finding(
                "note",
                f"{listed([name for _, name in guards])} guards the water and stands in {phase.name}, a third layer: "
                "when water and oil change size, its percent of the water changes. If it is stirred into the water "
                f"layer, let {phase.name} be water.",
                Place(p, guards[0][0], "material"),
                "common practice",
                f"third layer: {phase.name.casefold()}",
            )


def _instead(name: str, materials: Materials) -> str:
    """What to do about a name that nobody knows."""
    asked = asked_stock(name, materials)
    if asked is not None:
        counted = "" if asked.basis == "w/w" else f" {asked.basis}"
        return (
            f"It reads like a stock of {asked.active}: make it under Stock solutions, {asked.strength:g} %{counted} "
            "strong. “Asked for in the formula” there takes over its name and strength."
        )
    return "Choose a name from the list, or add it as your own ingredient."


def _holds(formula: Formula) -> Iterator[Finding]:
    for kind in ("water", "oil", "other"):
        lines = [(p, i, line) for p, i, line, _ in formula.each_line() if formula.phases[p].kind == kind]
        fills = [(p, i) for p, i, line in lines if line.hold == "fill"]
        for p, i in fills[1:]:
            yield Finding(
                "caution",
                f"Another line already fills the {kind} layer. Let this one keep its % of the layer or of the whole.",
                Place(p, i, "hold"),
            )
        if lines and not fills and all(line.hold == "level" for _, _, line in lines):
            yield Finding(
                "note",
                f"Every line of the {kind} layer keeps its % of the whole, so that layer cannot grow or shrink. "
                "Let one line fill it to explore other ratios.",
                Place(lines[0][0], None, "hold"),
            )


def _limits_and_rules(formula: Formula, materials: Materials, rules: Limits) -> Iterator[Finding]:
    yield from findings_of(requirements(formula, materials, rules), flat_percents(formula), formula.description)
    for idle in idle_rules(formula, materials):
        yield Finding(
            "note",
            f"Your rule about {idle.material} says nothing here: {idle.material} is in no line. Take the rule out, or "
            "add the material.",
            Place(field="rule"),
            "the maker's own rule",
        )
    yield from to_come(formula, materials, rules)
    yield from conditions(formula, materials, rules)


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
