"""A bottle to scale with the layers in it, as SVG: for what stands in it at another time or temperature."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.layers.bottle import Bottle
    from kit.library.ingredient import PhaseKind

#: The drawn bottle, the least room for its words, and what a letter takes of it. [px]
HIGH, WORDS, LETTER = 260, 190, 6.6


@dataclass(frozen=True, slots=True)
class DrawnLayer:
    """One layer from its bottom to its top, with its words; its uppermost part may be drawn as ice. [mm, 0 to 1]"""

    kind: PhaseKind
    words: str
    bottom: float
    top: float
    ice: float = 0.0


def bottle_svg(standing: Sequence[DrawnLayer], bottle: Bottle, said: str) -> str:
    """The layers of a bottle, from below; ``said`` is read out in place of the drawing."""
    scale = HIGH / bottle.height
    widest = max(radius for _, radius in bottle.half_widths()) * scale
    words = max([WORDS, *(LETTER * len(layer.words) for layer in standing)])
    middle, width = widest + 6, 2 * widest + words + 16
    outline = _outline(bottle, scale, middle)
    name = f"sw-life-{abs(hash((bottle, said))) % 10**8}"
    head = (
        f'<svg role="img" aria-label="{escape(said, quote=True)}" viewBox="0 0 {width:.0f} {HIGH + 14}" '
        f'width="{width:.0f}" height="{HIGH + 14}" style="font: 12px system-ui, sans-serif; max-width: 100%">'
    )
    parts = [
        head,
        f'<clipPath id="{name}"><path d="{outline}"/></clipPath><g clip-path="url(#{name})">',
    ]
    for layer in standing:
        high = (layer.top - layer.bottom) * scale
        parts.append(_box(layer.top, high, widest, scale, f'fill="var(--sw-{layer.kind})"'))
        if layer.ice > 0:
            look = 'fill="var(--sw-paper)" fill-opacity="0.6" stroke="var(--sw-soft)" stroke-dasharray="4 3"'
            parts.append(_box(layer.top, high * layer.ice, widest, scale, look))
    parts.append(f'</g><path d="{outline}" fill="none" stroke="var(--sw-soft)" stroke-width="1.5"/>')
    lowest = float("inf")
    for layer in standing:
        lowest = min(_y((layer.bottom + layer.top) / 2, scale) + 4, lowest - 15)
        x = f"{2 * widest + 14:.0f}"
        parts.append(f'<text x="{x}" y="{lowest:.1f}" fill="var(--sw-ink)">{escape(layer.words)}</text>')
    return "".join([*parts, "</svg>"])


def _box(top: float, high: float, widest: float, scale: float, look: str) -> str:
    return f'<rect x="6" y="{_y(top, scale):.1f}" width="{2 * widest:.1f}" height="{high:.1f}" {look}/>'


def _y(height: float, scale: float) -> float:
    return HIGH + 8 - height * scale


def _outline(bottle: Bottle, scale: float, middle: float) -> str:
    half = bottle.half_widths()
    points = [(0.0, half[0][1]), *half, (bottle.height, half[-1][1])]
    left = [f"{middle - radius * scale:.1f},{_y(height, scale):.1f}" for height, radius in points]
    right = [f"{middle + radius * scale:.1f},{_y(height, scale):.1f}" for height, radius in reversed(points)]
    return f"M{' L'.join([*left, *right])} Z"
