"""What came with the tries of a learner: her formulas and pictures, to be looked at by whoever marks."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import PurePath
from typing import TYPE_CHECKING, Literal

from kit.course.pictures import small_picture
from kit.errors import KitError
from kit.file_names import file_stem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.course.hand_in import HandIn

#: The folder beside the class table into which it is put.
FOLDER = "handed_in"


@dataclass(frozen=True, slots=True)
class Enclosed:
    """A formula or a picture that was handed in.

    Attributes
    ----------
    name
        Of its file, as the learner called it.
    file
        The name under which it is put beside the class table; "" where it is not to be opened.
    content
        Its bytes, as they came.
    small
        A picture made small (JPEG).
    fault
        Why a picture is not shown.
    """

    kind: Literal["formula", "picture"]
    name: str
    file: str
    content: bytes = b""
    small: bytes = b""
    fault: str = ""


def enclosed(given: HandIn, file: str) -> tuple[Enclosed, ...]:
    """All that came with the tries of a file of this name, the pictures looked at again."""
    return tuple(_all(given, _stem(file)))


def _all(given: HandIn, stem: str) -> Iterator[Enclosed]:
    for at, (name, text) in enumerate(given.formulas.items(), start=1):
        yield Enclosed("formula", name, f"{stem}_formula_{at}.toml", text.encode("utf-8", "replace"))
    for at, picture in enumerate(given.pictures, start=1):
        ending = "png" if picture.content.startswith(b"\x89PNG") else "jpg"
        try:
            small = small_picture(picture)
        except KitError as error:
            yield Enclosed("picture", picture.name, "", fault=str(error))
        else:
            yield Enclosed("picture", picture.name, f"{stem}_{at}.{ending}", picture.content, small)


def _stem(file: str) -> str:
    """A name for what came with a file; two files never share one."""
    stem = PurePath(file).stem
    plain = file_stem(stem)
    return plain if plain == stem else f"{plain}_{hashlib.sha256(file.encode()).hexdigest()[:8]}"
