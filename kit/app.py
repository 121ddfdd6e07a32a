"""Open a maker's notebook as an app: Voilà runs its cells and shows the panels, without code.

As private as the kit's JupyterLab: on this computer only, behind the folder's key, with settings of its own. Voilà's
own page would fetch style sheets from another computer; ours (``app.html.j2``) fetches nothing.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import tempfile
from pathlib import Path
from typing import Any
from urllib.parse import quote

from kit.environment import SetUpError
from kit.launcher import (
    LARGEST_MESSAGE,
    announce,
    in_turn,
    log_settings,
    own_key,
    own_settings,
    running_address,
    say_it_runs,
    show,
    sockets_fit,
    write_configuration,
)
from kit.workspace import START

NAME = "The app"
THEMES = ("light", "dark")

#: Voilà's page of ours, and the one that it changes.
TEMPLATE, BASE = "shakewell", "lab"

#: What Voilà's parts are told, class -> trait -> value.
OPTIONS: dict[str, dict[str, Any]] = {
    "VoilaConfiguration": {
        "template": TEMPLATE,
        "allow_template_override": "NO",
        "show_tracebacks": True,  # the last line is a sentence of the kit's; without it there is only "an error"
        # nothing is loaded into the page but what draws panels and charts, whatever else is installed
        "extension_allowlist": [
            "@jupyter-widgets/jupyterlab-manager",
            "@voila-dashboards/widgets-manager8",
            "anywidget",
            "jupyterlab-plotly",
        ],
    },
    # a page that was closed ends its kernel; one that vanished leaves it to this. [s]
    "MappingKernelManager": {"cull_idle_timeout": 4 * 3600, "cull_interval": 600},
    "KernelSpecManager": {"allowed_kernelspecs": {"python3"}},
    "TagRemovePreprocessor": {"enabled": True, "remove_cell_tags": {"not-in-app"}},
}

#: What the server is told: it answers only to this computer's own names, so that no page from elsewhere reaches it.
SERVER = {
    "allow_remote_access": False,
    "local_hostnames": ["localhost", "127.0.0.1"],
    "websocket_max_message_size": LARGEST_MESSAGE,
}


def launch_app(
    folder: Path, *, browser: bool = True, port: int = 8866, start: str = START, theme: str = THEMES[0]
) -> int:
    """Open the notebook ``start`` of ``folder`` as an app and stay until it is stopped; return the exit code.

    Raises
    ------
    SetUpError
        Voilà is not installed, or could not start.
    """
    own = folder / ".jupyter"
    page = f"/voila/render/{quote(start)}?theme={theme}"
    with in_turn() as opened:
        with own_settings(own):
            address = running_address(own, page, "/voila/api/contents/", "app-*.json")
        if address:
            say_it_runs(NAME, address, browser=browser)
            return 0
        try:
            with own_settings(own):
                write_configuration(own)  # first, because Jupyter looks for its folders while it is imported
                write_template(own / "data" / "voila" / "templates" / TEMPLATE)
                own_key(own)
            app = _voila(folder, port, theme)
        except ImportError as error:
            msg = f"{NAME} cannot be started: {error}. Install the kit again, with the packages of its extra 'app'."
            raise SetUpError(msg) from error
        from tornado.ioloop import IOLoop

        loop = IOLoop.current()
        signal.signal(signal.SIGINT, lambda *_: loop.add_callback_from_signal(loop.stop))
        loop.add_callback(_opened, app, own, f"{page}&token={app.token}", browser=browser)  # when it has its port
        loop.add_callback(opened)
        try:
            app.start()
        except SystemExit as stopped:
            msg = f"{NAME} could not start. What it said is in {own / 'server.log'}."
            raise SetUpError(msg) from stopped
        finally:
            _note(own).unlink(missing_ok=True)
    print(f"{NAME} has stopped.", flush=True)
    return 0


def write_template(folder: Path) -> None:
    """Lay the page into the folder where Voilà looks for it."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "conf.json").write_text(json.dumps({"base_template": BASE}), encoding="utf-8")
    page = Path(__file__).with_name("app.html.j2").read_text(encoding="utf-8")
    (folder / "index.html.j2").write_text(page, encoding="utf-8")


def options_here(own: Path, theme: str) -> dict[str, dict[str, Any]]:
    """:data:`OPTIONS` for one folder."""
    options = {name: dict(traits) for name, traits in OPTIONS.items()}
    options["VoilaConfiguration"]["theme"] = theme
    if sys.platform.startswith("linux") and _sockets_fit_deeper(own / "runtime"):
        options["KernelManager"] = {"transport": "ipc"}
    return options


def _sockets_fit_deeper(runtime: Path) -> bool:
    """Whether kernels can talk through socket files in the folder that Voilà makes in ``runtime``."""
    with tempfile.TemporaryDirectory(prefix="voila_", dir=runtime) as folder:
        return sockets_fit(Path(folder))


def _voila(folder: Path, port: int, theme: str) -> Any:
    from traitlets.config import Config
    from voila.app import Voila  # type: ignore[import-untyped]

    own = folder / ".jupyter"
    # set within this process: no list of processes shows the key, and no settings file but our own is read
    app = Voila(
        config=Config(options_here(own, theme)),
        config_file_paths=[str(own / "config")],
        connection_dir_root=str(own / "runtime"),
        ip="127.0.0.1",
        logging_config=log_settings(own, "Voila"),
        open_browser=False,
        port=port,
        root_dir=str(folder),
        token=own_key(own),
        tornado_settings=SERVER,
    )
    app.initialize([])
    return app


def _opened(app: Any, own: Path, page: str, *, browser: bool) -> None:
    address = f"http://127.0.0.1:{app.port}{page}"
    with os.fdopen(os.open(_note(own), os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as note:
        json.dump({"port": app.port, "token": app.token}, note)
    if browser:
        show(address)
    announce(NAME, address, browser=browser)
    print("Save before you close the page: each page begins anew from what is on the disk.", flush=True)


def _note(own: Path) -> Path:
    """Where it is noted for a second start that this one runs."""
    return own / "runtime" / f"app-{os.getpid()}.json"
