"""Explore the ratio of the layers: the bottle, the window of allowed ratios, and variants kept as versions."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.formula.compare import compare
from kit.formula.requirements import flat_percents
from kit.formula.versions import stands_as, version_label
from kit.layers.bottle import Bottle, bundled_bottles, room_findings
from kit.layers.density_words import HOW, density_findings
from kit.rounding import all_digits, percent_text
from kit.widgets.html import findings_list, sheet, soft
from kit.widgets.on_disk import disk_words, kept_words
from kit.widgets.panel import Panel, controls, number_box, try_to
from kit.widgets.ratio_view import RatioView
from kit.widgets.shown import on_hand, show_in, value_in
from kit.widgets.views import change_text, ratio_picture

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.widgets.bench import Bench

OWN_BOTTLE = "straight bottle of your own"
#: What the boxes take. [mL, mm, mL]
FILLS, DIAMETERS, VOLUMES = (0.1, 5000.0), (5.0, 300.0), (1.0, 5000.0)

FOOT = (
    f"Densities are {HOW}. Whether the water layer withstands microbes at another ratio is shown only by a "
    "challenge test in a laboratory (ISO 11930). Shake before each use."
)


class RatioPanel(Panel):
    """Move the ratio by mass or by the height that is seen."""

    watches = ("formula", "start", "library", "bottle", "fill", "extra_ends", "jurisdiction", "file", "saved")

    def __init__(self, bench: Bench) -> None:
        self.picture = RatioView()
        self.by_mass = number_box("Oil layer, % by mass", 0.0, 0.0, 100.0, step=0.5)
        self.by_volume = number_box("by volume", 0.0, 0.0, 100.0, step=0.5)
        self.by_height = number_box("of the height", 0.0, 0.0, 100.0, step=1.0)
        self.bottles = bundled_bottles()
        self.bottle = ipw.Dropdown(options=[*self.bottles, OWN_BOTTLE], description="Bottle")
        self.fill = number_box("Product in it, mL", bench.fill, *FILLS, step=1.0)
        self.diameter = number_box("Inner diameter, mm", 44.0, *DIAMETERS)
        self.volume = number_box("Brimful volume, mL", 120.0, *VOLUMES)
        self.findings = ipw.HTML()
        self.lines = ipw.HTML()
        self.note = ipw.Text(
            placeholder="what changed, in a few words", description="Keep it as", layout={"width": "420px"}
        )
        self.keep = ipw.Button(description="Keep as new version", button_style="primary", layout={"width": "auto"})
        self.home = ipw.Button(description="Back to the ratio as typed", layout={"width": "auto"})
        self.where, self.message = ipw.HTML(), ipw.HTML()
        self._serial = 0
        #: The bottle and its fill that a choice started from, and what the choice made of them.
        self._filled: tuple[Bottle, float, tuple[Bottle, float]] | None = None
        super().__init__(
            bench,
            [
                self.picture,
                controls(self.by_mass, self.by_volume, self.by_height, self.home),
                controls(self.bottle, self.diameter, self.volume, self.fill),
                self.findings,
                self.lines,
                controls(self.note, self.keep),
                self.where,
                self.message,
            ],
        )
        self.picture.on_ask(self._asked)
        on_hand(self.by_mass, lambda oil: self._set(oil, lambda typed: typed, bench.move_oil))
        on_hand(self.by_height, lambda share: self._set(share, bench.heights.height_share, bench.move_oil_height))
        on_hand(self.by_volume, lambda share: self._set(share, bench.heights.volume_share, bench.move_oil_volume))
        self.home.on_click(lambda _: self._move(lambda: bench.change(replace(bench.formula, ratio=None))))
        for box in (self.bottle, self.diameter, self.volume):
            on_hand(box, lambda _: self._set_bottle())
        on_hand(self.fill, self._set_fill)
        self.keep.on_click(lambda _: self._keep())

    def refresh(self) -> None:
        """Show the ratio in hand."""
        bench = self.bench
        self.where.value = soft(disk_words(bench))
        self.home.disabled = bench.formula.ratio is None
        self.picture.view = dict(ratio_picture(bench, self._serial))
        self._show_bottle()
        try:
            bench.product.standing  # noqa: B018  # a fill that the bottle cannot hold is refused here
            oil, heights = bench.product.oil, bench.heights
            show_in(self.by_mass, oil, round(oil, 4), within=(0.0, bench.path.most))
            show_in(self.by_volume, heights.volume_share(oil), round(heights.volume_share(oil), 4))
            show_in(self.by_height, heights.height_share(oil), round(heights.height_share(oil), 4))
            self._disable(False)
        except KitError:
            self._disable(True)
            self.findings.value = self.lines.value = ""
            return
        requirements = [requirement.finding(flat_percents(bench.formula)) for requirement in bench.requirements]
        found = [finding for finding in requirements if finding is not None]
        found += [
            *bench.window.findings,
            *density_findings(bench.product.layers),
            *room_findings(bench.bottle, bench.fill),
        ]
        self.findings.value = findings_list(found) + self._prices() + f'<div class="sw-subtitle">{FOOT}</div>'
        self.lines.value = self._compared()

    def _disable(self, disabled: bool) -> None:
        for box in (self.by_mass, self.by_volume, self.by_height):
            box.disabled = disabled
            box.layout.display = "none" if disabled else ""  # a number of before would be no longer true

    def _prices(self) -> str:
        """What relaxing the two rules that end the window would buy."""
        told = [
            f"{end.rule}: each 0.01 % by which you relax it moves this end by about {0.01 * end.price:.2g} % oil layer."
            for end in (self.bench.window.low_end, self.bench.window.high_end)
            if end.price
        ]
        return "".join(f'<div class="sw-subtitle">{escape(words)}</div>' for words in told)

    def _show_bottle(self) -> None:
        """Show the bottle in hand; one that is neither bundled nor straight joins the list under its own name."""
        bottle = self.bench.bottle
        straight = len(bottle.profile) == 2 and bottle.seen_width is None
        if straight and bottle not in self.bottles.values():
            show_in(self.bottle, OWN_BOTTLE)
            if bottle != self._own_bottle():
                diameter = 2 * bottle.half_widths()[0][1]
                show_in(self.diameter, diameter, round(diameter, 4), within=DIAMETERS)
                show_in(self.volume, bottle.brimful, round(bottle.brimful, 4), within=VOLUMES)
        else:
            if bottle not in self.bottles.values():
                self.bottles[bottle.name] = bottle
            name = next(name for name, known in self.bottles.items() if known == bottle)
            show_in(self.bottle, name, among=[*self.bottles, OWN_BOTTLE])
        for box in (self.diameter, self.volume):
            box.layout.display = "" if self.bottle.value == OWN_BOTTLE else "none"
        show_in(self.fill, self.bench.fill, within=FILLS)

    def _own_bottle(self) -> Bottle:
        wide, holds = f"{all_digits(value_in(self.diameter))} mm", f"{all_digits(value_in(self.volume))} mL"
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
            self._move(lambda: self.bench.move_oil(self._or_as_typed(value)))
        else:
            self._move(lambda: self.bench.move_oil_height(self._share_for(value)))
        if self.picture.view.get("serial") != serial:  # nothing moved, and the hand still waits for an answer
            self._changed()

    def _share_for(self, millimetres: float) -> float:
        """The oil layer's share of the height when the line between the layers stands there. [mm → %]"""
        surface = self.bench.product.standing[-1].top
        seen = 100.0 * min(max(millimetres, 0.0), surface) / surface
        return seen if self.bench.heights.oil_is_below(self.bench.product.oil) else 100.0 - seen

    def _set(self, value: float, shown: Callable[[float], float], move: Callable[[float], None]) -> None:
        """Move to what a box says; what it said while the ratio was as typed means just that ratio."""

        def work() -> None:
            typed = self.bench.path.typed
            if value == round(shown(typed), 4):
                self.bench.move_oil(typed)
            else:
                move(value)

        self._move(work)

    def _or_as_typed(self, oil: float) -> float:
        """The ratio that the picture means: it is told six decimals of where it is."""
        typed = self.bench.path.typed
        return typed if abs(oil - typed) <= 1e-6 else oil

    def _move(self, work: Callable[[], None]) -> None:
        try_to(self.message, work)

    def _set_bottle(self) -> None:
        """Take another bottle, filled as far; the one that was filled by hand gets its own fill back."""

        def work() -> None:
            bench = self.bench
            bottle = self._own_bottle() if self.bottle.value == OWN_BOTTLE else self.bottles[self.bottle.value]
            if self._filled is None or self._filled[2] != (bench.bottle, bench.fill):
                self._filled = (bench.bottle, bench.fill, (bench.bottle, bench.fill))
            first, millilitres, _ = self._filled
            fill = millilitres if bottle == first else round(bottle.brimful * millilitres / first.brimful, 1)
            fill = max(fill, FILLS[0])
            self._filled = (first, millilitres, (bottle, fill))
            with bench.hold_trait_notifications():
                bench.bottle, bench.fill = bottle, fill

        try_to(self.message, work)

    def _set_fill(self, millilitres: float) -> None:
        self.bench.fill = millilitres

    def _keep(self) -> None:
        def work() -> str:
            kept = self.bench.keep(self.note.value.strip())
            self.note.value = ""
            return kept_words(self.bench, kept)

        self.act(self.message, work)
