"""A picture's file as it is looked at: upright and in sRGB, checked to its end, and held only as long as there is room.

Pictures come from outside, so whatever a decoder stumbles over in them becomes one sentence.
"""

from __future__ import annotations

import io
import threading
import warnings
from collections import OrderedDict
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.stability.photos.kept_parts import PNG, kept_parts

if TYPE_CHECKING:
    from PIL.Image import Image

#: The largest picture: four times what a telephone takes. [pixels]
MOST_PIXELS = 64_000_000
#: What decoded pictures may take up together between two looks; pillow holds a pixel in four. One that is larger is
#: decoded anew for each look. [bytes]
MOST_HELD = 2 * MOST_PIXELS


@dataclass(frozen=True, slots=True)
class Upright:
    """A picture as it is looked at.

    Attributes
    ----------
    image
        In sRGB, as a camera held it.
    converted
        Whether a profile of its own was turned into sRGB.
    orientation
        How the file says that it is turned (Exif 2.32, tag 274), 1 to 8.
    """

    image: Image
    converted: bool
    orientation: int


class _Held:
    """The pictures that were looked at last, as many as :data:`MOST_HELD` has room for."""

    def __init__(self) -> None:
        self._pictures: OrderedDict[bytes, Upright] = OrderedDict()
        self._hands_off = threading.Lock()

    @property
    def room(self) -> int:
        """What they take up. [bytes]"""
        return sum(map(_bytes_of, self._pictures.values()))

    def get(self, content: bytes) -> Upright:
        """A picture, decoded now unless it is held."""
        key = sha256(content).digest()
        with self._hands_off:
            found = self._pictures.pop(key, None) or _decoded(content)
            self._pictures[key] = found
            while self.room > MOST_HELD:
                self._pictures.popitem(last=False)
        return found


_HELD = _Held()


def upright(content: bytes) -> Upright:
    """The picture of a JPEG or PNG file, read to its end.

    Raises
    ------
    EntryError
        It is no such picture, is damaged or cut short, or is too large.
    """
    return _HELD.get(content)


def _bytes_of(picture: Upright) -> int:
    return 4 * picture.image.width * picture.image.height


def _decoded(content: bytes) -> Upright:
    from PIL import Image, ImageOps

    parts = kept_parts(content)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if content.startswith(PNG):
                Image.open(io.BytesIO(parts.content), formats=("PNG",)).verify()  # the checksum of each chunk
            opened = Image.open(io.BytesIO(parts.content), formats=("JPEG", "PNG"))
            if opened.width * opened.height <= MOST_PIXELS:
                turned = ImageOps.exif_transpose(opened)
                turned.load()
    except Exception as error:  # pillow raises a dozen kinds for a file that is no whole picture
        msg = "This is not a JPEG or PNG picture that can be read. Save it as JPEG and choose it again."
        if content.startswith((b"\xff\xd8\xff", PNG)):
            msg = "The picture is damaged or cut short and cannot be read to its end. Take it from the camera again."
        raise EntryError(msg) from error
    if opened.width * opened.height > MOST_PIXELS:
        most = MOST_PIXELS // 1_000_000
        msg = f"The picture has {opened.width} x {opened.height} pixels. Make it smaller than {most} million."
        raise EntryError(msg)
    if turned.mode.startswith("I"):
        turned = turned.point(lambda value: value / 256).convert("L")
    image, converted = _in_srgb(turned)
    return Upright(image, converted, parts.orientation)


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
                return _rgb(turned or image), True
        except (ImageCms.PyCMSError, OSError):  # a broken profile says nothing: take the file's values as sRGB
            return _rgb(image), False
    return _rgb(image), False


def _rgb(image: Image) -> Image:
    return image if image.mode == "RGB" else image.convert("RGB")
