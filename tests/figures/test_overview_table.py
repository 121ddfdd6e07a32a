"""The overview as HTML: a sign and a word for every judgement, and nothing a person typed taken for HTML."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import html5lib
import pytest

from kit.figures.overview_table import (
    INKS,
    PAPERS,
    SIGNS,
    cycles_table,
    judgement_list,
    latest_in_words,
    overview_table,
    pulls_list,
    signed,
    verdict_chip,
)
from kit.stability.demo import demo_observations, demo_study
from kit.stability.overview import VERDICTS, overview
from kit.stability.plan import plans
from kit.stability.study import Observation, Study
from tests.figures.svg_reading import HOSTILE
from tests.figures.test_stability_figure import contrast

STUDY, ROWS = demo_study(), demo_observations()
PAGE = overview(STUDY, ROWS, date(2026, 4, 8))


def cells(html: str) -> list[list[str]]:
    """The body of a table, row by row, as text."""
    root = html5lib.parse(html, namespaceHTMLElements=False)
    return [["".join(cell.itertext()) for cell in row] for row in root.iter("tr")][1:]


def test_each_judgement_has_a_sign_and_a_word_and_ink_that_can_be_read() -> None:
    assert len(set(SIGNS.values())) == len(VERDICTS)
    for verdict in VERDICTS:
        chip = verdict_chip(verdict)
        assert f">{SIGNS[verdict]} {verdict}<" in chip
        ink, paper = (re.search(r"#\w{6}", text) for text in (INKS[verdict], PAPERS[verdict]))
        assert ink
        # 4.5:1 for text: WCAG 2.2, success criterion 1.4.3
        assert contrast(ink[0], paper[0] if paper else "#ffffff") >= 4.5


def test_a_row_for_each_attribute_a_column_for_each_condition() -> None:
    rows = cells(overview_table(PAGE))
    assert [row[0] for row in rows] == [attribute.title for attribute in STUDY.plan.attributes]
    assert {len(row) for row in rows} == {1 + len(STUDY.plan.conditions)}


def test_a_cell_says_the_worst_word_and_the_newest_reading_of_each_batch() -> None:
    column = 1 + [condition.key for condition in STUDY.plan.conditions].index("warm_box")
    (cell,) = (row[column] for row in cells(overview_table(PAGE)) if row[0] == "pH")
    assert cell.startswith("✕ fail")
    for one in PAGE.cell("ph", "warm_box"):
        assert one.latest is not None
        assert f"{SIGNS[one.verdict]} {one.batch} {one.latest.number:g} ({signed(one.change or 0)})" in cell


def test_what_to_look_at_is_listed_with_its_reason() -> None:
    html = judgement_list(PAGE)
    assert html.count("<li>") == PAGE.counts["fail"] + PAGE.counts["watch"]
    assert "and the plan allows 0.5." in html
    assert judgement_list(overview(STUDY, [], STUDY.started_on)) == ""


def test_pulls_late_and_missed_are_told() -> None:
    html = pulls_list(PAGE)
    assert html.count("<li>") == 2
    assert "<b>TL-03</b>, every place, 8 weeks, due 2026-03-09: read 6 days after it was due" in html
    assert "missed: nothing was read before the next pull fell due on 2026-02-09" in html
    assert "read 6 days after it was due" in html
    assert "Every pull so far was read in time." in pulls_list(overview(STUDY, [], STUDY.started_on))


def test_bottles_of_one_place_that_stand_alike_are_one_line() -> None:
    study = Study(1, "Shake", plans()["home-twelve-weeks"], ("A", "B"), date(2026, 1, 12))
    read = [Observation(1, 1, "A", "fridge", "start", "ph", "5,3", 5.3, study.started_on)]
    html = pulls_list(overview(study, read, date(2026, 1, 13)))
    assert html.count("<li>") == 4
    assert "<li><b>A, B</b>, Cupboard, 20 to 25 °C, start, due 2026-01-12: missed" in html
    assert "<li><b>B</b>, Fridge, 4 to 8 °C, start, due 2026-01-12: missed" in html


def test_cycles_have_a_table_where_the_plan_has_them() -> None:
    assert cycles_table(PAGE) == ""
    study = Study(1, "Frozen", plans()["freeze-thaw"], ("A",), date(2026, 1, 12))
    rows = cells(cycles_table(overview(study, [], date(2026, 1, 12))))
    assert rows[0] == ["A", "Cycled, cold and warm", "· not read", "0 of 3 cycles passed; 0 read in full so far."]


@pytest.mark.parametrize(
    ("attribute", "expected"),
    [("leak", "no"), ("appearance", "2 (+2)"), ("colour", "CIEDE2000 5.8"), ("remark", "not read")],
)
def test_the_newest_reading_in_words(attribute: str, expected: str) -> None:
    one = PAGE.cell(attribute, "warm_box")[0]
    assert latest_in_words(STUDY.plan.attribute(attribute), one) == expected


def test_what_a_person_typed_stays_text() -> None:
    plan = replace(STUDY.plan, attributes=tuple(replace(one, label=HOSTILE) for one in STUDY.plan.attributes))
    study = replace(STUDY, batches=(HOSTILE,), plan=plan)
    rows = [replace(row, batch=HOSTILE, value=row.value if row.attribute != "colour_note" else HOSTILE) for row in ROWS]
    page = overview(study, [row for row in rows if row.replaces is None], date(2026, 4, 8))
    for html in (overview_table(page), judgement_list(page), pulls_list(page)):
        assert "<script" not in html
        assert "\x00" not in html
        html5lib.HTMLParser(strict=True).parseFragment(html)
