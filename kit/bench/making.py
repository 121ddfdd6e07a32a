"""Make a stock from pure materials, from a stronger stock or from two, and what its making sheet prints."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.bench.alligation import alligate
from kit.bench.balance import Balance
from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.library.ingredient import Stock
from kit.numbers import split_text
from kit.rounding import round_to_step, round_with_rest
from kit.units import known_unit, magnitude

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


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


def from_pure(
    stock: Stock,
    amount: object,
    *,
    assay: Mapping[str, float] | None = None,
    densities: Mapping[str, float] | None = None,
    balance: Balance | None = None,
    tolerance: float = 1.0,
) -> Making:
    """Make a stock from its pure contents.

    Parameters
    ----------
    amount
        "250 g", or "250 mL" where the stock states its density.
    assay
        How pure a raw material is, by name: 97 for "97.0 %". What is weighed is *divided* by it; the rest of
        the raw material is taken to be solvent (water of a hydrate, water of a syrup). [%]
    densities
        Of liquids, so that they may be measured by volume too. [g/mL]
    tolerance
        What a weighing may be off. [% of the mass weighed]

    Raises
    ------
    RangeError
        An amount that is not above 0, an assay that is not from 0 to 100 %, or no room for the solvent.

    References
    ----------
    .. [1] OpenStax, Chemistry 2e, section 3.4, mass percentage, for the division by the assay.

    Examples
    --------
    >>> from kit.bench.dilution import make_stock
    >>> made = from_pure(make_stock("Acid", "Citric Acid", 20), "100 g", assay={"Citric Acid": 97})
    >>> [(portion.material, portion.grams) for portion in made.portions]
    [('Citric Acid', 20.62), ('Aqua', 79.38)]
    """
    mass, assay = _mass(stock, amount), assay or {}
    solvent = stock.solvent or stock.active
    weights, notes = {}, {}
    for name, share in stock.contents.items():
        pure = assay.get(name, 100.0)
        if not 0 < pure <= 100:
            msg = f"{name}: an assay of {pure:g} % is not possible. It stands on the certificate, such as 97.0 %."
            raise RangeError(msg)
        weights[name] = mass * share / 100 / (pure / 100)
        if pure < 100 and name != solvent:
            notes[name] = f"{mass * share / 100:.6g} g pure, divided by its assay of {pure:g} %"
    weights[solvent] = mass - sum(weight for name, weight in weights.items() if name != solvent)
    if weights[solvent] < -1e-9 * mass:
        msg = (
            f"{stock.name}: with these assays the contents weigh {mass - weights[solvent]:.5g} g and only {mass:.5g} g "
            f"are made, so no room is left for {solvent}. Take purer material, or make it weaker."
        )
        raise RangeError(msg)
    weights[solvent] = max(weights[solvent], 0.0)
    order = [name for name in weights if name != solvent] + [solvent]
    solids = [name for name in order if name != solvent and weights[name] > 0]
    steps = [
        f"Weigh about two thirds of the {solvent} into the vessel.",
        *(f"Add {name} and stir until it is clear." for name in reversed(solids)),
        f"Make up with {solvent} to the full weight and stir.",
    ]
    held = {name: {name: assay.get(name, 100.0)} for name in order}
    return _making(
        stock,
        mass,
        [(name, weights[name], notes.get(name, "")) for name in order if weights[name] > 0],
        held,
        steps,
        densities or {},
        balance or Balance(),
        tolerance,
    )


def from_stocks(
    stock: Stock,
    parts: Mapping[str, float],
    contents: Mapping[str, Mapping[str, float]],
    amount: object,
    *,
    balance: Balance | None = None,
    tolerance: float = 1.0,
    densities: Mapping[str, float] | None = None,
) -> Making:
    """Make a stock by mixing others.

    Parameters
    ----------
    parts
        What goes in, each with its share of the new stock. [% w/w]
    contents
        What each of them holds; one that is not named counts as one substance. [% w/w]
    """
    mass = _mass(stock, amount)
    portions = [(name, mass * share / 100, "") for name, share in parts.items() if share > 0]
    steps = [
        f"Tare the vessel and weigh in {' , then '.join(name for name, *_ in portions)}.".replace(" ,", ","),
        "Close it and mix until no streaks are seen.",
    ]
    held = {name: contents.get(name, {name: 100.0}) for name in parts}
    return _making(stock, mass, portions, held, steps, densities or {}, balance or Balance(), tolerance)


def from_stronger(
    stronger: Stock, wanted: float, amount: object, *, name: str = "", diluent: str = "Aqua", **more: object
) -> Making:
    """Make a weaker stock from a stronger one and a diluent; all that is in it is thinned alike. [% w/w]

    Raises
    ------
    RangeError
        The wanted strength is not between 0 and the stock's own.

    Examples
    --------
    >>> from kit.bench.dilution import make_stock
    >>> made = from_stronger(make_stock("Acid 68", "Citric Acid", 68), 10, "400 g")
    >>> [(portion.material, portion.grams) for portion in made.portions]
    [('Acid 68', 58.82), ('Aqua', 341.18)]
    """
    return _between(stronger, None, wanted, amount, name, diluent, more)


def from_two(one: Stock, other: Stock, wanted: float, amount: object, *, name: str = "", **more: object) -> Making:
    """Make a stock of a strength between two others, by alligation. [% w/w of the active of ``one``]

    Raises
    ------
    RangeError
        The wanted strength does not lie between the two.
    """
    return _between(one, other, wanted, amount, name, "", more)


def _between(
    one: Stock, other: Stock | None, wanted: float, amount: object, name: str, diluent: str, more: Mapping[str, object]
) -> Making:
    active = one.active
    share = _share(one)
    other_contents: Mapping[str, float] = other.contents if other is not None else {diluent: 100.0}
    other_name = other.name if other is not None else diluent
    if not wanted > 0:
        msg = f"A strength of {wanted:g} % {active} is not a stock. Give more than 0 %."
        raise RangeError(msg)
    mixed = alligate(share, other_contents.get(active, 0.0), wanted)
    strong_first = share >= other_contents.get(active, 0.0)
    first = float(mixed.stronger_amount if strong_first else mixed.weaker_amount)
    both = {one.name: (first, one.contents), other_name: (100.0 - first, other_contents)}
    contents: dict[str, float] = {}
    for part, held in both.values():
        for substance, percent in held.items():
            contents[substance] = contents.get(substance, 0.0) + part * percent / 100
    contents[active] = wanted
    stock = Stock(name or f"{active} {wanted:g} % stock", contents, active, wanted, phase=one.phase)
    parts = {what: part for what, (part, _) in both.items()}
    return from_stocks(stock, parts, {what: held for what, (_, held) in both.items()}, amount, **more)  # type: ignore[arg-type]


def _share(stock: Stock) -> float:
    share = stock.contents.get(stock.active, 0.0)
    if not share > 0:
        msg = f"{stock.name} states no active, so it cannot be thinned to a strength. Name the active in the stock."
        raise RangeError(msg)
    return share


def _mass(stock: Stock, amount: object) -> float:
    """The amount in grams, through the stock's density where it was given as a volume. [g]"""
    by_volume = isinstance(amount, str) and (known_unit(split_text(amount)[1]) or ("",))[0] == "mL"
    if by_volume and stock.density is None:
        msg = f"{stock.name} has no density, so {amount} cannot be turned into grams. Give the amount in g."
        raise RangeError(msg)
    if by_volume and stock.density is not None:
        grams = magnitude(amount, "mL", name="amount") * stock.density.value
    else:
        grams = magnitude(amount, "g", name="amount")
    if not grams > 0:
        msg = f"The amount to make must be more than 0, got {amount}."
        raise RangeError(msg)
    return grams


def _making(
    stock: Stock,
    mass: float,
    portions: Sequence[tuple[str, float, str]],
    held: Mapping[str, Mapping[str, float]],
    steps: list[str],
    densities: Mapping[str, float],
    balance: Balance,
    tolerance: float,
) -> Making:
    balance = balance.suited([target for _, target, _ in portions], tolerance)
    total = round_to_step(mass, balance.readability)
    if not total > 0:
        msg = f"{mass:g} g is less than one step of the balance, {balance.readability:g} g. Make more."
        raise RangeError(msg)
    whole = sum(target for _, target, _ in portions)
    rounded = round_with_rest([target * total / whole for _, target, _ in portions], balance.readability)
    weighed = tuple(
        Portion(name, target, grams, grams / densities[name] if densities.get(name) else None, note)
        for (name, target, note), grams in zip(portions, rounded, strict=True)
    )
    active = sum(p.grams * held[p.material].get(stock.active, 0.0) / 100 for p in weighed)
    vessel = vessel_for(mass / stock.density.value) if stock.density else vessel_for(mass)
    last = "Label it, close it, and write it into the stock book."
    return Making(
        stock, total, balance, weighed, (*steps, last), vessel, 100 * active / total,
        tuple(making_findings(weighed, stock, total, 100 * active / total, balance, tolerance, vessel)),
    )  # fmt: skip
