"""A small picture of a photograph, and the colour of a patch of it as L*, a* and b*.

A photograph is no colour meter. The figures can be compared only between pictures of the same camera in the same
light, best with a grey card in each; :data:`PHOTO_CAUTION` says so wherever a colour is shown.

Positions are pixels of the upright picture, counted from its upper left corner: x, y, width, height.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.stability.photos.decoding import upright

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PIL.Image import Image

    Patch = tuple[int, int, int, int]
    Lab = tuple[float, float, float]

#: The longest side of a picture that is shown. [pixels]
SHOWN = 420


def centre_patch(width: int, height: int, share: float = 0.2) -> Patch:
    """A patch in the middle of a picture, its sides ``share`` of the picture's."""
    wide, high = max(1, round(width * share)), max(1, round(height * share))
    return (width - wide) // 2, (height - high) // 2, wide, high


def picture_size(content: bytes) -> tuple[int, int]:
    """Width and height of the upright picture. [pixels]"""
    return upright(content).image.size


def file_patch(content: bytes, patch: Patch) -> Patch:
    """A patch of the upright picture, in the pixels of the file as the camera turned it (Exif, tag 0x0112)."""
    return _turned(patch, picture_size(content), upright(content).orientation, to_file=True)


def upright_patch(content: bytes, patch: Patch) -> Patch:
    """A patch given in the pixels of the file, in those of the upright picture: undoes :func:`file_patch`."""
    return _turned(patch, picture_size(content), upright(content).orientation, to_file=False)


class Png(bytes):
    """A picture as a PNG file holds it; a notebook shows it."""

    def _repr_png_(self) -> bytes:
        return bytes(self)


def thumbnail(content: bytes, patch: Patch | None = None, card: Patch | None = None, longest: int = SHOWN) -> Png:
    """A small upright PNG of a picture with the patch and the card drawn in. A picture is never made larger."""
    from PIL import ImageDraw

    image = upright(content).image
    scale = min(1.0, longest / max(image.size))
    small = image.resize((max(1, round(image.width * scale)), max(1, round(image.height * scale))))
    draw = ImageDraw.Draw(small)
    for place, letter in ((patch, "patch"), (card, "card")):
        if place is not None:
            x, y, wide, high = (round(one * scale) for one in place)
            for inset, colour in ((0, "black"), (1, "white")):
                left, top = x - 1 + inset, y - 1 + inset
                right, bottom = max(left, x + wide - inset), max(top, y + high - inset)
                draw.rectangle((left, top, right, bottom), outline=colour)
            draw.text((x + 3, max(0, y - 13)), letter, fill="white", stroke_width=2, stroke_fill="black")
    out = io.BytesIO()
    small.save(out, format="PNG")
    return Png(out.getvalue())


def _turned(patch: Patch, size: tuple[int, int], orientation: int, *, to_file: bool) -> Patch:
    """A patch mirrored and its sides swapped as an orientation says. ``size`` is that of the upright picture."""
    x, y, wide, high = patch
    swapped = orientation in (5, 6, 7, 8)
    if swapped and not to_file:
        x, y, wide, high = y, x, high, wide
    if orientation in (2, 3, 6, 7):
        x = size[0] - x - wide
    if orientation in (3, 4, 7, 8):
        y = size[1] - y - high
    return (y, x, high, wide) if swapped and to_file else (x, y, wide, high)


#: What is said wherever a colour read from a photograph is shown.
PHOTO_CAUTION = (
    "Read from a photograph: the camera, the light and its white balance are in these figures. Compare them only with "
    "pictures taken by the same camera in the same light, with a grey card in the picture. A colour meter does better."
)
#: The share of the light that the usual grey card sends back, 18 % (common practice; read the card's own sheet).
GREY_CARD = 0.18
_FEWEST_PIXELS = 100
#: The largest standard deviation of the values of an even patch. [of 255]
_EVEN = 20
#: From the linear red, green and blue of sRGB to X, Y, Z, with D65 as white: IEC 61966-2-1:1999, as printed there.
_TO_XYZ = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))


@dataclass(frozen=True, slots=True)
class PatchColour:
    """What was read from a patch: L*, a*, b* (D65, 2°), the mean of its pixels [0 to 255], and what is odd about it."""

    lab: Lab
    rgb: tuple[float, float, float]
    corrected: bool
    findings: tuple[Finding, ...]

    @property
    def text(self) -> str:
        """The colour as it is typed into a reading."""
        return " ".join(f"{one + 0.0:.1f}" for one in (round(part, 1) for part in self.lab))


def linear(value: float) -> float:
    """The light of one channel of sRGB, 0 to 1, from its value in the file, 0 to 1 (IEC 61966-2-1:1999)."""
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def lab_of(light: Sequence[float]) -> Lab:
    """L*, a* and b* of the linear red, green and blue of sRGB, each 0 to 1.

    The white is D65 for the 2° observer, that of sRGB itself; nothing is turned to another white such as D50.

    References
    ----------
    .. [1] IEC 61966-2-1:1999, Colour management - Default RGB colour space - sRGB.
    .. [2] CIE 15:2018, Colorimetry: the CIE 1976 (L*a*b*) colour space.

    Examples
    --------
    >>> lab_of((1, 1, 1))
    (100.0, 0.0, 0.0)
    """
    xyz = [sum(part * one for part, one in zip(row, light, strict=True)) / sum(row) for row in _TO_XYZ]
    x, y, z = (_cube_root(one) for one in xyz)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _cube_root(share: float) -> float:
    delta = 6 / 29
    return float(share ** (1 / 3)) if share > delta**3 else share / (3 * delta**2) + 4 / 29


def patch_colour(
    content: bytes, patch: Patch, *, card: Patch | None = None, card_reflects: float = GREY_CARD
) -> PatchColour:
    """The mean colour of a patch, averaged in light rather than in file values.

    Parameters
    ----------
    content
        A JPEG or PNG file.
    card
        Where a grey or white card lies in the picture. Each channel is then scaled so that the card becomes neutral
        and sends back ``card_reflects`` of the light, 0 to 1 (a von Kries scaling in the linear values of sRGB).

    Raises
    ------
    EntryError
        It is not such a picture.
    RangeError
        A patch does not lie within the picture, or the card is too dark to correct by.
    """
    picture = upright(content)
    image = picture.image
    counts = _histogram(image, patch, "The patch")
    light = [_mean_light(channel) for channel in counts]
    of_card = None if card is None else _histogram(image, card, "The card")
    if of_card is not None:
        light = _by_card(light, of_card, card_reflects)
    rgb = tuple(sum(value * count for value, count in enumerate(channel)) / sum(channel) for channel in counts)
    findings = _odd(counts, light)
    if of_card is not None and (spread := _widest(of_card)) > _EVEN:
        words = f"The card is uneven (its values spread by {spread:.0f} of 255). Let its patch lie wholly on the card."
        findings.append(Finding("caution", words, Place(field="card")))
    if picture.converted:
        words = "The picture's own colour profile was turned into sRGB before the patch was read."
        findings.append(Finding("note", words, Place(field="patch")))
    if card is None:
        words = "There is no card to correct by, so the colour of the lamp is in these figures."
        findings.append(Finding("note", words, Place(field="card")))
    mean = (rgb[0], rgb[1], rgb[2])
    return PatchColour(lab_of(light), mean, card is not None, tuple(findings))


def _histogram(image: Image, patch: Patch, what: str) -> list[list[int]]:
    x, y, wide, high = patch
    if min(x, y) < 0 or min(wide, high) < 1 or x + wide > image.width or y + high > image.height:
        msg = f"{what} does not lie within the picture, which is {image.width} wide and {image.height} high."
        raise RangeError(msg)
    counts = image.crop((x, y, x + wide, y + high)).histogram()
    return [counts[start : start + 256] for start in (0, 256, 512)]


def _mean_light(channel: Sequence[int]) -> float:
    return sum(linear(value / 255) * count for value, count in enumerate(channel)) / sum(channel)


def _by_card(light: Sequence[float], card: list[list[int]], reflects: float) -> list[float]:
    if not 0 < reflects <= 1:
        msg = f"The card sends back {reflects:g} of the light. Write a share above 0 and up to 1, such as 0.18."
        raise RangeError(msg)
    shares = [_mean_light(channel) for channel in card]
    if min(shares) < 0.005:
        msg = "The card is too dark in this picture to correct by. Choose its patch again, or take a brighter picture."
        raise RangeError(msg)
    if any(channel[255] > 0.01 * sum(channel) for channel in card):
        msg = "The card is overexposed in this picture, so nothing can be corrected by it. Take a darker picture."
        raise RangeError(msg)
    return [one * reflects / share for one, share in zip(light, shares, strict=True)]


def _odd(counts: list[list[int]], light: Sequence[float]) -> list[Finding]:
    place, pixels, found = Place(field="patch"), sum(counts[0]), []
    if pixels < _FEWEST_PIXELS:
        words = f"The patch has only {pixels} pixels. Choose a larger one, 100 at least."
        found.append(Finding("caution", words, place))
    for value, word in ((255, "overexposed"), (0, "black")):
        if any(channel[value] > 0.01 * pixels for channel in counts):
            words = (
                f"More than 1 % of the patch is {word} in a channel, so its colour is cut off. Take the picture again."
            )
            found.append(Finding("caution", words, place))
    spread = _widest(counts)
    if spread > _EVEN:
        words = (
            f"The patch is uneven (its values spread by {spread:.0f} of 255). Keep glints, edges and text out of it."
        )
        found.append(Finding("caution", words, place))
    if max(light) > 1:
        words = "After the correction a channel lies above full light. Is the right card chosen?"
        found.append(Finding("caution", words, Place(field="card")))
    return found


def _widest(counts: list[list[int]]) -> float:
    return max(_spread(channel) for channel in counts)


def _spread(channel: Sequence[int]) -> float:
    total = sum(channel)
    mean = sum(value * count for value, count in enumerate(channel)) / total
    return float((sum((value - mean) ** 2 * count for value, count in enumerate(channel)) / total) ** 0.5)
