"""A photograph as it is looked at: upright, in sRGB, small, with the patches drawn in.

Positions are pixels of the upright picture, counted from its upper left corner: x, y, width, height.
"""

from __future__ import annotations

import io
import warnings
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.errors import EntryError

if TYPE_CHECKING:
    from PIL.Image import Image

    Patch = tuple[int, int, int, int]

#: The longest side of a picture that is shown. [pixels]
SHOWN = 420
_MOST_PIXELS = 120_000_000
_ORIENTATION = 0x0112  # Exif 2.32, tag 274


def centre_patch(width: int, height: int, share: float = 0.2) -> Patch:
    """A patch in the middle of a picture, its sides ``share`` of the picture's."""
    wide, high = max(1, round(width * share)), max(1, round(height * share))
    return (width - wide) // 2, (height - high) // 2, wide, high


def picture_size(content: bytes) -> tuple[int, int]:
    """Width and height of the upright picture. [pixels]"""
    return upright(content)[0].size


def file_patch(content: bytes, patch: Patch) -> Patch:
    """A patch of the upright picture, in the pixels of the file as the camera turned it (Exif, tag 0x0112)."""
    return _turned(patch, picture_size(content), _orientation(content), to_file=True)


def upright_patch(content: bytes, patch: Patch) -> Patch:
    """A patch given in the pixels of the file, in those of the upright picture: undoes :func:`file_patch`."""
    return _turned(patch, picture_size(content), _orientation(content), to_file=False)


def thumbnail(content: bytes, patch: Patch | None = None, card: Patch | None = None, longest: int = SHOWN) -> bytes:
    """A small upright PNG of a picture with the patch and the card drawn in. A picture is never made larger."""
    from PIL import ImageDraw

    image, _ = upright(content)
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
    return out.getvalue()


@lru_cache(maxsize=4)
def upright(content: bytes) -> tuple[Image, bool]:
    """The picture in sRGB as a camera held it, and whether a profile of its own was turned into sRGB."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            opened = Image.open(io.BytesIO(content), formats=("JPEG", "PNG"))
        if opened.width * opened.height > _MOST_PIXELS:
            msg = f"The picture has {opened.width} x {opened.height} pixels. Make it smaller than 120 million."
            raise EntryError(msg)
        upright = ImageOps.exif_transpose(opened)
        upright.load()
    except (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombError) as error:
        msg = "This is not a JPEG or PNG picture that can be read. Save it as JPEG and choose it again."
        raise EntryError(msg) from error
    if upright.mode.startswith("I"):
        upright = upright.point(lambda value: value / 256).convert("L")
    return _in_srgb(upright)


def _orientation(content: bytes) -> int:
    from PIL import Image

    with Image.open(io.BytesIO(content), formats=("JPEG", "PNG")) as opened:
        return int(opened.getexif().get(_ORIENTATION, 1))


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


def _in_srgb(image: Image) -> tuple[Image, bool]:
    from PIL import Image, ImageCms

    profile = image.info.get("icc_profile")
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        paper = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(paper, image.convert("RGBA")).convert("RGB")
    if profile and image.mode in ("RGB", "CMYK", "L"):
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            if "srgb" not in ImageCms.getProfileDescription(source).casefold():
                srgb = ImageCms.createProfile("sRGB")
                turned = ImageCms.profileToProfile(image, source, srgb, outputMode="RGB")
                return (turned or image).convert("RGB"), True
        except (ImageCms.PyCMSError, OSError):  # a broken profile says nothing: take the file's values as sRGB
            return image.convert("RGB"), False
    return image.convert("RGB"), False
