"""How strong the tests of the calculation rooms are, measured: ``python tests/mutants/run.py``. For a release.

It runs the tests of those rooms with branch coverage and remembers which test reaches which line. Then it damages the
code in 500 places drawn at random, one at a time, and runs the tests that reach the place, to the first that fails.
It prints both figures of each room, and every damage that no test noticed and that ``equivalent.toml`` does not know
as one that changes no answer. The figures are for a person to read: it fails only below ``--least`` percent.

    python tests/mutants/run.py                        all of it, on one core; about an hour
    python tests/mutants/run.py --keep                 the coverage of the run before, other mutants: --seed 7
    python tests/mutants/run.py --keep --only layers   one room

What it needs besides (``coverage``, ``cosmic-ray``) goes into a folder of its own, ``--folder``. The damage is done in
a copy of the clone that lies there too: as far as git knows the files, and as they are now.
"""

from __future__ import annotations

import argparse
import ast
import functools
import importlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from tests.mutants.making import Mutant, drawn  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

ROOMS = ("formula", "bench", "layers", "liquids", "in_use", "blends", "stability", "label", "library", "product")
#: The log keeps readings and calculates nothing; it has tests of its own kind (killed writers, turned bits).
LEFT_OUT = "kit/stability/log/"
#: Their tests, and those of small files of numbers and tables, reach the rooms as well.
MORE = ("tests/published", "tests/data", "tests/test_extreme_numbers.py", "tests/test_rounding.py")
LOG_TESTS = (
    "backup", "bit_flips", "crossing", "logfile", "long_log", "many_writers", "migration", "network_folder",
    "shared_log", "statistics_speed", "verify",
)  # fmt: skip
#: Random examples of each property. Fewer than the usual 30 notice less: the score is rather too low than too high.
EXAMPLES = "8"
#: The most seconds of tests for one mutant, as they took when nothing was damaged.
ENOUGH = 10.0
EQUIVALENT = Path(__file__).parent / "equivalent.toml"


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure and print."""
    asked = _asked(arguments)
    os.nice(max(0, 19 - os.nice(0)))
    folder: Path = asked.folder
    tools = tools_in(folder)
    sys.path.append(str(tools))
    tree = copied(folder / "tree")
    if not (asked.keep and (folder / "coverage").is_dir()):
        measure(tree, tools, folder / "coverage")
    map_ = Reached(tree, folder / "coverage")
    rooms = [f"kit/{room}" for room in ([asked.only] if asked.only else ROOMS)]
    files = [file for file in sources(tree) if any(file.startswith(room + "/") for room in rooms)]
    tried, noticing = [], set()
    mutants = [(mutant, map_.tests(mutant)) for mutant in drawn(tree, files, asked.sample, asked.seed)]
    for mutant, (how, words) in attempts(tree, mutants, map_):
        tried.append((mutant, how))
        noticing |= {word for word in words.split() if "::" in word}
        print(f"{len(tried):4} {how:9} {mutant.file}:{mutant.line} {mutant.operator}  {words[:80]}", flush=True)
    undamaged = Mutant(files[0], 0, "none", 0, "", "", (tree / files[0]).read_text("utf-8"))
    for _, (how, words) in attempts(tree, [(undamaged, sorted(noticing))], map_):
        print(f"\nThe {len(noticing)} tests that noticed one, with nothing damaged: {how} ({words[:200]}).")
    return told(rooms, files, map_, tried, asked)


def _asked(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="tests/mutants/run.py", description="Measure how strong the tests are.")
    parser.add_argument("--sample", type=int, default=500, help="how many mutants (500)")
    parser.add_argument("--seed", type=int, default=20261128, help="which ones (20261128)")
    parser.add_argument("--only", choices=ROOMS, help="one room")
    parser.add_argument("--keep", action="store_true", help="keep the coverage of the run before")
    parser.add_argument("--least", type=float, default=0, help="fail below so many percent of mutants noticed")
    parser.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "shakewell-mutants")
    return parser.parse_args(arguments)


def tools_in(folder: Path) -> Path:
    """The tools, installed once beside the kit's own environment and not into it."""
    tools = folder / "tools"
    if not tools.is_dir():
        pip = [sys.executable, "-m", "pip", "install", "--quiet", "--target", str(tools), "coverage", "cosmic-ray"]
        subprocess.run(pip, check=True)
    return tools


def copied(tree: Path) -> Path:
    """A copy of the clone to damage."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout.decode()
    kept = {name for name in listed.split("\0") if name and (ROOT / name).is_file()}
    for old in [path for path in tree.rglob("*") if path.is_file() and "__pycache__" not in path.parts]:
        if old.relative_to(tree).as_posix() not in kept:
            old.unlink()
    for name in kept:
        (tree / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, tree / name)
    return tree


def sources(tree: Path) -> list[str]:
    """The files of the rooms."""
    found = [path.relative_to(tree).as_posix() for room in ROOMS for path in (tree / "kit" / room).rglob("*.py")]
    return sorted(name for name in found if not name.startswith(LEFT_OUT))


def surroundings(tree: Path) -> dict[str, str]:
    """Of the processes that run tests."""
    own = {"PYTHONPATH": str(tree), "SHAKEWELL_EXAMPLES": EXAMPLES, "OPENBLAS_NUM_THREADS": "1", "CI": "1"}
    return os.environ | own


def measure(tree: Path, tools: Path, data: Path) -> None:
    """Run the tests room by room with coverage."""
    shutil.rmtree(data, ignore_errors=True)
    data.mkdir(parents=True)
    left = [f"--ignore=tests/stability/test_{name}.py" for name in LOG_TESTS]
    parts = {room: [f"tests/{room}", f"kit/{room}", *(left if room == "stability" else [])] for room in ROOMS}
    for name, part in (parts | {"more": list(MORE)}).items():
        start = time.monotonic()
        command = [sys.executable, "-m", "tests.mutants.reaching", str(tools), str(data / name), *part]
        done = subprocess.run(command, cwd=tree, env=surroundings(tree), capture_output=True, text=True, check=False)
        last = (done.stdout.strip().splitlines() or [done.stderr])[-1]
        print(f"tests of {name}: {last}; {time.monotonic() - start:.0f} s", flush=True)


class Reached:
    """Which tests reach which line, and how long each takes."""

    def __init__(self, tree: Path, data: Path) -> None:
        coverage = importlib.import_module("coverage")
        self.tree = tree
        self.seconds: dict[str, float] = {}
        whole = data / "whole"
        whole.unlink(missing_ok=True)
        self.measured = coverage.Coverage(data_file=str(whole), branch=True, config_file=False, messages=False)
        parts = sorted(path for path in data.iterdir() if path.suffix == "" and path.name != "whole")
        self.measured.combine([str(path) for path in parts], keep=True)
        self.data = self.measured.get_data()
        for path in data.glob("*.seconds"):
            self.seconds |= json.loads(path.read_text("utf-8"))

    @functools.cache  # noqa: B019  # one for the run
    def lines(self, file: str) -> dict[int, list[str]]:
        """Line to the tests that reach it; "" stands for an import."""
        found: dict[int, list[str]] = self.data.contexts_by_lineno(str(self.tree / file))
        return found

    def counts(self, file: str) -> Counter[str]:
        """Statements and branches of a file, and those not reached."""
        numbers = self.measured._analyze(str(self.tree / file)).numbers
        return Counter(
            all=numbers.n_statements + numbers.n_branches,
            missing=numbers.n_missing + numbers.n_missing_branches,
            branches=numbers.n_branches,
            partly=numbers.n_missing_branches,
        )

    def tests(self, mutant: Mutant) -> list[str]:
        """Those that reach the statement, then others of its file: of the same room first, quick ones first.

        A statement outside a function runs when its file is first read, and an answer that is remembered is worked
        out once: the test that happened to be first says nothing of the others, so they follow.
        """
        lines = self.lines(mutant.file)
        span = statement((self.tree / mutant.file).read_text("utf-8"), mutant.line)
        there = {name for line in span for name in lines.get(line, []) if name}
        slow = speed_tests(self.tree)
        whole = {name for names in lines.values() for name in names if name and name.partition("[")[0] not in slow}
        room = mutant.room.removeprefix("kit/")
        far = {name: (name not in there, f"/{room}/" not in name) for name in whole}
        chosen: list[str] = []
        spent = 0.0
        for name in sorted(whole, key=lambda name: (*far[name], self.seconds.get(name, 1.0), name)):
            spent += self.seconds.get(name, 1.0)
            if chosen and spent > (ENOUGH if name in there else ENOUGH / 2):
                break
            chosen.append(name)
        return chosen


@functools.cache
def speed_tests(tree: Path) -> frozenset[str]:
    """Tests that watch a clock: they may fail on a busy machine, so they notice nothing here."""
    found = set()
    for path in (tree / "tests").rglob("test_*.py"):
        text = path.read_text("utf-8")
        if "on_this_machine" in text or "process_time" in text or "perf_counter" in text:
            for node in ast.walk(ast.parse(text)):
                words = ast.unparse(node) if isinstance(node, ast.FunctionDef) else ""
                if "on_this_machine" in words or "process_time" in words or "perf_counter" in words:
                    found.add(f"{path.relative_to(tree).as_posix()}::{getattr(node, 'name', '')}")
    return frozenset(found)


def statement(source: str, line: int) -> range:
    """The lines of the smallest statement there: of a block its head, of a function's head all of the function.

    None where it stands outside every function.
    """
    tree = ast.parse(source)
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef) and line in _whole(node)]
    if not functions:
        return range(0)
    within = min(functions, key=lambda node: len(_whole(node)))
    heads = [_head(node) for each in within.body for node in ast.walk(each) if isinstance(node, ast.stmt)]
    return min((head for head in heads if line in head), key=len, default=_whole(within))


def _whole(node: ast.FunctionDef) -> range:
    """From its first decorator to its end."""
    first = min([node.lineno, *(each.lineno for each in node.decorator_list)])
    return range(first, (node.end_lineno or node.lineno) + 1)


def _head(node: ast.stmt) -> range:
    """A statement's lines; of a block, those above its body."""
    body: list[ast.stmt] = getattr(node, "body", [])
    end = body[0].lineno - 1 if body else node.end_lineno or node.lineno
    return range(node.lineno, max(end, node.lineno) + 1)


def attempts(
    tree: Path, mutants: Sequence[tuple[Mutant, list[str]]], map_: Reached
) -> Iterator[tuple[Mutant, tuple[str, str]]]:
    """Each mutant, with what came of it when these tests were run."""
    command = [sys.executable, "-m", "tests.mutants.trying"]
    pipes: Any = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, cwd=tree, env=surroundings(tree), **pipes) as trying:
        for mutant, tests in mutants:
            allowed = 15 + 3 * sum(map_.seconds.get(name, 1.0) for name in tests)
            asked = {"file": mutant.file, "source": mutant.source, "tests": tests, "allowed": allowed}
            trying.stdin.write(json.dumps(asked) + "\n")  # type: ignore[union-attr]
            trying.stdin.flush()  # type: ignore[union-attr]
            answer = json.loads(trying.stdout.readline())  # type: ignore[union-attr]
            yield mutant, (answer["how"], answer["words"])
        trying.stdin.close()  # type: ignore[union-attr]


def told(
    rooms: list[str], files: list[str], map_: Reached, tried: list[tuple[Mutant, str]], asked: argparse.Namespace
) -> int:
    """Print the table and the survivors; 1 where the score is below what was asked."""
    listed = tomllib.loads(EQUIVALENT.read_text("utf-8"))["same"]
    known = {(each["file"], each["before"], each["after"]) for each in listed}

    def same(mutant: Mutant) -> bool:
        return (mutant.file, mutant.before, mutant.after) in known

    print(f"\nSample {len(tried)}, seed {asked.seed}. Coverage is of statements and branches together.\n")
    print("room              coverage  branches   mutants  noticed  no change  score")
    share = 100.0
    for room in [*rooms, "kit/"]:
        covered = sum((map_.counts(file) for file in files if file.startswith(room)), Counter())
        here = [(mutant, how) for mutant, how in tried if mutant.file.startswith(room)]
        noticed = sum(how in {"killed", "too long"} for _, how in here)
        equivalent = sum(how == "survived" and same(mutant) for mutant, how in here)
        share = 100 * noticed / max(1, len(here) - equivalent)
        whole = 100 * (1 - covered["missing"] / max(1, covered["all"]))
        branches = 100 * (1 - covered["partly"] / max(1, covered["branches"]))
        name = "all" if room == "kit/" else room
        print(f"{name:<16} {whole:8.1f} % {branches:7.1f} % {len(here):8} {noticed:8} {equivalent:10} {share:5.1f} %")
    for mutant, how in tried:
        if how not in {"killed", "too long"} and not same(mutant):
            print(f"\n{how}: {mutant.file}:{mutant.line} {mutant.operator}\n  - {mutant.before}\n  + {mutant.after}")
    return int(share < asked.least)


if __name__ == "__main__":
    sys.exit(main())
