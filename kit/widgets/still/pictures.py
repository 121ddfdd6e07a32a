"""The drawn parts of a still, each as a picture: a live figure, the bottle and all ratios, a panel's own SVG.

A picture is an ``img`` that holds its SVG itself: it runs no script, asks for no file, and stays in an untrusted
notebook, which would take a bare SVG away. Beside a figure stand its numbers, so nothing hangs on the picture alone.
"""

from __future__ import annotations

import re
from base64 import b64encode
from html import escape, unescape
from itertools import groupby, pairwise
from math import isfinite, log10
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.figures.chart import INK, SOFT, XMLNS, Frame, area, axes, line, padded, svg, words
from kit.figures.theme import LAYER_COLOURS, PAPER
from kit.visible_text import visible

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    Point = tuple[float, float]

BASE = Path(__file__).resolve().parent.parent / "base.css"
#: A picture is so wide, one chart of a figure so high, a triangle of so long a side. [px]
WIDTH, HEIGHT, SIDE = 760.0, 330.0, 330.0
#: A line is drawn through at most so many points, and at most so many rows of its numbers are written.
POINTS, ROWS = 120, 8

_SVG = re.compile(r"<svg\b(.*?)>(.*?)</svg>", re.DOTALL)
_LABEL = re.compile(r'aria-label="(.*?)"', re.DOTALL)
_BOX = re.compile(r'viewBox="\S+ \S+ ([\d.]+) ([\d.]+)"')
#: No style sheet reaches a picture: the colours of the panels' light dress, and what theirs says of drawings.
_COLOURS = "".join(
    re.findall(r"--sw-[a-z-]+: #[0-9a-f]+;", BASE.read_text(encoding="utf-8").partition("}")[2].partition("}")[0])
)
_LOOK = (
    "<style>svg{"
    + _COLOURS
    + "}text{fill:#1f2a33;font:13px system-ui,sans-serif}.sw-small{fill:#55626c;font-size:12px}"
    ".sw-strong{font-weight:650;font-size:15px}.sw-sign{fill:#55626c;font-size:26px;text-anchor:middle}"
    ".sw-filling{fill:#4f8fb0}.sw-glass{fill:none;stroke:#55626c;stroke-width:1.6}"
    ".sw-diagonal{fill:none;stroke:#4f8fb0;stroke-width:2}.sw-middle{fill:#fff;stroke:#4f8fb0;stroke-width:1.6}"
    "</style>"
)
_SHADES = (0.85, 0.6, 0.4, 0.72)


# ---- SVG as a picture -------------------------------------------------------------------------------------


def with_images(html: str) -> str:
    """A panel's HTML with every drawing in it turned into a picture."""
    return _SVG.sub(lambda found: _image(found[1], found[2]), html) if "<svg" in html else html


def _image(attributes: str, inside: str) -> str:
    label = _LABEL.search(attributes)
    box = _BOX.search(attributes)
    wide, high = (float(box[1]), float(box[2])) if box else (WIDTH, HEIGHT)
    kept = attributes if "xmlns=" in attributes else f'{attributes} xmlns="{XMLNS}"'
    ground = f'<rect width="{wide:g}" height="{high:g}" fill="{PAPER}"/>'
    look = _LOOK if "class=" in inside or "var(--sw-" in inside else ""
    data = b64encode(f"<svg{kept}>{look}{ground}{inside}</svg>".encode()).decode()
    alt = label[1] if label else "drawing"
    return f'<img style="max-width:{wide:g}px" alt="{alt}" src="data:image/svg+xml;base64,{data}">'


# ---- the bottle and all ratios ----------------------------------------------------------------------------


def ratio_picture(view: Mapping[str, Any]) -> str:
    """The bottle at the left, every line of the formula at every ratio at the right, and where it stands now."""
    wide = max(radius for _, radius in view["outline"])
    scale = min(240 / view["height"], 70 / wide)
    middle, floor = 90.0, 275.0

    def sides(low: float, high: float) -> list[Point]:
        inside = [(low, _radius(view, low)), *(p for p in view["outline"] if low < p[0] < high)]
        inside.append((high, _radius(view, high)))
        right = [(middle + r * scale, floor - mm * scale) for mm, r in inside]
        return [*right, *((2 * middle - x, y) for x, y in reversed(right))]

    parts = [
        area(sides(layer["bottom"], layer["top"]), fill=_layer_colour(layer), opacity=0.85) for layer in view["layers"]
    ]
    glass = sides(0, view["height"])
    parts.append(line([*glass, glass[0]], stroke=SOFT))
    frame = Frame(240, 20, 490, 250, 0, view["most"], 0, 100)
    seen: dict[str, int] = {}
    for band in view["bands"]:
        shade = _SHADES[seen.get(band["kind"], 0) % len(_SHADES)]
        seen[band["kind"]] = seen.get(band["kind"], 0) + 1
        upper = [(frame.x(oil), frame.y(min(top, 100))) for oil, _, top in band["points"]]
        lower = [(frame.x(oil), frame.y(min(low, 100))) for oil, low, _ in band["points"]]
        parts.append(area([*upper, *reversed(lower)], fill=_layer_colour(band), opacity=shade))
    for end in (view["low"], view["high"]) if view["is_open"] else ():
        x = frame.x(end["at"])
        parts.append(line([(x, 20), (x, 270)], stroke=SOFT, dash="2 3"))
    now = frame.x(view["now"])
    parts += [line([(now, 14), (now, 270)], width=2.4), *axes(frame, "Oil layer [% w/w of the whole]")]
    return with_images(svg(WIDTH, 320, f"The bottle and all ratios: {view['now_label']}", parts))


def _radius(view: Mapping[str, Any], mm: float) -> float:
    return float(next((radius for height, radius in view["outline"] if height >= mm), view["outline"][-1][1]))


def _layer_colour(part: Mapping[str, Any]) -> str:
    return escape(part["colour"] or LAYER_COLOURS[part["kind"]])


# ---- a live figure ----------------------------------------------------------------------------------------


def figure_still(figure: Any) -> str:
    """A plotly figure as a plain chart, with its lines' names and some of their numbers behind a click."""
    traces = [trace for trace in figure.data if _is_drawn(trace)]
    if not traces:
        notes = [_plain(note.text) for note in figure.layout.annotations]
        return "".join(f"<div>{_text(note)}</div>" for note in notes)
    title = _plain(figure.layout.title.text)
    heading = f"<div><b>{_text(title)}</b></div>" if title else ""
    names = {_plain(trace.name): _colour(trace) for trace in reversed(traces) if trace.showlegend is not False}
    signs = [f'<span style="color:{colour}">■</span> {_text(name)}' for name, colour in names.items() if name]
    heading += f"<div>{' · '.join(reversed(signs))}</div>" if signs else ""
    return heading + _drawing(figure, traces, title or "chart") + _numbers(figure, traces)


def _is_drawn(trace: Any) -> bool:
    return trace.type in ("scatter", "scatterternary") and trace.visible is not False and bool(len(_columns(trace)[0]))


def _columns(trace: Any) -> list[list[Any]]:
    """What a line runs through, as typed: x and y, or the three parts of a mix."""
    names = "abc" if trace.type == "scatterternary" else "xy"
    columns = [list(trace[name]) if trace[name] is not None else [] for name in names]
    shortest = min(map(len, columns))
    return [column[:shortest] for column in columns]


def _drawing(figure: Any, traces: Sequence[Any], title: str) -> str:
    if traces[0].type == "scatterternary":
        return with_images(svg(SIDE + 140, SIDE, title, _triangle(figure, traces)))
    keys = list(dict.fromkeys((trace.xaxis or "x", trace.yaxis or "y") for trace in traces))
    parts: list[str] = []
    for number, key in enumerate(keys):
        mine = [trace for trace in traces if (trace.xaxis or "x", trace.yaxis or "y") == key]
        parts += _chart(figure, mine, key, HEIGHT * number)
    return with_images(svg(WIDTH, HEIGHT * len(keys), title, parts))


def _chart(figure: Any, traces: Sequence[Any], key: tuple[str, str], top: float) -> list[str]:
    across, upright = (figure.layout[name[0] + "axis" + name[1:]] for name in key)
    lines = _stacked([(trace, _points(trace, across.type == "log", upright.type == "log")) for trace in traces])
    xs = [x for _, points in lines for x, _ in points if isfinite(x)]
    ys = [y for _, points in lines for _, y in points if isfinite(y)]
    if not (xs and ys):
        return []
    x_low, x_high = _ends(across, xs)
    y_low, y_high = _ends(upright, ys)
    frame = Frame(74, top + 14, WIDTH - 94, HEIGHT - 66, x_low, x_high, y_low, y_high)
    below = [(one, f"{10**one:.3g}") for one in _steps(x_low, x_high)] if across.type == "log" else ()
    steps = [(one, f"{10**one:.3g}") for one in _steps(y_low, y_high)] if upright.type == "log" else _named(upright)
    parts = axes(frame, _plain(across.title.text), _plain(upright.title.text), steps=steps, across=below)
    for shape in figure.layout.shapes:
        parts += _shape(shape, key, frame, (across.type == "log", upright.type == "log"))
    for trace, points in lines:
        parts += _trace(trace, [(frame.x(x), frame.y(y)) for x, y in points], frame)
    return parts


def _shape(shape: Any, key: tuple[str, str], frame: Frame, logs: tuple[bool, bool]) -> list[str]:
    """A line straight across or upright, as limits and marked times are drawn."""
    if shape.type != "line":
        return []
    ends = []
    for x, y in ((shape.x0, shape.y0), (shape.x1, shape.y1)):
        if shape.xref not in (key[0], f"{key[0]} domain") or shape.yref not in (key[1], f"{key[1]} domain"):
            return []
        right = frame.left + frame.width * _number(x) if "domain" in shape.xref else frame.x(_scaled(x, logs[0]))
        down = frame.top + frame.height * (1 - _number(y)) if "domain" in shape.yref else frame.y(_scaled(y, logs[1]))
        ends.append((right, down))
    return [line(ends, stroke=SOFT, dash="3 3")]


def _trace(trace: Any, points: Sequence[Point], frame: Frame | None = None) -> list[str]:
    colour, parts = _colour(trace), []
    step = max(1, len(points) // POINTS)
    thin = [p for n, p in enumerate(points) if n % step == 0 or n == len(points) - 1 or not _is_there(p)]
    pieces = [[*piece] for there, piece in groupby(thin, _is_there) if there]
    thin = [p for p in thin if _is_there(p)]
    if not thin:
        return []
    if frame is not None and _stack(trace):
        floor = frame.y(max(0.0, frame.y_low))
        parts.append(area([(thin[0][0], floor), *thin, (thin[-1][0], floor)], fill=colour, opacity=0.9))
    elif trace.fill == "toself":
        own = trace.fillcolor
        parts.append(area(thin, fill=escape(own) if own else colour, opacity=1 if own else 0.16))
    dash = {"dash": "7 4", "dot": "2 3"}.get(trace.line.dash or "", "")
    if "lines" in (trace.mode or "lines") and trace.line.width != 0:
        parts += [line(piece, stroke=colour, dash=dash) for piece in pieces]
    if "markers" in (trace.mode or ""):
        parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.6" style="fill:{colour}"/>' for x, y in thin]
    said = trace.text if isinstance(trace.text, (tuple, list)) and "text" in (trace.mode or "") else ()
    told = [(text, p) for text, p in zip(said, points, strict=False) if text and _is_there(p)]
    parts += [words(x + 5, y - 7, _plain(text), halo=True) for text, (x, y) in told]
    return parts


def _stack(trace: Any) -> str:
    """The pile of bands that a line belongs to."""
    return (trace.stackgroup or "") if trace.type == "scatter" else ""


def _stacked(lines: Sequence[tuple[Any, list[Point]]]) -> list[tuple[Any, list[Point]]]:
    """Bands that lie on one another, at their height; the uppermost first, so that the lower ones cover it."""
    stacks: dict[str, list[float]] = {}
    found = []
    for trace, points in lines:
        if group := _stack(trace):
            below = stacks.get(group, [0.0] * len(points))
            stacks[group] = [y + base for (_, y), base in zip(points, below, strict=False)]
            found.append((trace, [(x, y) for (x, _), y in zip(points, stacks[group], strict=False)]))
        else:
            found.append((trace, points))
    bands = [pair for pair in found if _stack(pair[0])]
    return [*reversed(bands), *(pair for pair in found if not _stack(pair[0]))]


def _triangle(figure: Any, traces: Sequence[Any]) -> list[str]:
    """Three parts of a whole: the first at the top, the second at the left, the third at the right."""
    high = SIDE * 0.8

    def at(a: float, b: float, c: float) -> Point:
        whole = a + b + c or 1.0
        return 70 + SIDE * (c + a / 2) / whole, 28 + high * (1 - a / whole)

    corners = [at(1, 0, 0), at(0, 1, 0), at(0, 0, 1)]
    parts = [line(pair, stroke=SOFT) for pair in pairwise([*corners, corners[0]])]
    names = [_plain(figure.layout.ternary[f"{letter}axis"].title.text) for letter in "abc"]
    for (x, y), name, down in zip(corners, names, (-10, 20, 20), strict=True):
        parts.append(words(x, y + down, name, anchor="middle"))
    for trace in traces:
        a, b, c = _columns(trace)
        parts += _trace(trace, [at(_number(x), _number(y), _number(z)) for x, y, z in zip(a, b, c, strict=True)])
    return parts


def _numbers(figure: Any, traces: Sequence[Any]) -> str:
    """Some numbers of each line, evenly spread from its first to its last."""
    ternary = traces[0].type == "scatterternary"
    rows = []
    for trace in traces:
        columns = _columns(trace)
        count = len(columns[0])
        picked = sorted({round(n * (count - 1) / max(1, min(ROWS, count) - 1)) for n in range(min(ROWS, count))})
        name = _plain(trace.name) or "line"
        name += f" ({len(picked)} of {count} points)" if len(picked) < count else ""
        rows += [[name if n == picked[0] else "", *(_figure(column[n]) for column in columns)] for n in picked]
    axis = figure.layout.ternary if ternary else figure.layout
    heads = [_plain(axis[f"{name}axis"].title.text) or name for name in ("abc" if ternary else "xy")]
    head = "".join(f"<th>{_text(one)}</th>" for one in ("", *heads))
    body = "".join("<tr>" + "".join(f"<td>{_text(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<details><summary>its numbers</summary><table><tr>{head}</tr>{body}</table></details>"


def _points(trace: Any, x_log: bool, y_log: bool) -> list[Point]:
    xs, ys = _columns(trace)
    return [(_scaled(x, x_log), _scaled(y, y_log)) for x, y in zip(xs, ys, strict=True)]


def _is_there(point: Point) -> bool:
    return isfinite(point[0]) and isfinite(point[1])


def _named(axis: Any) -> list[tuple[float, str]]:
    """What stands along an axis, where it is not plain numbers."""
    values, texts = axis.tickvals, axis.ticktext
    if values is None:
        return []
    said = [_plain(text) for text in texts] if texts is not None else [f"{_number(one):g}" for one in values]
    return [(_number(one), text) for one, text in zip(values, said, strict=False)]


def _scaled(value: Any, log: bool) -> float:
    number = _number(value)
    return number if not log else log10(number) if number > 0 else float("nan")


def _number(value: Any) -> float:
    try:
        return float(value)
    except (TypeError, ValueError):
        return float("nan")


def _ends(axis: Any, numbers: Iterable[float]) -> tuple[float, float]:
    if axis.range and all(isfinite(_number(end)) for end in axis.range):
        low, high = sorted(map(float, axis.range))
        return (low, high) if low < high else padded([low])
    numbers = [*numbers]
    low, high = padded(numbers)
    return (min(0.0, *numbers) if axis.rangemode == "tozero" else low), high


def _steps(low: float, high: float) -> list[float]:
    return [float(n) for n in range(int(low) - 1, int(high) + 2) if low <= n <= high]


def _figure(value: Any) -> str:
    number = _number(value)
    return f"{number:.5g}" if isfinite(number) else "" if value is None else str(value)


def _colour(trace: Any) -> str:
    found = trace.line.color or trace.marker.color or INK
    if _stack(trace) or trace.line.width == 0:
        found = trace.fillcolor or found
    return escape(found) if isinstance(found, str) else INK


def _plain(text: Any) -> str:
    """The words of a text in which plotly takes marks for HTML."""
    return unescape(re.sub(r"<[^>]*>", " ", str(text or ""))).strip()


def _text(said: str) -> str:
    return escape(visible(said))
