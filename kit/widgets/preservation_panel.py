"""The estimated level of each preservative in the water layer: at this ratio, and along all of them."""

from __future__ import annotations

from html import escape
from math import inf
from typing import TYPE_CHECKING, cast

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.figures.preservation import level_picture
from kit.layers.partition import checked_k, checked_ph
from kit.layers.preservation import KUsed, Layout, preservative_levels
from kit.layers.preservation_end import level_curve, preservation_end
from kit.layers.preservation_findings import preservation_findings
from kit.layers.preservatives import find_preservatives
from kit.numbers import read_likely
from kit.widgets.html import findings_list, heading, problem, sheet
from kit.widgets.panel import Panel, controls
from kit.widgets.preservation_tables import level_table, reached_row
from kit.widgets.shown import on_hand, show_in

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.layers.preservation import Reading, WaterLevel
    from kit.layers.preservatives import Found
    from kit.layers.ratio import RatioPath
    from kit.layers.window import End
    from kit.widgets.bench import Bench

#: What a maker's least level can be counted in.
COUNTED: tuple[tuple[str, str], ...] = (("undissociated part", "undissociated"), ("all forms", "whole"))
#: The picture shows the oil layer at least this far, and somewhat beyond where the formula and the window stand.
SHOWN_TO, BEYOND = 60.0, 1.25

NONE_IN_OIL = KUsed(0.0, "none of it in the oil")

SUBTITLE = "estimated on paper from the amounts, the volumes, K and the measured pH"


class Row:
    """The controls of one preservative."""

    def __init__(self, found: Found) -> None:
        self.inci = found.inci
        style = {"description_width": "initial"}
        self.k = ipw.Text(
            description=f"{found.inci}: K in this oil",
            placeholder="unknown",
            continuous_update=False,
            style=style,
            layout={"width": "268px"},
        )
        self.least = ipw.Text(
            description="least level, % w/w of the water",
            placeholder="none",
            continuous_update=False,
            style=style,
            layout={"width": "268px"},
        )
        self.counted = ipw.Dropdown(options=COUNTED, description="of", style=style, layout={"width": "175px"})
        self.counted.layout.display = "none" if found.about.form == "neutral" else ""
        self.box = controls(self.k, self.least, self.counted)


class PreservationPanel(Panel):
    """pH and K in, levels in the water out; for each least level of the maker's, the ratio at which it is reached."""

    def __init__(self, bench: Bench) -> None:
        self.rows: dict[str, Row] = {}
        self._ends: tuple[End, ...] = ()
        self.ph = ipw.Text(
            description="pH measured in the water layer",
            placeholder="empty: not counted",
            continuous_update=False,
            style={"description_width": "initial"},
            layout={"width": "275px"},
        )
        self.basis = ipw.Dropdown(
            options=[("% w/w of the water layer", "w/w"), ("% w/v of the water layer", "w/v")],
            description="Table in",
            layout={"width": "250px"},
            style={"description_width": "initial"},
        )
        self.shown = ipw.Dropdown(
            description="Picture of", layout={"width": "215px"}, style={"description_width": "initial"}
        )
        self.asked = ipw.VBox()
        self.message, self.table, self.picture = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.reached, self.findings = ipw.HTML(), ipw.HTML()
        super().__init__(
            bench,
            [
                ipw.HTML(heading("Estimated level in water", SUBTITLE)),
                controls(self.ph, self.basis, self.shown),
                self.asked,
                self.message,
                self.picture,
                self.reached,
                self.table,
                self.findings,
            ],
        )
        for box in (self.ph, self.basis, self.shown):
            on_hand(box, self._heard)

    def refresh(self) -> None:
        """Show the levels of the formula in hand."""
        for box in (self.message, self.picture, self.reached, self.table, self.findings):
            box.value = ""
        try:
            self._offer_rows()
            self._show()
        except KitError as error:
            self.message.value = problem(str(error))

    def _offer_rows(self) -> None:
        every = find_preservatives(self.bench.formula, self.bench.product.materials)
        for found in every:
            if found.inci not in self.rows:
                row = Row(found)
                self.rows[found.inci] = row
                for box in (row.k, row.least, row.counted):
                    on_hand(box, self._heard)
        shown = tuple(self.rows[found.inci].box for found in every)
        if self.asked.children != shown:
            self.asked.children = shown
        names = [found.inci for found in every]
        chosen = self.shown.value if self.shown.value in names else next(iter(names), None)
        show_in(self.shown, chosen, among=[(name, name) for name in names])

    @property
    def path(self) -> RatioPath | None:
        """The path of the ratio; None where it cannot move."""
        try:
            return self.bench.path
        except KitError:
            return None

    def _show(self) -> None:
        bench, ph = self.bench, _number(self.ph.value, "The pH", 0, 14)
        if ph is not None:
            checked_ph(ph)
        every = find_preservatives(bench.formula, bench.product.materials)
        given = {}
        for found in every:
            k = _number(self.rows[found.inci].k.value, f"K of {found.inci}")
            if k is not None:
                given[found.inci] = checked_k(k, found.inci)
        path = self.path
        levels = preservative_levels(bench.formula, bench.product.materials, None, ph, given, path=path)
        self.findings.value = findings_list(
            preservation_findings(bench.formula, bench.product.materials, ph, given, path=path)
        )
        if not levels:
            self._set_ends(())
            return
        self.table.value = level_table(levels, ph, self.basis.value)
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
            least = _number(self.rows[inci].least.value, f"The least level of {inci}", 0, 100)
            if least is not None:
                for level in mine:
                    reached = preservation_end(level.found, layout, least, reading=reading, k=level.k, ph=ph)
                    rows.append(reached_row(reached, level.found, least, reading, level))
                    ends += reached.ends if level.k.is_known else ()
            if inci == self.shown.value:
                self.picture.value = self._picture(layout, mine, reading, least, ph)
        self._set_ends(tuple(ends))
        if rows:
            head = ["your least level", "K", "in the water now, %", "it holds", "oil layer there, %"]
            caption = (
                "A ratio here is an estimate on paper. With a K that is known it joins the window of ratios as a "
                "rule of yours; a guessed one does not."
            )
            self.reached.value = sheet(head, rows, numbers=(1, 2, 4), caption=caption)

    def _heard(self, _value: object) -> None:
        """Of several such panels on one bench, the one that a hand touched last has the say over the window."""
        self._ends = self.bench.extra_ends
        self._changed()

    def _set_ends(self, ends: tuple[End, ...]) -> None:
        """Let the window of ratios end where a least level is reached, unless another panel has the say."""
        if self.bench.extra_ends == self._ends != ends:
            self._ends = self.bench.extra_ends = ends

    def _reading(self, level: WaterLevel) -> Reading:
        """What is drawn and compared: as the maker counts, or without ionisation where that is not known."""
        return "partition" if level.ionised is None else cast("Reading", self.rows[level.inci].counted.value)

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


def _number(text: str, name: str, low: float = -inf, high: float = inf) -> float | None:
    """What a box holds, or None where it is empty."""
    if not text.strip():
        return None
    try:
        return read_likely(text.strip().removesuffix("%"), low, high)
    except EntryError as error:
        msg = f"{name}: {error}"
        raise EntryError(msg) from error
