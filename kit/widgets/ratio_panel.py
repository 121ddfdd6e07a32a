"""Explore the ratio of the layers: the bottle, the window of allowed ratios, and variants kept as versions."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.bench.batch_text import LEAST_EACH
from kit.errors import KitError
from kit.formula.compare import compare
from kit.formula.requirements import flat_percents
from kit.formula.usual_ranges import usual_range_findings
from kit.formula.versions import stands_as, version_label
from kit.inputs import Choice, Input, Number, inputs_of
from kit.layers.bottle import Bottle, room_findings
from kit.layers.bottle_measures import READY, BottleMeasures
from kit.layers.density_words import HOW, density_findings
from kit.rounding import all_digits, percent_text
from kit.widgets.bottle_panel import PRODUCT
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, sheet, soft
from kit.widgets.on_disk import disk_words, kept_words
from kit.widgets.panel import Panel
from kit.widgets.ratio_view import RatioView
from kit.widgets.views import change_text, ratio_picture

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from kit.widgets.panel import Source

#: Below this a rule that is relaxed by 1 % does not move its end. [% oil layer]
NO_MOVE = 1e-6

OWN_BOTTLE = "straight bottle of your own"

FOOT = (
    f"Densities are {HOW}. Whether a water layer withstands microbes at another ratio is shown only by a "
    "challenge test in a laboratory (ISO 11930). What stands in two layers is shaken before each use."
)


def _share(name: str, words: str, unit: str) -> Input:
    return Input(name, words, Number(0, 100, digits=6), 0.0, unit)


def _is_own(values: Mapping[str, Any]) -> bool:
    return bool(values["bottle"] == OWN_BOTTLE)


MEASURES = [replace(one, applies=_is_own) for one in inputs_of(BottleMeasures) if one.name in ("diameter", "volume")]


class RatioPanel(Panel):
    """Move the ratio by mass or by the height that is seen."""

    watches = ("formula", "start", "library", "bottle", "fill", "extra_ends", "jurisdiction", "file", "saved")
    foot = FOOT

    def __init__(self, source: Source = None) -> None:
        self.picture = RatioView()
        self.ratio = Form(
            [
                _share("mass", "Oil layer", "% by mass"),
                _share("volume", "By volume", "%"),
                _share("height", "Of the height", "%"),
            ],
            [Button("home", "Back to the ratio as typed", self._go_home)],
            on_change=self._set,
        )
        self.bottles = dict(READY)
        chosen = Input("bottle", "Bottle", Choice({}), OWN_BOTTLE)
        self.bottle = Form([chosen, *MEASURES, PRODUCT], on_change=self._set_bottle)
        self.findings = ipw.HTML().add_class("sw-answer")
        self.lines = ipw.HTML()
        self.versions = Form(
            [Input("note", "Keep it as", default="", example="what changed, in a few words")],
            [Button("keep", "Keep as new version", self._keep, primary=True)],
        )
        self.where = ipw.HTML()
        self._serial = 0
        #: The bottle and its fill that a choice started from, and what the choice made of them.
        self._filled: tuple[Bottle, float, tuple[Bottle, float]] | None = None
        shown = [self.picture, self.ratio, self.bottle, self.findings, self.lines, self.versions, self.where]
        super().__init__(source, shown)
        self.picture.on_ask(self._asked)

    def refresh(self) -> None:
        """Show the ratio in hand."""
        bench = self.bench
        self.where.value = soft(disk_words(bench))
        self.ratio.enable("home", can=bench.formula.ratio is not None)
        self.picture.view = dict(ratio_picture(bench, self._serial))
        self._show_bottle()
        try:
            bench.product.standing  # noqa: B018  # a fill that the bottle cannot hold is refused here
            oil, heights = bench.product.oil, bench.heights
            one = bench.formula.description.is_one_piece
            self.ratio.describe("mass", words="Oil phase" if one else "Oil layer")
            self.ratio.set(mass=oil, volume=heights.volume_share(oil), height=heights.height_share(oil))
            self.ratio.show("mass", "volume", *([] if one else ["height"]), "home")
        except KitError:
            self.ratio.show("home")  # a number of before would be no longer true
            self.findings.value = self.lines.value = ""
            return
        requirements = [requirement.finding(flat_percents(bench.formula)) for requirement in bench.requirements]
        found = [finding for finding in requirements if finding is not None]
        found += [
            *bench.window.findings,
            *usual_range_findings(bench.formula, bench.product.materials),
            *density_findings(bench.product.layers),
            *room_findings(bench.bottle, bench.fill),
        ]
        self.findings.value = findings_list(found) + self._prices() + soft(bench.window.beside)
        self.lines.value = self._compared()

    def _prices(self) -> str:
        """What relaxing the two rules that end the window would buy."""
        told = [
            f"{end.rule}: each 0.01 % by which you relax it moves this end by about {0.01 * end.price:.2g} % oil layer."
            for end in (self.bench.window.low_end, self.bench.window.high_end)
            if end.price > NO_MOVE
        ]
        return "".join(f'<div class="sw-subtitle">{escape(words)}</div>' for words in told)

    def _show_bottle(self) -> None:
        """Show the bottle in hand; one that is neither bundled nor straight joins the list under its own name."""
        bottle = self.bench.bottle
        straight = len(bottle.profile) == 2 and bottle.seen_width is None
        if not straight and bottle not in self.bottles.values():
            self.bottles[bottle.name] = bottle
        self.bottle.offer("bottle", [*self.bottles, OWN_BOTTLE])
        name = next((name for name, known in self.bottles.items() if known == bottle), OWN_BOTTLE)
        self.bottle.set(bottle=name, fill=self.bench.fill)
        if name == OWN_BOTTLE and bottle != self._own_bottle():
            self.bottle.set(diameter=2 * bottle.half_widths()[0][1], volume=bottle.brimful)

    def _own_bottle(self) -> Bottle:
        wide, holds = f"{all_digits(self.bottle['diameter'])} mm", f"{all_digits(self.bottle['volume'])} mL"
        return Bottle.cylinder(wide, holds, name="your bottle")

    def _compared(self) -> str:
        start, now = self.bench.start, self.bench.formula
        lines = compare([start, now])
        same = stands_as(now, start)
        kinds = {phase.name: phase.kind for phase in (*start.phases, *now.phases)}
        rows = [
            [
                line.material,
                percent_text(line.percents[0]) or "—",
                percent_text(line.percents[1]) or "—",
                "" if same else change_text(line.percents[1], line.percents[0]),
            ]
            for line in lines
        ]
        head = ["ingredient", f"{version_label(start)}, %", "now, %", "change"]
        return sheet(head, rows, numbers=(1, 2, 3), kinds=[kinds[line.phase] for line in lines])

    def _asked(self, kind: str, value: float, serial: int) -> None:
        self._serial = serial
        if kind == "oil":
            self.ratio.do(lambda: self.bench.move_oil(self._or_as_typed(value)), quiet=True)
        else:
            self.ratio.do(lambda: self.bench.move_oil_height(self._share_for(value)), quiet=True)
        if self.picture.view.get("serial") != serial:  # nothing moved, and the hand still waits for an answer
            self._changed()

    def _share_for(self, millimetres: float) -> float:
        """The oil layer's share of the height when the line between the layers stands there. [mm → %]"""
        surface = self.bench.product.standing[-1].top
        seen = 100.0 * min(max(millimetres, 0.0), surface) / surface
        return seen if self.bench.heights.oil_is_below(self.bench.product.oil) else 100.0 - seen

    def _set(self, names: tuple[str, ...]) -> None:
        """Move to what a box says; what it said while the ratio was as typed means just that ratio."""
        bench, name = self.bench, names[0]
        ways: dict[str, tuple[Callable[[float], float], Callable[[float], None]]] = {
            "mass": (float, bench.move_oil),
            "volume": (bench.heights.volume_share, bench.move_oil_volume),
            "height": (bench.heights.height_share, bench.move_oil_height),
        }
        shown, move = ways[name]
        as_typed = self.ratio.inputs[name].write(shown(bench.path.typed))
        if self.ratio.texts[name] == as_typed:
            bench.move_oil(bench.path.typed)
        else:
            move(self.ratio[name])

    def _go_home(self) -> None:
        self.bench.change(replace(self.bench.formula, ratio=None))

    def _or_as_typed(self, oil: float) -> float:
        """The ratio that the picture means: it is told six decimals of where it is."""
        typed = self.bench.path.typed
        return typed if abs(oil - typed) <= 1e-6 else oil

    def _set_bottle(self, names: tuple[str, ...]) -> None:
        """Take another bottle, filled as far; the one that was filled by hand gets its own fill back."""
        bench = self.bench
        if names == ("fill",):
            bench.fill = self.bottle["fill"]
            return
        name = self.bottle["bottle"]
        bottle = self._own_bottle() if name == OWN_BOTTLE else self.bottles[name]
        if self._filled is None or self._filled[2] != (bench.bottle, bench.fill):
            self._filled = (bench.bottle, bench.fill, (bench.bottle, bench.fill))
        first, millilitres, _ = self._filled
        fill = millilitres if bottle == first else round(bottle.brimful * millilitres / first.brimful, 1)
        if bottle.nominal and millilitres == first.nominal:  # filled as labels say stays filled as labels say
            fill = bottle.nominal
        fill = max(fill, LEAST_EACH)
        self._filled = (first, millilitres, (bottle, fill))
        bench.product = bench.product.with_bottle(bottle, fill)

    def _keep(self) -> str:
        kept = self.bench.keep(self.versions["note"])
        self.versions.clear()
        return kept_words(self.bench, kept)
