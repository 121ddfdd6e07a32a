"""Net content: grams and millilitres, and ounces and fluid ounces where the United States ask for them."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from typing import TYPE_CHECKING, Literal

from kit.errors import EntryError, RangeError
from kit.numbers import split_text
from kit.soundness import refuse_odd_fields, sound
from kit.units import known_unit, magnitude

if TYPE_CHECKING:
    from kit.library.table import Jurisdiction

Stated = Literal["volume", "weight"]

#: 1 fl oz (US) in mL and 1 oz (avoirdupois) in g, the factors of 16 CFR 500.19.
FLUID_OUNCE = 29.5735
OUNCE = 28.3495
#: From here on a pint (or a pound) is a larger whole unit. [oz, fl oz]
WHOLE_UNIT = 16.0
#: Below this neither weight nor volume has to be stated in the European Union. [g or mL]
SMALL_PACK = 5.0
#: A figure that may lie off by more than this is not worth printing unweighed (a judgement). [± %]
WELL_KNOWN = 2.0
#: Below the one the promise in ounces would be rounded down to nothing; above the other it is no pack. [g or mL]
LEAST, MOST = 0.3, 100_000.0


@dataclass(frozen=True, slots=True)
class NetContent:
    """What one pack holds when it is filled.

    Attributes
    ----------
    grams, millilitres
        At 20 °C. [g], [mL]
    stated
        Which of the two is the promise; the other stands beside it.
    off
        How far the other may lie off, because the density does. [± %]
    """

    grams: float
    millilitres: float
    stated: Stated = "volume"
    off: float = 0.0

    def __post_init__(self) -> None:
        refuse_odd_fields(self)
        for value, unit, promise in ((self.grams, "g", "weight"), (self.millilitres, "mL", "volume")):
            least = LEAST if promise == self.stated else LEAST / 10
            if not least <= value <= MOST:
                msg = f"A net content of {value:g} {unit} is not possible. Give what one pack holds, such as 85 mL."
                raise RangeError(msg)

    def text(self, jurisdiction: Jurisdiction) -> str:
        """The content as printed. Every figure is rounded down, so that the pack holds at least what it says.

        References
        ----------
        .. [1] Regulation (EC) No 1223/2009, Article 19(1)(b): by weight or by volume.
        .. [2] 21 CFR 701.13: fluid measure for liquids, weight for solids and mixtures of solid and liquid.
        .. [3] NIST, fact sheet on metric labelling: a rounded figure may not overstate the content.

        Examples
        --------
        >>> content = NetContent(grams=82.7, millilitres=85.0)
        >>> content.text("eu"), content.text("us")
        ('85 mL (82 g)', '2.87 fl oz (85 mL)')
        """
        volume, weight = f"{rounded_down(self.millilitres)} mL", f"{rounded_down(self.grams)} g"
        if jurisdiction == "eu":
            return f"{volume} ({weight})" if self.stated == "volume" else f"{weight} ({volume})"
        if self.stated == "volume":
            return f"{self.customary} fl oz ({volume})"
        return f"Net Wt {self.customary} oz ({weight})"

    @property
    def customary(self) -> str:
        """Fluid ounces or ounces, converted from the metric figure as printed and rounded down. [fl oz] or [oz]"""
        if self.stated == "volume":
            return rounded_down(float(rounded_down(self.millilitres)) / FLUID_OUNCE, digits=3)
        return rounded_down(float(rounded_down(self.grams)) / OUNCE, digits=3)

    @property
    def is_small(self) -> bool:
        """Whether the pack holds less than 5 g or less than 5 mL, which in the European Union need not be stated."""
        return self.millilitres < SMALL_PACK or self.grams < SMALL_PACK

    @property
    def has_larger_unit(self) -> bool:
        """Whether the content reaches a pint or a pound, for which the United States ask for more."""
        if self.stated == "volume":
            return self.millilitres >= WHOLE_UNIT * FLUID_OUNCE
        return self.grams >= WHOLE_UNIT * OUNCE


def rounded_down(value: float, digits: int = 0) -> str:
    """A figure rounded down to what a label shows, without zeros at the end.

    Parameters
    ----------
    digits
        Digits that count; 0 for two below 100 and three from there on, as 16 CFR 500.19(b) has it. Never more
        than two decimals.

    Examples
    --------
    >>> rounded_down(85.94), rounded_down(128.97), rounded_down(7.99), rounded_down(2.8746, digits=3)
    ('85', '128', '7.9', '2.87')
    """
    exact = Decimal(repr(value))
    # A figure that was typed and converted may lie a hair below what was meant.
    nudged = exact * (1 + Decimal("1e-12"))
    count = digits or (2 if nudged < 100 else 3)
    step = Decimal(1).scaleb(max(nudged.adjusted() + 1 - count, -2))
    floor = (nudged / step).to_integral_value(ROUND_FLOOR) * step
    return format(floor.normalize(), "f")


def read_content(text: str, density: float, off: float = 0.0) -> NetContent:
    """Read what was typed as net content: "85 mL" states a volume, "80 g" a weight.

    Parameters
    ----------
    density, off
        Of the product, by which the other figure is worked out, and how far that may lie off. [g/mL, ± %]

    Raises
    ------
    EntryError, UnitError, RangeError
        No quantity, no unit, or not the content of a pack.

    Examples
    --------
    >>> read_content("100 g", 0.95).text("eu")
    '100 g (105 mL)'
    """
    _, unit = split_text(" ".join(text.split()))
    if not density > 0:
        msg = "The density of the product is not known yet. Complete the formula first."
        raise RangeError(msg)
    kind = (known_unit(unit) or ("",))[0]
    if kind == "g":
        grams = magnitude(text, "g", name="net content", low=0, high=MOST)
        return NetContent(grams, grams / density, "weight", off)
    if kind == "mL":
        millilitres = magnitude(text, "mL", name="net content", low=0, high=MOST)
        return NetContent(millilitres * density, millilitres, "volume", off)
    msg = f"{text.strip()!r} is not a net content. Type a volume (85 mL) or a weight (80 g)."
    raise EntryError(msg)


@sound(above=("millilitres", "density"))
def content_of_volume(millilitres: float, density: float, off: float = 0.0) -> NetContent:
    """The content of a pack filled with a volume at a density, which may lie off. [mL], [g/mL], [± %]"""
    return NetContent(millilitres * density, millilitres, "volume", off)
