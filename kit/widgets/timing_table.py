"""The table in which a maker notes how a shaken bottle cleared; nothing typed in it is ever taken away."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import RangeError
from kit.layers.drop_fit import DropFit, fit_drop_size, read_timings
from kit.widgets.html import done, sheet
from kit.widgets.panel import controls, try_to

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kit.layers.separation import Seen
    from kit.layers.shaken import Shaken
    from kit.layers.shaken_product import ShakenProduct

ROWS_AT_FIRST = 5
SEEN: tuple[tuple[str, Seen], ...] = (("clear lower layer", "lower"), ("clear upper layer", "upper"))


class TimingTable(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Minutes and millimetres in, the effective drop size out.

    Parameters
    ----------
    product
        Gives the product as it is shaken now; may raise a KitError.
    fitted
        Called after a fit, and with None when a fit failed.
    use
        Called with a drop size that the maker wants to go on with. [µm]
    """

    def __init__(
        self,
        product: Callable[[], ShakenProduct],
        fitted: Callable[[DropFit | None], None],
        use: Callable[[float], None],
    ) -> None:
        self._product, self._fitted, self._use = product, fitted, use
        self.fit: DropFit | None = None
        self._fitted_for: Shaken | None = None
        self.seen = ipw.Dropdown(
            options=list(SEEN), description="You measured the", style={"description_width": "initial"}
        )
        self.rows: list[tuple[ipw.Text, ipw.Text]] = []
        self.grid = ipw.VBox()
        self.more = ipw.Button(description="One more row", layout={"width": "auto"})
        self.find = ipw.Button(description="Fit the drop size", button_style="primary", layout={"width": "auto"})
        self.take = ipw.Button(description="Use this size above", disabled=True, layout={"width": "auto"})
        self.message, self.residuals = ipw.HTML(), ipw.HTML()
        super().__init__(
            [
                self.seen,
                self.grid,
                controls(self.more, self.find, self.take),
                self.message,
                self.residuals,
            ]
        )
        for _ in range(ROWS_AT_FIRST):
            self.add_row()
        self.more.on_click(lambda _: self.add_row())
        self.find.on_click(lambda _: self._find())
        self.take.on_click(lambda _: self._take())

    def add_row(self, minutes: str = "", millimetres: str = "") -> None:
        """One more row below the others."""
        number = len(self.rows) + 1
        pair = tuple(
            ipw.Text(
                value=value,
                description=f"{number}. {words}",
                style={"description_width": "92px"},
                layout={"width": "190px"},
            )
            for value, words in ((minutes, "after, min"), (millimetres, "clear, mm"))
        )
        self.rows.append((pair[0], pair[1]))
        self.grid.children = (*self.grid.children, controls(*pair))

    def fill(self, rows: list[tuple[str, str]]) -> None:
        """Type readings into the first free rows."""
        free = [pair for pair in self.rows if not pair[0].value.strip() and not pair[1].value.strip()]
        for n, (minutes, millimetres) in enumerate(rows):
            if n < len(free):
                free[n][0].value, free[n][1].value = minutes, millimetres
            else:
                self.add_row(minutes, millimetres)

    def look_again(self, ways: Sequence[Shaken]) -> None:
        """Let go of a fit that was made for another product; its drop size alone makes no other."""
        if self.fit is None or any(_but_for_size(way) == self._fitted_for for way in ways):
            return
        self.fit = None
        self.take.disabled = True
        self.residuals.value = ""
        self.message.value = done("The product is another one since the fit; your readings are still here: fit again.")

    def _find(self) -> None:
        self.fit = None

        def work() -> str:
            timings = read_timings([(a.value, b.value) for a, b in self.rows])
            ways = self._product().ways
            if len(ways) > 1:
                msg = "Either liquid may be the drops here. Choose one of them under 'Drops of', then fit."
                raise RangeError(msg)
            self.fit = fit_drop_size(ways[0], timings, self.seen.value)
            self._fitted_for = _but_for_size(ways[0])
            return self.fit.sentence()

        try_to(self.message, work)
        self.take.disabled = self.fit is None
        self.residuals.value = residual_sheet(self.fit) if self.fit else ""
        self._fitted(self.fit)

    def _take(self) -> None:
        if self.fit is not None:
            self._use(self.fit.median)


def _but_for_size(way: Shaken) -> Shaken:
    return replace(way, sizes=replace(way.sizes, median=1.0))


def residual_sheet(fit: DropFit) -> str:
    """Seen against computed, reading by reading."""
    rows = [
        [f"{t.minutes:g}", f"{t.millimetres:g}", f"{computed:.1f}", f"{t.millimetres - computed:+.1f}"]
        for t, computed in zip(fit.timings, fit.computed, strict=True)
    ]
    return sheet(["after, min", "seen, mm", "computed, mm", "difference, mm"], rows, numbers=range(4))
