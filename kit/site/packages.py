"""The Python packages of the site: those of the running environment, packed again as wheels that a browser can take.

Only what is plain Python runs there, so a wheel holds a package's own files without what was compiled for this
computer. What Pyodide loads is said by its lock file, written anew with these packages alone: a page that knows no
other has nothing to ask for elsewhere.
"""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import zipfile
from fnmatch import fnmatch
from importlib import metadata
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from kit.in_browser import LAID_BY
from kit.pack import own_wheel, plain_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

KERNEL = "jupyterlite-pyodide-kernel"
#: What a package is asked of its surroundings, there.
SURROUNDINGS = {
    "sys_platform": "emscripten", "platform_system": "Emscripten", "platform_machine": "wasm32", "os_name": "posix",
    "implementation_name": "cpython", "platform_python_implementation": "CPython", "extra": "",
}  # fmt: skip
#: What the kernel and the kit need there; what these need comes along.
NEEDED = (
    "comm", "ipython", "ipywidgets", "anywidget", "jinja2", "openpyxl", "packaging", "pint", "plotly", "tomlkit",
)  # fmt: skip
#: Of those, not taken along: what only Jupyter's server needs, and slow helpers for typing code.
LEFT_OUT = {"jedi", "pexpect", "widgetsnbextension", "jupyterlab-widgets"}
#: Loaded at the start where Pyodide's folder holds them.
ARRAYS = {"numpy", "pandas", "scipy", "pillow"}
#: Names that the kernel asks for and that are empty here: how to install more, and a helper for typing code.
EMPTY = ("jedi", "micropip", "piplite")
#: Files that nothing on a page opens: most of plotly is kinds of charts that the kit does not draw.
UNUSED = (
    "*.pyc",
    "*.so",
    "*.pyd",
    "*.map",
    "*.pyi",
    "*/tests/*",
    "*/labextension/*",
    "plotly/package_data/plotly.min.js",
)
UNUSED_OF_PLOTLY = re.compile(
    r"plotly/(express|figure_factory|matplotlylib|package_data/datasets)/|"
    r"plotly/graph_objs/(?!_|bar/|heatmap/|layout/|scatter/|scatterternary/)"
)
#: Not needed for the first panel: they lie packed in one wheel until they are imported (``kit/page_kernel.py``).
LATER = {
    "plotly", "narwhals", "openpyxl", "et-xmlfile", "pint", "flexcache", "flexparser", "jinja2", "markupsafe",
    "prompt-toolkit", "wcwidth", "packaging",
}  # fmt: skip
#: In the name of a module of the kernel that says nothing can be installed here. It is imported first of all, so it
#: takes the current folder off the path: each import would ask the page's store for a file.
PIPLITE = '''"""Nothing can be installed on this page: all that it has came with it."""

import sys

sys.path[:] = [folder for folder in sys.path if folder]
_PIPLITE_DISABLE_PYPI = True
_PIPLITE_URLS = []


def install(*_asked, **_how):
    """Refuse in a sentence."""
    raise ImportError(__doc__)
'''


def lay_packages(into: Path, of_pyodide: Path, own: Path | None = None) -> list[str]:
    """Lay every package and the lock file into a folder; return the names of what a kernel loads at its start.

    Parameters
    ----------
    of_pyodide
        Pyodide's folder. Where it holds packages too (its full distribution has NumPy, say), they come along.
    own
        The kit's own wheel; built from the clone where it is None.
    """
    lock = json.loads((of_pyodide / "pyodide-lock.json").read_text(encoding="utf-8"))
    python = ".".join(str(lock["info"]["python"]).split(".")[:2])
    there = {**SURROUNDINGS, "python_version": python, "python_full_version": lock["info"]["python"]}
    wheels = [own_wheel(into, own), *_kernel_wheels(into), *_empty_wheels(into)]
    with TemporaryDirectory() as scratch:
        packed = [_packed(package, Path(scratch)) for package in _needed(there)]
        later = [wheel for wheel in packed if _plain_name(wheel) in LATER]
        wheels += [Path(shutil.copy(wheel, into)) for wheel in packed if wheel not in later]
        wheels.append(_together(later, into))
    entries = {_plain_name(wheel): _entry(wheel) for wheel in wheels}
    brought = {
        name: entry
        for name, entry in lock["packages"].items()
        if name not in entries and (of_pyodide / entry["file_name"]).is_file()
    }
    for entry in brought.values():
        (into / entry["file_name"]).write_bytes((of_pyodide / entry["file_name"]).read_bytes())
        entry["depends"] = [name for name in entry["depends"] if name in brought]
    lock["packages"] = entries | brought
    (into / "pyodide-lock.json").write_text(json.dumps(lock), encoding="utf-8")
    return sorted({*entries, *(name for name in brought if name in ARRAYS)})


def _needed(there: dict[str, str]) -> Iterator[metadata.Distribution]:
    """The packages that are needed there, as they are installed here."""
    from packaging.requirements import Requirement

    to_look = [*NEEDED]
    looked = set(LEFT_OUT)
    while to_look:
        name = plain_name(to_look.pop())
        if name in looked:
            continue
        looked.add(name)
        package = metadata.distribution(name)
        yield package
        asks = map(Requirement, package.requires or ())
        to_look += [asked.name for asked in asks if asked.marker is None or asked.marker.evaluate(there)]


def _packed(package: metadata.Distribution, into: Path) -> Path:
    """An installed package as a wheel of plain Python."""
    name = plain_name(package.metadata["Name"]).replace("-", "_")
    wheel = into / f"{name}-{package.version}-py3-none-any.whl"
    with zipfile.ZipFile(wheel, "w", zipfile.ZIP_DEFLATED) as file:
        for part in package.files or ():
            path = part.as_posix()
            unused = any(fnmatch(path, pattern) for pattern in UNUSED) or UNUSED_OF_PLOTLY.match(path)
            if not path.startswith("..") and not unused:
                file.write(str(part.locate()), path)
    return wheel


def _together(wheels: Iterable[Path], into: Path) -> Path:
    """Wheels as the data of one, each under the name that is imported."""
    made = into / f"{LAID_BY}-0-py3-none-any.whl"
    with zipfile.ZipFile(made, "w") as file:
        _describe(file, LAID_BY)
        for wheel in wheels:
            file.write(wheel, f"{LAID_BY}/{wheel.name.split('-')[0]}.zip")
    return made


def _describe(file: zipfile.ZipFile, name: str) -> None:
    file.writestr(f"{name}-0.dist-info/METADATA", f"Metadata-Version: 2.1\nName: {name}\nVersion: 0\n")
    file.writestr(f"{name}-0.dist-info/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n")


def _plain_name(wheel: Path) -> str:
    return plain_name(wheel.name.split("-")[0])


def _kernel_wheels(into: Path) -> Iterator[Path]:
    """The kernel's own wheels, which lie in its extension of JupyterLab."""
    for part in metadata.files(KERNEL) or ():
        of_kernel = fnmatch(part.as_posix(), "*/labextensions/*/pypi/*.whl")
        if of_kernel and not part.name.startswith((*EMPTY, "widgetsnbextension")):
            wheel = into / part.name
            wheel.write_bytes(part.read_binary())
            yield wheel


def _empty_wheels(into: Path) -> Iterator[Path]:
    for name in EMPTY:
        wheel = into / f"{name}-0-py3-none-any.whl"
        with zipfile.ZipFile(wheel, "w") as file:
            _describe(file, name)
            if name == "piplite":
                file.writestr("piplite/__init__.py", "from piplite.piplite import install as install\n")
                file.writestr("piplite/piplite.py", PIPLITE)
        yield wheel


def _entry(wheel: Path) -> dict[str, Any]:
    """What the lock file says of a package."""
    name, release, *_ = wheel.name.split("-")
    return {
        "name": plain_name(name),
        "version": release,
        "file_name": wheel.name,
        "sha256": hashlib.sha256(wheel.read_bytes()).hexdigest(),
        "install_dir": "site",
        "package_type": "package",
        "imports": _modules(wheel),
        "depends": [],
        "unvendored_tests": False,
    }


def _modules(wheel: Path) -> list[str]:
    with zipfile.ZipFile(wheel) as file:
        tops = {name.split("/")[0] for name in file.namelist() if name.endswith(".py")}
    return sorted(_importable(tops))


def _importable(tops: Iterable[str]) -> Iterator[str]:
    for top in tops:
        if (name := top.removesuffix(".py")).isidentifier():
            yield name
