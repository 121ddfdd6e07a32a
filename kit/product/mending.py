"""Repairs and substitutes of the product in hand: its limits, prices, batch and balance are what they rest on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.bench.unit_costs import UnitCosts
from kit.blends.repair import repair
from kit.blends.substitutes import substitutes

if TYPE_CHECKING:
    from kit.blends.mended import Repair
    from kit.blends.properties import Weights
    from kit.blends.repair_wishes import RepairWishes
    from kit.blends.substitutes import Substitutes
    from kit.product.product import Product

#: The step of a change while batch and balance are not known. [% w/w]
USUAL_STEP = 0.01
#: What changes by steps coarser than this is no recipe any more. [% w/w]
COARSEST = 1.0


def step_of(product: Product) -> float:
    """What one step of the balance is in the batch, or 0.01 % where nobody said which those are. [% w/w]"""
    if not {"batch", "balance"} <= product.known:
        return USUAL_STEP
    return min(100 * product.balance.readability / product.batch_size.mass, COARSEST)


def repair_of(product: Product, wishes: RepairWishes | None = None) -> Repair:
    """The smallest change of a product that keeps every rule, or what else is wished; see :func:`repair`.

    Raises
    ------
    KitError
        As :func:`kit.blends.repair.repair` does.

    Examples
    --------
    >>> from kit.demos import demo
    >>> from kit.product.product import Product
    >>> repair_of(Product(demo())).sentence
    'Nothing needs to change.'
    """
    return repair(
        product.formula,
        product.materials,
        product.limits,
        wishes,
        prices=product.prices,
        batch=product.batch_size.mass,
        step=step_of(product),
    )


def substitutes_of(
    product: Product, place: tuple[int, int], weights: Weights | None = None, count: int = 12
) -> Substitutes:
    """What is nearest to a line of a product, by phase and line counted from 0; see :func:`substitutes`.

    Raises
    ------
    KitError
        As :func:`kit.blends.substitutes.substitutes` does.
    """
    costs = UnitCosts(product.prices, product.materials)
    return substitutes(product.formula, place, product.materials, product.limits, weights, costs=costs, count=count)
