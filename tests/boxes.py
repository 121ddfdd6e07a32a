"""What a box of a form takes: what stands in it at first, the least and the most, and what lies beyond."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from kit.errors import KitError
from kit.inputs import inputs_of

if TYPE_CHECKING:
    from collections.abc import Sequence


def check_box(
    group: type, name: str, first: str, takes: Sequence[str], refuses: Sequence[str], third: str = ""
) -> None:
    """Type into the box as a maker would; ``third`` is how it shows a third, where a slider writes into it."""
    box = next(one for one in inputs_of(group) if one.name == name)
    assert box.in_words(box.default) == first
    for text in takes:
        assert box.write(box.read(text, beside_unit=True)) == text
    for text in refuses:
        with pytest.raises(KitError):
            box.read(text, beside_unit=True)
    if third:
        assert box.write(1 / 3) == third
