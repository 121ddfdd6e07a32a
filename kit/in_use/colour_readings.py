"""How much of a dye stands in each layer, read off the colour of both layers at the start and now."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

    Lab = Sequence[float]

Home = Literal["water", "oil"]

CHANNELS = ("red", "green", "blue")
WHITE = (100.0, 0.0, 0.0)

#: From X, Y, Z over those of the white D65 to the linear red, green and blue of sRGB: the inverse of the matrix of
#: IEC 61966-2-1:1999, each column times the white (95.047, 100, 108.883 over 100; the white from memory).
_TO_RGB = (
    (3.2406 * 0.95047, -1.5372, -0.4986 * 1.08883),
    (-0.9689 * 0.95047, 1.8758, 0.0415 * 1.08883),
    (0.0557 * 0.95047, -0.2040, 1.0570 * 1.08883),
)
#: Less light than this part of the white tells nothing of how much dye there is (our choice). [0 to 1]
LEAST_LIGHT = 0.02
#: A dye must take at least so much of the light at the start to be followed (our choice). [-]
LEAST_COLOUR = 0.1
#: Two photographs of one layer agree no better than this (our choice): about 5 % of the light. [-]
DOUBT = 0.02


def light_of(colour: Lab) -> tuple[float, float, float]:
    """The linear red, green and blue of sRGB of a colour, white 1. [about 0 to 1]

    Parameters
    ----------
    colour
        L*, a*, b* under D65.

    References
    ----------
    .. [1] CIE 15:2018, Colorimetry, and IEC 61966-2-1:1999; the way back of :func:`kit.stability.photos.colour.lab_of`.

    Examples
    --------
    >>> [round(part, 3) for part in light_of((100, 0, 0))]
    [1.0, 1.0, 1.0]
    """
    lightness, a, b = colour
    y = (lightness + 16.0) / 116.0
    xyz = [_cube(part) for part in (y + a / 500.0, y, y - b / 200.0)]
    red, green, blue = (sum(f * one for f, one in zip(row, xyz, strict=True)) for row in _TO_RGB)
    return red, green, blue


def _cube(root: float) -> float:
    delta = 6.0 / 29.0
    return float(root**3) if root > delta else 3.0 * delta**2 * (root - 4.0 / 29.0)


def absorbance(colour: Lab, channel: int, blank: Lab = WHITE) -> float:
    """How much a layer takes of the light of one channel: log10(light of the blank / light of the layer). [-]

    Parameters
    ----------
    colour, blank
        L*, a*, b* of the layer, and of the same layer without dye before the same white.
    channel
        0 red, 1 green, 2 blue.

    Raises
    ------
    RangeError
        The layer is too dark in this channel to tell how much dye there is.

    Notes
    -----
    By Lambert and Beer this is proportional to the dye and the depth seen. A channel of a camera is a band and no
    line, so the proportion bends for strong colours; take both photographs alike and keep the colour pale.

    References
    ----------
    .. [1] A. Beer, Annalen der Physik 162 (1852) 78-88 (from memory); IUPAC Gold Book, Beer-Lambert law.

    Examples
    --------
    >>> round(absorbance((76.0693, 0, 0), 1), 3)
    0.301
    """
    through, clear = light_of(colour)[channel], light_of(blank)[channel]
    if not through >= LEAST_LIGHT * clear > 0:
        msg = (
            f"In {CHANNELS[channel]} light the colour {colour[0]:g} {colour[1]:g} {colour[2]:g} is too dark to tell "
            "how much dye there is. Photograph a thinner bottle, or the layers diluted alike."
        )
        raise RangeError(msg)
    return math.log10(clear / through)


@dataclass(frozen=True, slots=True)
class LayerColours:
    """L*, a*, b* of both layers of one bottle on one day."""

    water: Lab
    oil: Lab


@dataclass(frozen=True, slots=True)
class Bleed:
    """A dye that was put into one layer, followed by the colour of both.

    Attributes
    ----------
    home
        The layer it was put into.
    channel
        In which it was read: red, green or blue.
    left
        How much of its level at home is left; 1 at the start. [-]
    gained
        What the other layer takes of the light now, less what it took at the start. [-]
    oil_to_water
        Volume of the oil over that of the water. [mL/mL]
    k
        Concentration in the oil over that in the water, by what home has lost; None where home shows no loss beyond
        the doubt of two photographs. [-]
    k_low, k_high
        With the doubt of the photographs: 0 or more; infinite where all may have left the water. [-]
    k_by_both
        The same from the colour of both layers, which holds only if the dye looks alike in oil and in water. [-]
    """

    home: Home
    channel: str
    left: float
    gained: float
    oil_to_water: float
    k: float | None
    k_low: float
    k_high: float
    k_by_both: float

    @property
    def is_seen(self) -> bool:
        """Whether home has lost more than the photographs may be off."""
        return self.k is not None


def bleed(start: LayerColours, now: LayerColours, oil_to_water: float, home: Home = "water") -> Bleed:
    """How a dye has shared itself out, from the colours of both layers at the start and now.

    The channel is the one in which the dye takes most of the light at the start.

    Parameters
    ----------
    oil_to_water
        Volume of the oil over that of the water, above 0. [mL/mL]
    home
        The layer that the dye was put into.

    Raises
    ------
    RangeError
        A ratio of volumes that cannot be, a colour too dark, or a dye too pale to follow.

    Notes
    -----
    What home lost is in the other layer: K = (1 / left - 1) / φ for a dye of the water, left / ((1 - left) φ) for one
    of the oil. A dye that fades looks as if it had bled; a bottle without the other layer, kept beside, tells.

    References
    ----------
    .. [1] A balance of mass; for the water the same as H. S. Bean (1972), see
       :func:`kit.layers.partition.water_level`.
    """
    if not 0 < oil_to_water < math.inf:
        msg = f"The ratio of oil to water is {oil_to_water:g}. Give mL of oil for each mL of water, above 0."
        raise RangeError(msg)
    mine = start.water if home == "water" else start.oil
    light = light_of(mine)
    channel = light.index(min(light))
    at_home = absorbance(mine, channel)
    if at_home < LEAST_COLOUR:
        msg = (
            f"At the start the {home} layer takes only {100 * (1 - 10**-at_home):.0f} % of the light: too pale to "
            "follow. Read a layer with more colour, or a deeper bottle."
        )
        raise RangeError(msg)
    after = absorbance(now.water if home == "water" else now.oil, channel)
    other = [absorbance(day.oil if home == "water" else day.water, channel) for day in (start, now)]
    gained = other[1] - other[0]
    left = after / at_home
    ks = [_k(home, (after + doubt) / at_home, oil_to_water) for doubt in (DOUBT, 0.0, -DOUBT)]
    both = [gained / after if after > 0 else math.inf, after / gained if gained > 0 else math.inf]
    return Bleed(
        home,
        CHANNELS[channel],
        left,
        gained,
        oil_to_water,
        ks[1] if at_home - after > DOUBT else None,
        min(ks),
        max(ks),
        max(0.0, both[0 if home == "water" else 1]),
    )


def _k(home: Home, left: float, oil_to_water: float) -> float:
    """K by what is left at home; a share beyond 0 to 1 counts as its end."""
    left = min(1.0, max(0.0, left))
    if home == "water":
        return (1.0 / left - 1.0) / oil_to_water if left > 0 else math.inf
    return left / ((1.0 - left) * oil_to_water) if left < 1 else math.inf
