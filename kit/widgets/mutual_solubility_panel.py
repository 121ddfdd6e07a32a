"""What dissolves in what: the product on a measured triangle where it is one, and what is known pair by pair."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError, RangeError
from kit.figures.tie_lines import move_mixture, tie_line_figure
from kit.findings import Finding
from kit.in_use.mixing_check import mixing_findings
from kit.in_use.product_system import MOST_ELSE, product_system
from kit.in_use.ternary_systems import CORRELATIONS, Composition, ternary_system, ternary_systems
from kit.in_use.tie_lines import along_ratio, settle
from kit.inputs import Choice, Input, Number
from kit.library.sources import source_text
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, sheet, soft
from kit.widgets.panel import Panel, Picture

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.findings import Severity
    from kit.in_use.product_system import ProductSystem
    from kit.in_use.ternary_systems import TernarySystem
    from kit.in_use.tie_lines import Settled
    from kit.widgets.panel import Source

INPUTS = (
    Input("system", "Measured", Choice({one.key: f"{one.title}, {one.celsius:g} °C" for one in ternary_systems()}),
          ternary_systems()[0].key),
    Input("shared", "Shared liquid", Number(0, 100, digits=4), None, "%", slide=(0, 100, 0.5)),
    Input("oil", "Oil", Number(0, 100, digits=4), None, "%", slide=(0, 100, 0.5), help="Water takes what is left."),
)  # fmt: skip
BACK = "back"
#: Oil layers for which the table says what a shift of the ratio does. [% w/w]
RATIOS = (5, 10, 20, 30, 40, 50, 60, 70, 80)
NOT_ONE = (
    f"This product is none of the measured systems: of each more than {MOST_ELSE:g} % would be something else. What "
    "follows on the triangle is the measured system alone, to look at; what is known of this product stands below it."
)


class MutualSolubilityPanel(Panel):
    """A triangle with measured tie lines and the product on it; below, what is known of its liquids pair by pair."""

    title = "What dissolves in what"
    subtitle = "one layer or two, and what each holds of the other at rest"
    foot = (
        "Measured on pure liquids at one temperature: salts, glycols, surfactants and warmth move the lines. Between "
        "two tie lines both ends move in proportion; beyond the last nothing is said. A trial bottle, warm and cold, "
        "decides."
    )

    def __init__(self, source: Source = None) -> None:
        back = Button(BACK, "As in the product", self._follow, help="Lay the product in hand on the triangle again.")
        self.form = Form(INPUTS, [back], on_change=self._typed)
        self.answer, self.layers, self.ratios, self.findings = (ipw.HTML() for _ in range(4))
        self.answer.add_class("sw-answer")
        self.picture, self.marks = Picture(), ipw.HTML()
        #: Whether a hand chose a system or a mixture that is not the product's.
        self._own = False
        self._one: ProductSystem | None = None
        self._shown: tuple[TernarySystem, tuple[Composition, ...]] | None = None
        super().__init__(
            source, [self.form, self.answer, self.layers, self.picture, self.marks, self.ratios, self.findings]
        )

    def refresh(self) -> None:
        """Lay the product in hand on the triangle."""
        product = self.bench.product
        try:
            self._one = product_system(product.formula, product.materials)
            self.findings.value = findings_list(
                mixing_findings(product.formula, product.materials, of_system=self._one is None)
            )
        except KitError as error:
            self._one, self.findings.value = None, problem(str(error))
        self.form.enable(BACK, can=self._one is not None)
        if self._one is not None and not self._own:
            self._lay(self._one)
        self._show()

    def _lay(self, one: ProductSystem) -> None:
        self.form.set(system=one.system.key, shared=one.overall.shared, oil=one.overall.oil)

    def _follow(self) -> None:
        self._own = False
        self._changed()

    def _typed(self, changed: tuple[str, ...]) -> None:
        self._own = True
        if "system" in changed:
            one = self._one
            if one is not None and one.system.key == self.form["system"]:
                self._own = False
                self._lay(one)
            else:
                self.form.set(shared=None, oil=None)
        self._show()

    def _show(self) -> None:
        system = ternary_system(self.form["system"])
        self.form.describe("shared", words=system.shared)
        self.form.describe("oil", words=system.oil)
        one = self._one if self._one is not None and self._one.system is system else None
        put_in = [layer for layer in (one.water_layer, one.oil_layer) if layer] if one else []
        try:
            settled = self._settled(system)
        except KitError as error:
            self.answer.value, self.layers.value = problem(str(error)), ""
            settled = None
        else:
            self._say(system, settled)
        self._draw(system, settled, put_in)
        self.marks.value = soft(_marks(system, settled))

    def _draw(self, system: TernarySystem, settled: Settled | None, put_in: Sequence[Composition]) -> None:
        """Draw the triangle anew where it is another one; else only what is in hand, which a slider moves."""
        shown, self._shown = self._shown, (system, tuple(put_in))
        if shown == self._shown and self.picture.figure is not None:
            move_mixture(self.picture.figure, settled)
            return
        self.picture.draw(tie_line_figure(system, settled, put_in))
        self.ratios.value = ratio_sheet(system, put_in) if len(put_in) == 2 else ""

    def _settled(self, system: TernarySystem) -> Settled | None:
        shared, oil = self.form["shared"], self.form["oil"]
        if shared is None or oil is None:
            return None
        left = 100.0 - shared - oil
        if left < -1e-9:
            msg = f"{system.shared} {shared:g} % and {system.oil} {oil:g} % are more than 100 %. Lower one of them."
            raise RangeError(msg)
        return settle(system, Composition.of(max(0.0, left), shared, oil))

    def _say(self, system: TernarySystem, settled: Settled | None) -> None:
        said = [] if self._one is not None else [soft(NOT_ONE)]
        if settled is None:
            said.append(soft(f"Type how much {system.shared} and {system.oil} there are to see what they do."))
        else:
            whose = "" if self._own or self._one is None else "The product in hand. "
            severity: Severity = "note" if settled.layers == "two" else "caution"
            said.append(findings_list([Finding(severity, f"{whose}{settled.words}")]))
        if self._one is not None and self._one.system is system and self._one.words:
            said.append(soft(self._one.words))
        self.answer.value = "".join(said)
        self.layers.value = ("" if settled is None else layer_sheet(settled)) + soft(straightness(system))


def _marks(system: TernarySystem, settled: Settled | None) -> str:
    """What is what on the triangle."""
    said = ["The dark curve parts one layer from two", "thin lines join the measured layers"]
    if system.plait is not None:
        said.append("the diamond is the plait point, drawn on")
    if settled is not None:
        said.append("the ring is the whole")
    if settled is not None and settled.line is not None:
        said.append("the squares are its water layer and its oil layer, joined by its tie line")
    return "; ".join(said) + "."


def layer_sheet(settled: Settled) -> str:
    """What both layers hold at rest; the whole alone where there is one layer, or nobody knows."""
    system, line, share = settled.system, settled.line, settled.water_share
    rows = [["the whole", "100", *_parts(settled.overall)]]
    if line is not None and share is not None:
        rows = [
            ["water layer at rest", f"{100 * share:.1f}", *_parts(line.water_layer)],
            ["oil layer at rest", f"{100 * (1 - share):.1f}", *_parts(line.oil_layer)],
            *rows,
        ]
    head = ["", "of the mass, %", *(f"{name}, %" for name in system.names)]
    return sheet(head, rows, numbers=range(1, 5), kinds=["water", "oil", ""] if line else [""])


def _parts(layer: Composition) -> list[str]:
    return [f"{part:.3g}" for part in layer.parts]


def ratio_sheet(system: TernarySystem, put_in: Sequence[Composition]) -> str:
    """What a shift of the ratio does: the layers as they are weighed in, mixed in other proportions."""
    rows = []
    for step in along_ratio(system, put_in[0], put_in[1], RATIOS):
        settled, line = step.settled, step.settled.line
        held = ["", "", "", ""]
        if line is not None and settled.oil_share is not None:
            water, oil = line.water_layer, line.oil_layer
            held = [f"{part:.3g}" for part in (100 * settled.oil_share, water.shared, water.oil, oil.shared)]
        rows.append([f"{step.oil_percent:g}", settled.layers, *held])
    head = [
        "oil weighed in, %",
        "layers",
        "oil at rest, %",
        f"{system.shared} in water, %",
        f"{system.oil} in water, %",
        f"{system.shared} in oil, %",
    ]
    caption = "What a shift of the ratio does: oil layer, weighed in and at rest, and what the layers hold"
    return sheet(head, rows, numbers=(0, 2, 3, 4, 5), caption=caption)


def straightness(system: TernarySystem) -> str:
    """How straight the tie lines lie in a published correlation, and where they were read."""
    fit = system.correlated("Hand")
    others = ", ".join(f"{name} {system.correlated(name).r_squared:.3f}" for name in CORRELATIONS if name != "Hand")
    plait = system.plait
    ends = (
        f"Drawn on from the last lines, both layers become one near {plait.shared:.0f} % of {system.shared} and "
        f"{plait.oil:.0f} % of {system.oil}."
        if plait is not None
        else "The last line lies too far from the plait point to draw on to it."
    )
    return (
        f"{fit.lines} tie lines lie on Hand's straight line with R² {fit.r_squared:.3f} (residual {fit.residual:.2f} "
        f"in its logarithm; R² of {others}). {ends} {system.note} Source: {source_text(system.source)}"
    )
