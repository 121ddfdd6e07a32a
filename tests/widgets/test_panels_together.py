"""Every panel on one bench: a change in one place is seen in all others."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.bench.scaling import Order
from kit.formula.model import Formula
from kit.layers.bottle import bundled_bottles
from kit.library.description import Description
from kit.library.library import Library
from kit.widgets.bench import Bench
from kit.widgets.formula_panel import FormulaPanel
from kit.widgets.papers_panel import PapersPanel
from kit.widgets.ratio_panel import RatioPanel
from kit.widgets.scaling_panel import ScalingPanel
from kit.widgets.stock_panel import StockPanel, SubstancesPanel
from kit.widgets.versions_panel import VersionsPanel
from tests.formula.made import formulas
from tests.widgets.hands import HOSTILE, all_widgets, html_of, is_hidden, one_phase, two_layers, typed, words

if TYPE_CHECKING:
    from kit.widgets.panel import Panel

PANELS: list[type[Any]] = [
    FormulaPanel,
    RatioPanel,
    ScalingPanel,
    StockPanel,
    SubstancesPanel,
    VersionsPanel,
    PapersPanel,
]


def shown(panel: Panel) -> list[object]:
    """All that a panel shows: the value of each control, each text, each drawn view, and what is hidden."""
    found: list[object] = []
    for widget in all_widgets(panel):
        hidden = hasattr(widget, "layout") and is_hidden(widget)
        view = {key: value for key, value in getattr(widget, "view", {}).items() if key != "serial"}
        form: list[object] = [getattr(widget, name, None) for name in ("fields", "faults", "hidden", "disabled")]
        gone = set(getattr(widget, "hidden", ()))
        form.append({name: text for name, text in getattr(widget, "texts", {}).items() if name not in gone})
        found.append((hidden, None if hidden else getattr(widget, "value", None), view, form))
    return found


def typed_and_undone(bench: Bench) -> None:
    typed(bench, 0, 1, "6")
    bench.undo()


CHANGES: dict[str, Any] = {
    "an amount": lambda bench: typed(bench, 0, 1, "6"),
    "half an amount": lambda bench: typed(bench, 0, 1, "6 of"),
    "the ratio": lambda bench: bench.move_oil(33),
    "the ratio beyond its end": lambda bench: bench.move_oil(200),
    "a version": lambda bench: bench.keep("more"),
    "undo": typed_and_undone,
    "the order": lambda bench: setattr(bench, "order", Order(by="bottles", bottles=7, fill=44.0)),
    "the fill": lambda bench: setattr(bench, "fill", 31.5),
    "too much in the bottle": lambda bench: setattr(bench, "fill", 999.0),
    "the bottle": lambda bench: setattr(bench, "bottle", bundled_bottles()["round 50 mL"]),
    "the tolerance": lambda bench: setattr(bench, "tolerance", 3.0),
    "another formula": lambda bench: bench.change(one_phase(("Aqua", "10 g"), ("Glycerin", "q.s."))),
    "nothing at all": lambda bench: bench.change(Formula("Nothing yet")),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
@pytest.mark.parametrize("kind", [RatioPanel, ScalingPanel, SubstancesPanel, VersionsPanel])
def test_a_panel_that_followed_shows_what_one_made_now_shows(kind: type[Any], change: Any) -> None:
    bench = Bench(two_layers())
    followed = kind(bench)
    change(bench)
    assert shown(followed) == shown(kind(bench))


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_the_formula_panel_shows_the_formula_in_hand(bench: Bench, change: Any) -> None:
    followed = FormulaPanel(bench)
    change(bench)
    made_now = FormulaPanel(bench)
    assert followed.table.view == made_now.table.view
    assert followed.about.texts == made_now.about.texts
    assert followed.about.hidden == made_now.about.hidden


@pytest.mark.parametrize("kind", [RatioPanel, ScalingPanel])
def test_two_panels_of_one_kind_follow_each_other(bench: Bench, kind: type[Any]) -> None:
    one, two = kind(bench), kind(bench)
    if kind is RatioPanel:
        one.ratio.type(mass="22")
        two.bottle.type(bottle="round 50 mL")
        one.bottle.type(fill="30")
    else:
        one.form.type(by="by bottles")
        two.form.type(bottles="9")
        one.form.type(overage="4")
        two.form.type(readability="0.1")
        one.form.type(fill="60")
    assert shown(one) == shown(two)


def test_the_fill_of_one_panel_is_the_fill_of_the_other(bench: Bench) -> None:
    ratio, scaling = RatioPanel(bench), ScalingPanel(bench)
    scaling.form.type(by="by bottles", fill="50")
    assert ratio.bottle["fill"] == bench.fill
    ratio.bottle.type(fill="60")
    assert scaling.form["fill"] == pytest.approx(60)
    assert "6 bottles of 60 mL" in words(scaling.table)
    ratio.bottle.type(bottle="round 50 mL")
    assert f"6 bottles of {bench.fill:g} mL" in words(scaling.table)
    assert "of the 55.3 mL that round 50 mL holds" in words(scaling.table)


def test_each_change_of_the_formula_refreshes_each_panel_once(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    counts = dict.fromkeys(PANELS, 0)
    for kind in PANELS:

        def counted(self: Any, kind: type[Any] = kind, real: Any = kind.refresh) -> None:
            counts[kind] += 1
            real(self)

        monkeypatch.setattr(kind, "refresh", counted)
    panels = [kind(bench) for kind in PANELS]
    typed(bench, 0, 1, "6")
    bench.move_oil(20)
    assert counts == dict.fromkeys(PANELS, 3)
    panels[1].ratio.type(mass="25")
    assert counts == dict.fromkeys(PANELS, 4)


def test_what_the_library_learns_reaches_the_panels(bench: Bench) -> None:
    panel = FormulaPanel(bench)
    bench.apply({"kind": "set_material", "phase": 0, "line": 1, "text": "Glycerin"})
    bench.library = Library(())
    assert panel.table.view["lines"][0][1]["field_marks"] == {"material": "caution"}


@given(formulas(), st.integers(0, 1200).map(lambda tenths: tenths / 10))
@settings(max_examples=30)
def test_every_panel_can_show_a_formula_at_any_stage_of_typing(formula: Formula, fill: float) -> None:
    bench = Bench(two_layers())
    panels = [kind(bench) for kind in PANELS]
    bench.fill = fill
    bench.change(formula)
    assert panels[0].table.view["title"] == formula.title
    bench.undo()
    assert panels[0].table.view["total"] == "100.00 %"


@pytest.mark.parametrize("kind", PANELS)
def test_hostile_text_never_becomes_html(kind: type[Any]) -> None:
    bench = Bench(
        two_layers(
            title=HOSTILE,
            note=HOSTILE,
            change_note=HOSTILE,
            description=Description(body_part=HOSTILE),
            steps=(HOSTILE,),
        )
    )
    panel = kind(bench)
    bench.apply({"kind": "set_phase_name", "phase": 0, "text": HOSTILE})
    bench.apply({"kind": "set_material", "phase": 0, "line": 1, "text": HOSTILE})
    for button in (getattr(panel, name, None) for name in ("write", "save_button", "keep")):
        if button is not None:
            button.click()
    if isinstance(panel, StockPanel):
        panel.details.press("make")
        panel.use.press("use")
    bench.apply({"kind": "set_entry", "phase": 0, "line": 0, "text": HOSTILE})
    for button in (getattr(panel, name, None) for name in ("write", "keep")):
        if button is not None:
            button.click()
    assert html_of(panel)
    assert "<img" not in html_of(panel)
