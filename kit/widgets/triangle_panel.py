"""Three layers: move the sizes of all three, and see where on the triangle every rule holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.triangle import triangle_figure, triangle_traces
from kit.formula.requirements import requirements
from kit.layers.ratio import KINDS, holds_at, three_layers
from kit.widgets.html import heading, problem, sheet
from kit.widgets.panel import Panel, controls, live, try_to
from kit.widgets.shown import on_hand, show_in, value_in

if TYPE_CHECKING:
    import plotly.graph_objects as go

    from kit.layers.ratio import Region
    from kit.library.ingredient import PhaseKind
    from kit.widgets.bench import Bench


class TrianglePanel(Panel):
    """Two sliders; the water layer takes the rest."""

    def __init__(self, bench: Bench) -> None:
        wide = {"style": {"description_width": "150px"}, "layout": ipw.Layout(width="430px")}
        self.oil = ipw.FloatSlider(min=0, max=100, step=0.5, description="Oil layer, %", **wide)
        self.other = ipw.FloatSlider(min=0, max=100, step=0.5, description="Third layer, %", **wide)
        self.said, self.edges, self.message = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.figure: go.FigureWidget | None = None
        self.picture = ipw.VBox()
        head = heading("Three layers", "the water layer takes what the other two leave")
        super().__init__(
            bench,
            [ipw.HTML(head), controls(self.oil, self.other), self.said, self.message, self.picture, self.edges],
        )
        for slider in (self.oil, self.other):
            on_hand(slider, lambda _: self._move())

    def refresh(self) -> None:
        """Show the mix in hand on the triangle."""
        bench = self.bench
        try:
            mix = bench.mix
            required = requirements(mix.formula, bench.product.materials, bench.product.limits)
        except KitError as error:
            self.said.value, self.edges.value = problem(str(error)), ""
            return
        now: dict[PhaseKind, float] = dict.fromkeys(KINDS, 0.0)
        for p, phase in enumerate(bench.formula.phases):
            now[phase.kind] += bench.formula.phase_total(p)
        show_in(self.oil, now["oil"])
        show_in(self.other, now["other"])
        region = three_layers(mix, required)
        broken = holds_at(mix, required, now)
        words = "Every rule holds here." if not broken else "Broken here: " + "; ".join(broken) + "."
        sizes = ", ".join(f"{kind} {size:.1f} %" for kind, size in now.items())
        self.said.value = problem(words) if broken else f'<div class="sw-subtitle">{sizes}. {words}</div>'
        self._draw(region, now)
        self.edges.value = _edges(region)

    def _draw(self, region: Region, now: dict[PhaseKind, float]) -> None:
        names = {phase.kind: phase.name for phase in reversed(self.bench.formula.phases)}
        if self.figure is None:
            self.figure = live(triangle_figure(region, now, names))
            self.picture.children = (self.figure,)
            return
        with self.figure.batch_update():
            for old, new in zip(self.figure.data, triangle_traces(region, now), strict=True):
                old.a, old.b, old.c, old.text = new.a, new.b, new.c, new.text

    def _move(self) -> None:
        try_to(self.message, lambda: self.bench.move_layers(value_in(self.oil), value_in(self.other)))


def _edges(region: Region) -> str:
    if not region.is_open:
        broken = "; ".join(region.broken_everywhere)
        return problem(f"No mix of the three layers satisfies every rule{': ' + broken if broken else ''}. Relax one.")
    rows = [
        [rule, *(f"{size:.1f}" for size in corner)] for rule, corner in zip(region.edges, region.corners, strict=True)
    ]
    return sheet(["edge of the allowed part, set by", "from water, %", "oil, %", "third, %"], rows, numbers=(1, 2, 3))
