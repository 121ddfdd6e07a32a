"""The estimated level of one preservative in the water layer against the oil layer, drawn as SVG text.

Colours come from the panels' style sheet, so that the picture follows a light and a dark notebook. Each curve is
named at its end and has a dash of its own: nothing hangs on colour.
"""

from __future__ import annotations

import math
from html import escape
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.layers.preservation_end import LevelCurve

WIDTH, HEIGHT = 840.0, 400.0
LEFT, RIGHT, TOP, BOTTOM = 64.0, 218.0, 66.0, 50.0
#: Two labels at the ends of curves stand at least this far apart. [px]
APART = 19.0
#: The picture ends above at this multiple of the larger of the level now and the least level.
HEADROOM = 2.6

INK, SOFT, RULE = "var(--sw-ink,#1f2a33)", "var(--sw-soft,#55626c)", "var(--sw-rule,#e5dece)"
WATER, LINE, STOP = "var(--sw-water,#4f8fb0)", "var(--sw-water-ink,#2b6180)", "var(--sw-stop,#a3262a)"
DASHES = ("", "9 4", "2 4", "12 4 2 4", "5 3 1 3 1 3")
SIMPLE_DASH = "1 3"
LOOK = "width:100%;max-width:860px;height:auto;font:12.5px system-ui,sans-serif"
SVG = "http://www.w3.org/2000/svg"


def level_picture(
    curves: Sequence[LevelCurve],
    *,
    title: str,
    now: float | None,
    window: tuple[float, float] | None = None,
    least: float | None = None,
) -> str:
    """An SVG picture of levels in the water layer.

    Parameters
    ----------
    curves
        Their points as (oil layer, level). [% w/w of the whole, % w/w of the water layer]
    title
        What stands above it; escaped here, as every text.
    now
        The oil layer in hand. [% w/w of the whole]
    window
        The oil layers between which all holds that was judged. [% w/w of the whole]
    least
        The maker's own least level. [% w/w of the water layer]
    """
    frame = _Frame(curves, now, least)
    label = escape(_in_words(curves, title, now, least))
    parts = [
        f'<svg viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" aria-label="{label}" style="{LOOK}" xmlns="{SVG}">',
        _text(LEFT, 20, title, weight=650, size=15),
        *_band(frame, window),
        *_axes(frame),
        *_least(frame, least),
        *_now(frame, curves, now),
        *_curves(frame, curves),
        "</svg>",
    ]
    return "".join(parts)


class _Frame:
    """The scales of the picture."""

    def __init__(self, curves: Sequence[LevelCurve], now: float | None, least: float | None) -> None:
        oils = [oil for curve in curves for oil, _ in curve.points]
        levels = [level for curve in curves for _, level in curve.points]
        here = [level_near(curve, now) for curve in curves] if now is not None else []
        top = max(levels, default=1.0)
        cap = HEADROOM * max([*here, least or 0.0], default=0.0)
        self.low, self.high = min(oils, default=0.0), max(oils, default=100.0)
        self.top = max(1.1 * (least or 0.0), min(1.05 * top, cap) if cap > 0 else 1.05 * top) or 1.0

    def x(self, oil: float) -> float:
        """Across, for an oil layer. [px]"""
        share = (oil - self.low) / ((self.high - self.low) or 1.0)
        return LEFT + min(max(share, 0.0), 1.0) * (WIDTH - LEFT - RIGHT)

    def y(self, level: float) -> float:
        """Down, for a level. [px]"""
        return HEIGHT - BOTTOM - min(level / self.top, 1.0) * (HEIGHT - TOP - BOTTOM)


def level_near(curve: LevelCurve, oil: float) -> float:
    """The level of a curve at an oil layer, straight between its points. [% w/w of the water layer]"""
    points = curve.points
    for (left, a), (right, b) in pairwise(points):
        if left <= oil <= right:
            return a + (b - a) * ((oil - left) / (right - left) if right > left else 0.0)
    return points[0][1] if oil < points[0][0] else points[-1][1]


def ticks(low: float, high: float, about: int = 6) -> list[float]:
    """Round numbers from ``low`` to ``high``.

    Examples
    --------
    >>> ticks(0, 0.9)
    [0.0, 0.2, 0.4, 0.6, 0.8]
    """
    rough = (high - low) / about
    if rough <= 0:
        return [low]
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= rough)
    first = math.ceil(low / step - 1e-9)
    return [round(n * step, 10) for n in range(first, math.floor(high / step + 1e-9) + 1)]


def _text(
    x: float, y: float, words: str, *, anchor: str = "start", fill: str = INK, weight: int = 400, size: float = 0
) -> str:
    bigger = f";font-size:{size:g}px" if size else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" '
        f'style="fill:{fill};font-weight:{weight}{bigger}">{escape(words)}</text>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, stroke: str, width: float = 1, dash: str = "") -> str:
    dashed = f";stroke-dasharray:{dash}" if dash else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
        f'style="stroke:{stroke};stroke-width:{width:g}{dashed}"/>'
    )


def _band(frame: _Frame, window: tuple[float, float] | None) -> list[str]:
    if window is None or window[1] <= frame.low or window[0] >= frame.high:
        return []
    left, right = frame.x(window[0]), frame.x(window[1])
    words = f"window of ratios, {window[0]:.1f} to {window[1]:.1f} %"
    band = (
        f'<rect class="sw-window" x="{left:.1f}" y="{TOP:.1f}" width="{right - left:.1f}" '
        f'height="{HEIGHT - TOP - BOTTOM:.1f}" style="fill:{WATER};fill-opacity:0.14"/>'
    )
    return [band, _text(min(left, WIDTH - RIGHT - 200), TOP - 22, words, fill=SOFT)]


def _axes(frame: _Frame) -> list[str]:
    foot, right = HEIGHT - BOTTOM, WIDTH - RIGHT
    parts = []
    for level in ticks(0.0, frame.top):
        parts += [
            _line(LEFT, frame.y(level), right, frame.y(level), RULE),
            _text(LEFT - 8, frame.y(level) + 4, f"{level:g}", anchor="end", fill=SOFT),
        ]
    for oil in ticks(frame.low, frame.high, 8):
        parts += [
            _line(frame.x(oil), foot, frame.x(oil), foot + 4, SOFT),
            _text(frame.x(oil), foot + 18, f"{oil:g}", anchor="middle", fill=SOFT),
        ]
    upright = (
        f'<text transform="translate(16 {(TOP + foot) / 2:.1f}) rotate(-90)" text-anchor="middle" '
        f'style="fill:{SOFT}">in the water layer, % w/w of it</text>'
    )
    return [
        *parts,
        upright,
        _line(LEFT, foot, right, foot, SOFT),
        _text((LEFT + right) / 2, HEIGHT - 10, "oil layer, % of the whole by mass", anchor="middle", fill=SOFT),
    ]


def _least(frame: _Frame, least: float | None) -> list[str]:
    if least is None:
        return []
    y = frame.y(least)
    return [
        _line(LEFT, y, WIDTH - RIGHT, y, STOP, 1.6, "7 3"),
        _text(WIDTH - RIGHT - 6, y - 5, f"your least level, {least:g} %", anchor="end", fill=STOP),
    ]


def _now(frame: _Frame, curves: Sequence[LevelCurve], now: float | None) -> list[str]:
    if now is None:
        return []
    x, foot = frame.x(now), HEIGHT - BOTTOM
    dots = [
        f'<circle cx="{x:.1f}" cy="{frame.y(level_near(curve, now)):.1f}" r="3.6" style="fill:{INK}"/>'
        for curve in curves
        if level_near(curve, now) <= frame.top
    ]
    mark = f'<path d="M{x - 6:.1f} {foot + 9:.1f}h12l-6 -9z" style="fill:{INK}"/>'
    return [_line(x, TOP - 3, x, foot, INK, 1.2), mark, _text(x - 4, TOP - 6, f"now {now:.1f} %"), *dots]


def _curves(frame: _Frame, curves: Sequence[LevelCurve]) -> list[str]:
    parts, ends = [], []
    dashes = iter(DASHES * (1 + len(curves) // len(DASHES)))
    for curve in curves:
        points = _inside(curve, frame.top)
        path = "M" + "L".join(f"{frame.x(oil):.1f} {frame.y(level):.1f}" for oil, level in points)
        stroke, dash = (SOFT, SIMPLE_DASH) if curve.is_simple else (LINE, next(dashes))
        dashed = f";stroke-dasharray:{dash}" if dash else ""
        parts.append(
            f'<path class="sw-curve" d="{path}" style="fill:none;stroke:{stroke};stroke-width:2.2;'
            f'stroke-linecap:round{dashed}"/>'
        )
        ends.append((frame.x(points[-1][0]), frame.y(points[-1][1]), curve.name))
    # from above downwards; of two that leave the picture at its top, the one that leaves first stands above
    ends.sort(key=lambda end: (end[1], end[0]))
    for (x, y, name), at in zip(ends, spread([y for _, y, _ in ends]), strict=True):
        label = WIDTH - RIGHT + 22
        parts.append(_line(x + 2, y, label - 4, at, SOFT, 0.8))
        parts.append(_text(label, at + 4, name, weight=500))
    return parts


def _inside(curve: LevelCurve, top: float) -> list[tuple[float, float]]:
    """The points of a curve up to where it leaves the picture at its top for the first time."""
    kept: list[tuple[float, float]] = []
    for oil, level in curve.points:
        if level > top:
            if kept:
                before, last = kept[-1]
                kept.append((before + (oil - before) * (top - last) / (level - last), top))
            break
        kept.append((oil, level))
    return kept or [(curve.points[0][0], top)]


def spread(places: Sequence[float], apart: float = APART) -> list[float]:
    """Places for labels, in order and at least ``apart`` from each other, inside the picture. [px]

    Examples
    --------
    >>> spread([100.0, 102.0, 300.0], apart=10)
    [100.0, 110.0, 300.0]
    """
    placed: list[float] = []
    for place in places:
        placed.append(max(place, placed[-1] + apart) if placed else place)
    lowest = HEIGHT - BOTTOM
    for n in range(len(placed) - 1, -1, -1):
        placed[n] = min(placed[n], lowest)
        lowest = placed[n] - apart
    return placed


def _in_words(curves: Sequence[LevelCurve], title: str, now: float | None, least: float | None) -> str:
    words = [title]
    if now is not None:
        told = "; ".join(f"{curve.name}: {level_near(curve, now):.3g} %" for curve in curves)
        words.append(f"With an oil layer of {now:.1f} %, in the water layer: {told}")
    if least is not None:
        words.append(f"Your least level is {least:g} %")
    return ". ".join(words)
