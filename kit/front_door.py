"""The front door of a room: its public names, listed in the ``.pyi`` beside it, each fetched when it is first used."""

from __future__ import annotations

import re
import sys
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


def homes_in(stub: str) -> dict[str, str]:
    """Public name → the file in which it stands, as a ``.pyi`` says."""
    offered = Path(stub).read_text(encoding="utf-8")
    return {name: home for home, name in re.findall(r"^from (\.\S+) import (\w+) as", offered, re.MULTILINE)}


def front_door(package: str, file: str) -> tuple[Callable[[str], object], Callable[[], list[str]], tuple[str, ...]]:
    """What a room needs as its ``__getattr__``, ``__dir__`` and ``__all__``.

    Each public name is one line of the ``.pyi``: ``from .window import window as window``. A function that bears the
    name of its file stays the function, also after the file has been imported by its full name.
    """
    homes = homes_in(f"{file}i")

    def fetch(name: str) -> object:
        if name not in homes:
            msg = f"{package} has no name {name!r}."
            raise AttributeError(msg)
        found = getattr(import_module(homes[name], package), name)
        setattr(sys.modules[package], name, found)
        return found

    class Room(ModuleType):
        """A module in which a file cannot take the place of the function of its name."""

        def __setattr__(self, name: str, value: object) -> None:
            is_file = name in homes and isinstance(value, ModuleType)
            super().__setattr__(name, getattr(value, name) if is_file else value)

    sys.modules[package].__class__ = Room
    return fetch, lambda: sorted(homes), tuple(sorted(homes))
