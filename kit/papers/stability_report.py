"""The stability report: what was planned, seen, corrected, missed and computed, as one HTML file that stands alone."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from kit.figures.colour_drift import colour_drift
from kit.figures.overview_table import SIGNS, cycles_table, grade_table, judgement_list, overview_table, pulls_list
from kit.figures.small_multiples import small_multiples
from kit.inputs import Choice, Day, asked
from kit.papers.paper import PaperSpec, asked_long
from kit.papers.stability_computed import computed
from kit.papers.stability_first_page import MOST_TOLD, first_page
from kit.stability.grades import grade_summary
from kit.stability.overview import VERDICTS, outside, overview
from kit.stability.plan import limit_phrases
from kit.stability.study import current, read_date, start_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.papers.paper import StudyRecord
    from kit.stability.kinetics import Order
    from kit.stability.plan import Attribute
    from kit.stability.study import Observation, Study

#: Wide enough for the four charts of a row, narrow enough for either paper. [px]
WIDTH = 700.0
#: Charts in a row, and their height. [px]
MOST_COLUMNS, CHART = 4, 118.0


@dataclass(frozen=True, slots=True)
class _Correction:
    number: int
    row: Observation
    before: Observation


@dataclass(frozen=True, slots=True)
class StabilityReportOptions:
    """What is asked for a report.

    Attributes
    ----------
    order
        "zero", a straight line through the readings, or "first", through their logarithms.
    confidence, pooling_level
        Of the limit of the mean line, and of the tests whether batches may share a line (ICH Q1E: 0.95 and 0.25).
    """

    written_by: str = asked("Written by", help="Who answers for the report.")
    today: str = asked("Written on", Day(), help="The day on which the study stands as it says. Empty: today.")
    order: Order = asked("Trends", Choice({"zero": "straight lines", "first": "straight in the logarithm"}), "zero")
    long: bool = asked_long()
    confidence: float = 0.95
    pooling_level: float = 0.25


def context(record: StudyRecord, options: StabilityReportOptions) -> dict[str, Any]:
    """What the report on a study prints, as it stands on a day."""
    from markupsafe import Markup

    study, rows, today = record.study, record.observations, read_date(options.today or date.today(), "today")
    now = current(rows)
    found = overview(study, rows, today)
    corrections = _corrections(rows)
    notes = _notes(study, now)
    reckoned = computed(
        study,
        rows,
        order=options.order,
        confidence=options.confidence,
        pooling_level=options.pooling_level,
        width=WIDTH,
    )
    drawn = [a for a in study.plan.attributes if (a.numeric or a.kind == "colour") and _read(now, a.key)]
    return {
        "study": study,
        "today": today.isoformat(),
        "written_by": options.written_by,
        "anchor": record.anchor,
        "findings": [*record.faults],
        "found": found,
        "counts": [(SIGNS[verdict], verdict, found.counts[verdict]) for verdict in VERDICTS],
        "readings": len(now),
        "limits": {attribute.key: limits_in_words(attribute) for attribute in study.plan.attributes},
        "overview": Markup(overview_table(found)),
        "judgements": Markup(judgement_list(found)),
        "cycles": Markup(cycles_table(found)),
        "pulls": Markup(pulls_list(found)),
        "charts": [Markup(_chart(study, rows, one)) for one in drawn],
        "colours": [Markup(colour_drift(study, rows, one.key, width=WIDTH)) for one in drawn if one.kind == "colour"],
        "grades": [
            (one.title, Markup(grade_table(study, grade_summary(study, rows, one.key))))
            for one in drawn
            if one.kind == "grade"
        ],
        "computed": reckoned,
        "long": options.long,
        "first": first_page(found, reckoned, corrections=len(corrections), notes=len(notes)),
        "worst": Markup(judgement_list(found, MOST_TOLD)),
        "tables": [
            _table(study, attribute, now, corrections)
            for attribute in study.plan.attributes
            if _read(now, attribute.key)
        ],
        "hands": _hands(study, now),
        "notes": notes,
        "corrections": [_correction_row(study, one) for one in corrections.values()],
    }


def _chart(study: Study, rows: Sequence[Observation], attribute: Attribute) -> str:
    columns = min(MOST_COLUMNS, len(study.plan.conditions))
    return small_multiples(
        study, rows, attribute.key, columns=columns, width=WIDTH, each_height=CHART, title=attribute.title
    )


def limits_in_words(attribute: Attribute) -> str:
    """The limits of an attribute: "at most 20 shakes", "change from the start at most 0.5"."""
    return "; ".join(limit_phrases(attribute, brief=False)) or "none"


def _read(rows: Iterable[Observation], key: str) -> bool:
    return any(row.attribute == key for row in rows)


def _bottles(study: Study) -> list[tuple[str, str, str]]:
    return [(condition.key, condition.label, batch) for condition in study.plan.conditions for batch in study.batches]


def _table(
    study: Study, attribute: Attribute, now: Sequence[Observation], corrections: dict[int, _Correction]
) -> dict[str, Any]:
    """One attribute: a row for each bottle, a column for each pull."""
    places: dict[tuple[str, str, str], list[Observation]] = defaultdict(list)
    for row in now:
        if row.attribute == attribute.key:
            places[row.condition, row.batch, row.time_point].append(row)
    rows = []
    for key, label, batch in _bottles(study):
        start = start_of(study, places[key, batch, study.plan.time_points[0].label])
        cells = []
        for point in study.plan.time_points:
            here = places[key, batch, point.label]
            cells.append(
                {
                    "value": " / ".join(row.value for row in here) or "–",
                    "outside": any(outside(attribute, row, start) for row in here),
                    "corrected": ", ".join(str(corrections[row.id].number) for row in here if row.id in corrections),
                }
            )
        rows.append({"condition": label, "batch": batch, "cells": cells})
    return {"attribute": attribute, "rows": rows}


def _hands(study: Study, now: Sequence[Observation]) -> list[dict[str, Any]]:
    """When each pull was read and by whom."""
    places: dict[tuple[str, str, str], list[Observation]] = defaultdict(list)
    for row in now:
        places[row.condition, row.batch, row.time_point].append(row)
    rows = []
    for key, label, batch in _bottles(study):
        cells = []
        for point in study.plan.time_points:
            here = places[key, batch, point.label]
            days = sorted({row.observed_on.isoformat() for row in here})
            people = sorted({_who(row) for row in here})
            cells.append({"days": ", ".join(days) or "–", "people": ", ".join(people)})
        rows.append({"condition": label, "batch": batch, "cells": cells})
    return rows


def _who(row: Observation) -> str:
    """Who read it, and who saved it where a shared log knows."""
    return (row.observer or "not named") + (f" (saved by {row.recorded_by})" if row.recorded_by else "")


def _notes(study: Study, now: Sequence[Observation]) -> list[tuple[str, str, str, str, str]]:
    """Batch, condition, pull, what it is about and the note, each note of a pull once."""
    about: dict[tuple[str, str, str, str], list[str]] = defaultdict(list)
    for row in now:
        if row.note:
            about[row.batch, row.condition, row.time_point, row.note].append(study.plan.attribute(row.attribute).label)
    return [
        (
            batch,
            study.plan.condition(condition).label,
            point,
            ", ".join(labels) if len(labels) <= 3 else "the whole pull",
            note,
        )
        for (batch, condition, point, note), labels in about.items()
    ]


def _corrections(rows: Sequence[Observation]) -> dict[int, _Correction]:
    """The readings that replace another, by their id, numbered in order."""
    by_id = {row.id: row for row in rows}
    later = [row for row in rows if row.replaces is not None and row.replaces in by_id]
    return {row.id: _Correction(n, row, by_id[row.replaces or 0]) for n, row in enumerate(later, start=1)}


def _correction_row(study: Study, one: _Correction) -> dict[str, Any]:
    return {
        "number": one.number,
        "place": study.words(one.row.cell),
        "before": one.before.value,
        "after": one.row.value,
        "reason": one.row.reason or "no reason given",
        "by": _who(one.row),
        "recorded": one.row.recorded_at or "–",
    }


SPEC = PaperSpec(
    "stability_report",
    "Stability report",
    "what was planned, read, corrected, missed and computed",
    "study",
    StabilityReportOptions,
    context,
    (
        "study", "today", "written_by", "anchor", "findings", "found", "counts", "readings", "limits", "overview",
        "judgements", "cycles", "pulls", "charts", "colours", "grades", "computed", "tables", "hands", "notes",
        "corrections", "long", "first", "worst",
    ),
    lambda record, _: (record.study.title,),
    command="report",
    example="stability_log.db --study 1 --pdf",
)  # fmt: skip
