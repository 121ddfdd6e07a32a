"""Along the ratio: curves of the level in water, and where a least level of the maker's is reached."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from kit.crossing import crossing
from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.layers.preservation import READINGS, Layout, at, level_at
from kit.layers.window import End

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.layers.preservation import KUsed, Reading
    from kit.layers.preservatives import Found

#: Points at which a level is tried for crossings.
TRIED = 240
#: A change of the level below this is rounding. [% w/w]
FLAT = 1e-12

SOURCE = "your least level; partition after Bean (1972)"


@dataclass(frozen=True, slots=True)
class LevelCurve:
    """The level of one preservative against the oil layer: points (oil % w/w of the whole, % w/w of the water)."""

    name: str
    points: tuple[tuple[float, float], ...]
    is_known: bool = True
    is_simple: bool = False


@dataclass(frozen=True, slots=True)
class Reached:
    """Where a least level is reached.

    Attributes
    ----------
    ends
        Each crossing, with the side on which the level holds.
    holds
        everywhere, nowhere, or between: on one side of each end.
    is_monotone
        Whether the level only rises or only falls along the ratio.
    method
        exact, where it is one division; root finder otherwise.
    """

    ends: tuple[End, ...]
    holds: Literal["everywhere", "nowhere", "between"]
    is_monotone: bool
    method: Literal["exact", "root finder"]
    name: str

    @property
    def end(self) -> End | None:
        """The one end that the window of ratios can show; None where there is none or more than one."""
        return self.ends[0] if len(self.ends) == 1 else None

    def finding(self) -> Finding | None:
        """What to say where there is not just one end."""
        if len(self.ends) > 1:
            places = ", ".join(f"{end.at:.2f} %" for end in self.ends)
            words = f"{self.name}: the level turns on its way and crosses this at {places}. Look at the picture."
            return Finding("caution", words, Place(field="preservative"), "estimate on paper")
        if self.holds == "nowhere":
            words = f"{self.name}: no ratio reaches it. Put in more, or think of another preservative or pH."
            return Finding("caution", words, Place(field="preservative"), "estimate on paper")
        return None


def percent_along(
    found: Found, layout: Layout, reading: Reading, k: KUsed, ph: float | None
) -> Callable[[float], float]:
    """The level as a function of the oil layer. [% w/w of the water layer against % w/w of the whole]

    Raises
    ------
    RangeError
        The reading needs a pH or a pKa that is not known.
    """
    if level_at(found, layout, k, layout.now, ph).percent(reading) is None:
        lacks = "its pKa is not known" if found.about.pka is None else "the pH of the water layer was not given"
        msg = f"{found.inci}: {READINGS[reading]} cannot be told, because {lacks}. Count the whole of it instead."
        raise RangeError(msg)
    return lambda oil: level_at(found, layout, k, oil, ph).percent(reading) or 0.0


def level_curve(
    found: Found,
    layout: Layout,
    reading: Reading,
    k: KUsed,
    ph: float | None,
    upto: float | None = None,
    points: int = 61,
) -> LevelCurve:
    """The level from the least to the most oil, or up to ``upto``; points lie closer near both ends. [% w/w]"""
    level = percent_along(found, layout, reading, k, ph)
    low, high = layout.low, layout.high if upto is None else min(upto, layout.high)
    shares = [(1 - math.cos(math.pi * n / (points - 1))) / 2 for n in range(points)]
    ratios = [low + (high - low) * share for share in shares]
    none = reading == "simple" or k.value == 0
    name = "none of it in the oil" if none else f"K {k.value:g}" + (f", {k.words}" if k.is_known else "")
    return LevelCurve(name, tuple((oil, level(oil)) for oil in ratios), k.is_known, none)


def preservation_end(
    found: Found, layout: Layout, least: float, *, reading: Reading, k: KUsed, ph: float | None = None
) -> Reached:
    """The oil layer at which a least level in the water is reached, and on which side it holds.

    With all of it in the water the level is one affine amount over another, so the end is one division. Otherwise
    the level is tried at many ratios, which also shows whether it only rises or only falls, and each change of sign
    is closed in.

    Parameters
    ----------
    least
        The maker's own, above 0. [% w/w of the water layer]

    Raises
    ------
    RangeError
        ``least`` is not above 0, or the reading needs a pH or a pKa that is not known.
    """
    if not least > 0:
        msg = f"A least level of {least:g} % asks for nothing. Give it above 0, as % of the water layer."
        raise RangeError(msg)
    which = "undissociated " if reading == "undissociated" else ""
    how = "counted all in the water" if reading == "simple" else f"estimated with K {k.value:g}"
    name = f"{which}{found.inci} at least {least:g} % of the water layer, {how}"
    level = percent_along(found, layout, reading, k, ph)
    if reading == "simple":
        mass, water = layout.mass_of(found), layout.water_mass
        room = (100.0 * mass[0] - least * water[0], 100.0 * mass[1] - least * water[1])
        # the quotient of two affine amounts never turns where the lower one stays above 0
        return _reached(_exact(room, layout), lambda oil: at(room, oil), layout, name, exact=True, is_monotone=True)
    crossings, is_monotone = _crossings(lambda oil: level(oil) - least, layout)
    return _reached(crossings, lambda oil: level(oil) - least, layout, name, exact=False, is_monotone=is_monotone)


def _exact(room: tuple[float, float], layout: Layout) -> list[float]:
    if abs(room[1]) < FLAT:
        return []
    crossing = -room[0] / room[1]
    return [crossing] if layout.low <= crossing <= layout.high else []


def _crossings(room: Callable[[float], float], layout: Layout) -> tuple[list[float], bool]:
    inset = 1e-9 * (layout.high - layout.low)  # at its very end a layer has no liquid left, and the level jumps there
    width = (layout.high - layout.low - 2 * inset) / (TRIED - 1)
    ratios = [layout.low + inset + width * n for n in range(TRIED)]
    values = [room(oil) for oil in ratios]
    steps = [b - a for a, b in pairwise(values)]
    is_monotone = not (max(steps) > FLAT and min(steps) < -FLAT)
    found = []
    for (left, right), (a, b) in zip(pairwise(ratios), pairwise(values), strict=True):
        if (a < 0) != (b < 0):
            found.append(crossing(room, left, right, a, b))
    return found, is_monotone


def _reached(
    crossings: list[float], room: Callable[[float], float], layout: Layout, name: str, *, exact: bool, is_monotone: bool
) -> Reached:
    reach = (layout.high - layout.low) / TRIED / 10
    ends = []
    for oil in crossings:
        rises = room(min(oil + reach, layout.high)) > room(max(oil - reach, layout.low))
        ends.append(End(name, oil, "from" if rises else "to", SOURCE, Place(field="preservative")))
    holds: Literal["everywhere", "nowhere", "between"] = (
        "between" if ends else "everywhere" if room(layout.now) >= 0 else "nowhere"
    )
    return Reached(tuple(ends), holds, is_monotone, "exact" if exact else "root finder", name)
