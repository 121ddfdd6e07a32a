"""The colours of both layers as a stability log holds them, day by day, for one bottle."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.in_use.colour_readings import LayerColours
from kit.in_use.wanderers import DayOfColours
from kit.stability.reading import read_colour
from kit.stability.study import current

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from kit.in_use.colour_readings import Home
    from kit.stability.study import Observation

#: The attributes of a plan in which the colours of the upper and of the lower layer are read.
UPPER, LOWER = "colour", "colour_lower"


def logged_colours(
    observations: Iterable[Observation], batch: str, condition: str, upper: Home = "oil"
) -> list[DayOfColours]:
    """The colours of both layers of one bottle at every pull at which both were read, earliest first.

    Parameters
    ----------
    observations
        Of a study; readings that a correction replaces are left out.
    batch, condition
        Of the bottle; the condition by its key.
    upper
        The layer that stands above.

    Raises
    ------
    EntryError
        Both layers were read at fewer than two pulls.
    """
    read: dict[str, dict[str, Observation]] = {}
    for row in current(observations):
        mine = (row.batch, row.condition, row.replicate) == (batch, condition, 1)
        if mine and row.attribute in (UPPER, LOWER):
            read.setdefault(row.time_point, {})[row.attribute] = row
    both = [rows for rows in read.values() if len(rows) == 2]
    pulls = sorted(((_day(rows), rows) for rows in both), key=lambda pull: pull[0])
    if len(pulls) < 2:
        msg = (
            f"Of {batch} in {condition} both layers were read at {len(pulls)} pulls. Read the colour of the upper and "
            "of the lower layer at two at least."
        )
        raise EntryError(msg)
    first = pulls[0][0]
    return [DayOfColours(float((day - first).days), _colours(rows, upper)) for day, rows in pulls]


def _day(rows: dict[str, Observation]) -> date:
    return max(row.observed_on for row in rows.values())


def _colours(rows: dict[str, Observation], upper: Home) -> LayerColours:
    above, below = read_colour(rows[UPPER].value), read_colour(rows[LOWER].value)
    return LayerColours(below, above) if upper == "oil" else LayerColours(above, below)
