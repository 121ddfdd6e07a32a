"""The bottle: its shape, the product in it, the colour of each layer, and what warmth and cold do to them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.scaling import Order
from kit.errors import EntryError, KitError
from kit.findings import Finding, Place
from kit.formula.model import HEAVIEST, LIGHTEST, MOST_DOUBT, USUAL_UNCERTAINTY, MeasuredDensity, layer_mix
from kit.inputs import REQUIRED, Choice, Input, Number, Text, always, inputs_of
from kit.layers.bottle import room_findings
from kit.layers.bottle_measures import READY, BottleMeasures
from kit.layers.density import MOST_UNKNOWN, layer_density
from kit.layers.density_words import COVERAGE, HOW, density_findings, density_sources, density_text, density_words
from kit.layers.temperature import expansion_room, order_between
from kit.widgets.bench import Bench
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, sheet, soft
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.library.ingredient import PhaseKind
    from kit.widgets.panel import Source

TEMPERATURES = (5.0, 20.0, 40.0, 60.0)
#: Up to here a product on a shelf or in a car may come; the order of its layers is told up to it. [°C]
COMMON_WARMTH = 40.0
#: Less than this without a known expansion is not worth a sentence. [% of a layer]
LITTLE = 0.05
COLOURS = {"water": "#4f8fb0", "oil": "#d3a144", "other": "#998eae"}


FILL = next(one for one in inputs_of(Order) if one.name == "fill")
PRODUCT = replace(FILL, words="Filled with", slide=None, applies=always)
COLOUR_BOXES = tuple(Input(kind, f"{kind.capitalize()} layer", Text("colour"), COLOURS[kind]) for kind in COLOURS)
MEASURED = (
    Input("layer", "You measured", Choice({})),
    Input("density", "Its density", Number(LIGHTEST, HEAVIEST), REQUIRED, "g/mL", "1.031", "Weigh 100 mL of it."),
    Input("doubt", "Give or take", Number(0, MOST_DOUBT), COVERAGE * USUAL_UNCERTAINTY, "g/mL"),
    Input("celsius", "At", Number(0, 100), 20.0, "°C"),
)


class BottlePanel(Panel):
    """Describe the bottle; the ratio view draws it."""

    watches = ("formula", "library", "bottle", "fill")
    title = "The bottle"
    subtitle = "inner measures; the layers' heights follow from them"

    def __init__(self, source: Source = None) -> None:
        bench = Bench.of(source)
        self.shape = Form(BottleMeasures, [Button("use", "Use this bottle", self._use, primary=True)])
        if bench.bottle.name in READY:
            self.shape.set(choice=bench.bottle.name)
        self.form = Form([PRODUCT, *COLOUR_BOXES], on_change=self._set)
        keep, forget = Button("keep", "Use this density", self._keep), Button("forget", "Forget it", self._forget)
        self.density = Form(MEASURED, [keep, forget])
        self.stands, self.warmth = ipw.HTML().add_class("sw-answer"), ipw.HTML()
        super().__init__(bench, [self.shape, self.form, self.stands, self.density, self.warmth])

    def refresh(self) -> None:
        """Show how the layers stand, and their densities cold and warm."""
        bench = self.bench
        colours = {phase.kind: phase.colour or COLOURS[phase.kind] for phase in reversed(bench.formula.phases)}
        self.form.show("fill", *colours)
        self.form.follow(fill=bench.fill, **colours)
        try:
            standing = bench.product.standing
        except KitError as error:
            self.stands.value, self.warmth.value = problem(str(error)), ""
            return
        rows = [
            [
                s.layer.name,
                f"{s.height:.1f}",
                f"{s.volume:.1f}",
                density_text(s.layer.about) if s.layer.about else f"{s.layer.density:.3f}",
            ]
            for s in reversed(standing)
        ]
        caption = f"{bench.bottle.name}: {bench.bottle.brimful:.1f} mL brimful. Densities are {HOW}."
        found = [
            *density_findings(bench.product.layers),
            *room_findings(bench.bottle, bench.fill),
            self._room_when_warm(),
        ]
        head = ["layer, from the top", "mm", "mL", "g/mL at 20 °C"]
        self.stands.value = (
            sheet(head, rows, numbers=(1, 2, 3), caption=caption) + self._rests_on() + findings_list(found)
        )
        self.warmth.value = self._warmth()
        self.density.offer("layer", {layer.kind: layer.words for layer in bench.product.layers})

    def _room_when_warm(self) -> Finding:
        """How full the bottle gets at 50 °C, or why that cannot be told."""
        bench = self.bench
        try:
            return expansion_room(bench.formula, bench.product.materials, bench.bottle.brimful, bench.fill).finding()
        except KitError as error:
            return Finding("note", str(error), Place(field="bottle"))

    def _rests_on(self) -> str:
        """What each density rests on, and the sources behind them."""
        layers = self.bench.product.layers
        told = [density_words(layer.about) for layer in layers if layer.about]
        cited = density_sources(layers)
        lines = [words[0].upper() + words[1:] for words in told] + ([f"Sources: {' '.join(cited)}"] if cited else [])
        return "".join(soft(line) for line in lines)

    def _warmth(self) -> str:
        formula, materials = self.bench.formula, self.bench.product.materials
        rows, unknown = [], 0.0
        for layer in self.bench.product.layers:
            warm = [layer_density(formula, materials, layer.kind, t) for t in TEMPERATURES]
            unknown = max(unknown, *(one.unknown_expansion_share for one in warm))
            rows.append([layer.words, *(density_text(one) for one in warm)])
        caption = "Expansions: data/expansion, partly from memory."
        if unknown >= LITTLE:
            caption = (
                f"At one of these temperatures the expansion of {unknown:.3g} % of a layer is not known: it counts as "
                f"that of other liquids, with its uncertainty, and beyond {MOST_UNKNOWN:g} % the density is called not "
                f"known. {caption}"
            )
        head = ["g/mL at", *(f"{t:g} °C" for t in TEMPERATURES)]
        table = sheet(head, rows, numbers=tuple(range(1, len(head))), caption=caption)
        order = order_between(formula, materials, TEMPERATURES[0], COMMON_WARMTH)
        return table + (soft(order.words) if order else "")

    # ---- hearing ----------------------------------------------------------------------------------------

    def _use(self) -> str:
        bottle = BottleMeasures(**{**self.shape.values, **self.shape.read()}).bottle
        product = self.bench.product
        fill = bottle.nominal or min(product.fill, round(0.9 * bottle.brimful, 1))
        self.bench.product = product.with_bottle(bottle, fill)
        return f"{bottle.name}: {bottle.brimful:.1f} mL to the brim, filled with {fill:g} mL. Change that below."

    def _set(self, names: tuple[str, ...]) -> None:
        self.bench.fill = self.form["fill"]
        if {*names} & {*COLOURS}:
            phases = self.bench.formula.phases
            self.bench.change_phases(tuple(replace(phase, colour=self.form[phase.kind]) for phase in phases))

    def _measured_layer(self) -> PhaseKind:
        kind: PhaseKind | None = self.density["layer"]
        if kind is None:
            msg = "There is no layer yet whose density could have been measured."
            raise EntryError(msg)
        return kind

    def _words(self, kind: PhaseKind) -> str:
        return next((layer.words for layer in self.bench.product.layers if layer.kind == kind), f"{kind} layer")

    def _keep(self) -> str:
        formula, kind = self.bench.formula, self._measured_layer()
        said = self.density.read()
        value, celsius, doubt = said["density"], said["celsius"], said["doubt"] / COVERAGE
        found = MeasuredDensity(kind, value, layer_mix(formula, kind), celsius, doubt)
        others = tuple(each for each in formula.densities if each.layer != kind)
        self.bench.change(replace(formula, densities=(*others, found)))
        return f"The {self._words(kind)} counts with {value:g} g/mL at {celsius:g} °C while it is made like this."

    def _forget(self) -> str:
        formula, kind = self.bench.formula, self._measured_layer()
        left = tuple(each for each in formula.densities if each.layer != kind)
        if left == formula.densities:
            msg = "No measured density of this layer is kept."
            raise EntryError(msg)
        self.bench.change(replace(formula, densities=left))
        return f"The density of the {self._words(kind)} is computed again."
