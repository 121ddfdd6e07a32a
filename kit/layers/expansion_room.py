"""How much head space a bottle needs for what its product grows when it gets warm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.layers.density import LayerContents, amounts

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula

#: Between these a liquid's mean expansion is stated for transport. [°C]
COOL, WARM = 15.0, 50.0
#: Of its brimful volume a pack may be full when it is at its warmest. [%]
FULLEST = 98.0
#: A part of a layer's volume that is too small to matter, though nobody knows how it expands. [%]
NEXT_TO_NOTHING = 0.01

SOURCE = (
    "ADR (2013), 4.1.1.4: 98 / (1 + α (50 - t)) % of the pack, α = (d15 - d50) / (35 d50); a rule for dangerous goods, "
    "taken here as a measure for any liquid"
)


def mean_expansion(cool: float, warm: float, *, low: float = COOL, high: float = WARM) -> float:
    """Mean coefficient of cubic expansion of a liquid from its densities at two temperatures: (d₁ - d₂)/(Δt d₂). [1/K]

    Parameters
    ----------
    cool, warm
        Its density at ``low`` and at ``high``. [g/mL]
    low, high
        15 and 50 °C where nothing else is said. [°C]

    Raises
    ------
    RangeError
        A density that is not above 0, or temperatures in the wrong order.

    References
    ----------
    .. [1] ADR, European Agreement concerning the International Carriage of Dangerous Goods by Road (2013), 4.1.1.4.

    Examples
    --------
    Water:

    >>> print(f"{mean_expansion(0.9991026, 0.98804):.2e}")
    3.20e-04
    """
    if not (cool > 0 and warm > 0):
        msg = f"Densities must be more than 0 g/mL, got {cool:g} and {warm:g} g/mL."
        raise RangeError(msg)
    if not high > low:
        msg = f"The warmer temperature must be above the cooler, got {low:g} and {high:g} °C."
        raise RangeError(msg)
    return (cool - warm) / ((high - low) * warm)


def most_fill(
    brimful: float, expansion: float, *, filled_at: float = 20.0, warmest: float = WARM, fullest: float = FULLEST
) -> float:
    """The most that may be filled so that a pack is no fuller than it may be at its warmest. [mL]

    Parameters
    ----------
    brimful
        What the pack holds to the brim. [mL]
    expansion
        Mean coefficient of cubic expansion of the product. [1/K]
    filled_at, warmest
        [°C]
    fullest
        How full it may be then. [% of brimful]

    Raises
    ------
    RangeError
        No volume, a part outside 0 to 100 %, or a product filled warmer than its warmest.

    References
    ----------
    .. [1] ADR (2013), 4.1.1.4: degree of filling 98 / (1 + α (50 - t)) % of the capacity.

    Examples
    --------
    >>> print(f"{most_fill(100, 3.2e-4):.2f}")
    97.07
    >>> print(f"{most_fill(100, 7e-4):.2f}")
    95.98
    """
    if not (brimful > 0 and 0 < fullest <= 100):
        msg = (
            f"A pack of {brimful:g} mL that may be {fullest:g} % full holds nothing; "
            "give mL above 0 and a part up to 100 %."
        )
        raise RangeError(msg)
    if not warmest >= filled_at:
        msg = f"It is filled at {filled_at:g} °C, above its warmest, {warmest:g} °C."
        raise RangeError(msg)
    grows = 1 + expansion * (warmest - filled_at)
    if not grows > 0:
        msg = f"An expansion of {expansion:g} per K is not that of a liquid."
        raise RangeError(msg)
    return brimful * fullest / 100 / grows


@dataclass(frozen=True, slots=True)
class ExpansionRoom:
    """The room that a product needs in its bottle.

    Attributes
    ----------
    grows
        How much larger the product is at its warmest. [%]
    expansion
        Mean coefficient between filling and warmest. [1/K]
    most
        The most that may be filled, when it is filled. [mL]
    full
        How full the bottle is at its warmest as it is filled now. [% of brimful]
    filled_at, warmest, fullest
        [°C, °C, % of brimful]
    """

    grows: float
    expansion: float
    most: float
    full: float
    filled_at: float
    warmest: float
    fullest: float

    @property
    def sentence(self) -> str:
        """The answer in words."""
        return (
            f"From {self.filled_at:g} to {self.warmest:g} °C the product grows by {self.grows:.2g} % (its densities at "
            f"both): fill no more than {self.most:.1f} mL, so that the bottle is at most {self.fullest:g} % full then. "
            f"As it is filled now it will be {self.full:.1f} % full."
        )

    def finding(self) -> Finding:
        """The answer as a finding: a caution where the bottle will be fuller than it may."""
        too_full = self.full > self.fullest * (1 + 1e-9)
        return Finding("caution" if too_full else "note", self.sentence, Place(field="bottle"), SOURCE)


def expansion_room(
    formula: Formula,
    materials: Materials,
    brimful: float,
    fill: float,
    *,
    filled_at: float = 20.0,
    warmest: float = WARM,
    fullest: float = FULLEST,
) -> ExpansionRoom:
    """The room that a product needs in its bottle, from the densities of its layers cold and warm.

    Parameters
    ----------
    brimful, fill
        Of the bottle, and the product in it when it is filled. [mL]
    filled_at, warmest
        0 to 100 °C. [°C]
    fullest
        How full the bottle may be at its warmest. [% of brimful]

    Raises
    ------
    RangeError
        A formula without an amount, a substance whose expansion up to there is not known, or as :func:`most_fill`.
    """
    percents = amounts(formula)
    cool = warm = 0.0
    for layer in LayerContents.of(formula, materials):
        mass = layer.mass(percents)
        if mass <= 0:
            continue
        both = [layer.density(percents, celsius) for celsius in (filled_at, warmest)]
        unknown = max(each.unknown_expansion_share for each in both)
        missing = max(each.unknown_share for each in both)
        if unknown > NEXT_TO_NOTHING or missing > NEXT_TO_NOTHING:
            what = f"how {unknown:.3g} % of its volume expands" if unknown > missing else f"the density of {missing:.3g} %"
            msg = (
                f"The room cannot be computed: for the {layer.kind} layer it is not known {what} from {filled_at:g} to "
                f"{warmest:g} °C. Stand a full measuring cylinder at {warmest:g} °C and read how much it grows."
            )
            raise RangeError(msg)
        cool, warm = cool + mass / both[0].value, warm + mass / both[1].value
    if not cool > 0:
        msg = f"{formula.title} has no amounts yet, so it does not grow. Type the amounts first."
        raise RangeError(msg)
    grown = warm / cool
    expansion = (grown - 1) / (warmest - filled_at) if warmest > filled_at else 0.0
    most = most_fill(brimful, expansion, filled_at=filled_at, warmest=warmest, fullest=fullest)
    return ExpansionRoom(
        100 * (grown - 1), expansion, most, 100 * fill * grown / brimful, filled_at, warmest, fullest
    )
