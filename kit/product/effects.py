"""What a change does to a product: its layers, how it parts, its cost, its label and its findings, before and after."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from kit.bench.unit_costs import UnitCosts
from kit.errors import KitError
from kit.formula.differences import FindingChanges, finding_changes
from kit.formula.model import HOLDS
from kit.layers.bottle import from_below
from kit.layers.density_words import density_text
from kit.layers.separation import time_until
from kit.layers.shaken_product import shaken_product, time_words
from kit.layers.viscosity import layer_viscosity
from kit.money import money

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from kit.formula.model import Line
    from kit.layers.density import Layer
    from kit.product.product import Product

NOT_THERE = "—"


@dataclass(frozen=True, slots=True)
class Effect:
    """One thing about a product, as a person reads it before and after."""

    what: str
    before: str
    after: str

    @property
    def is_change(self) -> bool:
        """Whether the two read differently."""
        return self.before != self.after


def effects(before: Product, after: Product) -> list[Effect]:
    """What a change does, a line for each thing that can be told of either product; what stays is there too."""
    asked: list[tuple[str, Callable[[Product], str]]] = []
    called = {layer.kind: layer.words for product in (after, before) for layer in product.layers}
    for kind in dict.fromkeys(phase.kind for one in (before, after) for phase in one.formula.phases):
        of, layer = partial(_of_layer, kind), called.get(kind, f"{kind} layer")
        asked += [
            (f"{layer}, % of the whole", partial(of, _percent)),
            (f"{layer}, density in g/mL", partial(of, _density)),
            (f"{layer}, viscosity in mPa·s", partial(of, _viscosity)),
        ]
    asked += [
        ("layers, from below", _order),
        ("95 % parted after", _parting),
        ("window of the oil layer, %", _window),
        ("materials of 100 g", _cost),
        ("list of ingredients", _declared),
        ("how lines hold when the ratio moves", _holds),
    ]
    found = [Effect(what, _told(of, before), _told(of, after)) for what, of in asked]
    return [one for one in found if {one.before, one.after} != {NOT_THERE}]


def finding_effects(before: Product, after: Product) -> FindingChanges:
    """Which findings a change brings and takes away."""
    return finding_changes(before.findings, after.findings)


def _told(of: Callable[[Product], str], product: Product) -> str:
    try:
        return of(product)
    except KitError:
        return NOT_THERE


def _of_layer(kind: str, of: Callable[[Product, Layer], str], product: Product) -> str:
    layer = next((layer for layer in product.layers if layer.kind == kind), None)
    return NOT_THERE if layer is None else of(product, layer)


def _percent(_product: Product, layer: Layer) -> str:
    return f"{layer.percent:.4g}"


def _density(_product: Product, layer: Layer) -> str:
    return density_text(layer.about) if layer.about is not None else f"{layer.density:.3f}"


def _viscosity(product: Product, layer: Layer) -> str:
    found = layer_viscosity(product.formula, product.materials, layer)
    return f"{found.value:.3g}{' (in doubt)' if found.doubtful else ''}"


def _order(product: Product) -> str:
    layers = from_below(product.in_bottle)
    return ", ".join(layer.words for layer in layers) if len(layers) > 1 else NOT_THERE


def _parting(product: Product) -> str:
    shaken = shaken_product(product.formula, product.materials, product.layers, product.bottle, product.fill)
    return " or ".join(f"{time_words(time_until(way))} ({way.drops.kind} as drops)" for way in shaken.ways)


def _window(product: Product) -> str:
    window = product.window
    return f"{window.low:.2f} to {window.high:.2f}" if window.is_open else "none"


def _cost(product: Product) -> str:
    """Of the lines themselves, without waste; "at least" where one has no price."""
    costs = UnitCosts(product.prices, product.materials)
    lines = [(line.material, percent) for _, _, line, percent in product.formula.each_line() if percent]
    units = [(costs.of(name), percent) for name, percent in lines if name.strip()]
    if not any(unit.per_gram for unit, _ in units):
        return NOT_THERE
    total = sum(unit.per_gram * percent for unit, percent in units)
    least = "" if all(unit.is_known for unit, _ in units) else "at least "
    return f"{least}{money(total, costs.currency)}"


def _declared(product: Product) -> str:
    return product.label.declaration.text


def _holds(product: Product) -> str:
    lines = [line for _, _, line, _ in product.formula.each_line() if not line.is_blank]
    return "; ".join(_counted(lines)) or NOT_THERE


def _counted(lines: Iterable[Line]) -> Iterator[str]:
    holds = [line.hold for line in lines]
    for hold, words in HOLDS.items():
        count = holds.count(hold)
        if count:
            yield f"{count} {'line' if count == 1 else 'lines'}: {words}"
