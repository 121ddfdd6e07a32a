"""How the layers stand and how fast they part, week by week and condition by condition, as SVG text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.figures.chart import SOFT, cut, svg, words
from kit.figures.small_multiples import LEFT, TITLE, batch_legend, draw_smalls, small_of
from kit.stability.study import current

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.plan import Attribute
    from kit.stability.study import Observation, Study

#: Units that tell a height of a layer, and a time to part.
LENGTHS, TIMES = ("mm", "cm"), ("s", "min", "h")
#: Height of one row of charts, and of the whole row with its title and numbers. [px]
HEIGHT, ROW = 118.0, 118.0 + TITLE + 32
HEAD, FOOT = 62.0, 24.0


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
            height=HEIGHT,
        )
    height = HEAD + len(attributes) * ROW + FOOT
    parts.append(words(LEFT + (width - LEFT) / 2, height - 8, "Weeks since the start", anchor="middle", fill=SOFT))
    label = f"{', '.join(one.label for one in attributes)} over the weeks: {cut(study.title, 600)}"
    return svg(width, height, label, parts)
