"""Which blends to make: on the simplex, within bounds, made more than once, and in an order that chance gives."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from random import Random
from typing import TYPE_CHECKING

from kit.blends.region import ALIKE, BlendRegion, Point, distinct, whole_shares
from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

#: So many bottles have codes of three digits that differ; nobody makes more for one trial.
MOST_BOTTLES = 500


@dataclass(frozen=True, slots=True)
class Bottle:
    """One bottle of a trial.

    Attributes
    ----------
    number
        In the order of making, from 1.
    code
        Three digits that tell a taster nothing (common practice of sensory panels).
    point
        Its blend. [% w/w of the blend]
    note
        What was noticed of it.
    """

    number: int
    code: str
    point: Point
    note: str = ""


@dataclass(frozen=True, slots=True)
class BlendDesign:
    """Blends to make, each once.

    Attributes
    ----------
    kind
        In words.
    points
        [% w/w of the blend]
    source
        Where the design is published.
    """

    region: BlendRegion
    kind: str
    points: tuple[Point, ...]
    source: str = ""

    def __len__(self) -> int:
        return len(self.points)

    def bottles(self, replicates: int = 1, seed: int | None = None) -> tuple[Bottle, ...]:
        """The bottles in the order in which they are made.

        Parameters
        ----------
        replicates
            How often each blend is made. Only blends made twice or more show the error of making and scoring.
        seed
            The same seed gives the same order and codes; without one the order is the design's own.

        Raises
        ------
        RangeError
            No bottle, or more than 500.

        Examples
        --------
        >>> from kit.blends.region import Part
        >>> region = BlendRegion((Part("Squalane"), Part("Coco-Caprylate")))
        >>> [bottle.point for bottle in simplex_lattice(region, 1).bottles(2)]
        [(100.0, 0.0), (100.0, 0.0), (0.0, 100.0), (0.0, 100.0)]
        """
        return bottles_of(self.points, replicates, seed)


def bottles_of(points: Sequence[Point], replicates: int = 1, seed: int | None = None) -> tuple[Bottle, ...]:
    """Bottles of these blends; see :meth:`BlendDesign.bottles`."""
    count = replicates * len(points)
    if not 1 <= count <= MOST_BOTTLES:
        msg = f"{len(points)} blends, each {replicates} times, are {count} bottles. Make 1 to {MOST_BOTTLES}."
        raise RangeError(msg)
    every = [point for point in points for _ in range(replicates)]
    chance = Random(0 if seed is None else seed)  # an order, not a secret
    if seed is not None:
        chance.shuffle(every)
    codes = chance.sample(range(100, 1000), count)
    return tuple(Bottle(n, str(code), point) for n, (code, point) in enumerate(zip(codes, every, strict=True), start=1))


def simplex_lattice(region: BlendRegion, degree: int = 2) -> BlendDesign:
    """The {q, m} simplex-lattice: every blend whose shares are whole m-ths; (q+m-1)! / (m! (q-1)!) of them.

    Where parts have a least share, the lattice lies on what is left above it (L-pseudocomponents, Kurotori 1966).

    Parameters
    ----------
    degree
        m, from 1 to 10.

    Raises
    ------
    RangeError
        The degree is none, or a most share cuts off a corner.

    References
    ----------
    .. [1] H. Scheffé, "Experiments with mixtures", Journal of the Royal Statistical Society B 20 (1958) 344-360.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 5.5.4.2.
    .. [3] I. S. Kurotori, "Experiments with mixtures of components having lower bounds", Industrial Quality Control 22
       (1966) 592-596.

    Examples
    --------
    >>> from kit.blends.region import Part
    >>> len(simplex_lattice(BlendRegion((Part("a"), Part("b"), Part("c"))), 3))
    10
    """
    if not (isinstance(degree, int) and 1 <= degree <= 10):
        msg = f"A lattice has 1 to 10 steps along an edge, got {degree!r}."
        raise RangeError(msg)
    shares = [tuple(step / degree for step in steps) for steps in whole_shares(len(region.parts), degree)]
    kind = f"{{{len(region.parts)}, {degree}}} simplex-lattice"
    return BlendDesign(region, kind, _above_the_least(region, shares), "Scheffé (1958)")


def simplex_centroid(region: BlendRegion) -> BlendDesign:
    """The simplex-centroid: each part alone, each pair, each three and so on in equal shares; 2^q - 1 blends.

    Raises
    ------
    RangeError
        A most share cuts off a corner.

    References
    ----------
    .. [1] H. Scheffé, "The simplex-centroid design for experiments with mixtures", Journal of the Royal Statistical
       Society B 25 (1963) 235-263.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 5.5.4.3.

    Examples
    --------
    >>> from kit.blends.region import Part
    >>> len(simplex_centroid(BlendRegion((Part("a"), Part("b"), Part("c")))))
    7
    """
    count = len(region.parts)
    shares = [
        tuple(1 / size if n in chosen else 0.0 for n in range(count))
        for size in range(1, count + 1)
        for chosen in combinations(range(count), size)
    ]
    return BlendDesign(region, "simplex-centroid", _above_the_least(region, shares), "Scheffé (1963)")


def _above_the_least(region: BlendRegion, shares: Sequence[tuple[float, ...]]) -> tuple[Point, ...]:
    """Shares of what is left above the least shares, as shares of the blend."""
    low = [part.low for part in region.parts]
    room = 100.0 - sum(low)
    for part in region.parts:
        if part.low + room > part.high + ALIKE:
            msg = (
                f"{part.name} would go up to {part.low + room:.6g} %, above its most share of {part.high:.6g} %: "
                "this design needs the whole triangle. Choose the design within bounds, or raise that share."
            )
            raise RangeError(msg)
    return tuple(tuple(least + room * share for least, share in zip(low, point, strict=True)) for point in shares)


def constrained_design(
    region: BlendRegion, *, edges: bool = True, faces: bool = True, middle: bool = True
) -> BlendDesign:
    """The corners of a region within bounds, with middles: the extreme-vertices design.

    Parameters
    ----------
    edges, faces, middle
        Whether the middle of each edge, of each face of two dimensions or more, and of the whole are made too.

    References
    ----------
    .. [1] R. A. McLean, V. L. Anderson, "Extreme vertices design of mixture experiments", Technometrics 8 (1966)
       447-454.
    .. [2] R. D. Snee, D. W. Marquardt, "Extreme vertices designs for linear mixture models", Technometrics 16 (1974)
       399-408.

    Examples
    --------
    >>> from kit.blends.region import Part
    >>> within = BlendRegion((Part("a", 20, 60), Part("b", 10, 70), Part("c", 0, 30)))
    >>> len(constrained_design(within)), len(constrained_design(within, edges=False))
    (11, 6)
    """
    points = list(region.vertices)
    whole = len(region.free) - 1
    if edges and whole > 1:
        points += region.face_centroids(1)
    if faces:
        for dimension in range(2, whole):
            points += region.face_centroids(dimension)
    if middle:
        points.append(region.middle)
    return BlendDesign(region, "extreme vertices and centroids", distinct(points), "McLean and Anderson (1966)")
