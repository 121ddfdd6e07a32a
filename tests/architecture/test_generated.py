"""What is made from the code is stored as the code is now."""

from __future__ import annotations

import ast
import inspect
from importlib import import_module
from typing import TYPE_CHECKING

import pytest

from tests.architecture.generated import COMMAND, MADE, PROMISED, api_page, in_typescript, names_now
from tests.architecture.test_front_doors import EACH_NAME, ROOMS

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.mark.parametrize(("path", "text"), MADE.items(), ids=[path.name for path in MADE])
def test_it_is_stored_as_it_is_now(path: Path, text: Callable[[], str]) -> None:
    assert path.read_text(encoding="utf-8") == text(), f"Write it anew: {COMMAND}"


def test_no_name_that_was_promised_is_lost() -> None:
    lost = sorted({*PROMISED.read_text(encoding="utf-8").split()} - names_now())
    assert not lost, f"Notebooks of makers use them. Bring them back, or take them out of {PROMISED.name} and tell it."
    assert {"kit.FormulaPanel", "kit.bench.alligate", "kit.layers.window", "kit.open_product"} <= names_now()


def test_every_public_name_stands_on_the_page_with_a_sentence() -> None:
    rooms = {part.partition("\n")[0]: part.splitlines() for part in api_page().split("\n## kit.")}
    assert set(ROOMS) < set(rooms)
    for room, name in EACH_NAME:
        found = getattr(import_module(f"kit.{room}"), name)
        (line,) = [line for line in rooms[room] if line.startswith((f"- `{name}(", f"- `{name}`"))]
        said = line.partition("`: ")[2]
        assert len(said) > 15
        if inspect.isfunction(found) or inspect.isclass(found):  # a constant is explained by the comment above it
            assert " ".join((found.__doc__ or "").split()).startswith(said)


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("str | None", "string | null"),
        ("list[tuple[float, int]]", "Array<[number, number]>"),
        ("dict[str, FindingView]", "Record<string, FindingView>"),
        ("Literal['a', 'b']", '"a" | "b"'),
        ("list[Literal['a', 'b']]", 'Array<"a" | "b">'),
    ],
)
def test_an_annotation_in_the_words_of_typescript(written: str, expected: str) -> None:
    assert in_typescript(ast.parse(written, mode="eval").body) == expected


def test_what_has_no_words_in_typescript_is_said() -> None:
    with pytest.raises(ValueError, match=r"There is no TypeScript for set\[str\] yet: add it to in_typescript\."):
        in_typescript(ast.parse("set[str]", mode="eval").body)
