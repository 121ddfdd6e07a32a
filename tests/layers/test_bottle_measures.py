"""A bottle as a maker measures it holds what its shape holds."""

from __future__ import annotations

import math

import pytest

from kit.errors import EntryError, KitError
from kit.inputs import inputs_of
from kit.layers.bottle_measures import READY, BottleMeasures, measured_rows
from tests.boxes import check_box
from tests.rows import each_of


def test_each_shape_holds_what_geometry_says() -> None:
    # A cylinder holds V = π r² h.
    cylinder = BottleMeasures(shape="cylinder", diameter=40.0, volume=120.0).bottle
    assert (cylinder.name, cylinder.brimful) == ("your cylinder", 120)
    assert cylinder.volume(50) == pytest.approx(math.pi * 20**2 * 50 / 1000, rel=1e-12)
    # A box: width times depth times height, and its front is what is looked at.
    box = BottleMeasures(shape="box", width=48.0, depth=25.0, height=90.0).bottle
    assert (box.name, box.height, box.seen_width) == ("your box", 90, 48)
    assert box.brimful == pytest.approx(108)
    assert box.volume(30) == pytest.approx(36)
    # A table that begins with the empty bottle is the same bottle as one that does not.
    table, short = "0 0\n20 31\n\n40 mm; 63 mL\n60\t92,5", "20 31\n40 63\n60 92.5"
    made = [BottleMeasures(shape="measured", rows=rows).bottle for rows in (table, short)]
    for bottle in made:  # between two rows half way: (31 + 63) / 2, and from the floor 31 / 2
        assert [bottle.volume(level) for level in (10, 20, 30, 60)] == pytest.approx([15.5, 31, 47, 92.5])
        assert (bottle.brimful, bottle.height, bottle.name) == (92.5, 60, "your measured bottle")
    assert BottleMeasures().bottle is READY[BottleMeasures().choice]


def test_a_line_that_is_no_pair_is_named() -> None:
    with pytest.raises(EntryError, match=r"Line 3 of the measured table, '40', must hold a height in mm and a volume"):
        measured_rows("20 31\n\n40")
    for falling in ("20 31\n40 31", "20 31\n20 40", "20 31\n40 30"):
        with pytest.raises(KitError, match="does not rise above the row before"):
            _ = BottleMeasures(shape="measured", rows=falling).bottle


@each_of(
    ("name", "shape", "first", "takes", "refuses"),
    [
        ("diameter", "cylinder", "44 mm", ("5", "300"), ("4.9", "301")),
        ("volume", "cylinder", "120 mL", ("1", "5000"), ("0.9", "5001")),
        ("width", "box", "50 mm", ("5", "300"), ("4.9", "301")),
        ("depth", "box", "30 mm", ("5", "300"), ("4.9", "301")),
        ("height", "box", "80 mm", ("5", "500"), ("4.9", "501")),
        ("rows", "measured", "", (), ()),
        ("choice", "ready-made", "round 30 mL", ("round 500 mL",), ("a bucket",)),
    ],
)
def test_what_may_be_said_of_a_bottle_and_for_which_shape(
    name: str, shape: str, first: str, takes: tuple[str, ...], refuses: tuple[str, ...]
) -> None:
    check_box(BottleMeasures, name, first, takes, refuses)
    box = next(one for one in inputs_of(BottleMeasures) if one.name == name)
    asked_for = [each for each in ("ready-made", "cylinder", "box", "measured") if box.applies({"shape": each})]
    assert asked_for == [shape]
    bottles = {each: BottleMeasures(shape=each, rows="20 31").bottle for each in ("cylinder", "box", "measured")}
    assert {each: bottle.name for each, bottle in bottles.items()} == {
        "cylinder": "your cylinder", "box": "your box", "measured": "your measured bottle",
    }  # fmt: skip
