"""Small charts side by side with shared axes, one for each condition of a study, as SVG text; layers over time too."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.figures.chart import DASHES, INK, SOFT, STOP, Frame, axes, cut, legend, line, mark, padded, ring, svg, words
from kit.figures.theme import STYLES
from kit.stability.check import limits_for_all, said
from kit.stability.colour_difference import delta_e_2000
from kit.stability.overview import outside
from kit.stability.reading import read_value
from kit.stability.study import current, start_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.stability.plan import Attribute, Condition
    from kit.stability.study import Observation, Study


#: Room around the small charts. [px]
LEFT, GAP, HEAD, FOOT, TITLE = 64.0, 18.0, 62.0, 44.0, 24.0

HEIGHT = 150.0

#: Two numbers of one batch, as (weeks, number, what a pointer reads, outside its limit).
Shown = tuple[float, float, str, bool]


@dataclass(frozen=True, slots=True)
class Small:
    """One of the charts: its words, a line for each batch, and the limits that hold for all of them."""

    title: str
    colour: str
    lines: tuple[tuple[int, tuple[Shown, ...]], ...]
    limits: tuple[tuple[float, str], ...] = ()


def small_multiples(
    study: Study,
    observations: Iterable[Observation],
    attribute_key: str,
    *,
    columns: int = 2,
    width: float = 840,
    each_height: float = HEIGHT,
    title: str = "",
) -> str:
    """One attribute of every bottle, condition by condition, on the same axes.

    A colour is drawn as its CIEDE2000 difference from the start. Readings that were corrected are left out, and a
    reading outside its limit has a ring around it.

    Raises
    ------
    EntryError
        The attribute is not the plan's, or has no number to draw.
    """
    attribute = drawable(study, attribute_key)
    rows = [row for row in current(observations) if row.attribute == attribute.key]
    smalls = [small_of(study, attribute, condition, rows) for condition in study.plan.conditions]
    height = HEAD + -(-len(smalls) // columns) * (each_height + TITLE + 30) + FOOT - 22
    title = title or f"{attribute.label}: {study.title}"
    parts = [words(10, 20, cut(title, width - 20, 15), size=15, weight=650)]
    parts += batch_legend(study, 40, width, with_ring=any(shown[3] for s in smalls for _, p in s.lines for shown in p))
    parts += draw_smalls(study, attribute, smalls, top=HEAD, columns=columns, width=width, height=each_height)
    parts.append(words(LEFT + (width - LEFT) / 2, height - 8, "Weeks since the start", anchor="middle", fill=SOFT))
    return svg(width, height, f"{title}. {_in_words(smalls)}", parts)


def drawable(study: Study, attribute_key: str) -> Attribute:
    """The attribute, if it has numbers to draw."""
    attribute = study.plan.attribute(attribute_key)
    if attribute.numeric or attribute.kind == "colour":
        return attribute
    choices = ", ".join(one.label for one in study.plan.attributes if one.numeric or one.kind == "colour")
    msg = f"{attribute.label} is words, so it has no trend to draw. Choose one of: {choices}."
    raise EntryError(msg)


def small_of(study: Study, attribute: Attribute, condition: Condition, rows: Sequence[Observation]) -> Small:
    """What one condition shows of an attribute, whose current readings ``rows`` holds."""
    number = study.plan.conditions.index(condition)
    lines, starts = [], []
    for batch_number, batch in enumerate(study.batches):
        series = [row for row in rows if (row.batch, row.condition) == (batch, condition.key)]
        series.sort(key=lambda row: (row.observed_on, row.id))
        start = start_of(study, series)
        shown = [_shown(study, attribute, row, start) for row in series]
        if kept := tuple(one for one in shown if one is not None):
            lines.append((batch_number, kept))
        if start is not None and start.number is not None:
            starts.append(start.number)
    return Small(condition.label, STYLES[number % len(STYLES)][0], tuple(lines), _limits(attribute, starts))


def _shown(study: Study, attribute: Attribute, row: Observation, start: Observation | None) -> Shown | None:
    weeks = (row.observed_on - study.started_on).days / 7
    number = row.number
    if attribute.kind == "colour":
        before = None if start is None else read_value(attribute, start.value).colour
        after = read_value(attribute, row.value).colour
        number = None if before is None or after is None else delta_e_2000(before, after)
    if number is None:
        return None
    value = f"{number:.2f} from the start" if attribute.kind == "colour" else said(attribute, number)
    wrong = outside(attribute, row, start)
    told = f"batch {row.batch}, {row.time_point}, {row.observed_on}: {value}"
    return weeks, number, f"{told}. {wrong}" if wrong else told, bool(wrong)


def _limits(attribute: Attribute, starts: Sequence[float]) -> tuple[tuple[float, str], ...]:
    """The limits within which every bottle of a condition keeps its own."""
    if attribute.kind == "colour":
        return () if attribute.change is None else ((attribute.change, f"limit {attribute.change:g}"),)
    lower, upper = limits_for_all(attribute, starts)
    if lower is not None and upper is not None and lower >= upper:
        return ()
    return tuple((level, f"limit {level:.4g}") for level in (lower, upper) if level is not None)


def draw_smalls(
    study: Study,
    attribute: Attribute,
    smalls: Sequence[Small],
    *,
    top: float,
    columns: int,
    width: float,
    height: float = HEIGHT,
) -> list[str]:
    """The charts in rows of ``columns``, the first of each row with the upright axis."""
    levels = [shown[1] for small in smalls for _, points in small.lines for shown in points]
    levels += [level for small in smalls for level, _ in small.limits]
    low, high = padded(levels, least=0.0 if levels and min(levels) >= 0 else None)
    steps: list[tuple[float, str]] = []
    if attribute.kind == "grade":
        low, high = -0.3, len(attribute.scale) - 0.7
        steps = [(grade, f"{grade}") for grade in range(len(attribute.scale))]
    days = [point.days for point in study.plan.time_points]
    last = max([max(days) / 7, *(shown[0] for small in smalls for _, points in small.lines for shown in points)])
    each = (width - LEFT - 10 - (columns - 1) * GAP) / columns
    parts = []
    for number, small in enumerate(smalls):
        row, column = divmod(number, columns)
        frame = Frame(
            LEFT + column * (each + GAP),
            top + row * (height + TITLE + 30) + TITLE,
            each,
            height,
            -0.02 * (last or 1.0),
            1.04 * (last or 1.0),
            low,
            high,
        )
        y_title = ("CIEDE2000 from the start" if attribute.kind == "colour" else attribute.title) if column == 0 else ""
        parts += axes(frame, y_title=y_title, steps=steps, numbers=column == 0)
        size = 12.5 if each > 220 else 11
        parts.append(words(frame.left, frame.top - 8, cut(small.title, each + 8, size), size=size, weight=600))
        parts += _lines(frame, small)
    return parts


def _lines(frame: Frame, small: Small) -> list[str]:
    parts = []
    middle = (frame.y_low + frame.y_high) / 2
    for level, told in small.limits:
        y = frame.y(level)
        parts.append(line([(frame.left, y), (frame.left + frame.width, y)], stroke=STOP, width=1.3, dash="6 3"))
        above = level < middle
        parts.append(words(frame.left + 4, y - 4 if above else y + 13, told, size=11, fill=STOP))
    for batch_number, points in small.lines:
        path = [(frame.x(weeks), frame.y(level)) for weeks, level, _, _ in points]
        parts.append(line(path, stroke=small.colour, dash=DASHES[batch_number % len(DASHES)]))
    for batch_number, points in small.lines:
        for weeks, level, told, wrong in points:
            x, y = frame.x(weeks), frame.y(level)
            parts.append(mark(x, y, batch_number, colour=small.colour, size=3.6, title=told))
            parts += [ring(x, y, size=7)] if wrong else []
    if not small.lines:
        x, y = frame.left + frame.width / 2, frame.top + frame.height / 2
        parts.append(words(x, y, "nothing read yet", anchor="middle", fill=SOFT))
    return parts


def batch_legend(study: Study, y: float, width: float, *, with_ring: bool) -> list[str]:
    """Which mark is which batch."""
    entries = []
    for number, batch in enumerate(study.batches):
        sign = line([(-12, 0), (12, 0)], stroke=INK, dash=DASHES[number % len(DASHES)])
        entries.append((sign + mark(0, 0, number, colour=INK, size=3.6), f"batch {cut(batch, 140)}"))
    entries += [(mark(0, 0, 0, colour=SOFT, size=3.6) + ring(0, 0, size=7), "outside its limit")] if with_ring else []
    return legend(LEFT, y, entries, width)


def _in_words(smalls: Sequence[Small]) -> str:
    said_of = []
    for small in smalls:
        last = [f"{points[-1][1]:.4g}" for _, points in small.lines]
        said_of.append(f"{small.title}: newest {', '.join(last)}" if last else f"{small.title}: nothing read yet")
    return ". ".join(said_of)


#: Units that tell a height of a layer, and a time to part.
LENGTHS, TIMES = ("mm", "cm"), ("s", "min", "h")

#: Height of one row of charts, and of the whole row with its title and numbers. [px]
LAYERS_HEIGHT, ROW = 118.0, 118.0 + TITLE + 32

LAYERS_FOOT = 24.0


def layer_attributes(study: Study) -> list[Attribute]:
    """What the plan measures of the layers: heights first, then times.

    Examples
    --------
    >>> from kit.stability.demo import demo_study
    >>> [attribute.label for attribute in layer_attributes(demo_study())]
    ['Lower layer', 'Time to separate']
    """
    numbers = [attribute for attribute in study.plan.attributes if attribute.kind == "number"]
    return [one for units in (LENGTHS, TIMES) for one in numbers if one.unit in units]


def layers_over_time(study: Study, observations: Iterable[Observation], *, width: float = 840) -> str:
    """Heights of the layers and the time they take to part; "" where the plan measures neither.

    A row for each measure, a column for each condition; the charts of a row share their axes.
    """
    attributes = layer_attributes(study)
    if not attributes:
        return ""
    rows = current(observations)
    conditions = study.plan.conditions
    parts = [words(10, 20, "Layers and separation", size=15, weight=650)]
    smalls = {
        one.key: [
            small_of(study, one, condition, [r for r in rows if r.attribute == one.key]) for condition in conditions
        ]
        for one in attributes
    }
    wrong = any(shown[3] for row in smalls.values() for small in row for _, points in small.lines for shown in points)
    parts += batch_legend(study, 40, width, with_ring=wrong)
    for number, attribute in enumerate(attributes):
        parts += draw_smalls(
            study,
            attribute,
            smalls[attribute.key],
            top=HEAD + number * ROW,
            columns=len(conditions),
            width=width,
            height=LAYERS_HEIGHT,
        )
    height = HEAD + len(attributes) * ROW + LAYERS_FOOT
    parts.append(words(LEFT + (width - LEFT) / 2, height - 8, "Weeks since the start", anchor="middle", fill=SOFT))
    label = f"{', '.join(one.label for one in attributes)} over the weeks: {cut(study.title, 600)}"
    return svg(width, height, label, parts)
