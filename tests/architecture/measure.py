"""How big the house is: ``python tests/architecture/measure.py`` prints it.

Lines of code leave out blank lines, comments and docstrings. A circle is a set of files that import one another, at the
top of the file, round about; what is imported for types only does not count.
"""

from __future__ import annotations

import ast
import json
import re
import sys
from collections import Counter
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).resolve().parent.parent.parent
KIT = ROOT / "kit"
sys.path.insert(0, str(ROOT))


def files() -> dict[str, Path]:
    """Every Python file of the kit by its module's name."""
    found = {}
    for path in sorted(KIT.rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def lines_of_code(path: Path) -> int:
    """Lines that hold code: neither blank nor comment nor docstring."""
    source = path.read_text(encoding="utf-8")
    tree = ast.parse(source)
    said: set[int] = set()
    for node in ast.walk(tree):
        if not isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        if ast.get_docstring(node) is not None:
            first = node.body[0]
            said |= set(range(first.lineno, (first.end_lineno or first.lineno) + 1))
    return sum(
        1
        for number, line in enumerate(source.splitlines(), 1)
        if number not in said and line.strip() and not line.strip().startswith("#")
    )


def imports_at_the_top(path: Path, modules: dict[str, Path]) -> Iterator[str]:
    """The files of the kit that a file needs before it can be imported itself."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in modules)
        elif isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                deeper = f"{node.module}.{alias.name}"
                yield deeper if deeper in modules else node.module


def circles(modules: dict[str, Path]) -> list[list[str]]:
    """Sets of files that import one another round about."""
    towards = {name: {m for m in imports_at_the_top(path, modules) if m in modules} for name, path in modules.items()}

    def reached(start: str) -> set[str]:
        seen: set[str] = set()
        todo = list(towards[start])
        while todo:
            name = todo.pop()
            if name not in seen:
                seen.add(name)
                todo += towards[name]
        return seen

    within = {name: reached(name) for name in modules}
    found = {frozenset(other for other in within[name] if name in within[other]) for name in modules}
    return [sorted(circle) for circle in found if circle]


def lesson_imports() -> Iterator[tuple[str, ast.Import | ast.ImportFrom]]:
    """Every import in a lesson's cells, with the lesson's name."""
    for notebook in sorted((ROOT / "notebooks").glob("*.ipynb")):
        for cell in json.loads(notebook.read_text(encoding="utf-8"))["cells"]:
            if cell["cell_type"] == "code":
                source = re.sub(r"^[%!].*$", "", "".join(cell["source"]), flags=re.MULTILINE)
                for node in ast.walk(ast.parse(source)):
                    if isinstance(node, ast.Import | ast.ImportFrom):
                        yield notebook.name, node


def deep_imports() -> list[str]:
    """Names that lessons take out of a file of a room instead of by its front door."""
    return [
        f"{name}: {node.module}.{alias.name}"
        for name, node in lesson_imports()
        if isinstance(node, ast.ImportFrom) and (node.module or "").count(".") > 1
        for alias in node.names
    ]


def import_lines() -> Counter[str]:
    """How many lines of each lesson import something."""
    return Counter(name for name, _ in lesson_imports())


def files_that_name(word: str) -> list[str]:
    """The Python files of the kit in which a name occurs: how many places know of an input or a paper."""
    return [name for name, path in files().items() if re.search(rf"\b{word}\b", path.read_text(encoding="utf-8"))]


def journeys() -> dict[str, list[str]]:
    """The journeys that the contributor's guide tells: what travels, and the files it passes, in order."""
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    told = guide.partition("### How a number travels")[2].partition("\n## ")[0]
    found = re.findall(r"^\d\. \*\*(.+?)\*\*(.*?)$", told, re.MULTILINE)
    return {what: re.findall(r"`(kit/[\w/]+\.(?:py|js|html))`", way) for what, way in found}


def main() -> None:
    """Print the table."""
    import kit

    modules = files()
    rows = {
        "Python files in kit": len(modules),
        "lines in them": sum(len(path.read_text(encoding="utf-8").splitlines()) for path in modules.values()),
        "lines of code": sum(lines_of_code(path) for path in modules.values()),
        "files over 350 lines": sum(
            len(path.read_text(encoding="utf-8").splitlines()) > 350 for path in modules.values()
        ),
        "public names of kit": len(kit.__all__),
        "public names of rooms": sum(len(dir(import_module(f"kit.{room}"))) for room in kit._ROOMS),
        "deep imports in lessons": len(deep_imports()),
        "most import lines of a lesson": max(import_lines().values()),
        "circles of files": len(circles(modules)),
        "files that name one particular": len(files_that_name("country_of_origin")),
        "files that name one paper": len(files_that_name("formula_card")),
        "most files of a journey": max(map(len, journeys().values()), default=0),
    }
    for what, number in rows.items():
        print(f"{what:32}{number:>8,}")
    for circle in circles(modules):
        print("circle:", ", ".join(circle))


if __name__ == "__main__":
    main()
