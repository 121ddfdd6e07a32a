"""Formulation maths for small-batch hair and skin products.

The names below are what a notebook needs: ``from kit import Formula, open_bench``. Each is fetched from its
room when it is first used, so ``import kit`` itself costs next to nothing.
"""

from __future__ import annotations

import sys

# Jupyter checks its files with jsonschema, which imports an optional checker of international web addresses,
# rfc3987_syntax, wherever it is installed. That import builds some 35 grammars: about one second, and up to
# seven inside a running kernel, before the first picture shows. No Jupyter file needs it. An entry of None
# makes jsonschema take it as not installed; it works only before jsonschema is imported, so it stands first.
sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]

if sys.platform == "emscripten":  # a page in a browser, whose kernel lacks things
    from kit.page_kernel import begin

    begin()

from kit.front_door import front_door, homes_in  # noqa: E402

#: The rooms, each with public names of its own: ``kit.bench.alligate``, ``dir(kit.bench)``.
_ROOMS = (
    "bench", "blends", "course", "figures", "formula", "in_use", "label", "layers", "library", "liquids", "papers",
    "product", "stability",
)  # fmt: skip

_fetch, _, __all__ = front_door(__name__, __file__)


def __getattr__(name: str) -> object:
    """Fetch a public name from its room, or a room or file itself, on first use."""
    from importlib import import_module
    from importlib.util import find_spec

    if name in __all__:
        return _fetch(name)
    if not name.startswith("_") and find_spec(f"kit.{name}"):
        return import_module(f"kit.{name}")
    raise AttributeError(_unknown(name))


def __dir__() -> list[str]:
    return sorted({*__all__, *_ROOMS})


def _unknown(name: str) -> str:
    from difflib import get_close_matches

    sentence = f"kit has no name {name!r}."
    stubs = {room: f"{__path__[0]}/{room}/__init__.pyi" for room in reversed(_ROOMS)}
    homes = {public.lower(): (public, room) for room, stub in stubs.items() for public in homes_in(stub)}
    homes |= {public.lower(): (public, "") for public in (*_ROOMS, *__all__)}
    near = get_close_matches(name.lower(), homes, n=1)
    if not near:
        return sentence
    public, room = homes[near[0]]
    if not room:
        return f"{sentence} Did you mean {public!r}?"
    if public == name:
        return f"{sentence} It lives in kit.{room}: write from kit.{room} import {name}."
    return f"{sentence} Did you mean {public!r}, which lives in kit.{room}?"
