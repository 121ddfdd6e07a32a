"""Grades as a table: what was counted, where nothing was read, and text that stays text."""

from __future__ import annotations

from dataclasses import replace

import html5lib

from kit.figures.overview_table import grade_table
from kit.stability.demo import demo_observations, demo_study
from kit.stability.grades import grade_summary
from tests.figures.svg_reading import HOSTILE

STUDY, ROWS = demo_study(), demo_observations()


def cells(html: str) -> list[list[str]]:
    root = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parseFragment(html)
    return [["".join(cell.itertext()) for cell in row] for row in root.iter("tr")][1:]


def test_each_cell_has_the_middle_grade_its_range_and_what_is_beyond() -> None:
    summary = grade_summary(STUDY, ROWS, "appearance")
    rows = cells(grade_table(STUDY, summary))
    assert [row[0] for row in rows] == [condition.label for condition in STUDY.plan.conditions]
    # three batches in the window after twelve weeks: 3, 2 and 3, of which two are beyond the limit of 2
    assert rows[3][-1] == "3 (2 to 3) ✕ 2"
    assert rows[0][1:] == ["0"] * len(STUDY.plan.time_points)


def test_a_pull_that_nobody_read_is_a_dash_and_trends_are_told_where_there_are_any() -> None:
    summary = grade_summary(STUDY, [row for row in ROWS if row.condition == "window"], "appearance")
    html = grade_table(STUDY, summary)
    assert cells(html)[0][1:] == ["–"] * len(STUDY.plan.time_points)
    assert html.count("<li>") == 3
    assert "Kendall" in html
    assert "<ul" not in grade_table(STUDY, grade_summary(STUDY, [], "appearance"))


def test_what_a_person_typed_stays_text() -> None:
    study = replace(STUDY, batches=(HOSTILE, "TL-02", "TL-03"))
    rows = [replace(row, batch=HOSTILE if row.batch == "TL-01" else row.batch) for row in ROWS]
    html = grade_table(study, grade_summary(study, rows, "appearance"))
    assert "<script" not in html
    assert cells(html)
