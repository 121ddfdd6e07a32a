"""Printed by a real browser: the PDF holds the numbers that were computed, on the paper that was chosen."""

from __future__ import annotations

import os
import re
import sys
import time
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread

import pytest

from kit.bench.balance import Balance
from kit.bench.scaling import Order
from kit.bench.weighing import weigh
from kit.demos import demo
from kit.papers import pdf
from kit.papers.layout import PAPER_SIZES, on_paper
from kit.papers.paper import StudyRecord
from kit.papers.pdf import INSTEAD, PrintError, find_browser, print_pdf
from kit.papers.writing import write_paper
from kit.product.product import Product
from kit.rounding import percent_on_paper
from kit.stability.demo import demo_observations, demo_study
from kit.stability.study import current
from tests.benchmarks.run import long_formula
from tests.papers.all_papers import written
from tests.papers.printed import PrintedPage, pages_of

POINTS = 72 / 25.4  # per mm: a PDF is measured in points

PRODUCT = Product(demo(), order=Order(grams=437.5), balance=Balance(0.01, 600))


@pytest.fixture(scope="module")
def printed(printer: str) -> dict[str, list[PrintedPage]]:
    """Each paper of the invented body shake, printed once; two of them on Letter."""
    long = replace(PRODUCT, formula=replace(long_formula(30), steps=("Stir until clear.",) * 30))
    papers = {
        ("sheet", "a4"): written(
            "batch_sheet", PRODUCT, lot="TL-07", made_by="A. N. Maker", made_on="2026-03-01", ph="4.5 to 4.8"
        ).html,
        ("long sheet", "letter"): written("batch_sheet", long).html,
        ("card", "a4"): written("formula_card", PRODUCT, batches=(100, 437.5, 1000)).html,
        ("labels", "letter"): written("stock_labels", PRODUCT, copies=3).html,
        ("report", "a4"): written(
            "stability_report", StudyRecord(demo_study(), tuple(demo_observations())), today="2026-04-20", long=True
        ).html,
    }
    return {
        f"{name} {size}": pages_of(print_pdf(on_paper(html, size), browser=printer))  # type: ignore[arg-type]
        for (name, size), html in papers.items()
    }


@pytest.fixture(scope="module")
def read(printed: dict[str, list[PrintedPage]]) -> dict[str, list[str]]:
    """The text of every page."""
    return {name: [page.text for page in pages] for name, pages in printed.items()}


def test_every_page_has_the_size_that_was_chosen_and_its_number(printed: dict[str, list[PrintedPage]]) -> None:
    for name, pages in printed.items():
        _, width, height = PAPER_SIZES[name.split()[-1]]  # type: ignore[index]
        for number, page in enumerate(pages, start=1):
            assert page.width == pytest.approx(width * POINTS, abs=0.5), name
            assert page.height == pytest.approx(height * POINTS, abs=0.5), name
            assert f"{number} / {len(pages)}" in page.text, name


def test_the_batch_sheet_holds_every_weighing(read: dict[str, list[str]]) -> None:
    said = " ".join(read["sheet a4"])
    batch = weigh(demo(), "437.5 g", Balance(0.01, 600))
    assert len(batch.weighings) == 11
    for w in batch.weighings:
        assert f"{w.material} {percent_on_paper(w.percent)} {w.grams:.2f} ±{w.grams / 100:.3f}" in said
    assert "Weigh 437.50 g" in said
    assert sum(w.grams for w in batch.weighings) == pytest.approx(437.5, abs=1e-9)
    assert "Expected yield 437.50 g; from 415.62 to 437.50 g" in said  # 95 % of 437.5 is 415.625, to the even step
    for words in ("TL-07", "A. N. Maker", "2026-03-01", "4.5 to 4.8", *map(str, demo().steps)):
        assert words in said


def test_every_page_of_the_sheet_names_product_and_lot(read: dict[str, list[str]]) -> None:
    pages = read["sheet a4"]
    assert len(pages) >= 2
    for page in pages:
        assert "Batch sheet · After-swim body shake · version 3 · TL-07" in page


def test_rows_are_not_split_and_headings_are_repeated(read: dict[str, list[str]]) -> None:
    pages = read["long sheet letter"]
    batch = weigh(long_formula(30), "437.5 g", Balance(0.01, 600))
    rows = [f"{w.material} {percent_on_paper(w.percent)} {w.grams:.2f}" for w in batch.weighings]
    holding = [n for row in rows for n, page in enumerate(pages) if re.search(rf"(?<!yl ){re.escape(row)}", page)]
    assert len(holding) == len(rows) == 30
    assert len(set(holding)) >= 2
    for n in set(holding):
        assert "Ingredient Its lot % w/w Weigh, g" in pages[n]
    steps = [page for page in pages if re.search(r"\d+ Stir until clear\.", page)]
    assert all("Step What to do" in page for page in steps)


def test_the_card_holds_grams_of_three_batches_and_the_window(read: dict[str, list[str]]) -> None:
    said = " ".join(read["card a4"])
    batches = [weigh(demo(), f"{grams} g", Balance(0.01, 600)) for grams in (100, 437.5, 1000)]
    for first, second, third in zip(*(batch.weighings for batch in batches), strict=True):
        grams = f"{first.grams:.2f} {second.grams:.2f} {third.grams:.2f}"
        assert f"{first.material} {percent_on_paper(first.percent)} {grams}" in said
    assert "Together 100.000 100 437.5 1000" in said
    # 0.1 % perfume is 1 % of an oil layer of 10 %; sorbate is 0.3 % of the water layer beside 31.45 % oil
    assert "10.00 % to 31.45 %. Below 10.00 %: Parfum at most 1 % of the oil layer" in said


def test_the_label_holds_strength_and_contents(read: dict[str, list[str]]) -> None:
    said = " ".join(read["labels letter"])
    assert said.count("10 % w/w Citric Acid · 1.04 g/mL") == 3
    assert said.count("Aqua 89.8 %, Citric Acid 10 %, Potassium Sorbate 0.2 %") == 3


def test_the_report_holds_every_reading_in_force(read: dict[str, list[str]]) -> None:
    said = " ".join(read["report a4"])
    kept = [row for row in current(demo_observations()) if row.attribute in ("ph", "mass", "separation_minutes")]
    assert len(kept) > 100
    places = [said.find(row.value) for row in kept]
    assert min(places) >= 0
    for row in kept[:40]:
        assert re.search(rf"(?<![\d.]){re.escape(row.value)}(?![\d])", said), row


# ---- without a browser, or with one that fails ------------------------------------------------------------


def test_without_a_browser_it_is_said_what_to_do(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("SHAKEWELL_CHROMIUM", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(pdf, "PLACES", ())
    assert find_browser() is None
    with pytest.raises(PrintError, match=r"no browser here that prints a PDF\. Install Chromium, Chrome or Edge"):
        print_pdf("<p>")
    files, why_not = write_paper(written("batch_sheet", PRODUCT).html, tmp_path / "sheet.html", pdf=True)
    assert files == [tmp_path / "sheet.html"]
    assert INSTEAD in str(why_not)
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_a_browser_named_and_not_there_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHAKEWELL_CHROMIUM", "/nowhere/browser")
    with pytest.raises(PrintError, match="SHAKEWELL_CHROMIUM names /nowhere/browser, and there is no such program"):
        find_browser()


def stand_in(folder: Path, body: str) -> str:
    """A program that does not do what a browser does."""
    program = folder / "browser"
    program.write_text(f"#!{sys.executable}\n{body}\n", encoding="utf-8")
    program.chmod(0o755)
    return str(program)


posix = pytest.mark.skipif(os.name != "posix", reason="stands in for the browser by a script with #!")


@posix
def test_a_browser_that_hangs_is_ended_with_all_it_started(tmp_path: Path) -> None:
    child = tmp_path / "child"
    body = (
        "import pathlib, subprocess, sys, time\n"
        "child = subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(60)'])\n"
        f"pathlib.Path({str(child)!r}).write_text(str(child.pid))\n"
        "time.sleep(60)"
    )
    begin = time.monotonic()
    with pytest.raises(PrintError, match=r"took longer than 1.5 s to print and was stopped"):
        print_pdf("<p>", browser=stand_in(tmp_path, body), limit=1.5)
    assert time.monotonic() - begin < 15
    pid = int(child.read_text(encoding="utf-8"))
    for _ in range(50):
        if not _runs(pid):
            break
        time.sleep(0.1)
    assert not _runs(pid)


def _runs(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").split()[2] != "Z"
    except OSError:
        return False


@posix
def test_a_browser_that_prints_nothing_is_quoted(tmp_path: Path) -> None:
    body = "import sys\nprint('first', file=sys.stderr)\nprint('cannot open display', file=sys.stderr)"
    with pytest.raises(PrintError, match=r"printed no PDF. It said: cannot open display The HTML is there"):
        print_pdf("<p>", browser=stand_in(tmp_path, body))


@posix
def test_the_page_lies_in_a_folder_of_its_own_that_is_gone_afterwards(tmp_path: Path) -> None:
    record = tmp_path / "arguments"
    body = (
        "import pathlib, sys, urllib.parse\n"
        f"pathlib.Path({str(record)!r}).write_text('\\n'.join(sys.argv[1:]))\n"
        "page = pathlib.Path(urllib.parse.unquote(urllib.parse.urlsplit(sys.argv[-1]).path))\n"
        "out = next(a.split('=', 1)[1] for a in sys.argv if a.startswith('--print-to-pdf='))\n"
        "pathlib.Path(out).write_bytes(b'%PDF-' + page.read_bytes())"
    )
    assert print_pdf("<p>ö", browser=stand_in(tmp_path, body)) == "%PDF-<p>ö".encode()
    given = record.read_text(encoding="utf-8").splitlines()
    assert given[-1].startswith("file:///")
    assert "--proxy-server=127.0.0.1:9" in given
    profile = next(Path(a.split("=", 1)[1]) for a in given if a.startswith("--user-data-dir="))
    assert not profile.parent.exists()
    assert ("--no-sandbox" in given) == (os.geteuid() == 0)


def test_a_program_that_cannot_be_started_is_told(tmp_path: Path) -> None:
    program = tmp_path / "browser"
    program.write_text("no program", encoding="utf-8")
    with pytest.raises(PrintError, match="The browser could not be started"):
        print_pdf("<p>", browser=str(program))


def test_a_printed_page_fetches_nothing_and_runs_nothing(printer: str, tmp_path: Path) -> None:
    """Text cannot become HTML in a paper; here it is HTML, and still nothing comes in from a file or a server."""
    secret = tmp_path / "secret.html"
    secret.write_text("<p>the maker's secret</p>", encoding="utf-8")
    asked: list[str] = []

    class Server(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)

        def log_message(self, *_: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Server)
    Thread(target=server.serve_forever, daemon=True).start()
    there, here = f"http://127.0.0.1:{server.server_port}", secret.as_uri()
    hostile = (
        f'<iframe src="{here}"></iframe><object data="{here}"></object><embed src="{here}">'
        f'<img src="{there}/image"><link rel="stylesheet" href="{there}/style"><iframe src="{there}/frame"></iframe>'
        f"<style>@import url({there}/import); p {{ background: url({there}/back) }}</style>"
        f'<script>document.body.append("run"+"ning"); fetch("{there}/fetch")</script>'
        f'<svg width="9" height="9"><image href="{there}/drawing"/></svg>'
    )
    html = written("formula_card", PRODUCT).html.replace("</body>", f"{hostile}<p>all of it</p></body>")
    pages = pages_of(print_pdf(html, browser=printer))
    server.shutdown()
    server.server_close()
    text = "".join(page.text for page in pages)
    assert "all of it" in text
    assert "secret" not in text
    assert "running" not in text
    assert asked == []
