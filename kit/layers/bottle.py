"""The bottle, how the layers stand in it, and the ratio by the height that is seen."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.crossing import crossing
from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.formula.moved import NOTHING
from kit.layers.density import LayerContents
from kit.resources import load_table
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from kit.formula.expansion import Materials
    from kit.layers.density import Layer
    from kit.layers.ratio import RatioPath


#: Less air than this above the product leaves little room to shake (common practice). [% of brimful]
ROOM_TO_SHAKE = 8.0

#: A slice this thin is part of a slope rather than a step of its own. [mm]
THIN_SLICE = 2.0


@dataclass(frozen=True, slots=True)
class Bottle:
    """The inside of a bottle as a table of height and volume, from (0, 0) up to brimful.

    Attributes
    ----------
    profile
        (height, volume) pairs, both increasing; straight lines between them. The row after (0, 0) is row 1.
        [mm, mL]
    seen_width
        How wide it looks, where it is not round. [mm]
    nominal
        What it is sold to be filled with, and its label says; 0 where nobody said. [mL]
    """

    name: str
    profile: tuple[tuple[float, float], ...]
    seen_width: float | None = None
    nominal: float = 0.0

    def __post_init__(self) -> None:
        if len(self.profile) < 2 or self.profile[0] != (0.0, 0.0):
            msg = f"{self.name}: the table of heights starts at 0 mm and 0 mL and needs one more row at least."
            raise RangeError(msg)
        for n, (lower, upper) in enumerate(pairwise(self.profile), start=1):
            if not (upper[0] > lower[0] and upper[1] > lower[1]):
                msg = (
                    f"{self.name}: row {n} of the table of heights ({upper[0]:g} mm, {upper[1]:g} mL) does not rise "
                    f"above the row before it ({lower[0]:g} mm, {lower[1]:g} mL). Both must grow from row to row."
                )
                raise RangeError(msg)

    @classmethod
    def cylinder(cls, inner_diameter: object, brimful: object, name: str = "straight bottle") -> Bottle:
        """A straight bottle: h = V / (π r²).

        Parameters
        ----------
        inner_diameter, brimful
            Such as "44 mm" and "120 mL".
        """
        radius = _positive(inner_diameter, "mm", "inner diameter") / 2
        volume = _positive(brimful, "mL", "brimful volume")
        return cls(name, ((0.0, 0.0), (1000 * volume / (math.pi * radius**2), volume)))

    @classmethod
    def with_shoulder(
        cls,
        body_diameter: object,
        body_height: object,
        neck_diameter: object,
        shoulder_height: object = "15 mm",
        neck_height: object = "12 mm",
        name: str = "round bottle",
    ) -> Bottle:
        """A round bottle: a cylinder, a cone-shaped shoulder in slices of 1 mm or less, and a neck."""
        body, neck = (_positive(d, "mm", "diameter") / 2 for d in (body_diameter, neck_diameter))
        heights = [_positive(h, "mm", "height") for h in (body_height, shoulder_height, neck_height)]
        points = [(0.0, 0.0), (heights[0], math.pi * body**2 * heights[0] / 1000)]
        slices = math.ceil(heights[1])
        step = heights[1] / slices
        for n in range(slices):
            lower, upper = (body + (neck - body) * k / slices for k in (n, n + 1))
            frustum = math.pi * step * (lower**2 + lower * upper + upper**2) / 3000
            points.append((points[-1][0] + step, points[-1][1] + frustum))
        points.append((points[-1][0] + heights[2], points[-1][1] + math.pi * neck**2 * heights[2] / 1000))
        return cls(name, tuple(points))

    @classmethod
    def measured(cls, rows: Sequence[tuple[object, object]], name: str = "measured bottle") -> Bottle:
        """A bottle measured with a ruler and a balance: rows such as ("20 mm", "31 mL")."""
        begins_empty = bool(rows) and magnitude(rows[0][0], "mm", name="height") == 0
        if begins_empty and magnitude(rows[0][1], "mL", name="volume") == 0:
            rows = rows[1:]
        table = tuple((_positive(h, "mm", "height"), _positive(v, "mL", "volume")) for h, v in rows)
        return cls(name, ((0.0, 0.0), *table))

    @classmethod
    def box(cls, width: object, depth: object, height: object, name: str = "box-shaped bottle") -> Bottle:
        """A bottle with a rectangular floor, seen from the side that is ``width`` wide."""
        across, back, up = (_positive(size, "mm", "inner size") for size in (width, depth, height))
        return cls(name, ((0.0, 0.0), (up, across * back * up / 1000)), seen_width=across)

    @property
    def brimful(self) -> float:
        """The volume to the very top. [mL]"""
        return self.profile[-1][1]

    @property
    def height(self) -> float:
        """The inner height. [mm]"""
        return self.profile[-1][0]

    def level(self, volume: float) -> float:
        """The height at which a volume stands. [mL → mm]"""
        return self._between(volume, 1, 0, "volume", "mL")

    def volume(self, height: float) -> float:
        """The volume below a height. [mm → mL]"""
        return self._between(height, 0, 1, "height", "mm")

    def half_widths(self) -> list[tuple[float, float]]:
        """The outline for drawing: (height, inner radius), rising; a thin slice counts at its middle. [mm, mm]"""
        outline = []
        for (h0, v0), (h1, v1) in pairwise(self.profile):
            round_radius = math.sqrt(1000 * (v1 - v0) / (math.pi * (h1 - h0)))
            radius = self.seen_width / 2 if self.seen_width else round_radius
            outline += [((h0 + h1) / 2, radius)] if h1 - h0 <= THIN_SLICE else [(h0, radius), (h1, radius)]
        return outline

    def _between(self, value: float, given: int, wanted: int, what: str, unit: str) -> float:
        last = self.profile[-1][given]
        if not -1e-9 <= value <= last * (1 + 1e-9):
            msg = f"{self.name} holds {what}s from 0 to {last:.4g} {unit}, not {value:.4g} {unit}."
            raise RangeError(msg)
        n = min(max(bisect_left([row[given] for row in self.profile], value), 1), len(self.profile) - 1)
        lower, upper = self.profile[n - 1], self.profile[n]
        part = (value - lower[given]) / (upper[given] - lower[given])
        return lower[wanted] + part * (upper[wanted] - lower[wanted])


def bundled_bottles() -> dict[str, Bottle]:
    """Invented bottles to try the kit with, by name."""
    return {
        row["name"]: replace(
            Bottle.with_shoulder(
                f"{row['body_diameter_mm']} mm",
                f"{row['body_height_mm']} mm",
                f"{row['neck_diameter_mm']} mm",
                f"{row['shoulder_height_mm']} mm",
                f"{row['neck_height_mm']} mm",
                name=row["name"],
            ),
            nominal=float(row["nominal_mL"]),
        )
        for row in load_table("bottles").rows
    }


def usual_bottle() -> Bottle:
    """The bottle that is drawn where none is named."""
    return bundled_bottles()["round 100 mL"]


def usual_fill(bottle: Bottle) -> float:
    """The product in a bottle where nothing is said: its nominal content, which the label says. [mL]

    Where nobody said what that is, 85 % of brimful.

    Examples
    --------
    >>> usual_fill(usual_bottle()), usual_fill(Bottle.cylinder("44 mm", "120 mL"))
    (100.0, 102.0)
    """
    return bottle.nominal or round(0.85 * bottle.brimful, 1)


@dataclass(frozen=True, slots=True)
class Standing:
    """One layer as it stands in the bottle. [mL, mm, mm]"""

    layer: Layer
    volume: float
    bottom: float
    top: float

    @property
    def height(self) -> float:
        """[mm]"""
        return self.top - self.bottom


def from_below(layers: Iterable[Layer]) -> list[Layer]:
    """The layers from the bottom upwards, the densest first; of equal ones the first stays first."""
    return sorted(layers, key=lambda layer: -layer.density)


def stand(layers: Iterable[Layer], bottle: Bottle, fill: float) -> list[Standing]:
    """How the layers stand once they have parted, the densest below.

    Parameters
    ----------
    fill
        Volume of product in the bottle. [mL]

    Raises
    ------
    RangeError
        More product than the bottle holds, or none.
    """
    if not 0 < fill <= bottle.brimful * (1 + 1e-9):
        msg = (
            f"{fill:.4g} mL cannot stand in {bottle.name}, which holds {bottle.brimful:.4g} mL to the brim. "
            "Fill less, or choose a larger bottle."
        )
        raise RangeError(msg)
    ordered = from_below(layers)
    total = sum(layer.volume_per_100_g for layer in ordered)
    standing, below = [], 0.0
    for layer in ordered:
        volume = fill * layer.volume_per_100_g / total
        bottom, top = bottle.level(below), bottle.level(min(below + volume, bottle.brimful))
        standing.append(Standing(layer, volume, bottom, top))
        below += volume
    return standing


def room_findings(bottle: Bottle, fill: float) -> list[Finding]:
    """What to say when there is too little air in the bottle to shake it."""
    room = 100 * (1 - fill / bottle.brimful)
    if room >= ROOM_TO_SHAKE:
        return []
    sentence = (
        f"Only {max(room, 0):.2g} % of the bottle is air: leave about {ROOM_TO_SHAKE:g} % or more, room to shake."
    )
    return [Finding("note", sentence, Place(field="bottle"), "common practice")]


def _positive(value: object, unit: str, name: str) -> float:
    number = magnitude(value, unit, name=name)
    if not number > 0:
        msg = f"The {name} must be more than 0 {unit}, got {number:g} {unit}."
        raise RangeError(msg)
    return number


@dataclass(frozen=True, slots=True)
class HeightScale:
    """How high the oil layer stands at each ratio, in one bottle filled to one volume.

    A line that keeps its level grows stronger in its layer as that shrinks, so the layer's density moves with the
    ratio; it is computed anew at each.

    Attributes
    ----------
    fill
        [mL]
    most
        The oil layer when there is no water layer left. [% w/w of the whole]
    layers
        What each layer is made of.
    """

    bottle: Bottle
    fill: float
    most: float
    path: RatioPath
    layers: tuple[LayerContents, ...]

    @classmethod
    def of(cls, path: RatioPath, materials: Materials, bottle: Bottle, fill: float) -> HeightScale:
        """The scale along a path; lines without a density count as the rest of their layer does."""
        return cls(bottle, fill, path.most, path, tuple(LayerContents.of(path.formula, materials)))

    def oil_is_below(self, oil: float) -> bool:
        """Whether the oil layer stands below the water layer when it is ``oil`` % of the whole by mass."""
        upwards = list(self.volumes(oil))
        return upwards.index("oil") < upwards.index("water")

    def volumes(self, oil: float) -> dict[str, float]:
        """Each layer's volume in 100 g of product when the oil layer is ``oil`` %, the lowest layer first. [mL]"""
        percents = self.path.percents(oil)
        standing = []
        for layer in self.layers:
            mass = layer.mass(percents)
            density = layer.density(percents).value
            standing.append((density, layer.kind, mass / density if mass > NOTHING else 0.0))
        return {kind: volume for _, kind, volume in sorted(standing, key=lambda each: -each[0])}

    def height_share(self, oil: float) -> float:
        """The oil layer's part of the visible height when it is ``oil`` % of the whole by mass. [%]"""
        now = self.volumes(oil)
        scale = self.fill / sum(now.values())
        below = 0.0
        for kind, volume in now.items():
            if kind == "oil":
                break
            below += scale * volume
        top = min(below + scale * now["oil"], self.fill)
        height = self.bottle.level(top) - self.bottle.level(min(below, self.fill))
        return 100.0 * height / self.bottle.level(self.fill)

    def volume_share(self, oil: float) -> float:
        """The oil layer's part of the volume when it is ``oil`` % of the whole by mass. [%]"""
        now = self.volumes(oil)
        return 100.0 * now["oil"] / sum(now.values())

    def oil_for_volume(self, share: float) -> float:
        """The oil layer by mass that takes ``share`` % of the volume, at most what there can be. [% w/w]"""
        return self._oil_for(self.volume_share, share)

    def oil_for(self, share: float) -> float:
        """The oil layer by mass that stands at ``share`` % of the visible height. [% w/w of the whole]"""
        return self._oil_for(self.height_share, share)

    def _oil_for(self, seen: Callable[[float], float], share: float) -> float:
        """Both grow with the mass, so one crossing is there; outside the scale the nearest end is given."""
        at_none, at_most = seen(0.0) - share, seen(self.most) - share
        if at_none >= 0:
            return 0.0
        if at_most <= 0:
            return self.most
        return crossing(lambda oil: seen(oil) - share, 0.0, self.most, at_none, at_most)
