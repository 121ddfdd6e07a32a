"""Every paper is a description and a template, found by itself: in the panel, as a command and by its name."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from jinja2 import meta

import kit.papers
from kit import __main__ as command
from kit.bench.price_list import demo_prices
from kit.commands import commands
from kit.course.marking import ClassMarks, Learner
from kit.demos import demo
from kit.environment import AGAIN
from kit.errors import UnknownNameError
from kit.formula.files import save_formula
from kit.inputs import inputs_of
from kit.papers.layout import templates
from kit.papers.paper import PaperSpec, StudyRecord
from kit.papers.registry import make_paper, spec_of, specs
from kit.product.product import Product
from kit.stability.demo import demo_observations, demo_study
from kit.widgets.bench import Bench
from kit.widgets.papers_panel import PapersPanel
from tests.papers.all_papers import trial_of

if TYPE_CHECKING:
    from collections.abc import Iterator

FOLDER = Path(kit.papers.__file__).parent
ABOUT = {
    "product": Product(demo(), prices=demo_prices()),
    "study": StudyRecord(demo_study(), tuple(demo_observations())),
    "bottles": trial_of("Ricinus Communis Seed Oil"),
    "lesson": "01",
    "class": ClassMarks((Learner("Ada", "ada.json", (), 0.0),)),
}
EACH = pytest.mark.parametrize("spec", specs().values(), ids=lambda spec: spec.name)


@EACH
def test_a_template_uses_the_names_that_are_declared(spec: PaperSpec) -> None:
    folder = FOLDER / "templates"
    text = (folder / f"{spec.name}.html").read_text(encoding="utf-8")
    whole = re.sub(r'{% include "(.*?)" %}', lambda found: (folder / found[1]).read_text(encoding="utf-8"), text)
    assert meta.find_undeclared_variables(templates().parse(whole)) == set(spec.holds)
    assert len(set(spec.holds)) == len(spec.holds)


@EACH
def test_a_context_holds_the_names_that_are_declared(spec: PaperSpec) -> None:
    if spec.about in ABOUT:
        assert set(spec.context(ABOUT[spec.about], spec.options())) == set(spec.holds)


@EACH
def test_a_paper_is_one_file_and_one_template(spec: PaperSpec) -> None:
    assert (FOLDER / f"{spec.name}.py").is_file()
    assert (FOLDER / "templates" / f"{spec.name}.html").is_file()
    asked = [one.words for one in inputs_of(spec.options)]
    assert len(set(asked)) == len(asked)


def test_every_template_is_of_a_paper() -> None:
    shared = {"alone.html", "findings.html", "notes.html"}
    found = {path.name for path in (FOLDER / "templates").glob("*.html")} - shared
    assert found == {f"{name}.html" for name in specs()}


def test_an_unknown_paper_is_told() -> None:
    with pytest.raises(UnknownNameError, match=r"There is no paper 'menu'\. Write one of batch_sheet, class_table"):
        spec_of("menu")


NEW_PAPER = '''
from dataclasses import dataclass

from kit.inputs import Number, asked
from kit.papers.paper import ByHand, PaperSpec


@dataclass(frozen=True)
class WashNoteOptions(ByHand):
    """What is asked for it."""

    litres: float = asked("Water for rinsing", Number(0, 100), 2.0, unit="L")


def context(product, options):
    """What it prints."""
    return {"title": product.formula.title, "grams": f"{product.batch.mass:.2f}", "options": options}


SPEC = PaperSpec(
    "wash_note", "Wash note", "how to wash up", "product", WashNoteOptions, context, ("title", "grams", "options"),
    lambda product, options: (product.formula.title, options.lot),
)
'''
NEW_TEMPLATE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>Wash note</title>
<style>
{% include "paper.css" %}
</style></head>
<body><h1>{{ title }}</h1>
<p>After {{ grams }} g, rinse with {{ options.litres }} L. Lot {{ options.lot }}</p></body></html>
"""


@pytest.fixture
def with_a_new_paper(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A paper of two files in a folder that counts as one of the room's."""
    room = tmp_path / "room"
    (room / "templates").mkdir(parents=True)
    (room / "wash_note.py").write_text(NEW_PAPER, encoding="utf-8")
    (room / "templates" / "wash_note.html").write_text(NEW_TEMPLATE, encoding="utf-8")
    monkeypatch.setattr(kit.papers, "__path__", [*kit.papers.__path__, str(room)])
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv(AGAIN, raising=False)
    for known in (specs, templates):
        known.cache_clear()
    yield tmp_path
    for known in (specs, templates):
        known.cache_clear()


def test_a_new_paper_is_two_files(with_a_new_paper: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "After 250.00 g, rinse with 2.0 L" in make_paper("wash_note", ABOUT["product"]).html
    panel = PapersPanel(Bench(demo()))
    panel.choice.type(paper="Wash note")
    assert [one.words for one in panel.form.inputs.values()] == ["Lot", "Made by", "Made on", "Water for rinsing"]
    panel.form.type(lot="TL-7", litres="3 L")
    panel.out.press("write")
    written = with_a_new_paper / "wash_note_after_swim_body_shake_tl_7.html"
    assert "rinse with 3.0 L. Lot TL-7" in written.read_text(encoding="utf-8")
    assert commands()["wash-note"] == "write the wash note: how to wash up"
    save_formula(demo(), with_a_new_paper / "shake.toml")
    assert command.main(["wash-note", "shake.toml", "--litres", "4", "--out", "w.html"]) == 0
    assert "rinse with 4.0 L" in (with_a_new_paper / "w.html").read_text(encoding="utf-8")
    assert capsys.readouterr().out == "w.html\n"
