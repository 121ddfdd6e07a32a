"""What a maker says about shaking: which liquid is the drops, how large they are, how thick the layers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.layers.shaken_product import ShakenProduct, Shaking, shaken_product
from kit.widgets.form import Form

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


class ShakenChoices(Form):
    """The choices that the separation panel makes and the dosing panel can share.

    Parameters
    ----------
    fold
        With this title they are folded away until they are opened.
    """

    def __init__(self, fold: str = "") -> None:
        super().__init__(Shaking, fold=fold)

    def product(self, bench: Bench) -> ShakenProduct:
        """The product in hand, shaken as chosen; raises a KitError where it cannot be."""
        now = bench.product
        return shaken_product(now.formula, now.materials, now.layers, now.bottle, now.fill, Shaking(**self.values))

    def tell_computed(self, product: ShakenProduct) -> None:
        """Show the computed viscosities where nothing is typed."""
        for kind, viscosity in product.viscosities.items():
            if self[kind] is None:
                self.describe(kind, example=f"{viscosity.value:.3g}, {viscosity.words.split()[0]}")
