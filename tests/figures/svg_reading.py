"""How the tests of this room read an SVG picture: it must be valid XML first."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import NamedTuple

HOSTILE = '"><script>alert(1)</script>\x00\u202e&<b>'


class Words(NamedTuple):
    """One text of a picture and where it begins."""

    text: str
    x: float
    y: float
    anchor: str
    size: float
    turned: bool


def tree(svg: str) -> ET.Element:
    """The picture as a tree; no script, no outside file, a name for who cannot see it."""
    root = ET.fromstring(svg)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    tags = {element.tag.rpartition("}")[2] for element in root.iter()}
    assert not tags & {"script", "image", "foreignObject", "use", "a", "style"}
    assert root.get("role") == "img"
    assert root.get("aria-label")
    return root


def texts(svg: str) -> list[Words]:
    """Every text of a picture."""
    return [
        Words(
            element.text or "",
            float(element.get("x", "0")),
            float(element.get("y", "0")),
            element.get("text-anchor", "start"),
            float(element.get("font-size", "12")),
            element.get("transform") is not None,
        )
        for element in tree(svg).iter("{http://www.w3.org/2000/svg}text")
    ]


def said(svg: str) -> list[str]:
    """What stands in the picture."""
    return [one.text for one in texts(svg)]


def titles(svg: str) -> list[str]:
    """What a pointer that rests on a mark reads."""
    return [element.text or "" for element in tree(svg).iter("{http://www.w3.org/2000/svg}title")]


def assert_within(svg: str) -> None:
    """No word leaves the picture at a side, by a generous guess of how wide it is."""
    width = float(tree(svg).get("viewBox", "").split()[2])
    for one in texts(svg):
        if one.turned:
            continue
        wide = 0.5 * one.size * len(one.text)
        left = {"start": one.x, "middle": one.x - wide / 2, "end": one.x - wide}[one.anchor]
        assert left >= -1, one
        assert left + wide <= width + 1, one
