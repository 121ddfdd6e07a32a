"""Patches of a colour: the sRGB they show, their differences, and what a screen cannot show."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError
from kit.figures.colour_drift import D65, OUT_OF_GAMUT, colour_drift, patch_of
from kit.stability.colour_difference import delta_e_2000
from kit.stability.demo import MISSED, demo_observations, demo_study
from kit.stability.reading import read_colour
from kit.stability.study import current
from tests.colour_judge import colour
from tests.figures.svg_reading import HOSTILE, assert_within, said, titles, tree

STUDY, ROWS = demo_study(), demo_observations()
COLOURS = [row for row in current(ROWS) if row.attribute == "colour"]


def judge(lab: tuple[float, float, float]) -> list[float]:
    """The same by an independent library; channels from 0 to 1, not cut off."""
    d65 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    return [float(part) for part in colour.XYZ_to_sRGB(colour.Lab_to_XYZ(lab, d65), d65)]


@pytest.mark.parametrize("lab", [(83.4, -2.6, 27.5), (50, 20, -30), (20, 5, 5), (95, 0, 4), (2, 0, 0)])
def test_a_patch_agrees_with_an_independent_library(lab: tuple[float, float, float]) -> None:
    patch = patch_of(lab)
    found = [int(patch.hexadecimal[at : at + 2], 16) for at in (1, 3, 5)]
    assert found == pytest.approx([255 * part for part in judge(lab)], abs=1.0)
    assert not patch.clipped


@given(st.floats(0, 100), st.floats(-128, 127), st.floats(-128, 127))
def test_every_colour_has_a_patch(lightness: float, red: float, yellow: float) -> None:
    assert len(patch_of((lightness, red, yellow)).hexadecimal) == 7


def test_the_white_is_that_of_d65() -> None:
    # CIE 15:2004, table T.3: X 95.047, Z 108.883 for D65; from its rounded chromaticity 95.046 and 108.906
    assert pytest.approx((0.95047, 1.0, 1.08883), abs=3e-4) == D65
    assert patch_of((100, 0, 0)).hexadecimal == "#ffffff"


def test_greys_are_grey_and_beyond_the_screen_is_told() -> None:
    assert patch_of((53.585, 0, 0)).hexadecimal == "#808080"
    assert patch_of((60, -100, 60)).clipped
    assert min(judge((60, -100, 60))) < 0


def test_each_patch_has_its_difference_below_it() -> None:
    drawn = colour_drift(STUDY, ROWS, "colour")
    assert len(titles(drawn)) == len(COLOURS)
    own = [read_colour(r.value) for r in COLOURS if (r.batch, r.condition) == ("TL-01", "warm_box")]
    words = said(drawn)
    last = delta_e_2000(own[0], own[-1])
    assert f"✕ {last:.1f}" in words
    assert words.count("start") == 1 + 3 * 4
    assert words.count("–") == 1  # the pull that was missed
    assert MISSED[0] in words
    assert any(one.startswith("Below each patch: CIEDE2000 difference from the start") for one in words)
    fills = {element.get("style", "")[5:12] for element in tree(drawn).iter("{http://www.w3.org/2000/svg}rect")}
    assert patch_of(own[-1]).hexadecimal in fills
    assert not any(OUT_OF_GAMUT in one for one in words)
    assert_within(drawn)
    assert_within(colour_drift(STUDY, ROWS, "colour", width=600))


def test_a_colour_no_screen_shows_is_marked_and_explained() -> None:
    row = replace(COLOURS[0], value="60 -100 60")
    words = said(colour_drift(STUDY, [row], "colour"))
    assert "×" in words
    assert f"× {OUT_OF_GAMUT}." in words


def test_of_replicates_the_first_is_the_start_and_the_farthest_is_drawn() -> None:
    own = [row for row in COLOURS if (row.batch, row.condition) == ("TL-01", "warm_box")][:2]
    start, later = (replace(row, value=value) for row, value in zip(own, ("80 0 20", "79 0 20"), strict=True))
    again = [
        replace(start, id=9001, value="60 0 20", replicate=2),
        replace(later, id=9002, value="70 0 20", replicate=2),
        replace(later, id=9003, value="78 0 20", replicate=3),
    ]
    drawn = colour_drift(STUDY, [start, later, *again], "colour")
    assert [title.split(": ")[1] for title in titles(drawn)] == ["80 0 20", "70 0 20"]
    assert f"✕ {delta_e_2000((80, 0, 20), (70, 0, 20)):.1f}" in said(drawn)


def test_without_a_start_there_is_no_difference() -> None:
    later = [row for row in COLOURS if row.time_point != "start"]
    assert said(colour_drift(STUDY, later, "colour")).count("no start") == len(later)


def test_only_a_colour_has_patches() -> None:
    with pytest.raises(
        EntryError, match=r"pH is not a colour typed as L\*, a\*, b\*, so there are no patches to draw."
    ):
        colour_drift(STUDY, ROWS, "ph")


def test_what_a_person_typed_stays_text() -> None:
    study = replace(STUDY, title=HOSTILE, batches=(HOSTILE,))
    rows = [replace(row, batch=HOSTILE) for row in COLOURS if row.batch == "TL-01"]
    drawn = colour_drift(study, rows, "colour")
    assert "<script" not in drawn
    assert len(titles(drawn)) == len(rows)
