"""The invented products of the Tern Lane Workshop that the notebooks work on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.errors import UnknownNameError
from kit.formula.files import read_formula
from kit.resources import resource_folder

if TYPE_CHECKING:
    from kit.formula.model import Formula


def demo_names() -> list[str]:
    """The names that :func:`demo` knows."""
    tables = (resource_folder("data") / "demo").glob("*.toml")
    return sorted(path.stem for path in tables if not path.stem.endswith("source"))


def demo(name: str = "after_swim_body_shake") -> Formula:
    """An invented formula of the Tern Lane Workshop.

    Raises
    ------
    UnknownNameError
        There is none of that name.

    Examples
    --------
    >>> demo().title
    'After-swim body shake'
    """
    if name not in demo_names():
        msg = f"There is no demo formula {name!r}. Write one of {', '.join(demo_names())}."
        raise UnknownNameError(msg)
    return read_formula(resource_folder("data") / "demo" / f"{name}.toml")
