"""Papers of a bench's length: pages are counted in what a browser prints, and nothing is lost by being short."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import TYPE_CHECKING

import pytest

from kit.bench.balance import Balance
from kit.bench.scaling import Order
from kit.demos import demo
from kit.formula.model import Formula, Line, PhReading
from kit.label.cautions import cautions_for
from kit.papers.batch_sheet import substances_in
from kit.papers.layout import PAPER_SIZES, on_paper
from kit.papers.paper import StudyRecord
from kit.papers.pdf import print_pdf
from kit.product.beginning import starting_points
from kit.product.product import Product
from kit.stability.demo import demo_observations, demo_study
from tests.benchmarks.run import long_formula
from tests.papers.all_papers import written
from tests.papers.printed import pages_of
from tests.papers.reading import Page
from tests.rows import each_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from kit.papers.layout import PaperSize

    Pages = Callable[[str, PaperSize], list[str]]

ORDER, BALANCE = Order(grams=437.5), Balance(0.01, 600)
STEPS = tuple(f"Step {n}: stir slowly until it is clear, then note what the thermometer says." for n in range(8))
MORE = ("Panthenol", "Betaine", "Propanediol", "Sodium Lactate", "Urea", "Allantoin", "Sorbitol", "Trehalose")
RECORD = StudyRecord(demo_study(), tuple(demo_observations()))


def lengthened(formula: Formula, lines: int) -> Formula:
    """The formula with so many lines."""
    first, *rest = formula.phases
    have = [line.material for phase in formula.phases for line in phase.lines]
    more = [Line(name, "0.1") for name in MORE if name not in have][: lines - len(have)]
    return replace(formula, phases=(replace(first, lines=(*first.lines, *more)), *rest))


FORMULAS = {
    "the demo": demo(),
    "sixteen lines": replace(long_formula(16), steps=STEPS),
    "a cream": lengthened(starting_points()["body-cream"], 16),
    "a mist": lengthened(starting_points()["two-layer-hair-mist"], 16),
    "a toner": starting_points()["toner"],
    "a splash": lengthened(starting_points()["alcohol-splash"], 9),
}


@pytest.fixture(scope="module")
def pages(printer: str) -> Iterator[Pages]:
    """Prints a paper as ``print_pdf`` does, and gives the text of every page; one browser for all of them."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=printer, args=["--no-sandbox"])
        page = browser.new_page()

        def printed(html: str, size: PaperSize) -> list[str]:
            page.set_content(on_paper(html, size))
            return [one.text for one in pages_of(page.pdf(prefer_css_page_size=True, print_background=True))]

        yield printed
        browser.close()


@pytest.mark.slow
@each_of(("name", "size", "ph"), product(FORMULAS, PAPER_SIZES, (None, PhReading(5.0, "2026-05-31"))))
def test_a_sheet_is_two_pages_a_card_one_with_its_ratios_two_and_a_label_one(
    name: str, size: PaperSize, ph: PhReading | None, pages: Pages
) -> None:
    formula = replace(FORMULAS[name], measured_ph=ph)
    made = Product(formula, order=ORDER, balance=Balance(0.1, 2000))  # most lines are small for it
    assert len(pages(written("batch_sheet", made).html, size)) == 2
    if ph:
        return  # which the others do not ask for
    ratios = len({phase.kind for phase in formula.phases}) > 1
    assert len(pages(written("formula_card", made).html, size)) == (2 if ratios else 1)
    assert len(pages(written("label_text", made).html, size)) == 1


@pytest.mark.slow
def test_one_browser_prints_as_many_pages_as_one_for_each(printer: str, pages: Pages) -> None:
    html = written("stability_report", RECORD, today="2026-04-20").html
    alone = pages_of(print_pdf(on_paper(html, "letter"), browser=printer))
    assert [page.text for page in alone] == pages(html, "letter")


@pytest.mark.slow
@pytest.mark.parametrize("size", PAPER_SIZES)
def test_a_report_opens_with_a_page_that_stands_alone(size: PaperSize, pages: Pages) -> None:
    first, second, *rest = pages(written("stability_report", RECORD, today="2026-04-20").html, size)
    assert len(rest) <= 4
    for words in (
        "The limits of the plan are not kept: 9 of 120 judged fail, 8 are to be watched.",
        "Shelf life, computed: where each limit is met first",
        "pH Warm box, 40 °C 56 56",
        "What was not done",
        "Not read: ",
        "Microbial count in 12 of 12 bottles",
        "1 pull missed",
        "Nothing here tells about microbes",
        "This is the short form.",
    ):
        assert words in first
    assert "Overview" in second


@pytest.mark.parametrize("name", FORMULAS)
@pytest.mark.parametrize("kind", ["batch_sheet", "formula_card", "label_text"])
def test_what_the_long_form_warns_of_the_short_one_does_too(name: str, kind: str) -> None:
    made = Product(FORMULAS[name], order=ORDER, balance=BALANCE)
    short, long = (written(kind, made, long=asked) for asked in (False, True))
    assert short.findings == long.findings
    texts = [" ".join(Page(paper.html).text.split()) for paper in (short, long)]
    listed = [Page(paper.html).html.count('<li class="') for paper in (short, long)]
    assert listed[0] == listed[1]
    for finding in short.findings:
        sentence = " ".join(finding.sentence.split())
        assert (sentence in texts[0]) == (sentence in texts[1])
        assert not finding.source or sentence not in texts[0] or " ".join(finding.source.split()) in texts[0]
    if kind != "label_text":
        cautions = cautions_for(substances_in(made.formula, made.materials), made.materials)
        assert cautions
        assert all(" ".join(one.split()) in texts[0] for one in cautions)
    else:
        assert all(" ".join(line.split()) in texts[0] for line in made.label.text.splitlines())
        assert all(" ".join(one.what.split()) in texts[0] for one in made.label.missing)


def test_the_short_report_keeps_every_judgement_correction_and_caution() -> None:
    short, long = (written("stability_report", RECORD, today="2026-04-20", long=asked).html for asked in (False, True))
    sections = [
        {s.get("aria-labelledby"): "".join(s.itertext()) for s in Page(html).all("section")} for html in (short, long)
    ]
    for name in ("overview", "corrections", "pulls", "cautions", "methods"):
        assert sections[0][name] == sections[1][name]
    computed = [Page(html).text.count("caution ") for html in (short, long)]
    assert computed[0] == computed[1]
    assert {*sections[1]} - {*sections[0]} == {"trends", "grades", "plan", "readings", "hands", "notes"}
