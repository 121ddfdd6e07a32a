"""Whatever is typed into a field is shown as text: on every paper, in every table file, visible and harmless."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import openpyxl
import pytest

from kit.formula.files import read_formula, save_formula
from kit.label.entries import plain_line
from kit.spreadsheet_text import RUN_BY_SPREADSHEETS
from kit.visible_text import visible
from tests.papers.all_papers import PAPERS, TAME, formula_of
from tests.papers.reading import Page
from tests.rows import each_of

if TYPE_CHECKING:
    from pathlib import Path

ZALGO = "e" + "\u0301\u0316\u0353" * 40
HOSTILE = {
    "script": "<script>alert(1)</script>",
    "image": "\"><img src=x onerror='alert(1)'>",
    "end of style": "</style></title></textarea><b>bold",
    "comment": "<!-- --><![CDATA[ ]]>",
    "template": "{{ 7 * 7 }}{% include 'x' %}{# no #}",
    "entity": "&lt;already&gt; &amp; &#0; & more",
    "formula": '=HYPERLINK("x","y")',
    "plus": "+1+cmd|' /C calc'!A0",
    "minus": "-1+1",
    "at": "@SUM(A1)",
    "wide equals": "＝1+1",
    "guarded already": "'=1+1",
    "right to left": "Aqua\u202egnp.exe\u202c",
    "isolates": "\u2066a\u2067b\u2068c\u2069\u200f\u200e\u061c",
    "byte mark": "\ufeffa\u200bb\u2028c\u2029d",
    "control": "a\x01b\x07c\x1bd\x7fe\x85f",
    "carriage return": "a\rb",
    "half of a sign": "a\ud800b",
    "no sign": "a\ufffeb\uffff\ufdd0\U0001fffe",
    "emoji": "👩‍🔬🏳️‍🌈🧴",
    "combining": ZALGO,
    "Arabic and Hebrew": "زيت الأرغان שמן",
    "css": "*/}body{}</style/*\\",
    "ten thousand letters": "W" * 10_000,
}
CONTROLS = {chr(n) for n in (*range(9), 11, 12, *range(14, 32), *range(127, 160))} | set(
    "\u202e\u2066\u200f\ufeff\u2028"
)


def shown(text: str) -> str:
    """The text as a paper shows it."""
    return visible(text.replace("\r\n", "\n").replace("\r", "\n"))


@cache
def tame(name: str) -> Page:
    """The same paper with a text that harms nobody."""
    return Page(PAPERS[name](TAME))


@pytest.mark.slow
@each_of("kind", HOSTILE)
@each_of("name", PAPERS)
def test_a_paper_shows_it_as_text(name: str, kind: str) -> None:
    text = HOSTILE[kind]
    page = Page(PAPERS[name](text))
    if name.startswith("label"):  # a label tells of each sign that it leaves out
        assert set(page.tags) == set(tame(name).tags)
    else:
        assert page.tags == tame(name).tags
    assert page.faults() == []
    assert not CONTROLS & set(page.html)
    words, wanted = page.text, shown(text)
    count = words.count(wanted) + (words.count(plain_line(text)) if plain_line(text) != wanted else 0)
    assert count >= 0.9 * tame(name).text.count(TAME) > 3


def test_the_foot_of_each_page_cannot_leave_its_style() -> None:
    html = PAPERS["batch sheet"]('"; } body { display: none } </style><script>')
    (style,) = [element.text or "" for element in Page(html).all("style")]
    assert "display: none" not in style
    assert "\\000022\\00003b" in style  # the quotation mark and the semicolon, as their numbers


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".toml"])
@pytest.mark.parametrize("kind", [kind for kind in HOSTILE if kind != "half of a sign"])
def test_a_file_gives_it_back_as_it_was(tmp_path: Path, kind: str, suffix: str) -> None:
    formula = replace(formula_of(HOSTILE[kind]), earlier=(), variants=())
    path = tmp_path / f"f{suffix}"
    save_formula(formula, path)
    found = read_formula(path)
    assert found.phases == formula.phases
    if suffix != ".csv":
        assert (found.title, found.note, found.steps) == (formula.title, formula.note, formula.steps)
        assert (found.rules, [m.note for m in found.materials]) == (formula.rules, [HOSTILE[kind]] * 2)


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".toml"])
def test_half_of_a_sign_stops_no_file(tmp_path: Path, suffix: str) -> None:
    save_formula(formula_of(HOSTILE["half of a sign"]), tmp_path / f"f{suffix}")
    assert "a?b" in {line.material for _, _, line, _ in read_formula(tmp_path / f"f{suffix}").each_line()}


@pytest.mark.parametrize("kind", HOSTILE)
def test_no_spreadsheet_runs_it(tmp_path: Path, kind: str) -> None:
    formula = formula_of(HOSTILE[kind])
    save_formula(formula, tmp_path / "f.csv")
    text = (tmp_path / "f.csv").read_bytes().decode("utf-8")
    cells = [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]
    assert not [cell for cell in cells if cell.startswith(RUN_BY_SPREADSHEETS)]
    save_formula(formula, tmp_path / "f.xlsx")
    book = openpyxl.load_workbook(tmp_path / "f.xlsx")
    typed = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None}
    assert typed <= {"s", "n"}
