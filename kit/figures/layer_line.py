"""The line between two layers at each of its grades, drawn small beside its word."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from kit.in_use.line_between import line_grades

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.in_use.line_between import LineGrade

#: A piece of a bottle's wall, with the line across it. [px]
WIDTH, HEIGHT, LINE = 92, 84, 42
#: Between the colours of the two layers.
CLOUD = "var(--sw-soft)"


def layer_line_svg(word: str) -> str:
    """One grade as a drawing: the piece of a bottle in which the line is.

    Examples
    --------
    >>> layer_line_svg("sharp").startswith('<svg role="img" aria-label="sharp: one thin line')
    True
    """
    grade = next(one for one in line_grades() if one.word == word)
    inside = _DRAWN[word]()
    return (
        f'<svg role="img" aria-label="{escape(f"{word}: {grade.seen}", quote=True)}" '
        f'viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}">'
        f'<rect x="1" y="1" width="{WIDTH - 2}" height="{LINE - 1}" fill="var(--sw-oil)" fill-opacity="0.45"/>'
        f'<rect x="1" y="{LINE}" width="{WIDTH - 2}" height="{HEIGHT - LINE - 1}" fill="var(--sw-water)" '
        f'fill-opacity="0.4"/>{inside}'
        f'<path d="M1 0V{HEIGHT}M{WIDTH - 1} 0V{HEIGHT}" stroke="var(--sw-soft)" stroke-width="2" fill="none"/></svg>'
    )


def layer_lines_html() -> str:
    """All grades in a row: drawing, number and word, and what is seen."""
    return (
        '<div style="display: flex; flex-wrap: wrap; gap: 10px 18px; margin: 6px 0">'
        + "".join(_one(grade) for grade in line_grades())
        + "</div>"
    )


def _one(grade: LineGrade) -> str:
    return (
        f'<div style="flex: 0 1 {WIDTH + 50}px; min-width: {WIDTH}px">{layer_line_svg(grade.word)}'
        f"<div><b>{grade.grade} {escape(grade.word)}</b></div>"
        f'<div class="sw-subtitle">{escape(grade.seen)}</div></div>'
    )


def _edge(width: float = 1.2) -> str:
    return f'<path d="M2 {LINE}H{WIDTH - 2}" stroke="var(--sw-ink)" stroke-width="{width}"/>'


def _sharp() -> str:
    return _edge(1.6)


def _haze() -> str:
    """Cloud that thins out on either side of the line."""
    bands = ((16, 0.1), (11, 0.14), (7, 0.18), (3.5, 0.22))
    return "".join(
        f'<rect x="2" y="{LINE - reach}" width="{WIDTH - 4}" height="{2 * reach}" fill="{CLOUD}" '
        f'fill-opacity="{part}"/>'
        for reach, part in bands
    )


def _lace() -> str:
    """Drops side by side along the line, some on a second row."""
    first = "".join(_ring(8 + 9.5 * n, LINE - 1 + (n % 2), 4.2) for n in range(9))
    second = "".join(_ring(13 + 19 * n, LINE - 8.5, 3.2) for n in range(4))
    return first + second


def _ring(x: float, y: float, radius: float) -> str:
    return f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="var(--sw-paper)" stroke="var(--sw-ink)"/>'


def _film() -> str:
    """A skin with a fold in it."""
    end = f"58 {LINE + 2}S80 {LINE - 3} {WIDTH - 2} {LINE}"
    path = f"M2 {LINE}C18 {LINE - 1} 24 {LINE - 7} 33 {LINE - 6}S48 {LINE + 4} {end}"
    return (
        f'<path d="{path}" fill="none" stroke="var(--sw-paper)" stroke-width="7"/>'
        f'<path d="{path}" fill="none" stroke="var(--sw-ink)" stroke-width="3.2" stroke-opacity="0.75"/>'
    )


def _crystals() -> str:
    """Needles and grains on the line and a few below it."""
    needles = ((10, -2, 9, -8), (22, 0, 4, -9), (36, -1, 12, -3), (52, 0, -6, -9), (64, -1, 9, -7), (79, 0, -3, -9))
    fallen = ((15, 33, 7, -3), (44, 36, -8, -2), (70, 34, 6, -4))
    return _edge(0.8) + "".join(
        f'<path d="M{x} {LINE + y}l{dx} {dy}" stroke="var(--sw-ink)" stroke-width="2" stroke-linecap="round"/>'
        for x, y, dx, dy in (*needles, *fallen)
    )


def _rag() -> str:
    """A creamy layer of its own with drops packed in it."""
    top, low = LINE - 11, LINE + 11
    drops = "".join(
        _ring(7 + 8.6 * n + (4.3 if row % 2 else 0), top + 4 + 7.2 * row, 3.4) for row in range(3) for n in range(9)
    )
    return (
        f'<rect x="2" y="{top}" width="{WIDTH - 4}" height="{low - top}" fill="var(--sw-paper)"/>{drops}'
        f'<path d="M2 {top}H{WIDTH - 2}M2 {low}H{WIDTH - 2}" stroke="var(--sw-ink)" stroke-width="1.2"/>'
    )


_DRAWN: dict[str, Callable[[], str]] = {
    "sharp": _sharp, "haze": _haze, "lace": _lace, "film": _film, "crystals": _crystals, "rag layer": _rag,
}  # fmt: skip
