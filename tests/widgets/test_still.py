"""Every panel as a still: what it holds, that nothing in it runs, and how it is sent and stored."""

from __future__ import annotations

import re
import time
from base64 import b64decode
from dataclasses import replace
from html import unescape
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw
import plotly.graph_objects as go
import pytest

import kit
from kit import stored_stills
from kit.demos import demo
from kit.formula.editing import set_line
from kit.product_folder import FIRST, LAST, LAYERS, make_product_folder
from kit.widgets.panel import PanelBox, live
from kit.widgets.still import still
from kit.widgets.still.cleaning import cleaned
from kit.widgets.still.pictures import with_images
from kit.widgets.still.showing import Shown
from tests.pace import on_this_machine
from tests.widgets.hands import HOSTILE, two_layers

if TYPE_CHECKING:
    from pathlib import Path

PANELS = [name for _, _, names in (*FIRST, LAYERS, *LAST) for name in names]


def read(html: str) -> str:
    """What a person reads in a still."""
    without_style = re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", without_style)).split())


def pictures(html: str) -> list[str]:
    """The SVG of every picture in a still."""
    return [b64decode(data).decode() for data in re.findall(r"data:image/svg\+xml;base64,([\w+/=]+)", html)]


def panels_of(folder: Path, monkeypatch: pytest.MonkeyPatch, formula: Any) -> dict[str, PanelBox]:
    """Every panel of a product's notebook, by the line that makes it."""
    monkeypatch.chdir(make_product_folder(folder, formula))
    bench = kit.open_product()
    there = {"kit": kit, "bench": bench}
    return {name: eval(f"kit.{name}", there) for name in ("StatusPanel(bench)", *PANELS)}


@pytest.mark.slow
def test_every_panel_of_a_product_has_one_quick_and_small_and_without_anything_that_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    panels = panels_of(tmp_path, monkeypatch, demo())
    drawn = {}
    for name, panel in panels.items():
        still(panel)
        start = time.perf_counter()
        html = drawn[name] = still(panel)
        assert time.perf_counter() - start < on_this_machine(0.25), name
        assert len(html) < 120_000, name
        for svg in ["", *pictures(html)]:
            assert not re.search(r"<script|<iframe|javascript:|\son\w+\s*=|https?://(?!www\.w3\.org)", html + svg), name
        assert panel.title in read(html)
    assert sum(map(len, drawn.values())) < 1_000_000
    bench = panels["FormulaPanel(bench)"].bench
    formula = read(drawn["FormulaPanel(bench)"])
    for _, _, line, percent in bench.formula.each_line():
        assert re.search(rf"{re.escape(line.material)} .*?{percent:.2f}", formula), line.material
    for row in bench.product.batch.weighings:
        assert f"{row.grams:.2f}" in read(drawn["ScalingPanel(bench)"])
    assert f"{bench.product.cost.total:.2f}" in read(drawn["CostPanel(bench)"])
    assert "Oil layer [% w/w of the whole]" in pictures(drawn["RatioPanel(bench)"])[0]


def test_an_edit_is_in_the_next_still_and_what_is_hidden_is_not() -> None:
    bench = kit.Bench(two_layers())
    panel = kit.FormulaPanel(bench)
    bench.edit(lambda formula: set_line(formula, 0, 1, entry="6,25"))
    assert "6,25 6.25" in read(still(panel))
    panel.table.layout.display = "none"
    assert "6,25" not in read(still(panel))
    panel.about.hidden = ["title"]
    assert "Title" not in read(still(panel))


def test_what_a_person_typed_is_never_taken_for_html() -> None:
    bench = kit.Bench(replace(two_layers(), title=HOSTILE, note=HOSTILE))
    bench.edit(lambda formula: set_line(formula, 0, 1, material=HOSTILE, entry=HOSTILE))
    panel = kit.FormulaPanel(bench)
    panel.own.type(inci=HOSTILE, density=HOSTILE)
    for shown in (panel, kit.FindingsPanel(bench), kit.VersionsPanel(bench), kit.RatioPanel(bench)):
        html = still(shown)
        assert "<img src=x" not in html + "".join(pictures(html))


def test_a_figure_is_a_picture_with_its_numbers() -> None:
    gaps = go.Scatter(x=[0, 1, None, 2, 3], y=[5, 6, None, 7, 8], name="<b>batch</b> A&amp;B", mode="lines+markers")
    figure = go.Figure([gaps, go.Scatter(x=[0, 3], y=[1, 1], stackgroup="s", name=HOSTILE)])
    figure.update_layout(title={"text": "Readings"}, xaxis={"title": {"text": "weeks"}}, yaxis={"type": "log"})
    figure.add_hline(y=6.5)
    html = still(PanelBox([live(figure)]))
    assert "Readings" in read(html)
    assert "batch A&B" in read(html)
    assert "<img src=x" not in html
    (svg,) = pictures(html)
    assert svg.count("<polyline") >= 4  # the line in two pieces, the limit, the axes
    assert "weeks" in svg
    assert not pictures(still(PanelBox([live(go.Figure())])))


def test_a_triangle_and_controls_of_a_makers_own() -> None:
    figure = go.Figure(go.Scatterternary(a=[60], b=[30], c=[10], mode="markers+text", text=["now"]))
    figure.update_layout(ternary={"aaxis": {"title": {"text": "Water"}}})
    box = ipw.Accordion(
        [ipw.VBox([ipw.FloatText(2.5, description="Dose"), ipw.Button(description="Go")])], titles=["Mine"]
    )
    html = still(PanelBox([live(figure), box]))
    assert "Water" in pictures(html)[0]
    assert "Dose: 2.5" in read(html)
    assert "Go" not in read(html)


def test_a_drawing_keeps_its_words_and_its_colours() -> None:
    svg = '<svg viewBox="0 0 40 20" aria-label="a bottle"><rect fill="var(--sw-oil)"/></svg>'
    html = with_images(f"<p>{svg}</p>")
    assert 'alt="a bottle"' in html
    assert "--sw-oil: #d3a144" in pictures(html)[0]


def test_of_a_panels_html_only_what_stands_still_is_left() -> None:
    html = (
        '<iframe title="Sheet" srcdoc="&lt;p&gt;"><p>in it</p></iframe><style>p{}</style>'
        '<p onclick="x()" style="a:url(b)">A &lt; B'
        '<a href="javascript:x()">j</a><a href="papers/a.html">p</a><img src="https://x.org/a.png"><br></p><b>end'
        '<textarea rows="3" onbeforeinput="x">Aqua\n&lt;b&gt;</textarea><button>Go</button><unknown>u</unknown>'
        '</div></body><i style="position:fixed">i'
    )
    assert cleaned(html) == (
        "<div>Sheet: seen where the notebook runs.</div><p>A &lt; B"
        '<a>j</a><a href="papers/a.html">p</a><img><br></p><b>end'
        '<pre style="white-space:pre-wrap">Aqua\n&lt;b&gt;</pre>u<i>i</i></b>'
    )


def test_it_is_sent_again_only_where_it_changed_and_put_into_the_notebook_that_is_saved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(stored_stills.VARIABLE, str(tmp_path))
    bench = kit.Bench(two_layers())
    shown = Shown(kit.FormulaPanel(bench), "cell", "run")
    sent: list[dict[str, str]] = []
    monkeypatch.setattr(shown.handle, "update", lambda bundle, **_: sent.append(bundle))
    old = shown.html
    shown.renew()
    assert not sent
    bench.edit(lambda formula: set_line(formula, 0, 1, entry="6.25"))
    shown.renew()
    assert "6.25" in read(sent[0]["text/html"])

    def notebook(html: str | list[str]) -> dict[str, Any]:
        outputs = [{"data": {"text/html": html}}, {"name": "stdout", "text": "1"}]
        return {"type": "notebook", "content": {"cells": [{"cell_type": "markdown"}, {"outputs": outputs}]}}

    for kept in (old, old.splitlines(keepends=True)):
        model = notebook(kept)
        stored_stills.put_in(model, path="product.ipynb")
        assert model["content"]["cells"][1]["outputs"][0]["data"]["text/html"] == sent[0]["text/html"]
    for other in ("<b>mine</b>", stored_stills.marked("0" * 32, "of another day")):
        model = notebook(other)
        stored_stills.put_in(model)
        assert model == notebook(other)
    stored_stills.put_in({"type": "notebook", "content": None})
