"""A bottle as a maker measures it: a ready-made one, a cylinder, a box, or a table of heights and volumes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.errors import EntryError
from kit.inputs import Amount, Choice, Text, asked
from kit.layers.bottle import Bottle, bundled_bottles
from kit.numbers import read_number
from kit.rounding import all_digits

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

SHAPES = ("ready-made", "cylinder", "box", "measured")
READY = bundled_bottles()


def _shaped(shape: str) -> Callable[[Mapping[str, Any]], bool]:
    """Whether an input belongs to a bottle of this shape."""
    return lambda values: bool(values["shape"] == shape)


def _length(words: str, default: float, shape: str, most: float = 300) -> float:
    """An inner measure. [mm]"""
    measure: float = asked(words, Amount("mm", 5, most), default, unit="mm", applies=_shaped(shape))
    return measure


@dataclass(frozen=True, slots=True)
class BottleMeasures:
    """What is asked about a bottle. [mm, mL]"""

    shape: str = asked("Shape", Choice({shape: shape for shape in SHAPES}), SHAPES[0])
    choice: str = asked("Bottle", Choice({name: name for name in READY}), next(iter(READY)), applies=_shaped(SHAPES[0]))
    diameter: float = _length("Inner diameter", 44.0, "cylinder")
    volume: float = asked(
        "Brimful volume",
        Amount("mL", 1, 5000),
        120.0,
        unit="mL",
        help="Filled to the brim.",
        applies=_shaped("cylinder"),
    )
    width: float = _length("Inner width", 50.0, "box")
    depth: float = _length("Inner depth", 30.0, "box")
    height: float = _length("Inner height", 80.0, "box", 500)
    rows: str = asked(
        "Measured",
        Text("lines"),
        example="20 31\n40 63\n60 92",
        help="Height in mm and volume in mL, one pair a line.",
        applies=_shaped("measured"),
    )

    @property
    def bottle(self) -> Bottle:
        """The bottle.

        Raises
        ------
        KitError
            A measured table that cannot be read or does not rise.
        """
        if self.shape == "cylinder":
            wide, holds = f"{all_digits(self.diameter)} mm", f"{all_digits(self.volume)} mL"
            return Bottle.cylinder(wide, holds, name="your cylinder")
        if self.shape == "box":
            width, depth, height = (f"{all_digits(size)} mm" for size in (self.width, self.depth, self.height))
            return Bottle.box(width, depth, height, name="your box")
        if self.shape == "measured":
            return Bottle.measured(measured_rows(self.rows), name="your measured bottle")
        return READY[self.choice]


def measured_rows(text: str) -> list[tuple[str, str]]:
    """The lines of a measured table as pairs of height and volume.

    Raises
    ------
    EntryError
        A line that does not hold two numbers; it is named.
    """
    rows = []
    for number, line in enumerate(text.splitlines(), start=1):
        cells = line.replace(";", " ").replace("\t", " ").replace("mm", " ").replace("mL", " ").split()
        if not cells:
            continue
        if len(cells) != 2:
            msg = f"Line {number} of the measured table, {line.strip()!r}, must hold a height in mm and a volume in mL."
            raise EntryError(msg)
        rows.append((f"{all_digits(read_number(cells[0]))} mm", f"{all_digits(read_number(cells[1]))} mL"))
    return rows
