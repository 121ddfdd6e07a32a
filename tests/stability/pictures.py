"""Small pictures for the tests, drawn by pillow."""

from __future__ import annotations

import io

from PIL import Image


def picture(kind: str = "JPEG", size: tuple[int, int] = (40, 30), colour: str = "#c9a24b") -> bytes:
    """A picture of one colour, as the bytes of a file."""
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, kind)
    return out.getvalue()
