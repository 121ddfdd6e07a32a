"""Whether a log lies on a network folder, where the locks of a file cannot be relied on.

SQLite keeps two who write apart by the locks of the file system; network file systems often have none that hold
between two computers ("How To Corrupt An SQLite Database File", section 2.1, sqlite.org/howtocorrupt.html), and
write-ahead logging needs memory that all share, which only one computer has (sqlite.org/wal.html). So a log there is
kept with a rollback journal, as it is everywhere, and the maker is told.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

#: File systems that reach over a network, or into the computer around a virtual one; also with "fuse." before.
KINDS = frozenset({
    "9p", "afpfs", "afs", "beegfs", "ceph", "cifs", "davfs", "davfs2", "glusterfs", "gpfs", "gvfsd-fuse", "lustre",
    "ncpfs", "nfs", "nfs4", "ocfs2", "prl_fs", "rclone", "s3fs", "smb2", "smb3", "smbfs", "sshfs", "vboxsf", "virtiofs",
    "vmhgfs", "vmhgfs-fuse", "webdav",
})  # fmt: skip

_REMOTE = 4  # what Windows calls a drive of another computer
_ESCAPED = re.compile(r"\\([0-7]{3})")


def network_kind(path: Path) -> str:
    """What a network folder is called by the system ("nfs", "cifs" ...); empty for a disk of this computer's own."""
    try:
        whole = path.resolve()
        if sys.platform == "win32":
            return _of_windows(whole)
        kind = kind_in(whole, mounted())
    except OSError:
        return ""  # where nothing can be asked, nothing is claimed
    bare = kind.removeprefix("fuse.")
    return bare if bare in KINDS else ""


def kind_in(path: PurePath, table: Iterable[tuple[str, str]]) -> str:
    """The file system that a path lies on, by the places where file systems begin; a later one covers an earlier."""
    found, depth = "", -1
    for place, kind in table:
        here = PurePath(place)
        if len(here.parts) >= depth and (here == path or here in path.parents):
            found, depth = kind, len(here.parts)
    return found


def mounted() -> list[tuple[str, str]]:
    """Where each file system begins, and what it is."""
    if sys.platform == "darwin":
        said = subprocess.run(["/sbin/mount"], capture_output=True, text=True, check=False, timeout=5).stdout
        return macos_table(said)
    try:
        return linux_table(Path("/proc/self/mounts").read_text(encoding="utf-8", errors="surrogateescape"))
    except OSError:
        return []


def linux_table(text: str) -> list[tuple[str, str]]:
    """The table of Linux: device, place and file system, parted by blanks; a blank in a place stands as its code."""
    rows = [line.split(" ") for line in text.splitlines()]
    return [(_ESCAPED.sub(lambda code: chr(int(code[1], 8)), row[1]), row[2]) for row in rows if len(row) > 2]


def macos_table(text: str) -> list[tuple[str, str]]:
    """What ``mount`` prints on macOS: "//anna@server/lab on /Volumes/lab (smbfs, nodev, nosuid)"."""
    found = (re.fullmatch(r".+? on (/.*) \((\w+)[,)].*", line) for line in text.splitlines())
    return [(row[1], row[2]) for row in found if row]


def is_unc(path: PurePath) -> bool:
    """Whether a path of Windows names another computer: its drive is a server and a share."""
    drive = path.drive.upper()
    return drive.startswith("\\\\?\\UNC\\") or (drive.startswith("\\\\") and drive[2:4] not in {"?\\", ".\\"})


def _of_windows(path: Path) -> str:
    if is_unc(path):
        return "network share"
    import ctypes

    kind = getattr(ctypes, "windll").kernel32.GetDriveTypeW(path.drive + os.sep)  # noqa: B009 - there on Windows only
    return "network drive" if kind == _REMOTE else ""


def warning(kind: str) -> str:
    """What is said of a log on a network folder."""
    return (
        f"It lies on a network folder ({kind}), where the locks of a file may not hold between computers: let one "
        "computer record at a time, and make backups. Several at once need a shared log on PostgreSQL."
    )
