"""Systems of three liquids of which both layers were measured, and how straight their tie lines lie."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError, UnknownNameError
from kit.resources import load_table
from kit.soundness import refuse_odd_fields

if TYPE_CHECKING:
    from collections.abc import Sequence

Correlation = Literal["Hand", "Othmer-Tobias", "Bachman"]

CORRELATIONS: dict[Correlation, str] = {
    "Hand": "D. B. Hand, J. Phys. Chem. 34 (1930) 1961-2000",
    "Othmer-Tobias": "D. F. Othmer, P. E. Tobias, Ind. Eng. Chem. 34 (1942) 693-696",
    "Bachman": "I. Bachman, Ind. Eng. Chem. Anal. Ed. 12 (1940) 38-39",
}

#: The plait point is drawn on from so many tie lines, the last ones.
LAST = 3


@dataclass(frozen=True, slots=True)
class Composition:
    """What a layer or a whole holds of the three liquids; they add to 100. [% w/w]"""

    water: float
    shared: float
    oil: float

    def __post_init__(self) -> None:
        refuse_odd_fields(self)

    @classmethod
    def of(cls, water: float, shared: float, oil: float) -> Composition:
        """Three amounts in any unit of mass, as percents.

        Raises
        ------
        RangeError
            An amount is below 0 or none, or all are 0.

        Examples
        --------
        >>> Composition.of(1, 1, 2)
        Composition(water=25.0, shared=25.0, oil=50.0)
        """
        parts = (water, shared, oil)
        if not all(0 <= part < math.inf for part in parts) or not sum(parts) > 0:
            msg = (
                f"{water:g}, {shared:g} and {oil:g} are no amounts of three liquids. Give each as 0 or more, and at "
                "least one above 0."
            )
            raise RangeError(msg)
        whole = math.fsum(parts)
        return cls(*(100.0 * part / whole for part in parts))

    @property
    def parts(self) -> tuple[float, float, float]:
        """Water, shared liquid and oil. [% w/w]"""
        return (self.water, self.shared, self.oil)

    def toward(self, other: Composition, part: float) -> Composition:
        """The composition that lies this part of the way to another one, by mass. [0 to 1]"""
        return Composition(*((1.0 - part) * a + part * b for a, b in zip(self.parts, other.parts, strict=True)))


@dataclass(frozen=True, slots=True)
class TieLine:
    """The two layers that stand over one another at rest."""

    water_layer: Composition
    oil_layer: Composition

    @property
    def water_ratio(self) -> float:
        """Shared liquid over water in the water layer: Hand's x. [g/g]"""
        return self.water_layer.shared / self.water_layer.water

    @property
    def oil_ratio(self) -> float:
        """Shared liquid over oil in the oil layer: Hand's y. [g/g]"""
        return self.oil_layer.shared / self.oil_layer.oil

    def toward(self, other: TieLine, part: float) -> TieLine:
        """The tie line this part of the way to another one, each end along its own side. [0 to 1]"""
        return TieLine(self.water_layer.toward(other.water_layer, part), self.oil_layer.toward(other.oil_layer, part))


@dataclass(frozen=True, slots=True)
class StraightLine:
    """How straight tie lines lie in the coordinates of a correlation.

    Attributes
    ----------
    intercept, slope
        Of the line by least squares.
    r_squared
        1 where every tie line lies on it. [-]
    residual
        Root mean square of what is left, in the coordinate of the oil layer. [-]
    lines
        From how many tie lines.
    """

    name: Correlation
    intercept: float
    slope: float
    r_squared: float
    residual: float
    lines: int


@dataclass(frozen=True)
class TernarySystem:
    """Three liquids at one temperature: water, an oil, and one that is at home in both.

    Attributes
    ----------
    water, shared, oil
        INCI names, or chemical ones where the library has none.
    celsius
        [°C]
    lines
        Measured tie lines, those with least of the shared liquid first.
    curve
        Further points that are just one layer, in the order of the source.
    source
        Key of ``data/sources``.
    """

    key: str
    title: str
    water: str
    shared: str
    oil: str
    celsius: float
    lines: tuple[TieLine, ...]
    curve: tuple[Composition, ...] = ()
    source: str = ""
    note: str = ""

    @property
    def names(self) -> tuple[str, str, str]:
        """Water, shared liquid and oil."""
        return (self.water, self.shared, self.oil)

    def correlated(self, name: Correlation = "Hand") -> StraightLine:
        """How straight the tie lines lie.

        Parameters
        ----------
        name
            "Hand": ln(shared / oil) of the oil layer against ln(shared / water) of the water layer. "Othmer-Tobias":
            ln((1 - oil) / oil) against ln((1 - water) / water). "Bachman": oil against oil / water.

        References
        ----------
        .. [1] See :data:`CORRELATIONS`; the forms are compared in many papers on tie lines.
        """
        return straight_line(name, self.lines)

    @cached_property
    def saturation(self) -> tuple[Composition, ...]:
        """The curve around the two layers, from the water's side to the oil's: ends of tie lines and further points."""
        points = [end for line in self.lines for end in (line.water_layer, line.oil_layer)]
        return tuple(sorted([*points, *self.curve], key=along))

    @cached_property
    def plait(self) -> Composition | None:
        """Where both layers become the same, drawn on from the last tie lines; None where that leads too far.

        The saturation curve beyond the last tie line is drawn in Hand's coordinates, each point by its own
        shared / water and shared / oil. At the plait point both layers are one point of it, so there the line
        through the last tie lines meets the curve.

        References
        ----------
        .. [1] R. E. Treybal, Liquid Extraction, 2nd edition (1963), chapter 2, on the coordinates of Hand (from
           memory).
        """
        last = self.lines[-1]
        ends = (along(last.water_layer), along(last.oil_layer))
        arc = [point for point in self.saturation if ends[0] <= along(point) <= ends[1]]
        near = [line for line in self.lines if line.water_layer.shared > 0 < line.oil_layer.shared][-LAST:]
        found = plait_point(arc, straight_line("Hand", near))
        if found is None:
            return None
        reach = math.log(near[-1].water_ratio / near[0].water_ratio)
        beyond = math.log(found.shared / found.water / last.water_ratio)
        return found if 0 <= beyond <= reach else None


def straight_line(name: Correlation, lines: Sequence[TieLine]) -> StraightLine:
    """Least squares through the tie lines in the coordinates of a correlation.

    Raises
    ------
    RangeError
        Fewer than two tie lines hold the shared liquid in both layers.
    """
    points = [_coordinates(name, line) for line in lines if line.water_layer.shared > 0 < line.oil_layer.shared]
    if len(points) < 2:
        msg = "A line needs two tie lines that hold the shared liquid in both layers. Give more of them."
        raise RangeError(msg)
    n = len(points)
    mean_x, mean_y = (math.fsum(column) / n for column in zip(*points, strict=True))
    across = math.fsum((x - mean_x) ** 2 for x, _ in points)
    up = math.fsum((y - mean_y) ** 2 for _, y in points)
    both = math.fsum((x - mean_x) * (y - mean_y) for x, y in points)
    if not across > 0 < up:
        msg = "The tie lines all lie in one place. Give some with more and some with less of the shared liquid."
        raise RangeError(msg)
    slope = both / across
    intercept = mean_y - slope * mean_x
    left = math.fsum((y - intercept - slope * x) ** 2 for x, y in points)
    return StraightLine(name, intercept, slope, 1.0 - left / up, math.sqrt(left / n), n)


def _coordinates(name: Correlation, line: TieLine) -> tuple[float, float]:
    water, oil = line.water_layer.water / 100.0, line.oil_layer.oil / 100.0
    if name == "Hand":
        return math.log(line.water_ratio), math.log(line.oil_ratio)
    if name == "Othmer-Tobias":
        return math.log((1.0 - water) / water), math.log((1.0 - oil) / oil)
    return oil / water, oil


def along(point: Composition) -> float:
    """How far along the saturation curve a point lies, seen from the middle of the side without shared liquid."""
    return math.atan2(point.shared, point.water - point.oil)


def plait_point(saturation: Sequence[Composition], line: StraightLine) -> Composition | None:
    """Where Hand's line of the tie lines meets the saturation curve; None where it does not.

    Parameters
    ----------
    saturation
        From the water's side to the oil's.
    line
        Of Hand's correlation.

    References
    ----------
    .. [1] As :attr:`TernarySystem.plait`.
    """
    points = [
        (math.log(point.shared / point.water), math.log(point.shared / point.oil))
        for point in saturation
        if min(point.parts) > 0
    ]
    above = [y - line.intercept - line.slope * x for x, y in points]
    for (one, other), (before, after) in zip(itertools.pairwise(points), itertools.pairwise(above), strict=True):
        if before * after <= 0 and before != after:
            part = before / (before - after)
            x, y = (a + part * (b - a) for a, b in zip(one, other, strict=True))
            return Composition.of(math.exp(-x), 1.0, math.exp(-y))
    return None


@lru_cache(maxsize=1)
def ternary_systems() -> tuple[TernarySystem, ...]:
    """The measured systems of the bundled tables, nearest to cosmetics first."""
    lines: dict[str, list[TieLine]] = {}
    for row in load_table("tie-lines").rows:
        ends = [
            Composition.of(*(float(row[f"{layer}_{part}"]) for part in ("water", "shared", "oil")))
            for layer in ("water", "oil")
        ]
        lines.setdefault(row["system"], []).append(TieLine(*ends))
    curves: dict[str, list[Composition]] = {}
    for row in load_table("saturation-curves").rows:
        curves.setdefault(row["system"], []).append(
            Composition.of(*(float(row[p]) for p in ("water", "shared", "oil")))
        )
    return tuple(
        TernarySystem(
            row["key"],
            row["title"],
            row["water"],
            row["shared"],
            row["oil"],
            float(row["celsius"]),
            tuple(lines[row["key"]]),
            tuple(curves.get(row["key"], ())),
            row["source"],
            row["note"],
        )
        for row in load_table("ternary-systems").rows
    )


def ternary_system(key: str) -> TernarySystem:
    """A measured system by its key.

    Raises
    ------
    UnknownNameError
        There is none of that key.

    Examples
    --------
    >>> ternary_system("water-alcohol-limonene").shared
    'Alcohol'
    """
    for system in ternary_systems():
        if system.key == key:
            return system
    msg = f"There is no measured system {key!r}. Take one of {', '.join(system.key for system in ternary_systems())}."
    raise UnknownNameError(msg)
