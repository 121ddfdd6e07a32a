"""How a measured colour drifts: a row of patches for each bottle, each with its difference from the start."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.figures.chart import INK, SOFT, STOP, as_markup, cut, room_for, svg, words
from kit.stability.colour_difference import delta_e_2000
from kit.stability.reading import read_value
from kit.stability.study import current

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.stability.plan import Attribute
    from kit.stability.study import Observation, Study


#: White of the colorimetric illuminant D65 in XYZ, 2 degree observer, Y = 1 (from its chromaticity 0.3127, 0.3290).
D65 = (0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290)

#: XYZ to linear sRGB (IEC 61966-2-1:1999, four digits).
_TO_RGB = ((3.2406, -1.5372, -0.4986), (-0.9689, 1.8758, 0.0415), (0.0557, -0.2040, 1.0570))

#: A channel may lie this far beyond what a screen shows before the colour counts as clipped; rounding alone makes less.
_SLACK = 0.002

OUT_OF_GAMUT = "outside what a screen can show; the nearest edge is drawn"

ONLY_A_GUIDE = "L*, a*, b* are taken to be for D65; a patch on a screen is a guide to the eye, not a measurement."


@dataclass(frozen=True, slots=True)
class Patch:
    """A colour to draw: ``hexadecimal`` such as "#d9c28a", and whether it had to be ``clipped`` to be shown."""

    hexadecimal: str
    clipped: bool


def patch_of(lab: Sequence[float]) -> Patch:
    """The sRGB colour of L*, a*, b* under D65, each channel cut off where a screen ends.

    References
    ----------
    .. [1] CIE 15:2004, Colorimetry, 8.2.1 (CIELAB); IEC 61966-2-1:1999 (sRGB).

    Examples
    --------
    >>> patch_of((100, 0, 0)), patch_of((0, 0, 0)).hexadecimal
    (Patch(hexadecimal='#ffffff', clipped=False), '#000000')
    >>> patch_of((50, 120, -120)).clipped
    True
    """
    lightness, a, b = lab
    middle = (lightness + 16) / 116
    xyz = [white * _back(part) for white, part in zip(D65, (middle + a / 500, middle, middle - b / 200), strict=True)]
    linear = [sum(weight * part for weight, part in zip(row, xyz, strict=True)) for row in _TO_RGB]
    clipped = any(not -_SLACK <= part <= 1 + _SLACK for part in linear)
    channels = (round(255 * _encoded(min(max(part, 0.0), 1.0))) for part in linear)
    return Patch("#" + "".join(f"{channel:02x}" for channel in channels), clipped)


def _back(part: float) -> float:
    """The inverse of CIELAB's cube root with its straight foot."""
    return part**3 if part > 6 / 29 else 3 * (6 / 29) ** 2 * (part - 4 / 29)


def _encoded(part: float) -> float:
    return 12.92 * part if part <= 0.0031308 else 1.055 * part ** (1 / 2.4) - 0.055


#: Sizes of the picture. [px]
LEFT, TOP, ROW, TITLE, PATCH = 110.0, 74.0, 46.0, 26.0, 26.0

Lab = tuple[float, float, float]


def colour_drift(study: Study, observations: Iterable[Observation], attribute_key: str, *, width: float = 840) -> str:
    """Patches of one colour, pull by pull; under each its CIEDE2000 difference from the start of the same bottle.

    Of replicates the first is the start, and of a later pull the one farthest from it is drawn.

    Raises
    ------
    EntryError
        The attribute is not a colour.
    """
    attribute = study.plan.attribute(attribute_key)
    if attribute.kind != "colour":
        msg = f"{attribute.label} is not a colour typed as L*, a*, b*, so there are no patches to draw."
        raise EntryError(msg)
    rows = [row for row in current(observations) if row.attribute == attribute.key]
    limit = "" if attribute.change is None else f"; the plan allows {attribute.change:g}"
    parts = [words(10, 20, cut(f"{attribute.label}: {study.title}", width - 20, 15), size=15, weight=650)]
    parts.append(
        words(10, 40, f"Below each patch: CIEDE2000 difference from the start of that bottle{limit}.", fill=SOFT)
    )
    each = (width - LEFT - 10) / len(study.plan.time_points)
    for number, point in enumerate(study.plan.time_points):
        middle = LEFT + (number + 0.5) * each
        parts.append(words(middle, TOP - 8, cut(point.label, each, 11.5), anchor="middle", size=11.5, fill=SOFT))
    y, clipped, told = TOP, False, []
    for condition in study.plan.conditions:
        parts.append(words(10, y + 16, cut(condition.label, width - 20), weight=600))
        y += TITLE
        for batch in study.batches:
            series = [r for r in rows if (r.batch, r.condition) == (batch, condition.key)]
            parts.append(words(LEFT - 12, y + 18, cut(batch, LEFT - 20), anchor="end"))
            drawn, cut_off, last = _row(study, attribute, series, y, each)
            parts += drawn
            clipped = clipped or cut_off
            told += [f"batch {batch}, {condition.label}: {last}"] if last else []
            y += ROW
    notes = [f"× {OUT_OF_GAMUT}."] if clipped else []
    for note in (*notes, ONLY_A_GUIDE):
        y += 17
        parts.append(words(10, y - 4, note, size=11, fill=SOFT))
    label = f"{attribute.label}, newest difference from the start. {'; '.join(told) or 'nothing read yet'}"
    return svg(width, y + 8, label, parts)


def _row(
    study: Study, attribute: Attribute, series: Sequence[Observation], y: float, each: float
) -> tuple[list[str], bool, str]:
    """The patches of one bottle, whether one had to be clipped, and its newest difference in words."""
    parts, clipped, last = [], False, ""
    start: Lab | None = None
    for number, point in enumerate(study.plan.time_points):
        read = [(read_value(attribute, row.value).colour, row) for row in series if row.time_point == point.label]
        seen = [(lab, row) for lab, row in read if lab is not None]
        middle = LEFT + (number + 0.5) * each
        if not seen:
            parts.append(words(middle, y + 18, "–", anchor="middle", fill=SOFT))
            continue
        lab, row = _farthest(seen, start)
        start = lab if number == 0 else start
        patch = patch_of(lab)
        clipped = clipped or patch.clipped
        difference = None if start is None else delta_e_2000(start, lab)
        parts += _patch(
            middle, y, min(each - 6, 92), patch.hexadecimal, patch.clipped, f"{row.observed_on}: {row.value}"
        )
        beyond = difference is not None and attribute.change is not None and round(difference, 9) > attribute.change
        told = "no start" if difference is None else "start" if number == 0 else f"{'✕ ' * beyond}{difference:.1f}"
        colour = STOP if beyond else INK
        parts.append(
            words(middle, y + PATCH + 13, told, anchor="middle", size=11.5, fill=colour, weight=600 if beyond else 400)
        )
        last = told
    return parts, clipped, last


def _farthest(seen: Sequence[tuple[Lab, Observation]], start: Lab | None) -> tuple[Lab, Observation]:
    """Of replicates the one farthest from the start; the first where there is no start to compare with."""
    return seen[0] if start is None else max(seen, key=lambda one: delta_e_2000(start, one[0]))


def _patch(middle: float, y: float, wide: float, hexadecimal: str, clipped: bool, title: str) -> Sequence[str]:
    box = (
        f'<rect x="{middle - wide / 2:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{PATCH:g}" rx="3" '
        f'style="fill:{hexadecimal};stroke:{SOFT}" stroke-width="0.8"><title>{as_markup(title)}</title></rect>'
    )
    if not clipped:
        return [box]
    return [
        box,
        words(middle + wide / 2 - room_for("×") - 3, y + 13, "×", fill="#ffffff" if _dark(hexadecimal) else "#000000"),
    ]


def _dark(hexadecimal: str) -> bool:
    red, green, blue = (int(hexadecimal[at : at + 2], 16) for at in (1, 3, 5))
    return 0.3 * red + 0.59 * green + 0.11 * blue < 140
