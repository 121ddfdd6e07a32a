"""The small damages that are tried: one place of a source file, one operator of cosmic-ray there.

A place is drawn first and one of its operators then, so that a "+" with six others is not drawn six times as often
as a "True" with one. What cannot tell a weak test from a strong one is not drawn: bitwise operators put for
arithmetic ones (a TypeError kills them), "is" put for "==", and what differs only in annotations, in branches for
type checkers, in a decorator that only remembers answers, or in a guard against our own slips (``strict`` of
``zip``, ``slots`` and ``frozen`` of a dataclass, by name or by place in a call).
"""

from __future__ import annotations

import ast
import difflib
import importlib
import random
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

ARITHMETIC = ("Add", "Sub", "Mul", "Div", "FloorDiv", "Mod", "Pow")
ORDER = ("Eq", "NotEq", "Lt", "LtE", "Gt", "GtE")
OTHERS = (
    "ReplaceUnaryOperator_USub_UAdd", "ReplaceUnaryOperator_Delete_Not", "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue", "ReplaceAndWithOr", "ReplaceOrWithAnd", "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak", "ExceptionReplacer", "NumberReplacer", "RemoveDecorator", "ZeroIterationForLoop",
    "ReplaceComparisonOperator_Is_IsNot", "ReplaceComparisonOperator_IsNot_Is",
)  # fmt: skip
#: Decorators without which every answer is the same, or the file is only for type checkers.
REMEMBERING = {"cache", "lru_cache", "cached_property", "override", "overload", "final", "runtime_checkable"}

#: Arguments that guard against our own slips.
GUARDS = {"strict", "slots", "frozen"}


def operators() -> dict[str, Any]:
    """Name to operator, those that are used."""
    plugins = importlib.import_module("cosmic_ray.plugins")
    names = [f"ReplaceBinaryOperator_{a}_{b}" for a in ARITHMETIC for b in ARITHMETIC if a != b]
    names += [f"ReplaceComparisonOperator_{a}_{b}" for a in ORDER for b in ORDER if a != b]
    return {name: plugins.get_operator(f"core/{name}")() for name in [*names, *OTHERS]}


@dataclass(frozen=True)
class Mutant:
    """One damage: where, by what, and the line before and after."""

    file: str
    line: int
    operator: str
    occurrence: int
    before: str
    after: str
    source: str

    @property
    def name(self) -> str:
        """What stays the same when lines above it come and go."""
        return f"{self.file}: {self.before} -> {self.after}"

    @property
    def room(self) -> str:
        """The room of the file, as in ``kit/layers``."""
        return "/".join(self.file.split("/")[:2])


def drawn(root: Path, files: Sequence[str], count: int, seed: int) -> Iterator[Mutant]:
    """So many mutants, drawn at random over all places of all the files."""
    chance = random.Random(seed)
    known = operators()
    places = [(file, place, kinds) for file in sorted(files) for place, kinds in places_of(root / file, known).items()]
    chance.shuffle(places)
    made = 0
    for file, _, kinds in places:
        name, occurrence = chance.choice(kinds)
        mutant = mutant_of(root, file, known[name], name, occurrence)
        if mutant:
            made += 1
            yield mutant
        if made == count:
            return


def places_of(path: Path, known: dict[str, Any]) -> dict[tuple[object, str], list[tuple[str, int]]]:
    """Every place of a file with the operators that fit there, each with its count of the occurrence."""
    trees = importlib.import_module("cosmic_ray.ast")
    nodes = list(trees.ast_nodes(trees.get_ast(path.read_text("utf-8"))))
    places: dict[tuple[object, str], list[tuple[str, int]]] = {}
    for name, operator in known.items():
        spots = (spot for node in nodes for spot in operator.mutation_positions(node))
        for occurrence, spot in enumerate(spots):
            places.setdefault((spot, name.partition("_")[0]), []).append((name, occurrence))
    return places


def mutant_of(root: Path, file: str, operator: Any, name: str, occurrence: int) -> Mutant | None:
    """The file with that damage; None where it means the same to Python."""
    mutating = importlib.import_module("cosmic_ray.mutating")
    whole = (root / file).read_text("utf-8")
    try:
        source = mutating.mutate_code(whole, operator, occurrence)
        if source is None or meaning(source) == meaning(whole):
            return None
    except (AttributeError, SyntaxError):  # the first: cosmic-ray cannot replace an exception of a module, "np.X"
        return None
    at, before, after = first_difference(whole.splitlines(), source.splitlines())
    return Mutant(file, at + 1, name, occurrence, before, after, source)


def first_difference(old: list[str], new: list[str]) -> tuple[int, str, str]:
    """The first line that is not the same, and what stands there instead."""
    changes = difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    for _, start, end, again, until in (change for change in changes if change[0] != "equal"):
        for at in range(start, end):
            if old[at].strip():
                kept = " ".join(line.strip() for line in new[again:until] if line.strip())
                return at, old[at].strip(), kept or "(without it)"
    return 0, "", ""


def meaning(source: str) -> str:
    """What Python does with a source, without what only a type checker reads."""
    return ast.dump(_Bare().visit(ast.parse(source)))


class _Bare(ast.NodeTransformer):
    """Without annotations, branches for type checkers, and decorators that only remember."""

    def visit_If(self, node: ast.If) -> ast.AST | None:  # ast's own name
        if isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            return None
        return self.generic_visit(node)

    def visit_Call(self, node: ast.Call) -> ast.AST:
        node.keywords = [each for each in node.keywords if each.arg not in GUARDS]
        return self.generic_visit(node)

    def visit_arguments(self, node: ast.arguments) -> ast.AST:
        node.args, node.posonlyargs, node.kwonlyargs = [*node.posonlyargs, *node.args, *node.kwonlyargs], [], []
        node.defaults, node.kw_defaults = [*node.defaults, *filter(None, node.kw_defaults)], []
        return self.generic_visit(node)

    def visit_arg(self, node: ast.arg) -> ast.AST:
        node.annotation = None
        return node

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST:
        node.annotation = ast.Constant(None)
        return self.generic_visit(node)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        node.returns = None
        node.decorator_list = [each for each in node.decorator_list if _called(each) not in REMEMBERING]
        return self.generic_visit(node)


def _called(node: ast.expr) -> str:
    """The last part of a decorator's name."""
    if isinstance(node, ast.Call):
        return _called(node.func)
    return node.attr if isinstance(node, ast.Attribute) else node.id if isinstance(node, ast.Name) else ""
