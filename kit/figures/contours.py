"""Lines of equal score on a triangle, the bands between them, and the numbers on the lines, as SVG."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.figures.chart import INK, words
from kit.figures.preservation import ticks
from kit.figures.triangle_cut import pixel

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from kit.blends.region import Point
    from kit.figures.triangle_cut import Cut, Pixel

    Scores = Callable[[Sequence[Point]], Iterable[float]]

#: Into so many steps an edge is parted where scores are worked out.
STEPS = 24
OIL = "var(--sw-oil,#d3a144)"
#: How dark the lowest and the highest band are.
PALE, DARK = 0.06, 0.72


def contours(chosen: Cut, scores: Scores) -> tuple[list[float], list[str], list[str]]:
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
