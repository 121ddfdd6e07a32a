from __future__ import annotations

import re
from datetime import date
from html import unescape
from pathlib import Path

import pytest

from kit.bench.balance import Balance
from kit.bench.scaling import Order
from kit.demos import demo
from kit.formula.model import Formula
from kit.widgets.bench import Bench
from kit.widgets.papers_panel import PapersPanel
from kit.widgets.versions_panel import VersionsPanel
from tests.widgets.hands import HOSTILE, one_phase, rows, two_layers, typed, words

# ---- versions ---------------------------------------------------------------------------------------------


def test_the_earlier_and_the_kept_version_stand_side_by_side() -> None:
    panel = VersionsPanel(Bench(demo()))
    found = {row[0]: row[1:] for row in rows(panel.table)}
    assert "ingredient version 2 version 3 first to last" in words(panel.table)
    assert found["Glycerin"] == ["6.00", "4.00", "-2.00"]
    assert "version 3: less glycerin, so that it feels less sticky" in words(panel.table)


def test_what_is_in_hand_joins_while_it_differs_and_is_a_version_once_kept(bench: Bench) -> None:
    panel = VersionsPanel(bench)
    assert "in hand" not in words(panel.table)
    typed(bench, 0, 1, "5")
    assert "ingredient version 1 in hand first to last" in words(panel.table)
    assert rows(panel.table)[1] == ["Glycerin", "4.00", "5.00", "+1.00"]
    bench.keep("stickier")
    assert "ingredient version 1 version 2 first to last" in words(panel.table)
    assert "version 2: stickier" in words(panel.table)


def test_a_line_that_a_version_lacks_is_a_dash(bench: Bench) -> None:
    panel = VersionsPanel(bench)
    bench.hear({"kind": "remove_line", "phase": 1, "line": 1})
    assert rows(panel.table)[4] == ["Tocopherol", "0.30", "—", "-0.30"]


def test_a_formula_without_lines_is_told() -> None:
    assert words(VersionsPanel(Bench(Formula("Nothing yet"))).table) == "✕ The formula has no lines yet."


def test_hostile_notes_and_names_are_escaped() -> None:
    panel = VersionsPanel(Bench(one_phase((HOSTILE, "100"), change_note=HOSTILE)))
    assert rows(panel.table)[0][0] == HOSTILE
    assert f"version 1: {HOSTILE}" in words(panel.table)
    assert "<img" not in panel.table.value


# ---- papers -----------------------------------------------------------------------------------------------


@pytest.fixture
def papers(bench: Bench) -> PapersPanel:
    return PapersPanel(bench)


def sheet(name: str = "batch_sheet_shake.html") -> str:
    return Path(name).read_text(encoding="utf-8")


def test_the_batch_sheet_stands_on_its_own(papers: PapersPanel) -> None:
    papers.lot.value, papers.made_by.value, papers.made_on.value = (
        "TL-07",
        "A. N. Maker (invented)",
        date(2026, 3, 9),
    )
    papers.write.click()
    assert words(papers.message) == (
        "✓ Wrote batch_sheet_shake_tl_07.html beside this notebook. Open it in a browser and print."
    )
    html = sheet("batch_sheet_shake_tl_07.html")
    assert html.startswith("<!DOCTYPE html>")
    assert not re.search(r"https?:|<script|<link|<img|\bsrc=|url\(|@import", html)
    for word in (
        "TL-07",
        "A. N. Maker (invented)",
        "2026-03-09",
        "Weigh 250.00 g",
        "Tocopherol",
        "In the bottle",
    ):
        assert word in html


def test_what_is_shown_is_what_was_written(papers: PapersPanel) -> None:
    papers.write.click()
    shown = re.search(r'srcdoc="([^"]*)"', papers.preview.value)
    assert shown
    assert unescape(shown[1]) == sheet()


def test_written_again_the_sheet_before_is_kept(papers: PapersPanel) -> None:
    papers.write.click()
    first = sheet()
    papers.bench.order = Order(grams=500)
    papers.write.click()
    assert "Weigh 500.00 g" in sheet()
    assert sheet("batch_sheet_shake.html.previous") == first


@pytest.mark.parametrize(
    ("trait", "value"),
    [
        ("formula", two_layers(title="Another")),
        ("order", Order(grams=500)),
        ("balance", Balance(0.1)),
        ("tolerance", 2.0),
        ("fill", 40.0),
    ],
)
def test_a_sheet_of_another_state_of_the_bench_is_no_longer_shown(
    papers: PapersPanel, trait: str, value: object
) -> None:
    papers.write.click()
    assert papers.preview.value
    setattr(papers.bench, trait, value)
    assert papers.preview.value == papers.message.value == ""


def test_a_formula_that_cannot_be_weighed_gets_no_sheet(papers: PapersPanel) -> None:
    typed(papers.bench, 0, 1, "")
    papers.write.click()
    assert words(papers.message).startswith("✕ Shake cannot be weighed yet: Glycerin (line 2 of Water layer)")
    assert papers.preview.value == ""
    assert list(Path.cwd().iterdir()) == []


def test_a_fill_that_the_bottle_cannot_hold_leaves_the_bottle_out(papers: PapersPanel) -> None:
    papers.bench.fill = 300
    papers.write.click()
    assert "In the bottle" not in sheet()


def test_a_finding_that_stops_is_printed_first(papers: PapersPanel) -> None:
    papers.bench.hear({"kind": "set_material", "phase": 0, "line": 1, "text": "Moon Dust"})
    papers.write.click()
    assert sheet().index("Moon Dust is not in the library") < sheet().index("Weigh 250.00 g")


def test_a_folder_that_is_in_the_way_is_told(papers: PapersPanel) -> None:
    Path("batch_sheet_shake.html").mkdir()
    papers.write.click()
    assert "✕ batch_sheet_shake.html was not saved: there is a folder of that name." in words(papers.message)


def test_hostile_text_is_escaped_on_paper_and_in_the_preview() -> None:
    papers = PapersPanel(Bench(one_phase(("Aqua", "q.s."), (HOSTILE, "5"), note=HOSTILE, steps=(HOSTILE,))))
    papers.lot.value = papers.made_by.value = HOSTILE
    papers.write.click()
    (path,) = Path.cwd().glob("batch_sheet_*.html")
    assert "<img" not in path.read_text(encoding="utf-8")
    assert path.read_text(encoding="utf-8").count("&lt;img") >= 5
    assert "<img" not in papers.preview.value + papers.message.value
    assert papers.preview.value.count('"') == 6  # three attributes, none of them broken out of
