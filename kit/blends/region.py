"""The region of a blend: its parts with a least and a most share, its corners, and the middles of its faces."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations, product
from math import isfinite
from typing import TYPE_CHECKING

from kit.errors import EntryError, RangeError
from kit.findings import Finding, Place

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

#: The shares of one blend, a part each, in the order of the region. [% w/w of the blend]
Point = tuple[float, ...]

#: So little is rounding in the last binary digits. [% w/w of the blend]
HAIR = 1e-9
#: A blend of so many parts can be designed.
FEWEST, MOST = 2, 5
#: How finely a region is looked over, by the number of its parts: 61 to 1,001 places.
DIVISIONS = {2: 60, 3: 24, 4: 14, 5: 10}
#: Two blends that differ by less than this are one. [% w/w of the blend]
ALIKE = 1e-6

PIEPEL = "G. F. Piepel, Technometrics 25 (1983) 97-101: consistent bounds of a mixture"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a blend, and the share that it may have.

    Attributes
    ----------
    low, high
        Least and most. [% w/w of the blend]
    """

    name: str
    low: float = 0.0
    high: float = 100.0

    def __post_init__(self) -> None:
        if not self.name.strip():
            msg = "A part of the blend has no name. Type what it is."
            raise EntryError(msg)
        if not (isfinite(self.low) and isfinite(self.high) and 0 <= self.low <= self.high <= 100):
            msg = (
                f"{self.name}: from {self.low:g} to {self.high:g} % is no range. "
                "Type a least share and a most share between 0 and 100 %, the least first."
            )
            raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class BlendRegion:
    """All blends of two to five parts whose shares lie within their bounds and add to 100 %.

    Raises
    ------
    EntryError
        Fewer than two parts, more than five, or one name twice.
    RangeError
        The bounds leave no blend, or a single one.

    Examples
    --------
    >>> region = BlendRegion((Part("Squalane", 20, 60), Part("Coco-Caprylate", 10, 70), Part("Isoamyl Laurate", 0, 30)))
    >>> region.vertices[:2]
    ((60.0, 40.0, 0.0), (60.0, 10.0, 30.0))
    """

    parts: tuple[Part, ...]

    def __post_init__(self) -> None:
        count = len(self.parts)
        if not FEWEST <= count <= MOST:
            msg = f"A blend to design has {FEWEST} to {MOST} parts; {count} {'is' if count == 1 else 'are'} named."
            raise EntryError(msg)
        seen: set[str] = set()
        for part in self.parts:
            key = " ".join(part.name.casefold().split())
            if key in seen:
                msg = f"{part.name} is there twice. Each part of a blend needs a name of its own; take one of them out."
                raise EntryError(msg)
            seen.add(key)
        least, most = sum(part.low for part in self.parts), sum(part.high for part in self.parts)
        if least > 100 + HAIR:
            msg = f"The least shares add to {least:.6g} %, so no blend has them all. Lower them, to 100 % together."
            raise RangeError(msg)
        if most < 100 - HAIR:
            msg = f"The most shares add to {most:.6g} %, so nothing fills the bottle. Raise them, to 100 % together."
            raise RangeError(msg)
        if least > 100 - ALIKE or most < 100 + ALIKE or not self.free:
            msg = (
                "The bounds leave a single blend, so there is nothing to design. Widen the bounds of two parts or more."
            )
            raise RangeError(msg)

    @property
    def names(self) -> tuple[str, ...]:
        """Of the parts."""
        return tuple(part.name for part in self.parts)

    @property
    def tight(self) -> tuple[Part, ...]:
        """The parts with the bounds that can be reached while the others keep theirs.

        References
        ----------
        .. [1] G. F. Piepel, "Defining consistent constraint regions in mixture experiments", Technometrics 25 (1983)
           97-101.
        """
        least, most = sum(part.low for part in self.parts), sum(part.high for part in self.parts)
        return tuple(
            replace(
                part,
                low=min(max(part.low, 100 - (most - part.high)), part.high),
                high=max(min(part.high, 100 - (least - part.low)), part.low),
            )
            for part in self.parts
        )

    @property
    def free(self) -> tuple[int, ...]:
        """The places of the parts whose share can change."""
        return tuple(n for n, part in enumerate(self.tight) if part.high - part.low > ALIKE)

    @property
    def findings(self) -> list[Finding]:
        """A caution for each part that is held at one share, and a note for each bound that no blend can reach.

        0 and 100 % are no bounds.
        """
        found = []
        for n in sorted({*range(len(self.parts))} - {*self.free}):
            sentence = (
                f"{self.parts[n].name} is held at {self.tight[n].low:.6g} %: no model can tell what it does. Leave it "
                "out of the parts, and let every bottle hold it besides."
            )
            found.append(Finding("caution", sentence, Place(0, n)))
        for n, (part, tight) in enumerate(zip(self.parts, self.tight, strict=True)):
            for words, typed, real in (("least", part.low, tight.low), ("most", part.high, tight.high)):
                if abs(typed - real) > ALIKE and 0 < typed < 100:
                    sentence = (
                        f"{part.name}: {words} {typed:.6g} % cannot be reached while the others keep their bounds; "
                        f"it comes to {real:.6g} %."
                    )
                    found.append(Finding("note", sentence, Place(0, n, words), PIEPEL))
        return found

    def holds(self, point: Sequence[float], slack: float = ALIKE) -> bool:
        """Whether a blend lies within the bounds and adds to 100 %, with so much slack. [% w/w of the blend]"""
        return (
            len(point) == len(self.parts)
            and abs(sum(point) - 100) <= slack * len(point)
            and all(
                part.low - slack <= share <= part.high + slack for part, share in zip(self.parts, point, strict=True)
            )
        )

    @property
    def vertices(self) -> tuple[Point, ...]:
        """The corners: all parts but one at a bound, and that one within its bounds.

        References
        ----------
        .. [1] R. A. McLean, V. L. Anderson, "Extreme vertices design of mixture experiments", Technometrics 8 (1966)
           447-454.
        .. [2] R. D. Snee, D. W. Marquardt, "Extreme vertices designs for linear mixture models", Technometrics 16
           (1974) 399-408.
        """
        tight, free = self.tight, self.free
        found: list[Point] = []
        for last in free:
            others = [n for n in free if n != last]
            for bounds in product(*((tight[n].low, tight[n].high) for n in others)):
                point = [part.low for part in tight]
                for n, share in zip(others, bounds, strict=True):
                    point[n] = share
                point[last] = 100.0 - sum(share for n, share in enumerate(point) if n != last)
                if tight[last].low - HAIR * 10 <= point[last] <= tight[last].high + HAIR * 10:
                    point[last] = min(max(point[last], tight[last].low), tight[last].high)
                    found.append(tuple(point))
        return distinct(found)

    def faces(self, dimension: int) -> tuple[tuple[Point, ...], ...]:
        """The corners of each face of so many dimensions: 1 an edge, 2 a flat side, and so on.

        A face is where as many bounds hold as equations as the region has dimensions more than the face.
        """
        import numpy as np

        tight, free, corners = self.tight, self.free, self.vertices
        fixed = len(free) - 1 - dimension
        if dimension < 1 or fixed < 0:
            return ()
        touched = [
            {(n, end) for n in free for end, bound in enumerate((tight[n].low, tight[n].high))
             if abs(corner[n] - bound) <= ALIKE}
            for corner in corners
        ]  # fmt: skip
        found: dict[tuple[int, ...], None] = {}
        for bounds in combinations([(n, end) for n in free for end in (0, 1)], fixed):
            on = tuple(n for n, held in enumerate(touched) if held.issuperset(bounds))
            if len(on) > dimension and on not in found:
                across = np.array([corners[n] for n in on]) - np.array(corners[on[0]])
                if np.linalg.matrix_rank(across, tol=ALIKE) == dimension:
                    found[on] = None
        return tuple(tuple(corners[n] for n in on) for on in found)

    def face_centroids(self, dimension: int) -> tuple[Point, ...]:
        """The middle of each face of so many dimensions: the mean of its corners."""
        return distinct(centroid(face) for face in self.faces(dimension))

    @property
    def middle(self) -> Point:
        """The overall centroid: the mean of all corners."""
        return centroid(self.vertices)

    def grid(self, divisions: int | None = None) -> tuple[Point, ...]:
        """Blends spread evenly over the region, its corners among them: a lattice on the smallest simplex around it.

        Parameters
        ----------
        divisions
            Of the longest edge of that simplex; the fewer, the more parts there are, where none is given.
        """
        divisions = divisions or DIVISIONS[len(self.parts)]
        tight = self.tight
        low = [part.low for part in tight]
        room = 100.0 - sum(low)
        inside = [
            point
            for steps in whole_shares(len(tight), divisions)
            if self.holds(
                point := tuple(least + room * step / divisions for least, step in zip(low, steps, strict=True))
            )
        ]
        return distinct([*self.vertices, *inside, self.middle])


def centroid(points: Sequence[Point]) -> Point:
    """The mean of blends, part by part."""
    return tuple(sum(shares) / len(points) for shares in zip(*points, strict=True))


def distinct(points: Iterable[Sequence[float]]) -> tuple[Point, ...]:
    """Each blend once, the richest in the first part first."""
    found: dict[tuple[int, ...], Point] = {}
    for point in points:
        found.setdefault(tuple(round(share / ALIKE) for share in point), tuple(float(share) for share in point))
    return tuple(sorted(found.values(), reverse=True))


def whole_shares(parts: int, total: int) -> Iterable[tuple[int, ...]]:
    """Every way to share a whole number among parts.

    Examples
    --------
    >>> list(whole_shares(2, 2))
    [(2, 0), (1, 1), (0, 2)]
    """
    if parts == 1:
        yield (total,)
        return
    for first in range(total, -1, -1):
        for rest in whole_shares(parts - 1, total - first):
            yield (first, *rest)
