"""What the stability report computes: a shelf life for each number and colour in each condition, with its chart."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from kit.errors import KitError
from kit.figures.shelf_life import shelf_life_chart
from kit.figures.theme import STYLES
from kit.stability.series import acceptance, series_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.stability.kinetics import Order
    from kit.stability.plan import Attribute, Condition
    from kit.stability.series import Series
    from kit.stability.shelf_life import ShelfLife
    from kit.stability.study import Observation, Study


def computed(
    study: Study,
    observations: Sequence[Observation],
    *,
    order: Order = "zero",
    confidence: float = 0.95,
    pooling_level: float = 0.25,
    width: float = 700,
) -> dict[str, Any]:
    """What the report's section on shelf life prints: settings, a part for each attribute, and the sources."""
    settings = {"order": order, "confidence": confidence, "pooling_level": pooling_level}
    parts: list[dict[str, Any]] = []
    sources: dict[str, None] = {}
    for attribute in study.plan.attributes:
        if attribute.kind in ("number", "colour") and has_limit(attribute):
            part, results = _part(study, observations, attribute, settings, width)
            parts.append(part)
            sources |= {step.source: None for result in results for step in result.steps if _names_a_work(step.source)}
    scale = "the readings" if order == "zero" else "the logarithms of the readings"
    words = (
        f"Straight lines through {scale}; confidence {100 * confidence:g} %, on one side where the plan limits one, "
        f"else on two; batches pooled at a level of {pooling_level:g}. Nothing was told about warm storage, so no "
        "estimate reaches beyond its last reading. A grade has no line: its steps are not equal."
    )
    return {"settings": words, "attributes": parts, "sources": list(sources)}


def has_limit(attribute: Attribute) -> bool:
    """Whether the plan limits a number of this attribute."""
    return (attribute.lower, attribute.upper, attribute.change, attribute.change_percent) != (None,) * 4


def _part(
    study: Study, observations: Sequence[Observation], attribute: Attribute, settings: dict[str, Any], width: float
) -> tuple[dict[str, Any], list[ShelfLife]]:
    """One attribute: a row for each condition, and the chart of the one whose limit is met first."""
    from kit.stability.shelf_life import shelf_life

    found: list[tuple[Condition, list[Series], ShelfLife]] = []
    problems = []
    for condition in study.plan.conditions:
        series = series_of(study, observations, condition.key, attribute.key)
        if not series:
            continue
        try:
            lower, upper, sided = acceptance(study, attribute.key, observations, condition.key)
            result = shelf_life(series, lower=lower, upper=upper, sided="one" if sided == "one" else "two", **settings)
        except KitError as error:
            problems.append(f"{condition.label}: {error}")
            continue
        found.append((condition, series, result))
    drawn = [one for one in found if one[2].fits]
    first = min(drawn, key=_met) if drawn else None
    return {
        "title": attribute.title,
        "problem": " ".join(problems) or ("" if found else "Nothing was read yet."),
        "rows": [_row(condition, result) for condition, _, result in found],
        "chart": _chart(study, attribute, width, *first) if first else "",
        "first": None if first is None else _row(first[0], first[2]),
        "sentence": f"{first[0].label}: {first[2].sentence}" if first else "",
        "checks": [check.words for check in first[2].checks] if first else [],
        "findings": [
            replace(finding, sentence=f"{condition.label}: {finding.sentence}")
            for condition, _, result in found
            for finding in result.findings
            if finding.severity != "note"
        ],
    }, [result for _, _, result in found]


def _met(one: tuple[Condition, list[Series], ShelfLife]) -> float:
    return float("inf") if one[2].crossing is None else one[2].crossing


def _row(condition: Condition, result: ShelfLife) -> dict[str, str]:
    return {
        "condition": condition.label,
        "model": result.model_key if result.fits else "none",
        "slopes": p_value(result.pooling.slopes),
        "intercepts": p_value(result.pooling.intercepts),
        "crossing": "never" if result.crossing is None and result.fits else days_text(result.crossing),
        "cap": days_text(result.cap.days if result.cap else None),
        "days": days_text(result.days),
        "governing": result.governing if result.model_key in ("separate lines", "common slope") else "–",
    }


def p_value(p: float | None) -> str:
    """A p-value with three decimals.

    Examples
    --------
    >>> p_value(0.1704), p_value(0.00001), p_value(None)
    ('0.170', '< 0.001', '–')
    """
    if p is None:
        return "–"
    return f"{p:.3f}" if p >= 0.001 else "< 0.001"


def days_text(days: float | None) -> str:
    """Whole days, rounded down, or a dash."""
    return "–" if days is None else f"{int(days)}"


def _chart(
    study: Study,
    attribute: Attribute,
    width: float,
    condition: Condition,
    series: Sequence[Series],
    result: ShelfLife,
) -> str:
    from markupsafe import Markup

    y_title = "CIEDE2000 from the start" if attribute.kind == "colour" else attribute.title
    drawn = shelf_life_chart(
        result,
        series,
        title=f"{attribute.label}, {condition.label}",
        y_title=y_title,
        colour=STYLES[study.plan.conditions.index(condition) % len(STYLES)][0],
        width=width,
    )
    return Markup(drawn)


def _names_a_work(source: str) -> bool:
    """Whether a source of a step is a work to look up, rather than a choice that the step itself states."""
    return source != "" and not source.startswith("our choice")
