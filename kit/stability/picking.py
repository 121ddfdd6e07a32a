"""The readings of one bottle, one place or one attribute, out of many, and all of them in a line."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.study import Observation


def readings_of(
    observations: Iterable[Observation],
    *,
    batch: str = "",
    condition: str = "",
    time_point: str = "",
    attribute: str = "",
) -> list[Observation]:
    """The readings of what is named, in the order in which they come; what is not named is not asked.

    Parameters
    ----------
    condition, attribute
        By the key of the plan, such as "warm_box" or "ph".

    Examples
    --------
    >>> from kit.stability.demo import demo_observations
    >>> found = readings_of(demo_observations(), batch="TL-03", condition="warm_box", attribute="ph")
    >>> print(found[0].value, "to", found[-1].value)
    5.3 to 4.69
    """
    wanted = {"batch": batch, "condition": condition, "time_point": time_point, "attribute": attribute}
    asked = {name: value for name, value in wanted.items() if value}
    return [one for one in observations if all(getattr(one, name) == value for name, value in asked.items())]


def in_brief(observations: Iterable[Observation]) -> str:
    """Readings of one attribute in a line, each with its pull.

    Examples
    --------
    >>> from kit.stability.demo import demo_observations
    >>> print(in_brief(readings_of(demo_observations(), batch="TL-03", condition="warm_box", attribute="ph")[:2]))
    5.3 at start, 5.29 at 1 day
    """
    return ", ".join(f"{one.value} at {one.time_point}" for one in observations)
