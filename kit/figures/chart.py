"""A small chart as SVG text: frame, axes, lines, bands, marks and words, with no script and no outside file.

Every text is escaped here. Colours are the panels' own where a panel shows the chart, and the same ones written
out where a paper does, so one chart serves both.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from textwrap import wrap
from typing import TYPE_CHECKING

from kit.figures.preservation import ticks
from kit.visible_text import visible

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

INK, SOFT, RULE = "var(--sw-ink,#1f2a33)", "var(--sw-soft,#55626c)", "var(--sw-rule,#cfc8b8)"
STOP, PAPER = "var(--sw-stop,#a3262a)", "var(--sw-paper,#ffffff)"
XMLNS = "http://www.w3.org/2000/svg"
FONT = "system-ui,-apple-system,'Segoe UI','Noto Sans','DejaVu Sans',sans-serif"
#: Marks of batches: shape, and whether it is filled. After the last they come round again; the legend tells.
SHAPES = (
    ("circle", True),
    ("square", False),
    ("triangle", True),
    ("diamond", False),
    ("circle", False),
    ("square", True),
    ("triangle", False),
    ("diamond", True),
)
#: Lines of batches, in the same order.
DASHES = ("", "7 4", "2 3", "10 4 2 4", "5 3 1 3 1 3", "14 4", "1 4", "8 3 8 3 2 3")
#: An average character of the chart's words is this wide, as a part of their size; enough to keep words apart.
CHARACTER = 0.56

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Frame:
    """A rectangle on the picture and the numbers along its two sides. [px; units of the data]"""

    left: float
    top: float
    width: float
    height: float
    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def x(self, value: float) -> float:
        """Across. [px]"""
        return self.left + (value - self.x_low) / (self.x_high - self.x_low) * self.width

    def y(self, value: float) -> float:
        """Down. [px]"""
        return self.top + self.height - (value - self.y_low) / (self.y_high - self.y_low) * self.height

    def holds(self, value: float) -> bool:
        """Whether a number lies between the ends of the upright axis."""
        return self.y_low <= value <= self.y_high


def padded(numbers: Iterable[float], *, least: float | None = None) -> tuple[float, float]:
    """Ends of an axis a little beyond the numbers, never below ``least``, never of no length."""
    found = [*numbers] or [0.0, 1.0]
    low, high = min(found), max(found)
    room = 0.08 * (high - low) or max(abs(high), 1.0) * 0.05
    return (low - room if least is None else max(low - room, least)), high + room


def as_markup(text: str) -> str:
    """A text as it may stand in HTML and SVG: escaped, and every sign that cannot be seen written as its number."""
    return escape(visible(text))


def svg(width: float, height: float, label: str, parts: Iterable[str], *, css_class: str = "sw-chart") -> str:
    """The whole picture; ``label`` is what a screen reader says."""
    look = f"width:100%;max-width:{width:g}px;height:auto;font:12px {FONT};font-variant-numeric:tabular-nums"
    return (
        f'<svg xmlns="{XMLNS}" class="{css_class}" viewBox="0 0 {width:g} {height:g}" role="img" '
        f'aria-label="{as_markup(label)}" style="{look}">{"".join(parts)}</svg>'
    )


def words(
    x: float,
    y: float,
    text: str,
    *,
    anchor: str = "start",
    size: float = 12,
    fill: str = INK,
    weight: int = 400,
    turn: bool = False,
    halo: bool = False,
) -> str:
    """One line of text; ``turn`` sets it upright along the side, ``halo`` keeps lines behind it away from it."""
    around = f";paint-order:stroke;stroke:{PAPER};stroke-width:4px;stroke-linejoin:round" if halo else ""
    turned = f' transform="rotate(-90 {x:.1f} {y:.1f})"' if turn else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size:g}" font-weight="{weight}" '
        f'style="fill:{fill}{around}"{turned}>{as_markup(text)}</text>'
    )


def room_for(text: str, size: float = 12) -> float:
    """About how wide a line of text is. [px]"""
    return len(text) * size * CHARACTER


def cut(text: str, room: float, size: float = 12) -> str:
    """The text, or its beginning with an ellipsis where it is too wide for ``room``. [px]"""
    most = max(int(room / (size * CHARACTER)), 1)
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def in_lines(text: str, room: float, size: float = 12) -> list[str]:
    """The text on one line, or on two where it is too wide for ``room``; cut only where two are not enough. [px]"""
    found = wrap(text, max(int(room / (size * CHARACTER)), 1)) or [""]
    return found if len(found) <= 2 else [found[0], cut(" ".join(found[1:]), room, size)]


def line(points: Sequence[Point], *, stroke: str = INK, width: float = 1.6, dash: str = "") -> str:
    """A line through points. [px]"""
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<polyline points="{path}" style="fill:none;stroke:{stroke}" stroke-width="{width:g}"{dashes}/>'


def area(points: Sequence[Point], *, fill: str, opacity: float = 0.16) -> str:
    """A filled shape between points. [px]"""
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return f'<polygon points="{path}" style="fill:{fill};stroke:none" fill-opacity="{opacity:g}"/>'


def mark(x: float, y: float, number: int, *, colour: str, size: float = 4.2, title: str = "") -> str:
    """The mark of the ``number``-th batch; ``title`` is shown while a pointer rests on it."""
    shape, filled = SHAPES[number % len(SHAPES)]
    look = f'style="fill:{colour if filled else PAPER};stroke:{colour}" stroke-width="1.6"'
    told = f"<title>{as_markup(title)}</title>" if title else ""
    if shape == "circle":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size:g}" {look}>{told}</circle>'
    corners = {
        "square": [(-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)],
        "triangle": [(0, -1.2), (1.1, 0.8), (-1.1, 0.8)],
        "diamond": [(0, -1.3), (1.3, 0), (0, 1.3), (-1.3, 0)],
    }[shape]
    path = " ".join(f"{x + a * size:.1f},{y + b * size:.1f}" for a, b in corners)
    return f'<polygon points="{path}" {look}>{told}</polygon>'


def ring(x: float, y: float, *, size: float = 8.0) -> str:
    """What is put around a reading outside its limit."""
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size:g}" style="fill:none;stroke:{STOP}" stroke-width="1.6"/>'


def axes(
    frame: Frame,
    x_title: str = "",
    y_title: str = "",
    *,
    steps: Sequence[tuple[float, str]] = (),
    across: Sequence[tuple[float, str]] = (),
    numbers: bool = True,
) -> list[str]:
    """Grid, numbers along both sides and their titles.

    Parameters
    ----------
    steps, across
        What stands along the upright axis and below the chart, where it is not plain numbers: (place, words).
    numbers
        False where the upright axis repeats that of the chart to its left.
    """
    right, bottom = frame.left + frame.width, frame.top + frame.height
    parts = []
    below = list(across) or [
        (one, f"{one:g}") for one in ticks(frame.x_low, frame.x_high, 5 if frame.width < 300 else 8)
    ]
    upright = list(steps) or [
        (one, f"{one:g}") for one in ticks(frame.y_low, frame.y_high, 5 if frame.height < 180 else 6)
    ]
    for value, said in upright:
        y = frame.y(value)
        parts.append(line([(frame.left, y), (right, y)], stroke=RULE, width=1))
        if numbers:
            parts.append(words(frame.left - 7, y + 4, said, anchor="end", fill=SOFT))
    for value, said in below:
        x = frame.x(value)
        parts.append(line([(x, bottom), (x, bottom + 4)], stroke=SOFT, width=1))
        parts.append(words(x, bottom + 17, said, anchor="middle", fill=SOFT))
    parts.append(line([(frame.left, bottom), (right, bottom)], stroke=SOFT, width=1))
    if x_title:
        parts.append(words(frame.left + frame.width / 2, bottom + 35, x_title, anchor="middle", fill=SOFT))
    if y_title:
        middle = frame.top + frame.height / 2
        lines = in_lines(y_title, frame.height + 24)
        for number, said in enumerate(lines):
            parts.append(words(14 + 13 * number, middle, said, anchor="middle", fill=SOFT, turn=True))
    return parts


def legend(x: float, y: float, entries: Sequence[tuple[str, str]], right: float) -> list[str]:
    """Signs and their words in a row that wraps before ``right``; a sign is SVG drawn around 0, 0. [px]"""
    parts, at = [], x
    for sign, text in entries:
        wide = 30 + room_for(text)
        if at > x and at + wide > right:
            at, y = x, y + 18
        parts.append(f'<g transform="translate({at + 12:.1f} {y - 4:.1f})">{sign}</g>')
        parts.append(words(at + 28, y, text))
        at += wide + 14
    return parts
