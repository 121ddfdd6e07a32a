"""A form for a timed ball: what it fell through, how far and how long in, the viscosity of that layer out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.layers.timed import TimedBall, TimedViscosity
from kit.widgets.form import Button, Form

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kit.layers.density import Layer


class BallForm(Form):
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
        super().__init__(
            TimedBall,
            [
                Button("find", "Work out the viscosity", self._find, primary=True),
                Button("take", "Use it above", self._take),
            ],
            on_change=lambda _: self._forget(),
            fold="Time a ball to measure how thick a layer is",
        )
        self._forget()

    def _forget(self) -> None:
        """What was worked out was for other numbers."""
        self.found: TimedViscosity | None = None
        self.enable("take", can=False)
        self.tell("")

    def _find(self) -> str:
        self._forget()
        self.found, words = TimedBall(**self.read()).viscosity(self._layers())
        self.enable("take", can=True)
        return words

    def _take(self) -> str:
        if self.found is not None:
            self._use(self["kind"], self.found.value)
        return str(self.said["sentence"])
