"""Python for browsers: Pyodide, as its npm package has it, fetched once or named by a path."""

from __future__ import annotations

import json
import os
import subprocess
import tarfile
from pathlib import Path

from kit.environment import SetUpError

#: What of the package a page needs.
FILES = ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm", "python_stdlib.zip", "pyodide-lock.json")


def version() -> str:
    """The one version that the kernel of the page works with."""
    from jupyterlite_pyodide_kernel.constants import PYODIDE_VERSION

    return str(PYODIDE_VERSION)


def runtime(named: Path | None, scratch: Path) -> Path:
    """A folder with :data:`FILES`.

    Parameters
    ----------
    named
        A folder that holds them, or the package as a file (``pyodide-….tgz``); None to have it fetched into the cache
        of Deno, a program that fetches packages of npm and comes with the extra.
    scratch
        Where the package is unpacked.

    Raises
    ------
    SetUpError
        It could not be fetched, or what was named is something else.
    """
    found = _fetched() if named is None else _unpacked(named, scratch) if named.is_file() else named
    missing = [name for name in FILES if not (found / name).is_file()]
    if missing:
        msg = (
            f"{named or found} is not Pyodide: it lacks {', '.join(missing)}. Name the npm package "
            f"pyodide-{version()}.tgz, or the folder that it unpacks to."
        )
        raise SetUpError(msg)
    made_for, wanted = _minor(found), _minor_of(version())
    if made_for and made_for != wanted:
        msg = f"{named or found} is Pyodide {made_for}, and the site needs {version()}. Name that one."
        raise SetUpError(msg)
    return found


def _unpacked(package: Path, scratch: Path) -> Path:
    try:
        with tarfile.open(package) as file:
            file.extractall(scratch, filter="data")
    except (tarfile.TarError, OSError) as error:
        msg = f"{package} cannot be read as a package of npm: {error}. Name the file pyodide-{version()}.tgz."
        raise SetUpError(msg) from error
    return scratch / "package"


def _minor(folder: Path) -> str:
    """The version that a folder says it is, without its last figure; empty where it does not say."""
    about = folder / "package.json"
    return _minor_of(json.loads(about.read_text(encoding="utf-8"))["version"]) if about.is_file() else ""


def _minor_of(text: str) -> str:
    return ".".join(text.split(".")[:2])


def _fetched() -> Path:
    """The package in Deno's cache, where it stays."""
    try:
        from deno import find_deno_bin

        _said(find_deno_bin(), "cache", "--no-config", f"npm:pyodide@{version()}")
        cache = json.loads(_said(find_deno_bin(), "info", "--json"))["npmCache"]
        return next(Path(cache).glob(f"*/pyodide/{version()}"))
    except (ImportError, OSError, ValueError, KeyError, StopIteration, subprocess.CalledProcessError) as error:
        msg = (
            f"Pyodide could not be fetched. This needs the internet once. Or fetch its npm package elsewhere "
            f"('npm pack pyodide@{version()}' writes it) and name the file: --pyodide pyodide-{version()}.tgz."
        )
        raise SetUpError(msg) from error


def _said(*command: str) -> str:
    settings = {"DENO_TLS_CA_STORE": "system,mozilla", **os.environ, "NO_COLOR": "1", "DENO_NO_UPDATE_CHECK": "1"}
    nothing = subprocess.DEVNULL
    return subprocess.run(command, env=settings, stdin=nothing, capture_output=True, text=True, check=True).stdout
