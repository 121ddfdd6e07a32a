"""The environment of a clone is made once, mended when needed, and its troubles are told plainly.

The clones here are small ones with a build backend of their own, so that real ``venv`` and real ``pip`` run
without fetching anything.
"""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from kit import environment
from kit.environment import UNFINISHED, SetUpError, clone_folder, missing_packages, prepare, python_of
from kit.file_lock import locked

ROOT = Path(__file__).resolve().parent.parent.parent

PYPROJECT = """
[build-system]
requires = []
build-backend = "backend"
backend-path = ["."]
[project]
name = "little"
version = "1"
dependencies = []
[project.optional-dependencies]
test = []
more = []
"""

BACKEND = """
import zipfile
def build_editable(folder, config_settings=None, metadata_directory=None):
    name = "little-1-py3-none-any.whl"
    with zipfile.ZipFile(f"{folder}/{name}", "w") as wheel:
        wheel.writestr("little.py", "colour = 'teal'")
        wheel.writestr("little-1.dist-info/METADATA",
            "Metadata-Version: 2.1\\nName: little\\nVersion: 1\\nProvides-Extra: test\\nProvides-Extra: more\\n")
        wheel.writestr("little-1.dist-info/WHEEL", "Wheel-Version: 1.0\\nRoot-Is-Purelib: true\\nTag: py3-none-any\\n")
        wheel.writestr("little-1.dist-info/RECORD", "")
    return name
"""


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    folder = tmp_path / "clone"
    folder.mkdir()
    (folder / "pyproject.toml").write_text(PYPROJECT, encoding="utf-8")
    (folder / "backend.py").write_text(BACKEND, encoding="utf-8")
    return folder


def _stamp(clone: Path) -> dict[str, object]:
    found: dict[str, object] = json.loads((clone / ".venv" / "shakewell.json").read_text(encoding="utf-8"))
    return found


def _stopped(installer: subprocess.Popen[bytes]) -> int:
    installer.terminate()
    installer.wait()
    raise KeyboardInterrupt


KILLED = """
import os, signal, sys
from pathlib import Path
from kit import environment
def killed(*_, **__):
    environment.python_of(Path(sys.argv[1]) / ".venv").parent.mkdir(parents=True, exist_ok=True)
    environment.python_of(Path(sys.argv[1]) / ".venv").write_text("half a program")
    os.kill(os.getpid(), signal.SIGKILL)
environment.subprocess.run = killed
environment.prepare(Path(sys.argv[1]))
"""


@pytest.mark.slow
def test_it_is_made_once_and_mended_when_something_changed(clone: Path, capsys: pytest.CaptureFixture[str]) -> None:
    if sys.platform != "win32":  # which ends processes in another way
        ended = subprocess.run([sys.executable, "-c", KILLED, clone], cwd=ROOT, capture_output=True, check=False)
        assert ended.returncode == -signal.SIGKILL
        assert python_of(clone / ".venv").exists(), "it looks as if it were one"
    python = prepare(clone)
    said = capsys.readouterr().out
    assert ("The last set-up was broken off half-way, so it is done anew." in said) == (sys.platform != "win32")
    assert {file.name for file in (clone / ".venv").iterdir()} >= {"shakewell.json", "install.log"}
    assert not (clone / ".venv" / UNFINISHED).exists()
    assert f"They go into {clone / '.venv'} and nowhere else. This is done once" in said
    assert "The packages are in place." in said
    colour = subprocess.run(
        [python, "-c", "import little; print(little.colour)"], capture_output=True, text=True, check=True
    )
    assert colour.stdout == "teal\n"

    assert prepare(clone) == python
    assert capsys.readouterr().out == ""

    prepare(clone, ["test"])
    assert "The packages are in place." in capsys.readouterr().out
    prepare(clone, ["more"])
    assert _stamp(clone)["extras"] == ["more", "test"]
    capsys.readouterr()
    prepare(clone, ["test"])
    prepare(clone)
    assert capsys.readouterr().out == ""

    (clone / "pyproject.toml").write_text(PYPROJECT + "\n# a new line\n", encoding="utf-8")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(environment, "_wait_with_dots", _stopped)
        with pytest.raises(KeyboardInterrupt):
            prepare(clone, ["test"])
    assert (clone / ".venv" / UNFINISHED).exists(), "the installer was stopped half-way"
    (clone / ".venv" / UNFINISHED).unlink()
    capsys.readouterr()
    prepare(clone)
    assert "The packages are in place." in capsys.readouterr().out

    moved = clone.rename(clone.with_name("moved"))
    prepare(moved)
    assert "The packages are in place." in capsys.readouterr().out
    assert _stamp(moved)["clone"] == str(moved)

    python_of(moved / ".venv").unlink()  # as when the Python it was made with is gone
    prepare(moved)
    assert "The packages are in place." in capsys.readouterr().out


@pytest.mark.slow
def test_two_windows_opened_at_once_make_it_once(clone: Path) -> None:
    code = "import sys; from pathlib import Path; from kit import environment as e; e.prepare(Path(sys.argv[1]))"
    command = [sys.executable, "-c", code, str(clone)]
    windows = [subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) for _ in range(3)]
    said = [window.communicate(timeout=300)[0] for window in windows]
    assert [window.returncode for window in windows] == [0, 0, 0]
    assert sorted("The packages are in place." in one for one in said) == [False, False, True]
    assert sum("Another window is setting the kit up; this one waits for it." in one for one in said) == 2
    assert not (clone / ".venv" / UNFINISHED).exists()
    assert not list(clone.glob(".*.lock"))


def test_a_window_that_never_ends_is_not_waited_for_for_ever(clone: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(environment, "_WAIT_FOR_ANOTHER", 0.1)
    with locked(clone / ".venv"), pytest.raises(SetUpError, match="Look what the other window says, close it"):
        prepare(clone)


@pytest.mark.slow
def test_a_failed_download_is_told_and_can_be_tried_again(clone: Path) -> None:
    (clone / "backend.py").write_text("raise OSError('no road to the packages')", encoding="utf-8")
    with pytest.raises(SetUpError) as refused:
        prepare(clone)
    sentence = str(refused.value)
    assert "If this machine is not connected to the internet, connect it and run the same command again" in sentence
    assert "The installer said: OSError: no road to the packages" in sentence
    assert f"All it said is in {clone / '.venv' / 'install.log'}." in sentence
    assert "no road to the packages" in (clone / ".venv" / "install.log").read_text(encoding="utf-8")

    (clone / "backend.py").write_text(BACKEND, encoding="utf-8")
    assert prepare(clone).exists()


def test_the_cause_is_told_where_the_installer_names_it() -> None:
    for said, told in {
        "ERROR: Could not install: [Errno 28] No space left on device": "The disk is full. Make room, a gigabyte say",
        "WARNING: (NewConnectionError('...')) ERROR: No matching": "This computer does not reach the internet, which",
        "ERROR: [Errno 13] Permission denied: '/opt'": "You may not write there. Put the kit into a folder of yours",
        "ERROR: of another kind": "If this machine is not connected to the internet, connect it",
    }.items():
        assert environment.what_to_do(said).startswith(told), said


@pytest.mark.parametrize("module", ["venv", "ensurepip"])
def test_a_python_without_venv_is_told_what_to_install(
    clone: Path, monkeypatch: pytest.MonkeyPatch, module: str
) -> None:
    monkeypatch.setattr(environment, "find_spec", lambda name: None if name == module else object())
    with pytest.raises(SetUpError, match="type 'sudo apt install python3-venv'; then run the same command again"):
        prepare(clone)
    assert not (clone / ".venv").exists()


def test_something_else_called_venv_is_left_alone(clone: Path) -> None:
    mine = clone / ".venv" / "diary.txt"
    mine.parent.mkdir()
    mine.write_text("mine", encoding="utf-8")
    with pytest.raises(SetUpError, match=r"is not a Python environment\. Rename it and run the same command again"):
        prepare(clone)
    assert mine.read_text(encoding="utf-8") == "mine"


def test_a_place_that_cannot_be_written_is_told(clone: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    failed = subprocess.CompletedProcess([], 1, "", "Error: [Errno 28] No space left on device\n")
    monkeypatch.setattr("kit.environment.subprocess.run", lambda *_, **__: failed)
    with pytest.raises(SetUpError, match=r"Check that the disk has room .* No space left on device"):
        prepare(clone)


def test_missing_packages_are_named_as_the_project_names_them(clone: Path) -> None:
    asked = 'dependencies = ["pytest>=1", "no-such-thing>=2,<3"]'
    text = PYPROJECT.replace("dependencies = []", asked).replace("test = []", 'test = ["pytest-xdist", "nor_this[x]"]')
    (clone / "pyproject.toml").write_text(text, encoding="utf-8")
    assert missing_packages(clone) == ["no-such-thing"]
    assert missing_packages(clone, ["test"]) == ["no-such-thing", "nor_this"]


def test_here_nothing_is_missing() -> None:
    assert clone_folder() == ROOT
    assert missing_packages(ROOT, ["test"]) == []


def test_it_needs_nothing_that_would_have_to_be_installed() -> None:
    """A Python with no packages at all (-S: none of its site folders) can import what runs first."""
    code = "import kit.__main__, kit.environment, kit.workspace; print('ready')"
    done = subprocess.run([sys.executable, "-S", "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.stdout == "ready\n", done.stderr
