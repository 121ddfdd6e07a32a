"""Two files are made from the code: ``python tests/architecture/generated.py`` writes them anew.

``kit/API.md`` lists what each room's front door offers, with signature and first sentence. ``kit/widgets/views.d.ts``
tells the JavaScript the shape of what Python sends it: the ``TypedDict`` classes of ``kit/widgets``.
"""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).resolve().parent.parent.parent
KIT = ROOT / "kit"
COMMAND = "python tests/architecture/generated.py"

Named = ast.FunctionDef | ast.ClassDef


@cache
def parsed(path: Path) -> ast.Module:
    """The syntax of a file."""
    return ast.parse(path.read_text(encoding="utf-8"))


def first_sentence(node: Named | ast.Module) -> str:
    """The first sentence of a docstring."""
    said = " ".join((ast.get_docstring(node) or "").split("\n\n")[0].split())
    found = re.match(r".*?[.;:](?=\s+[A-Z\"]|$)", said)
    return (found[0] if found else said).rstrip(":;")


# ---- the page of the public API -------------------------------------------------------------------------------


def defined(package: Path, module: str, name: str) -> ast.stmt | None:
    """Where a name of ``module`` is defined, followed through imports."""
    path = package.joinpath(*module.split("."))
    file = path.with_suffix(".py") if path.with_suffix(".py").is_file() else path / "__init__.py"
    for node in parsed(file).body:
        if isinstance(node, Named) and node.name == name:
            return node
        if isinstance(node, ast.ImportFrom) and name in {alias.asname or alias.name for alias in node.names}:
            inside = (node.module or "").removeprefix("kit.").split(".", 1)
            return defined(KIT / inside[0], inside[1], name)
    return None


def said_of_constant(package: Path, module: str, name: str) -> str:
    """The first sentence of the comment above a constant."""
    path = package.joinpath(*module.split(".")).with_suffix(".py")
    above = re.search(rf"((?:^#: .*\n)+){name}\b", path.read_text(encoding="utf-8"), re.MULTILINE)
    said = " ".join(line.removeprefix("#:").strip() for line in above[1].splitlines()) if above else ""
    return said.partition(". ")[0].rstrip(".") + "."


def is_public(node: ast.AST) -> bool:
    """Whether something in a class is for its users."""
    return isinstance(node, ast.FunctionDef) and not node.name.startswith("_")


def signature(node: ast.FunctionDef) -> str:
    """A function as it is written, without ``self``."""
    arguments = re.sub(r"^(self|cls)(, )?", "", ast.unparse(node.args))
    if any(isinstance(each, ast.Name) and "property" in each.id for each in node.decorator_list):
        return f"{node.name}: {ast.unparse(node.returns) if node.returns else 'object'}"
    return f"{node.name}({arguments})" + (f" -> {ast.unparse(node.returns)}" if node.returns else "")


def fields(node: ast.ClassDef) -> str:
    """What a class is made from: its annotated fields, or its ``__init__``."""
    for each in node.body:
        if isinstance(each, ast.FunctionDef) and each.name == "__init__":
            return re.sub(r"^self(, )?", "", ast.unparse(each.args))
    return ", ".join(
        field(each)
        for each in node.body
        if isinstance(each, ast.AnnAssign) and not ast.unparse(each.target).startswith("_")
    )


def field(node: ast.AnnAssign) -> str:
    """A field of a class; of a description by ``asked`` only the default."""
    value = node.value
    if isinstance(value, ast.Call) and ast.unparse(value.func) == "asked":
        given = [*value.args[2:3], *(word.value for word in value.keywords if word.arg == "default")]
        default = ast.unparse(given[0]) if given else "''"
        return f"{ast.unparse(node.target)}: {ast.unparse(node.annotation)} = {default}"
    return ast.unparse(node)


def entry(node: Named) -> Iterator[str]:
    """The lines about one public name."""
    if isinstance(node, ast.FunctionDef):
        yield f"- `{signature(node)}`: {first_sentence(node)}"
        return
    yield f"- `{node.name}({fields(node)})`: {first_sentence(node)}"
    for each in node.body:
        if isinstance(each, ast.FunctionDef) and is_public(each):
            yield f"  - `.{signature(each)}`: {first_sentence(each)}"


def api_page() -> str:
    """The page as it has to stand in ``kit/API.md``."""
    lines = [
        "# The public names of the kit",
        "",
        f"Made by `{COMMAND}` from the front doors; do not edit it by hand.",
        "Units stand in [brackets]; the docstring of each name says more: `help(kit.bench.alligate)`.",
    ]
    for door in sorted(KIT.glob("*/__init__.pyi")):
        room = door.parent.name
        lines += ["", f"## kit.{room}", "", first_sentence(parsed(door)), ""]
        names = [
            (alias.name, node.module)
            for node in parsed(door).body
            if isinstance(node, ast.ImportFrom) and node.module
            for alias in node.names
        ]
        for name, module in sorted(names, key=lambda each: each[0].lower()):
            node = defined(door.parent, module, name)
            lines += (
                entry(node)
                if isinstance(node, Named)
                else [f"- `{name}`: {said_of_constant(door.parent, module, name)}"]
            )
    return "\n".join(lines) + "\n"


# ---- what Python sends to the JavaScript ------------------------------------------------------------------------

MODEL = """/** The Python widget as its JavaScript sees it. */
interface Model {
  get(name: string): any;
  set(name: string, value: unknown): void;
  save_changes(): void;
  send(message: object): void;
  on(event: string, callback: (...said: any[]) => void): void;
  off(event: string, callback: (...said: any[]) => void): void;
}
"""
PLAIN = {"str": "string", "float": "number", "int": "number", "bool": "boolean", "None": "null"}
ALIASES = {"Severity": KIT / "findings.py"}


def in_typescript(node: ast.expr) -> str:  # noqa: PLR0911
    """A Python annotation in TypeScript's words."""
    match node:
        case ast.Constant(value=None):
            return "null"
        case ast.Name(id=name):
            return PLAIN.get(name, name)
        case ast.BinOp(left=left, right=right, op=ast.BitOr()):
            return f"{in_typescript(left)} | {in_typescript(right)}"
        case ast.Subscript(value=ast.Name(id="Literal"), slice=inside):
            words = inside.elts if isinstance(inside, ast.Tuple) else [inside]
            return " | ".join(ast.unparse(word).replace("'", '"') for word in words)
        case ast.Subscript(value=ast.Name(id="list"), slice=inside):
            return f"Array<{in_typescript(inside)}>"
        case ast.Subscript(value=ast.Name(id="tuple"), slice=ast.Tuple(elts=inside)):
            return f"[{', '.join(map(in_typescript, inside))}]"
        case ast.Subscript(value=ast.Name(id="dict"), slice=ast.Tuple(elts=[_, inside])):
            return f"Record<string, {in_typescript(inside)}>"
    msg = f"There is no TypeScript for {ast.unparse(node)} yet: add it to in_typescript."
    raise ValueError(msg)


def typed_dicts() -> Iterator[ast.ClassDef]:
    """The shapes that the widgets' Python sends."""
    for path in sorted((KIT / "widgets").rglob("*.py")):
        for node in parsed(path).body:
            if isinstance(node, ast.ClassDef) and any(ast.unparse(base) == "TypedDict" for base in node.bases):
                yield node


def interface(node: ast.ClassDef) -> str:
    """One ``TypedDict`` in TypeScript."""
    partly = "?" if any(word.arg == "total" for word in node.keywords) else ""
    lines = [
        f"  {ast.unparse(each.target)}{partly}: {in_typescript(each.annotation)};"
        for each in node.body
        if isinstance(each, ast.AnnAssign)
    ]
    return f"/** {first_sentence(node)} */\ninterface {node.name} {{\n" + "\n".join(lines) + "\n}\n"


def views() -> str:
    """The types as they have to stand in ``kit/widgets/views.d.ts``."""
    parts = [f"// Made by `{COMMAND}` from the TypedDicts of kit/widgets; do not edit it by hand.\n", MODEL]
    for name, path in ALIASES.items():
        (value,) = (
            node.value
            for node in parsed(path).body
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == name
        )
        parts.append(f"type {name} = {in_typescript(value)};\n")
    return "\n".join([*parts, *map(interface, typed_dicts())])


def names_now() -> set[str]:
    """Every public name of the kit and its rooms, as a notebook says it."""
    doors = [KIT / "__init__.pyi", *KIT.glob("*/__init__.pyi")]
    return {
        ".".join([*door.relative_to(KIT.parent).parent.parts, alias.asname or alias.name])
        for door in doors
        for node in parsed(door).body
        if isinstance(node, ast.ImportFrom) and node.module != "typing"
        for alias in node.names
    }


def names_promised() -> str:
    """The names that notebooks of makers may use: those that were promised before, and the new ones."""
    return "\n".join(sorted({*PROMISED.read_text(encoding="utf-8").split(), *names_now()})) + "\n"


#: A name that stands here is taken away by hand only, with a line under "Changes".
PROMISED = Path(__file__).with_name("public_names.txt")
MADE = {KIT / "API.md": api_page, KIT / "widgets" / "views.d.ts": views, PROMISED: names_promised}

if __name__ == "__main__":
    for path, text in MADE.items():
        path.write_text(text(), encoding="utf-8")
