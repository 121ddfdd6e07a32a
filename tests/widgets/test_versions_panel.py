from __future__ import annotations

from kit.demos import demo
from kit.formula.model import Formula
from kit.widgets.bench import Bench
from kit.widgets.versions_panel import VersionsPanel
from tests.widgets.hands import HOSTILE, one_phase, rows, typed, words


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
    bench.apply({"kind": "remove_line", "phase": 1, "line": 1})
    assert rows(panel.table)[4] == ["Tocopherol", "0.30", "—", "-0.30"]


def test_a_formula_without_lines_is_told() -> None:
    assert words(VersionsPanel(Bench(Formula("Nothing yet"))).table) == "✕ The formula has no lines yet."


def test_hostile_notes_and_names_are_escaped() -> None:
    panel = VersionsPanel(Bench(one_phase((HOSTILE, "100"), change_note=HOSTILE)))
    assert rows(panel.table)[0][0] == HOSTILE
    assert f"version 1: {HOSTILE}" in words(panel.table)
    assert "<img" not in panel.table.value
