"""Pictures that are handed in: small, without the place where they were taken, and looked at again by whoever marks."""

from __future__ import annotations

import base64
import binascii
import io
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.errors import EntryError
from kit.stability.photos.decoding import upright
from kit.stability.photos.files import look_at
from kit.stability.photos.kept_parts import kept_parts
from kit.visible_text import brief

if TYPE_CHECKING:
    from PIL.Image import Image

#: So many may be handed in, each so large, and so long at its longer side. [bytes] [px]
MOST_PICTURES, MOST_PICTURE_BYTES, MOST_SIDE = 6, 250_000, 1000
#: How long the longer side of the small one is that stands in the class table. [px]
SMALL_SIDE = 200
#: The directory of a picture's notes that says where it was taken (Exif 2.32, 4.6.3).
PLACE_TAG = 0x8825
#: Of a picture that must become smaller: how well it is kept, and how long its longer side is; the first that fits.
_STEPS = ((82, MOST_SIDE), (70, MOST_SIDE), (60, 800), (50, 600))


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture that is handed in: the name of its file, and its bytes (JPEG or PNG)."""

    name: str
    content: bytes


def picture_to_hand_in(name: str, content: bytes) -> Picture:
    """A photo or a chart as it is handed in: only what makes the picture, and made smaller where it must be.

    Raises
    ------
    EntryError
        It is no JPEG or PNG picture, is damaged or far too large.
    """
    shown = brief(name)
    look = look_at(content, shown)
    parts = kept_parts(content)
    image = upright(content).image
    if len(parts.content) <= MOST_PICTURE_BYTES and max(look.width, look.height) <= MOST_SIDE:
        return Picture(name, parts.content)
    for quality, side in _STEPS:
        smaller = _smaller(image, side, quality)
        if len(smaller) <= MOST_PICTURE_BYTES:
            break
    return Picture(name, smaller)


def small_picture(picture: Picture) -> bytes:
    """A picture that was handed in, read to its end and made small (JPEG).

    Raises
    ------
    EntryError
        It is not as this kit hands pictures in: no picture, damaged, too large, or with the place in it.
    """
    from PIL import Image, ImageOps

    shown = brief(picture.name)
    look = look_at(picture.content, shown)
    if len(picture.content) > MOST_PICTURE_BYTES or max(look.width, look.height) > MOST_SIDE:
        msg = f"{shown} is larger than a picture that the kit hands in: {look.width} x {look.height} pixels."
        raise EntryError(msg)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            opened = Image.open(io.BytesIO(picture.content), formats=("JPEG", "PNG"))
            says_where = bool(opened.getexif().get_ifd(PLACE_TAG))
            part = SMALL_SIDE / max(opened.size)  # a JPEG is read to its end, but in fewer pixels
            opened.draft("RGB", (int(opened.width * part) or 1, int(opened.height * part) or 1))
            small = _smaller(ImageOps.exif_transpose(opened), SMALL_SIDE, 70)
    except Exception as error:  # pillow raises a dozen kinds for a file that is no whole picture
        msg = f"{shown} is damaged and cannot be shown. Ask for it anew."
        raise EntryError(msg) from error
    if says_where:
        msg = f"{shown} holds the place where it was taken, which the kit leaves out. It is not shown."
        raise EntryError(msg)
    return small


def as_kept(picture: Picture) -> dict[str, str]:
    """A picture as a file of JSON holds it."""
    return {"name": picture.name, "data": base64.b64encode(picture.content).decode()}


def as_read(kept: Any) -> tuple[Picture, ...]:
    """The pictures of a file; a ValueError, TypeError or KeyError where one is not what it must be."""
    if len(kept) > MOST_PICTURES:
        msg = f"{len(kept)} pictures, and {MOST_PICTURES} may be handed in"
        raise ValueError(msg)
    return tuple(Picture(str(one["name"]), _bytes(one["data"])) for one in kept)


def _bytes(text: str) -> bytes:
    try:
        return base64.b64decode(text, validate=True)
    except binascii.Error as error:
        raise ValueError(text[:40]) from error


def _smaller(image: Image, side: int, quality: int) -> bytes:
    smaller = image.convert("RGBA") if image.mode in ("LA", "PA", "P", "RGBA") else image.convert("RGB")
    smaller.thumbnail((side, side))
    if smaller.mode == "RGBA":
        from PIL import Image

        smaller = Image.alpha_composite(Image.new("RGBA", smaller.size, "white"), smaller).convert("RGB")
    written = io.BytesIO()
    smaller.save(written, "JPEG", quality=quality)
    return written.getvalue()
