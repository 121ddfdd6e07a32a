"""The app: Voilà is started with switches that exist, on this computer only, behind the folder's key."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from kit import app
from kit.environment import SetUpError, ask_for_extra

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

ROOT = Path(__file__).resolve().parent.parent.parent
LINUX = sys.platform.startswith("linux")

CLASSES = """
import json
from jupyter_client.kernelspec import KernelSpecManager
from jupyter_client.manager import KernelManager
from jupyter_server.services.kernels.kernelmanager import MappingKernelManager
from nbconvert.preprocessors import TagRemovePreprocessor
from voila.app import Voila
from voila.configuration import VoilaConfiguration
print(json.dumps({c.__name__: c.class_trait_names() for c in (KernelSpecManager, KernelManager, MappingKernelManager,
    TagRemovePreprocessor, Voila, VoilaConfiguration)}))
"""


@pytest.mark.slow
def test_every_switch_exists_in_the_installed_voila(fresh_python: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "runtime").mkdir()
    known = json.loads(fresh_python(CLASSES))
    used = [(name, trait) for name, traits in app.options_here(tmp_path, "dark").items() for trait in traits]
    used += [("Voila", trait) for trait in ("config_file_paths", "connection_dir_root", "token", "tornado_settings")]
    assert [(name, trait) for name, trait in used if trait not in known[name]] == []


def test_the_page_asks_nobody_else(tmp_path: Path) -> None:
    app.write_template(tmp_path / "page")
    page = (tmp_path / "page" / "index.html.j2").read_text(encoding="utf-8")
    assert "//" not in re.sub(r"^\s*//.*$", "", page, flags=re.MULTILINE), "no address but the server's own"
    assert json.loads((tmp_path / "page" / "conf.json").read_text(encoding="utf-8")) == {"base_template": "lab"}


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str, str, int]]:
    """The running app: its folder, address, key and process."""
    folder = tmp_path_factory.mktemp("app") / "mine"
    process = subprocess.Popen(
        [sys.executable, "-m", "kit", "app", str(folder), "--no-browser", "--port", "8931"], cwd=ROOT,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    said = ""
    try:
        assert process.stdout is not None
        while "begins anew" not in said:
            line = process.stdout.readline()
            assert line, said
            said += line
        found = re.search(r"(http://127\.0\.0\.1:\d+)/voila/render/00_start\.ipynb\?theme=light&token=(\w+)", said)
        assert found, said
        yield folder, found[1], found[2], process.pid
    finally:
        process.send_signal(signal.SIGINT)
        rest, _ = process.communicate(timeout=60)
    assert "The app has stopped." in rest
    assert process.returncode == 0
    assert list((folder / ".jupyter" / "runtime").iterdir()) == []


def _ask(url: str, **headers: str) -> Any:
    with urllib.request.urlopen(urllib.request.Request(url, headers=headers), timeout=20) as answer:
        return json.load(answer)


def test_it_lets_in_who_has_the_key_only(opened: tuple[Path, str, str, int]) -> None:
    folder, url, key, _ = opened
    names = {one["name"] for one in _ask(f"{url}/voila/api/contents/", Authorization=f"token {key}")["content"]}
    assert "00_start.ipynb" in names
    assert key == (folder / ".jupyter" / "key").read_text(encoding="ascii")
    for headers in (
        {},
        {"Authorization": "token guessed"},
        {"Authorization": f"token {key}", "Host": "elsewhere.example"},
    ):
        with pytest.raises(urllib.error.HTTPError, match="403") as refused:
            _ask(f"{url}/voila/api/contents/", **headers)
        refused.value.close()


def test_it_hands_out_no_file_of_the_folder(opened: tuple[Path, str, str, int]) -> None:
    _, url, key, _ = opened
    for name in ("demo/prices.csv", ".jupyter/key", "00_start.ipynb"):
        with pytest.raises(urllib.error.HTTPError, match="403") as refused:
            _ask(f"{url}/voila/files/{name}", Authorization=f"token {key}")
        refused.value.close()


@pytest.mark.skipif(not LINUX, reason="processes and doors are read as Linux shows them")
def test_the_key_is_in_no_list_and_the_door_is_this_computers(opened: tuple[Path, str, str, int]) -> None:
    _, url, key, process = opened
    assert key.encode() not in Path(f"/proc/{process}/cmdline").read_bytes()
    assert key.encode() not in Path(f"/proc/{process}/environ").read_bytes()
    port = f"{int(url.rsplit(':', 1)[1]):04X}"
    tables = "".join(Path(f"/proc/net/{name}").read_text() for name in ("tcp", "tcp6"))
    assert re.findall(rf"^\s*\d+: ([0-9A-F]+):{port} [0-9A-F]+:0000 0A", tables, re.MULTILINE) == ["0100007F"]


def test_a_second_start_finds_the_one_that_is_open(opened: tuple[Path, str, str, int]) -> None:
    folder, url, key, _ = opened
    again = subprocess.run(
        [sys.executable, "-m", "kit", "app", str(folder), "--no-browser", "--theme", "dark"],
        cwd=ROOT, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert again.returncode == 0
    assert "The app is already open on this folder:" in again.stdout
    assert f"{url}/voila/render/00_start.ipynb?theme=dark&token={key}" in again.stdout


def test_what_it_notes_for_a_second_start_is_the_makers_alone(opened: tuple[Path, str, str, int]) -> None:
    (note,) = (opened[0] / ".jupyter" / "runtime").glob("app-*.json")
    if os.name == "posix":
        assert note.stat().st_mode & 0o777 == 0o600


def test_without_voila_it_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(app, "write_configuration", lambda own: None)
    monkeypatch.setitem(sys.modules, "voila.app", None)
    with pytest.raises(SetUpError, match=r"The app cannot be started: .+ with the packages of its extra 'app'"):
        app.launch_app(tmp_path)


def test_an_installed_kit_without_the_extra_names_the_line_to_type(monkeypatch: pytest.MonkeyPatch) -> None:
    asks = ["jinja2>=3.1", "no-such-thing<0.6,>=0.5; extra == 'app'", 'nor-this>=7; extra == "notebook"']
    monkeypatch.setattr("kit.environment.metadata.requires", lambda name: asks)
    with pytest.raises(SetUpError) as refused:
        ask_for_extra("app")
    assert f'{sys.executable} -m pip install "no-such-thing<0.6,>=0.5"\n' in str(refused.value)
    assert "nor-this" not in str(refused.value)
    ask_for_extra("shared-log")
