"""The words of the stability panels: how a typed value is read, what is odd about it, and the open pulls."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from kit.errors import KitError
from kit.stability.check import findings_for, said
from kit.stability.reading import read_value
from kit.widgets.html import sheet
from kit.widgets.views import finding_view

if TYPE_CHECKING:
    from kit.stability.plan import Attribute
    from kit.stability.schedule import Due
    from kit.stability.study import Observation, Study
    from kit.widgets.reading_rows.rows import Said

#: How many of the pulls to come are listed below the open ones.
SHOWN_TO_COME = 2
OPEN = ("overdue", "due", "partly done")


def said_about(attribute: Attribute, text: str, start: str | None) -> Said:
    """What a row says about the text in its box: how it is read where that is not plain, and what is odd."""
    if not text.strip():
        return {"words": "", "findings": []}
    findings = [finding_view(one) for one in findings_for(attribute, text, start)]
    return {"words": _read_as(attribute, text), "findings": findings}


def _read_as(attribute: Attribute, text: str) -> str:
    try:
        reading = read_value(attribute, text)
    except KitError:
        return ""
    if reading.colour is not None:
        return "L* {:g}, a* {:g}, b* {:g}".format(*reading.colour)
    if attribute.kind == "grade" and reading.number is not None:
        return said(attribute, reading.number)
    plain = text.strip().replace(",", ".")
    if reading.number is not None and plain != f"{reading.number:g}":
        return f"read as {said(attribute, reading.number)}"
    return ""


def due_table(study: Study, found: list[Due]) -> str:
    """What to look at, as HTML: everything open, and the next few pulls to come; bottles of one place in one line."""
    opened = [pull for pull in found if pull.state in OPEN]
    coming = [pull for pull in found if pull.state == "to come"]
    counted = {state: sum(pull.state == state for pull in found) for state in ("done", "missed", "to come")}
    caption = (
        f"{len(opened)} open; {counted['done']} done, {counted['missed']} missed, {counted['to come']} to come, "
        f"of {len(found)} pulls"
    )
    lines = [*_open_lines(study, opened), *_lines_to_come(study, coming)]
    if not lines:
        return f'<div class="sw-subtitle">Nothing is due: {escape(caption)}.</div>'
    table = sheet(["pull", "due on", "kept in", "batches", "state"], lines, caption=caption)
    return f'<div class="sw-days">{table}</div>'


def _open_lines(study: Study, found: list[Due]) -> list[list[str]]:
    """Bottles of one place that stand alike are one line."""
    lines: dict[tuple[str, str, str, str], list[str]] = {}
    for pull in found:
        place = study.plan.condition(pull.condition).label
        lines.setdefault((pull.time_point, str(pull.due_on), place, pull.words), []).append(pull.batch)
    return [[point, day, place, ", ".join(batches), words] for (point, day, place, words), batches in lines.items()]


def _lines_to_come(study: Study, found: list[Due]) -> list[list[str]]:
    """The next pulls, each with the places and batches of its bottles."""
    lines = {}
    for label in list(dict.fromkeys(pull.time_point for pull in found))[:SHOWN_TO_COME]:
        here = [pull for pull in found if pull.time_point == label]
        places = list(dict.fromkeys(study.plan.condition(pull.condition).label for pull in here))
        kept = "every place" if len(places) == len(study.plan.conditions) else "; ".join(places)
        batches = ", ".join(dict.fromkeys(pull.batch for pull in here))
        lines[label] = [label, str(here[0].due_on), kept, batches, here[0].words]
    return list(lines.values())


def saved_words(study: Study, label: str, saved: list[Observation]) -> str:
    """What was saved, as a sentence."""
    bottles = list(dict.fromkeys((row.batch, row.condition) for row in saved))
    if len(bottles) > 1:
        return f"Saved {len(saved)} readings of {len(bottles)} bottles, {label}."
    (batch, condition), *_ = bottles
    names = ", ".join(study.plan.attribute(row.attribute).label for row in saved)
    return f"Saved for {batch}, {study.plan.condition(condition).label}, {label}: {names}."
