"""The look of all panels: large text, what a style sheet may still name, and charts that find their colours."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

import kit
from kit.figures.theme import FONT_SIZE, LARGE_FONT_SIZE, LAYER_COLOURS, theme_css
from kit.widgets import look
from kit.widgets.look import PanelLook
from tests.widgets.hands import all_widgets

if TYPE_CHECKING:
    from collections.abc import Iterator

    import ipywidgets as ipw

WIDGETS = Path(look.__file__).parent


@pytest.fixture(autouse=True)
def _ordinary_again() -> Iterator[None]:
    yield
    kit.projector(False)


def look_of(panel: ipw.Widget) -> PanelLook:
    return next(one for one in all_widgets(panel) if isinstance(one, PanelLook))


def layout_of(panel: kit.WeighingPanel) -> Any:
    assert panel.figure is not None
    return panel.figure.layout


def test_text_is_large_in_panels_that_are_open_and_in_those_to_come() -> None:
    before = kit.WeighingPanel()
    high = layout_of(before).height
    kit.projector()
    after = kit.WeighingPanel()
    for panel in (before, after):
        assert look_of(panel).large
        assert layout_of(panel).font.size == LARGE_FONT_SIZE
        assert layout_of(panel).height == pytest.approx(high * LARGE_FONT_SIZE / FONT_SIZE)
    kit.projector(False)
    for panel in (before, after):
        assert not look_of(panel).large
        assert layout_of(panel).font.size == FONT_SIZE
        assert layout_of(panel).height == pytest.approx(high)


def test_a_chart_is_as_wide_as_there_is_room() -> None:
    panel = kit.WeighingPanel()
    assert layout_of(panel).width is None
    assert layout_of(panel).autosize


def test_every_colour_of_the_layers_follows_the_theme() -> None:
    rules = theme_css()
    for kind, colour in LAYER_COLOURS.items():
        rgb = ", ".join(str(int(colour[at : at + 2], 16)) for at in (1, 3, 5))
        assert f'fill: rgb({rgb})"] {{ fill: var(--sw-{kind}) !important; }}' in rules


def test_the_style_sheet_names_only_parts_that_panels_have() -> None:
    """Of ipywidgets, panels use boxes, HTML and folds; rules for its other controls would be dead."""
    ours = [path for path in WIDGETS.rglob("*.py") if path.parent.name != "still"]  # that reads whatever there is
    used = set(re.findall(r"\bipw\.([A-Z]\w+)", "".join(path.read_text(encoding="utf-8") for path in ours)))
    assert used <= {"Accordion", "HBox", "HTML", "VBox", "Widget"}
    said = (WIDGETS / "panel.css").read_text(encoding="utf-8")
    assert set(re.findall(r"\.((?:widget|jupyter)-[\w-]+)", said)) <= {"widget-html", "widget-html-content"}
