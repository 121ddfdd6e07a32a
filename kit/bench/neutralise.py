"""How much of an acid or a base brings a product to a pH, computed: strong or weak, alone or as a stock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.bench.acids import log_activity
from kit.bench.ph import CLOSE, MOST_ROUNDS, Equilibrium, mixed
from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Mapping

#: Substances whose weak form leaves the beaker as carbon dioxide.
FIZZING = ("Sodium Bicarbonate", "Sodium Carbonate")
#: No more stock than this is proposed for one part of product.
MOST_STOCK = 100.0


@dataclass(frozen=True, slots=True)
class ComputedDose:
    """The stock that a computation asks for.

    Attributes
    ----------
    target, grams, product
        The pH, the stock for it, and the product it goes into. [-, g, g]
    ionic_strength
        Of the mixture. [mol/L]
    fizzes
        Whether carbon dioxide may escape, so that the pH ends higher.
    """

    target: float
    grams: float
    product: float
    ionic_strength: float
    fizzes: bool = False

    @property
    def per_100(self) -> float:
        """Stock per 100 g of product. [g]"""
        return 100.0 * self.grams / self.product

    @property
    def sentence(self) -> str:
        """The result in words."""
        return (
            f"Computed, pH {self.target:g} takes about {self.grams:.3g} g of this stock ({self.per_100:.3g} g per "
            "100 g of product). Begin with half of it, stir, measure, and creep up."
        )

    @property
    def findings(self) -> list[Finding]:
        """What to mind: too much salt for the equation, and gas that escapes."""
        found = Equilibrium(self.target, self.ionic_strength).findings
        if self.fizzes:
            sentence = (
                "Computed with all carbon dioxide still in the water. As it escapes the pH rises: add slowly, in a "
                "tall vessel, let it stand open until it is still, and measure again."
            )
            found.append(Finding("caution", sentence, Place(field="stock"), "general chemistry"))
        return found


def stock_to_reach(
    target: float, product: Mapping[str, float], stock: Mapping[str, float], amount: object, density: float = 1.0
) -> ComputedDose:
    """How much of a stock brings a product to a pH, by the exact balance of charges with the activity of the ions.

    At a fixed pH and ionic strength the balance is linear in the stock, weak or strong, acid or base; the ionic
    strength is found in turns with it.

    Parameters
    ----------
    target
        The pH wanted.
    product, stock
        Key of the table of acids → its share. A pure substance is a stock of 100 %. [% w/w]
    amount
        Of the product before anything is added: "100 g" or a pint quantity.
    density
        Of product and stock alike. [g/mL]

    Raises
    ------
    RangeError
        The stock does not lead there, however much of it is added; or no mass, no density.

    References
    ----------
    .. [1] J. N. Butler, "Ionic Equilibrium: Solubility and pH Calculations", Wiley (1998), chapter 4 (from memory):
       charge balance; and :func:`kit.bench.acids.log_activity`.

    Examples
    --------
    >>> dose = stock_to_reach(5.5, {"Lactic Acid": 1.0}, {"Triethanolamine": 100.0}, "100 g")
    >>> round(dose.grams, 3)
    1.634
    """
    mass = magnitude(amount, "g", name="amount")
    grams, strength = 0.0, mixed(product, {}, mass, 0.0, density).equilibrium().ionic_strength
    for _ in range(MOST_ROUNDS):
        activity = log_activity(strength)
        grams = _linear(target, product, stock, mass, density, activity)
        before, strength = strength, mixed(product, stock, mass, grams, density).sums(target, activity)[2]
        if abs(strength - before) < CLOSE:
            break
    return ComputedDose(target, grams, mass, strength, any(key.startswith(FIZZING) for key in (*product, *stock)))


def _linear(
    target: float,
    product: Mapping[str, float],
    stock: Mapping[str, float],
    mass: float,
    density: float,
    activity: float,
) -> float:
    """The stock at which the charges balance, with this activity. [g]"""
    alone = mixed(product, {}, mass, 0.0, density).excess(target, activity)
    pure = mixed(stock, {}, mass, 0.0, density).excess(target, activity)
    # excess x volume adds up: mass x alone + grams x pure = 0
    if alone == 0:
        return 0.0
    if pure == 0 or not 0 < -alone / pure < MOST_STOCK:
        raise RangeError(_why_not(target, product, stock, mass, density))
    return -mass * alone / pure


def _why_not(
    target: float, product: Mapping[str, float], stock: Mapping[str, float], mass: float, density: float
) -> str:
    try:
        here, there = (mixed(each, {}, mass, 0.0, density).equilibrium().ph for each in (product, stock))
    except RangeError:
        return f"This stock does not bring this product to pH {target:g}. Look at what it holds, and how strong it is."
    where = f"The product is computed to stand at pH {here:.2f}, the stock at {there:.2f}"
    if min(here, there) < target < max(here, there):
        return f"{where}: pH {target:g} would take more than {MOST_STOCK:g} times its mass. Use a stronger stock."
    return f"{where}: mixing them gives nothing outside these two. For pH {target:g} take a stronger acid or base."
