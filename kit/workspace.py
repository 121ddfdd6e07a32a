"""A maker's own folder: the notebooks and the demo, laid there to be changed at will.

The kit's own copies stay as they are. Laying never overwrites: a file that a maker has changed is kept.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from kit.errors import StoreError
from kit.resources import PACKAGE, resource_folder

#: The notebook that opens first.
START = "00_start.ipynb"

#: The files of a product's own folder that make it one; see :mod:`kit.product_folder`.
FORMULA, NOTEBOOK = "formula.toml", "product.ipynb"

_OWN = ("kit", "data", "notebooks", "tests")
_DEMO_KINDS = (".csv", ".toml")


@dataclass(frozen=True, slots=True)
class Laid:
    """What was put into a folder, and what was left as the maker had it (paths within the folder)."""

    folder: Path
    new: tuple[str, ...]
    kept: tuple[str, ...]

    def __str__(self) -> str:
        files = "1 new file" if len(self.new) == 1 else f"{len(self.new)} new files"
        head = f"{self.folder} holds the notebooks and the demo ({files})."
        if not self.kept:
            return head
        return (
            f"{head}\nKept as you left them: {', '.join(self.kept)}. "
            "To have the kit's own copy again, rename yours and run the same command."
        )


def is_product_folder(folder: Path) -> bool:
    """Whether a folder is that of one product."""
    return (folder / NOTEBOOK).is_file() and (folder / FORMULA).is_file()


def products_in(folder: Path) -> list[Path]:
    """The product folders that lie in a folder, by the alphabet."""
    return sorted(child for child in folder.iterdir() if is_product_folder(child)) if folder.is_dir() else []


def taken_in_hand(folder: Path | None, clone: Path | None) -> tuple[Path, str, str]:
    """The folder to work in, its notebook that opens first, and what is to be said of it.

    A product's folder is opened as it is; into any other the lessons are laid.
    """
    if folder is not None and is_product_folder(folder):
        whole = folder.resolve()
        return whole, NOTEBOOK, f"{whole} holds a product of yours."
    laid = lay(folder or default_folder(clone))
    return laid.folder, START, str(laid)


def default_folder(clone: Path | None) -> Path:
    """``workspace`` in a clone, otherwise ``shakewell`` in the current folder."""
    return clone / "workspace" if clone is not None else Path.cwd() / "shakewell"


def lay(folder: Path) -> Laid:
    """Lay the notebooks and the demo data into ``folder``, which is made where it does not exist.

    Raises
    ------
    StoreError
        The folder is a file, belongs to the kit itself, or cannot be written to.
    """
    folder = folder.expanduser().resolve()
    if folder == PACKAGE.parent or any(PACKAGE.parent / own in (folder, *folder.parents) for own in _OWN):
        msg = f"{folder} belongs to the kit itself. Name another folder, for example '{Path.home() / 'shakewell'}'."
        raise StoreError(msg)
    if folder.exists() and not folder.is_dir():
        msg = f"{folder} is a file, not a folder. Name another folder."
        raise StoreError(msg)
    new: list[str] = []
    kept: list[str] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, source in _files().items():
            target = folder / name
            if not target.exists():
                _copy(source, target)
                new.append(name)
            elif target.read_bytes() != source.read_bytes():
                kept.append(name)
    except OSError as error:
        msg = f"The notebooks could not be laid into {folder}: {error.strerror or error}. Name another folder."
        raise StoreError(msg) from error
    return Laid(folder, tuple(new), tuple(kept))


def _files() -> dict[str, Path]:
    """Name within a maker's folder -> the kit's own file."""
    lessons = sorted(resource_folder("notebooks").glob("*.ipynb"))
    demo = sorted(path for path in (resource_folder("data") / "demo").iterdir() if path.suffix in _DEMO_KINDS)
    return {path.name: path for path in lessons} | {f"demo/{path.name}": path for path in demo}


def _copy(source: Path, target: Path) -> None:
    """Copy the contents in one step, so that a stopped copy never passes for a maker's own file."""
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_name(f".{target.name}.{os.getpid()}.part")  # its own, for another start may lay the same folder
    part.write_bytes(source.read_bytes())
    part.replace(target)
