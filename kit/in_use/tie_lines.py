"""One layer or two: a mixture of three liquids laid between measured tie lines, with what each layer holds.

Between two neighbouring tie lines both ends are moved along their own side in the same proportion. That is exact on
every measured line and keeps the tie lines from crossing; how straight they lie in the coordinates of a published
correlation says how far to trust what stands between. Nothing is said beyond the measured lines.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.in_use.ternary_systems import along

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.ternary_systems import Composition, TernarySystem, TieLine

Layers = Literal["one", "two", "not known"]

#: Halvings of the stretch between two tie lines; after so many a float has no more digits.
HALVINGS = 100
#: A mixture this near to the end of a tie line counts as that end. [part of the tie line]
AT_AN_END = 1e-12
#: A mixture this near beside a tie line counts as on it: what floats leave of a sum. [% w/w]
ON_A_LINE = 1e-11
#: From so many measured points on, the curve beyond the last tie line counts as drawn (our choice).
DRAWN_BY = 3


@dataclass(frozen=True, slots=True)
class Settled:
    """A mixture at rest.

    Attributes
    ----------
    layers
        "one", "two", or "not known" where nobody measured.
    words
        Why, in a sentence.
    line
        The tie line through the mixture; None unless there are two layers and it was measured.
    water_share
        How much of the mass is the water layer. [0 to 1]
    """

    system: TernarySystem
    overall: Composition
    layers: Layers
    words: str
    line: TieLine | None = None
    water_share: float | None = None

    @property
    def oil_share(self) -> float | None:
        """How much of the mass is the oil layer. [0 to 1]"""
        return None if self.water_share is None else 1.0 - self.water_share


def settle(system: TernarySystem, overall: Composition) -> Settled:
    """Whether a mixture stands in one layer or two, and what each holds.

    Parameters
    ----------
    overall
        Of the whole, layers taken together; see :meth:`Composition.of`. [% w/w]

    Notes
    -----
    The amounts follow from the lever rule: the mass of the water layer is to that of the whole as the stretch from the
    oil layer's end to the mixture is to the tie line.

    References
    ----------
    .. [1] R. E. Treybal, Mass-Transfer Operations, 3rd edition (1980), chapter 10, on triangles, tie lines and the
       lever rule (from memory).

    Examples
    --------
    Half water, a fifth isopropyl alcohol, the rest ether:

    >>> from kit.in_use.ternary_systems import Composition, ternary_system
    >>> rest = settle(ternary_system("water-isopropyl-alcohol-ether"), Composition.of(50, 20, 30))
    >>> rest.layers, round(100 * rest.water_share, 1)
    ('two', 59.0)
    """
    bare = _without_one(system, overall)
    if bare is not None:
        return bare
    for lower, upper in zip(system.lines, system.lines[1:], strict=False):
        found = _between(lower, upper, overall)
        if found is not None:
            line, share = found
            title = system.title.lower()
            words = f"Two layers: it lies between two measured tie lines of {title} at {system.celsius:g} °C."
            return Settled(system, overall, "two", words, line, share)
    return Settled(system, overall, *_outside(system, overall))


def _without_one(system: TernarySystem, overall: Composition) -> Settled | None:
    """What is known where water or oil is missing: the shared liquid mixes with either."""
    for missing, other in ((overall.water, system.oil), (overall.oil, system.water)):
        if not missing > 0:
            return Settled(system, overall, "one", f"One layer: {system.shared} and {other} mix.")
    return None


def _between(lower: TieLine, upper: TieLine, overall: Composition) -> tuple[TieLine, float] | None:
    """The tie line through the mixture, and its share of water layer, if the mixture lies between these two."""
    low, high = 0.0, 1.0
    side = _side(lower, overall)
    if side * _side(upper, overall) > 0:
        return None
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        if side * _side(lower.toward(upper, middle), overall) > 0:
            low = middle
        else:
            high = middle
    line = lower.toward(upper, high)
    share = water_share(line, overall)
    if not -AT_AN_END <= share <= 1.0 + AT_AN_END:
        return None
    return line, min(1.0, max(0.0, share))


def _side(line: TieLine, overall: Composition) -> float:
    """How far a mixture lies beside a tie line, above 0 towards less of the shared liquid; 0 on it. [% w/w]"""
    one, other = line.water_layer, line.oil_layer
    across, up = other.oil - one.oil, other.shared - one.shared
    off = (across * (one.shared - overall.shared) - up * (one.oil - overall.oil)) / math.hypot(across, up)
    return 0.0 if abs(off) < ON_A_LINE else off


def water_share(line: TieLine, overall: Composition) -> float:
    """The lever rule: the water layer's part of the mass of a mixture on a tie line. [0 to 1]

    Beyond 0 and 1 where the mixture lies beyond an end of the line.

    Examples
    --------
    >>> from kit.in_use.ternary_systems import Composition, TieLine
    >>> line = TieLine(Composition(90, 8, 2), Composition(2, 4, 94))
    >>> round(water_share(line, Composition(46, 6, 48)), 3)
    0.5
    """
    ends = zip(line.water_layer.parts, line.oil_layer.parts, overall.parts, strict=True)
    steps = [(water - oil, whole - oil) for water, oil, whole in ends]
    return sum(d * t for d, t in steps) / sum(d * d for d, _ in steps)


def _outside(system: TernarySystem, overall: Composition) -> tuple[Layers, str]:
    first, last = system.lines[0], system.lines[-1]
    most = max(point.shared for point in system.saturation)
    where = f"{system.title.lower()} at {system.celsius:g} °C"
    if overall.shared > most:
        return (
            "one",
            f"One layer: {overall.shared:.1f} % of {system.shared} is more than any mixture of two layers held.",
        )
    if _side(first, overall) > 0 and first.water_layer.shared > 0:
        return "not known", (
            f"Not known: so little {system.shared} was not measured. The first tie line of {where} has "
            f"{first.water_layer.shared:.2g} % in the water layer and {first.oil_layer.shared:.2g} % in the oil layer."
        )
    if _side(last, overall) < 0:
        beyond = [point for point in system.curve if _side(last, point) < 0]
        if len(beyond) >= DRAWN_BY:
            return _by_curve([last.water_layer, *sorted(beyond, key=along), last.oil_layer], overall, where)
        if 0 < water_share(last, overall) < 1:
            return "not known", _beyond(system, where)
    return "one", f"One layer: it lies outside the measured tie lines of {where}."


def _by_curve(curve: Sequence[Composition], overall: Composition, where: str) -> tuple[Layers, str]:
    """Beyond the last tie line, where the curve around the two layers was measured: one or two, and no more."""
    if _encloses(curve, overall):
        return "two", (
            f"Two layers, by the measured curve of {where}. No tie line was measured so far up, so what each holds is "
            "not known."
        )
    return "one", f"One layer, by the measured curve of {where}."


def _encloses(curve: Sequence[Composition], point: Composition) -> bool:
    """Whether a point lies within a curve that is closed by a straight line; counts what a ray to the side crosses."""
    inside = False
    for one, other in zip(curve, [*curve[1:], curve[0]], strict=True):
        if (one.shared > point.shared) != (other.shared > point.shared):
            part = (point.shared - one.shared) / (other.shared - one.shared)
            inside ^= point.oil < one.oil + part * (other.oil - one.oil)
    return inside


def _beyond(system: TernarySystem, where: str) -> str:
    last, plait = system.lines[-1], system.plait
    near = (
        f" Drawn on from there, both layers become the same near {plait.shared:.0f} % of {system.shared}, "
        f"{plait.water:.0f} % of {system.water} and {plait.oil:.0f} % of {system.oil}."
        if plait
        else ""
    )
    return (
        f"Not known: it lies beyond the last measured tie line of {where}, which has {last.water_layer.shared:.3g} % "
        f"of {system.shared} in the water layer and {last.oil_layer.shared:.3g} % in the oil layer.{near} Only a trial "
        "tells."
    )


@dataclass(frozen=True, slots=True)
class OnTheWay:
    """A mixture of two liquids on the way from the one to the other.

    Attributes
    ----------
    oil_percent
        How much of the second. [% w/w]
    """

    oil_percent: float
    settled: Settled


def along_ratio(
    system: TernarySystem, water_layer: Composition, oil_layer: Composition, oil_percents: Sequence[float]
) -> list[OnTheWay]:
    """What a shift of the ratio does: the layers as they are put in, mixed in other proportions.

    Parameters
    ----------
    water_layer, oil_layer
        What is weighed into each layer. [% w/w of the layer]
    oil_percents
        How much of the whole the oil layer is, as weighed. [% w/w]

    Raises
    ------
    RangeError
        A percent outside 0 to 100.
    """
    for percent in oil_percents:
        if not 0 <= percent <= 100:
            msg = f"An oil layer of {percent:g} % cannot be. Give 0 to 100."
            raise RangeError(msg)
    return [
        OnTheWay(percent, settle(system, water_layer.toward(oil_layer, percent / 100.0))) for percent in oil_percents
    ]
