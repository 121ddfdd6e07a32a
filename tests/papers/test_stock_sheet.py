"""The making sheet: complete, escaped, and standing on its own."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from kit.bench.conversion import w_v_for_w_w_note
from kit.bench.dilution import make_stock
from kit.bench.making import from_pure
from kit.bench.serial import serial_plan
from kit.formula.expansion import Materials
from kit.library.library import Library
from kit.papers.paper import ByHand
from kit.papers.registry import make_paper
from kit.papers.stock_sheet import StockInMaking

MATERIALS = Materials(Library.bundled())


def page(name: str = "Citric Acid 20 % stock", by_hand: ByHand | None = None, **more: object) -> str:
    stock = make_stock(name, "Citric Acid", 20, basis="w/v", density=1.08, keep_until="2026-06-01", note="brown glass")
    made = StockInMaking(from_pure(stock, "250 g", assay={"Citric Acid": 97}), MATERIALS, **more)  # type: ignore[arg-type]
    return make_paper("stock_sheet", made, by_hand).html


def words(html: str) -> str:
    return " ".join(re.sub(r"<style>.*?</style>|<[^>]+>", " ", html, flags=re.DOTALL).split())


def test_it_says_all_that_is_needed() -> None:
    said = words(page(by_hand=ByHand(lot="T-7", made_by="Ada", made_on="2026-03-01")))
    for expected in (
        "20 % w/v Citric Acid · 1.08 g/mL",
        "Weigh 250.00 g in a vessel of 400 mL",
        "46.2963 g pure, divided by its assay of 97 %",
        "47.7281 47.73",
        "Aqua",
        "202.27",
        "As weighed, it holds 18.52 % w/w Citric Acid.",
        "Make up with Aqua to the full weight and stir.",
        "Contents, % w/w: Aqua 81.48 %, Citric Acid 18.52 %",
        "Made on 2026-03-01 · Keep until 2026-06-01",
        "T-7",
        "Ada",
        "Acid: keep it from eyes",
        "caution It holds water",
        "microbiological test made by a qualified person",
    ):
        assert expected in said
    assert "None" not in said
    assert not re.search(r"\bsafe\b|\bpreserved\b", said, re.IGNORECASE)


def test_findings_and_serial_steps_are_printed() -> None:
    note = w_v_for_w_w_note("20 % w/v", density=1.08)
    said = words(page(findings=(note,), serial=serial_plan(20, 0.02, 100, 1, 200)))
    assert "the two differ by 8 %" in said
    assert "Dilute in steps:" in said
    assert "Take 1 g of the stock" in said


def test_it_stands_on_its_own() -> None:
    html = page()
    assert not re.search(r"https?:|<script|<link|src=|url\(", html)

    class Balanced(HTMLParser):
        stack: list[str]

        def handle_starttag(self, tag: str, attrs: object) -> None:
            if tag not in {"meta", "br"}:
                self.stack.append(tag)

        def handle_endtag(self, tag: str) -> None:
            assert self.stack.pop() == tag

    parser = Balanced()
    parser.stack = []
    parser.feed(html)
    assert parser.stack == []


@pytest.mark.parametrize("name", ["<b>Acid</b>", 'A & "B" <script>x</script>'])
def test_names_are_escaped(name: str) -> None:
    html = page(name)
    assert name not in html
    assert "<script" not in html
