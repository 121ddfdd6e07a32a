"""The wheel holds all it needs: built, installed far from the clone, it lays its notebooks and they run."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parent.parent.parent

RUN_A_NOTEBOOK = """
import kit, nbformat, sys
from nbclient import NotebookClient
notebook = nbformat.read("00_start.ipynb", as_version=4)
where = nbformat.v4.new_code_cell("import kit as _kit; print(_kit.__file__)")
notebook.cells.append(where)
NotebookClient(notebook, timeout=None, kernel_name="python3").execute()
print(where.outputs[0]["text"].strip())
"""


def _run(*command: str | Path, folder: Path) -> str:
    surroundings = {name: value for name, value in os.environ.items() if name not in {"PYTHONPATH", "JUPYTER_PATH"}}
    surroundings |= {f"JUPYTER_{what}_DIR": str(folder / "jupyter") for what in ("CONFIG", "DATA", "RUNTIME")}
    done = subprocess.run(
        [str(part) for part in command],
        cwd=folder, env=surroundings, capture_output=True, text=True, check=False, timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def _build(source: Path, folder: Path, *which: str) -> Path:
    """The wheel that is built from a folder."""
    # in the running environment where it has the builder; otherwise `build` fetches it for itself
    alone = ["--no-isolation"] if importlib.util.find_spec("hatchling") else []
    folder.mkdir(exist_ok=True)
    _run(sys.executable, "-m", "build", *which, *alone, "--outdir", folder, source, folder=folder)
    (built,) = folder.glob("shakewell-*-py3-none-any.whl")
    return built


def _contents(wheel: Path) -> dict[str, int]:
    """What a wheel holds, each file with its checksum."""
    return {one.filename: one.CRC for one in zipfile.ZipFile(wheel).infolist()}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return _build(ROOT, tmp_path_factory.mktemp("wheel"), "--wheel")


@pytest.fixture(scope="module")
def python(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh environment with the wheel in it; the packages it needs are read from the running environment."""
    environment = tmp_path_factory.mktemp("elsewhere") / "environment"
    _run(sys.executable, "-m", "venv", "--without-pip", environment, folder=environment.parent)
    found = environment / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    ask = "import sysconfig; print(sysconfig.get_path('purelib'))"
    own = Path(_run(found, "-c", ask, folder=environment.parent).strip())
    # its own folder first; .pth files of the borrowed folder, the clone's among them, are not followed
    (own / "borrowed.pth").write_text(f"{sysconfig.get_path('purelib')}\n", encoding="utf-8")
    pip = [sys.executable, "-m", "pip", "--python", str(found), "install", "--no-deps", "--no-index", str(wheel)]
    _run(*pip, folder=environment.parent)
    return found


def test_it_holds_the_notebooks_and_the_data_and_no_tests(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for source in ("notebooks", "data"):
        wanted = {
            f"kit/{file.relative_to(ROOT).as_posix()}"
            for file in (ROOT / source).rglob("*")
            if file.is_file() and ".ipynb_checkpoints" not in file.parts and "__pycache__" not in file.parts
        }
        assert wanted
        assert wanted <= set(names)
    assert not [name for name in names if name.startswith("tests") or ".ipynb_checkpoints" in name]
    assert [name for name in names if name.endswith("licenses/LICENSE")]


def test_it_is_the_same_by_way_of_the_sdist_and_from_a_clone_in_which_somebody_worked(
    wheel: Path, tmp_path: Path
) -> None:
    clone = tmp_path / "clone"
    left = shutil.ignore_patterns(".git", ".venv*", "__pycache__", ".*_cache", ".hypothesis", "workspace", "pictures")
    shutil.copytree(ROOT, clone, ignore=left)
    own = ("notebooks/.jupyter/key", "notebooks/my_mist/formula.toml", "notebooks/earlier_saves/mist.toml",
           "notebooks/mine.log.db", "notebooks/mine.log.db-photos/1.png", "notebooks/.mist.toml.lock",
           "data/.jupyter/key", "data/demo/earlier_saves/mist.toml", "data/demo/mist.log.db", "data/notes.txt",
           "kit/.jupyter/key", "workspace/formula.toml", "letters.txt")  # fmt: skip
    for name in own:
        (clone / name).parent.mkdir(parents=True, exist_ok=True)
        (clone / name).write_text("of nobody else's business", encoding="utf-8")
    built = _build(clone, tmp_path / "built")  # the sdist, and the wheel out of it
    assert _contents(built) == _contents(wheel)
    assert _contents(_build(clone, tmp_path / "at once", "--wheel")) == _contents(wheel)
    (source,) = built.parent.glob("shakewell-*.tar.gz")
    with tarfile.open(source) as packed:
        assert not [name for name in packed.getnames() if name.split("/", 1)[-1] in own]


def test_it_lays_its_notebooks_and_they_run(python: Path) -> None:
    home = python.parent.parent.parent
    said = _run(python, "-m", "kit", "mine", "--no-open", folder=home)
    assert f"{home / 'mine'} holds the notebooks and the demo" in said
    assert {path.name for path in (ROOT / "notebooks").glob("*.ipynb")} == {
        path.name for path in (home / "mine").glob("*.ipynb")
    }
    came_from = _run(python, "-c", RUN_A_NOTEBOOK, folder=home / "mine").strip()
    assert Path(came_from).is_relative_to(python.parent.parent)


def test_its_command_has_a_name_of_its_own(python: Path) -> None:
    command = python.with_name("shakewell.exe" if os.name == "nt" else "shakewell")
    home = python.parent.parent.parent
    assert "shakewell holds the notebooks" in _run(command, "--no-open", folder=home)
    assert (home / "shakewell" / "00_start.ipynb").is_file()


def test_its_commands_write_papers(python: Path) -> None:
    command = python.with_name("shakewell.exe" if os.name == "nt" else "shakewell")
    home = python.parent.parent.parent / "papers"
    home.mkdir()
    shake = python.parent.parent.parent / "mine" / "demo" / "after_swim_body_shake.toml"
    _run(command, shake.parent.parent, "--no-open", folder=home)
    assert _run(command, "sheet", shake, "--batch", "250 g", folder=home) == "batch_sheet_after_swim_body_shake.html\n"
    assert "Weigh 250.00 g" in (home / "batch_sheet_after_swim_body_shake.html").read_text(encoding="utf-8")
    assert _run(command, "cost", shake, "--out", "cost.html", folder=home) == "cost.html\n"
