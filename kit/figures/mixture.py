"""A blend of three on a triangle: lines of equal score, the allowed part, the bottles made, the best and the next.

With more parts than three the others are held, and the triangle is a cut. Two parts are a line. All is SVG text.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.errors import RangeError
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
from kit.figures.preservation import ticks

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from kit.blends.fit import BlendFit
    from kit.blends.region import BlendRegion, Point

    Pixel = tuple[float, float]
    Scores = Callable[[Sequence[Point]], Iterable[float]]

#: The picture, and the triangle in it: middle of its base, height of base and top. [px]
WIDTH, HEIGHT = 640.0, 500.0
MIDDLE, BASE, TOP = 320.0, 400.0, 52.0
SIDE = (BASE - TOP) / 0.8660254037844386
#: Into so many steps an edge is parted where scores are worked out, and where its shares are written.
STEPS, MARKED = 24, 4
#: A bottle whose held parts are farther from the cut than this is drawn pale. [% w/w of the blend]
NEAR = 0.5
OIL = "var(--sw-oil,#d3a144)"
#: How dark the lowest and the highest band are.
PALE, DARK = 0.06, 0.72


@dataclass(frozen=True, slots=True)
class Cut:
    """Three parts of a blend on a triangle as large as their least shares leave room for, the others held.

    Attributes
    ----------
    axes
        The places of the three: at the top, to the left, to the right.
    held
        A blend; its other parts are held at the shares that they have in it. [% w/w of the blend]

    Raises
    ------
    RangeError
        The parts that are held leave the three no room.
    """

    region: BlendRegion
    axes: tuple[int, int, int]
    held: Point

    def __post_init__(self) -> None:
        if self.room <= 1e-6:
            msg = "The parts that are held leave no room for the three on the triangle. Hold them lower."
            raise RangeError(msg)

    @property
    def low(self) -> tuple[float, ...]:
        """The least shares of the three. [% w/w of the blend]"""
        return tuple(self.region.parts[n].low for n in self.axes)

    @property
    def room(self) -> float:
        """What is shared among the three above their least. [% w/w of the blend]"""
        held = sum(share for n, share in enumerate(self.held) if n not in self.axes)
        return 100.0 - held - sum(self.low)

    def blends(self, places: Iterable[Sequence[float]]) -> list[Point]:
        """The blends at places of the triangle, each by its weights of the three corners, which add to 1."""
        top, left, right = self.axes
        (first, second, third), room = self.low, self.room
        found = []
        for a, b, c in places:
            point = list(self.held)
            point[top], point[left], point[right] = first + room * a, second + room * b, third + room * c
            found.append(tuple(point))
        return found

    def blend(self, weights: Sequence[float]) -> Point:
        """The blend at one place of the triangle."""
        return self.blends([weights])[0]

    @property
    def most(self) -> tuple[float, ...]:
        """The most weight that each of the three may have."""
        low, room = self.low, self.room
        return tuple((self.region.parts[n].high - least) / room for n, least in zip(self.axes, low, strict=True))

    def weights(self, point: Sequence[float]) -> tuple[float, ...]:
        """Where a blend lies, by its weights of the three corners."""
        return tuple((point[n] - least) / self.room for n, least in zip(self.axes, self.low, strict=True))

    def allowed(self) -> list[tuple[float, ...]]:
        """The corners, as weights, of the part of the triangle in which the three keep their bounds."""
        corners: list[tuple[float, ...]] = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
        for at, most in enumerate(self.most):
            corners = _below(corners, at, most)
        return corners

    def is_near(self, point: Sequence[float]) -> bool:
        """Whether a blend lies in the cut."""
        return all(
            abs(share - held) <= NEAR
            for n, (share, held) in enumerate(zip(point, self.held, strict=True))
            if n not in self.axes
        )


@dataclass(frozen=True, slots=True)
class Sign:
    """A blend marked on the triangle: "here", "best" or "next"."""

    kind: str
    point: Point
    words: str = ""


def pixel(weights: Sequence[float]) -> Pixel:
    """Where a place of the triangle is drawn. [px]"""
    _, left, right = weights
    return MIDDLE + (right - left) * SIDE / 2, BASE - weights[0] * (BASE - TOP)


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
        levels, drawn, labels = _contours(chosen, scores)
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


def _below(corners: list[tuple[float, ...]], at: int, most: float) -> list[tuple[float, ...]]:
    """The part of a flat shape in which one weight is no more than ``most`` (Sutherland and Hodgman 1974)."""
    kept: list[tuple[float, ...]] = []
    for here, there in zip(corners, corners[1:] + corners[:1], strict=True):
        if here[at] <= most + 1e-12:
            kept.append(here)
        if (here[at] - most) * (there[at] - most) < -1e-24:
            part = (most - here[at]) / (there[at] - here[at])
            kept.append(tuple(a + part * (b - a) for a, b in zip(here, there, strict=True)))
    return kept


def _contours(chosen: Cut, scores: Scores) -> tuple[list[float], list[str], list[str]]:
    """Levels, bands with their lines, and the numbers on the lines."""
    weights, pixels, triangles = _lattice()
    inside = chosen.allowed()
    values = list(map(float, scores(chosen.blends([*weights, *inside]))))
    first, second, third = (most + 1e-9 for most in chosen.most)
    seen = [
        value for value, (a, b, c) in zip(values, weights, strict=False) if a <= first and b <= second and c <= third
    ]
    seen += values[len(weights) :]
    if not seen or max(seen) - min(seen) < 1e-9:
        return [], [], []
    levels = [level for level in ticks(min(seen), max(seen), 8) if min(seen) < level < max(seen)]
    bands: list[list[str]] = [[] for _ in range(len(levels) + 1)]
    ends: dict[float, list[tuple[Pixel, Pixel]]] = {level: [] for level in levels}
    for a, b, c, path in triangles:
        three = (values[a], values[b], values[c])
        lowest, highest = bisect_right(levels, min(three)), bisect_left(levels, max(three))
        if lowest >= highest:
            bands[lowest].append(path)
        else:
            _part_one(list(zip((pixels[a], pixels[b], pixels[c]), three, strict=True)), levels, bands, ends)
    drawn = []
    for n, shapes in enumerate(bands):
        dark = PALE + (DARK - PALE) * n / max(len(bands) - 1, 1)
        if shapes:
            drawn.append(f'<path d="{"".join(shapes)}" style="fill:{OIL};stroke:none" fill-opacity="{dark:.2f}"/>')
    for pairs in ends.values():
        path = "".join(f"M{a[0]:.1f} {a[1]:.1f}L{b[0]:.1f} {b[1]:.1f}" for a, b in pairs)
        drawn.append(f'<path d="{path}" style="fill:none;stroke:{INK}" stroke-width="1.1"/>')
    return levels, drawn, _numbers(ends, [pixel(corner) for corner in inside])


@lru_cache(maxsize=1)
def _lattice() -> tuple[list[tuple[float, ...]], list[Pixel], list[tuple[int, int, int, str]]]:
    """The places where scores are worked out, as weights and as pixels, and the small triangles between them."""
    places = [(STEPS - n - m, n, m) for n in range(STEPS + 1) for m in range(STEPS + 1 - n)]
    weights = [tuple(step / STEPS for step in place) for place in places]
    pixels = [pixel(weight) for weight in weights]
    at = {place: n for n, place in enumerate(places)}
    triangles = []
    for three in _small_triangles():
        a, b, c = (at[place] for place in three)
        triangles.append((a, b, c, _path([(pixels[n], 0.0) for n in (a, b, c)])))
    return weights, pixels, triangles


def _small_triangles() -> Iterable[tuple[tuple[int, int, int], ...]]:
    """The triangles into which the large one is parted, each by its three places."""
    for left in range(STEPS):
        for right in range(STEPS - left):
            top = STEPS - left - right
            yield (top, left, right), (top - 1, left + 1, right), (top - 1, left, right + 1)
            if top > 1:
                yield (top - 1, left + 1, right), (top - 1, left, right + 1), (top - 2, left + 1, right + 1)


def _part_one(
    corners: list[tuple[Pixel, float]],
    levels: Sequence[float],
    bands: list[list[str]],
    ends: dict[float, list[tuple[Pixel, Pixel]]],
) -> None:
    """Cut a small triangle at the levels, taking its score as a plane: the pieces by band, and the cuts by level."""
    rest = corners
    highest = max(value for _, value in corners)
    for n, level in enumerate(levels):
        if level <= min(value for _, value in rest):
            continue
        if level >= highest:
            bands[n].append(_path(rest))
            return
        lower: list[tuple[Pixel, float]] = []
        upper: list[tuple[Pixel, float]] = []
        crossed: list[Pixel] = []
        for here, there in zip(rest, rest[1:] + rest[:1], strict=True):
            (lower if here[1] < level else upper).append(here)
            if (here[1] < level) != (there[1] < level):
                part = (level - here[1]) / (there[1] - here[1])
                spot = tuple(a + part * (b - a) for a, b in zip(here[0], there[0], strict=True))
                crossed.append((spot[0], spot[1]))
                lower.append((crossed[-1], level))
                upper.append((crossed[-1], level))
        bands[n].append(_path(lower))
        if len(crossed) == 2:
            ends[level].append((crossed[0], crossed[1]))
        rest = upper
    bands[len(levels)].append(_path(rest))


def _path(corners: Sequence[tuple[Pixel, float]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for (x, y), _ in corners) + "Z" if len(corners) > 2 else ""


def _numbers(ends: dict[float, list[tuple[Pixel, Pixel]]], inside: Sequence[Pixel]) -> list[str]:
    """Each level's number once on its line, within the allowed part and away from the numbers before it."""
    placed: list[Pixel] = []
    found = []
    for level, pairs in ends.items():
        spots = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in pairs]
        spots = [spot for spot in spots if _depth(spot, inside) > 12] or [s for s in spots if _depth(s, inside) > 0]
        if spots:
            x, y = max(spots, key=lambda spot: min([60.0, _depth(spot, inside), *(_far(spot, one) for one in placed)]))
            placed.append((x, y))
            found.append(words(x, y + 4, f"{level:g}", anchor="middle", size=12, weight=600, halo=True))
    return found


def _far(one: Pixel, other: Pixel) -> float:
    return float(((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2) ** 0.5)


def _depth(spot: Pixel, corners: Sequence[Pixel]) -> float:
    """How far within a convex shape a spot lies; below zero outside. [px]"""
    found = []
    for a, b in zip(corners, [*corners[1:], *corners[:1]], strict=True):
        length = _far(a, b)
        if length > 1e-9:
            found.append(((b[0] - a[0]) * (spot[1] - a[1]) - (b[1] - a[1]) * (spot[0] - a[0])) / length)
    turned = sum(found) < 0
    return min((-one if turned else one) for one in found) if found else -1.0


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
