"""Collect all that an installation needs into one folder, for a room without the internet.

The folder holds the kit's own wheel, the wheels of every package that it needs in the versions of the environment
that runs here, a list of them with their hashes, and a text that says how to install from it.
"""

from __future__ import annotations

import hashlib
import platform
import re
import subprocess
import sys
import zipfile
from dataclasses import dataclass, field
from email.parser import HeaderParser
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from kit.environment import SetUpError, clone_folder

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

KIT = "shakewell"
WHEELS, LIST, TEXT = "wheels", "requirements.txt", "INSTALL.txt"

#: Plain names of platforms -> the tags of wheels that run there, and what a package asks of its surroundings.
PLATFORMS: dict[str, tuple[tuple[str, ...], dict[str, str]]] = {
    "windows": (("win_amd64",), {
        "os_name": "nt", "sys_platform": "win32", "platform_system": "Windows", "platform_machine": "AMD64",
    }),
    "macos-apple": (("macosx_14_0_arm64",), {
        "os_name": "posix", "sys_platform": "darwin", "platform_system": "Darwin", "platform_machine": "arm64",
    }),
    "macos-intel": (("macosx_14_0_x86_64",), {
        "os_name": "posix", "sys_platform": "darwin", "platform_system": "Darwin", "platform_machine": "x86_64",
    }),
    "linux": ((*(f"manylinux_2_{minor}_x86_64" for minor in range(28, 4, -1)), "manylinux2014_x86_64"), {
        "os_name": "posix", "sys_platform": "linux", "platform_system": "Linux", "platform_machine": "x86_64",
    }),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Target:
    """The computers that the folder is for; those like this one where nothing is said."""

    platform: str = ""
    python: str = ""

    @property
    def for_pip(self) -> list[str]:
        """How pip is told."""
        said = ["--only-binary", ":all:"]
        for tag in PLATFORMS[self.platform][0] if self.platform else ():
            said += ["--platform", tag]
        if self.python or self.platform:
            said += ["--implementation", "cp", "--python-version", self.version]
        return said

    @property
    def version(self) -> str:
        """Its Python, as "3.12"."""
        return self.python or ".".join(map(str, sys.version_info[:2]))

    @property
    def surroundings(self) -> dict[str, str]:
        """What a package's conditions are held against."""
        from packaging.markers import default_environment

        own = {name: str(value) for name, value in default_environment().items()}
        there = PLATFORMS[self.platform][1] if self.platform else {}
        full = own["python_full_version"] if self.version == own["python_version"] else f"{self.version}.0"
        return {**own, **there, "python_version": self.version, "python_full_version": full}

    @property
    def words(self) -> str:
        """The same in words."""
        return f"{self.platform or f'{platform.system()} {platform.machine()}'} with Python {self.version}"


@dataclass(frozen=True, slots=True)
class Packed:
    """What was collected."""

    folder: Path
    wheels: list[Path] = field(default_factory=list)

    @property
    def sentence(self) -> str:
        """How much it is, and where to read on."""
        size = sum(wheel.stat().st_size for wheel in self.wheels) / 1e6
        return (
            f"{self.folder} holds {len(self.wheels)} packages ({size:.0f} MB). Copy the folder as it is; "
            f"{TEXT} in it says how to install from it."
        )


def pack(folder: Path, target: Target, extras: Sequence[str] = (), given: Path | None = None) -> Packed:
    """Collect everything into ``folder``, which must be new or empty.

    Raises
    ------
    SetUpError
        The folder holds something, the kit's wheel cannot be made, or a package could not be fetched.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        msg = f"{folder} holds something already, and nothing in it was changed. Name a new folder."
        raise SetUpError(msg)
    wheels = folder / WHEELS
    wheels.mkdir(parents=True)
    mine = own_wheel(wheels, given)
    named = f"{mine}[{','.join(extras)}]" if extras else str(mine)
    with TemporaryDirectory() as scratch:
        held = Path(scratch) / "held.txt"  # to the versions that run here
        held.write_text("".join(f"{name}=={version}\n" for name, version in _here().items()), encoding="utf-8")
        fetch = ["download", "--dest", str(wheels), "--constraint", str(held), *target.for_pip]
        _pip(*fetch, named, what="The packages could not be fetched")
        # pip asks what this computer needs; what only the other ones need is asked for here
        asked: set[str] = set()
        while new := set(_missing(wheels, extras, target)) - asked:
            _pip(*fetch, "--no-deps", *sorted(new), what="A package for the other computers could not be fetched")
            asked |= new
    needed = _needed(wheels, extras, target)[0]
    for wheel in sorted(wheels.iterdir()):
        if _name(wheel) not in needed:
            wheel.unlink()
    packed = Packed(folder, sorted(wheels.iterdir()))
    (folder / LIST).write_text(_list(packed.wheels, extras), encoding="utf-8")
    (folder / TEXT).write_text(text(target), encoding="utf-8")
    return packed


def own_wheel(wheels: Path, given: Path | None) -> Path:
    """The kit's own wheel, built from the clone or as it was given, laid among the others.

    Raises
    ------
    SetUpError
        It cannot be built or read, or what was given is another file.
    """
    clone = clone_folder()
    if given is not None:
        made = wheels / given.name
        try:
            made.write_bytes(given.read_bytes())
        except OSError as error:
            msg = f"{given} cannot be read: {error.strerror or error}. Name the kit's own wheel, {KIT}-….whl."
            raise SetUpError(msg) from error
    elif clone is not None:
        alone = ["--no-build-isolation"] if find_spec("hatchling") else []
        _pip("wheel", "--no-deps", *alone, "--wheel-dir", str(wheels), str(clone), what="The kit could not be built")
        (made,) = wheels.glob(f"{KIT}-*.whl")
    else:
        msg = f"The kit was installed from a wheel, {KIT}-….whl. Say where that file lies: --wheel FILE."
        raise SetUpError(msg)
    if not zipfile.is_zipfile(made) or _name(made) != KIT:
        msg = f"{made.name} is not the kit's own wheel. Name the file {KIT}-….whl."
        raise SetUpError(msg)
    return made


def _here() -> dict[str, str]:
    """The packages of the running environment with their versions, but for the kit."""
    found = {plain_name(package.metadata["Name"]): package.version for package in metadata.distributions()}
    return {name: version for name, version in sorted(found.items()) if name != KIT and "+" not in version}


def _pip(*arguments: str, what: str) -> None:
    if find_spec("pip") is None:
        subprocess.run([sys.executable, "-m", "ensurepip", "--upgrade"], capture_output=True, check=False)
    command = [sys.executable, "-m", "pip", "--no-input", "--disable-pip-version-check", *arguments]
    done = subprocess.run(command, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)
    if done.returncode != 0:
        said = [line.strip() for line in done.stderr.splitlines() if line.strip()]
        errors = [line for line in said if line.startswith("ERROR:")] or said[-1:] or ["nothing"]
        # of which index it was asked is nobody's business but this computer's
        cause = re.sub(r"\w+://\S+", "…", errors[-1])
        msg = f"{what}. This needs the internet once. The installer said: {cause}"
        raise SetUpError(msg)


def _missing(wheels: Path, extras: Sequence[str], target: Target) -> list[str]:
    """What the other computers need and was not fetched yet, as requirements."""
    return _needed(wheels, extras, target)[1]


def _needed(wheels: Path, extras: Sequence[str], target: Target) -> tuple[set[str], list[str]]:
    """The packages that the kit needs there, and the requirements among them that no wheel here meets."""
    from packaging.requirements import Requirement

    there = {_name(wheel): _asks(wheel) for wheel in wheels.glob("*.whl")}
    needed: set[str] = set()
    missing: list[str] = []
    looked: set[tuple[str, str]] = set()
    to_look = [(KIT, extra) for extra in ("", *extras)]
    while to_look:
        name, extra = to_look.pop()
        if (name, extra) in looked:
            continue
        looked.add((name, extra))
        needed.add(name)
        for line in there.get(name, ()):
            asked = Requirement(line)
            if asked.marker is not None and not asked.marker.evaluate({**target.surroundings, "extra": extra}):
                continue
            wanted = plain_name(asked.name)
            if wanted not in there:
                missing.append(f"{wanted}{asked.specifier}")
            to_look += [(wanted, one) for one in ("", *asked.extras)]
    return needed, sorted({*missing})


def _asks(wheel: Path) -> list[str]:
    """What a wheel says that it needs."""
    with zipfile.ZipFile(wheel) as file:
        (about,) = (name for name in file.namelist() if re.fullmatch(r"[^/]+\.dist-info/METADATA", name))
        said = HeaderParser().parsestr(file.read(about).decode("utf-8"))
    return list(said.get_all("Requires-Dist") or ())


def _list(wheels: Iterable[Path], extras: Sequence[str]) -> str:
    """Every package with its version and the hash of its wheel, as pip reads it."""
    lines = []
    for wheel in wheels:
        name, version = _name(wheel), wheel.name.split("-")[1]
        named = f"{name}[{','.join(extras)}]" if name == KIT and extras else name
        lines.append(f"{named}=={version} --hash=sha256:{hashlib.sha256(wheel.read_bytes()).hexdigest()}\n")
    return "".join(lines)


def text(target: Target) -> str:
    """How to install from the folder, on the computers that it is for."""
    install = f"-m pip install --no-index --find-links {WHEELS} --require-hashes -r {LIST}"
    if target.surroundings["os_name"] == "nt":
        lines = (
            f'py -{target.version} -m venv "%USERPROFILE%\\kit"',
            f'"%USERPROFILE%\\kit\\Scripts\\python" {install}',
            '"%USERPROFILE%\\kit\\Scripts\\shakewell" "%USERPROFILE%\\my products"',
        )
    else:
        lines = (
            f"python{target.version} -m venv ~/kit",
            f"~/kit/bin/python {install}",
            "~/kit/bin/shakewell ~/my-products",
        )
    return f"""\
How to install the kit without the internet

This folder is for {target.words}. It may lie anywhere: on a stick, on a shared drive.
Open a terminal in this folder (on Windows: the Command Prompt) and type, line by line:

    {lines[0]}
    {lines[1]}
    {lines[2]}

The first line makes a place for the kit, the second installs it there from this folder alone, the third lays the
lessons into a folder of yours and opens them; it is the only one to type from then on. A file of this folder that was
damaged on the way is refused, and named. Nothing is fetched from elsewhere, then or later.
"""


def _name(wheel: Path) -> str:
    return plain_name(wheel.name.split("-")[0])


def plain_name(name: str) -> str:
    """A package's name as all of its spellings have it: "Jinja2", "jinja2"."""
    return re.sub(r"[-_.]+", "-", name).lower()
