"""The stability report: every number in it is the one that was computed, and nothing is left out."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest

from kit.papers.paper import StudyRecord
from kit.papers.registry import make_paper
from kit.papers.stability_computed import computed, has_limit
from kit.papers.stability_report import StabilityReportOptions, limits_in_words
from kit.stability.demo import MISSED, demo_observations, demo_study
from kit.stability.grades import grade_summary
from kit.stability.overview import overview
from kit.stability.plan import Attribute
from kit.stability.series import acceptance, series_of
from kit.stability.shelf_life import shelf_life
from kit.stability.study import current
from tests.papers.reading import Page

STUDY, ROWS = demo_study(), demo_observations()
NOW = current(ROWS)
TODAY = date(2026, 4, 8)
REPORT = StabilityReportOptions("KM", TODAY.isoformat(), long=True)
HTML = make_paper("stability_report", StudyRecord(STUDY, tuple(ROWS)), REPORT).html
PAGE = Page(HTML)


def part(name: str) -> list[list[list[str]]]:
    """The tables of a section, row by row, cell by cell."""
    (section,) = (s for s in PAGE.all("section") if s.get("aria-labelledby") == name)
    return [
        [[" ".join("".join(cell.itertext()).split()) for cell in row] for row in table.iter("tr")]
        for table in section.iter("table")
    ]


def said(name: str) -> str:
    (section,) = (s for s in PAGE.all("section") if s.get("aria-labelledby") == name)
    return " ".join("".join(section.itertext()).split())


def test_it_is_a_valid_page_with_every_section() -> None:
    assert PAGE.faults() == []
    names = [section.get("aria-labelledby") for section in PAGE.all("section")]
    assert names == [
        "summary", "overview", "trends", "grades", "computed", "plan", "readings", "corrections", "hands", "pulls",
        "notes", "methods", "cautions",
    ]  # fmt: skip
    assert "KM" in PAGE.text
    assert "2026-04-08" in PAGE.text


def test_the_summary_counts_what_the_overview_counts() -> None:
    found = overview(STUDY, ROWS, TODAY)
    assert found.in_words in said("summary")
    for verdict, count in found.counts.items():
        assert f"{verdict}: {count}" in said("summary")


def test_every_reading_in_force_stands_in_its_cell() -> None:
    tables = part("readings")
    read = [a for a in STUDY.plan.attributes if any(row.attribute == a.key for row in NOW)]
    assert len(tables) == len(read)
    points = [point.label for point in STUDY.plan.time_points]
    for attribute, table in zip(read, tables, strict=True):
        assert table[0] == ["Kept in", "Batch", *points]
        shown = {
            (row[0], row[1], point): re.sub(r"^✕ | \[\d+\]$", "", cell)
            for row in table[1:]
            for point, cell in zip(points, row[2:], strict=True)
        }
        expected = {
            (STUDY.plan.condition(row.condition).label, row.batch, row.time_point): row.value
            for row in NOW
            if row.attribute == attribute.key
        }
        batch, condition, point = MISSED
        assert shown.pop((STUDY.plan.condition(condition).label, batch, point)) == "–"
        assert shown == expected


def test_readings_outside_and_corrected_are_marked() -> None:
    read = {row.attribute for row in ROWS}
    shown = [one.key for one in STUDY.plan.attributes if one.key in read]
    ph = part("readings")[shown.index("ph")]
    cells = [cell for row in ph[1:] for cell in row[2:]]
    assert sum(cell.startswith("✕ ") for cell in cells) == sum(
        one.verdict == "fail" for one in overview(STUDY, ROWS, TODAY).judgements if one.attribute == "ph"
    )
    assert [cell for cell in cells if cell.endswith("[1]")] == [ROWS_CORRECTED.value + " [1]"]


ROWS_CORRECTED = next(row for row in ROWS if row.replaces is not None)


def test_a_correction_shows_both_values_reason_and_hand() -> None:
    ((_, row),) = part("corrections")
    before = next(one for one in ROWS if one.id == ROWS_CORRECTED.replaces)
    assert row == [
        "1", STUDY.words(ROWS_CORRECTED.cell), before.value, ROWS_CORRECTED.value, ROWS_CORRECTED.reason,
        "evening class", ROWS_CORRECTED.recorded_at,
    ]  # fmt: skip


def test_who_read_what_when_and_the_notes() -> None:
    (table,) = part("hands")
    assert len(table) == 1 + len(STUDY.batches) * len(STUDY.plan.conditions)
    assert "2026-01-12evening class" in table[1][2]
    (notes,) = part("notes")
    late = next(row for row in notes if "six days late: the workshop was closed" in row[4])
    assert late[3] == "the whole pull"
    assert "read 6 days after it was due" in said("pulls")
    assert "missed" in said("pulls")


def test_the_estimates_are_those_of_the_calculation() -> None:
    limited = [a for a in STUDY.plan.attributes if a.kind in ("number", "colour") and has_limit(a)]
    read = [a for a in limited if any(row.attribute == a.key for row in NOW)]
    tables = part("computed")
    assert len(tables) == len(read)
    for attribute, table in zip(read, tables, strict=True):
        for condition, row in zip(STUDY.plan.conditions, table[1:], strict=True):
            lower, upper, sided = acceptance(STUDY, attribute.key, ROWS, condition.key)
            series = series_of(STUDY, ROWS, condition.key, attribute.key)
            found = shelf_life(series, lower=lower, upper=upper, sided="one" if sided == "one" else "two")
            assert found.cap is not None
            crossing = "never" if found.crossing is None else str(int(found.crossing))
            assert row[0] == condition.label
            assert row[1] == found.model_key
            assert row[4:7] == [crossing, f"{found.cap.days:.0f}", f"{found.days:.0f}"]
            assert row[2] == (f"{found.pooling.slopes:.3f}" if (found.pooling.slopes or 0) >= 0.001 else "< 0.001")


def test_the_chart_is_of_the_place_that_meets_its_limit_first() -> None:
    limits = acceptance(STUDY, "ph", ROWS, "warm_box")
    found = shelf_life(series_of(STUDY, ROWS, "warm_box", "ph"), lower=limits.lower, upper=limits.upper, sided="two")
    assert f"Warm box, 40 °C: {found.sentence}" in said("computed")
    assert f"estimate {found.days:.0f} days" in said("computed")
    assert len(found.checks) == 4
    assert all(check.words in said("computed") for check in found.checks)


def test_grades_are_counted() -> None:
    appearance, odour = part("grades")
    summary = grade_summary(STUDY, ROWS, "appearance")
    assert summary.sentence in said("grades")
    assert grade_summary(STUDY, ROWS, "odour").sentence in said("grades")
    window = next(row for row in appearance if row[0] == "Window light")
    last = next(one for one in summary.at if (one.condition, one.time_point) == ("window", "12 weeks"))
    assert window[-1] == f"{last.median_words} ({last.lowest} to {last.highest}) ✕ {last.beyond}"
    assert odour[1][1] == "0"


def test_cautions_of_an_estimate_name_their_place() -> None:
    shakes = next(one for one in computed(STUDY, ROWS)["attributes"] if one["title"].startswith("Shakes"))
    assert shakes["findings"]
    labels = tuple(f"{condition.label}: " for condition in STUDY.plan.conditions)
    assert all(finding.sentence.startswith(labels) for finding in shakes["findings"])
    assert {finding.severity for finding in shakes["findings"]} <= {"stop", "caution"}


def test_plan_limits_methods_and_cautions_are_there() -> None:
    conditions, attributes = part("plan")
    assert [row[0] for row in conditions[1:]] == [condition.label for condition in STUDY.plan.conditions]
    assert [row[1] for row in attributes[1:]] == [limits_in_words(one) for one in STUDY.plan.attributes]
    assert "ICH Q1E" in said("methods")
    assert "CIEDE2000" in said("methods")
    assert "our choice" not in said("methods")
    assert "ISO 11930" in said("cautions")
    assert "article 19(1)(c)" in said("cautions")
    assert not re.search(r"\b(safe|preserved)\b", PAGE.text, re.IGNORECASE)


def test_there_is_a_chart_for_each_number_and_colour_that_was_read() -> None:
    drawn = [
        a for a in STUDY.plan.attributes if (a.numeric or a.kind == "colour") and any(r.attribute == a.key for r in NOW)
    ]
    charts = [element for element in PAGE.root.iter() if str(element.tag).endswith("svg")]
    colours = sum(a.kind == "colour" for a in drawn)
    assert len(charts) == len(drawn) + colours + len(part("computed"))
    assert len(PAGE.all("figure")) == len(charts)


def test_an_empty_study_still_has_a_report() -> None:
    options = StabilityReportOptions(today=STUDY.started_on.isoformat(), long=True)
    page = Page(make_paper("stability_report", StudyRecord(STUDY), options).html)
    assert page.faults() == []
    assert "Nothing was read yet that can be drawn." in page.text
    assert "No reading was corrected." in page.text


def test_order_and_levels_are_passed_on_and_said() -> None:
    found = computed(STUDY, ROWS, order="first", confidence=0.9, pooling_level=0.05)
    assert found["settings"].startswith("Straight lines through the logarithms of the readings; confidence 90 %,")
    assert "at a level of 0.05" in found["settings"]
    ph = next(one for one in found["attributes"] if one["title"] == "pH")
    lower, upper, _ = acceptance(STUDY, "ph", ROWS, "warm_box")
    series = series_of(STUDY, ROWS, "warm_box", "ph")
    alone = shelf_life(series, lower=lower, upper=upper, sided="two", order="first", confidence=0.9, pooling_level=0.05)
    assert next(row for row in ph["rows"] if row["condition"].startswith("Warm"))["days"] == f"{alone.days:.0f}"


def test_starts_too_far_apart_are_told_instead_of_an_estimate() -> None:
    rows = [
        replace(row, number=9.0, value="9.0")
        if (row.attribute, row.batch, row.time_point) == ("ph", "TL-02", "start")
        else row
        for row in ROWS
    ]
    ph = next(one for one in computed(STUDY, rows)["attributes"] if one["title"] == "pH")
    assert ph["rows"] == []
    assert "Look at one batch at a time." in ph["problem"]


@pytest.mark.parametrize(
    ("attribute", "words"),
    [
        (Attribute("a", "A", "number", "mm", lower=3, upper=5), "at least 3 mm; at most 5 mm"),
        (Attribute("a", "A", "number", "g", change_percent=2), "change from the start at most 2 %"),
        (Attribute("a", "A", "colour", change=3), "change from the start at most 3 (CIEDE2000)"),
        (Attribute("a", "A", "yes/no", expected="no"), "expected: no"),
        (Attribute("a", "A", "text"), "none"),
    ],
)
def test_limits_in_words(attribute: Attribute, words: str) -> None:
    assert limits_in_words(attribute) == words
