"""A blend of three on a triangle: lines of equal score, the allowed part, the bottles made, the best and the next.

With more parts than three the others are held, and the triangle is a cut. Two parts are a line. All is SVG text.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.figures.chart import (
    INK,
    PAPER,
    RULE,
    SOFT,
    STOP,
    Frame,
    area,
    as_markup,
    axes,
    cut,
    legend,
    line,
    mark,
    padded,
    svg,
    words,
)
from kit.figures.contours import OIL, contours
from kit.figures.triangle_cut import BASE, MIDDLE, TOP, Cut, pixel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.blends.fit import BlendFit
    from kit.blends.region import BlendRegion, Point
    from kit.figures.contours import Scores

#: The picture. [px]
WIDTH, HEIGHT = 640.0, 500.0
#: Into so many steps an edge is parted where its shares are written.
MARKED = 4


@dataclass(frozen=True, slots=True)
class Sign:
    """A blend marked on the triangle: "here", "best" or "next"."""

    kind: str
    point: Point
    words: str = ""


def triangle_picture(
    chosen: Cut,
    *,
    scores: Scores | None = None,
    what: str = "",
    bottles: Sequence[tuple[str, Point]] = (),
    signs: Sequence[Sign] = (),
) -> str:
    """The triangle as SVG.

    Parameters
    ----------
    scores
        What is drawn as lines of equal score: blends → a number for each. None: the design alone.
    what
        What the scores are, with their unit.
    bottles
        The bottles made: their code and blend; one that lies beside the cut is pale.
    """
    parts = []
    told = [f"Triangle of {', '.join(chosen.region.names[n] for n in chosen.axes)}."]
    if scores is not None:
        levels, drawn, labels = contours(chosen, scores)
        parts += drawn
        told.append(f"Lines of equal {what or 'score'} at {', '.join(f'{level:g}' for level in levels) or 'no level'}.")
    else:
        labels = []
    parts += [*_outside(chosen), *_grid(chosen), *_edge(chosen), *labels]
    parts += [_bottle(chosen, n, code, point) for n, (code, point) in enumerate(bottles)]
    parts += [_sign(chosen, sign) for sign in signs]
    told += [f"{len(bottles)} bottles made." if bottles else "", *(f"{sign.kind}: {sign.words}." for sign in signs)]
    entries = [*([(f'<g style="opacity:1">{mark(0, 0, 0, colour=INK)}</g>', "bottle")] if bottles else [])]
    entries += [(_shape(0, 0, sign.kind), sign.kind) for sign in signs]
    parts += legend(24, HEIGHT - 8, entries, WIDTH - 20)
    if what and scores is not None:
        parts.append(words(24, 22, f"Lines: {what}", fill=SOFT))
    return svg(WIDTH, HEIGHT, " ".join(filter(None, told)), parts, css_class="sw-chart sw-mixture")


def _outside(chosen: Cut) -> list[str]:
    """What lies outside the bounds is covered."""
    whole = [pixel(corner) for corner in ((1, 0, 0), (0, 1, 0), (0, 0, 1))]
    inside = [pixel(corner) for corner in chosen.allowed()]
    if not inside:
        return [words(MIDDLE, BASE - 60, "no allowed blend in this cut", anchor="middle", fill=STOP)]
    shapes = "".join("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in shape) + "Z" for shape in (whole, inside))
    return [f'<path d="{shapes}" fill-rule="evenodd" style="fill:{PAPER};stroke:none"/>']


def _edge(chosen: Cut) -> list[str]:
    inside = [pixel(corner) for corner in chosen.allowed()]
    return [line([*inside, inside[0]], stroke=INK, width=2.2)] if inside else []


def _grid(chosen: Cut) -> list[str]:
    """The triangle with its shares along the edges and the names at its corners."""
    corners = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    parts = [line([pixel(corner) for corner in (*corners, corners[0])], stroke=SOFT, width=1.2)]
    for at in range(3):
        before, after = (at + 2) % 3, (at + 1) % 3
        for step in range(1, MARKED):
            weight = step / MARKED
            ends = []
            for other in (before, after):
                place = [0.0, 0.0, 0.0]
                place[at], place[other] = weight, 1 - weight
                ends.append(pixel(place))
            parts.append(line(ends, stroke=RULE, width=1))
            (x, y), share = ends[1], chosen.low[at] + chosen.room * weight
            dx, dy, anchor = ((-8, 0, "end"), (-2, 22, "middle"), (8, 0, "start"))[at]
            parts.append(words(x + dx, y + dy, f"{share:.3g}", anchor=anchor, size=11.5, fill=SOFT))
    for at, (x, y, anchor) in enumerate(
        ((MIDDLE, TOP - 14, "middle"), (24, BASE + 44, "start"), (616, BASE + 44, "end"))
    ):
        name = f"{cut(chosen.region.names[chosen.axes[at]], 270)} {chosen.low[at] + chosen.room:.3g} %"
        parts.append(words(x, y, name, anchor=anchor, weight=650, halo=True))
    held = [
        f"{name} {share:.3g} %"
        for n, (name, share) in enumerate(zip(chosen.region.names, chosen.held, strict=True))
        if n not in chosen.axes
    ]
    if held:
        parts.append(words(WIDTH - 20, 22, cut(f"held: {', '.join(held)}", 380), anchor="end", fill=SOFT))
    return parts


def _bottle(chosen: Cut, number: int, code: str, point: Point) -> str:  # noqa: ARG001
    x, y = pixel(chosen.weights(point))
    shares = ", ".join(f"{name} {share:.3g} %" for name, share in zip(chosen.region.names, point, strict=True))
    drawn = mark(x, y, 0, colour=INK, size=5, title=f"{code}: {shares}")
    return drawn if chosen.is_near(point) else f'<g style="opacity:0.35">{drawn}</g>'


def _sign(chosen: Cut, sign: Sign) -> str:
    x, y = pixel(chosen.weights(sign.point))
    return f"<g>{_shape(x, y, sign.kind)}<title>{as_markup(f'{sign.kind}: {sign.words}')}</title></g>"


def _shape(x: float, y: float, kind: str) -> str:
    """A cross for where the hand is, a ring with a cross for the best, a diamond for the next bottle."""
    look = f'style="fill:none;stroke:{INK}" stroke-width="2.4"'
    cross = f'<path d="M{x - 9:.1f} {y:.1f}H{x + 9:.1f}M{x:.1f} {y - 9:.1f}V{y + 9:.1f}" {look}/>'
    if kind == "here":
        return cross
    if kind == "best":
        return f'{cross}<circle cx="{x:.1f}" cy="{y:.1f}" r="9" {look}/>'
    return f'<path d="M{x:.1f} {y - 10:.1f}L{x + 10:.1f} {y:.1f}L{x:.1f} {y + 10:.1f}L{x - 10:.1f} {y:.1f}Z" {look}/>'


def line_picture(region: BlendRegion, fit: BlendFit, *, coverage: float = 95.0, signs: Sequence[Sign] = ()) -> str:
    """A blend of two: the score along every mix, the band in which its mean lies, and the bottles, as SVG."""
    first = region.tight[0]
    across = [first.low + (first.high - first.low) * n / 60 for n in range(61)]
    found = [fit.interval((x, 100 - x), coverage) for x in across]
    has_band = fit.error is not None
    numbers = [*fit.values, *(one for row in found for one in (row if has_band else row[:1]))]
    frame = Frame(70, 30, 540, 370, first.low, first.high, *padded(numbers))
    parts = axes(frame, f"{first.name}, % of the blend; the rest is {region.names[1]}", fit.what or "score")
    if has_band:
        band = [(frame.x(x), frame.y(row[2])) for x, row in zip(across, found, strict=True)]
        band += [(frame.x(x), frame.y(row[1])) for x, row in reversed(list(zip(across, found, strict=True)))]
        parts.append(area(band, fill=OIL, opacity=0.3))
    parts.append(line([(frame.x(x), frame.y(row[0])) for x, row in zip(across, found, strict=True)], width=2))
    for point, value in zip(fit.points, fit.values, strict=True):
        parts.append(mark(frame.x(point[0]), frame.y(value), 0, colour=INK, size=5))
    for sign in signs:
        parts.append(_shape(frame.x(sign.point[0]), frame.y(fit.interval(sign.point)[0]), sign.kind))
    entries = [(mark(0, 0, 0, colour=INK), "bottle"), *((_shape(0, 0, sign.kind), sign.kind) for sign in signs)]
    parts += legend(70, 480, entries, WIDTH - 20)
    ends = f"from {min(numbers):.3g} to {max(numbers):.3g}"
    label = f"{fit.what or 'Score'} {ends} along the mixes of {' and '.join(region.names)}."
    return svg(WIDTH, HEIGHT, label, parts, css_class="sw-chart sw-mixture")
