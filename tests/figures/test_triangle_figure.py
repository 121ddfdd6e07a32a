"""The triangle of three layers: the region closes, its edges are named, and names are shown as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.figures.theme import PAPER
from kit.figures.triangle import triangle_figure
from kit.layers.ratio import Region

if TYPE_CHECKING:
    from kit.library.ingredient import PhaseKind

REGION = Region(((80.0, 20.0, 0.0), (30.0, 70.0, 0.0), (44.0, 20.0, 36.0)), ("<b>a</b>", "b", "c"), ())
NOW: dict[PhaseKind, float] = {"water": 50.0, "oil": 30.0, "other": 20.0}
NAMES: dict[PhaseKind, str] = {"water": "Water", "oil": "Oil", "other": "<i>Third</i>"}


def test_the_region_closes_and_each_edge_says_its_rule() -> None:
    region, now = triangle_figure(REGION, NOW, NAMES).data
    assert list(region.a) == [80, 30, 44, 80]
    assert list(region.text) == [
        f"from here: {rule}" for rule in ("&lt;b&gt;a&lt;/b&gt;", "b", "c", "&lt;b&gt;a&lt;/b&gt;")
    ]
    assert (now.a[0], now.b[0], now.c[0]) == (50, 30, 20)


def test_names_are_text_and_an_empty_region_still_shows_where_one_is() -> None:
    figure = triangle_figure(Region((), (), ("rule",)), NOW, NAMES)
    assert figure.layout.ternary.caxis.title.text == "&lt;i&gt;Third&lt;/i&gt;"
    assert list(figure.data[0].a) == []
    assert figure.layout.paper_bgcolor == PAPER
