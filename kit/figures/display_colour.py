"""A measured colour as the screen or paper can show it: CIELAB to sRGB."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

#: White of the colorimetric illuminant D65 in XYZ, 2 degree observer, Y = 1 (from its chromaticity 0.3127, 0.3290).
D65 = (0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290)
#: XYZ to linear sRGB (IEC 61966-2-1:1999, four digits).
_TO_RGB = ((3.2406, -1.5372, -0.4986), (-0.9689, 1.8758, 0.0415), (0.0557, -0.2040, 1.0570))
#: A channel may lie this far beyond what a screen shows before the colour counts as clipped; rounding alone makes less.
_SLACK = 0.002

OUT_OF_GAMUT = "outside what a screen can show; the nearest edge is drawn"
ONLY_A_GUIDE = "L*, a*, b* are taken to be for D65; a patch on a screen is a guide to the eye, not a measurement."


@dataclass(frozen=True, slots=True)
class Patch:
    """A colour to draw: ``hexadecimal`` such as "#d9c28a", and whether it had to be ``clipped`` to be shown."""

    hexadecimal: str
    clipped: bool


def patch_of(lab: Sequence[float]) -> Patch:
    """The sRGB colour of L*, a*, b* under D65, each channel cut off where a screen ends.

    References
    ----------
    .. [1] CIE 15:2004, Colorimetry, 8.2.1 (CIELAB); IEC 61966-2-1:1999 (sRGB).

    Examples
    --------
    >>> patch_of((100, 0, 0)), patch_of((0, 0, 0)).hexadecimal
    (Patch(hexadecimal='#ffffff', clipped=False), '#000000')
    >>> patch_of((50, 120, -120)).clipped
    True
    """
    lightness, a, b = lab
    middle = (lightness + 16) / 116
    xyz = [white * _back(part) for white, part in zip(D65, (middle + a / 500, middle, middle - b / 200), strict=True)]
    linear = [sum(weight * part for weight, part in zip(row, xyz, strict=True)) for row in _TO_RGB]
    clipped = any(not -_SLACK <= part <= 1 + _SLACK for part in linear)
    channels = (round(255 * _encoded(min(max(part, 0.0), 1.0))) for part in linear)
    return Patch("#" + "".join(f"{channel:02x}" for channel in channels), clipped)


def _back(part: float) -> float:
    """The inverse of CIELAB's cube root with its straight foot."""
    return part**3 if part > 6 / 29 else 3 * (6 / 29) ** 2 * (part - 4 / 29)


def _encoded(part: float) -> float:
    return 12.92 * part if part <= 0.0031308 else 1.055 * part ** (1 / 2.4) - 0.055
