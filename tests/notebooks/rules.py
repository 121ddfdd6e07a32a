"""What a stored notebook must be like, so that comparing it with a new run means something.

nbval compares nothing in a cell without a run number: a notebook that was cleared passes it. These rules
close that gap. Each returns sentences that say which cell is wrong and what to do; no sentence, no fault.
"""

from __future__ import annotations

import ast
import json
import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

#: A cell with this tag shows a panel or a picture: nothing of it is stored, and nbval does not compare it.
PICTURE_TAG = "nbval-ignore-output"

MOST_BYTES = 200_000
LINES, MOST_LINES, LONG_CELLS = 10, 12, 2
#: What a page of 1024 px shows of a line of code.
WIDTH = 110

_MACHINE = re.compile(
    r"/home/|/root/|/Users/|/tmp/|/var/folders/|[A-Z]:\\\\?Users"
    r"|0x[0-9a-fA-F]{6,}|\b[0-9a-f]{32}\b|\b[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\b"
)
#: A cell of no more signs may stand twice: "panel", "print(x)".
SHORT = 20
_HEADING = re.compile(r"#+ [^\n]*")
_EXERCISES = re.compile(r"^## Exercises$(.*?)(?=<details>|^#|\Z)", re.MULTILINE | re.DOTALL)
_PANEL = re.compile(r"\b([a-z]+(?: [a-z]+)?) (panel|table)\b")
_CHANGING = {"type", "press", "set", "choose"}
_WIDGET = "application/vnd.jupyter.widget"
_PICTURE = "application/vnd.plotly"


def faults(path: Path) -> list[str]:
    """Everything wrong with a notebook file."""
    text = path.read_text(encoding="utf-8")
    notebook = json.loads(text)
    found = [f"{path.name}: {sentence}" for sentence in _notebook_faults(notebook)]
    if len(text.encode()) > MOST_BYTES:
        found.append(f"{path.name}: larger than {MOST_BYTES // 1000} kB. Strip stored pictures and widgets.")
    return found


def is_picture(cell: dict[str, Any]) -> bool:
    """Whether the cell is tagged as one whose output is not stored."""
    return PICTURE_TAG in cell["metadata"].get("tags", [])


def source_of(cell: dict[str, Any]) -> str:
    """The text of a cell, which the file holds as one string or as lines."""
    source = cell["source"]
    return source if isinstance(source, str) else "".join(source)


def _notebook_faults(notebook: dict[str, Any]) -> Iterator[str]:
    kernel = notebook["metadata"].get("kernelspec", {}).get("name")
    if kernel != "python3":
        yield f"its kernel is {kernel!r}; it must be 'python3', or JupyterLab asks which to use."
    if "widgets" in notebook["metadata"]:
        yield "it stores the state of its widgets. Strip it."
    code = [cell for cell in notebook["cells"] if cell["cell_type"] == "code"]
    if not code:
        yield "it has no code cell."
    yield from _writing_faults(notebook["cells"])
    yield from _tool_faults(notebook["cells"])
    yield from _changed_later(code)
    for number, cell in enumerate(code, start=1):
        for sentence in (*_order_faults(number, cell), *_output_faults(cell), *_source_faults(cell)):
            yield f"code cell {number} {sentence}"
    long = sum(len(source_of(cell).splitlines()) > LINES for cell in code)
    if long > LONG_CELLS:
        yield f"{long} code cells have more than {LINES} lines; at most {LONG_CELLS} may."


def _writing_faults(cells: list[dict[str, Any]]) -> Iterator[str]:
    sources = [source_of(cell).strip() for cell in cells]
    for number, source in enumerate(sources, start=1):
        first = sources.index(source) + 1
        if first < number and len(source) > SHORT:
            yield f"cell {number} says what cell {first} said: {source.splitlines()[0][:60]!r}. Take one out."
    for number, (cell, source) in enumerate(zip(cells, sources, strict=True), start=1):
        following = sources[number] if number < len(sources) else "# "
        if cell["cell_type"] == "markdown" and _HEADING.fullmatch(source) and _HEADING.match(following):
            yield f"cell {number} is a heading without text: {source!r}."


def _tool_faults(cells: list[dict[str, Any]]) -> Iterator[str]:
    """What an exercise names and its lesson does not have: a panel, a table, a name in code."""
    code = "\n".join(source_of(cell) for cell in cells if cell["cell_type"] == "code")
    text = "\n".join(source_of(cell) for cell in cells if cell["cell_type"] == "markdown")
    shown = {name.lower() for name in re.findall(r"kit\.(\w+)Panel\(", code)}
    for exercises in _EXERCISES.findall(text):
        for words, kind in _PANEL.findall(exercises.replace("the ", "the, ")):
            names = {"".join(words.split()), words.split()[-1]}
            if not names & shown and (kind == "panel" or "formula" in names):
                yield f"an exercise asks for the {words} {kind}, which the lesson does not show."
        for span in re.findall(r"`([^`]+)`", exercises):
            yield from (f"an exercise names {name!r}, which no cell makes." for name in _unknown(span, code))


def _unknown(span: str, code: str) -> list[str]:
    try:
        used = [node.id for node in ast.walk(ast.parse(span)) if isinstance(node, ast.Name)]
        made = {node.id for node in ast.walk(ast.parse(code)) if isinstance(node, ast.Name)}
    except SyntaxError:
        return []
    return [name for name in used if name not in {*made, "kit"}]


def _changed_later(code: list[dict[str, Any]]) -> Iterator[str]:
    """A panel that stands in a cell and is changed by a later one no longer agrees with the numbers between."""
    shown: set[str] = set()
    for number, cell in enumerate(code, start=1):
        try:
            body = ast.parse(source_of(cell)).body
        except SyntaxError:
            return
        for changed in _changed(body):
            if changed in shown:
                yield f"code cell {number} changes {changed!r}, which an earlier cell shows. Make another one of it."
        if is_picture(cell) and body and isinstance(body[-1], ast.Expr):
            last = body[-1].value
            arguments = last.args if isinstance(last, ast.Call) else []
            shown |= {node.id for node in (last, *arguments) if isinstance(node, ast.Name)}


def _changed(body: list[ast.stmt]) -> Iterator[str]:
    """The names of which a part is set, or a control is typed into or pressed."""
    for node in ast.walk(ast.Module(body, [])):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in _CHANGING:
            yield _root(node.func)
        elif isinstance(node, ast.Assign):
            yield from (_root(target) for target in node.targets if isinstance(target, ast.Attribute))


def _root(node: ast.expr) -> str:
    """The name from which ``a.b.c`` begins."""
    while isinstance(node, ast.Attribute):
        node = node.value
    return node.id if isinstance(node, ast.Name) else ""


def _order_faults(number: int, cell: dict[str, Any]) -> Iterator[str]:
    count = cell.get("execution_count")
    if count is None:
        yield "was not run, so nothing of it is compared. Run the notebook and save it."
    elif count != number:
        yield f"was run as number {count}. Run the notebook from the top and save it."


def _output_faults(cell: dict[str, Any]) -> Iterator[str]:
    outputs = cell["outputs"]
    if is_picture(cell):
        if outputs:
            yield f"is tagged {PICTURE_TAG} and yet stores an output. Strip it."
        return
    stored = json.dumps(outputs, ensure_ascii=False)
    if _WIDGET in stored or _PICTURE in stored or "FigureWidget" in stored:
        yield f"stores a panel or a picture, which differs at every run. Tag it {PICTURE_TAG} and strip it."
    if any(output["output_type"] == "error" for output in outputs):
        yield "stores an error. Put the error's words into a printed sentence instead."
    if any(output.get("name") == "stderr" for output in outputs):
        yield "stores a warning. Mend what it warns of."
    if found := _MACHINE.search(stored):
        yield f"stores {found[0]!r}, which is true on one computer only."


def _source_faults(cell: dict[str, Any]) -> Iterator[str]:
    source = source_of(cell)
    lines = len(source.splitlines())
    if lines > MOST_LINES:
        yield f"has {lines} lines; {MOST_LINES} is the most, {LINES} the aim."
    if wide := [line for line in source.splitlines() if len(line) > WIDTH]:
        yield f"has a line of {len(wide[0])} signs, which is wider than the page ({WIDTH}): {wide[0].strip()[:40]!r}."
    try:
        nodes = list(ast.walk(ast.parse(source)))
    except SyntaxError as error:
        yield f"is not plain Python (line {error.lineno}: {error.msg})."
        return
    if any(isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) for node in nodes):
        yield "defines a function or class. Such things belong in the package."
