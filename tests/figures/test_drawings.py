"""Beakers to scale and the alligation square: areas, labels, and user text that stays text."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.alligation import alligate
from kit.bench.serial import serial_plan
from kit.figures.dilution import LARGEST, SMALLEST, Filling, alligation_svg, beakers_svg, serial_svg

SVG = "{http://www.w3.org/2000/svg}"


def areas(svg: str) -> list[float]:
    rects = [r for r in ET.fromstring(svg).iter(f"{SVG}rect") if r.get("class") == "sw-filling"]
    return [float(r.get("width", 0)) * float(r.get("height", 0)) for r in rects]


def texts(svg: str) -> list[str]:
    return [t.text or "" for t in ET.fromstring(svg).iter(f"{SVG}text")]


@given(st.lists(st.floats(1, 900), min_size=2, max_size=4))
def test_filled_areas_are_to_scale(amounts: list[float]) -> None:
    found = areas(beakers_svg([Filling("x", amount, 0.5) for amount in amounts]))
    for area, amount in zip(found, amounts, strict=True):
        assert area == pytest.approx(LARGEST**2 * amount / max(amounts), rel=0.02)


def test_what_is_too_small_to_be_seen_is_drawn_larger_and_said_to_be() -> None:
    svg = beakers_svg([Filling("stock", 0.01, 1), Filling("all", 500, 0)])
    assert areas(svg)[0] == pytest.approx(SMALLEST**2)
    assert "Filled areas are to scale, but for the smallest." in texts(svg)
    assert "Filled areas are to scale." in texts(beakers_svg([Filling("a", 1, 1), Filling("b", 2, 0)]))


def test_labels_amounts_and_signs() -> None:
    said = texts(beakers_svg([Filling("stock", 58.8, 1, "68 % w/w"), Filling("water", 341.2, 0, "", "+")], unit="g"))
    assert {"58.8 g", "stock", "68 % w/w", "341.2 g", "water", "+"} <= set(said)
    svg = beakers_svg([Filling("stock", 58.8, 1), Filling("water", 341.2, 0)])
    assert ET.fromstring(svg).get("aria-label") == "stock 58.8 g, water 341.2 g"


def test_nothing_to_draw() -> None:
    assert beakers_svg([]) == ""
    assert areas(beakers_svg([Filling("none", 0, 0), Filling("some", 5, 1)]))[0] == 0


def test_stronger_is_deeper() -> None:
    svg = beakers_svg([Filling("a", 1, 1.0), Filling("b", 1, 0.4), Filling("c", 1, 0.0)])
    depths = [float(x) for x in re.findall(r'fill-opacity="([\d.]+)"', svg)]
    assert depths == sorted(depths, reverse=True)
    assert depths[0] == 1


@pytest.mark.parametrize("name", ["<script>x</script>", 'A & "B"'])
def test_text_from_a_person_stays_text(name: str) -> None:
    svg = beakers_svg([Filling(name, 1, 1, name)], title=name)
    assert "<script" not in svg
    assert ET.fromstring(svg).get("aria-label") == name
    square = alligation_svg(alligate(70, 20, 30, 500), strong_name=name)
    assert "<script" not in square
    assert name in texts(square)


def test_the_steps_as_a_chain() -> None:
    plan = serial_plan(10, 0.005, 100, 0.82, 500, readability=0.01)
    svg = serial_svg(plan, "% w/w")
    assert len(areas(svg)) == 2
    assert {"from 0.82 g taken", "solution 1: 0.5 % w/w", "the end: 0.005 % w/w", "→"} <= set(texts(svg))
    assert areas(svg)[0] / areas(svg)[1] == pytest.approx(16.4 / 100, rel=0.01)


def test_the_square_reads_off_the_differences() -> None:
    said = texts(alligation_svg(alligate(70, 20, 30, 500), unit="g"))
    assert {"70 %", "20 %", "30 %", "30 − 20 = 10 parts", "70 − 30 = 40 parts"} <= set(said)
    assert {"100 g of the stronger", "400 g of the weaker", "together 500 g, as 1 : 4"} <= set(said)


def test_unwieldy_parts_are_shown_as_a_ratio() -> None:
    made = alligate(70.123, 20.0456, 30.789, 100)
    assert re.search(r"as 1 : 3\.66", " ".join(texts(alligation_svg(made))))
    assert "as 0 : 1" in " ".join(texts(alligation_svg(alligate(70, 20, 20))))


def test_colours_come_from_the_style_sheet() -> None:
    for svg in (beakers_svg([Filling("a", 1, 1)]), alligation_svg(alligate(70, 20, 30))):
        assert "#" not in svg
        assert "stroke=" not in svg
