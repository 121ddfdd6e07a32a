"""What a maker says about shaking: which liquid is the drops, how large they are, how thick the layers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.layers.shaken import DropSizes
from kit.layers.shaken_product import ShakenProduct, shaken_product
from kit.widgets.panel import controls, number_box

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.widgets.bench import Bench

WISHES = (("suggested by the amounts", "suggested"), ("oil", "oil"), ("water", "water"))


class ShakenChoices(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """The choices that the separation panel makes and the dosing panel can share."""

    def __init__(self) -> None:
        style = {"style": {"description_width": "initial"}}
        self.drops = ipw.Dropdown(options=list(WISHES), description="Drops of", **style)
        self.median = number_box("Middle drop size, µm", 100.0, 1.0, 20_000.0, step=5.0)
        self.spread = number_box("Spread, a factor", 1.6, 1.0, 10.0, step=0.1)
        self.water_viscosity = self._viscosity_box("water")
        self.oil_viscosity = self._viscosity_box("oil")
        self.clean = ipw.Checkbox(description="no surfactant at all", indent=False, layout={"width": "auto"})
        super().__init__(
            [
                controls(self.drops, self.median, self.spread),
                controls(self.water_viscosity, self.oil_viscosity, self.clean),
            ]
        )

    @staticmethod
    def _viscosity_box(kind: str) -> ipw.Text:
        return ipw.Text(
            description=f"{kind.capitalize()} layer, mPa·s",
            placeholder="computed",
            continuous_update=False,
            style={"description_width": "initial"},
            layout={"width": "250px"},
        )

    def on_change(self, work: Callable[[], None]) -> None:
        """Do something whenever a choice changes."""
        for box in (self.drops, self.median, self.spread, self.water_viscosity, self.oil_viscosity, self.clean):
            box.observe(lambda _: work(), names="value")

    def product(self, bench: Bench) -> ShakenProduct:
        """The product in hand, shaken as chosen; raises a KitError where it cannot be."""
        return shaken_product(
            bench.formula,
            bench.product.materials,
            bench.product.layers,
            bench.bottle,
            bench.fill,
            DropSizes(self.median.value, self.spread.value),
            drops=self.drops.value,
            typed={"water": self.water_viscosity.value, "oil": self.oil_viscosity.value},
            clean=self.clean.value,
        )

    def tell(self, product: ShakenProduct) -> None:
        """Show the computed viscosities where nothing is typed."""
        for kind, box in (("water", self.water_viscosity), ("oil", self.oil_viscosity)):
            if not box.value.strip():
                viscosity = product.viscosities[kind]
                box.placeholder = f"{viscosity.value:.3g}, {viscosity.words.split()[0]}"
