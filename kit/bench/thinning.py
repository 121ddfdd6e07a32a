"""Thin what is at hand: how much diluent to add to it, to what it comes, and what strength an addition leaves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.bench.conversion import density_in_water
from kit.crossing import crossing
from kit.errors import RangeError
from kit.library.ingredient import BASES, Basis
from kit.liquids.aqueous import aqueous_solution
from kit.liquids.water import water_density_at
from kit.numbers import split_text
from kit.soundness import sound
from kit.units import known_unit, magnitude

if TYPE_CHECKING:
    from collections.abc import Callable

#: The diluent with which the tables of solutions were measured.
WATER = ("aqua", "water")


@dataclass(frozen=True, slots=True)
class Thinned:
    """What was at hand, what is added to it, and what that makes. A figure that is not known is None.

    Attributes
    ----------
    strength, basis
        Of the mixture, on the basis that was asked for. [%]
    have, diluent, mass
        Before, added, and together. [g]
    volume
        Of the mixture. [mL]
    diluent_volume
        Of what is added, before it is mixed. [mL]
    shrinks
        By how much the mixture is smaller than its two parts; below 0 where it grows. [mL]
    """

    strength: float
    basis: Basis
    have: float | None
    diluent: float | None
    volume: float | None
    diluent_volume: float | None
    shrinks: float | None

    @property
    def mass(self) -> float | None:
        """Of the mixture. [g]"""
        return None if self.have is None or self.diluent is None else self.have + self.diluent

    @property
    def sentence(self) -> str:
        """The result in words, with what would have to be known for the rest."""
        if self.diluent is None:
            return (
                f"Make up to {self.volume:.5g} mL with diluent: {self.strength:.4g} % {self.basis}. How much that is "
                "to add is not known without the densities of both solutions: weigh 100 mL of each."
            )
        by_volume = f" ({self.diluent_volume:.5g} mL)" if self.diluent_volume is not None else ""
        comes = [f"{self.mass:.5g} g"] + ([f"{self.volume:.5g} mL"] if self.volume is not None else [])
        words = (
            f"Add {self.diluent:.5g} g{by_volume} of diluent: it comes to {' or '.join(comes)} at "
            f"{self.strength:.4g} % {self.basis}."
        )
        if self.volume is None:
            words += " Its volume is not known without its density: weigh 100 mL of it."
        elif self.shrinks is not None and abs(self.shrinks) >= 0.001 * self.volume:
            how = "less" if self.shrinks > 0 else "more"
            words += f" That is {abs(self.shrinks):.3g} mL {how} than the two volumes together."
        return words


@dataclass(frozen=True, slots=True)
class _Figures:
    """What is known of the solution: a table of it in water, or the densities that were given."""

    basis: Basis
    table: Callable[[float], float] | None
    most: float
    pure: float | None
    diluent: float | None

    def density(self, percent: float) -> float | None:
        """By the table, at % w/w. [g/mL]"""
        return self.table(percent) if self.table and percent <= self.most else None

    def factor(self, density: float) -> float:
        """How many % of the basis one % w/w is in a solution of this density."""
        if self.basis == "w/w":
            return 1.0
        if self.basis == "w/v":
            return density
        if self.pure is None:
            msg = "A strength in % v/v needs the density of the pure active in g/mL. It stands on the data sheet."
            raise RangeError(msg)
        return density / self.pure

    def w_w(self, strength: float) -> float | None:
        """A strength on the basis as % w/w, by the table; None where that does not reach."""
        if self.basis == "w/w":
            return strength
        if self.table is None:
            return None
        table = self.table

        def too_much(percent: float) -> float:
            return percent * self.factor(table(percent)) - strength

        at_most = too_much(self.most)
        if at_most > 1e-9 * strength:
            return crossing(too_much, 0.0, self.most, -strength, at_most)
        return self.most if at_most > -1e-9 * strength else None


@sound(above=("density", "wanted_density", "active_density", "diluent_density"))
def diluent_to_add(
    have: object,
    strength: float,
    wanted: float,
    *,
    basis: Basis = "w/w",
    active: str = "",
    diluent: str = "Aqua",
    density: float | None = None,
    wanted_density: float | None = None,
    active_density: float | None = None,
    diluent_density: float | None = None,
    celsius: float = 20.0,
) -> Thinned:
    """How much diluent brings what is at hand down to a strength, and to what it comes.

    By mass everything adds up: m₂ = m₁ c₁ / c₂. By volume the mark is known, V₂ = V₁ c₁ / c₂, but what it takes to
    reach it only through the densities, for liquids shrink on mixing. In water the kit knows many of them itself.

    Parameters
    ----------
    have
        "250 g" or "250 mL".
    strength, wanted
        Of what is at hand, and wanted; both on the one basis. [%]
    active
        INCI name of what is dissolved, such as "Alcohol", so that its table of densities in water is used.
    density, wanted_density, active_density, diluent_density
        Of what is at hand, of the weaker solution, of the pure active and of the diluent. Only needed where no table
        has them; one that is given goes before the table. [g/mL]
    celsius
        For the tables. [°C]

    Raises
    ------
    RangeError
        A wish that adding cannot fulfil, or a density without which nothing can be said.

    References
    ----------
    .. [1] OpenStax, Chemistry 2e, section 3.3, "Dilution of solutions".
    .. [2] The densities: :func:`kit.liquids.aqueous.aqueous_solution`.

    Examples
    --------
    >>> diluent_to_add("100 g", 20, 8).diluent
    150.0
    >>> spirit = diluent_to_add("500 mL", 96, 70, basis="v/v", active="Alcohol")
    >>> round(spirit.diluent_volume, 1), round(spirit.volume, 1)
    (203.9, 685.7)
    """
    figures = _figures(basis, active, diluent, active_density, diluent_density, celsius)
    if not 0 < wanted <= strength:
        msg = (
            f"Adding diluent only weakens: from {strength:g} % it leads to less than that and more than 0 %, "
            f"not to {wanted:g} %."
        )
        raise RangeError(msg)
    before, after = _density(figures, strength, density), _density(figures, wanted, wanted_density)
    mass, volume = _both(have, before)
    if basis == "w/w":
        if mass is None:
            msg = f"{have} at a strength in % w/w needs the density of the solution in g/mL. Weigh it instead."
            raise RangeError(msg)
        whole: float | None = mass * strength / wanted
        filled = None if whole is None or after is None else whole / after
    else:
        if volume is None:
            msg = f"{have} at a strength in % {basis} needs the density of the solution in g/mL. Weigh 100 mL of it."
            raise RangeError(msg)
        filled = volume * strength / wanted
        whole = None if after is None or mass is None else filled * after
    added = None if whole is None or mass is None else whole - mass
    if added is not None and added < -1e-9 * (mass or 0.0):
        msg = "With these densities the weaker solution would weigh less than what is at hand. Look at both again."
        raise RangeError(msg)
    return _thinned(figures, wanted, mass, volume, added, filled)


@sound(above=("density", "mixed_density", "active_density", "diluent_density"))
def strength_after(
    have: object,
    strength: float,
    diluent_added: object,
    *,
    basis: Basis = "w/w",
    active: str = "",
    diluent: str = "Aqua",
    density: float | None = None,
    mixed_density: float | None = None,
    active_density: float | None = None,
    diluent_density: float | None = None,
    celsius: float = 20.0,
) -> Thinned:
    """What strength is left when so much diluent is added to what is at hand.

    Parameters
    ----------
    have, diluent_added
        "250 g" or "250 mL" each.
    mixed_density
        Of the mixture, where no table has it. [g/mL]
    strength, basis, active, diluent, density, active_density, diluent_density, celsius
        See :func:`diluent_to_add`.

    Raises
    ------
    RangeError
        A density without which nothing can be said.

    Examples
    --------
    >>> strength_after("100 g", 20, "150 g").strength
    8.0
    >>> both = strength_after("50 mL", 100, "50 mL", basis="v/v", active="Alcohol")
    >>> round(both.strength, 1), round(both.volume, 1), round(both.shrinks, 1)
    (51.8, 96.5, 3.5)
    """
    figures = _figures(basis, active, diluent, active_density, diluent_density, celsius)
    if not strength > 0:
        msg = f"What is at hand must be stronger than 0 %, got {strength:g} %."
        raise RangeError(msg)
    before = _density(figures, strength, density)
    mass, volume = _both(have, before)
    added, _ = _both(diluent_added, figures.diluent)
    if mass is None or added is None:
        what = have if mass is None else diluent_added
        msg = f"{what} needs its density in g/mL before it can be added. Weigh it instead."
        raise RangeError(msg)
    start = strength if basis == "w/w" else None if before is None else strength / figures.factor(before)
    if start is None:
        msg = f"{strength:g} % {basis} needs the density of the solution in g/mL. Weigh 100 mL of it."
        raise RangeError(msg)
    percent = start * mass / (mass + added)
    after = mixed_density if mixed_density is not None else figures.density(percent)
    if basis != "w/w" and after is None:
        msg = f"The strength of the mixture in % {basis} needs its density in g/mL. Weigh 100 mL of it."
        raise RangeError(msg)
    reached = percent if after is None else percent * figures.factor(after)
    return _thinned(figures, reached, mass, volume, added, None if after is None else (mass + added) / after)


def _figures(
    basis: Basis, active: str, diluent: str, pure: float | None, diluent_density: float | None, celsius: float
) -> _Figures:
    if basis not in BASES:
        msg = f"The basis {basis!r} is not known. Write one of {', '.join(BASES)}."
        raise RangeError(msg)
    for name, given in (("the pure active", pure), ("the diluent", diluent_density)):
        if given is not None and not given > 0:
            msg = f"The density of {name} must be more than 0 g/mL, got {given:g}."
            raise RangeError(msg)
    in_water = diluent.strip().casefold() in WATER
    known = aqueous_solution(active) if active.strip() and in_water else None
    if diluent_density is None and in_water:
        diluent_density = water_density_at(celsius)
    if known is None:
        return _Figures(basis, None, 0.0, pure, diluent_density)
    most = min(100.0, known.most / known.brings)  # as it is weighed: a hydrate with its crystal water
    if pure is None and known.most >= 100:
        pure = known.density(100.0, celsius)

    def table(percent: float) -> float:
        return density_in_water(active, min(percent, most), celsius=celsius)

    return _Figures(basis, table, most, pure, diluent_density)


def _density(figures: _Figures, strength: float, given: float | None) -> float | None:
    """The density that was given, or that of the table at this strength. [g/mL]"""
    if given is not None:
        if not given > 0:
            msg = f"A density must be more than 0 g/mL, got {given:g}."
            raise RangeError(msg)
        return given
    percent = figures.w_w(strength)
    return None if percent is None else figures.density(percent)


def _both(amount: object, density: float | None) -> tuple[float | None, float | None]:
    """An amount as grams and as millilitres, the one that is not known without a density as None."""
    by_volume = isinstance(amount, str) and (known_unit(split_text(amount)[1]) or ("",))[0] == "mL"
    number = magnitude(amount, "mL" if by_volume else "g", name="amount")
    if not 0 < number < float("inf"):
        msg = f"An amount must be more than 0, got {amount}."
        raise RangeError(msg)
    if by_volume:
        return (None if density is None else number * density), number
    return number, (None if density is None else number / density)


def _thinned(
    figures: _Figures,
    strength: float,
    mass: float | None,
    volume: float | None,
    added: float | None,
    filled: float | None,
) -> Thinned:
    added_volume = None if added is None or figures.diluent is None else added / figures.diluent
    shrinks = None if volume is None or added_volume is None or filled is None else volume + added_volume - filled
    return Thinned(strength, figures.basis, mass, added, filled, added_volume, shrinks)
