"""The kit on other Pythons than the one that runs the tests, and with the oldest packages that it allows.

    python3 tests/other_pythons.py             a part of the tests on the newest other Python that this machine has
    python3 tests/other_pythons.py --every     on every one, from 3.11 on
    python3 tests/other_pythons.py --oldest    on this one, with every package at its lower bound in pyproject.toml
    python3 tests/other_pythons.py --whole     the whole unit part, where a part would do

Each gets an environment in a temporary folder, installed from the registry. The part is what all else rests on:
reading, checking, changing and saving formulas, the examples of the calculations, and the import of every module.
The oldest packages come without the extras, which ask for newer ones: what starts a front end is left out there, and
so are types and warnings, which belong to newer packages.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
#: What the part needs beside the kit itself; the judges of other rooms take longer to install than it runs.
TOOLS = ("pytest", "pytest-xdist", "hypothesis", "uncertainties")
PART = ("tests/formula", "kit/formula", "kit/bench", "kit/layers", "kit/label", "kit/liquids")
#: Every module is there and begins.
IMPORT_ALL = """
import importlib, pkgutil, sys, kit
sys.argv = ["kit"]
left = {"kit.site"}  # of an extra
names = [one.name for one in pkgutil.walk_packages(kit.__path__, "kit.") if not one.name.startswith(tuple(left))]
for name in names:
    if not name.endswith("__main__"):
        importlib.import_module(name)
print(len(names), "modules")
"""
#: Where interpreters lie that are not on the path.
USUAL = (Path.home() / ".pyenv" / "versions",)
LEAST = (3, 11)


def main(arguments: Sequence[str]) -> int:
    """Run them one after the other; return 0 if every one passed, also where there was none."""
    parser = argparse.ArgumentParser(prog="tests/other_pythons.py", description="Try the kit on other Pythons.")
    parser.add_argument("--every", action="store_true", help="not the newest alone")
    parser.add_argument("--oldest", action="store_true", help="this Python, with the oldest packages allowed")
    parser.add_argument("--whole", action="store_true", help="the whole unit part")
    asked = parser.parse_args(arguments)
    if asked.oldest:
        return 0 if tried(Path(sys.executable), oldest=True, whole=asked.whole) else 1
    found = interpreters()
    print(f"Other Pythons here: {_listed(found)}.", flush=True)
    if missing := promised() - found.keys() - {sys.version_info[:2]}:
        print(f"Promised in pyproject.toml, not here, and so not tried: {_listed(missing)}.", flush=True)
    chosen = list(found.values()) if asked.every else list(found.values())[-1:]
    passed = [tried(python, whole=asked.whole) for python in chosen]  # also those after one that failed
    return 0 if all(passed) else 1


def promised() -> set[tuple[int, int]]:
    """The Pythons that ``pyproject.toml`` names."""
    named = [re.fullmatch(r"Programming Language :: Python :: 3\.(\d+)", one) for one in PROJECT["classifiers"]]
    return {(3, int(found[1])) for found in named if found}


def _listed(versions: Iterable[tuple[int, int]]) -> str:
    return ", ".join(f"{major}.{minor}" for major, minor in sorted(versions)) or "none"


def interpreters() -> dict[tuple[int, int], Path]:
    """Version to interpreter, oldest first: one of each from 3.11 on, but for the running one, that can make venvs."""
    found: dict[tuple[int, int], Path] = {}
    for python in _candidates():
        said = subprocess.run(
            [str(python), "-c", "import sys, venv, ensurepip; print(*sys.version_info[:2])"],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        if said.returncode == 0:
            version = tuple(map(int, said.stdout.split()))
            if LEAST <= version != sys.version_info[:2]:
                found.setdefault((version[0], version[1]), python)
    return dict(sorted(found.items()))


def _candidates() -> Iterator[Path]:
    for minor in range(LEAST[1], 30):
        if path := shutil.which(f"python3.{minor}"):
            yield Path(path)
    for folder in USUAL:
        yield from sorted(folder.glob("3.*/bin/python3"))


def tried(python: Path, *, oldest: bool = False, whole: bool = False) -> bool:
    """Make an environment for this Python, and run the tests in it; whether all passed."""
    start = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="shakewell-python-", ignore_cleanup_errors=True) as folder:
        place = Path(folder)
        subprocess.run([str(python), "-m", "venv", str(place / "venv")], check=True)
        here = place / "venv" / ("Scripts" if os.name == "nt" else "bin") / "python"
        extras = "test" if oldest else "test,app,notebook,site"
        wanted = [f"{ROOT}[{extras}]" if whole else str(ROOT)]
        limits = place / "oldest.txt"
        limits.write_text("\n".join(lower_bounds()) if oldest else "", encoding="utf-8")
        install = [str(here), "-m", "pip", "install", "-qq", "--disable-pip-version-check", "-c", str(limits)]
        if subprocess.run([*install, *wanted, *TOOLS], check=False).returncode != 0:
            print(f"--- {python}: failed, for the packages could not be installed; see above ---\n", flush=True)
            return False
        subprocess.run([str(here), "-m", "pip", "uninstall", "-q", "-y", "shakewell"], check=True)  # the clone counts
        made = time.monotonic() - start
        surroundings = {**os.environ, "PYTHONPATH": str(ROOT), "SHAKEWELL_EXAMPLES": "5"}
        tests = ["--ignore=tests/browser", "tests", "kit"] if whole else [*PART, "-m", "not slow"]
        if oldest:
            tests += ["--ignore=tests/start", "-k", "not test_nothing_is_found", "-W", "ignore::DeprecationWarning"]
        pytest = [str(here), "-m", "pytest", "-q", "-n", "2", "-p", "no:cacheprovider", "-p", "no:nbval"]
        codes = [
            subprocess.run([str(here), "-c", IMPORT_ALL], cwd=ROOT, env=surroundings, check=False).returncode,
            subprocess.run([*pytest, *tests], cwd=ROOT, env=surroundings, check=False).returncode,
        ]
        version = subprocess.run([str(here), "--version"], capture_output=True, text=True, check=True).stdout.strip()
    passed = codes == [0, 0]
    which = f"{version}{', oldest packages' if oldest else ''}"
    print(f"--- {which}: {'passed' if passed else 'failed'}; made in {made:.0f} s, all in "
          f"{time.monotonic() - start:.0f} s ---\n", flush=True)  # fmt: skip
    return passed


def lower_bounds() -> list[str]:
    """Each package that the kit itself asks for, at the oldest version it allows."""
    asked = PROJECT["dependencies"]
    pairs = [(one, re.fullmatch(r"([\w.-]+)(?:\[[\w,]+\])?>=([\d.]+)(?:,.*)?", one)) for one in asked]
    if unread := [one for one, found in pairs if not found]:
        sys.exit(f"No lower bound can be read from {', '.join(unread)} in pyproject.toml. Write it as 'name>=1.2'.")
    return [f"{found[1]}=={found[2]}" for _, found in pairs if found]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
