"""Percent bases and dilutions: C₁V₁ = C₂V₂ and what follows from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.bench.conversion import density_in_water, pure_density, to_w_w
from kit.errors import EntryError, RangeError
from kit.inputs import REQUIRED, Choice, Day, Number, Text, asked, refuse_unknown_words
from kit.library.ingredient import BASES, COMPOSITION_TOLERANCE, DENSITIES, PHASE_KINDS, Basis, Figure, Stock
from kit.library.sources import OWN
from kit.liquids.aqueous import aqueous_solution
from kit.soundness import sound

if TYPE_CHECKING:
    from kit.library.ingredient import PhaseKind


PHASES: dict[str, str] = {kind: kind for kind in PHASE_KINDS}
#: The solvent whose solutions are tabled.
WATER = "Aqua"


@dataclass(frozen=True, slots=True)
class Dilution:
    """How much of a stock and how much diluent give the wanted amount, in the unit the amount was given in."""

    stock: float
    diluent: float


@sound()
def dilute(strength: float, wanted_strength: float, wanted_amount: float) -> Dilution:
    """Stock and diluent for a weaker solution: C₁V₁ = C₂V₂.

    Parameters
    ----------
    strength, wanted_strength
        Both on one basis, in the same unit.
    wanted_amount
        A mass where the strengths are w/w; a final volume where they are w/v, v/v or molar. The diluent of a
        volume is "make up to": liquids can shrink on mixing, so it is not measured out.

    Raises
    ------
    RangeError
        The wanted strength is above the stock's, or a number is not above zero.

    References
    ----------
    .. [1] OpenStax, Chemistry 2e, section 3.3, "Dilution of solutions".

    Examples
    --------
    >>> round(dilute(68.0, 10.0, 400.0).stock, 1)
    58.8
    """
    if not (strength > 0 and wanted_strength > 0 and wanted_amount > 0):
        msg = f"Strengths and amount must be more than 0; got {strength:g}, {wanted_strength:g} and {wanted_amount:g}."
        raise RangeError(msg)
    if wanted_strength > strength:
        msg = (
            f"A solution of {strength:g} cannot be diluted to {wanted_strength:g}: diluting only weakens. "
            f"Use a stock of {wanted_strength:g} or stronger."
        )
        raise RangeError(msg)
    stock = min(wanted_strength * wanted_amount / strength, wanted_amount)
    return Dilution(stock, wanted_amount - stock)


@dataclass(frozen=True, slots=True, kw_only=True)
class StockDetails:
    """What a maker says of a stock that is to be made; see :func:`make_stock`."""

    name: str = asked("Name", help="May stay empty: it is then named by its active and strength.")
    active: str = asked("Active", Text("name"), REQUIRED, example="Citric Acid")
    strength: float = asked("Strength", Number(0, 500), REQUIRED, unit="%", example="20")
    basis: Basis = asked("Counted", Choice({basis: basis for basis in BASES}), "w/w")
    solvent: str = asked("In", Text("name"), REQUIRED, example="Aqua")
    density: float | None = asked(
        "Density of the stock", Number(*DENSITIES), None, unit="g/mL", help="Needed for w/v and v/v."
    )
    preservative: str = asked("Its preservative", Text("name"), help="May stay empty.")
    preservative_percent: float = asked("Preservative, at", Number(0, 5), 0.0, unit="% w/w")
    phase: PhaseKind | Literal[""] = asked("Belongs in", Choice({"": "the layer of its solvent", **PHASES}), "")
    keep_until: str = asked("Keep until", Day())

    def __post_init__(self) -> None:
        refuse_unknown_words(self)

    def make(self, active_density: float | None = None, solvent_phase: PhaseKind = "water") -> Stock:
        """The stock, in the layer of its solvent unless another was chosen.

        Raises
        ------
        EntryError
            A preservative without its percent, or a percent without its name.
        RangeError
            As :func:`make_stock`.
        """
        if bool(self.preservative) != bool(self.preservative_percent):
            msg = "A preservative in the stock needs its name and its % w/w. Give both, or no name and 0."
            raise EntryError(msg)
        counted = "" if self.basis == "w/w" else f"{self.basis} "
        return make_stock(
            " ".join(self.name.split()) or f"{self.active} {self.strength:g} % {counted}stock",
            self.active,
            self.strength,
            basis=self.basis,
            solvent=self.solvent,
            others={self.preservative: self.preservative_percent} if self.preservative else None,
            density=self.density,
            active_density=active_density,
            phase=self.phase or solvent_phase,
            keep_until=self.keep_until,
        )


def make_stock(
    name: str,
    active: str,
    strength: float,
    *,
    basis: Basis = "w/w",
    solvent: str = "Aqua",
    others: dict[str, float] | None = None,
    density: float | None = None,
    active_density: float | None = None,
    phase: PhaseKind = "water",
    made_on: str = "",
    keep_until: str = "",
    note: str = "",
) -> Stock:
    """A stock solution, with its solvent making it up to 100 % w/w.

    Parameters
    ----------
    strength, basis
        As its label will state it. [%]
    others
        Further contents, such as its preservative: material → % w/w.
    density, active_density
        For w/v and v/v; see :func:`to_w_w`. Where they are not given and the stock is nothing but the active and
        water, they are those of its published table at 20 °C, if there is one. [g/mL]

    Raises
    ------
    RangeError
        No room is left for the solvent, or the active stands among the others too.

    Examples
    --------
    >>> stock = make_stock("Citric Acid 20 % w/v stock", "Citric Acid", 20, basis="w/v", density=1.08)
    >>> round(stock.contents["Aqua"], 3)
    81.481
    >>> round(make_stock("Alcohol 70 % v/v stock", "Alcohol", 70, basis="v/v").contents["Alcohol"], 2)
    62.39
    """
    if active in (others or {}):
        msg = f"{name}: {active} is its active and cannot be among the other contents as well. Give it once."
        raise RangeError(msg)
    table, pure = density, active_density
    if basis != "w/w" and density is None and solvent == WATER and not others and aqueous_solution(active):
        if basis == "v/v":
            pure = pure_density(active) if active_density is None else active_density
        table = density_in_water(active, strength, basis)
    share = to_w_w(strength, basis, density=table, active_density=pure)
    contents = {active: share, **(others or {})}
    rest = 100.0 - sum(contents.values())
    if rest < -COMPOSITION_TOLERANCE:
        msg = (
            f"{name}: the active and the other contents add to {100 - rest:.4g} %, which leaves no room for {solvent}."
        )
        raise RangeError(msg)
    contents[solvent] = contents.get(solvent, 0.0) + max(rest, 0.0)
    figure = Figure(density, OWN) if density is not None else None
    return Stock(name, contents, active, strength, basis, figure, phase, made_on, keep_until, note)


def stock_for_level(stock: Stock, level: float) -> float:
    """How much of a stock brings an active to a level in the formula. [% w/w active → % w/w stock]

    Raises
    ------
    RangeError
        The stock holds none of its active, or is too weak to bring so much, or the level is below 0 %.
    """
    share = stock.contents.get(stock.active, 0.0)
    if not share > 0:
        msg = f"{stock.name} states no active, so its share cannot be worked out. Name the active in the stock."
        raise RangeError(msg)
    if not level >= 0:
        msg = f"A level of {level:g} % of {stock.active} is not possible. Give 0 % or more."
        raise RangeError(msg)
    needed = 100.0 * level / share
    if needed > 100 + COMPOSITION_TOLERANCE:
        msg = (
            f"{level:g} % of {stock.active} would need {needed:.4g} % of {stock.name}. "
            f"The stock must be stronger than {level:g} %."
        )
        raise RangeError(msg)
    return min(needed, 100.0)
