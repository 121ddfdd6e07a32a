"""The form in which a maker notes how a shaken bottle cleared; nothing typed in it is ever taken away."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import RangeError
from kit.inputs import Choice, Input
from kit.layers.drop_fit import TIMINGS, DropFit, fit_drop_size
from kit.widgets.form import Button, Form
from kit.widgets.html import sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kit.layers.shaken import Shaken
    from kit.layers.shaken_product import ShakenProduct

SEEN = Choice({"lower": "clear lower layer", "upper": "clear upper layer"})
HELP = "A line for each reading: minutes after shaking, then the height of the clear layer in mm, such as 0.5 2.5."


class TimingTable(Form):
    """Minutes and millimetres in, the effective drop size out.

    Parameters
    ----------
    product
        Gives the product as it is shaken now; may raise a KitError.
    fitted
        Called after a fit, also where it failed.
    use
        Called with a drop size that the maker wants to go on with. [µm]

    Attributes
    ----------
    residuals
        Seen against computed, to be shown below the form.
    """

    def __init__(
        self, product: Callable[[], ShakenProduct], fitted: Callable[[], None], use: Callable[[float], None]
    ) -> None:
        self._product, self._fitted, self._use = product, fitted, use
        self._fitted_for: Shaken | None = None
        self.residuals = ipw.HTML()
        super().__init__(
            [
                Input("seen", "You measured the", SEEN, "lower"),
                Input("readings", "Minutes and mm", TIMINGS, (), example="0.5 2.5", help=HELP),
            ],
            [
                Button("find", "Fit the drop size", self._find, primary=True),
                Button("take", "Use this size above", self._take),
            ],
            fold="Time your own bottle and fit the drop size",
        )
        self._keep(None)

    def look_again(self, ways: Sequence[Shaken]) -> None:
        """Let go of a fit that was made for another product; its drop size alone makes no other."""
        if self.fit is None or any(_but_for_size(way) == self._fitted_for for way in ways):
            return
        self._keep(None)
        self.tell("The product is another one since the fit; your readings are still here: fit again.")

    def _keep(self, fit: DropFit | None) -> None:
        self.fit = fit
        self.enable("take", can=fit is not None)
        self.residuals.value = residual_sheet(fit) if fit else ""

    def _find(self) -> str:
        self._keep(None)
        try:
            timings, ways = self.read()["readings"], self._product().ways
            if len(ways) > 1:
                msg = "Either liquid may be the drops here. Choose one of them under 'Drops of', then fit."
                raise RangeError(msg)
            self._fitted_for = _but_for_size(ways[0])
            self._keep(found := fit_drop_size(ways[0], timings, self["seen"]))
        finally:
            self._fitted()
        return found.sentence()

    def _take(self) -> str:
        assert self.fit is not None
        self._use(self.fit.median)
        return self.fit.sentence()


def _but_for_size(way: Shaken) -> Shaken:
    return replace(way, sizes=replace(way.sizes, median=1.0))


def residual_sheet(fit: DropFit) -> str:
    """Seen against computed, reading by reading."""
    rows = [
        [f"{t.minutes:g}", f"{t.millimetres:g}", f"{computed:.1f}", f"{t.millimetres - computed:+.1f}"]
        for t, computed in zip(fit.timings, fit.computed, strict=True)
    ]
    return sheet(["after, min", "seen, mm", "computed, mm", "difference, mm"], rows, numbers=range(4))
