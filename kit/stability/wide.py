"""The readings of a study as a table to look at: one row for each pull of each bottle."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

from kit.stability.study import Cell, Observation, Study

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd


def wide_table(study: Study, observations: Iterable[Observation]) -> pd.DataFrame:
    """One row for each pull of each bottle, one column for each attribute with its unit in its title.

    Numbers and grades are numbers, missing ones NaN; other readings are text as typed, missing ones empty.
    "Age [days]" runs from the start to the first reading of that pull. A replicate has a row of its own below.
    """
    import pandas as pd

    attributes = study.plan.attributes
    cells = {(row.cell, row.replicate): row for row in observations}
    replicates = sorted({replicate for _, replicate in cells})
    pulls: list[list[object]] = []
    bottles = product(study.plan.time_points, study.batches, study.plan.conditions, replicates)
    for point, batch, condition, replicate in bottles:
        places = {one.key: Cell(batch, condition.key, point.label, one.key) for one in attributes}
        read = {key: cells.get((cell, replicate)) for key, cell in places.items()}
        days = [row.observed_on for row in read.values() if row is not None]
        if days:
            pulls.append([batch, condition.label, point.label, min(days).isoformat()])
            pulls[-1].append((min(days) - study.started_on).days)
            pulls[-1].extend(_shown(read[one.key], numeric=one.numeric) for one in attributes)
    columns = ["Batch", "Condition", "Time point", "Observed on", "Age [days]"]
    frame = pd.DataFrame(pulls, columns=[*columns, *(one.title for one in attributes)])
    return frame.astype({one.title: float for one in attributes if one.numeric})


def _shown(row: Observation | None, *, numeric: bool) -> object:
    if row is None:
        return None if numeric else ""
    return row.number if numeric else row.value
