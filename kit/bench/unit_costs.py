"""What a gram of each material costs, by its own price, a stock's contents or the maker's library; and what to buy."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil
from typing import TYPE_CHECKING

from kit.bench.price import Price
from kit.bench.price_list import PriceList, name_key, newest
from kit.errors import RangeError
from kit.findings import Finding
from kit.library.ingredient import Ingredient, Stock
from kit.money import is_same_currency, money

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.bench.price import PackItem
    from kit.formula.expansion import Materials
    from kit.library.ingredient import Material


#: Why most materials cannot be costed; the other reasons say more.
NO_PRICE = "no price in the list"

#: Where a price is from that no list has.
OWN_LIBRARY = "your own library"


@dataclass(frozen=True, slots=True)
class UnitCost:
    """What a gram of a material costs.

    Attributes
    ----------
    per_gram
        Of all that has a price. [currency/g]
    bought
        Name of what is bought → how much of it is in a gram. [g/g]
    missing
        What is in it and has no price, with the reason in words.
    how
        Where the cost comes from, in words.
    """

    per_gram: float
    bought: Mapping[str, float]
    missing: Mapping[str, str]
    how: str

    @property
    def is_known(self) -> bool:
        """True where every part has a price."""
        return not self.missing


@dataclass
class UnitCosts:
    """A price list laid over the materials of a formula.

    A price of the list wins over one in the maker's own library, unless the list is invented; a price of a stock wins
    over that of its contents.
    """

    prices: PriceList
    materials: Materials
    currency: str = field(init=False)
    _listed: dict[str, list[Price]] = field(init=False, repr=False)
    _known: dict[str, UnitCost] = field(init=False, default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        self.currency = self.prices.currency or _currency_of_own(self.materials)
        self._listed = {}
        for price in self.prices.prices:
            self._listed.setdefault(self.key(price.material), []).append(price)

    def key(self, name: str) -> str:
        """By which a price finds its material, whichever of its names is written."""
        found = self.materials.get(name)
        return name_key(found.name if found is not None else name)

    def price(self, name: str) -> Price | None:
        """The price that counts for a material itself, not for its contents."""
        listed = self._listed.get(self.key(name))
        own = _own_price(self.materials.ingredient(name), self.currency)
        return newest(listed) if listed and not (own and self.prices.is_invented) else own

    def of(self, name: str) -> UnitCost:
        """What a gram of a material costs.

        Raises
        ------
        CompositionError
            A stock that is, somewhere inside, part of itself.
        """
        if name not in self._known:
            self.materials.substances(name)  # tells of a stock inside itself
            self._known[name] = self._work_out(name)
        return self._known[name]

    def _work_out(self, name: str) -> UnitCost:
        price = self.price(name)
        material = self.materials.get(name)
        called = material.name if material is not None else name.strip()
        if price is not None:
            grams = self.content(price)
            if grams is None:
                reason = f"it was bought by volume, {price.pack}, and has no density in the library"
                return UnitCost(0.0, {}, {called: f"{reason}; give that, or the pack's content in g"}, "")
            return UnitCost(price.price / grams, {called: 1.0}, {}, _told(price))
        if isinstance(material, Stock):
            return self._through_contents(material)
        return UnitCost(0.0, {}, {called: self._why_not(material)}, "")

    def _through_contents(self, stock: Stock) -> UnitCost:
        whole = sum(stock.contents.values())
        per_gram = 0.0
        bought: dict[str, float] = {}
        missing: dict[str, str] = {}
        for part, percent in stock.contents.items():
            share, unit = percent / whole, self.of(part)
            per_gram += share * unit.per_gram
            for name, grams in unit.bought.items():
                bought[name] = bought.get(name, 0.0) + share * grams
            if share > 0:
                missing.update(unit.missing)
        return UnitCost(per_gram, bought, missing, "through its contents")

    def content(self, price: Price) -> float | None:
        """What a pack holds; None where it was bought by volume and the material has no density. [g]"""
        material = self.materials.get(price.material)
        density = material.density if material is not None and price.by_volume else None
        return price.grams(density.value if density is not None else None)

    def _why_not(self, material: Material | None) -> str:
        bought = material.purchase if isinstance(material, Ingredient) else None
        if bought is not None and bought.price is not None and not is_same_currency(bought.currency, self.currency):
            return f"in your own library its price is in {bought.currency}, and this list is in {self.currency}"
        return NO_PRICE

    def check(self, used: Mapping[str, object]) -> list[Finding]:
        """What to say about the list itself: prices that fit no material, and materials that were bought again.

        Parameters
        ----------
        used
            The names of what the formula buys; only they are told of when they were bought more than once.
        """
        wanted = {self.key(name) for name in used}
        found = []
        for key, listed in self._listed.items():
            name = listed[-1].material
            if key not in wanted and self.materials.get(name) is None:
                near = self.materials.library.nearest(name)
                hint = (
                    f"Did you mean {' or '.join(near)}?" if near else "Write its INCI name, plain name or stock name."
                )
                sentence = f"{name} in the price list is no material of the library or of this formula. {hint}"
                found.append(Finding("note", sentence))
            elif key in wanted and self.price(name) not in listed:
                continue  # her own price counts
            elif key in wanted and len(listed) > 1:
                chosen = newest(listed)
                when = f"of {chosen.bought_on}" if chosen.bought_on else "that stands last"
                sentence = f"{name} is in the price list {len(listed)} times; the purchase {when} counts: "
                found.append(Finding("note", f"{sentence}{chosen.pack} for {money(chosen.price, self.currency)}."))
        return [*found, *self._overruled(used)]

    def _overruled(self, used: Mapping[str, object]) -> list[Finding]:
        """Where the price of the list counts although the maker's own library remembers another one."""
        found = []
        for name in used:
            own, price = _own_price(self.materials.ingredient(name), self.currency), self.price(name)
            if own is not None and price is not None and (own.price, own.pack) != (price.price, price.pack):
                listed, mine = (f"{each.pack} for {money(each.price, self.currency)}" for each in (price, own))
                sentence = f"{name} costs {listed} in the price list, which counts; {OWN_LIBRARY} has {mine}."
                found.append(Finding("note", sentence))
        return found


def _told(price: Price) -> str:
    when = f", {price.bought_on}" if price.bought_on else ""
    return f"{price.pack}{when}{f', {OWN_LIBRARY}' if price.note == OWN_LIBRARY else ''}"


def _own_price(ingredient: Ingredient | None, currency: str) -> Price | None:
    """What the maker's own library remembers of its purchase, where that is in the currency of the list."""
    bought = ingredient.purchase if ingredient is not None else None
    if ingredient is None or bought is None or bought.price is None or bought.amount is None:
        return None
    if not is_same_currency(bought.currency, currency):
        return None
    return Price(ingredient.inci, bought.amount, bought.unit, bought.price, bought.lot, bought.bought_on, OWN_LIBRARY)


def _currency_of_own(materials: Materials) -> str:
    """The currency of the first purchase in the maker's own library; empty where it remembers none."""
    own = [each for each in (*materials.own, *materials.library.own) if isinstance(each, Ingredient)]
    return next((each.purchase.currency for each in own if each.purchase and each.purchase.price is not None), "")


#: So small a part of a pack is rounding in the last binary digits.
HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class ToBuy:
    """Packs of one thing.

    Attributes
    ----------
    needed, left
        For the batch, and over afterwards. [g, or pieces]
    unit
        "g" or "pieces".
    pack
        What one pack holds, in words.
    packs, cost
        How many, and what they cost together. [-, currency]
    """

    name: str
    needed: float
    left: float
    unit: str
    pack: str
    packs: int
    cost: float


def whole_packs(needed: float, content: float) -> int:
    """How many packs hold what is needed.

    Examples
    --------
    >>> whole_packs(250, 100), whole_packs(300, 100), whole_packs(0, 100)
    (3, 3, 0)
    """
    return max(0, ceil(needed / content - HAIR))


def packs_to_buy(
    lines: Sequence[tuple[str, float]], units: UnitCosts, packaging: Sequence[PackItem] = (), bottles: int = 0
) -> tuple[ToBuy, ...]:
    """Whole packs of everything that has a price, stocks through their contents.

    Parameters
    ----------
    lines
        Each material with what is taken of it. [g]
    """
    needed: dict[str, float] = {}
    for material, grams in lines:
        for name, share in units.of(material).bought.items():
            needed[name] = needed.get(name, 0.0) + grams * share
    found = []
    for name, grams in needed.items():
        price = units.price(name)
        content = units.content(price) if price is not None and grams > 0 else None
        if price is not None and content is not None:
            packs = whole_packs(grams, content)
            found.append(ToBuy(name, grams, packs * content - grams, "g", price.pack, packs, packs * price.price))
    for item in packaging:
        pieces = item.per_bottle * bottles
        packs = whole_packs(pieces, item.pieces)
        left = packs * item.pieces - pieces
        found.append(ToBuy(item.name, pieces, left, "pieces", f"{item.pieces:.10g} pieces", packs, packs * item.price))
    return tuple(found)


def taken_per_gram(waste_percent: float) -> float:
    """How much is taken from the packs for each gram that reaches the vessel. [g/g]

    Parameters
    ----------
    waste_percent
        What never reaches the vessel: a normal loss. [% of what is taken]

    Raises
    ------
    RangeError
        Waste that is not from 0 to below 100 %.

    References
    ----------
    .. [1] Vancouver Community College, Learning Centre, "Recipe Costing": the factor 100 ÷ yield.

    Examples
    --------
    >>> taken_per_gram(20)
    1.25
    """
    if not 0 <= waste_percent < 100:
        msg = f"Waste must be from 0 to less than 100 % of what is taken from the packs, got {waste_percent:g} %."
        raise RangeError(msg)
    return 1.0 / (1.0 - waste_percent / 100.0)
