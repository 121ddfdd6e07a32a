"""All findings in one place, with place, source, date and the sentence that local rules decide."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from kit.findings import SEVERITIES, Finding, Place
from kit.formula.model import Formula, Line, Phase, PhReading
from kit.widgets.bench import Bench
from kit.widgets.findings_panel import LOCAL, NOTHING, FindingsPanel, finding_html, place_words
from tests.widgets.hands import HOSTILE, html_of, one_phase, typed, words


@pytest.fixture
def panel() -> FindingsPanel:
    lines = ("Aqua", "q.s."), ("Phenoxyethanol", "1.2"), ("Urea", "12"), ("Allantoin", "0.8")
    return FindingsPanel(Bench(one_phase(*lines)))


def severities(panel: FindingsPanel) -> list[str]:
    return re.findall(r'data-severity="(\w+)"', panel.list.value)


def test_they_stand_worst_first_with_counts(panel: FindingsPanel) -> None:
    assert severities(panel) == ["stop", "caution", "note", "note"]
    assert [panel.form.inputs[severity].words for severity in SEVERITIES] == [
        "✕ stop (1)",
        "▲ caution (1)",
        "● note (2)",
    ]


def test_each_has_its_place_and_its_source_on_demand(panel: FindingsPanel) -> None:
    first = panel.list.value.split("</div></details></div>")[0]
    assert words_of(first).startswith("✕ stop Water layer, line 2, Phenoxyethanol: Phenoxyethanol comes to 1.2 %")
    details = re.search(r"<details[^>]*>(.*?)</details>", panel.list.value)[1]  # type: ignore[index]
    assert words_of(details) == (
        "source: law source Regulation (EC) No 1223/2009 on cosmetic products, Annex V, entry 29 as of 2026-05-26 "
        "what it is worth a law how it was read Read in an export of the European Commission's cosmetic-ingredient "
        f"database, last updated 26 May 2026. The text in the Official Journal is the law. and {LOCAL}"
    )
    assert "what it is worth a habit of the trade, not a law" in words(panel.list)


def words_of(html: str) -> str:
    import ipywidgets as ipw

    return words(ipw.HTML(html))


def test_a_severity_can_be_left_out(panel: FindingsPanel) -> None:
    panel.form.type(note="no")
    assert severities(panel) == ["stop", "caution"]
    assert "2 more not shown" in words(panel.list)
    assert panel.form.inputs["note"].words == "● note (2)"


def test_it_follows_the_bench(panel: FindingsPanel) -> None:
    typed(panel.bench, 0, 1, "0.9")
    assert "stop" not in severities(panel)
    panel.bench.undo()
    assert "stop" in severities(panel)


def test_the_place_decides_which_limits_count_for_every_panel(panel: FindingsPanel) -> None:
    panel.form.type(jurisdiction="us")
    assert panel.bench.jurisdiction == "us"
    assert "stop" not in severities(panel)
    panel.bench.jurisdiction = "eu"
    assert panel.form["jurisdiction"] == "eu"
    assert "stop" in severities(panel)


def test_a_measured_ph_joins_in(panel: FindingsPanel) -> None:
    panel.form.type(ph="7,2")
    assert panel.bench.ph == 7.2
    said = words(panel.list)
    assert "Urea is usually used at pH 6.5 and below: above it urea gives ammonia" in said
    assert "You measured 7.2." in said
    panel.form.type(ph="")
    assert panel.bench.ph is None
    assert "You measured" not in words(panel.list)


@pytest.mark.parametrize(
    ("typed_in", "sentence"),
    [("acid", "'acid' is not a number."), ("15", "A pH of 15 is not believable."), ("-1", "A pH of -1 is not")],
)
def test_a_ph_that_cannot_be_is_said_and_the_last_one_stays(panel: FindingsPanel, typed_in: str, sentence: str) -> None:
    panel.form.type(ph="5")
    panel.form.type(ph=typed_in)
    assert sentence in panel.form.faults["ph"]
    assert panel.bench.ph == 5.0


def test_a_formula_with_nothing_to_say_is_not_called_approved() -> None:
    panel = FindingsPanel(Bench(one_phase(("Aqua", "q.s."), ("Phenoxyethanol", "0.9"))))
    assert "● note The whole formula: Measure the pH of the water layer and type it beside" in words(panel.list)
    panel.form.type(ph="5,2")
    assert words(panel.list) == f"{NOTHING} {panel.bench.product.looked_up.sentence}"
    assert "no approval" in NOTHING


def test_a_measured_ph_and_its_day_stay_with_the_formula_until_undo(panel: FindingsPanel) -> None:
    panel.bench.save("before.toml")
    assert "ph_on" in panel.form.hidden
    panel.form.type(ph="7,2")
    panel.form.type(ph_on="2026.5.31")
    assert "Judged at pH 7.2, measured on 2026-05-31." in words(panel.list)
    panel.bench.save("toner.toml")
    again = FindingsPanel("toner.toml")
    assert (again.form.texts["ph"], again.form.texts["ph_on"]) == ("7.2", "2026-05-31")
    assert words(again.list) == words(panel.list)
    panel.form.type(ph="5")  # another reading, of which no day is known
    assert panel.bench.formula.measured_ph == PhReading(5.0)
    assert panel.bench.undoes == "The pH of the water layer was 5, now 7.2 (2026 …"
    panel.bench.undo()
    assert panel.form.texts["ph_on"] == "2026-05-31"
    panel.bench.undo()
    panel.bench.undo()
    assert (panel.bench.ph, panel.form.texts["ph"], panel.form.texts["ph_on"]) == (None, "", "")


def test_another_file_brings_no_ph_along(panel: FindingsPanel) -> None:
    panel.bench.save("toner.toml")
    panel.form.type(ph="5")
    panel.bench.open("toner.toml")
    assert panel.bench.ph is None
    assert panel.form.texts["ph"] == ""


def test_places_in_words() -> None:
    formula = Formula("x", (Phase("Oil layer", "oil", (Line("Squalane", "5"),)),))
    assert place_words(Place(), formula) == "The whole formula:"
    assert place_words(Place(0), formula) == "Oil layer:"
    assert place_words(Place(0, 0), formula) == "Oil layer, line 1, Squalane:"
    assert place_words(Place(0, 7), formula) == "Oil layer:"
    assert place_words(Place(3, 0), formula) == "The whole formula:"


def test_text_from_a_person_is_escaped(panel: FindingsPanel) -> None:
    formula = Formula(HOSTILE, (Phase(HOSTILE, "water", (Line(HOSTILE, "5"),)),))
    assert "<img" not in finding_html(Finding("stop", HOSTILE, Place(0, 0), HOSTILE), formula)
    panel.bench.change(replace(formula, note="x"))
    assert "<img" not in html_of(panel)
