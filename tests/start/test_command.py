"""``python -m kit``: what it does with its arguments, and how it gets into an environment that has the packages."""

from __future__ import annotations

import errno
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kit import __main__ as command
from kit import launcher
from kit.environment import AGAIN, SetUpError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

ROOT = Path(__file__).resolve().parent.parent.parent


def test_it_lays_the_files_and_stops_when_told_not_to_open(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main([str(tmp_path / "mine"), "--no-open"]) == 0
    assert "holds the notebooks and the demo" in capsys.readouterr().out
    assert (tmp_path / "mine" / "00_start.ipynb").is_file()


def test_an_error_is_a_sentence_not_a_traceback(tmp_path: Path) -> None:
    file = tmp_path / "list.txt"
    file.write_text("x", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "kit", str(file)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert done.stderr == f"{file} is a file, not a folder. Name another folder.\n"


def test_a_folder_that_cannot_be_looked_at_is_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command.main([str(tmp_path / ("x" * 300)), "--no-open"]) == 1
    assert capsys.readouterr().err.endswith("cannot be used: File name too long. Name another folder.\n")

    def closed(*_: object) -> bool:
        raise PermissionError(errno.EACCES, "Permission denied", str(tmp_path))

    monkeypatch.setattr(Path, "is_file", closed)
    assert command.main([str(tmp_path), "--no-open"]) == 1
    assert capsys.readouterr().err == f"{tmp_path} cannot be used: Permission denied. Name another folder.\n"


def test_help_is_quick(fresh_python: Callable[..., str]) -> None:
    code = (
        "import sys, kit.__main__ as command\n"
        "try:\n    command.main(['--help'])\nexcept SystemExit:\n    pass\n"
        "print({'numpy', 'pandas', 'pint', 'jupyterlab', 'IPython', 'tornado', 'traitlets'} & set(sys.modules))"
    )
    said = fresh_python(code)
    assert said.endswith("set()")
    for option in ("--no-open", "--no-browser", "--port", "never overwritten"):
        assert option in said


@pytest.fixture
def bare(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """A Python without the packages; what would be run instead is noted."""
    noted: list[object] = []
    monkeypatch.delenv(AGAIN, raising=False)
    monkeypatch.setattr(command, "missing_packages", lambda clone, extras: ["jupyterlab", "pint"])
    monkeypatch.setattr(command, "prepare", lambda clone, extras: clone / ".venv" / "bin" / "python")

    def run_again(python: Path, arguments: list[str]) -> int:
        noted.append((python, arguments))
        return 7

    monkeypatch.setattr(command, "run_again", run_again)
    return noted


def test_without_the_packages_it_runs_again_in_its_own_environment(bare: list[object]) -> None:
    assert command.main(["elsewhere", "--no-browser"]) == 7
    assert bare == [(ROOT / ".venv" / "bin" / "python", ["-m", "kit", "elsewhere", "--no-browser"])]


def test_it_never_runs_again_twice(
    bare: list[object], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(AGAIN, "1")
    assert command.main([]) == 1
    said = capsys.readouterr().err
    assert "lacks jupyterlab, pint. Delete that folder and run the same command again." in said
    assert bare == []


def test_an_environment_that_cannot_be_made_is_told(
    bare: list[object], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(clone: Path, extras: Sequence[str]) -> Path:
        raise SetUpError("No room.")

    monkeypatch.setattr(command, "prepare", fail)
    assert command.main([]) == 1
    assert capsys.readouterr().err == "No room.\n"


@pytest.mark.parametrize(
    ("arguments", "screen", "browser", "port"),
    [
        ([], True, True, 8888),
        ([], False, False, 8888),
        (["--no-browser", "--port", "9000"], True, False, 9000),
    ],
)
def test_it_opens_a_browser_only_where_one_can_show_itself(
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    arguments: list[str],
    screen: bool,
    browser: bool,
    port: int,
) -> None:
    asked: list[object] = []
    monkeypatch.setattr(launcher, "screen_is_there", lambda: screen)

    def launch(folder: Path, **options: object) -> int:
        asked.append((folder, options))
        return 0

    monkeypatch.setattr(launcher, "launch", launch)
    assert command.main([str(tmp_path / "mine"), *arguments]) == 0
    options = {"browser": browser, "port": port, "start": "00_start.ipynb", "front": "lab"}
    assert asked == [((tmp_path / "mine").resolve(), options)]


def test_a_products_folder_opens_its_notebook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []

    def launch(folder: Path, **options: object) -> int:
        asked.append((folder, options["start"], options["front"]))
        return 0

    monkeypatch.setattr(launcher, "launch", launch)
    assert command.main(["new", "Rose toner", "--from", "toner", "--in", str(tmp_path)]) == 0
    folder = tmp_path / "rose_toner"
    before = sorted(path.name for path in folder.iterdir())
    assert command.main([str(folder), "--no-browser"]) == 0
    assert command.main([str(folder), "--no-browser", "--front", "notebook"]) == 0
    assert asked == [(folder.resolve(), "product.ipynb", "lab"), (folder.resolve(), "product.ipynb", "notebook")]
    assert sorted(path.name for path in folder.iterdir()) == before, "no lessons are laid into it"


@pytest.mark.parametrize("front", launcher.FRONT_ENDS)
def test_every_front_end_can_be_asked_for(front: str) -> None:
    assert command._parser().parse_args(["--front", front]).front == front


def test_another_front_end_is_asked_for_with_its_packages(monkeypatch: pytest.MonkeyPatch, bare: list[object]) -> None:
    wanted: list[object] = []

    def prepare(clone: Path, extras: Sequence[str]) -> Path:
        wanted.append(tuple(extras))
        return clone / "python"

    monkeypatch.setattr(command, "prepare", prepare)
    assert command.main(["mine", "--front", "notebook"]) == 7
    assert command.main(["app", "mine"]) == 7
    assert command.main(["mine"]) == 7
    assert wanted == [("notebook",), ("app",), ()]


def test_stopping_it_early_is_not_an_error_message(
    bare: list[object], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupt(clone: Path, extras: Sequence[str]) -> Path:
        raise KeyboardInterrupt

    monkeypatch.setattr(command, "prepare", interrupt)
    assert command.main([]) == 130
    assert "Stopped. The same command goes on from here." in capsys.readouterr().err
