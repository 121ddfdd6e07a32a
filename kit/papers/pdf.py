"""Print a paper into a PDF with the browser at hand; where there is none, the HTML prints from any browser."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

from kit.errors import KitError

#: Names a browser of the Chromium family is started by; the one without windows is the quickest.
NAMES = (
    "chromium-headless-shell", "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome",
    "microsoft-edge", "microsoft-edge-stable", "msedge",
)  # fmt: skip
#: Where such a browser lies on systems that do not put it on the path.
PLACES = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
)
#: Names the browser's program where it cannot be found by itself.
BROWSER = "SHAKEWELL_CHROMIUM"
#: A paper is printed within a second or two; a browser that takes so long is stuck. [s]
TIME_LIMIT = 60.0
#: A paper asks nothing of any network, and the browser is kept from asking on its own account.
_FLAGS = (
    "--headless", "--disable-gpu", "--no-first-run", "--no-default-browser-check", "--disable-extensions",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-quic",
    "--proxy-server=127.0.0.1:9", "--proxy-bypass-list=<-loopback>", "--no-pdf-header-footer",
)  # fmt: skip

INSTEAD = "The HTML is there: open it in any browser and print it into a PDF from there."


class PrintError(KitError):
    """No PDF could be made; the HTML of the paper is not touched by that."""


def find_browser() -> str | None:
    """The program of a browser of the Chromium family; None where there is none.

    Raises
    ------
    PrintError
        The browser named in SHAKEWELL_CHROMIUM is not there.
    """
    named = os.environ.get(BROWSER, "").strip()
    if named:
        if found := shutil.which(named):
            return found
        msg = f"{BROWSER} names {named}, and there is no such program. {INSTEAD}"
        raise PrintError(msg)
    on_path = next(filter(None, map(shutil.which, NAMES)), None)
    return on_path or next((place for place in PLACES if Path(place).is_file()), None)


def print_pdf(html: str, *, browser: str | None = None, limit: float = TIME_LIMIT) -> bytes:
    """A paper as PDF.

    The page is read from a file in a folder of its own, with a browser profile that is thrown away afterwards.

    Parameters
    ----------
    browser
        Its program; found by itself if not given.
    limit
        How long it may take. [s]

    Raises
    ------
    PrintError
        There is no browser, it does not start, takes too long or prints nothing.
    """
    program = browser or find_browser()
    if program is None:
        msg = (
            "There is no browser here that prints a PDF. Install Chromium, Chrome or Edge, or name its program in "
            f"{BROWSER}. {INSTEAD}"
        )
        raise PrintError(msg)
    with tempfile.TemporaryDirectory(prefix="shakewell-", ignore_cleanup_errors=True) as folder:
        page, pdf = Path(folder, "paper.html"), Path(folder, "paper.pdf")
        page.write_text(html, encoding="utf-8", newline="")
        command = [program, *_FLAGS, f"--user-data-dir={Path(folder, 'profile')}", f"--print-to-pdf={pdf}"]
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            command.append("--no-sandbox")  # the browser refuses to start for root with one
        said = _run([*command, page.as_uri()], limit)
        data = pdf.read_bytes() if pdf.is_file() else b""
    if not data.startswith(b"%PDF-"):
        last = said.strip().splitlines()[-1:] or ["nothing"]
        msg = f"The browser printed no PDF. It said: {last[0][:200]} {INSTEAD}"
        raise PrintError(msg)
    return data


def _run(command: list[str], limit: float) -> str:
    """Run the browser; on time-out end it with all it started, and nothing else."""
    try:
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            start_new_session=sys.platform != "win32",
        )
    except OSError as error:
        msg = f"The browser could not be started ({error.strerror or error}). {INSTEAD}"
        raise PrintError(msg) from error
    try:
        _, said = process.communicate(timeout=limit)
    except subprocess.TimeoutExpired as error:
        msg = f"The browser took longer than {limit:g} s to print and was stopped. {INSTEAD}"
        raise PrintError(msg) from error
    finally:
        _end(process)
    return said.decode("utf-8", "replace")


def _end(process: subprocess.Popen[bytes]) -> None:
    if process.poll() is None:
        with suppress(OSError):
            if sys.platform != "win32":
                os.killpg(process.pid, signal.SIGKILL)
            else:
                process.kill()
        with suppress(subprocess.TimeoutExpired):
            process.communicate(timeout=5)
