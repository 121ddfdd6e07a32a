"""The environment a clone runs in: what it lacks, and how it is made.

A person has Python and git, clones the kit and types one command. This module then makes ``.venv`` beside
the kit, installs the packages named in ``pyproject.toml`` into it, and runs the command again in there.
It imports the standard library only, because it runs before anything else is installed.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from contextlib import ExitStack, contextmanager
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.errors import KitError, StoreError
from kit.file_lock import locked

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

#: Set while a command runs again in the environment made for it, so that it never does so twice.
AGAIN = "SHAKEWELL_RUNS_AGAIN"

#: In an environment while it is made: where it is still there, the making was killed.
UNFINISHED = "unfinished"

#: What an environment was made for, in it.
STAMP = "shakewell.json"

_SECONDS_PER_DOT = 2.0
#: How long another process that sets the same clone up is waited for. [s]
_WAIT_FOR_ANOTHER = 1800.0
_FULL = "The disk is full. Make room, a gigabyte say, and run the same command again; what is there already is kept."
_OFFLINE = (
    "This computer does not reach the internet, which is needed this once. Connect it and run the same command again; "
    "what is there already is kept. For a room without internet, 'python3 -m kit pack' on a connected computer "
    "collects all that is needed."
)
_UNREACHED = (
    "NewConnectionError|NameResolutionError|Temporary failure in name resolution|getaddrinfo failed|"
    "Network is unreachable|ConnectTimeout|nodename nor servname"
)
_REFUSED = "You may not write there. Put the kit into a folder of yours and run the same command there."
#: What the installer says -> what is to be done.
_CAUSES = (
    ("No space left on device|Disk quota exceeded", _FULL),
    (_UNREACHED, _OFFLINE),
    ("Permission denied|Access is denied", _REFUSED),
)
_NO_CAUSE = (
    "If this machine is not connected to the internet, connect it and run the same command again; what is there "
    "already is kept."
)


class SetUpError(KitError):
    """The kit's packages could not be put in place."""


def clone_folder() -> Path | None:
    """The folder of the clone this module lies in, or None where the kit was installed as a package."""
    folder = Path(__file__).resolve().parent.parent
    return folder if (folder / "pyproject.toml").is_file() else None


def missing_packages(clone: Path, extras: Iterable[str] = ()) -> list[str]:
    """The packages that ``pyproject.toml`` asks for and the running Python does not have."""
    project = tomllib.loads((clone / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = list(project["dependencies"])
    for extra in extras:
        asked += project["optional-dependencies"][extra]
    return [name for name in map(_name_of, asked) if not _is_installed(name)]


def ask_for_extra(extra: str) -> None:
    """Where the kit was installed as a package, refuse with the command to type if an extra's packages are missing.

    Raises
    ------
    SetUpError
        A package of the extra is not installed.
    """
    try:
        asked = metadata.requires("shakewell") or []
    except metadata.PackageNotFoundError:
        asked = []  # a clone that was never installed: its packages are looked for by missing_packages
    mine = [line.split(";")[0].strip() for line in asked if re.search(rf"""extra\s*==\s*['"]{extra}['"]""", line)]
    missing = [line for line in mine if not _is_installed(_name_of(line))]
    if missing:
        wanted = " ".join(f'"{line}"' for line in missing)
        command = f"{sys.executable} -m pip install {wanted}"
        msg = f"One thing more is needed for this. Type:\n    {command}\nand then the same again."
        raise SetUpError(msg)


def _name_of(requirement: str) -> str:
    return re.split(r"[^A-Za-z0-9._-]", requirement.strip(), maxsplit=1)[0]


def _is_installed(name: str) -> bool:
    try:
        metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return False
    return True


def python_of(environment: Path) -> Path:
    """The Python program of a virtual environment."""
    return environment / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def prepare(clone: Path, extras: Iterable[str] = ()) -> Path:
    """Make the clone's environment, or mend it where ``pyproject.toml`` has changed; return its Python.

    Raises
    ------
    SetUpError
        Python lacks its venv module, the packages could not be fetched, ``.venv`` is something else, or another
        process of this user sets the same clone up and does not end.
    """
    environment = clone / ".venv"
    wanted = {*extras}
    if _is_ready(clone, wanted):
        return python_of(environment)
    try:
        with _alone(environment):
            if not _is_ready(clone, wanted):  # still, after whoever was at it before
                _set_up(clone, wanted)
    except OSError as error:
        msg = (
            f"The environment could not be made in {environment}: {error.strerror or error}. Check that the disk has "
            "room and that you may write there, then run the same command again."
        )
        raise SetUpError(msg) from error
    return python_of(environment)


@contextmanager
def _alone(environment: Path) -> Iterator[None]:
    """Let one process set an environment up while the others that were started meanwhile wait for it."""
    with ExitStack() as held:
        try:
            held.enter_context(locked(environment, patience=0))
        except StoreError:
            _say("Another window is setting the kit up; this one waits for it.")
            try:
                held.enter_context(locked(environment, patience=_WAIT_FOR_ANOTHER))
            except StoreError as error:
                msg = (
                    f"Another program has been setting {environment} up for half an hour. Look what the other window "
                    "says, close it, and run the same command again."
                )
                raise SetUpError(msg) from error
        yield


def _is_ready(clone: Path, extras: set[str]) -> bool:
    environment = clone / ".venv"
    if (environment / UNFINISHED).is_file() or not python_of(environment).exists():
        return False
    known = _read_stamp(environment / STAMP)
    return known.items() >= _fingerprint(clone).items() and extras.issubset(known.get("extras", ()))


def _set_up(clone: Path, extras: set[str]) -> None:
    environment = clone / ".venv"
    if (environment / UNFINISHED).is_file():
        _say("The last set-up was broken off half-way, so it is done anew.")
        _clear(environment)
    stamp = environment / STAMP
    all_extras = sorted(extras.union(_read_stamp(stamp).get("extras", ())))
    _say("The kit needs some packages that are not here yet.")
    _say(f"They go into {environment} and nowhere else. This is done once and takes about a minute.")
    if not python_of(environment).exists():
        _make(environment)
    (environment / UNFINISHED).touch()
    _install(clone, python_of(environment), all_extras)
    stamp.write_text(json.dumps(_fingerprint(clone) | {"extras": all_extras}, indent=2) + "\n", encoding="utf-8")
    _say("The packages are in place.")


def _fingerprint(clone: Path) -> dict[str, Any]:
    """What an environment was made for: made for another, it is mended."""
    return {"clone": str(clone), "pyproject": _digest(clone / "pyproject.toml")}


def run_again(python: Path, arguments: Sequence[str]) -> int:
    """Run ``python`` with ``arguments`` in place of this process; return its exit code where that is not possible."""
    os.environ[AGAIN] = "1"
    command = [str(python), *arguments]
    sys.stdout.flush()
    if os.name == "posix":
        os.execv(command[0], command)
    return subprocess.call(command)


def _read_stamp(stamp: Path) -> dict[str, Any]:
    try:
        found = json.loads(stamp.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _digest(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest()


def _make(environment: Path) -> None:
    if environment.exists() and not (environment / "pyvenv.cfg").is_file():
        msg = f"{environment} is not a Python environment. Rename it and run the same command again."
        raise SetUpError(msg)
    if find_spec("venv") is None or find_spec("ensurepip") is None:
        msg = (
            "This Python cannot make an environment, because its venv module is not installed. "
            "On Debian, Ubuntu and their relatives type 'sudo apt install python3-venv'; "
            "then run the same command again."
        )
        raise SetUpError(msg)
    _clear(environment)
    environment.mkdir()
    (environment / UNFINISHED).touch()  # first, so that whatever is broken off from here on is known for it
    made = subprocess.run(
        [sys.executable, "-m", "venv", str(environment)],
        capture_output=True,
        text=True,
        check=False,
    )
    if made.returncode != 0:
        last = (made.stderr or made.stdout).strip().splitlines()[-1:]
        msg = (
            f"The environment could not be made in {environment}. Check that the disk has room and that you "
            f"may write there, then run the same command again. Python said: {' '.join(last)}"
        )
        raise SetUpError(msg)


def _install(clone: Path, python: Path, extras: Sequence[str]) -> None:
    settings = {**os.environ, "PIP_USER": "0", "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PIP_NO_INPUT": "1"}
    settings.setdefault("PIP_RETRIES", "2")  # offline, each more is a wait for every package
    if subprocess.run([python, "-m", "pip", "--version"], capture_output=True, check=False).returncode != 0:
        subprocess.run([python, "-m", "ensurepip", "--upgrade"], capture_output=True, check=False)
    what = f".[{','.join(extras)}]" if extras else "."
    log = clone / ".venv" / "install.log"
    with log.open("w", encoding="utf-8") as output:
        pip = subprocess.Popen(
            [python, "-m", "pip", "install", "--editable", what],
            cwd=clone, env=settings, stdin=subprocess.DEVNULL, stdout=output, stderr=subprocess.STDOUT,
        )  # fmt: skip
        code = _wait_with_dots(pip)
    (clone / ".venv" / UNFINISHED).unlink()  # the installer ended of itself: what it left is whole
    if code != 0:
        said = [line for line in log.read_text(encoding="utf-8", errors="replace").splitlines() if line.strip()]
        errors = [line.strip() for line in said if re.search(r"(ERROR|Error): ", line)] or said[-1:]
        cause = errors[0] if errors else "nothing"
        msg = (
            f"The packages could not be installed. {what_to_do(' '.join(said))}\nThe installer said: {cause}\n"
            f"All it said is in {log}."
        )
        raise SetUpError(msg)


def what_to_do(said: str) -> str:
    """What is to be done where the installer said that and gave up."""
    return next((words for sign, words in _CAUSES if re.search(sign, said)), _NO_CAUSE)


def _clear(environment: Path) -> None:
    if environment.exists():
        shutil.rmtree(environment)


def _wait_with_dots(process: subprocess.Popen[bytes]) -> int:
    try:
        while True:
            try:
                code = process.wait(timeout=_SECONDS_PER_DOT)
            except subprocess.TimeoutExpired:
                print(".", end="", flush=True)
            else:
                print(flush=True)
                return code
    finally:
        if process.poll() is None:
            process.terminate()
            process.wait()


def _say(sentence: str) -> None:
    print(sentence, flush=True)
