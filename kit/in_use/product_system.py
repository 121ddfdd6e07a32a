"""Which measured system of three liquids a product is, if it is one: what counts, and what does not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.in_use.ternary_systems import Composition, ternary_systems
from kit.in_use.tie_lines import settle
from kit.visible_text import listed

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.in_use.ternary_systems import TernarySystem
    from kit.in_use.tie_lines import Settled

#: A product counts as a measured system while no more than this of it is something else (our choice). [% w/w]
MOST_ELSE = 5.0

#: What counts as what; the denaturant in denatured alcohol is not looked at.
COUNTED_AS = {"Alcohol Denat.": "Alcohol"}

#: So many substances that do not count are named.
NAMED = 4


@dataclass(frozen=True, slots=True)
class ProductSystem:
    """A product laid on a measured system.

    Attributes
    ----------
    water_layer, oil_layer
        What is weighed into each layer, of the three liquids alone; None where a layer has none of them. [% w/w]
    overall
        The same of the whole. [% w/w]
    oil_percent
        How much of the three liquids the oil layer is, as weighed. [% w/w]
    not_counted
        What else the product holds: substance and percent of the whole, most first.
    stands_for
        What was counted as another: its name, and as what.
    """

    system: TernarySystem
    water_layer: Composition | None
    oil_layer: Composition | None
    overall: Composition
    oil_percent: float
    not_counted: tuple[tuple[str, float], ...] = ()
    stands_for: tuple[tuple[str, str], ...] = ()

    @property
    def settled(self) -> Settled:
        """What the three liquids do at rest."""
        return settle(self.system, self.overall)

    @property
    def words(self) -> str:
        """What was not counted, or as another, in a sentence; empty where all was counted as itself."""
        said = [f"{name} counts as {other}; what denatures it is not looked at." for name, other in self.stands_for]
        if self.not_counted:
            whole = sum(percent for _, percent in self.not_counted)
            names = [f"{name} {percent:.2g} %" for name, percent in self.not_counted[:NAMED]]
            more = [f"{len(self.not_counted) - NAMED} more"] if len(self.not_counted) > NAMED else []
            said.append(
                f"Not counted, {whole:.2g} % of the whole: {listed([*names, *more])}. Salts drive liquids apart; "
                "solubilisers bring them together."
            )
        return " ".join(said)


def product_system(formula: Formula, materials: Materials) -> ProductSystem | None:
    """The measured system that a product is, within :data:`MOST_ELSE` percent; None where it is none.

    Both a water and an oil that were measured must be there. Of several, the one that leaves least uncounted.

    Raises
    ------
    CompositionError
        A blend or stock that is part of itself.
    """
    layers = held_by_layer(formula, materials)
    laid = [one for system in ternary_systems() if (one := _laid(system, layers)) is not None]
    return min(laid, key=lambda one: sum(percent for _, percent in one.not_counted), default=None)


def held_by_layer(formula: Formula, materials: Materials) -> dict[str, dict[str, float]]:
    """Kind of layer → substance → percent of the whole. [% w/w]

    Raises
    ------
    CompositionError
        A blend or stock that is part of itself.
    """
    layers: dict[str, dict[str, float]] = {}
    for p, _, line, percent in formula.each_line():
        if percent and percent > 0 and line.material.strip():
            held = layers.setdefault(formula.phases[p].kind, {})
            for name, share in materials.substances(line.material).items():
                held[name] = held.get(name, 0.0) + percent * share / 100.0
    return layers


def _laid(system: TernarySystem, layers: dict[str, dict[str, float]]) -> ProductSystem | None:
    amounts: dict[str, list[float]] = {kind: [0.0, 0.0, 0.0] for kind in (*layers, "water", "oil")}
    others: dict[str, float] = {}
    stood = []
    for kind, held in layers.items():
        for name, percent in held.items():
            counted = COUNTED_AS.get(name, name)
            if counted in system.names:
                amounts[kind][system.names.index(counted)] += percent
                stood += [(name, counted)] if counted != name else []
            else:
                others[name] = others.get(name, 0.0) + percent
    water, shared, oil = (sum(column) for column in zip(*amounts.values(), strict=True))
    whole = water + shared + oil + sum(others.values())
    if not (water > 0 < oil) or 100.0 * sum(others.values()) > MOST_ELSE * whole:
        return None
    in_oil = sum(amounts["oil"])
    return ProductSystem(
        system,
        _composition(amounts["water"]),
        _composition(amounts["oil"]),
        Composition.of(water, shared, oil),
        100.0 * in_oil / (water + shared + oil),
        tuple(sorted(others.items(), key=lambda item: -item[1])),
        tuple(dict.fromkeys(stood)),
    )


def _composition(amounts: list[float]) -> Composition | None:
    water, shared, oil = amounts
    return Composition.of(water, shared, oil) if sum(amounts) > 0 else None
