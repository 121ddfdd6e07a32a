"""How far apart two colours are, and what a table calls a difference of that size. Plain floats, no arrays."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Sequence

#: Upper end of each class of CIE76 differences and its name, after the table used in studies of wood colour:
#: J. Korean Wood Sci. Technol. 48 (2020), no. 1, table 1, and 50 (2022), no. 4, table 2 (the years are from memory).
#: Thresholds of one formula do not carry over to another.
CLASSES = ((0.2, "invisible"), (2.0, "very small"), (3.0, "small"), (6.0, "medium"), (12.0, "large"))
BEYOND = "a different colour"
CLASSES_SOURCE = "J. Korean Wood Sci. Technol. 48(1), table 1, and 50(4), table 2 (classes of CIE76 differences)"


@sound()
def delta_e_76(one: Sequence[float], other: Sequence[float]) -> float:
    """CIE 1976 difference of two colours: their straight distance in CIELAB. [CIELAB units]

    Parameters
    ----------
    one, other
        L*, a*, b* of each.

    References
    ----------
    .. [1] CIE 15:2004, Colorimetry, 3rd edition, 8.2.1 (the clause is from memory).

    Examples
    --------
    >>> round(delta_e_76((50, 2.5, 0), (73, 25, -18)), 4)
    36.868
    """
    return math.dist(one, other)


@sound()
def delta_e_2000(one: Sequence[float], other: Sequence[float]) -> float:
    """CIEDE2000 difference of two colours, kL = kC = kH = 1. [CIEDE2000 units]

    Symmetric: the order of the two does not matter. Made for small differences, up to about 5 units.

    Parameters
    ----------
    one, other
        L*, a*, b* of each.

    References
    ----------
    .. [1] G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference formula: implementation notes,
       supplementary test data, and mathematical observations", Color Research and Application 30 (2005) 21-30,
       doi:10.1002/col.20070.

    Examples
    --------
    >>> round(delta_e_2000((50, 2.6772, -79.7751), (50, 0, -82.7485)), 4)
    2.0425
    """
    (lightness1, a1, b1), (lightness2, a2, b2) = one, other
    redder = 1.5 - _blue_share((math.hypot(a1, b1) + math.hypot(a2, b2)) / 2) / 2
    chroma1, hue1 = _polar(redder * a1, b1)
    chroma2, hue2 = _polar(redder * a2, b2)
    both_coloured = chroma1 * chroma2 != 0
    turn = _turn(hue1, hue2) if both_coloured else 0.0
    hue = _mean_hue(hue1, hue2) if both_coloured else hue1 + hue2
    lightness, chroma = (lightness1 + lightness2) / 2, (chroma1 + chroma2) / 2
    off_middle = (lightness - 50) ** 2
    in_lightness = (lightness2 - lightness1) / (1 + 0.015 * off_middle / math.sqrt(20 + off_middle))
    in_chroma = (chroma2 - chroma1) / (1 + 0.045 * chroma)
    in_hue = 2 * math.sqrt(chroma1 * chroma2) * math.sin(math.radians(turn / 2)) / (1 + 0.015 * chroma * _around(hue))
    angle = 60 * math.exp(-(((hue - 275) / 25) ** 2))
    rotation = -2 * _blue_share(chroma) * math.sin(math.radians(angle))
    return math.sqrt(in_lightness**2 + in_chroma**2 + in_hue**2 + rotation * in_chroma * in_hue)


def _blue_share(chroma: float) -> float:
    """The square root of C^7 / (C^7 + 25^7), in which both corrections of the formula grow with chroma."""
    return math.sqrt(chroma**7 / (chroma**7 + 25.0**7))


def _polar(a: float, b: float) -> tuple[float, float]:
    """Chroma and hue angle [0 to 360 degrees]; a grey has the hue 0."""
    return math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360 if a or b else 0.0


def _turn(hue1: float, hue2: float) -> float:
    """From one hue to the other the short way round. [degrees]"""
    turn = hue2 - hue1
    if abs(turn) <= 180:
        return turn
    return turn - 360 if turn > 180 else turn + 360


def _mean_hue(hue1: float, hue2: float) -> float:
    """Halfway between two hues, the short way round. [degrees]"""
    total = hue1 + hue2
    if abs(hue1 - hue2) <= 180:
        return total / 2
    return (total + 360) / 2 if total < 360 else (total - 360) / 2


def _around(hue: float) -> float:
    """How sensitive the eye is to a change of hue, round the circle: the T of the formula."""
    weights = ((-0.17, 1, -30), (0.24, 2, 0), (0.32, 3, 6), (-0.20, 4, -63))
    return 1 + sum(weight * math.cos(math.radians(times * hue + shift)) for weight, times, shift in weights)


def class_of(difference_76: float) -> str:
    """What one table calls a **CIE76** difference of that size; see :data:`CLASSES_SOURCE`.

    Where a class ends the next begins: 2.0 is "small". The words describe a table, not what a customer will notice.

    Examples
    --------
    >>> class_of(0.1), class_of(2.4), class_of(13)
    ('invisible', 'small', 'a different colour')
    """
    return next((name for end, name in CLASSES if difference_76 < end), BEYOND)


def difference_words(one: Sequence[float], other: Sequence[float]) -> str:
    """Both differences of two colours, and what a table calls the first, in one line.

    Examples
    --------
    >>> print(difference_words((62.1, 4.5, 18.0), (60.9, 5.1, 20.4)))
    CIEDE2000 1.68, CIE76 2.75 (small by its table)
    """
    plain = delta_e_76(one, other)
    return f"CIEDE2000 {delta_e_2000(one, other):.2f}, CIE76 {plain:.2f} ({class_of(plain)} by its table)"
