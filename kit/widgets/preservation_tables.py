"""The words and numbers of the panel on preservatives: the levels now, and where a least level is reached."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.layers.density_words import HOW
from kit.widgets.html import sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.layers.preservation import Reading, WaterLevel
    from kit.layers.preservation_end import Reached
    from kit.layers.preservatives import Found


def reached_row(reached: Reached, found: Found, least: float, reading: Reading, level: WaterLevel) -> list[str]:
    """One least level of the maker's with one K: the cells of its row."""
    which = "undissociated " if reading == "undissociated" and found.about.form == "acid" else ""
    there, side = _where(reached)
    return [
        f"{which}{found.inci}, at least {least:g} %",
        f"{level.k.value:g}",
        level_text(level.percent(reading)),
        side,
        there,
    ]


def _where(reached: Reached) -> tuple[str, str]:
    """The crossings and the side on which the level holds, in words."""
    if not reached.ends:
        return "—", "at every ratio" if reached.holds == "everywhere" else "at no ratio"
    sides = {"from": "above", "to": "below"}
    return (
        ", ".join(f"{end.at:.2f}" for end in reached.ends),
        ", ".join(sides[end.side] for end in reached.ends),
    )


def level_text(percent: float | None) -> str:
    """A level for reading, to three figures.

    Examples
    --------
    >>> level_text(0.25), level_text(0.00656), level_text(None)
    ('0.250', '0.00656', 'not counted')
    """
    return "not counted" if percent is None else f"{percent:#.3g}".removesuffix(".")


def level_table(levels: Sequence[WaterLevel], ph: float | None, basis: str) -> str:
    """The levels now, three ways side by side, as HTML."""
    readings: tuple[Reading, ...] = ("simple", "partition", "whole", "undissociated")
    rows = []
    for n, level in enumerate(levels):
        values = [level.percent(each) if basis == "w/w" else level.in_volume(each) for each in readings]
        again = n > 0 and levels[n - 1].inci == level.inci
        rows.append(
            [
                _name(levels, n),
                "" if again else level_text(level.of_whole),
                ""
                if not level.k.value
                else f"{level.k.value:g},\u00a0{level.k.words if level.k.is_known else 'guess'}",
                *[level_text(value) for value in values],
            ]
        )
    at_ph = "at the pH" if ph is None else f"at pH {ph:g}"
    head = ["preservative", "% of the whole", "K", "all in the water", "by K", f"by K, {at_ph}", "of it undissociated"]
    density = f"water layer {levels[0].water_density:.3f} g/mL, {HOW}"
    beside = f"With an oil layer of {levels[0].oil:.1f} %, in" if levels[0].oil > 0 else "In"
    caption = f"{beside} % {basis} of the water layer ({density}). Salts are counted as their acids."
    return sheet(head, rows, numbers=(1, 3, 4, 5, 6), caption=caption)


def _name(levels: Sequence[WaterLevel], n: int) -> str:
    """The preservative on its first row, what brings it on the second, or both where there is only one."""
    level = levels[n]
    place = sum(before.inci == level.inci for before in levels[:n])
    brought = f"from {', '.join(level.found.forms)}" if level.found.is_salt else ""
    if place:
        return brought if place == 1 else ""
    alone = sum(other.inci == level.inci for other in levels) == 1
    return f"{level.inci} ({brought})" if alone and brought else level.inci
