"""A form for a timed ball: what it fell through, how far and how long in, the viscosity of that layer out."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, RangeError
from kit.layers.timed import TimedViscosity, viscosity_from_ball
from kit.numbers import read_likely
from kit.widgets.panel import controls, try_to

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kit.layers.density import Layer

HELP = (
    "Let a small ball sink in the layer alone, in a straight glass. Start the watch once it moves evenly, a few widths "
    "of the ball below the surface, and stop it well above the floor."
)


class BallForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Time a ball in one layer.

    Parameters
    ----------
    layers
        Gives the layers of the product now; may raise a KitError.
    use
        Called with the kind of layer and the viscosity that the maker wants to go on with. [mPa·s]
    """

    def __init__(self, layers: Callable[[], Sequence[Layer]], use: Callable[[str, float], None]) -> None:
        self._layers, self._use = layers, use
        self.found: TimedViscosity | None = None
        self.kind = ipw.Dropdown(options=["water", "oil"], description="Layer", layout={"width": "170px"})
        self.diameter = _box("Ball, mm", "such as 3")
        self.density = _box("Ball, g/mL", "steel 7.8, glass 2.5")
        self.distance = _box("Way, mm", "such as 100")
        self.seconds = _box("Time, s", "such as 12.4")
        self.tube = _box("Glass inside, mm", "empty: very wide")
        self.find = ipw.Button(description="Work out the viscosity", button_style="primary", layout={"width": "auto"})
        self.take = ipw.Button(description="Use it above", disabled=True, layout={"width": "auto"})
        self.message = ipw.HTML()
        super().__init__(
            [
                ipw.HTML(f'<div class="sw-subtitle">{escape(HELP)}</div>'),
                controls(self.kind, self.diameter, self.density),
                controls(self.distance, self.seconds, self.tube),
                controls(self.find, self.take),
                self.message,
            ]
        )
        self.find.on_click(lambda _: self._find())
        self.take.on_click(lambda _: self._use(self.kind.value, self.found.value) if self.found else None)
        for box in (self.kind, self.diameter, self.density, self.distance, self.seconds, self.tube):
            box.observe(lambda _: self._forget(), names="value")

    def _forget(self) -> None:
        """What was worked out was for other numbers."""
        self.found, self.take.disabled, self.message.value = None, True, ""

    def _find(self) -> None:
        self._forget()

        def work() -> str:
            layer = next((each for each in self._layers() if each.kind == self.kind.value), None)
            if layer is None:
                msg = f"This formula has no {self.kind.value} layer for a ball to fall through."
                raise RangeError(msg)
            diameter, density = _read(self.diameter, 100), _read(self.density, 25)
            distance, seconds = _read(self.distance, 10_000), _read(self.seconds, 1e6)
            tube = _read(self.tube, 10_000) if self.tube.value.strip() else None
            self.found = viscosity_from_ball(diameter, density, layer.density, distance, seconds, tube=tube)
            return f"The {layer.kind} layer, {layer.density:.3f} g/mL: {self.found.sentence}"

        try_to(self.message, work)
        self.take.disabled = self.found is None


def _box(description: str, placeholder: str) -> ipw.Text:
    return ipw.Text(
        description=description,
        placeholder=placeholder,
        style={"description_width": "initial"},
        layout={"width": "230px"},
    )


def _read(box: ipw.Text, most: float) -> float:
    """What a box holds; of two readings the only one up to ``most``."""
    try:
        return read_likely(box.value, 0.0, most)
    except EntryError as error:
        msg = f"{box.description}: {error}"
        raise EntryError(msg) from error
