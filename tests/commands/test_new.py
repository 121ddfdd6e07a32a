"""The command that makes a product's folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.commands import CLEAN, FAILED, run
from kit.formula.files import read_formula
from kit.workspace import FORMULA


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_it_begins_empty_with_what_was_said(capsys: pytest.CaptureFixture[str]) -> None:
    said = ["Foam wash", "--product-kind", "rinse-off", "--product-type", "shampoo", "--layering", "one phase"]
    assert run("new", said) == CLEAN
    assert "To work in it: python3 -m kit foam_wash" in capsys.readouterr().out
    made = read_formula(Path("foam_wash", FORMULA))
    assert made.description.words == "rinse-off shampoo · one phase"


@pytest.mark.parametrize("source", ["toner", "first", "first/formula.toml"])
def test_it_begins_from_a_point_a_folder_or_a_file(source: str) -> None:
    assert run("new", ["First", "--from", "toner"]) == CLEAN
    assert run("new", ["Second", "--from", source, "--users", "children", "--users", "adults"]) == CLEAN
    made = read_formula(Path("second", FORMULA))
    assert made.title == "Second"
    assert made.description.users == ("children", "adults")
    assert len(made.phases[0].lines) == 9


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["First"], "is there already"),
        (["Other", "--from", "elixir"], "There is no starting point 'elixir'"),
        (["  "], "A product needs a name"),
        (["Other", "--used-on", "elbow"], "'elbow' is none of the choices"),
    ],
)
def test_what_cannot_be_is_a_sentence(arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("new", ["First"]) == CLEAN
    assert run("new", arguments) == FAILED
    assert said in capsys.readouterr().err
    assert sorted(path.name for path in Path().iterdir()) == ["first"]


def test_a_description_that_contradicts_itself_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("new", ["Swill", "--product-kind", "leave-on", "--product-type", "mouth rinse"]) == CLEAN
    assert "A mouth rinse is a rinse-off product" in capsys.readouterr().err
