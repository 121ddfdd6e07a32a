"""The bottle some time after shaking, as SVG: clear layers, and in between drops as dense as they still are."""

from __future__ import annotations

import math
from html import escape
from typing import TYPE_CHECKING

from kit.layers.separation import clearing, drops_by_height
from kit.layers.shaken_product import time_words

if TYPE_CHECKING:
    from kit.layers.shaken import Shaken

#: The drawing is this high without its words. [px]
HEIGHT = 250
WORDS = 122
MOST_DOTS = 260
#: The golden angle's share of a turn spreads the drops evenly without a pattern.
GOLDEN = (math.sqrt(5) - 1) / 2


def shaken_bottle_svg(shaken: Shaken, second: float, tip: float | None = None) -> str:
    """The bottle at one time after shaking.

    Parameters
    ----------
    second
        [s]
    tip
        Height of a dip tube's tip, to draw it. [mm]
    """
    bottle = shaken.bottle
    scale = HEIGHT / bottle.height
    widest = max(radius for _, radius in bottle.half_widths())
    half = widest * scale
    width = 2 * half + WORDS + 16
    middle = half + 6
    outline = _outline(shaken, scale, middle)
    state = clearing(shaken, [second])
    lower, upper = float(state.lower[0]), float(state.upper[0])
    name = f"sw-bottle-{abs(hash((bottle, second, shaken.drops.kind))) % 10**8}"
    head = (
        f'<svg role="img" aria-label="{escape(_said(shaken, second, lower, upper, state.surface), quote=True)}" '
        f'viewBox="0 0 {width:.0f} {HEIGHT + 14}" width="{width:.0f}" height="{HEIGHT + 14}" '
        'style="font: 12px system-ui, sans-serif">'
    )
    parts = [
        head,
        f'<clipPath id="{name}"><path d="{outline}"/></clipPath>',
        f'<g clip-path="url(#{name})">{_liquid(shaken, second, scale, middle, half)}</g>',
        f'<path d="{outline}" fill="none" stroke="var(--sw-soft)" stroke-width="1.5"/>',
    ]
    if tip is not None:
        parts.append(
            f'<path d="M{middle:.1f} 4V{_y(tip, scale):.1f}" stroke="var(--sw-ink)" stroke-width="2.5" fill="none"/>'
        )
    parts += _words(shaken, (lower, upper, state.surface), scale, 2 * half + 14)
    return "".join([*parts, "</svg>"])


def _y(height: float, scale: float) -> float:
    return HEIGHT + 8 - height * scale


def _outline(shaken: Shaken, scale: float, middle: float) -> str:
    half_widths = shaken.bottle.half_widths()
    points = [(0.0, half_widths[0][1]), *half_widths, (shaken.bottle.height, half_widths[-1][1])]
    right = [f"{middle + r * scale:.1f} {_y(h, scale):.1f}" for h, r in points]
    left = [f"{middle - r * scale:.1f} {_y(h, scale):.1f}" for h, r in reversed(points)]
    return f"M{'L'.join([*right, *left])}Z"


def _liquid(shaken: Shaken, second: float, scale: float, middle: float, half: float) -> str:
    """The surround everywhere, the drops' own layer over it, and drops as dots where it is mixed."""
    slices = drops_by_height(shaken, second)
    surface = slices[-1][1]
    x = middle - half
    under = (
        f'<rect x="{x:.1f}" y="{_y(surface, scale):.1f}" width="{2 * half:.1f}" height="{surface * scale:.1f}" '
        f'fill="var(--sw-{shaken.surround.kind})"/>'
    )
    drawn = [under]
    turn, colour = 0.0, f"var(--sw-{shaken.drops.kind})"
    dense = max((share for _, _, share in slices if share < 1), default=1.0) or 1.0
    for bottom, top, share in slices:
        if share >= 1:
            drawn.append(
                f'<rect x="{x:.1f}" y="{_y(top, scale):.1f}" width="{2 * half:.1f}" '
                f'height="{(top - bottom) * scale:.1f}" fill="{colour}"/>'
            )
            continue
        count = round(MOST_DOTS * (top - bottom) / surface * share / dense)
        for n in range(count):
            turn = (turn + GOLDEN) % 1
            up = bottom + (top - bottom) * (n + 0.5) / count
            drawn.append(
                f'<circle cx="{x + 2 * half * turn:.1f}" cy="{_y(up, scale):.1f}" r="2.6" fill="{colour}" '
                f'stroke="var(--sw-{shaken.drops.kind}-ink)" stroke-width="0.7"/>'
            )
    return "".join(drawn)


def _words(shaken: Shaken, heights: tuple[float, float, float], scale: float, x: float) -> list[str]:
    lower, upper, surface = heights
    above, below = (shaken.drops, shaken.surround) if shaken.rises else (shaken.surround, shaken.drops)
    zones = (
        (0.0, lower, f"clear {below.kind}, {lower:.0f} mm"),
        (lower, upper, "mixed"),
        (upper, surface, f"clear {above.kind}, {surface - upper:.0f} mm"),
    )
    written, lowest = [], float("inf")
    for bottom, top, words in zones:
        if top - bottom >= 0.5:
            lowest = min(_y((bottom + top) / 2, scale) + 4, lowest - 15)
            written.append(f'<text x="{x:.0f}" y="{lowest:.1f}" fill="var(--sw-ink)">{escape(words)}</text>')
    return written


def _said(shaken: Shaken, second: float, lower: float, upper: float, surface: float) -> str:
    return (
        f"{shaken.drops.kind} drops in {shaken.surround.kind} {time_words(second)} after shaking: clear below to "
        f"{lower:.0f} mm, mixed to {upper:.0f} mm, clear above to {surface:.0f} mm"
    )
