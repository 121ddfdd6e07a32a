"""The compare panel: versions, variants and files, every view, and the paper."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from kit.bench.price_list import demo_prices
from kit.demos import demo
from kit.formula.editing import remove_line, set_line
from kit.formula.files import save_formula
from kit.formula.versions import with_variant
from kit.widgets.bench import Bench
from kit.widgets.compare_panel import ComparePanel
from tests.widgets.hands import HOSTILE, html_of, one_phase, rows, said, two_layers, words


@pytest.fixture
def panel() -> ComparePanel:
    return ComparePanel(Bench(demo()))


def test_it_starts_with_the_last_two_versions(panel: ComparePanel) -> None:
    assert panel.form["chosen"] == ("version 2", "version 3")
    assert words(panel.body).startswith("From version 2 to version 3 Aqua ▲ more: 72.4 % to 74.4 % Glycerin ▼ less")


def test_what_is_in_hand_is_compared_with_what_it_started_from(panel: ComparePanel) -> None:
    panel.bench.change(remove_line(panel.bench.formula, 0, 1))
    assert panel.form["chosen"] == ("version 3", "in hand")
    assert "Glycerin − removed: 4 % in Water layer" in words(panel.body)
    panel.bench.undo()
    assert panel.form["chosen"] == ("version 2", "version 3")


def test_a_choice_stays_while_it_can(panel: ComparePanel) -> None:
    panel.bench.change(remove_line(panel.bench.formula, 0, 1))
    panel.form.type(chosen="\n".join(("version 2", "version 3", "in hand")))
    panel.bench.change(set_line(panel.bench.formula, 0, 1, entry="3"))
    assert panel.form["chosen"] == ("version 2", "version 3", "in hand")
    said = words(panel.body)
    assert "From version 2 to version 3" in said
    assert "From version 3 to in hand" in said
    assert "From version 2 to in hand" in said


def test_one_or_six_are_not_compared(panel: ComparePanel) -> None:
    panel.form.type(chosen="\n".join(("version 2",)))
    assert "Choose from 2 to 5 versions to compare; 1 is chosen." in words(panel.body)


def test_a_formula_without_a_history_says_what_to_do() -> None:
    panel = ComparePanel(Bench(two_layers()))
    assert "There is only one version so far. Keep a version, pin a variant, or add a file." in words(panel.body)


def test_two_versions_of_one_number_are_both_there() -> None:
    twice = replace(two_layers(), earlier=(set_line(two_layers(), 0, 1, entry="9"),))
    panel = ComparePanel(Bench(twice))
    assert panel.form.fields[0]["options"] == ["version 1", "in hand"]
    assert "Glycerin ▼ less: 9 % to 4 %" in words(panel.body)


def test_line_by_line_has_a_word_beside_each_change(panel: ComparePanel) -> None:
    panel.form.type(view="lines")
    cells = {row[0]: row[1:] for row in rows(panel.body)}
    assert cells["Glycerin"] == ["6.00", "4.00", "▼ less: 6 % to 4 %"]
    assert cells["Parfum"] == ["0.10", "0.10", "same"]
    panel.bench.change(set_line(panel.bench.formula, 0, 1, entry="a pinch"))
    assert {row[0]: row[2] for row in rows(panel.body)}["Glycerin"] == "?"


def test_substances_are_taken_apart(panel: ComparePanel) -> None:
    panel.form.type(view="substances")
    cells = {row[0]: row[1:] for row in rows(panel.body)}
    assert cells["Citric Acid"] == ["0.35", "0.35", "same"]
    assert cells["Glycerin"] == ["6.00", "4.00", "▼ less by 2"]


def test_what_follows_density_cost_and_findings(panel: ComparePanel) -> None:
    panel.form.type(view="sums")
    assert [row[0] for row in rows(panel.body)][:2] == ["density shaken, g/mL", "findings: stop"]
    panel.bench.prices = demo_prices()
    assert rows(panel.body)[1] == ["materials of 100 g", "0.95 EUR", "0.93 EUR"]
    panel.bench.change(set_line(panel.bench.formula, 0, 1, material="Nobody Knows"))
    assert rows(panel.body)[1][2].startswith("at least ")


def test_lists_of_ingredients_and_what_changed_in_them(panel: ComparePanel) -> None:
    panel.form.type(view="declared")
    assert [row[0] for row in rows(panel.body)] == [
        "version 2, European Union",
        "version 3, European Union",
        "version 2, United States",
        "version 3, United States",
    ]
    assert "European Union: Prunus Armeniaca Kernel Oil now stands before Glycerin." in words(panel.body)


def test_variants_and_files_can_be_chosen(panel: ComparePanel) -> None:
    bench = panel.bench
    bench.change(with_variant(bench.formula, "dry hair"))
    assert panel.form.fields[0]["options"][-1] == "variant dry hair"
    save_formula(one_phase(("Aqua", "q.s."), ("Urea", "2")), "other.toml")
    panel.form.type(file="other.toml")
    panel.form.press("add")
    assert "other.toml is in the list now." in said(panel.form)
    assert panel.form["chosen"][-1] == "file other.toml"
    assert "Urea + added: 2 % in Water layer" in words(panel.body)
    panel.form.type(file="none.toml")
    panel.form.press("add")
    assert "there is no file none.toml" in said(panel.form)
    panel.form.type(file="")
    panel.form.press("add")
    assert "Give the name of a formula's file" in said(panel.form)


def test_the_paper_is_written(panel: ComparePanel) -> None:
    panel.form.press("write")
    assert "Wrote comparison_after_swim_body_shake.html beside this notebook." in said(panel.form)
    assert "Comparison of 2 versions" in Path("comparison_after_swim_body_shake.html").read_text(encoding="utf-8")
    panel.form.type(chosen="\n".join(("version 3",)))
    panel.form.press("write")
    assert "Choose from 2 to 5 versions" in said(panel.form)


def test_hostile_text_stays_text() -> None:
    bench = Bench(two_layers())
    nasty = set_line(two_layers(title=HOSTILE, note=HOSTILE), 0, 1, material=HOSTILE, note=HOSTILE)
    bench.change(with_variant(replace(nasty, steps=(HOSTILE,)), HOSTILE))
    panel = ComparePanel(bench)
    panel.form.type(chosen="\n".join(panel.form.fields[0]["options"]))
    for view in panel.form.fields[2]["options"]:
        panel.form.type(view=view)
        assert "<img" not in html_of(panel)
        assert HOSTILE in words(panel.body)
