"""What a test takes to be there."""

from __future__ import annotations

from typing import TypeVar

Thing = TypeVar("Thing")


def present(thing: Thing | None) -> Thing:
    """The thing itself; the test fails where there is none."""
    assert thing is not None
    return thing
