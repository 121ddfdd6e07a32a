"""The papers panel: choose, fill in, look, write; it follows the bench."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest

from kit.bench.balance import Balance
from kit.bench.price_list import PriceList, demo_prices
from kit.bench.scaling import Order
from kit.demos import demo
from kit.label.particulars import particulars_file, save_particulars
from kit.label.statements import collected, read_statement, save_statements
from kit.papers.pdf import INSTEAD
from kit.papers.registry import specs
from kit.saving import earlier_saves
from kit.widgets.bench import Bench
from kit.widgets.papers_panel import PapersPanel
from tests.papers.reading import Page
from tests.widgets.hands import HOSTILE, one_phase, said, two_layers, typed, words

TITLES = [spec.title for spec in specs().values() if spec.about == "product"]


@pytest.fixture
def papers(bench: Bench) -> PapersPanel:
    return PapersPanel(bench)


def shown_in(papers: PapersPanel) -> str:
    """The paper in the frame."""
    found = re.search(r'srcdoc="([^"]*)"', papers.preview.value)
    assert found, papers.preview.value
    return unescape(found[1])


def sheet(name: str = "batch_sheet_shake.html") -> str:
    return Path(name).read_text(encoding="utf-8")


def test_the_batch_sheet_stands_on_its_own(papers: PapersPanel) -> None:
    papers.form.type(lot="TL-07", made_by="A. N. Maker (invented)", made_on="2026-03-09")
    papers.out.press("write")
    assert said(papers.out) == (
        "Wrote batch_sheet_shake_tl_07.html beside this notebook. Open it in a browser and print."
    )
    html = sheet("batch_sheet_shake_tl_07.html")
    assert html.startswith("<!DOCTYPE html>")
    assert not re.search(r"https?:|<script|<link|<img|\bsrc=|url\(|@import", html)
    for word in (
        "TL-07",
        "A. N. Maker (invented)",
        "2026-03-09",
        "Weigh 250.00 g",
        "Tocopherol",
        "In the bottle",
    ):
        assert word in html


def test_what_is_shown_is_what_was_written(papers: PapersPanel) -> None:
    papers.out.press("write")
    assert shown_in(papers) == sheet()


def test_written_again_the_sheet_before_is_kept(papers: PapersPanel) -> None:
    papers.out.press("write")
    first = sheet()
    papers.bench.order = Order(grams=500)
    papers.out.press("write")
    assert "Weigh 500.00 g" in sheet()
    assert earlier_saves("batch_sheet_shake.html")[0].read().decode() == first


@pytest.mark.parametrize(
    ("trait", "value"),
    [
        ("formula", two_layers(title="Another")),
        ("order", Order(grams=500)),
        ("balance", Balance(0.1)),
        ("tolerance", 2.0),
        ("fill", 40.0),
        ("jurisdiction", "us"),
        ("ph", 5.0),
        ("prices", PriceList("EUR")),
    ],
)
def test_what_is_looked_at_follows_the_bench_and_what_was_written_does_not(
    papers: PapersPanel, trait: str, value: object
) -> None:
    papers.out.press("write")
    before = sheet()
    setattr(papers.bench, trait, value)
    assert shown_in(papers) == papers.paper().html
    assert (papers.paper().html != before) == (trait != "prices")
    assert sheet() == before
    assert said(papers.out) == ""
    papers.out.press("look")
    assert papers.preview.value == ""


def test_a_formula_that_cannot_be_weighed_says_so_at_the_head_of_its_sheet(papers: PapersPanel) -> None:
    typed(papers.bench, 0, 1, "")
    assert "It will be printed with this at its head: ✕ stop Glycerin has no amount yet." in words(papers.about)
    papers.out.press("write")
    text = " ".join(Page(sheet()).text.split())
    assert "stop Shake cannot be weighed yet: Glycerin (line 2 of Water layer) has no amount" in text
    assert "No grams are printed" in text


def test_a_fill_that_the_bottle_cannot_hold_leaves_the_bottle_out(papers: PapersPanel) -> None:
    papers.bench.fill = 300
    papers.out.press("write")
    assert "In the bottle" not in sheet()


def test_a_finding_that_stops_is_printed_first(papers: PapersPanel) -> None:
    papers.bench.apply({"kind": "set_material", "phase": 0, "line": 1, "text": "Moon Dust"})
    papers.out.press("write")
    assert sheet().index("Moon Dust is not in the library") < sheet().index("Weigh 250.00 g")


def test_a_folder_that_is_in_the_way_is_told(papers: PapersPanel) -> None:
    Path("batch_sheet_shake.html").mkdir()
    papers.out.press("write")
    assert "batch_sheet_shake.html was not saved: there is a folder of that name." in said(papers.out)


def test_hostile_text_is_escaped_on_paper_and_in_the_preview() -> None:
    papers = PapersPanel(Bench(one_phase(("Aqua", "q.s."), (HOSTILE, "5"), note=HOSTILE, steps=(HOSTILE,))))
    papers.form.type(lot=HOSTILE, made_by=HOSTILE)
    papers.out.press("write")
    (path,) = Path.cwd().glob("batch_sheet_*.html")
    assert "<img" not in path.read_text(encoding="utf-8")
    assert path.read_text(encoding="utf-8").count("&lt;img") >= 5
    assert "<img" not in papers.preview.value + said(papers.out) + papers.about.value + said(papers.out)
    assert papers.preview.value.count('"') == 8  # four attributes, none of them broken out of


# ---- every paper ------------------------------------------------------------------------------------------


@pytest.fixture
def all_papers() -> PapersPanel:
    return PapersPanel(Bench(demo()))


@pytest.mark.parametrize("title", TITLES)
def test_every_paper_is_shown_and_written(all_papers: PapersPanel, title: str) -> None:
    panel = all_papers
    panel.choice.type(paper=title)
    panel.out.press("look")
    assert said(panel.out) == said(panel.out) == ""
    assert list(Path.cwd().iterdir()) == []
    shown = shown_in(panel)
    panel.out.type(size="Letter")
    panel.out.press("write")
    (path,) = Path.cwd().glob("*.html")
    assert said(panel.out) == f"Wrote {path.name} beside this notebook. Open it in a browser and print."
    written = path.read_text(encoding="utf-8")
    assert written.replace("size: Letter", "size: A4") == shown
    assert Page(written).faults() == []
    assert f'title="{title}" sandbox=""' in panel.preview.value


def test_each_paper_asks_for_its_own_fields(all_papers: PapersPanel) -> None:
    asked = {}
    for title in TITLES:
        all_papers.choice.type(paper=title)
        asked[title] = [one.words for one in all_papers.form.inputs.values()]
        assert all(asked[title])
    assert asked["Batch sheet"][:4] == ["Lot", "Made by", "Made on", "pH wanted"]
    assert "Net content" in asked["Label text"]
    assert asked["Comparison"] == []


def test_what_is_typed_stands_on_the_batch_sheet(papers: PapersPanel) -> None:
    form = papers.form
    form.type(ph="4.5 to 4.8", lots="Glycerin = G-12\n\nAqua=W-3", yield_within="2")
    text = " ".join(Page(papers.paper().html).text.split())
    assert "pH of the water layer 4.5 to 4.8" in text
    assert "Glycerin G-12 4.000 10.00" in text
    assert "from 245.00 to 250.00 g" in text
    form.type(lots="Glycerin")
    papers.out.press("write")
    assert "'Glycerin' does not say the lot of a material" in said(papers.out)
    assert list(Path.cwd().iterdir()) == []


def test_the_card_takes_batches_between_semicolons(papers: PapersPanel) -> None:
    papers.choice.type(paper="Formula card")
    papers.form.type(batches="50 g; 0,5 kg;")
    text = " ".join(Page(papers.paper().html).text.split())
    assert "Glycerin 4.000 2.00 20.00" in text
    papers.form.type(batches="50")
    papers.out.press("look")
    assert "batch has no unit" in words(papers.preview)
    assert "<iframe" not in papers.preview.value


def test_the_label_is_that_of_the_bench_s_place(papers: PapersPanel) -> None:
    papers.choice.type(paper="Label text")
    papers.form.type(function="body oil")
    papers.choice.type(paper="Batch sheet")
    papers.form.type(lot="TL-9")
    papers.choice.type(paper="Label text")
    assert "Label text for the European Union" in papers.paper().html
    papers.bench.jurisdiction = "us"
    text = papers.paper().html
    assert "Label text for the United States" in text
    assert "body oil" in text
    assert "TL-9" in text


def test_an_empty_box_stands_for_what_the_label_panel_kept(papers: PapersPanel) -> None:
    save_particulars(particulars_file(papers.bench.formula.title), {"function": "body oil", "best_before": "11/2027"})
    papers.choice.type(paper="Label text")
    papers.form.type(function="hair oil")
    text = papers.paper().html
    assert "hair oil" in text
    assert "body oil" not in text
    assert "11/2027" in text


def test_certificates_about_allergens_are_read_where_there_are_any(all_papers: PapersPanel) -> None:
    all_papers.choice.type(paper="Label text")
    assert "Nothing is known about the allergens in Parfum" in all_papers.paper().html
    save_statements(Path("allergen_statements.csv"), collected([read_statement("Parfum", "Limonene 7")]))
    text = " ".join(Page(all_papers.paper().html).text.split())
    assert "Parfum, Limonene" in text
    assert "Nothing is known about the allergens" not in text


def test_costs_come_from_the_bench_s_list_or_from_the_one_named(papers: PapersPanel) -> None:
    papers.choice.type(paper="Cost sheet")
    assert demo_prices().name not in papers.paper().html  # invented prices are the demo's
    papers.bench.prices = demo_prices()
    assert f"price list {demo_prices().name}" in papers.paper().html
    Path("own.csv").write_text("material,amount,unit,price\nAqua,1,kg,1 EUR\n", encoding="utf-8")
    papers.form.type(prices="own.csv")
    assert "price list own.csv" in papers.paper().html
    papers.form.type(prices="none.csv")
    papers.out.press("write")
    assert "none.csv cannot be read: there is no such file" in said(papers.out)


def test_a_formula_without_stocks_or_versions_is_told(papers: PapersPanel) -> None:
    papers.choice.type(paper="Stock labels")
    papers.out.press("write")
    assert "There is no stock to label." in said(papers.out)
    papers.choice.type(paper="Comparison")
    assert said(papers.out) == ""
    papers.out.press("look")
    assert "Choose from 2 to 5 versions to compare; 1 is chosen." in words(papers.preview)


def test_what_is_looked_at_follows_the_fields(papers: PapersPanel) -> None:
    papers.out.press("look")
    papers.form.type(ph="about 5")
    assert "about 5" in shown_in(papers)
    papers.form.type(lots="Glyc")
    assert "<iframe" not in papers.preview.value
    assert "'Glyc' does not say the lot" in words(papers.preview)
    papers.form.type(lots="Glycerin = G")
    assert "about 5" in shown_in(papers)
    assert said(papers.out) == ""


def test_a_pdf_is_written_beside_the_html(papers: PapersPanel, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("kit.papers.writing.print_pdf", lambda html: b"%PDF-" + html[:15].encode())
    papers.out.type(pdf="yes")
    papers.out.press("write")
    assert said(papers.out) == "Wrote batch_sheet_shake.html and batch_sheet_shake.pdf beside this notebook."
    assert Path("batch_sheet_shake.pdf").read_bytes() == b"%PDF-<!DOCTYPE html>"


def test_where_no_browser_prints_the_html_is_there_and_it_is_said(
    papers: PapersPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SHAKEWELL_CHROMIUM", "/nowhere/browser")
    papers.out.type(pdf="yes")
    papers.out.press("write")
    assert "Wrote batch_sheet_shake.html beside this notebook." in said(papers.out)
    assert INSTEAD in said(papers.out)
    assert sheet().startswith("<!DOCTYPE html>")
