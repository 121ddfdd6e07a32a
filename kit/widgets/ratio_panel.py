"""Explore the ratio of the layers: the bottle, the window of allowed ratios, and variants kept as versions."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.formula.compare import compare, version_label
from kit.formula.requirements import flat_percents
from kit.layers.bottle import Bottle, bundled_bottles, room_findings
from kit.layers.density import IDEAL_VOLUMES, density_findings
from kit.widgets.html import findings_list, sheet
from kit.widgets.panel import Panel, controls, number_box, show_number, try_to
from kit.widgets.ratio_view import RatioView
from kit.widgets.views import change_text, percent_text, ratio_picture

if TYPE_CHECKING:
    from kit.widgets.bench import Bench

OWN_BOTTLE = "straight bottle of your own"
#: What the boxes take. [mL, mm, mL]
FILLS, DIAMETERS, VOLUMES = (0.1, 5000.0), (5.0, 300.0), (1.0, 5000.0)

FOOT = (
    f"Densities {IDEAL_VOLUMES}. Whether the water layer withstands microbes at another ratio is shown only by a "
    "challenge test in a laboratory (ISO 11930). Shake before each use."
)


class RatioPanel(Panel):
    """Move the ratio by mass or by the height that is seen."""

    watches = ("formula", "start", "library", "bottle", "fill", "extra_ends", "jurisdiction")

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
        self.message = ipw.HTML()
        self._serial = 0
        super().__init__(
            bench,
            [
                self.picture,
                controls(self.by_mass, self.by_volume, self.by_height),
                controls(self.bottle, self.diameter, self.volume, self.fill),
                self.findings,
                self.lines,
                controls(self.note, self.keep),
                self.message,
            ],
        )
        self.picture.on_ask(self._asked)
        self.by_mass.observe(lambda _: self._move(lambda: bench.move_oil(self.by_mass.value)), names="value")
        self.by_height.observe(lambda _: self._move(lambda: bench.move_oil_height(self.by_height.value)), names="value")
        self.by_volume.observe(lambda _: self._move(lambda: bench.move_oil_volume(self.by_volume.value)), names="value")
        for box in (self.bottle, self.diameter, self.volume):
            box.observe(lambda _: self._set_bottle(), names="value")
        self.fill.observe(self._set_fill, names="value")
        self.keep.on_click(lambda _: self._keep())

    def refresh(self) -> None:
        """Show the ratio in hand."""
        bench = self.bench
        self.picture.view = dict(ratio_picture(bench, self._serial))
        self._show_bottle()
        try:
            bench.standing  # noqa: B018  # a fill that the bottle cannot hold is refused here
            self.by_mass.max = bench.path.most
            self.by_mass.value = round(bench.oil, 4)
            self.by_volume.value = round(bench.heights.volume_share(bench.oil), 4)
            self.by_height.value = round(bench.heights.height_share(bench.oil), 4)
            self._disable(False)
        except KitError:
            self._disable(True)
            self.findings.value = self.lines.value = ""
            return
        requirements = [requirement.finding(flat_percents(bench.formula)) for requirement in bench.requirements]
        found = [finding for finding in requirements if finding is not None]
        found += [*bench.window.findings(), *density_findings(bench.layers), *room_findings(bench.bottle, bench.fill)]
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
            self.bottle.value = OWN_BOTTLE
            if bottle != self._own_bottle():
                show_number(self.diameter, round(2 * bottle.half_widths()[0][1], 4), *DIAMETERS)
                show_number(self.volume, round(bottle.brimful, 4), *VOLUMES)
        else:
            if bottle not in self.bottles.values():
                self.bottles[bottle.name] = bottle
                self.bottle.options = [*self.bottles, OWN_BOTTLE]
            self.bottle.value = next(name for name, known in self.bottles.items() if known == bottle)
        for box in (self.diameter, self.volume):
            box.layout.display = "" if self.bottle.value == OWN_BOTTLE else "none"
        show_number(self.fill, self.bench.fill, *FILLS)

    def _own_bottle(self) -> Bottle:
        return Bottle.cylinder(f"{self.diameter.value} mm", f"{self.volume.value} mL", name="your bottle")

    def _compared(self) -> str:
        start, now = self.bench.start, self.bench.formula
        lines = compare([start, now])
        kinds = {phase.name: phase.kind for phase in (*start.phases, *now.phases)}
        rows = [
            [
                line.material,
                percent_text(line.percents[0]) or "—",
                percent_text(line.percents[1]) or "—",
                change_text(line.percents[1], line.percents[0]),
            ]
            for line in lines
        ]
        head = ["ingredient", f"{version_label(start)}, %", "now, %", "change"]
        return sheet(head, rows, numbers=(1, 2, 3), kinds=[kinds[line.phase] for line in lines])

    def _asked(self, kind: str, value: float, serial: int) -> None:
        self._serial = serial
        if kind == "oil":
            self._move(lambda: self.bench.move_oil(value))
        else:
            self._move(lambda: self.bench.move_oil_height(self._share_for(value)))
        if self.picture.view.get("serial") != serial:  # nothing moved, and the hand still waits for an answer
            self._changed()

    def _share_for(self, millimetres: float) -> float:
        """The oil layer's share of the height when the line between the layers stands there. [mm → %]"""
        surface = self.bench.standing[-1].top
        seen = 100.0 * min(max(millimetres, 0.0), surface) / surface
        return seen if self.bench.heights.oil_is_below else 100.0 - seen

    def _move(self, work: object) -> None:
        if not self.is_refreshing:
            try_to(self.message, work)  # type: ignore[arg-type]

    def _set_bottle(self) -> None:
        if self.is_refreshing:
            return

        def work() -> None:
            bottle = self._own_bottle() if self.bottle.value == OWN_BOTTLE else self.bottles[self.bottle.value]
            fill = round(bottle.brimful * self.bench.fill / self.bench.bottle.brimful, 1)
            with self.bench.hold_trait_notifications():
                self.bench.bottle, self.bench.fill = bottle, max(fill, FILLS[0])

        try_to(self.message, work)

    def _set_fill(self, change: dict[str, float]) -> None:
        if not self.is_refreshing:
            self.bench.fill = change["new"]

    def _keep(self) -> None:
        def work() -> str:
            kept = self.bench.keep(self.note.value.strip())
            self.note.value = ""
            return f"Kept as {version_label(kept)}, rounded to 0.001 %. Save the formula to keep it on disk."

        try_to(self.message, work)
