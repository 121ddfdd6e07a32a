"""The papers panel: choose, fill in, look, write; it follows the bench."""

from __future__ import annotations

import re
from datetime import date
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
from kit.saving import earlier_saves
from kit.widgets.bench import Bench
from kit.widgets.papers_forms import FORMS
from kit.widgets.papers_panel import PapersPanel
from tests.papers.reading import Page
from tests.widgets.hands import HOSTILE, one_phase, two_layers, typed, words

TITLES = [form.title for form in FORMS]


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
    papers.lot.value, papers.made_by.value, papers.made_on.value = (
        "TL-07",
        "A. N. Maker (invented)",
        date(2026, 3, 9),
    )
    papers.write.click()
    assert words(papers.message) == (
        "✓ Wrote batch_sheet_shake_tl_07.html beside this notebook. Open it in a browser and print."
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
    papers.write.click()
    assert shown_in(papers) == sheet()


def test_written_again_the_sheet_before_is_kept(papers: PapersPanel) -> None:
    papers.write.click()
    first = sheet()
    papers.bench.order = Order(grams=500)
    papers.write.click()
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
    papers.write.click()
    before = sheet()
    setattr(papers.bench, trait, value)
    assert shown_in(papers) == papers.sheet()
    assert (papers.sheet() != before) == (trait not in ("jurisdiction", "ph", "prices"))
    assert sheet() == before
    assert papers.message.value == ""
    papers.show.value = False
    assert papers.preview.value == ""


def test_a_formula_that_cannot_be_weighed_says_so_at_the_head_of_its_sheet(papers: PapersPanel) -> None:
    typed(papers.bench, 0, 1, "")
    assert "It will be printed with this at its head: ✕ stop Glycerin has no amount yet." in words(papers.about)
    papers.write.click()
    said = " ".join(Page(sheet()).text.split())
    assert "stop Shake cannot be weighed yet: Glycerin (line 2 of Water layer) has no amount" in said
    assert "No grams are printed" in said


def test_a_fill_that_the_bottle_cannot_hold_leaves_the_bottle_out(papers: PapersPanel) -> None:
    papers.bench.fill = 300
    papers.write.click()
    assert "In the bottle" not in sheet()


def test_a_finding_that_stops_is_printed_first(papers: PapersPanel) -> None:
    papers.bench.hear({"kind": "set_material", "phase": 0, "line": 1, "text": "Moon Dust"})
    papers.write.click()
    assert sheet().index("Moon Dust is not in the library") < sheet().index("Weigh 250.00 g")


def test_a_folder_that_is_in_the_way_is_told(papers: PapersPanel) -> None:
    Path("batch_sheet_shake.html").mkdir()
    papers.write.click()
    assert "✕ batch_sheet_shake.html was not saved: there is a folder of that name." in words(papers.message)


def test_hostile_text_is_escaped_on_paper_and_in_the_preview() -> None:
    papers = PapersPanel(Bench(one_phase(("Aqua", "q.s."), (HOSTILE, "5"), note=HOSTILE, steps=(HOSTILE,))))
    papers.lot.value = papers.made_by.value = HOSTILE
    papers.write.click()
    (path,) = Path.cwd().glob("batch_sheet_*.html")
    assert "<img" not in path.read_text(encoding="utf-8")
    assert path.read_text(encoding="utf-8").count("&lt;img") >= 5
    assert "<img" not in papers.preview.value + papers.message.value
    assert papers.preview.value.count('"') == 8  # four attributes, none of them broken out of


# ---- every paper ------------------------------------------------------------------------------------------


@pytest.fixture
def all_papers() -> PapersPanel:
    return PapersPanel(Bench(demo()))


@pytest.mark.parametrize("title", TITLES)
def test_every_paper_is_shown_and_written(all_papers: PapersPanel, title: str) -> None:
    panel = all_papers
    panel.choice.value = title
    panel.show.value = True
    assert panel.message.value == ""
    assert list(Path.cwd().iterdir()) == []
    shown = shown_in(panel)
    panel.paper_size.value = "letter"
    panel.write.click()
    (path,) = Path.cwd().glob("*.html")
    assert words(panel.message) == f"✓ Wrote {path.name} beside this notebook. Open it in a browser and print."
    written = path.read_text(encoding="utf-8")
    assert written.replace("size: Letter", "size: A4") == shown
    assert Page(written).faults() == []
    assert f'title="{title}" sandbox=""' in panel.preview.value


def test_each_paper_asks_for_its_own_fields(all_papers: PapersPanel) -> None:
    asked = {}
    for title in TITLES:
        all_papers.choice.value = title
        asked[title] = [box.description for box in all_papers.fields.children]
        assert all(asked[title])
    assert asked["Batch sheet"][:4] == ["Lot", "Made by", "Made on", "pH wanted"]
    assert "Net content" in asked["Label text"]
    assert asked["Comparison"] == []


def test_what_is_typed_stands_on_the_batch_sheet(papers: PapersPanel) -> None:
    form = papers.form
    form.ph.value, form.lots.value, form.within.value = "4.5 to 4.8", "Glycerin = G-12\n\nAqua=W-3", 2  # type: ignore[attr-defined]
    said = " ".join(Page(papers.sheet()).text.split())
    assert "pH of the water layer 4.5 to 4.8" in said
    assert "Glycerin G-12 4.000 10.00" in said
    assert "from 245.00 to 250.00 g" in said
    form.lots.value = "Glycerin"  # type: ignore[attr-defined]
    papers.write.click()
    assert "'Glycerin' does not say the lot of a material" in words(papers.message)
    assert list(Path.cwd().iterdir()) == []


def test_the_card_takes_batches_between_semicolons(papers: PapersPanel) -> None:
    papers.choice.value = "Formula card"
    papers.form.batches.value = "50 g; 0,5 kg;"  # type: ignore[attr-defined]
    said = " ".join(Page(papers.sheet()).text.split())
    assert "Glycerin 4.000 2.00 20.00" in said
    papers.form.batches.value = "50"  # type: ignore[attr-defined]
    papers.show.value = True
    assert "batch has no unit" in words(papers.message)
    assert papers.preview.value == ""


def test_the_label_is_that_of_the_bench_s_place(papers: PapersPanel) -> None:
    papers.choice.value = "Label text"
    papers.form.function.value = "body oil"  # type: ignore[attr-defined]
    papers.lot.value = "TL-9"
    assert "Label text for the European Union" in papers.sheet()
    papers.bench.jurisdiction = "us"
    said = papers.sheet()
    assert "Label text for the United States" in said
    assert "body oil" in said
    assert "TL-9" in said


def test_an_empty_box_stands_for_what_the_label_panel_kept(papers: PapersPanel) -> None:
    save_particulars(particulars_file(papers.bench.formula.title), {"function": "body oil", "best_before": "11/2027"})
    papers.choice.value = "Label text"
    papers.form.function.value = "hair oil"  # type: ignore[attr-defined]
    said = papers.sheet()
    assert "hair oil" in said
    assert "body oil" not in said
    assert "11/2027" in said


def test_certificates_about_allergens_are_read_where_there_are_any(all_papers: PapersPanel) -> None:
    all_papers.choice.value = "Label text"
    assert "Nothing is known about the allergens in Parfum" in all_papers.sheet()
    save_statements(Path("allergen_statements.csv"), collected([read_statement("Parfum", "Limonene 7")]))
    said = " ".join(Page(all_papers.sheet()).text.split())
    assert "Parfum, Limonene" in said
    assert "Nothing is known about the allergens" not in said


def test_costs_come_from_the_bench_s_list_or_from_the_one_named(papers: PapersPanel) -> None:
    papers.choice.value = "Cost sheet"
    assert f"price list {demo_prices().name}" in papers.sheet()
    Path("own.csv").write_text("material,amount,unit,price\nAqua,1,kg,1 EUR\n", encoding="utf-8")
    papers.form.prices.value = "own.csv"  # type: ignore[attr-defined]
    assert "price list own.csv" in papers.sheet()
    papers.form.prices.value = "none.csv"  # type: ignore[attr-defined]
    papers.write.click()
    assert "none.csv cannot be read: there is no such file" in words(papers.message)


def test_a_formula_without_stocks_or_versions_is_told(papers: PapersPanel) -> None:
    papers.choice.value = "Stock labels"
    papers.write.click()
    assert "There is no stock to label." in words(papers.message)
    papers.choice.value = "Comparison"
    assert papers.message.value == ""
    papers.show.value = True
    assert "Choose from 2 to 5 versions to compare; 1 is chosen." in words(papers.message)


def test_what_is_looked_at_follows_the_fields(papers: PapersPanel) -> None:
    papers.show.value = True
    papers.form.ph.value = "about 5"  # type: ignore[attr-defined]
    assert "about 5" in shown_in(papers)
    papers.form.lots.value = "Glyc"  # type: ignore[attr-defined]
    assert papers.preview.value == ""
    assert "'Glyc' does not say the lot" in words(papers.message)
    papers.form.lots.value = "Glycerin = G"  # type: ignore[attr-defined]
    assert "about 5" in shown_in(papers)
    assert papers.message.value == ""


def test_a_pdf_is_written_beside_the_html(papers: PapersPanel, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("kit.papers.writing.print_pdf", lambda html: b"%PDF-" + html[:15].encode())
    papers.pdf.value = True
    papers.write.click()
    assert words(papers.message) == "✓ Wrote batch_sheet_shake.html and batch_sheet_shake.pdf beside this notebook."
    assert Path("batch_sheet_shake.pdf").read_bytes() == b"%PDF-<!DOCTYPE html>"


def test_where_no_browser_prints_the_html_is_there_and_it_is_said(
    papers: PapersPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SHAKEWELL_CHROMIUM", "/nowhere/browser")
    papers.pdf.value = True
    papers.write.click()
    assert "✓ Wrote batch_sheet_shake.html beside this notebook." in words(papers.message)
    assert INSTEAD in words(papers.message)
    assert sheet().startswith("<!DOCTYPE html>")
