"""The site of the course: JupyterLite with the lessons that need no arrays, and all that they need, in one folder."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from kit.environment import SetUpError
from kit.resources import resource_folder
from kit.site.packages import KERNEL, lay_packages
from kit.site.pages import about, opening
from kit.site.runtime import FILES, runtime

if TYPE_CHECKING:
    from collections.abc import Iterator

#: What is laid into the site, the first to be opened.
LESSONS = (
    "00_start.ipynb", "01_stock_dilutions.ipynb", "02_two_layer_products.ipynb", "08_label_cost_and_papers.ipynb",
    "glossary.ipynb",
)  # fmt: skip
#: The packages with a part that runs in the page itself.
WITH_EXTENSION = (KERNEL, "jupyterlab-widgets", "anywidget")
#: A file that says that a folder is a site of the kit's, which may be built anew.
MARK = "shakewell-site.json"

PLUGIN = "@jupyterlite/pyodide-kernel-extension:kernel"
#: What the page has no use for, or would ask another computer for.
SWITCHED_OFF = ("@jupyterlab/apputils-extension:announcements",)
#: Defaults of the page's settings.
SETTINGS = {
    "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False},
    "@jupyterlab/apputils-extension:themes": {"theme": "JupyterLab Light"},
}


@dataclass(frozen=True, slots=True)
class Built:
    """A site that was built."""

    folder: Path
    files: int
    size: int  # [bytes]

    @property
    def sentence(self) -> str:
        """How much it is, and how it is looked at."""
        return (
            f"{self.folder} holds the site ({self.files} files, {self.size / 1e6:.0f} MB). To see it here:\n"
            f"    python3 -m http.server --bind 127.0.0.1 --directory {self.folder}\n"
            "and http://127.0.0.1:8000 in the browser; about.html in it says how to put it on a server."
        )


def build(folder: Path, *, pyodide: Path | None = None, own: Path | None = None) -> Built:
    """Build the site into ``folder``, which must be new, empty, or a site of the kit's.

    Parameters
    ----------
    pyodide
        Pyodide's npm package or its folder; fetched where it is None.
    own
        The kit's own wheel; built from the clone where it is None.

    Raises
    ------
    SetUpError
        The folder holds something else, Pyodide is not to be had, or the site cannot be built.
    """
    if folder.exists() and (not folder.is_dir() or (any(folder.iterdir()) and not (folder / MARK).is_file())):
        msg = f"{folder} holds something else than a site, and nothing in it was changed. Name a new folder."
        raise SetUpError(msg)
    with TemporaryDirectory() as scratch:
        work = Path(scratch)
        of_pyodide = runtime(pyodide, work / "pyodide")
        _lay_contents(work / "lite" / "contents")
        packages = work / "lite" / "static" / "pyodide"
        packages.mkdir(parents=True)
        for name in FILES:
            shutil.copyfile(of_pyodide / name, packages / name)
        at_start = lay_packages(packages, of_pyodide, own)
        _write_settings(work / "lite", at_start)
        _run_jupyterlite(work / "lite", work / "site")
        (work / "site" / MARK).write_text("{}\n", encoding="utf-8")
        (work / "site" / "index.html").write_text(opening(LESSONS[0]), encoding="utf-8")
        (work / "site" / "about.html").write_text(about(LESSONS), encoding="utf-8")
        if folder.exists():
            shutil.rmtree(folder)
        shutil.copytree(work / "site", folder, ignore=shutil.ignore_patterns("*.map", "*.doit.db"))
    files = [path for path in folder.rglob("*") if path.is_file()]
    return Built(folder, len(files), sum(path.stat().st_size for path in files))


def _lay_contents(into: Path) -> None:
    """The lessons and the demo, as in a maker's folder."""
    shutil.copytree(resource_folder("data") / "demo", into / "demo")
    for lesson in LESSONS:
        shutil.copyfile(resource_folder("notebooks") / lesson, into / lesson)


def _write_settings(lite: Path, at_start: list[str]) -> None:
    """What JupyterLite reads: how to build, what the page is told, and defaults that a reader may change."""
    kernel = {"disablePyPIFallback": True, "loadPyodideOptions": {"packages": at_start}}
    page = {
        "appName": "Formulation maths",
        "disabledExtensions": list(SWITCHED_OFF),
        "litePluginSettings": {PLUGIN: kernel},
    }
    building = {
        "apps": ["lab"],
        "contents": ["contents"],
        "federated_extensions": [str(found) for found in _extensions()],
        "ignore_sys_prefix": ["federated_extensions"],
        "no_sourcemaps": True,
        "no_unused_shared_packages": True,
    }
    for name, told in (
        ("jupyter-lite.json", {"jupyter-lite-schema-version": 0, "jupyter-config-data": page}),
        ("jupyter_lite_config.json", {"LiteBuildConfig": building}),
        ("overrides.json", SETTINGS),
    ):
        (lite / name).write_text(json.dumps(told, indent=2), encoding="utf-8")


def _extensions() -> Iterator[Path]:
    """The folders of the extensions of JupyterLab that the page needs, and of no other that is installed."""
    for package in WITH_EXTENSION:
        for part in metadata.files(package) or ():
            if part.name == "package.json" and "labextensions" in part.parts and "static" not in part.parts:
                yield Path(str(part.locate())).resolve().parent


def _run_jupyterlite(lite: Path, into: Path) -> None:
    command = [sys.executable, "-m", "jupyterlite_core", "build", "--lite-dir", str(lite), "--output-dir", str(into)]
    done = subprocess.run(command, cwd=lite, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)
    if done.returncode != 0:
        said = [line.strip() for line in (done.stderr or done.stdout).splitlines() if line.strip()][-1:] or ["nothing"]
        msg = f"The site could not be built. JupyterLite said: {said[0]}"
        raise SetUpError(msg)
