"""A shelf-life estimate as SVG text: readings, lines, confidence band, limits, and how far the estimate may reach.

What lies beyond the last reading is dashed. The last reading, the end of what may be claimed and the estimate each
have a named upright line.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING

from kit.figures.chart import (
    INK,
    SOFT,
    STOP,
    Frame,
    area,
    axes,
    cut,
    legend,
    line,
    mark,
    padded,
    room_for,
    svg,
    words,
)
from kit.iso_dates import MONTH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.stability.series import Series
    from kit.stability.shelf_life import ShelfLife

HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 430.0, 64.0, 16.0, 124.0, 48.0
#: Points along the time axis.
POINTS = 61
#: The estimate's colour, one that no condition has.
ESTIMATE = "var(--sw-ink,#1f2a33)"
#: Up to here the axis counts weeks, beyond it months. [days]
MOST_WEEKS = 7 * 80


@dataclass(frozen=True, slots=True)
class TimeUnit:
    """What the axis counts: its name and how many days it has."""

    name: str
    days: float

    def said(self, days: float) -> str:
        """A day in this unit, rounded down: "week 12.5"."""
        return f"{self.name} {floor(10 * days / self.days + 1e-9) / 10:g}"


#: The two units of the axis.
WEEKS, MONTHS = TimeUnit("week", 7.0), TimeUnit("month", MONTH)


def time_unit(horizon: float) -> TimeUnit:
    """Weeks for a short study, months for a long one. [days]"""
    return WEEKS if horizon <= MOST_WEEKS else MONTHS


def shelf_life_chart(
    result: ShelfLife,
    series: Sequence[Series],
    *,
    title: str,
    y_title: str,
    colour: str,
    width: float = 840,
) -> str:
    """The readings of one attribute in one condition and what was computed from them.

    Parameters
    ----------
    series
        What ``result`` was computed from.
    colour
        Of the condition.
    """
    horizon = _horizon(result, series)
    unit = time_unit(horizon)
    frame = _frame(result, series, horizon, unit, width)
    parts = [words(10, 20, cut(title, width - 20, 15), size=15, weight=650)]
    parts += axes(frame, f"{unit.name.capitalize()}s since the start", y_title)
    parts += _band(result, frame, unit, horizon, colour)
    parts += _limits(result, frame)
    parts += _lines(result, frame, unit, horizon, colour, last=_last(series))
    parts += _flags(result, frame, unit, last=_last(series))
    for number, one in enumerate(series):
        for day, value in zip(one.days, one.values, strict=True):
            told = f"batch {one.batch}, day {day:g}: {value:.4g}"
            parts.append(mark(frame.x(day / unit.days), frame.y(value), number, colour=colour, title=told))
    parts += _legend(result, series, colour, width)
    return svg(width, HEIGHT, f"{title}. {result.sentence}", parts)


def _last(series: Sequence[Series]) -> float:
    return max((one.last_day for one in series), default=0.0)


def _horizon(result: ShelfLife, series: Sequence[Series]) -> float:
    """How much time to show: the readings, what may be claimed, and the crossing where it is not far beyond. [days]"""
    reach = max(_last(series), result.cap.days if result.cap else 0.0, 1.0)
    near = result.crossing if result.crossing is not None and result.crossing <= 1.6 * reach else 0.0
    return 1.06 * max(reach, near)


def _days(start: float, end: float) -> list[float]:
    return [start + (end - start) * n / (POINTS - 1) for n in range(POINTS)]


def _frame(result: ShelfLife, series: Sequence[Series], horizon: float, unit: TimeUnit, width: float) -> Frame:
    levels = [value for one in series for value in one.values]
    levels += [limit for limit in (result.asked.lower, result.asked.upper) if limit is not None]
    means = [band.mean for band in result.band([0.0, horizon]).values()] if result.fits else []
    spread = (max(levels) - min(levels)) or 1.0 if levels else 1.0
    for mean in means:
        levels += [min(max(one, min(levels) - 0.4 * spread), max(levels) + 0.4 * spread) for one in mean]
    low, high = padded(levels)
    return Frame(
        LEFT,
        TOP,
        width - LEFT - RIGHT,
        HEIGHT - TOP - BOTTOM,
        -0.02 * horizon / unit.days,
        horizon / unit.days,
        low,
        high,
    )


def _clamped(frame: Frame, unit: TimeUnit, days: Sequence[float], levels: Sequence[float]) -> list[tuple[float, float]]:
    return [
        (frame.x(day / unit.days), frame.y(min(max(level, frame.y_low), frame.y_high)))
        for day, level in zip(days, levels, strict=True)
    ]


def _band(result: ShelfLife, frame: Frame, unit: TimeUnit, horizon: float, colour: str) -> list[str]:
    """The confidence band of the batch that sets the estimate; on one side only where one side is asked."""
    if not result.fits:
        return []
    days = _days(0.0, horizon)
    band = result.band(days)[result.governing or result.fits[0].batch]
    lower = band.lower if result.asked.sided == "two" or result.asked.lower is not None else band.mean
    upper = band.upper if result.asked.sided == "two" or result.asked.upper is not None else band.mean
    outline = _clamped(frame, unit, days, upper) + _clamped(frame, unit, days, lower)[::-1]
    edges = [edge for edge, side in ((lower, result.asked.lower), (upper, result.asked.upper)) if side is not None]
    drawn = [line(_inside(frame, unit, days, edge), stroke=colour, width=1.1) for edge in edges]
    return [area(outline, fill=colour), *drawn]


def _inside(frame: Frame, unit: TimeUnit, days: Sequence[float], levels: Sequence[float]) -> list[tuple[float, float]]:
    kept = [(day, level) for day, level in zip(days, levels, strict=True) if frame.holds(level)]
    return [(frame.x(day / unit.days), frame.y(level)) for day, level in kept]


def _limits(result: ShelfLife, frame: Frame) -> list[str]:
    parts = []
    for word, level in (("lower", result.asked.lower), ("upper", result.asked.upper)):
        if level is None:
            continue
        y, right = frame.y(level), frame.left + frame.width
        parts.append(line([(frame.left, y), (right, y)], stroke=STOP, width=1.5, dash="6 3"))
        at = y + 14 if word == "lower" and y + 16 < frame.top + frame.height else y - 5
        parts.append(words(frame.left + 6, at, f"{word} limit {level:.5g}", fill=STOP, halo=True))
    return parts


def _lines(result: ShelfLife, frame: Frame, unit: TimeUnit, horizon: float, colour: str, last: float) -> list[str]:
    parts = []
    fits = result.fits[:1] if result.model_key == "common line" else result.fits
    for start, end, dash in ((0.0, last, ""), (last, horizon, "6 5")):
        days = _days(start, end)
        bands = result.band(days) if fits else {}
        for fit in fits:
            path = _inside(frame, unit, days, bands[fit.batch].mean)
            wide = 2.2 if fit.batch == result.governing else 1.4
            parts += [line(path, stroke=colour, width=wide, dash=dash)] if len(path) > 1 else []
    return parts


def _flags(result: ShelfLife, frame: Frame, unit: TimeUnit, last: float) -> list[str]:
    """Upright lines with their names in rows above the chart, the earliest in the highest row."""
    flags = [(last, f"last reading, {unit.said(last)}", SOFT, "2 3", 400)]
    if result.cap is not None and result.cap.days > last:
        flags.append((result.cap.days, f"may reach {unit.said(result.cap.days)}", SOFT, "8 4", 400))
    if result.crossing is not None and result.days is not None and result.crossing >= result.days + 1:
        flags.append((result.crossing, f"limit met at {unit.said(result.crossing)}", SOFT, "1 4", 400))
    if result.days is not None:
        flags.append((result.days, f"estimate {result.days:.0f} days, {unit.said(result.days)}", ESTIMATE, "", 650))
    flags = [flag for flag in flags if flag[0] / unit.days <= frame.x_high]
    flags.sort(key=lambda flag: flag[0])
    bottom, right = frame.top + frame.height, frame.left + frame.width
    upright, named = [], []
    for row, (day, told, ink, dash, weight) in enumerate(flags):
        x, y = frame.x(day / unit.days), frame.top - 10 - 16 * (len(flags) - 1 - row)
        upright.append(line([(x, y - 9), (x, bottom)], stroke=ink, width=2 if weight > 400 else 1.2, dash=dash))
        fits = x + 6 + 1.1 * room_for(told) < right
        at, anchor = (x + 5, "start") if fits else (x - 5, "end")
        named.append(words(at, y, told, anchor=anchor, fill=ink, weight=weight, halo=True))
    return upright + named


def _legend(result: ShelfLife, series: Sequence[Series], colour: str, width: float) -> list[str]:
    entries = [(mark(0, 0, n, colour=colour), f"batch {cut(one.batch, 140)}") for n, one in enumerate(series)]
    if result.fits:
        side = "one-sided" if result.asked.sided == "one" else "two-sided"
        box = area([(-12, -5), (12, -5), (12, 5), (-12, 5)], fill=colour, opacity=0.3)
        of = f" of batch {cut(result.governing, 100)}" if len(result.fits) > 1 and result.governing else ""
        entries.append((box, f"{100 * result.asked.confidence:g} % limit of the line{of}, {side}"))
        entries.append((line([(-12, 0), (12, 0)], stroke=INK, dash="6 5"), "beyond the readings"))
    return legend(LEFT, 42, entries, width)
