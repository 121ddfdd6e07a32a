"""The batch sheet: every number is on it, every text is text, and it stands on its own."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.bench.scaling import Order
from kit.demos import demo
from kit.findings import Finding
from kit.formula.model import Formula, Line, Phase
from kit.library.description import Description
from kit.papers.registry import filled, spec_of
from kit.product.product import Product
from kit.visible_text import visible

if TYPE_CHECKING:
    from kit.library.ingredient import PhaseKind

ALONE = {"area", "base", "br", "col", "hr", "img", "input", "link", "meta", "wbr"}

CELLS = {"td", "th", "li", "h1", "dd", "dt", "p", "title"}


class Page(HTMLParser):
    """Reads a page as a browser would, and notes what opens, what is said and which ids are given."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.labels: list[str] = []
        self.addresses: list[str] = []
        self.cells: list[str] = []
        self.inside = False
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        if tag not in ALONE:
            self.open.append(tag)
        given = dict(attrs)
        self.ids += [given["id"] or ""] if "id" in given else []
        self.labels += [given["aria-labelledby"] or ""] if "aria-labelledby" in given else []
        self.addresses += [value or "" for name, value in attrs if name in ("href", "src", "srcset", "action")]
        self.inside = tag in CELLS or (self.inside and tag not in ("style", "div", "tr", "ul", "dl"))
        if tag in CELLS:
            self.cells.append("")

    def handle_endtag(self, tag: str) -> None:
        assert self.open, tag
        assert self.open.pop() == tag
        self.inside = self.inside and tag not in CELLS

    def handle_data(self, data: str) -> None:
        if self.inside:
            self.cells[-1] += data


def product_of(formula: Formula, grams: float = 250, balance: Balance | None = None) -> Product:
    return Product(formula, order=Order(grams=grams), balance=balance or Balance())


def sheet_of(product: Product, details: dict[str, str] | None = None, **more: object) -> str:
    """The sheet, with other things on it than those that follow from the product."""
    spec = spec_of("batch_sheet")
    return filled(spec, {**spec.context(product, spec.options(**details or {})), "findings": [], **more}).html


def page_of(html: str) -> Page:
    page = Page(html)
    assert page.open == []
    assert len(set(page.ids)) == len(page.ids) >= 4
    assert set(page.labels) <= set(page.ids)
    return page


@pytest.mark.parametrize("readability", [0.001, 0.01, 0.1, 0.05, 0.25, 1.0])
def test_every_weighing_is_on_it_digit_for_digit(readability: float) -> None:
    product = product_of(demo(), 1000, Balance(readability, 2000))
    cells = page_of(sheet_of(product)).cells
    places = {0.001: 3, 0.01: 2, 0.1: 1, 0.05: 2, 0.25: 2, 1.0: 0}[readability]
    batch = product.batch
    for w in batch.weighings:
        at = cells.index(w.material)
        assert float(cells[at + 2]) == pytest.approx(w.percent, abs=5e-4)
        assert cells[at + 3] == f"{w.grams:.{places}f}"
        assert float(cells[at + 3]) == w.grams
    assert sum(w.material in cells for w in batch.weighings) == len(batch.weighings) == 11
    assert f"Weigh {batch.mass:.{places}f} g" in sheet_of(product)


@settings(max_examples=25)
@given(st.lists(st.integers(1, 100), min_size=2, max_size=6), st.floats(1, 5000), st.sampled_from([0.001, 0.01, 0.1]))
def test_the_grams_of_the_phases_add_to_the_batch(parts: list[int], mass: float, readability: float) -> None:
    lines = [Line("Glycerin", repr(100 * part / sum(parts))) for part in parts]
    formula = Formula("T", (Phase("A", "water", tuple(lines[:1])), Phase("B", "other", tuple(lines[1:]))))
    product = product_of(formula, mass, Balance(readability, 10_000))
    cells = page_of(sheet_of(product)).cells
    phases = [float(cells[cells.index(name) + 1]) for name in ("A", "B")]
    assert sum(phases) == pytest.approx(product.batch.mass, abs=readability / 100)
    assert float(cells[cells.index("Together") + 3]) == pytest.approx(product.batch.mass, abs=readability / 100)


def test_small_percents_and_tolerances_are_not_printed_as_nothing() -> None:
    formula = Formula("T", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Methylisothiazolinone", "12 ppm"))),))
    cells = page_of(sheet_of(product_of(formula, 1000, Balance(0.01, 2000)))).cells
    at = cells.index("Methylisothiazolinone")
    assert cells[at + 2 : at + 5] == ["0.00120", "0.01", "±0.000"] or cells[at + 2 : at + 4] == ["0.00120", "0.01"]
    cells = page_of(sheet_of(product_of(demo(), 100, Balance(0.01, 2000)))).cells
    assert cells[cells.index("Parfum") + 4] == "±0.001"  # 1 % of 0.10 g


def test_stops_stand_at_the_head_before_all_weighing() -> None:
    found = [Finding("note", "Good to know."), Finding("stop", "The law is broken.", source="a law")]
    text = sheet_of(product_of(demo()), findings=found)
    order = [text.index(word) for word in ("Before you start", "The law is broken.", "Good to know.", ">Weigh ")]
    assert order == sorted(order)
    assert '<li class="stop"><b>stop</b> The law is broken. <i>[1]</i></li>' in text
    assert "<li>a law</li>" in text
    assert "Before you start" not in sheet_of(product_of(demo()))


def test_title_version_steps_details_and_room_to_write() -> None:
    details = {"lot": "TL-7", "made_by": "A. Maker", "made_on": "2026-03-01"}
    page = page_of(sheet_of(product_of(demo()), details))
    for words in ("After-swim body shake", "TL-7", "A. Maker", "2026-03-01"):
        assert words in page.cells
    assert all(any(str(step) in cell for cell in page.cells) for step in demo().steps)
    assert any("version 3 · leave-on body oil · body · poured · adults · two layers" in cell for cell in page.cells)
    bare = page_of(sheet_of(product_of(replace(demo(), steps=(), description=Description(body_part=""), note=""))))
    assert "No steps are written with this formula." in bare.cells


def test_it_needs_nothing_from_anywhere() -> None:
    text = sheet_of(product_of(demo()), findings=[Finding("caution", "Careful.", source="common practice")])
    page = Page(text)
    assert page.addresses == []
    assert not re.search(r"https?:|//|url\(|@import", text)
    assert not {"script", "link", "img", "iframe", "form"} & set(page.tags)
    assert text.startswith("<!DOCTYPE html>")
    assert '<html lang="en">' in text


@pytest.mark.parametrize(
    "hostile",
    [
        "<script>alert(1)</script>",
        "\"><img src=x onerror='alert(1)'>",
        "</style></title><b>bold",
        "{{ 7 * 7 }} {% include 'x' %}",
        "&lt;already&gt; & more",
        "\u202eright to left\u202c \u200f",
        "x" * 10_000,
    ],
)
def test_hostile_text_is_shown_as_text(hostile: str) -> None:
    formula = Formula(
        hostile,
        (Phase(hostile, "water", (Line(hostile, "q.s.", note=hostile), Line("Glycerin", "4"))),),
        description=Description(body_part=hostile),
        note=hostile,
        steps=(hostile,),
    )
    tame = replace(
        formula, title="t", phases=(Phase("p", "water", (Line("m", "q.s.", note="n"), Line("Glycerin", "4"))),)
    )
    details = {"lot": hostile, "made_by": hostile, "made_on": hostile}
    page = page_of(sheet_of(product_of(formula), details, findings=[Finding("stop", hostile, source=hostile)]))
    plain = page_of(sheet_of(product_of(tame), findings=[Finding("stop", "a", source="b")]))
    assert page.tags == plain.tags
    assert sum(cell.count(visible(hostile)) for cell in page.cells) >= 12
    assert page.cells.count(visible(hostile)) >= 5


def test_the_layers_in_the_bottle_from_the_top_down() -> None:
    from types import SimpleNamespace

    from kit.layers.bottle import Standing
    from kit.layers.density import Layer

    layers: list[tuple[str, PhaseKind, float, float, float]] = [
        ("Water layer", "water", 1.02, 60.0, 51.2),
        ("Oil layer", "oil", 0.9, 30.0, 25.6),
    ]
    standing = [
        Standing(Layer(kind, name, 50.0, density, 0.0), volume, 0.0, height)
        for name, kind, density, volume, height in layers
    ]
    bottle = SimpleNamespace(name="Round <100>")
    cells = page_of(sheet_of(product_of(demo()), standing=[*reversed(standing)], bottle=bottle, fill=90.0)).cells
    head = next(n for n, cell in enumerate(cells) if cell.startswith("Layer, from the top"))
    assert cells[head + 5 : head + 15] == [
        "Oil layer", "25.6", "30.0", "27.0", "0.900", "Water layer", "51.2", "60.0", "61.2", "1.020",
    ]  # fmt: skip
    assert any(cell.startswith("Round <100>, 90 mL filled") for cell in cells)


def test_a_lotion_is_printed_in_one_piece() -> None:
    lotion = demo("quiet_hour_lotion")
    text = " ".join(re.sub(r"<[^>]*>", " ", sheet_of(product_of(lotion))).split())
    assert "once the layers have parted" not in text
    assert "Layer, from the top" not in text
    assert "Whole product" in text
    assert "Look: colour, evenness" in text
    assert "pH of the water layer" not in text
    apart = replace(lotion, description=replace(lotion.description, layering="two layers"))
    text = " ".join(re.sub(r"<[^>]*>", " ", sheet_of(product_of(apart))).split())
    assert "once the layers have parted" in text
