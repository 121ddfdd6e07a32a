"""The bottle: its shape, the product in it, the colour of each layer, and what warmth and cold do to them."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.findings import Finding, Place
from kit.formula.model import HEAVIEST, LIGHTEST, MOST_DOUBT, USUAL_UNCERTAINTY, MeasuredDensity, layer_mix
from kit.layers.bottle import Bottle, bundled_bottles, room_findings
from kit.layers.density import MOST_UNKNOWN, layer_density
from kit.layers.density_words import COVERAGE, HOW, density_findings, density_sources, density_text, density_words
from kit.layers.temperature import expansion_room, order_between
from kit.numbers import read_number
from kit.rounding import all_digits
from kit.widgets.html import findings_list, heading, problem, sheet
from kit.widgets.panel import Panel, controls, number_box, offer, try_to
from kit.widgets.shown import on_hand, show_in

if TYPE_CHECKING:
    from kit.widgets.bench import Bench

FILLS = (0.1, 5000.0)  # [mL]
SHAPES = ("ready-made", "cylinder", "box", "measured")
TEMPERATURES = (5.0, 20.0, 40.0, 60.0)
#: Up to here a product on a shelf or in a car may come; the order of its layers is told up to it. [°C]
COMMON_WARMTH = 40.0
#: Less than this without a known expansion is not worth a sentence. [% of a layer]
LITTLE = 0.05
COLOURS = {"water": "#4f8fb0", "oil": "#d3a144", "other": "#998eae"}


class BottlePanel(Panel):
    """Describe the bottle; the ratio view draws it."""

    watches = ("formula", "library", "bottle", "fill")

    def __init__(self, bench: Bench) -> None:
        self.ready = bundled_bottles()
        self.shape = ipw.Dropdown(options=list(SHAPES), description="Shape")
        known = bench.bottle.name if bench.bottle.name in self.ready else None
        self.choice = ipw.Dropdown(options=list(self.ready), description="Bottle", value=known)
        self.diameter = number_box("Inner diameter, mm", 44.0, 5.0, 300.0)
        self.volume = number_box("Brimful volume, mL", 120.0, 1.0, 5000.0)
        self.width = number_box("Inner width, mm", 50.0, 5.0, 300.0)
        self.depth = number_box("Inner depth, mm", 30.0, 5.0, 300.0)
        self.height = number_box("Inner height, mm", 80.0, 5.0, 500.0)
        self.rows = ipw.Textarea(
            placeholder="height in mm and volume in mL, one pair a line:\n20 31\n40 63\n60 92",
            description="Measured",
            rows=6,
            continuous_update=False,
        )
        self.use = ipw.Button(description="Use this bottle", button_style="primary", layout={"width": "auto"})
        self.fill = number_box("Product in it, mL", bench.fill, *FILLS)
        self.colours = {
            kind: ipw.ColorPicker(description=f"{kind} layer", value=colour, concise=False)
            for kind, colour in COLOURS.items()
        }
        typed = {"continuous_update": False, "style": {"description_width": "initial"}, "layout": {"width": "210px"}}
        self.layer = ipw.Dropdown(description="You measured", style={"description_width": "initial"})
        self.measured = ipw.Text(description="g/mL", placeholder="weigh 100 mL of it", **typed)
        self.doubt = ipw.Text(description="give or take", placeholder=f"{COVERAGE * USUAL_UNCERTAINTY:g}", **typed)
        self.degrees = number_box("at, °C", 20.0, 0.0, 100.0)
        self.keep = ipw.Button(description="Use this density", layout={"width": "auto"})
        self.forget = ipw.Button(description="Forget it", layout={"width": "auto"})
        self.message, self.stands, self.warmth = ipw.HTML(), ipw.HTML(), ipw.HTML()
        super().__init__(
            bench,
            [
                ipw.HTML(heading("The bottle", "inner measures; the layers' heights follow from them")),
                controls(self.shape, self.choice, self.diameter, self.volume, self.width, self.depth, self.height),
                self.rows,
                controls(self.use, self.fill),
                controls(*self.colours.values()),
                self.message,
                self.stands,
                controls(self.layer, self.measured, self.doubt, self.degrees, self.keep, self.forget),
                self.warmth,
            ],
        )
        self.shape.observe(lambda _: self._show_fields(), names="value")
        self.use.on_click(lambda _: self._use())
        self.keep.on_click(lambda _: self._keep())
        self.forget.on_click(lambda _: self._forget())
        on_hand(self.fill, self._set_fill)
        for kind, picker in self.colours.items():
            on_hand(picker, partial(self._set_colour, kind))
        self._show_fields()

    def refresh(self) -> None:
        """Show how the layers stand, and their densities cold and warm."""
        bench = self.bench
        show_in(self.fill, bench.fill, within=FILLS)
        for kind, picker in self.colours.items():
            phase = next((phase for phase in bench.formula.phases if phase.kind == kind), None)
            picker.layout.display = "" if phase else "none"
            show_in(picker, (phase and phase.colour) or COLOURS[kind])
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
        offer(self.layer, [(f"{layer.kind} layer", layer.kind) for layer in bench.product.layers])

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
        return "".join(f'<div class="sw-subtitle">{escape(line)}</div>' for line in lines)

    def _warmth(self) -> str:
        formula, materials = self.bench.formula, self.bench.product.materials
        rows, unknown = [], 0.0
        for layer in self.bench.product.layers:
            warm = [layer_density(formula, materials, layer.kind, t) for t in TEMPERATURES]
            unknown = max(unknown, *(one.unknown_expansion_share for one in warm))
            rows.append([f"{layer.kind} layer", *(density_text(one) for one in warm)])
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
        return table + (f'<div class="sw-subtitle">{escape(order.words)}</div>' if order else "")

    def _keep(self) -> None:
        def work() -> str:
            formula, kind = self.bench.formula, self.layer.value
            if kind is None:
                msg = "There is no layer yet whose density could have been measured."
                raise EntryError(msg)
            doubt = self.doubt.value.strip()
            uncertainty = read_number(doubt, low=0, high=MOST_DOUBT) / COVERAGE if doubt else USUAL_UNCERTAINTY
            value = read_number(self.measured.value, low=LIGHTEST, high=HEAVIEST)
            found = MeasuredDensity(kind, value, layer_mix(formula, kind), self.degrees.value, uncertainty)
            others = tuple(each for each in formula.densities if each.layer != kind)
            self.bench.change(replace(formula, densities=(*others, found)))
            return f"The {kind} layer counts with {value:g} g/mL at {found.celsius:g} °C while it is made like this."

        try_to(self.message, work)

    def _forget(self) -> None:
        def work() -> str:
            formula, kind = self.bench.formula, self.layer.value
            left = tuple(each for each in formula.densities if each.layer != kind)
            if left == formula.densities:
                msg = "No measured density of this layer is kept."
                raise EntryError(msg)
            self.bench.change(replace(formula, densities=left))
            return f"The density of the {kind} layer is computed again."

        try_to(self.message, work)

    def _show_fields(self) -> None:
        wanted = {
            "ready-made": (self.choice,),
            "cylinder": (self.diameter, self.volume),
            "box": (self.width, self.depth, self.height),
            "measured": (self.rows,),
        }
        for shape, boxes in wanted.items():
            for box in boxes:
                box.layout.display = "" if shape == self.shape.value else "none"

    def _bottle(self) -> Bottle:
        if self.shape.value == "cylinder":
            wide, holds = f"{all_digits(self.diameter.value)} mm", f"{all_digits(self.volume.value)} mL"
            return Bottle.cylinder(wide, holds, name="your cylinder")
        if self.shape.value == "box":
            width, depth, height = (f"{all_digits(box.value)} mm" for box in (self.width, self.depth, self.height))
            return Bottle.box(width, depth, height, name="your box")
        if self.shape.value == "measured":
            return Bottle.measured(measured_rows(self.rows.value), name="your measured bottle")
        return self.ready[self.choice.value or next(iter(self.ready))]

    def _use(self) -> None:
        def work() -> str:
            bottle = self._bottle()
            with self.bench.hold_trait_notifications():
                self.bench.fill = min(self.bench.fill, round(0.9 * bottle.brimful, 1))
                self.bench.bottle = bottle
            return f"{bottle.name}: {bottle.brimful:.1f} mL to the brim."

        try_to(self.message, work)

    def _set_fill(self, millilitres: float) -> None:
        self.bench.fill = millilitres

    def _set_colour(self, kind: str, colour: str) -> None:
        if not colour.startswith("#"):
            return
        phases = self.bench.formula.phases
        if any(phase.kind == kind and phase.colour != colour for phase in phases):
            self.bench.change_phases(
                tuple(replace(phase, colour=colour) if phase.kind == kind else phase for phase in phases)
            )


def measured_rows(text: str) -> list[tuple[str, str]]:
    """The lines of a measured table as pairs of height and volume.

    Raises
    ------
    EntryError
        A line that does not hold two numbers; it is named.
    """
    rows = []
    for number, line in enumerate(text.splitlines(), start=1):
        cells = line.replace(";", " ").replace("\t", " ").replace("mm", " ").replace("mL", " ").split()
        if not cells:
            continue
        if len(cells) != 2:
            msg = f"Line {number} of the measured table, {line.strip()!r}, must hold a height in mm and a volume in mL."
            raise EntryError(msg)
        rows.append((f"{all_digits(read_number(cells[0]))} mm", f"{all_digits(read_number(cells[1]))} mL"))
    return rows
