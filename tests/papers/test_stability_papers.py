"""The plan of a study and its record sheets on paper."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import html5lib
import pytest

from kit.errors import EntryError
from kit.papers.paper import StudyRecord
from kit.papers.record_sheet import RecordSheetOptions
from kit.papers.registry import make_paper
from kit.stability.demo import demo_observations, demo_study
from kit.stability.plan import plans
from kit.stability.study import Study, current

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.stability.study import Observation

HOSTILE = "<script>alert(1)</script>\"'&</style>{{ 7*7 }}"
STUDY = demo_study()
NOW = current(demo_observations())


def stability_plan_html(study: Study) -> str:
    return make_paper("stability_plan", StudyRecord(study)).html


def record_sheet_html(study: Study, pull: str, rows: Sequence[Observation] = (), **more: str) -> str:
    return make_paper("record_sheet", StudyRecord(study, tuple(rows)), RecordSheetOptions(pull, **more)).html


def words(document: str) -> str:
    """What a person reads on the paper."""
    body = document[document.index("<body") :]
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", body)).split())


def hostile_study() -> Study:
    plan = STUDY.plan
    place = replace(plan.conditions[0], label=HOSTILE, how=HOSTILE, source=HOSTILE)
    thing = replace(plan.attribute("ph"), label=HOSTILE, how=HOSTILE, source=HOSTILE, unit=HOSTILE)
    point = replace(plan.time_points[0], label=HOSTILE)
    odd = replace(
        plan,
        title=HOSTILE,
        about=HOSTILE,
        source=HOSTILE,
        conditions=(place,),
        attributes=(thing,),
        time_points=(point,),
    )
    return Study(1, HOSTILE, odd, (HOSTILE,), STUDY.started_on, HOSTILE)


@pytest.mark.parametrize("key", sorted(plans()))
def test_every_ready_plan_makes_a_valid_paper_that_needs_nothing_else(key: str) -> None:
    study = Study(1, "Shake", plans()[key], ("A", "B"), STUDY.started_on)
    for document in (stability_plan_html(study), record_sheet_html(study, study.plan.time_points[0].label)):
        html5lib.HTMLParser(strict=True).parse(document)
        assert not re.search(r"(?:src|href)=|@import|url\(", document)


def test_hostile_text_stays_text() -> None:
    study = hostile_study()
    for document in (stability_plan_html(study), record_sheet_html(study, HOSTILE)):
        html5lib.HTMLParser(strict=True).parse(document)
        assert "<script" not in document
        assert document.count("</style>") == 1
        assert HOSTILE in words(document)


def test_the_plan_says_where_when_what_how_and_whence() -> None:
    said = words(stability_plan_html(STUDY))
    for part in (
        "Stability plan · Home maker, twelve weeks · After-swim body shake",
        "Batches TL-01, TL-02, TL-03",
        "Bottles 12",
        "Warm box, 40 °C 38 to 42 °C dark A box with a heating mat and a thermostat",
        "Window light swings, 15 to 30 °C daylight",
        "4 weeks 2026-02-09, Mon 2026-02-11 12",
        "start 2026-01-12, Mon that day",
        "pH change at most 0.5 Draw from the water layer",
        "Colour [L* a* b*] may be left out change at most 3 (CIEDE2000)",
        "ISO/TR 18811:2018 sets no conditions and no limits",
        "It does not say how long the product keeps.",
        "preservation efficacy test (ISO 11930)",
    ):
        assert part in said
    assert "safe" not in said


def test_a_record_sheet_has_a_row_for_each_bottle_and_attribute() -> None:
    sheet = record_sheet_html(STUDY, "8 weeks", NOW)
    assert sheet.count('<section aria-labelledby="bottle-') == 12
    assert sheet.count('<td class="write"></td><td class="write"></td></tr>') == 12 * len(STUDY.plan.attributes)
    assert "due on 2026-03-09, 3 days of grace" in words(sheet)


def test_the_sheet_of_one_bottle_shows_the_start_and_the_last_reading() -> None:
    said = words(record_sheet_html(STUDY, "8 weeks", NOW, batch="tl-02", condition="Warm box, 40 °C"))
    assert "TL-02 · Warm box, 40 °C" in said
    assert "TL-01" not in said
    assert "pH change at most 0.5 5.38 5.25 (4 weeks)" in said  # the corrected value, not the one typed first
    assert "Microbial count [CFU/g] at most 1000 CFU/g Remark" in said
    assert "Appearance [grade 0-4] 0 as on the first day, 1 slight change" in said


def test_at_the_start_there_is_nothing_before() -> None:
    said = words(record_sheet_html(STUDY, "start", NOW, batch="TL-01", condition="fridge"))
    assert "pH change at most 0.5 Viscosity" in said


def test_the_second_pull_repeats_the_start_only_once() -> None:
    said = words(record_sheet_html(STUDY, "1 day", NOW, batch="TL-01", condition="warm_box"))
    assert "pH change at most 0.5 5.33 Viscosity" in said


def test_an_unknown_bottle_is_told() -> None:
    with pytest.raises(EntryError, match="'TL-09' is not a batch of"):
        record_sheet_html(STUDY, "start", batch="TL-09")
    with pytest.raises(EntryError, match="'never' is not a time point of"):
        record_sheet_html(STUDY, "never")
