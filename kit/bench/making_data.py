"""A stock about to be made, as its making sheet prints it: what to weigh, which vessel, what the label says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.findings import Finding, Place

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.bench.balance import Balance
    from kit.library.ingredient import Stock

#: Brimful sizes of laboratory glass that are easy to get (common practice). [mL]
VESSELS = (10, 25, 50, 100, 150, 250, 400, 600, 1000, 2000, 3000, 5000, 10_000)
#: Left empty above what is made, so that it can be stirred or shaken (common practice). [%]
HEADSPACE = 20.0


@dataclass(frozen=True, slots=True)
class Portion:
    """One thing to weigh.

    Attributes
    ----------
    target, grams
        Exact, and as weighed on the balance at hand. [g]
    millilitres
        The same by volume, where the density is known. [mL]
    note
        Why it is so much.
    """

    material: str
    target: float
    grams: float
    millilitres: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Making:
    """A stock to be made: all that its making sheet prints.

    Attributes
    ----------
    amount
        What is made. [g]
    vessel
        Brimful size of the vessel to make it in; None where the density is not known or none is large enough. [mL]
    reached
        The strength of the active that the rounded weighings give. [% w/w]
    """

    stock: Stock
    amount: float
    balance: Balance
    portions: tuple[Portion, ...]
    steps: tuple[str, ...]
    vessel: int | None
    reached: float
    findings: tuple[Finding, ...] = ()

    def label(self) -> dict[str, str]:
        """What the label of the bottle says; a line to write on stands for what is not known."""
        stock = self.stock
        stated = f"{stock.strength:g} % {stock.basis}" if stock.strength is not None else ""
        return {
            "what": stock.name,
            "strength": f"{stated} {stock.active}".strip() or "strength not stated",
            "contents": ", ".join(f"{name} {share:.4g} %" for name, share in in_order(stock.contents)),
            "made on": stock.made_on,
            "keep until": stock.keep_until,
        }


def in_order(contents: Mapping[str, float]) -> list[tuple[str, float]]:
    """Contents with the largest first; what is 0 % is left out."""
    return sorted(((name, share) for name, share in contents.items() if share > 0), key=lambda item: -item[1])


def vessel_for(millilitres: float, headspace: float = HEADSPACE) -> int | None:
    """The next of the common vessel sizes that holds so much with room above; None beyond the largest. [mL]

    Examples
    --------
    >>> vessel_for(200), vessel_for(201)
    (250, 400)
    """
    if not 0 <= headspace < 100:
        msg = f"A headspace of {headspace:g} % is not possible. Give 0 to below 100 %; 20 % is common."
        raise RangeError(msg)
    needed = millilitres / (1 - headspace / 100) * (1 - 1e-12)
    return next((size for size in VESSELS if size >= needed), None)


def making_findings(
    portions: Sequence[Portion],
    stock: Stock,
    total: float,
    reached: float,
    balance: Balance,
    tolerance: float,
    vessel: int | None,
) -> list[Finding]:
    """What to say before a stock is made: small weighings, rounding, water in it, vessel and balance."""
    least = balance.least_weight(tolerance)
    found = [
        Finding(
            "caution",
            f"{p.grams:g} g of {p.material} is small for a balance that reads {balance.readability:g} g: below "
            f"{least:.3g} g it can be off by more than {tolerance:g} %. Make {total * least / p.target:.3g} g or "
            "more, or dilute in steps.",
            Place(field="grams"),
            "USP general chapter 41, with the tolerance chosen here",
        )
        for p in portions
        if p.target < least * (1 - 1e-9)
    ]
    wanted = stock.contents.get(stock.active, 0.0)
    if wanted and abs(reached / wanted - 1) > 0.001:
        said = f"Rounded to the balance, it comes to {reached:.4g} % w/w {stock.active} instead of {wanted:.4g} %."
        found.append(Finding("note", said, Place(field="grams")))
    if stock.contents.get("Aqua", 0) > 0:
        said = "It holds water: make little, keep it cold, mark the date, and throw it away when it clouds or smells."
        found.append(Finding("caution", said, Place(field="stock"), "common practice"))
    if vessel is None:
        said = (
            f"{total:g} g with {HEADSPACE:g} % of room above is more than the largest common vessel. Make it in parts."
        )
        found.append(Finding("caution", said, Place(field="mass"), "common practice"))
    if total > balance.capacity:
        said = f"{total:g} g is more than the balance carries, {balance.capacity:g} g. Weigh it in parts."
        found.append(Finding("caution", said, Place(field="mass")))
    return found
