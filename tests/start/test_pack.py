"""What an installation needs, collected for a room without the internet, and installed from there."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import zipfile
from typing import TYPE_CHECKING

import pytest

from kit import pack as packing
from kit.commands import FAILED, run
from kit.environment import SetUpError, python_of
from kit.pack import LIST, PLATFORMS, TEXT, WHEELS, Target, pack, text

if TYPE_CHECKING:
    from pathlib import Path


def wheel(folder: Path, name: str, *asks: str, version: str = "1.0", extras: tuple[str, ...] = ()) -> Path:
    """A wheel with one empty module, that asks for others."""
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / f"{name}-{version}-py3-none-any.whl"
    about = [f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}", *(f"Provides-Extra: {one}" for one in extras)]
    info = f"{name}-{version}.dist-info"
    with zipfile.ZipFile(file, "w") as made:
        made.writestr(f"{name}.py", "")
        made.writestr(f"{info}/METADATA", "\n".join([*about, *(f"Requires-Dist: {line}" for line in asks), ""]))
        made.writestr(f"{info}/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n")
        made.writestr(f"{info}/RECORD", f"{name}.py,,\n{info}/METADATA,,\n{info}/WHEEL,,\n{info}/RECORD,,\n")
    return file


def test_what_only_the_other_computers_need_is_found(tmp_path: Path) -> None:
    wheel(tmp_path, "shakewell", "Terminal>=2", "views; extra == 'app'", extras=("app",))
    wheel(tmp_path, "terminal", 'winpty>=2.0.1; os_name == "nt"', 'ptyprocess; os_name != "nt"', "words[long]")
    wheel(tmp_path, "ptyprocess")
    wheel(tmp_path, "words", 'longer<3; extra == "long"', 'shorter; extra == "short"', 'old; python_version < "3.12"')
    windows, missing = packing._needed(tmp_path, [], Target("windows", "3.12"))
    assert windows == {"shakewell", "terminal", "winpty", "words", "longer"}
    assert missing == ["longer<3", "winpty>=2.0.1"]
    linux, missing = packing._needed(tmp_path, ["app"], Target("linux", "3.11"))
    assert linux == {"shakewell", "terminal", "ptyprocess", "words", "longer", "old", "views"}
    assert missing == ["longer<3", "old", "views"]


@pytest.mark.parametrize("platform", PLATFORMS)
def test_the_text_names_the_lines_to_type_there(platform: str) -> None:
    said = text(Target(platform, "3.13"))
    assert f"This folder is for {platform} with Python 3.13." in said
    assert ("py -3.13 -m venv" in said) is (platform == "windows")
    assert ("python3.13 -m venv" in said) is (platform != "windows")
    assert "--no-index --find-links wheels --require-hashes -r requirements.txt" in said


def test_a_folder_that_holds_something_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("x", encoding="utf-8")
    with pytest.raises(SetUpError, match="holds something already, and nothing in it was changed"):
        pack(tmp_path, Target())
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_another_file_than_the_kits_wheel_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SetUpError, match="is not the kit's own wheel"):
        pack(tmp_path / "room", Target(), given=wheel(tmp_path / "made", "other"))
    with pytest.raises(SetUpError, match="cannot be read"):
        pack(tmp_path / "room2", Target(), given=tmp_path / "nowhere.whl")


def test_where_the_kit_has_no_clone_its_wheel_is_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packing, "clone_folder", lambda: None)
    with pytest.raises(SetUpError, match="Say where that file lies: --wheel FILE"):
        pack(tmp_path / "room", Target())


def test_what_the_installer_says_is_told_without_addresses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    said = "WARNING: x\nERROR: No answer from https://someone@host/simple/ now\n"
    done = subprocess.CompletedProcess([], 1, "", said)
    monkeypatch.setattr("kit.pack.subprocess.run", lambda *_, **__: done)
    with pytest.raises(SetUpError, match=r"This needs the internet once.+ERROR: No answer from … now$"):
        pack(tmp_path / "room", Target(), given=wheel(tmp_path / "made", "shakewell"))


def test_the_command_asks_for_a_python_that_the_kit_runs_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("pack", [str(tmp_path / "room"), "--python", "3.9"]) == FAILED
    assert "'3.9' is no Python that the kit runs on" in capsys.readouterr().err


@pytest.mark.slow
def test_what_was_packed_installs_where_nothing_can_be_fetched(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A small wheel stands for the kit's, so that this asks for three packages and not for a hundred."""
    mine = wheel(tmp_path / "made", "shakewell", "jinja2>=3.1", 'tomlkit; extra == "app"', extras=("app",))
    room = tmp_path / "room"
    if run("pack", [str(room), "--wheel", str(mine), "--with", "app"]) != 0:
        pytest.skip(f"no packages can be fetched here: {capsys.readouterr().err}")
    assert f"{room} holds 4 packages" in capsys.readouterr().out
    names = re.findall(r"^(\S+)==\S+ --hash=sha256:[0-9a-f]{64}$", (room / LIST).read_text(encoding="utf-8"), re.M)
    assert names == ["jinja2", "markupsafe", "shakewell[app]", "tomlkit"]
    assert "://" not in (room / LIST).read_text(encoding="utf-8") + (room / TEXT).read_text(encoding="utf-8")

    python = _fresh(tmp_path / "fresh", room)
    asked = "import json, importlib.metadata as m; print(json.dumps([m.version(n) for n in ('shakewell', 'jinja2')]))"
    done = subprocess.run([str(python), "-c", asked], capture_output=True, text=True, check=True)
    from importlib.metadata import version

    assert json.loads(done.stdout) == ["1.0", version("jinja2")]

    (changed,) = (room / WHEELS).glob("tomlkit-*.whl")
    whole = bytearray(changed.read_bytes())
    whole[len(whole) // 2] ^= 1
    changed.write_bytes(whole)
    with pytest.raises(subprocess.CalledProcessError):
        _fresh(tmp_path / "again", room)


def _fresh(place: Path, room: Path) -> Path:
    """A new environment, made as the text in the folder says, with no index to ask."""
    alone = {name: value for name, value in os.environ.items() if not name.startswith("PIP_")}
    alone |= {"PIP_CONFIG_FILE": os.devnull}
    subprocess.run([sys.executable, "-m", "venv", str(place)], check=True)
    install = ["-m", "pip", "install", "--no-index", "--find-links", WHEELS, "--require-hashes", "-r", LIST]
    subprocess.run([str(python_of(place)), *install], cwd=room, env=alone, check=True, capture_output=True)
    return python_of(place)
