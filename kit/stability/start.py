"""Where a bottle started: what every later reading of it is compared with."""

from __future__ import annotations

import statistics
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.study import Observation, Study


def start_of(study: Study, readings: Iterable[Observation]) -> Observation | None:
    """The reading of one attribute of one bottle at the first pull, or None where there is none.

    Where it was measured more than once, a number is the mean of these; of grades, colours and words the first
    counts, for they have no mean.

    Parameters
    ----------
    readings
        Of one attribute, batch and condition; those that no correction replaces.
    """
    first = study.plan.time_points[0].label
    found = sorted((row for row in readings if row.time_point == first), key=lambda row: row.replicate)
    if not found:
        return None
    numbers = [row.number for row in found if row.number is not None]
    if len(numbers) < 2 or study.plan.attribute(found[0].attribute).kind != "number":
        return found[0]
    mean = statistics.fmean(numbers)
    return replace(found[0], number=mean, value=f"{mean:.12g}")
