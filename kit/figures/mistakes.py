"""The common mistakes of a class as bars, for the next lesson: SVG without a script."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.figures.chart import INK, RULE, SOFT, cut, in_lines, line, svg, words

if TYPE_CHECKING:
    from collections.abc import Sequence

WIDTH, LABELS, ROW, HEAD = 720.0, 400.0, 40.0, 26.0
BAR = "var(--sw-water,#3f7fa0)"


def mistakes_figure(made: Sequence[tuple[str, int]], learners: int) -> str:
    """Bars of how many learners made which mistake, in the order given, as SVG.

    Parameters
    ----------
    made
        Words of the mistake, and how many learners made it.
    learners
        How many there are in all: the whole width.
    """
    right = WIDTH - 30
    scale = (right - LABELS) / max(learners, 1)
    high = HEAD + ROW * len(made) + 14
    parts = [words(LABELS, 14, f"learners, of {learners}", size=11, fill=SOFT)]
    for at, (said, count) in enumerate(made):
        middle = HEAD + ROW * (at + 0.5)
        lines = in_lines(said, LABELS - 16)
        for number, text in enumerate(lines):
            y = middle + 4 + 14 * (number - (len(lines) - 1) / 2)
            parts.append(words(LABELS - 10, y, cut(text, LABELS - 16), anchor="end"))
        parts.append(
            f'<rect x="{LABELS:g}" y="{middle - 9:.1f}" width="{scale * count:.1f}" height="18" style="fill:{BAR}"/>'
        )
        parts.append(words(LABELS + scale * count + 6, middle + 4, str(count), fill=INK, weight=600))
    parts.append(line([(LABELS, HEAD - 4), (LABELS, high - 10)], stroke=RULE, width=1))
    told = "; ".join(f"{said}: {count}" for said, count in made) or "none"
    return svg(WIDTH, high, f"Common mistakes by the number of learners, of {learners}: {told}", parts)
