"""Each paper of a product says what was computed, in words a reader understands."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from kit.bench.balance import Balance
from kit.bench.batch_text import ByBottles
from kit.bench.cost import cost
from kit.bench.price_list import demo_prices
from kit.bench.scaling import Order
from kit.bench.weighing import weigh
from kit.demos import demo
from kit.errors import EntryError, RangeError
from kit.formula.model import Formula, Line, Phase, Rule
from kit.formula.versions import with_variant
from kit.label.declaration import declaration
from kit.label.label_text import label
from kit.label.particulars import Particulars
from kit.library.ingredient import Stock
from kit.money import money
from kit.papers.batch_sheet import read_lots
from kit.papers.comparison import beside
from kit.papers.formula_card import HOLDS_IN_WORDS
from kit.papers.registry import specs
from kit.papers.writing import paper_name
from kit.product.beginning import blank, starting_points
from kit.product.costing import Costing
from kit.product.product import Product
from kit.rounding import all_digits, percent_on_paper
from tests.papers.all_papers import written
from tests.papers.reading import Page

if TYPE_CHECKING:
    from kit.library.table import Jurisdiction
    from kit.papers.paper import Paper

PRODUCT = Product(demo(), balance=Balance(0.01, 2000), prices=demo_prices())


def said(paper: Paper) -> str:
    """What a person reads, with single spaces."""
    return " ".join(Page(paper.html).text.split())


# ---- batch sheet ------------------------------------------------------------------------------------------


def test_the_batch_sheet_has_the_headings_of_a_record() -> None:
    headings = [" ".join("".join(e.itertext()).split()) for e in Page(written("batch_sheet", PRODUCT).html).all("h2")]
    assert headings == [
        "Before you start",
        "Get ready", "Weigh 250.00 g", "Make", "Look and measure while you make it", "In the bottle", "What came out",
        "Cautions", "Deviations", "Release", "Sources",
    ]  # fmt: skip
    text = said(written("batch_sheet", PRODUCT))
    for words in (
        "Bench cleared: no material, vessel or label of another product is on it.",
        "Balance reads 0.01 g, carries 2000 g",
        "To be signed by the person responsible, after reading this sheet:",
        "Product made here before",
        "Samples kept, and where",
        "section numbers from memory",
    ):
        assert words in text


def test_a_vessel_is_named_for_each_phase() -> None:
    # 212.5 g of water layer at about 1.02 g/mL need 208 mL, which with a fifth of room is 260 mL: the next is 400
    text = said(written("batch_sheet", PRODUCT))
    assert "Vessel for Water layer 400 mL or larger, 20 % of it left empty" in text
    assert "Vessel for Oil layer 100 mL or larger, 20 % of it left empty" in text
    much = replace(PRODUCT, order=Order(grams=20_000))
    assert "Vessel for Water layer in parts: none is large" in said(written("batch_sheet", much))


def test_controls_wait_for_what_is_found() -> None:
    text = said(written("batch_sheet", PRODUCT, ph="4.5 to 4.8"))
    assert "pH of the water layer 4.5 to 4.8" in text
    grams = sum(s.volume * s.layer.density for s in PRODUCT.standing)
    assert f"Fill of a bottle, g {grams:.1f} ({PRODUCT.fill:g} mL)" in text
    oil = Formula("Oil", (Phase("O", "oil", (Line("Squalane", "100"),)),))
    assert "pH of the water layer" not in said(written("batch_sheet", Product(oil)))


def test_loss_and_limits_of_the_yield() -> None:
    product = replace(PRODUCT, order=Order(grams=900, overage=5, loss=10))
    text = said(written("batch_sheet", product, yield_within=4))
    assert "Weigh 1050.00 g" in text
    assert "Expected yield 945.00 g; from 907.20 to 982.80 g needs no explanation (within 4 %" in text


def test_lots_stand_in_their_rows_and_the_rest_is_left_to_write() -> None:
    text = said(written("batch_sheet", PRODUCT, lot="TL-7", lots=read_lots(["Glycerin = G-12"])))
    assert "Glycerin G-12 4.000 10.00" in text
    assert "Tocopherol 0.300 0.75" in text
    with pytest.raises(
        EntryError, match=r"'Glycerin' does not say the lot of a material\. Write it like Glycerin = G-12"
    ):
        read_lots(["Glycerin"])


@pytest.mark.parametrize("formula", [Formula(), Formula("Half", (Phase("W", "water", (Line("Aqua", "50"),)),))])
def test_what_cannot_be_weighed_is_printed_with_the_reason_first(formula: Formula) -> None:
    paper = written("batch_sheet", Product(formula))
    assert paper.stops
    text = said(paper)
    assert "Cannot be weighed yet No grams are printed" in text
    assert text.index(f"stop {formula.title} cannot be weighed yet") < text.index("Get ready")


def test_a_blend_that_is_part_of_itself_stops_no_paper() -> None:
    loop = Stock("Loop", {"Loop": 50.0, "Aqua": 50.0})
    formula = Formula("L", (Phase("W", "water", (Line("Loop", "100"),)),), materials=(loop,))
    product = Product(formula)
    for name in ("batch_sheet", "formula_card", "label_text", "stock_labels"):
        assert Page(written(name, product).html).faults() == []
    assert "Loop is made of itself" in said(written("batch_sheet", product))


# ---- formula card -----------------------------------------------------------------------------------------


def test_the_card_says_how_each_line_bears_another_ratio() -> None:
    text = said(written("formula_card", PRODUCT, long=True))
    assert set(HOLDS_IN_WORDS.values()) <= {w for w in HOLDS_IN_WORDS.values() if w in text}
    # by hand: glycerin shares the water layer, 4 / 85 of it; at 10 % oil 4 x 90 / 85, at 31.45 % 4 x 68.55 / 85
    high = 4 * (0.2 / (0.003 - 0.00007 / 0.85)) / 85
    assert f"Glycerin grows and shrinks with its layer {4 * 90 / 85:.3f} 4.000 {high:.3f}" in text
    assert "Parfum keeps its percent of the whole 0.100 0.100 0.100" in text
    assert "Below 10.00 %: Parfum at most 1 % of the oil layer (the maker's own rule)." in text
    assert (
        "Above 31.45 %: Potassium Sorbate in the water layer usually at most 0.3 % (common practice, no law)." in text
    )
    assert "Judged along the ratio: 2 limits of the law, 3 rules of your own and" in text
    assert "whether microbes are held: trials and tests show that." in text


def test_grams_add_up_to_each_batch() -> None:
    batches = (123.45, 1000.0)
    columns = [weigh(demo(), f"{all_digits(grams)} g", PRODUCT.balance).weighings for grams in batches]
    text = said(written("formula_card", PRODUCT, batches=batches))
    for one, other in zip(*columns, strict=True):
        assert f"{one.material} {percent_on_paper(one.percent)} {one.grams:.2f} {other.grams:.2f}" in text
    assert [round(sum(w.grams for w in column), 9) for column in columns] == [*batches]
    assert "Together 100.000 123.45 1000" in text


def test_a_card_for_bottles_weighs_what_its_sheet_does() -> None:
    splash = Product(starting_points()["alcohol-splash"], balance=Balance(0.1, 2000))
    text = said(written("formula_card", splash, batches=(ByBottles(6, 100.0), 250.0)))
    sheet = splash.with_batch(ByBottles(6, 100.0)).batch
    assert 500 < sheet.mass < 600  # alcohol makes it lighter than water
    assert "for 6 x 100 mL for 250 g" in text
    assert all(f"{percent_on_paper(one.percent)} {one.grams:.1f} " in text for one in sheet.weighings)
    assert f"Together 100.000 {sheet.mass:.1f} 250" in text
    half = replace(splash, formula=blank("Half"))
    assert "Together 0.000 —" in said(written("formula_card", half, batches=(ByBottles(6, 100.0),)))


def test_without_a_ratio_or_a_window_the_card_says_why() -> None:
    toner = Formula("Toner", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Glycerin", "4"))),))
    text = said(written("formula_card", Product(toner)))
    assert "Toner" in text.split("Another ratio, other ways to make it")[1].split("Keeping")[0]
    shut = replace(demo(), rules=(Rule("Glycerin", low=50),))
    assert "No ratio" in said(written("formula_card", Product(shut)))


def test_variants_notes_and_earlier_versions_are_the_maker_s_own() -> None:
    bare = said(written("formula_card", PRODUCT))
    assert "The maker has written no variants and no notes to the ingredients; none are suggested here." in bare
    assert "Version 2: Coco-Caprylate in place of the heavier triglyceride" in bare
    water, oil = demo().phases
    other = replace(oil, lines=(replace(oil.lines[0], material="Squalane"), *oil.lines[1:]))
    family = with_variant(demo(), "dry skin", replace(demo(), phases=(water, other)), "heavier on the skin")
    noted = replace(
        family, phases=(replace(water, lines=(replace(water.lines[0], note="boiled"), *water.lines[1:])), oil)
    )
    text = said(written("formula_card", Product(noted), keeping="cool and dark"))
    assert "dry skin heavier on the skin" in text
    assert "Coco-Caprylate 9.600 — Squalane — 9.600" in text
    assert "Aqua : boiled" in text
    assert "cool and dark" in text
    assert "none are suggested here" not in text


def test_an_incomplete_formula_still_has_a_card_without_grams() -> None:
    half = Formula("Half", (Phase("W", "water", (Line("Aqua", "50"), Line("Glycerin", "a pinch"))),))
    paper = written("formula_card", Product(half))
    assert paper.stops
    assert "Aqua 50.000 — — —" in said(paper)
    assert "Glycerin a pinch — — —" in said(paper)


# ---- label, stocks, cost, comparison ------------------------------------------------------------------------


@pytest.mark.parametrize("place", ["eu", "us"])
def test_the_label_paper_holds_the_text_the_reasons_and_what_is_missing(place: Jurisdiction) -> None:
    product = replace(PRODUCT, jurisdiction=place)
    details = Particulars(function="body oil", batch_code="TL-7")
    text = said(written("label_text", replace(product, particulars=replace(details, content="85 mL")), long=True))
    expected = label(demo(), PRODUCT.materials, jurisdiction=place, details=details)
    listed = declaration(demo(), PRODUCT.materials, jurisdiction=place)
    assert listed.text in text
    for number, entry in enumerate(listed.entries, start=1):
        assert f"{number} {entry.name} {percent_on_paper(entry.percent)} {entry.group} {entry.reason}" in text
    missing = [m for m in expected.missing if m.field != "content"]
    assert missing
    assert all(" ".join(m.what.split()) in text for m in missing)
    assert "TL-7" in text


def test_a_complete_label_misses_nothing() -> None:
    details = Particulars(
        product_name="Shake",
        function="body oil",
        batch_code="TL-7",
        durability_months=12,
        best_before="11/2027",
        responsible_person="A. N. Maker, Tern Lane (invented)",
    )
    text = said(written("label_text", replace(PRODUCT, particulars=details)))
    assert "What is missing Nothing that the kit knows to be asked for in the European Union." in text


def test_labels_for_stocks_are_cut_out_of_one_page() -> None:
    by_hand = {"lot": "S-1", "made_by": "A. Maker", "made_on": "2026-03-01"}
    page = Page(written("stock_labels", PRODUCT, **by_hand, copies=6).html)
    labels = [e for e in page.all("section") if e.get("class") == "label"]
    assert len(labels) == 6
    words = " ".join("".join(labels[0].itertext()).split())
    assert words.startswith("Citric Acid 10 % stock 10 % w/w Citric Acid · 1.04 g/mL Contents, % w/w: Aqua 89.8 %,")
    assert "Lot S-1 · made on 2026-03-01 · by A. Maker" in words
    assert "Not a finished product. Keep closed, away from children." in words
    for copies in (0, 101):
        with pytest.raises(RangeError, match=f"Print 1 to 100 labels of each stock, not {copies}"):
            written("stock_labels", PRODUCT, copies=copies)
    with pytest.raises(RangeError, match="There is no stock to label"):
        written("stock_labels", PRODUCT, only="Vinegar")
    assert "Citric Acid 10 % stock" in said(written("stock_labels", PRODUCT, only="citric acid 10 % STOCK"))


def test_the_cost_sheet_adds_up_to_what_was_computed() -> None:
    product = replace(PRODUCT, order=Order("bottles", bottles=6, fill=90))
    text = said(written("cost_sheet", replace(product, costing=Costing(4, 12))))
    size = product.batch_size.product
    sheet = cost(product.batch, product.materials, demo_prices(), product=size, bottles=6, waste_percent=4, labour=12)
    for line, shown in zip(sheet.lines, sheet.shown, strict=False):
        assert (
            f"{line.material} {percent_on_paper(line.percent)} {line.grams:.2f} {money(1000 * line.per_gram)} "
            f"{shown:.2f}" in text
        )
    assert f"The batch {money(sheet.total, 'EUR')} A bottle {money(sheet.per_bottle or 0, 'EUR')}" in text
    assert sum(sheet.shown) == pytest.approx(sheet.total_shown)
    assert "Labour 12.00" in text
    assert f"Together {money(sheet.outlay, 'EUR')}" in text


def test_what_is_left_over_is_borne_by_the_bottles_on_paper_too() -> None:
    found = [finding.sentence for finding in PRODUCT.cost.findings if "left over" in finding.sentence]
    assert len(found) == 1
    assert found[0] in said(written("cost_sheet", PRODUCT))


def test_what_has_no_price_makes_the_cost_at_least() -> None:
    water, oil = demo().phases
    odd = replace(
        demo(), phases=(replace(water, lines=(*water.lines[:1], Line("Moon dust", "4"), *water.lines[2:])), oil)
    )
    paper = written("cost_sheet", Product(odd, prices=demo_prices()))
    text = said(paper)
    assert "The batch at least " in text
    assert "Moon dust 4.000 10.00 no price at least 0.00" in text
    assert any(f.severity == "caution" and "Moon dust" in f.sentence for f in paper.findings)


def test_a_comparison_is_with_earlier_versions_or_with_others() -> None:
    assert "Comparison of 2 versions" in said(written("comparison", PRODUCT))
    other = replace(demo(), title="Other", version=3)
    versions = beside({"version 3": other, "spring": other}, "version 3", PRODUCT.formula)
    text = said(written("comparison", PRODUCT, versions=versions))
    assert "version 3 (another)" in text
    assert "Comparison of 3 versions" in text
    with pytest.raises(RangeError, match="Choose from 2 to 5 versions to compare; 1 is chosen"):
        written("comparison", Product(replace(demo(), earlier=())))


def test_papers_never_say_safe_or_preserved() -> None:
    names = [name for name, spec in specs().items() if spec.about == "product"]
    assert len(names) >= 6
    for paper in (written(name, PRODUCT) for name in names):
        assert not re.search(r"\b(safe|preserved)\b", said(paper), re.IGNORECASE), paper.kind


def test_a_paper_is_named_after_what_it_is() -> None:
    assert paper_name("batch_sheet", "Après-swim / shake!", " ", "TL-07") == "batch_sheet_après_swim_shake_tl_07"
    assert paper_name("card", "..") == "card_formula"


def test_the_card_of_a_lotion_speaks_of_phases_and_shows_no_column_twice() -> None:
    lotion = demo("quiet_hour_lotion")
    text = said(written("formula_card", Product(lotion)))
    assert "When the phases change size" in text
    assert "oil layer" not in text
    assert "% oil phase" in text  # the columns at both ends of the window
    # at 0.1 % of a chelator and 1 % of a preservative both habits hold at the ratio as written alone
    water = Phase("Water", "water", (Line("Aqua", "q.s."), Line("Sodium Gluconate", "0.1")))
    cool = Phase("Cool-down", "water", (Line("Phenoxyethanol (and) Ethylhexylglycerin", "1"),))
    oil = Phase("Oil", "oil", (Line("Squalane", "18"),))
    narrow = Product(Formula("Narrow", (water, oil, cool), description=lotion.description))
    assert narrow.window.low == pytest.approx(narrow.window.high)
    text = said(written("formula_card", narrow))
    assert "The oil phase is 18.00 % of the whole" in text
    assert "% oil phase" not in text
