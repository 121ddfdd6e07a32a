"""JupyterLab is started with switches that exist, on this computer only, and with the right kernel."""

from __future__ import annotations

import ast
import errno
import json
import os
import re
import signal
import socket
import subprocess
import sys
import tempfile
import urllib.request
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

import pytest

from kit import launcher
from kit.__main__ import main
from kit.app import launch_app
from kit.environment import SetUpError
from kit.launcher import (
    FRONT_ENDS,
    HIDDEN,
    OPTIONS,
    PAGE,
    SETTINGS,
    own_key,
    running_address,
    screen_is_there,
    sockets_fit,
)
from kit.stability.photos.files import MOST_BYTES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

ROOT = Path(__file__).resolve().parent.parent.parent
LINUX = sys.platform.startswith("linux")
SCHEMAS = Path(sys.prefix) / "share" / "jupyter" / "lab" / "schemas"

CLASSES = """
import json, sys
from jupyter_client.kernelspec import KernelSpecManager
from jupyter_client.manager import KernelManager
from jupyter_lsp import LanguageServerManager
from jupyter_server.auth import IdentityProvider
from jupyter_server.serverapp import ServerApp
from jupyterlab.labapp import LabApp
from notebook.app import JupyterNotebookApp
from traitlets.config import Application
names = {c.__name__: c.class_trait_names(config=True) for c in (KernelSpecManager, KernelManager,
    LanguageServerManager, IdentityProvider, ServerApp, LabApp, JupyterNotebookApp, Application)}
print(json.dumps(names))
"""


@pytest.mark.slow
def test_every_switch_exists_in_the_installed_jupyterlab(fresh_python: Callable[..., str], tmp_path: Path) -> None:
    known = json.loads(fresh_python(CLASSES))
    used = [
        *OPTIONS,
        *(name for end in FRONT_ENDS.values() for name in launcher._options_here(tmp_path, 8888, end)),
        *(f"{end.application}.default_url" for end in FRONT_ENDS.values()),
        "IdentityProvider.token",
        "KernelManager.transport",
    ]
    assert [name for name in used if name.split(".")[1] not in known[name.split(".")[0]]] == []


def test_a_large_photo_fits_into_one_message() -> None:
    """Over the limit the server hangs up on the page, which is then deaf without saying so."""
    settings = ast.literal_eval(OPTIONS["ServerApp.tornado_settings"])
    assert settings["websocket_max_message_size"] > 2 * MOST_BYTES


def test_every_setting_exists_in_the_installed_jupyterlab() -> None:
    for plugin, values in SETTINGS.items():
        extension, name = plugin.split(":")
        schema = json.loads((SCHEMAS / extension / f"{name}.json").read_text(encoding="utf-8"))
        assert set(values) <= set(schema["properties"])
    news = json.loads((SCHEMAS / "@jupyterlab/apputils-extension/notification.json").read_text(encoding="utf-8"))
    assert {"const": "false", "title": "Never"} in news["properties"]["fetchNews"]["oneOf"]


def test_the_extension_that_is_switched_off_exists() -> None:
    static = SCHEMAS.parent / "static"
    disabled: Any = PAGE["disabledExtensions"]
    built_in, *brought_in = disabled
    assert any(built_in in file.read_text(encoding="utf-8") for file in static.glob("*.js"))
    for extension in brought_in:  # by the packages of the other front ends
        assert (SCHEMAS.parent.parent / "labextensions" / extension / "package.json").is_file()


@pytest.mark.parametrize("front", FRONT_ENDS)
def test_nothing_is_loaded_but_what_is_named(tmp_path: Path, front: str) -> None:
    """Also where a package has put a word into Jupyter's own settings."""
    options = launcher._options_here(tmp_path, 8888, FRONT_ENDS[front])
    loaded = ast.literal_eval(options["ServerApp.jpserver_extensions"])
    assert {name for name, wanted in loaded.items() if wanted} == {FRONT_ENDS[front].extension, "jupyter_lsp"}
    assert {"jupyterlab", "notebook", "voila.server_extension", "jupyter_server_terminals"} <= set(loaded)


@pytest.fixture(scope="module")
def open_lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str, str, int]]:
    """A running JupyterLab: its folder, address, key and process."""
    folder = tmp_path_factory.mktemp("open") / "mine"
    command = [sys.executable, "-m", "kit", str(folder), "--no-browser", "--port", str(_free_port())]
    hostile = {
        **os.environ,
        "JUPYTER_TOKEN": "guessed",
        "JUPYTER_PATH": str(_other_kernel(folder.parent / "other")),
    }
    process = subprocess.Popen(
        command, cwd=ROOT, env=hostile, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        stdin=subprocess.DEVNULL,
    )  # fmt: skip
    said = ""
    try:
        assert process.stdout is not None
        while "token=" not in said:
            line = process.stdout.readline()
            assert line, said
            said += line
        found = re.search(r"(http://127\.0\.0\.1:\d+)/lab/tree/00_start\.ipynb\?reset&token=(\w+)", said)
        assert found, said
        yield folder, found[1], found[2], process.pid
    finally:
        process.send_signal(signal.SIGINT)
        rest, _ = process.communicate(timeout=30)
    assert "JupyterLab has stopped." in rest
    assert process.returncode == 0
    assert list((folder / ".jupyter" / "runtime").glob("*.json")) == []


def _free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port: int = trial.getsockname()[1]
    return port


def _other_kernel(folder: Path) -> Path:
    """Somebody else's kernel of the same name."""
    spec = folder / "kernels" / "python3" / "kernel.json"
    spec.parent.mkdir(parents=True)
    content = {
        "argv": ["/elsewhere/python", "{connection_file}"],
        "display_name": "Other",
        "language": "python",
    }
    spec.write_text(json.dumps(content), encoding="utf-8")
    return folder


def _ask(url: str, key: str, path: str) -> Any:
    question = urllib.request.Request(f"{url}{path}", headers={"Authorization": f"token {key}"})
    with urllib.request.urlopen(question, timeout=10) as answer:
        return json.load(answer)


def test_it_shows_the_folder_and_hides_its_own(open_lab: tuple[Path, str, str, int]) -> None:
    folder, url, key, _ = open_lab
    names = {entry["name"] for entry in _ask(url, key, "/api/contents")["content"]}
    assert "00_start.ipynb" in names
    assert ".jupyter" not in names
    if os.name == "posix":
        assert (folder / ".jupyter").stat().st_mode & 0o077 == 0


def test_its_only_kernel_is_the_running_python(open_lab: tuple[Path, str, str, int]) -> None:
    _, url, key, _ = open_lab
    specs = _ask(url, key, "/api/kernelspecs")["kernelspecs"]
    assert list(specs) == ["python3"]
    assert specs["python3"]["spec"]["argv"][0] == sys.executable


def test_lab_loads_the_widgets_and_nothing_that_belongs_to_a_site(open_lab: tuple[Path, str, str, int]) -> None:
    """The extra that builds a site brings an extension that fails in every page but the site's own."""
    _, url, key, _ = open_lab
    with urllib.request.urlopen(f"{url}/lab?token={key}", timeout=30) as answer:
        page = answer.read().decode()
    config = json.loads(re.search(r'id="jupyter-config-data"[^>]*>(.+?)</script>', page, re.DOTALL)[1])  # type: ignore[index]
    loaded = {one["name"] for one in config["federated_extensions"]}
    assert {"@jupyter-widgets/jupyterlab-manager", "anywidget"} <= loaded
    for name in HIDDEN:
        assert (SCHEMAS.parent.parent / "labextensions" / name / "package.json").is_file(), "it is installed"
        assert name not in loaded


@pytest.mark.skipif(not LINUX, reason="the list of processes is read as Linux shows it")
def test_the_key_is_in_no_list_of_processes(open_lab: tuple[Path, str, str, int]) -> None:
    *_, key, process = open_lab
    assert len(key) >= 32
    assert key.encode() not in Path(f"/proc/{process}/cmdline").read_bytes()
    assert key.encode() not in Path(f"/proc/{process}/environ").read_bytes()


@pytest.mark.skipif(not LINUX, reason="open doors are read as Linux shows them")
def test_it_listens_on_this_computer_only(open_lab: tuple[Path, str, str, int]) -> None:
    _, url, _, _ = open_lab
    port = f"{int(url.rsplit(':', 1)[1]):04X}"
    tables = "".join(Path(f"/proc/net/{name}").read_text() for name in ("tcp", "tcp6"))
    listening = re.findall(rf"^\s*\d+: ([0-9A-F]+):{port} [0-9A-F]+:0000 0A", tables, re.MULTILINE)
    assert listening == ["0100007F"]


def test_a_second_start_finds_the_one_that_is_open(open_lab: tuple[Path, str, str, int]) -> None:
    folder, url, key, _ = open_lab
    again = subprocess.run(
        [sys.executable, "-m", "kit", str(folder), "--no-browser"],
        cwd=ROOT, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert again.returncode == 0
    assert "JupyterLab is already open on this folder:" in again.stdout
    assert f"{url}/lab/tree/00_start.ipynb?reset&token={key}" in again.stdout


def test_what_a_killed_one_left_behind_is_no_address(tmp_path: Path) -> None:
    runtime = tmp_path / "runtime"
    runtime.mkdir()
    (runtime / "jpserver-1.json").write_text('{"port": 9, "token": "x"}', encoding="utf-8")
    (runtime / "jpserver-2.json").write_text('{"port": ', encoding="utf-8")
    (runtime / "jpserver-3.json").write_text("[]", encoding="utf-8")
    assert running_address(tmp_path, "/lab", "/lab") is None
    assert running_address(tmp_path / "nowhere", "/lab", "/lab") is None


def test_the_key_stays_the_same_and_only_the_maker_reads_it(tmp_path: Path) -> None:
    key = own_key(tmp_path)
    assert re.fullmatch(r"[0-9a-f]{48}", key)
    assert own_key(tmp_path) == key
    if os.name == "posix":
        assert (tmp_path / "key").stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize(
    "wrong", [b"", b"guessed", b"0" * 47, b"0" * 49, b"g" * 48, b"\xff" * 48, b"0" * 24 + b"\n" * 24]
)
def test_a_wrong_key_file_is_replaced(tmp_path: Path, wrong: bytes) -> None:
    (tmp_path / "key").write_bytes(wrong)
    (tmp_path / "key").chmod(0o644)
    key = own_key(tmp_path)
    assert re.fullmatch(r"[0-9a-f]{48}", key)
    assert (tmp_path / "key").read_text(encoding="ascii") == key == own_key(tmp_path)
    if os.name == "posix":
        assert (tmp_path / "key").stat().st_mode & 0o777 == 0o600


@pytest.mark.skipif(os.name != "posix", reason="rights of files are those of POSIX here")
def test_a_key_that_others_could_read_is_replaced(tmp_path: Path) -> None:
    known = own_key(tmp_path)
    (tmp_path / "key").chmod(0o640)
    assert own_key(tmp_path) != known
    linked = tmp_path / "elsewhere"
    linked.write_text(known, encoding="ascii")
    linked.chmod(0o600)
    (tmp_path / "key").unlink()
    (tmp_path / "key").symlink_to(linked)
    assert own_key(tmp_path) != known
    assert not (tmp_path / "key").is_symlink()
    assert linked.read_text(encoding="ascii") == known


@pytest.mark.slow
def test_the_address_of_yesterday_opens_today(tmp_path: Path) -> None:
    folder, port = tmp_path / "mine", _free_port()
    addresses = [_started_and_stopped(folder, port) for _ in range(2)]
    assert addresses[0] == addresses[1]
    assert f":{port}/" in addresses[0]


@pytest.mark.slow
def test_what_is_opened_at_one_moment_opens_and_one_folder_only_once(tmp_path: Path) -> None:
    port = _free_port()
    windows = [_start(tmp_path / name, port) for name in ("mist", "mist", "oil")]
    try:
        first, again, other = (_address(window) for window in windows)
        assert first == again
        assert urlsplit(first).port != urlsplit(other).port
    finally:
        _stop(*windows)
    assert sorted("already open on this folder" in window.said for window in windows[:2]) == [False, True]


class _Window(subprocess.Popen[str]):
    """A terminal in which the kit was started, and what it said so far."""

    said = ""


def _start(folder: Path, port: int) -> _Window:
    command = [sys.executable, "-m", "kit", str(folder), "--no-browser", "--port", str(port)]
    return _Window(
        command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, stdin=subprocess.DEVNULL
    )


def _address(window: _Window) -> str:
    """The address that it says, once one was let in there."""
    assert window.stdout is not None
    while not (found := re.search(r"http://127\.0\.0\.1:\d+/\S+", window.said)):
        line = window.stdout.readline()
        assert line, window.said
        window.said += line
    with urllib.request.urlopen(found[0], timeout=20) as page:
        assert page.status == 200
    return found[0]


def _stop(*windows: _Window) -> None:
    for window in windows:
        window.send_signal(signal.SIGINT)
    for window in windows:
        window.communicate(timeout=30)


def _started_and_stopped(folder: Path, port: int) -> str:
    """Open the folder, see that the address lets one in, and stop."""
    window = _start(folder, port)
    try:
        return _address(window)
    finally:
        _stop(window)


@pytest.mark.skipif(not LINUX, reason="socket files are used on Linux only")
def test_a_path_too_long_for_socket_files_is_noticed(tmp_path: Path) -> None:
    deep = tmp_path / ("d" * 60) / ("e" * 60)
    deep.mkdir(parents=True)
    assert not sockets_fit(deep)
    with tempfile.TemporaryDirectory() as short:
        assert sockets_fit(Path(short))
        assert list(Path(short).iterdir()) == []


@pytest.mark.parametrize(
    ("platform", "surroundings", "there"),
    [
        ("linux", {}, False),
        ("linux", {"DISPLAY": ":0"}, True),
        ("linux", {"WAYLAND_DISPLAY": "wayland-0"}, True),
        ("darwin", {}, True),
    ],
)
def test_whether_a_browser_could_show_itself(
    monkeypatch: pytest.MonkeyPatch, platform: str, surroundings: dict[str, str], there: bool
) -> None:
    monkeypatch.setattr("kit.launcher.sys.platform", platform)
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    for name, value in surroundings.items():
        monkeypatch.setenv(name, value)
    assert screen_is_there() is there


def test_a_kernel_is_told_where_a_bare_clone_lies(tmp_path: Path) -> None:
    launcher.write_kernel(tmp_path)
    description = json.loads((tmp_path / "python3" / "kernel.json").read_text(encoding="utf-8"))
    assert description["argv"][0] == sys.executable
    assert description["env"]["PYTHONPATH"].split(os.pathsep)[0] == str(ROOT)


def test_without_jupyterlab_it_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(launcher, "write_configuration", lambda own: None)
    monkeypatch.setitem(sys.modules, "jupyterlab.labapp", None)
    with pytest.raises(
        SetUpError, match=r"JupyterLab cannot be started: .+\. Install the kit again, with its packages"
    ):
        launcher.launch(tmp_path)


def test_settings_that_cannot_be_written_are_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own = tmp_path / ".jupyter"
    own.write_text("in the way", encoding="utf-8")
    for start in (launcher.launch, launch_app):
        with pytest.raises(SetUpError, match=r"\.jupyter cannot be used: file exists\. Name another folder to work in"):
            start(tmp_path)
    own.unlink()
    own.mkdir()

    def refuses(*_: object) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(Path, "chmod", refuses)
    if LINUX:
        monkeypatch.setattr(os, "geteuid", lambda: own.stat().st_uid + 1)
        with pytest.raises(SetUpError, match=r"cannot be used: it belongs to another user of this computer\."):
            launcher.launch(tmp_path)


def test_a_port_that_there_is_not_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    for command in ([], ["app"]):
        for port in ("-1", "0", "70000", "1e3", "eighty", "٣", "9" * 40):
            with suppress(SystemExit):  # a command gives the code back
                assert main([*command, f"--port={port}"]) == 2
            told = f"{port[:20]!r} is no port. Write a whole number from 1 to 65535, such as 8888."
            assert told in " ".join(capsys.readouterr().err.split())


def test_a_start_that_fails_names_the_log(tmp_path: Path) -> None:
    busy = socket.socket()
    busy.bind(("127.0.0.1", 0))
    busy.listen()
    port = busy.getsockname()[1]
    code = (
        "import sys; from pathlib import Path; from kit import launcher\n"
        "launcher.OPTIONS['ServerApp.port_retries'] = '0'\n"
        f"sys.exit(launcher.launch(Path({str(tmp_path)!r}), browser=False, port={port}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    busy.close()
    assert f"JupyterLab could not start. What it said is in {tmp_path / '.jupyter' / 'server.log'}." in done.stderr
    assert "already in use" in (tmp_path / ".jupyter" / "server.log").read_text(encoding="utf-8")
