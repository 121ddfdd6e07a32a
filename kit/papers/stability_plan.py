"""The plan of a stability study on paper: places, days, what to look at and how, within which limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.papers.paper import PaperSpec
from kit.stability.plan import limits_in_brief, what_to_type
from kit.stability.schedule import pull_days

if TYPE_CHECKING:
    from kit.papers.paper import StudyRecord
    from kit.stability.plan import Condition

CAUTIONS = (
    "A reading within its limits says what was seen on that day. It does not say how long the product keeps.",
    (
        "Microbial growth cannot be seen, smelled or read from pH in time. A product that holds water needs a "
        "preservation efficacy test (ISO 11930) and counts by a microbiological laboratory."
    ),
    "A product from a warm or light test is not for use on skin. Mark the bottles and throw them away afterwards.",
    (
        "Heat, freezing and light can burst bottles. Leave room in each, stand them in a tray, and never use an "
        "oven, or a kitchen fridge without a closed box."
    ),
    "Keep the bottles away from children and from food.",
)


@dataclass(frozen=True, slots=True)
class StabilityPlanOptions:
    """Nothing is asked for a plan: the study says it all."""


def context(record: StudyRecord, _options: StabilityPlanOptions) -> dict[str, Any]:
    """What the plan prints."""
    study = record.study
    plan = study.plan
    return {
        "study": study,
        "plan": plan,
        "bottles": len(study.batches) * len(plan.conditions),
        "conditions": [
            {"label": one.label, "degrees": _degrees(one), "light": one.light, "how": one.how, "source": one.source}
            for one in plan.conditions
        ],
        "days": [
            {
                "label": day.time_point,
                "due": day.due_on.strftime("%Y-%m-%d, %a"),
                "last": str(day.last_day) if day.last_day > day.due_on else "that day",
                "bottles": len(day.bottles),
            }
            for day in pull_days(study)
        ],
        "attributes": [
            {
                "title": one.title,
                "optional": one.optional,
                "type": what_to_type(one) if one.kind in ("grade", "yes/no") else "",
                "limits": limits_in_brief(one) or "no limit",
                "how": one.how,
                "source": one.source,
            }
            for one in plan.attributes
        ],
        "cautions": CAUTIONS,
    }


def _degrees(condition: Condition) -> str:
    if condition.temperature is None:
        return f"swings, {condition.coldest:g} to {condition.warmest:g} °C"
    return f"{condition.coldest:g} to {condition.warmest:g} °C"


SPEC = PaperSpec(
    "stability_plan",
    "Stability plan",
    "places, days, what to look at and how, within which limits, as a calendar to hang up",
    "study",
    StabilityPlanOptions,
    context,
    ("study", "plan", "bottles", "conditions", "days", "attributes", "cautions"),
    lambda record, _: (record.study.title,),
    command="plan",
    example="stability_log.db --study 1",
)
