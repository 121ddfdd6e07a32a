"""The cost of 100 g against the oil layer, its phases stacked and the window of ratios left clear, as SVG text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.figures.chart import INK, PAPER, SOFT, Frame, area, axes, cut, line, room_for, svg, words
from kit.money import money

if TYPE_CHECKING:
    from kit.bench.cost_across import CostAcross, CostPart

WIDTH, HEIGHT = 840.0, 340.0
LEFT, RIGHT, TOP, BOTTOM = 62.0, 190.0, 46.0, 46.0
#: Two names beside the stack stand at least this far apart. [px]
APART = 17.0
#: The first phase of a layer is drawn this strong, each further one weaker.
STRENGTHS = (0.75, 0.5, 0.32, 0.6, 0.4)
COLOURS = {
    "water": "var(--sw-water,#4f8fb0)",
    "oil": "var(--sw-oil,#d3a144)",
    "other": "var(--sw-other,#998eae)",
}


def cost_picture(
    across: CostAcross, *, now: float | None = None, window: tuple[float, float] | None = None, title: str = ""
) -> str:
    """What 100 g cost at every ratio, materials and waste only.

    Parameters
    ----------
    now
        The oil layer in hand; where the path starts, unless another one is given. [% w/w of the whole]
    window
        The oil layers between which all holds that was judged; the rest is veiled. [% w/w of the whole]
    """
    here = min(max(across.now if now is None else now, across.low), across.high)
    if across.high - across.low < 1e-9:
        return ""
    top = max(cost for _, cost in across.points())
    frame = Frame(
        LEFT, TOP, WIDTH - LEFT - RIGHT, HEIGHT - TOP - BOTTOM, across.low, across.high, 0.0, 1.12 * top or 1.0
    )
    unit = f"{_at_least(across)}{across.currency or 'money'} for 100 g"
    parts = [
        words(LEFT, 18, title or "What 100 g cost at every ratio", size=15, weight=650),
        *axes(frame, "oil layer, % of the whole by mass", unit),
        *_bands(frame, across),
        *_veils(frame, across, window),
        *_now(frame, across, here),
    ]
    return svg(WIDTH, HEIGHT, _in_words(across, here, window), parts)


def _bands(frame: Frame, across: CostAcross) -> list[str]:
    """The stack, each phase a band between two straight lines, its name at its right end."""
    low, high = across.low, across.high
    left = right = 0.0
    parts, names = [], []
    for strength, part in _with_strength(across):
        a, b = left + part.at(low), right + part.at(high)
        corners = [(low, left), (low, a), (high, b), (high, right)]
        drawn = [(frame.x(oil), frame.y(cost)) for oil, cost in corners]
        parts.append(area(drawn, fill=COLOURS[part.kind], opacity=strength))
        parts.append(line(drawn[1:3], stroke=INK, width=1))
        names.append((frame.y((right + b) / 2), part.name))
        left, right = a, b
    names.sort()
    at = -APART
    edge = frame.left + frame.width
    for y, name in names:
        at = max(at + APART, y)
        parts.append(line([(edge + 2, y), (edge + 18, at)], stroke=SOFT, width=0.8))
        parts.append(words(edge + 22, at + 4, cut(name, RIGHT - 28), weight=500))
    return parts


def _with_strength(across: CostAcross) -> list[tuple[float, CostPart]]:
    seen: dict[str, int] = {}
    found = []
    for part in across.parts:
        found.append((STRENGTHS[seen.get(part.kind, 0) % len(STRENGTHS)], part))
        seen[part.kind] = seen.get(part.kind, 0) + 1
    return found


def _veils(frame: Frame, across: CostAcross, window: tuple[float, float] | None) -> list[str]:
    """A veil over the ratios at which a rule is broken, and the window's ends named."""
    if window is None:
        return []
    bottom, right = frame.top + frame.height, frame.left + frame.width
    low, high = (frame.x(min(max(end, frame.x_low), frame.x_high)) for end in window)
    parts = []
    for start, end in ((frame.left, low), (high, right)):
        if end > start:
            corners = [(start, frame.top), (end, frame.top), (end, bottom), (start, bottom)]
            parts.append(area(corners, fill=PAPER, opacity=0.72))
    parts += [line([(end, frame.top), (end, bottom)], stroke=SOFT, width=1.2, dash="5 4") for end in (low, high)]
    told = f"what was judged holds {_from_to(across, window)}"
    at = min(max((low + high) / 2, frame.left + room_for(told) / 2), right - room_for(told) / 2)
    return [*parts, words(at, frame.top - 6, told, anchor="middle", fill=SOFT)]


def _now(frame: Frame, across: CostAcross, oil: float) -> list[str]:
    cost = across.at(oil)
    x, y, bottom = frame.x(oil), frame.y(cost), frame.top + frame.height
    told = f"now {oil:.1f} %: {_money(across, oil)}"
    to_left = x + 8 + room_for(told) > frame.left + frame.width
    place = (x - 9, "end") if to_left else (x + 9, "start")
    beside = min(max(oil + (frame.x_high - frame.x_low) * room_for(told) / frame.width, frame.x_low), frame.x_high)
    above = frame.y(max(cost, across.at(oil if to_left else beside)))
    return [
        line([(x, frame.top), (x, bottom)], stroke=INK, width=1.2),
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" style="fill:{INK}"/>',
        words(place[0], max(above - 8, frame.top + 14), told, anchor=place[1], weight=650),
    ]


def _at_least(across: CostAcross) -> str:
    return "at least " if across.missing else ""


def _money(across: CostAcross, oil: float) -> str:
    """The cost of 100 g at this oil layer, as far as there are prices."""
    return _at_least(across) + money(across.at(oil), across.currency)


def _in_words(across: CostAcross, oil: float, window: tuple[float, float] | None) -> str:
    said = [
        f"100 g cost {_money(across, oil)} with an oil layer of {oil:.1f} %",
        f"{_money(across, across.low)} at {across.low:.1f} % and {_money(across, across.high)} at {across.high:.1f} %",
    ]
    if window is not None:
        said.append(f"what was judged holds {_from_to(across, window)}")
    return "; ".join(said)


def _from_to(across: CostAcross, window: tuple[float, float]) -> str:
    ends = [min(max(end, across.low), across.high) for end in window]
    return " ".join(
        f"{word} {end:.1f} % ({_money(across, end)})" for word, end in zip(("from", "to"), ends, strict=True)
    )
