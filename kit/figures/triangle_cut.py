"""Three parts of a blend on a triangle: where a blend lies on it, and which part of it is allowed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.blends.region import BlendRegion, Point

    Pixel = tuple[float, float]

#: The triangle in its picture: middle of its base, height of base and top. [px]
MIDDLE, BASE, TOP = 320.0, 400.0, 52.0
SIDE = (BASE - TOP) / 0.8660254037844386
#: A bottle whose held parts are farther from the cut than this lies beside it. [% w/w of the blend]
NEAR = 0.5


@dataclass(frozen=True, slots=True)
class Cut:
    """Three parts of a blend on a triangle as large as their least shares leave room for, the others held.

    Attributes
    ----------
    axes
        The places of the three: at the top, to the left, to the right.
    held
        A blend; its other parts are held at the shares that they have in it. [% w/w of the blend]

    Raises
    ------
    RangeError
        The parts that are held leave the three no room.
    """

    region: BlendRegion
    axes: tuple[int, int, int]
    held: Point

    def __post_init__(self) -> None:
        if self.room <= 1e-6:
            msg = "The parts that are held leave no room for the three on the triangle. Hold them lower."
            raise RangeError(msg)

    @property
    def low(self) -> tuple[float, ...]:
        """The least shares of the three. [% w/w of the blend]"""
        return tuple(self.region.parts[n].low for n in self.axes)

    @property
    def room(self) -> float:
        """What is shared among the three above their least. [% w/w of the blend]"""
        held = sum(share for n, share in enumerate(self.held) if n not in self.axes)
        return 100.0 - held - sum(self.low)

    def blends(self, places: Iterable[Sequence[float]]) -> list[Point]:
        """The blends at places of the triangle, each by its weights of the three corners, which add to 1."""
        top, left, right = self.axes
        (first, second, third), room = self.low, self.room
        found = []
        for a, b, c in places:
            point = list(self.held)
            point[top], point[left], point[right] = first + room * a, second + room * b, third + room * c
            found.append(tuple(point))
        return found

    def blend(self, weights: Sequence[float]) -> Point:
        """The blend at one place of the triangle."""
        return self.blends([weights])[0]

    @property
    def most(self) -> tuple[float, ...]:
        """The most weight that each of the three may have."""
        low, room = self.low, self.room
        return tuple((self.region.parts[n].high - least) / room for n, least in zip(self.axes, low, strict=True))

    def weights(self, point: Sequence[float]) -> tuple[float, ...]:
        """Where a blend lies, by its weights of the three corners."""
        return tuple((point[n] - least) / self.room for n, least in zip(self.axes, self.low, strict=True))

    def allowed(self) -> list[tuple[float, ...]]:
        """The corners, as weights, of the part of the triangle in which the three keep their bounds."""
        corners: list[tuple[float, ...]] = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
        for at, most in enumerate(self.most):
            corners = _below(corners, at, most)
        return corners

    def is_near(self, point: Sequence[float]) -> bool:
        """Whether a blend lies in the cut."""
        return all(
            abs(share - held) <= NEAR
            for n, (share, held) in enumerate(zip(point, self.held, strict=True))
            if n not in self.axes
        )


def pixel(weights: Sequence[float]) -> Pixel:
    """Where a place of the triangle is drawn. [px]"""
    _, left, right = weights
    return MIDDLE + (right - left) * SIDE / 2, BASE - weights[0] * (BASE - TOP)


def _below(corners: list[tuple[float, ...]], at: int, most: float) -> list[tuple[float, ...]]:
    """The part of a flat shape in which one weight is no more than ``most`` (Sutherland and Hodgman 1974)."""
    kept: list[tuple[float, ...]] = []
    for here, there in zip(corners, corners[1:] + corners[:1], strict=True):
        if here[at] <= most + 1e-12:
            kept.append(here)
        if (here[at] - most) * (there[at] - most) < -1e-24:
            part = (most - here[at]) / (there[at] - here[at])
            kept.append(tuple(a + part * (b - a) for a, b in zip(here, there, strict=True)))
    return kept
