"""Start JupyterLab, or Jupyter Notebook, on a maker's folder, quiet and private.

Quiet: no news, no update checks, no build prompts, no questions. Private: it listens on this computer only,
behind a random key that never appears in the list of processes, and reads no settings but its own, which lie
in the folder ``.jupyter`` within the maker's folder.
"""

from __future__ import annotations

import json
import os
import secrets
import shutil
import signal
import socket
import stat
import sys
import urllib.error
import urllib.request
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from tempfile import gettempdir
from typing import TYPE_CHECKING, Any

from kit.environment import SetUpError, clone_folder
from kit.errors import StoreError
from kit.file_lock import locked
from kit.stored_stills import VARIABLE, put_in
from kit.workspace import START

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

#: Where the key is kept, so that an address that was noted opens tomorrow too; only the maker can read it.
KEY = "key"
KEY_BYTES = 24

#: The largest message from the page to a kernel: a large photo with room to spare. [bytes]
LARGEST_MESSAGE = 256 * 1024 * 1024

#: The server's switches, "class.trait" -> value as written on its command line (which is not used: see launch).
OPTIONS = {
    "ServerApp.ip": "127.0.0.1",
    "ServerApp.open_browser": "False",  # _announce opens it, when asked
    "ServerApp.terminals_enabled": "False",
    "LanguageServerManager.autodetect": "False",
    "KernelSpecManager.allowed_kernelspecs": "{'python3'}",
    # a photo goes to the kernel in one message; over the limit [bytes] the page loses its kernel without a word
    "ServerApp.tornado_settings": f"{{'websocket_max_message_size': {LARGEST_MESSAGE}}}",
}


@dataclass(frozen=True, slots=True)
class FrontEnd:
    """A page that shows notebooks.

    Attributes
    ----------
    name
        What a sentence calls it.
    module, application
        Where its server is, and the class of it.
    extension
        The one extension of the server that is loaded with it.
    home
        A page that it has and the others have not.
    page
        Where a notebook is, with room for its name.
    options
        Its own switches, as :data:`OPTIONS`.
    """

    name: str
    module: str
    application: str
    extension: str
    home: str
    page: str
    options: Mapping[str, str] = field(default_factory=dict)


#: The page that opens unless another is asked for: its name on the command line -> what it is.
DEFAULT = "lab"
FRONT_ENDS = {
    DEFAULT: FrontEnd(
        "JupyterLab", "jupyterlab.labapp", "LabApp", "jupyterlab", "/lab",
        "/lab/tree/{}?reset",  # without what was open last time
        {
            "LabApp.news_url": "None",
            "LabApp.check_for_updates_class": "jupyterlab.handlers.announcements.NeverCheckForUpdate",
            "LabApp.extension_manager": "readonly",
        },
    ),
    "notebook": FrontEnd(
        "Jupyter Notebook", "notebook.app", "JupyterNotebookApp", "notebook", "/tree", "/notebooks/{}"
    ),
}  # fmt: skip

#: What the page itself is told. What the other front ends put into JupyterLab's page has no server to ask here.
PAGE = {
    "buildAvailable": False,
    "buildCheck": False,
    "disabledExtensions": {
        "@jupyterlab/apputils-extension:announcements": True,
        "@jupyter-notebook/lab-extension": True,
        "@voila-dashboards/jupyterlab-preview": True,
    },
}

#: Extensions that Lab would load and cannot run: what belongs to a site in the browser. Each is hidden behind an empty
#: one of its name, for Lab takes the first that it finds, and leaves out what was not built.
HIDDEN = ("@jupyterlite/pyodide-kernel-extension",)

#: Defaults of Lab's settings, which a maker may change in Lab.
SETTINGS: dict[str, dict[str, str | bool]] = {
    "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False},
    # One message after the other, in the order in which a hand did it: kit/widgets/in_order.py.
    "@jupyterlab/apputils-extension:kernels-settings": {"commsOverSubshells": "disabled"},
}

# Jupyter takes these as orders from outside; the kit's own folder is to be the only voice.
_FOREIGN = ("JUPYTER_PATH", "JUPYTER_CONFIG_PATH", "JUPYTER_TOKEN", "JUPYTER_TOKEN_FILE", "JUPYTER_NO_CONFIG")


def screen_is_there() -> bool:
    """Whether a browser could show itself: always on Windows and macOS, with a display elsewhere."""
    if os.name == "nt" or sys.platform == "darwin":
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def launch(folder: Path, *, browser: bool = True, port: int = 8888, start: str = START, front: str = DEFAULT) -> int:
    """Open a front end on ``folder`` and stay until it is stopped; return the exit code.

    Parameters
    ----------
    folder
        Where the notebooks were laid.
    browser
        Whether to open the page in the default browser. The address is printed in any case.
    port
        The first port to try; a busy one makes way for the next.
    start
        The notebook that opens, within the folder.
    front
        Which of :data:`FRONT_ENDS`.

    Raises
    ------
    SetUpError
        The front end is not installed, or could not start.
    """
    own = folder / ".jupyter"
    end = FRONT_ENDS[front]
    page = end.page.format(start)
    with in_turn() as opened:
        with own_settings(own):
            address = running_address(own, page, end.home)
        if address:
            say_it_runs(end.name, address, browser=browser)
            return 0
        try:
            with own_settings(own):
                write_configuration(own)  # first, because JupyterLab looks for its folders while it is imported
            application = getattr(import_module(end.module), end.application)
        except ImportError as error:
            msg = f"{end.name} cannot be started: {error}. Install the kit again, with its packages."
            raise SetUpError(msg) from error
        with own_settings(own):
            key = own_key(own)
        options = {**OPTIONS, **_options_here(folder, port, end), "IdentityProvider.token": key}
        options[f"{end.application}.default_url"] = page
        try:
            # as arguments within this process: they outrank every settings file, and no process list shows them
            server = application.initialize_server(argv=[f"--{name}={value}" for name, value in options.items()])
            server.contents_manager.register_pre_save_hook(put_in)
            signal.signal(signal.SIGINT, lambda *_: _stop(server))  # Ctrl+C, without Jupyter's asking back
            # both run by the server's own loop, after it has opened its port
            server.io_loop.add_callback(opened)
            server.io_loop.add_callback(_announce, server, end.name, _with_key(page, key), browser=browser)
            server.start()
        except SystemExit as stopped:
            msg = f"{end.name} could not start. What it said is in {own / 'server.log'}."
            raise SetUpError(msg) from stopped
    print(f"{end.name} has stopped.", flush=True)
    return 0


@contextmanager
def in_turn() -> Iterator[Callable[[], None]]:
    """Let front ends that one user starts at the same moment open their ports one after the other.

    A server looks for a free port first and opens it later: two at once find the same one, and one of them cannot
    start; and two on one folder do not know of each other. What is given says that the port is open. Where there is
    no place for a lock, all go on at once.
    """
    whose = f"-{os.getuid()}" if os.name == "posix" else ""
    with ExitStack() as turn:
        with suppress(OSError, StoreError):
            turn.enter_context(locked(Path(gettempdir()) / f"shakewell-port{whose}"))
        yield turn.close


@contextmanager
def own_settings(own: Path) -> Iterator[None]:
    """Say in a sentence why the folder of the settings cannot be used.

    Raises
    ------
    SetUpError
        It belongs to another user, is a file, or its disk is full or can only be read.
    """
    try:
        yield
    except OSError as error:
        foreign = os.name == "posix" and own.exists() and own.stat().st_uid != os.geteuid()
        whose = "it belongs to another user of this computer" if foreign else (error.strerror or str(error)).lower()
        msg = (
            f"The settings in {own} cannot be used: {whose}. Name another folder to work in; or, if all of it is "
            "yours, remove that one: it holds no work, and is made anew."
        )
        raise SetUpError(msg) from error


def write_configuration(own: Path) -> None:
    """Write the kit's settings into ``own`` and point Jupyter and IPython to it, for this process and its children."""
    own.mkdir(exist_ok=True)
    own.chmod(0o700)
    _write_json(own / "config" / "labconfig" / "page_config.json", PAGE)
    _write_json(own / "application" / "overrides.json", SETTINGS)
    write_kernel(own / "data" / "kernels")
    for name in HIDDEN:
        empty = {"name": name, "version": "0", "jupyterlab": {}}
        _write_json(own / "data" / "labextensions" / name / "package.json", empty)
    (own / "server.log").write_text("", encoding="utf-8")
    shutil.rmtree(own / "stills", ignore_errors=True)  # their panels are gone
    for name in _FOREIGN:
        os.environ.pop(name, None)
    os.environ.update(
        JUPYTER_CONFIG_DIR=str(own / "config"),
        JUPYTER_DATA_DIR=str(own / "data"),
        JUPYTER_RUNTIME_DIR=str(_made(own / "runtime")),
        JUPYTER_PREFER_ENV_PATH="0",  # the kernel below comes before any other of its name
        JUPYTERLAB_SETTINGS_DIR=str(own / "settings"),
        **{VARIABLE: str(_made(own / "stills"))},
        JUPYTERLAB_WORKSPACES_DIR=str(own / "workspaces"),
        IPYTHONDIR=str(own / "ipython"),
    )


def write_kernel(folder: Path) -> None:
    """Describe in ``folder`` the kernel "python3": the very Python that runs now.

    In a clone it is told where the kit lies, so that a notebook finds it also where it was not installed.
    """
    from ipykernel.kernelspec import get_kernel_dict

    description: dict[str, object] = get_kernel_dict()
    if (clone := clone_folder()) is not None:
        paths = [str(clone), *filter(None, [os.environ.get("PYTHONPATH")])]
        description["env"] = {"PYTHONPATH": os.pathsep.join(paths)}
    shutil.rmtree(folder / "python3", ignore_errors=True)
    _write_json(folder / "python3" / "kernel.json", description)


def own_key(own: Path) -> str:
    """The key of a folder's address: the one of yesterday, or a new one where there is none that only she can read."""
    file = own / KEY
    try:
        key = file.read_text(encoding="ascii").strip() if _only_mine(file) else ""
        if len(key) == 2 * KEY_BYTES and not set(key) - set("0123456789abcdef"):
            return key
    except (OSError, ValueError):
        pass  # none yet, or no key: a new one is made
    key = secrets.token_hex(KEY_BYTES)
    file.unlink(missing_ok=True)
    with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="ascii") as made:
        made.write(key)
    return key


def _only_mine(file: Path) -> bool:
    """Whether a file is no link, is this user's own, and nobody else may read it (where rights are those of POSIX)."""
    about = file.lstat()
    if not stat.S_ISREG(about.st_mode):
        return False
    return os.name != "posix" or (about.st_uid == os.geteuid() and not about.st_mode & 0o077)


def running_address(own: Path, page: str, home: str, files: str = "jpserver-*.json") -> str | None:
    """The address of what is already open with the settings in ``own`` and has the page ``home``, if there is one."""
    for file in sorted((own / "runtime").glob(files)):
        try:
            about = json.loads(file.read_text(encoding="utf-8"))
            server, base = f"http://127.0.0.1:{int(about['port'])}", str(about.get("base_url", "/")).rstrip("/")
            question = urllib.request.Request(
                f"{server}{base}{home}", headers={"Authorization": f"token {about['token']}"}
            )
            direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
            with direct.open(question, timeout=2):
                return f"{server}{base}{_with_key(page, about['token'])}"
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            continue  # left behind by one that was killed, or another front end
    return None


def _with_key(page: str, key: str) -> str:
    return f"{page}{'&' if '?' in page else '?'}token={key}"


def log_settings(own: Path, *names: str) -> dict[str, Any]:
    """What the applications of these names say goes into a file, not onto the maker's screen."""
    return {
        "handlers": {
            "file": {
                "class": "logging.FileHandler", "filename": str(own / "server.log"), "encoding": "utf-8",
                "formatter": "console", "level": "INFO",
            }
        },
        "loggers": {name: {"handlers": ["file"]} for name in names},
    }  # fmt: skip


def _options_here(folder: Path, port: int, end: FrontEnd) -> dict[str, str]:
    own = folder / ".jupyter"
    loaded = {**dict.fromkeys(_installed_extensions(), False), end.extension: True, "jupyter_lsp": True}
    options = {
        "ServerApp.root_dir": str(folder),
        "ServerApp.port": str(port),
        "ServerApp.allow_root": str(hasattr(os, "geteuid") and os.geteuid() == 0),
        "ServerApp.jpserver_extensions": repr(loaded),
        f"{end.application}.app_settings_dir": str(own / "application"),
        "Application.logging_config": repr(log_settings(own, "ServerApp", end.application)),
        **end.options,
    }
    if sys.platform.startswith("linux") and sockets_fit(own / "runtime"):
        options["KernelManager.transport"] = "ipc"
    return options


def _installed_extensions() -> list[str]:
    """Every extension of the server that some package wants to have loaded; nothing is but what is named."""
    from jupyter_core.paths import jupyter_config_path
    from jupyter_server.extension.config import ExtensionConfigManager

    found = ExtensionConfigManager(read_config_path=jupyter_config_path()).get_jpserver_extensions()  # type: ignore[no-untyped-call]
    return sorted({*found, "jupyter_server_terminals"})


def sockets_fit(runtime: Path) -> bool:
    """Whether kernels can talk through socket files in ``runtime``: its path is short enough, its disk has them."""
    trial = runtime / f"kernel-{'0' * 36}-ipc-99"
    try:
        with socket.socket(socket.AF_UNIX) as ear:
            ear.bind(str(trial))
    except OSError:
        return False
    trial.unlink()
    return True


def say_it_runs(name: str, address: str, *, browser: bool) -> None:
    """Say that a front end is open already, and show it."""
    print(f"{name} is already open on this folder:\n    {address}", flush=True)
    if browser:
        show(address)


def announce(name: str, address: str, *, browser: bool) -> None:
    """Say where a front end is open, and how it ends."""
    print(f"{name} is open at this address:", flush=True)
    print(f"    {address}", flush=True)
    if browser:
        print("If no page appears, copy the address into your browser.", flush=True)
    print(
        "Keep this window open while you work; Ctrl+C here ends it. Your files stay in the folder.",
        flush=True,
    )


def _announce(server: Any, name: str, page: str, *, browser: bool) -> None:
    if browser:
        server.launch_browser()
    announce(name, f"http://127.0.0.1:{server.port}{server.base_url.rstrip('/')}{page}", browser=browser)


def _stop(server: Any) -> None:
    signal.signal(signal.SIGINT, signal.default_int_handler)  # a second Ctrl+C does not wait
    server.stop(from_signal=True)


def show(address: str) -> None:
    """Open the page in the default browser."""
    import webbrowser

    webbrowser.open(address)


def _made(folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _write_json(path: Path, content: object) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")
