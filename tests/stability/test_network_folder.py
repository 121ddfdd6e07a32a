"""A log on a network folder is noticed, told, and kept without the memory that only one computer can share."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING

import pytest

from kit import StabilityPanel
from kit.commands import run
from kit.errors import StoreError
from kit.stability.log import network
from kit.stability.log.store import StabilityLog
from kit.stability.log.verify import verify

if TYPE_CHECKING:
    from kit.stability.study import Study

LINUX = r"""/dev/sda1 / ext4 rw,relatime 0 0
proc /proc proc rw 0 0
server:/home /home nfs4 rw,vers=4.2 0 0
//server/lab /mnt/lab\040share cifs rw 0 0
anna@server: /home/anna/far fuse.sshfs rw 0 0
/dev/sdb1 /home/anna/far/stick vfat rw 0 0
"""
MACOS = """/dev/disk3s1s1 on / (apfs, sealed, local, read-only, journaled)
//anna@server/lab on /Volumes/lab (share) (smbfs, nodev, nosuid, mounted by anna)
server:/home on /Volumes/home (nfs, nodev)
"""


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/tmp/log.db", "ext4"),
        ("/home/ada/log.db", "nfs4"),
        ("/homes/ada/log.db", "ext4"),
        ("/mnt/lab share/log.db", "cifs"),
        ("/home/anna/far/log.db", "fuse.sshfs"),
        ("/home/anna/far/stick/log.db", "vfat"),
    ],
)
def test_the_table_of_linux_is_read(path: str, kind: str) -> None:
    assert network.kind_in(PurePosixPath(path), network.linux_table(LINUX)) == kind


def test_the_last_of_two_in_one_place_is_what_lies_there() -> None:
    table = network.linux_table("a /home ext4 rw 0 0\nb /home nfs rw 0 0\n")
    assert network.kind_in(PurePosixPath("/home/log.db"), table) == "nfs"


def test_the_table_of_macos_is_read() -> None:
    table = network.macos_table(MACOS)
    assert network.kind_in(PurePosixPath("/Volumes/lab (share)/log.db"), table) == "smbfs"
    assert network.kind_in(PurePosixPath("/Volumes/home/log.db"), table) == "nfs"
    assert network.kind_in(PurePosixPath("/Users/ada/log.db"), table) == "apfs"


@pytest.mark.parametrize(
    ("path", "far"),
    [
        (r"\\server\share\log.db", True),
        (r"\\?\UNC\server\share\log.db", True),
        (r"\\?\C:\lab\log.db", False),
        (r"C:\lab\log.db", False),
    ],
)
def test_a_path_of_windows_to_another_computer(path: str, far: bool) -> None:
    assert network.is_unc(PureWindowsPath(path)) is far


@pytest.fixture
def far(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that is on a network, as the table of the system has it."""
    folder = tmp_path / "far"
    folder.mkdir()
    monkeypatch.setattr(network, "mounted", lambda: [("/", "ext4"), (str(folder.resolve()), "nfs4")])
    monkeypatch.setattr("kit.stability.log.network.sys.platform", "linux")
    return folder


def test_only_the_network_folder_is_one(far: Path) -> None:
    assert network.network_kind(far / "log.db") == "nfs4"
    assert network.network_kind(far.parent / "log.db") == ""


def test_nothing_is_claimed_where_nothing_can_be_asked(far: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(network, "mounted", list)
    assert network.network_kind(far / "log.db") == ""


def test_panel_and_verify_say_so(far: Path, capsys: pytest.CaptureFixture[str]) -> None:
    panel = StabilityPanel(far / "stability_log.db")
    assert "network folder (nfs4)" in panel.subtitle
    assert "one computer record at a time" in panel.subtitle
    panel.bench.log.close()
    assert verify(far / "stability_log.db").network == "nfs4"
    capsys.readouterr()
    assert run("verify", [str(far / "stability_log.db")]) == 0
    said = capsys.readouterr()
    assert "no damage found.\nIt lies on a network folder (nfs4)" in said.out
    assert run("verify", [str(_log(far.parent / "near.db"))]) == 0
    assert "network" not in capsys.readouterr().out


def _log(path: Path) -> Path:
    StabilityLog.open(path).close()
    return path


def test_a_rollback_journal_is_used_there(far: Path) -> None:
    with StabilityLog.open(far / "log.db") as log:
        ask = log._backend.write
        assert ask(lambda connection: connection.exec_driver_sql("PRAGMA journal_mode").scalar()) == "delete"
        assert ask(lambda connection: connection.exec_driver_sql("PRAGMA locking_mode").scalar()) == "normal"


def _older(path: Path) -> Path:
    """A log of an older kit with one reading in the second file, and no memory that can be shared beside it."""
    made = path.with_name("made.db")
    with closing(sqlite3.connect(made)) as connection:
        connection.executescript((Path(__file__).parent / "version_2.sql").read_text(encoding="utf-8"))
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA wal_autocheckpoint = 0")
        connection.execute(
            "INSERT INTO observations (study_id, batch, condition, time_point, attribute, value, number, observed_on, "
            "recorded_at) VALUES (1, 'B', 'kept', 'start', 'ph', '5.2', 5.2, '2026-01-13', '2026-01-13T12:00:00+00:00')"
        )
        connection.commit()
        for ending in ("", "-wal"):
            shutil.copy(f"{made}{ending}", f"{path}{ending}")
    path.with_name(f"{path.name}-shm").mkdir()
    return path


def test_an_older_log_is_converted_there_without_loss(far: Path) -> None:
    path = _older(far / "old.db")
    with StabilityLog.open(path) as log:
        assert [row.value for row in log.observations(1)][-1] == "5.2"
        assert len(log.observations(1)) == 6
        study: Study = log.study(1)
        mode = log._backend.write(lambda connection: connection.exec_driver_sql("PRAGMA journal_mode").scalar())
        assert (study.id, mode) == (1, "delete")
        with StabilityLog.open(path) as second:  # the lock was let go of
            assert len(second.observations(1)) == 6
    assert not path.with_name("old.db-wal").exists()


def test_an_older_log_can_be_looked_through_there(far: Path) -> None:
    (told, *_) = verify(_older(far / "old.db")).findings
    assert "is of layout 2" in told.sentence


def test_without_noticing_it_could_not_be_opened(far: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = _older(far / "old.db")
    monkeypatch.setattr(network, "mounted", list)
    with pytest.raises(StoreError):
        StabilityLog.open(path)
