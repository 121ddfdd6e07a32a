"""Names of files: one made of a title, one that a person typed, and one that is free.

The names that the kit makes hold on every system, so that a folder can be carried from one computer to another.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

from kit.errors import EntryError

#: How long a name that the kit makes may be, and one that is typed: a disk takes 255 bytes, and while a file is saved
#: a longer name stands beside it. [bytes]
MADE, TYPED = 150, 240
#: Names that Windows keeps for its devices, with any ending
#: (learn.microsoft.com/windows/win32/fileio/naming-a-file).
_DEVICES = re.compile(r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])", re.IGNORECASE)
_NOWHERE = '<>:"|?*\\'


def file_stem(*parts: str) -> str:
    """A file name without its ending for a title, or for a title, a lot and so on: letters, digits and underscores.

    Examples
    --------
    >>> file_stem("After-swim: body shake!")
    'after_swim_body_shake'
    >>> file_stem("Body shake", "TL-07")
    'body_shake_tl_07'
    >>> file_stem("Con")
    'con_'
    """
    stem = "_".join(map(_stem, parts)) or "formula"
    stem = stem.encode()[:MADE].decode(errors="ignore").rstrip("_")
    return f"{stem}_" if _DEVICES.fullmatch(stem) else stem


def _stem(part: str) -> str:
    words = "".join(letter if letter.isalnum() else " " for letter in part.casefold()).split()
    return "_".join(words)[:60].rstrip("_") or "formula"


def typed_path(text: str, ending: str = "") -> Path:
    """The path of a file that a person named, with the usual ending where it has none.

    Raises
    ------
    EntryError
        It cannot be the name of a file, or of a new one that other computers could open too.
    """
    name = text.strip()
    path = Path(name if Path(name).suffix else f"{name}{ending}")
    if fault := why_no_name(path):
        msg = f"{shown(name)} cannot be the name of a file: {fault}."
        raise EntryError(msg)
    return path


def why_no_name(path: Path) -> str:
    """Why this cannot be the path of a file, and what to do; empty where it can.

    A file that is there may be called what it likes; only a new one is held to the names of every system.
    """
    return _cannot_be(path) or ("" if path.exists() else _not_everywhere(path.name))


def _cannot_be(path: Path) -> str:
    """Why no system takes it, or this disk does not."""
    try:
        whole, name = os.fsencode(path), os.fsencode(path.name)
    except UnicodeEncodeError:
        return "it holds half of a sign. Type it again"
    if b"\0" in whole:
        return "it holds the sign NUL. Type it again"
    return "it is too long. Choose a shorter one" if len(name) > TYPED else ""


def _not_everywhere(name: str) -> str:
    """Why some system would not take it."""
    bad = " ".join(sign for sign in _NOWHERE if sign in name)
    device = name.partition(".")[0].strip()
    ends = name.strip(".") and name[-1] in " ."
    hidden = any(ord(sign) < 32 or ord(sign) == 127 for sign in name)
    faults = {
        "it holds a sign that cannot be seen. Type it again": hidden,
        f"other computers take no {bad} in a name. Leave it out": bad,
        f"Windows keeps {device} for a device. Choose another": _DEVICES.fullmatch(device),
        "other computers drop a space or a point at its end. Leave it out": ends,
    }
    return next((fault for fault, holds in faults.items() if holds), "")


def shown(name: str) -> str:
    """A name as a sentence can hold it: cut where it is long, and what cannot be seen written out."""
    short = name if len(name) <= 60 else f"{name[:40]}…"
    return "".join(
        sign if sign.isprintable() else sign.encode("unicode_escape", "surrogatepass").decode() for sign in short
    )


def beside(path: Path) -> str:
    """Where a file lies, in words, from the notebook.

    Examples
    --------
    >>> beside(Path("prices.csv"))
    'beside this notebook'
    >>> beside(Path("papers/card.html"))
    'in the folder papers'
    """
    here, folder = Path.cwd(), Path(os.path.abspath(path)).parent  # noqa: PTH100  # links are left as they are
    if folder == here:
        return "beside this notebook"
    return f"in the folder {folder.relative_to(here) if folder.is_relative_to(here) else folder}"


def free_name(path: Path) -> Path:
    """The next name that no file has: shake_2.toml, autumn_2.plan.toml."""
    number = 2
    while (free := numbered(path, number)).exists():
        number += 1
    return free


def numbered(path: Path, number: int) -> Path:
    """A path with a number behind its name."""
    stem, dot, ending = path.name.partition(".")
    return path.with_name(f"{stem}_{number}{dot}{ending}")
