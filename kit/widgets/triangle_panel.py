"""Three layers: move the sizes of all three, and see where on the triangle limits and own rules hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.triangle import triangle_figure, triangle_traces
from kit.formula.requirements import requirements
from kit.inputs import Input, Number
from kit.layers.ratio import KINDS, holds_at, three_layers
from kit.widgets.form import Form
from kit.widgets.html import problem, sheet, soft
from kit.widgets.panel import Panel, Picture

if TYPE_CHECKING:
    from kit.layers.ratio import Region
    from kit.library.ingredient import PhaseKind
    from kit.widgets.panel import Source

HELD = "Every limit and every rule of your own holds here; habits of the trade are not judged on the triangle."

SIZES = tuple(
    Input(name, words, Number(0, 100, digits=4), None, "%", slide=(0, 100, 0.5))
    for name, words in (("oil", "Oil layer"), ("other", "Third layer"))
)


class TrianglePanel(Panel):
    """Two sliders; the water layer takes the rest."""

    title = "Three layers"
    subtitle = "the water layer takes what the other two leave"

    def __init__(self, source: Source = None) -> None:
        self.form = Form(SIZES, on_change=lambda _: self._move())
        self.said, self.edges, self.picture = ipw.HTML().add_class("sw-answer"), ipw.HTML(), Picture()
        super().__init__(source, [self.form, self.said, self.picture, self.edges])

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
        self.form.set(oil=now["oil"], other=now["other"])
        region = three_layers(mix, required)
        broken = holds_at(mix, required, now)
        words = HELD if not broken else "Broken here: " + "; ".join(broken) + "."
        sizes = ", ".join(f"{kind} {size:.1f} %" for kind, size in now.items())
        self.said.value = problem(words) if broken else soft(f"{sizes}. {words}")
        if self.picture.figure is None:
            names = {phase.kind: phase.name for phase in reversed(bench.formula.phases)}
            self.picture.draw(triangle_figure(region, now, names))
        else:
            self.picture.put(triangle_traces(region, now))
        self.edges.value = _edges(region)

    def _move(self) -> None:
        oil, other = self.form["oil"], self.form["other"]
        if oil is None or other is None:
            self._changed()  # a box was emptied: show again what stands
        else:
            self.bench.move_layers(oil, other)


def _edges(region: Region) -> str:
    if not region.is_open:
        broken = "; ".join(region.broken_everywhere)
        which = f": {broken}" if broken else ""
        return problem(f"No mix of the three layers keeps all limits and own rules{which}. Relax one.")
    rows = [
        [rule, *(f"{size:.1f}" for size in corner)] for rule, corner in zip(region.edges, region.corners, strict=True)
    ]
    return sheet(["edge of the allowed part, set by", "from water, %", "oil, %", "third, %"], rows, numbers=(1, 2, 3))
