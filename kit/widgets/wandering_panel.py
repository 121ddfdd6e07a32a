"""What wanders across the line: dyes and actives by pH and by the colour of both layers; microbes where they meet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.in_use.meeting_line import meeting_findings
from kit.in_use.wanderers import bleeds, read_colours, wanderers, wandering_findings
from kit.in_use.wandering import course, share_in_oil
from kit.inputs import Choice, Input, Text
from kit.layers.partition import MeasuredPh
from kit.widgets.form import Form
from kit.widgets.html import findings_list, problem, sheet, soft
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.colour_readings import Bleed, Home
    from kit.in_use.wanderers import DayOfColours, Wanderer
    from kit.layers.density import Layer
    from kit.widgets.panel import Source

INPUTS = (
    Input("ph", "Measured pH", MeasuredPh(), None, help="Of the water layer. Empty: charges are not counted."),
    Input("dye", "Read is", Choice({}), None),
    Input("home", "It was put into", Choice({"water": "the water layer", "oil": "the oil layer"}), "water"),
    Input(
        "readings", "Colour of both layers", Text("lines"), "",
        example="0; 62 -20 -15; 98 0 2",
        help="A day to a line: day after the start; L* a* b* of the water layer; L* a* b* of the oil layer.",
    ),
)  # fmt: skip
OTHER = "another dye"


class WanderingPanel(Panel):
    """pH and colour readings in; who wanders, how far and how fast; and cautions where the layers meet.

    Parameters
    ----------
    readings
        Colours to begin with, such as :func:`kit.in_use.logged_colours` gives them.
    """

    title = "What wanders across the line"
    subtitle = "dyes, actives and preservatives between the layers"
    foot = (
        "By Lambert and Beer a layer takes of the light in proportion to its dye: a camera's channel is a band, so "
        "keep the colours pale, the bottles alike and the light the same. A dye that fades looks as if it had "
        "wandered. Log D is log P and the part without charge; what bears a charge is taken to stay in the water."
    )

    def __init__(self, source: Source = None, readings: Sequence[DayOfColours] = ()) -> None:
        self.form = Form(INPUTS, on_change=self._typed, wide=["readings"])
        self.answer, self.days, self.table, self.findings, self.meeting = (ipw.HTML() for _ in range(5))
        self.answer.add_class("sw-answer")
        self.form.set(readings="\n".join(one.text for one in readings))
        super().__init__(source, [self.form, self.answer, self.days, self.table, self.findings, self.meeting])

    def refresh(self) -> None:
        """Show the product in hand."""
        bench = self.bench
        self.form.set(ph=bench.ph)
        for box in (self.answer, self.days, self.table, self.findings, self.meeting):
            box.value = ""
        try:
            every = wanderers(bench.formula, bench.product.materials)
            self._offer(every)
            self.table.value = wanderer_sheet(every, bench.ph)
            seen, dye = self._read()
            found = wandering_findings(bench.formula, bench.product.materials, bench.ph, seen, dye)
            self.findings.value = findings_list(found)
            if not self.answer.value:
                self.answer.value = soft(_in_short(every))
            self.meeting.value = self._meeting()
        except KitError as error:
            self.answer.value += problem(str(error))

    def _offer(self, every: Sequence[Wanderer]) -> None:
        self.form.offer("dye", [*(one.inci for one in every if one.is_dye), OTHER])
        home = next((one.home for one in every if one.inci == self.form["dye"]), None)
        if home is not None:
            self.form.set(home=home)

    def _typed(self, changed: tuple[str, ...]) -> None:
        if "ph" in changed:
            self.bench.ph = self.form["ph"]
        self._changed()

    def _read(self) -> tuple[Bleed | None, str]:
        """What the typed colours show, and of which dye."""
        self.form.mark("readings", "")
        dye = "" if self.form["dye"] == OTHER else self.form["dye"] or ""
        if not self.form["readings"].strip():
            return None, dye
        try:
            readings = read_colours(self.form["readings"])
            ratio = oil_to_water(self.bench.product.layers)
            home: Home = self.form["home"]
            every = bleeds(readings, ratio, home)
        except KitError as error:
            self.form.mark("readings", str(error))
            return None, dye
        self.days.value = day_sheet(every)
        self.answer.value = soft(course_words(every))
        return every[-1][1], dye

    def _meeting(self) -> str:
        """Cautions about microbes; none while the formula is not complete."""
        product, path = self.bench.product, None
        if not product.formula.is_complete:
            return ""
        ends: tuple[float, float] | None = None
        try:
            path, window = self.bench.path, self.bench.window
        except KitError:  # the ratio cannot move, so there is no window
            pass
        else:
            ends = (window.low, window.high) if window.is_open else None
        found = meeting_findings(product.formula, product.materials, self.bench.ph, path=path, ends=ends)
        return (soft("Where the layers meet") + findings_list(found)) if found else ""


def oil_to_water(layers: Sequence[Layer]) -> float:
    """Volume of the oil over that of the water, by the densities of the layers at 20 °C. [mL/mL]

    Raises
    ------
    EntryError
        One of the two layers is missing.
    """
    volumes = {layer.kind: layer.percent / layer.density for layer in layers}
    if not volumes.get("water") or not volumes.get("oil"):
        msg = "The product has not both a water and an oil layer, so nothing can pass from one to the other."
        raise EntryError(msg)
    return volumes["oil"] / volumes["water"]


def _in_short(every: Sequence[Wanderer]) -> str:
    dyes = sum(one.is_dye for one in every)
    if not every:
        return "No dye and no active with a known log P stands in the two layers."
    return f"Dyes: {dyes}; actives: {len(every) - dyes}. Type the colours of both layers to see what a dye does."


def day_sheet(every: Sequence[tuple[float, Bleed]]) -> str:
    """What each day shows beside the start."""
    rows = []
    for day, seen in every:
        high = f"{seen.k_high:.2g}" if seen.k_high < float("inf") else "no bound"
        k = f"{seen.k:.2g}" if seen.k is not None else "not seen"
        in_oil = "" if seen.k is None else f"{100 * share_in_oil(seen.k, seen.oil_to_water):.0f}"
        rows.append(
            [f"{day:g}", f"{100 * seen.left:.0f}", f"{seen.gained:+.3f}", k, f"{seen.k_low:.2g} to {high}", in_oil]
        )
    seen = every[0][1]
    head = ["day", f"left in {seen.home}, %", "gain elsewhere", "K", "K, within doubt", "in oil, %"]
    caption = (
        f"Read in {seen.channel} light, {seen.oil_to_water:.2g} mL of oil to each mL of water. Gain elsewhere: of the "
        "other layer's absorbance. K: oil over water if none faded, and how far two photographs may be off"
    )
    return sheet(head, rows, numbers=(0, 1, 2, 3, 5), caption=caption)


def course_words(every: Sequence[tuple[float, Bleed]]) -> str:
    """How fast it went, where there are readings enough."""
    days = [0.0, *(day for day, _ in every)]
    try:
        found = course(days, [1.0, *(seen.left for _, seen in every)])
    except EntryError:
        return (
            f"{100 * every[-1][1].left:.0f} % of the dye's level is left in its layer. Four days or more give a course."
        )
    if not found.is_determined:
        return (
            f"{100 * every[-1][1].left:.0f} % of the dye's level is left in its layer; the readings do not bound how "
            "fast it goes. Read on, closer together at the start."
        )
    return (
        f"The level in its layer runs toward {100 * found.end:.0f} % of the start, half of the way in "
        f"{found.half_time:.2g} days (95 %: {_half(found.fastest)} to {_half(found.slowest)} days; first order, "
        f"{found.readings} readings)."
    )


def _half(rate: float | None) -> str:
    return "?" if rate is None else f"{0.6931471805599453 / rate:.2g}"


def wanderer_sheet(every: Sequence[Wanderer], ph: float | None) -> str:
    """Who may wander, with what is known of each."""
    if not every:
        return ""
    at = "uncharged" if ph is None else f"at pH {ph:g}"
    rows = [
        [
            one.inci,
            "dye" if one.is_dye else "active",
            one.home,
            "not known" if one.log_p is None else f"{one.log_p:.2g}",
            "" if (value := one.log_d(ph)) is None else f"{value:.2g}",
        ]
        for one in every
    ]
    head = ["", "is", "put into", "log P, octanol", f"log D, octanol, {at}"]
    return sheet(head, rows, numbers=(3, 4), kinds=[one.home for one in every])
