"""The estimated level of each preservative in the water layer: at this ratio, and along all of them."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, cast

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.preservation import level_picture
from kit.inputs import Choice, Input, Number
from kit.layers.partition import Coefficient, MeasuredPh
from kit.layers.preservation import KUsed, Layout, preservative_levels
from kit.layers.preservation_end import level_curve, preservation_end
from kit.layers.preservation_findings import preservation_findings
from kit.layers.preservatives import find_preservatives
from kit.widgets.form import Form
from kit.widgets.html import findings_list, problem, sheet
from kit.widgets.panel import Panel
from kit.widgets.preservation_tables import level_table, reached_row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.layers.preservation import Reading, WaterLevel
    from kit.layers.preservatives import Found
    from kit.layers.ratio import RatioPath
    from kit.layers.window import End
    from kit.widgets.panel import Source

#: What a maker's least level can be counted in.
COUNTED = Choice({"undissociated": "undissociated part", "whole": "all forms"})
#: The picture shows the oil layer at least this far, and somewhat beyond where the formula and the window stand.
SHOWN_TO, BEYOND = 60.0, 1.25

NONE_IN_OIL = KUsed(0.0, "none of it in the oil")

INPUTS = (
    Input("ph", "Measured pH", MeasuredPh(), None, help="Of the water layer. Empty: ionisation is not counted."),
    Input("basis", "Table in", Choice({basis: f"% {basis} of the water layer" for basis in ("w/w", "w/v")}), "w/w"),
    Input("shown", "Picture of", Choice({}), None),
)


class PreservativeForm(Form):
    """What a maker says of one preservative."""

    def __init__(self, found: Found) -> None:
        k = Coefficient(name=found.inci)
        counted = Input("counted", "Counted as", COUNTED, "undissociated")
        asked = (
            Input("k", f"{found.inci}: K in this oil", k, None, example="unknown"),
            Input("least", "Least level", Number(0, 100), None, "%", "none", help="In % w/w of the water layer."),
            counted,
        )
        super().__init__(asked)
        if found.about.form == "neutral":
            self.show("k", "least")


class PreservationPanel(Panel):
    """pH and K in, levels in the water out; for each least level of the maker's, the ratio at which it is reached."""

    title = "Estimated level in water"
    subtitle = "estimated on paper from the amounts, the volumes, K and the measured pH"

    def __init__(self, source: Source = None) -> None:
        self.rows: dict[str, PreservativeForm] = {}
        self._ends: tuple[End, ...] = ()
        self.form = Form(INPUTS, on_change=self._measured)
        self.asked = ipw.VBox()
        self.message, self.picture, self.reached, self.findings = (ipw.HTML() for _ in range(4))
        self.table = ipw.HTML().add_class("sw-answer")
        super().__init__(
            source,
            [self.form, self.asked, self.message, self.picture, self.reached, self.table, self.findings],
        )

    def refresh(self) -> None:
        """Show the levels of the formula in hand."""
        self.form.set(ph=self.bench.ph)
        for box in (self.message, self.picture, self.reached, self.table, self.findings):
            box.value = ""
        try:
            every = find_preservatives(self.bench.formula, self.bench.product.materials)
            self._offer_rows(every)
            self._show(every)
        except KitError as error:
            self.message.value = problem(str(error))

    def _offer_rows(self, every: Sequence[Found]) -> None:
        for found in every:
            if found.inci not in self.rows:
                self.rows[found.inci] = row = PreservativeForm(found)
                row.on_change(lambda _: self._heard())
        shown = tuple(self.rows[found.inci] for found in every)
        if self.asked.children != shown:
            self.asked.children = shown
        self.form.offer("shown", [found.inci for found in every])

    @property
    def path(self) -> RatioPath | None:
        """The path of the ratio; None where it cannot move."""
        try:
            return self.bench.path
        except KitError:
            return None

    def _show(self, every: Sequence[Found]) -> None:
        bench, ph = self.bench, self.bench.ph
        given = {found.inci: k for found in every if (k := self.rows[found.inci]["k"]) is not None}
        path = self.path
        levels = preservative_levels(bench.formula, bench.product.materials, None, ph, given, path=path)
        self.findings.value = findings_list(
            preservation_findings(bench.formula, bench.product.materials, ph, given, path=path)
        )
        if not levels:
            self._set_ends(())
            return
        self.table.value = level_table(levels, ph, self.form["basis"])
        layout = Layout.of(bench.formula, bench.product.materials, path)
        if layout.still:
            self._set_ends(())
            self.picture.value = f'<div class="sw-subtitle">{escape(layout.still)}</div>'
            return
        self._draw(layout, levels, ph)

    def _draw(self, layout: Layout, levels: Sequence[WaterLevel], ph: float | None) -> None:
        rows: list[list[str]] = []
        ends: list[End] = []
        for inci in dict.fromkeys(level.inci for level in levels):
            mine = [level for level in levels if level.inci == inci]
            reading = self._reading(mine[0])
            least = self.rows[inci]["least"]
            if least is not None:
                for level in mine:
                    reached = preservation_end(level.found, layout, least, reading=reading, k=level.k, ph=ph)
                    rows.append(reached_row(reached, level.found, least, reading, level))
                    ends += reached.ends if level.k.is_known else ()
            if inci == self.form["shown"]:
                self.picture.value = self._picture(layout, mine, reading, least, ph)
        self._set_ends(tuple(ends))
        if rows:
            head = ["your least level", "K", "in the water now, %", "it holds", "oil layer there, %"]
            caption = (
                "A ratio here is an estimate on paper. With a K that is known it joins the window of ratios as a "
                "rule of yours; a guessed one does not."
            )
            self.reached.value = sheet(head, rows, numbers=(1, 2, 4), caption=caption)

    def _measured(self, changed: tuple[str, ...]) -> None:
        if "ph" in changed:
            self.bench.ph = self.form["ph"]
        self._heard()

    def _heard(self) -> None:
        """Of several such panels on one bench, the one that a hand touched last has the say over the window."""
        self._ends = self.bench.extra_ends
        self._changed()

    def _set_ends(self, ends: tuple[End, ...]) -> None:
        """Let the window of ratios end where a least level is reached, unless another panel has the say."""
        if self.bench.extra_ends == self._ends != ends:
            self._ends = self.bench.extra_ends = ends

    def _reading(self, level: WaterLevel) -> Reading:
        """What is drawn and compared: as the maker counts, or without ionisation where that is not known."""
        return "partition" if level.ionised is None else cast("Reading", self.rows[level.inci]["counted"])

    def _picture(
        self, layout: Layout, levels: Sequence[WaterLevel], reading: Reading, least: float | None, ph: float | None
    ) -> str:
        found = levels[0].found
        window = self.bench.window
        ends = (window.low, window.high) if window.is_open else None
        upto = BEYOND * max(layout.now, ends[1] if ends else 0.0)
        upto = min(layout.high, max(SHOWN_TO, upto))
        curves = [level_curve(found, layout, reading, NONE_IN_OIL, ph, upto)]
        curves += [level_curve(found, layout, reading, level.k, ph, upto) for level in levels]
        what = "undissociated part of " if reading == "undissociated" and found.about.form == "acid" else ""
        counted = f" at pH {ph:g}" if ph is not None and levels[0].fraction is not None else ""
        title = (
            f"Estimated level of the {what}{found.inci}{counted}"
            if what
            else f"Estimated level of {found.inci}{counted}"
        )
        return level_picture(curves, title=title, now=layout.now, window=ends, least=least)
