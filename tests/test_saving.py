"""Saving: all of the new file or all of the old one, nothing passed over unseen, and the last ten taken back."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from kit import file_lock
from kit.errors import ChangedOnDiskError, KitError, StoreError
from kit.file_lock import locked
from kit.saving import (
    FOLDER,
    KEPT,
    Seen,
    earlier_saves,
    rewrite,
    save_bytes,
    save_text,
    save_unless_same,
    set_aside,
    take_back,
)

if TYPE_CHECKING:
    from collections.abc import Callable


def names(folder: Path) -> list[str]:
    return sorted(each.name for each in folder.iterdir())


def held(path: Path) -> list[str]:
    """What the earlier saves hold, the latest first."""
    return [save.read().decode() for save in earlier_saves(path)]


def test_a_new_file_has_no_earlier_saves_and_no_litter(tmp_path: Path) -> None:
    save_text(tmp_path / "card.toml", "title = 'naïve'\n")
    assert (tmp_path / "card.toml").read_bytes() == "title = 'naïve'\n".encode()
    assert earlier_saves(tmp_path / "card.toml") == []
    assert names(tmp_path) == ["card.toml"]


def test_what_a_file_held_lies_in_one_folder_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    save_text(path, "one")
    os.utime(path, (1_700_000_000, 1_700_000_000))
    save_text(path, "two")
    save_text(path, "three")
    assert path.read_text() == "three"
    assert held(path) == ["two", "one"]
    assert names(tmp_path) == ["card.toml", FOLDER]
    assert names(tmp_path / FOLDER) == ["card.toml"]
    first = earlier_saves(path)[-1]
    assert first.path.name == "00001_2023-11-14T22-13-20Z.toml"
    assert (first.number, first.saved_at) == (1, datetime(2023, 11, 14, 22, 13, 20, tzinfo=UTC))


def test_ten_are_kept_and_the_numbers_go_on(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    for number in range(14):
        save_text(path, f"{number}")
    assert held(path) == [f"{number}" for number in range(12, 2, -1)]
    assert [save.number for save in earlier_saves(path)] == list(range(13, 3, -1))


def test_a_clock_that_is_set_back_changes_no_order(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    for number, moment in enumerate((3e8, 2e8, 1e8)):
        save_text(path, f"{number}")
        os.utime(path, (moment, moment))
    save_text(path, "3")
    assert held(path) == ["2", "1", "0"]


def test_saving_the_same_again_changes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    for text in ("one", "two", "two"):
        save_text(path, text)
    assert held(path) == ["one"]


def test_going_back_and_forth_pushes_nothing_out(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    for number in range(11):
        save_text(path, f"{number}")
    for _ in range(12):
        take_back(path, earlier_saves(path)[0].number)
    assert sorted(map(int, {*held(path), path.read_text()})) == list(range(11))


def test_taking_back_is_a_save_that_can_be_taken_back(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    for text in ("one", "two", "three"):
        save_text(path, text)
    assert take_back(path, 1).read() == b"one"
    assert path.read_text() == "one"
    take_back(path, next(save.number for save in earlier_saves(path) if save.read() == b"three"))
    assert path.read_text() == "three"
    with pytest.raises(StoreError, match=r"card\.toml has no earlier save 99\. There are [\d, ]+\."):
        take_back(path, 99)
    with pytest.raises(StoreError, match=r"no earlier save 1\. There is none yet\."):
        take_back(tmp_path / "other.toml", 1)


def test_the_one_version_before_of_former_days_is_found_and_stays(tmp_path: Path) -> None:
    path, former = tmp_path / "card.toml", tmp_path / "card.toml.previous"
    path.write_text("now")
    former.write_text("former")
    assert [(save.number, save.read()) for save in earlier_saves(path)] == [(0, b"former")]
    save_text(path, "later")
    assert held(path) == ["now", "former"]
    assert not former.exists()
    take_back(path, 1)
    assert path.read_text() == "former"


class Files(RuleBasedStateMachine):
    """Saves and taking back in any order, against a list that is kept in mind."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = TemporaryDirectory()
        self.path = Path(self.folder.name) / "f.toml"
        self.now: bytes | None = None
        self.before: list[bytes] = []

    def put(self, data: bytes) -> None:
        if data == self.now:
            return
        if self.now is not None:
            self.before = [each for each in self.before if each != self.now] + [self.now]
        self.now = data
        others = [each for each in self.before if each != data][-KEPT:]
        self.before = [each for each in self.before if each in others or each == data]

    @rule(data=st.binary(max_size=3))
    def save(self, data: bytes) -> None:
        save_bytes(self.path, data)
        self.put(data)

    @rule(which=st.integers(0, 30))
    def take_one_back(self, which: int) -> None:
        saves = earlier_saves(self.path)
        if saves:
            save = saves[which % len(saves)]
            data = save.read()
            take_back(self.path, save.number)
            self.put(data)

    @rule()
    def a_save_fails(self) -> None:
        before = held_bytes(self.path)
        with pytest.raises(KitError):
            rewrite(self.path, _refuses)
        assert held_bytes(self.path) == before

    @invariant()
    def it_is_as_in_mind(self) -> None:
        assert (self.path.read_bytes() if self.path.exists() else None) == self.now
        assert held_bytes(self.path) == list(reversed(self.before))

    def teardown(self) -> None:
        self.folder.cleanup()


def held_bytes(path: Path) -> list[bytes]:
    return [save.read() for save in earlier_saves(path)]


def _refuses(_: bytes | None) -> bytes:
    msg = "No."
    raise KitError(msg)


TestFiles = Files.TestCase
TestFiles.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)


# ---- what others wrote --------------------------------------------------------------------------------------


def test_what_came_since_is_told_and_nothing_is_written(tmp_path: Path) -> None:
    path, mine = tmp_path / "card.toml", Seen()
    save_text(path, "one")
    assert mine.read(path, Path.read_text) == "one"
    save_text(path, "theirs")
    with pytest.raises(ChangedOnDiskError) as told:
        save_text(path, "mine", seen=mine)
    assert str(told.value) == (
        "card.toml was changed in another window or by another program since it was opened here. Nothing was written. "
        "Open the one on the disk, save yours over it, or save yours under another name: both are kept, whichever you "
        "choose."
    )
    assert path.read_text() == "theirs"
    mine.look(path)
    save_text(path, "mine", seen=mine)
    save_text(path, "mine too", seen=mine)
    assert held(path) == ["mine", "theirs", "one"]


def test_a_file_that_was_never_opened_here_is_told_too(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    mine = Seen()
    save_text(path, "theirs")
    with pytest.raises(ChangedOnDiskError, match=r"card\.toml is there already and was not opened here\."):
        save_text(path, "mine", seen=mine)
    save_text(tmp_path / "new.toml", "mine", seen=mine)


def test_a_touched_file_that_holds_the_same_is_no_change(tmp_path: Path) -> None:
    path, mine = tmp_path / "card.toml", Seen()
    save_text(path, "one", seen=mine)
    path.write_text("one")
    save_text(path, "two", seen=mine)
    path.write_text("three")
    save_text(path, "three", seen=mine)  # they wrote what is to be saved
    path.unlink()
    save_text(path, "four", seen=mine)  # nothing is passed over where nothing is
    assert path.read_text() == "four"


def test_what_is_set_aside_is_among_the_earlier_saves(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    save_text(path, "theirs")
    set_aside(path, b"mine")
    assert path.read_text() == "theirs"
    assert held(path) == ["mine"]


@given(st.binary(max_size=60), st.binary(max_size=60))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_says_the_same_keeps_every_byte(tmp_path_factory: pytest.TempPathFactory, one: bytes, two: bytes) -> None:
    path = tmp_path_factory.mktemp("same") / "f"
    save_bytes(path, one)
    save_unless_same(path, two, lambda data: data.lower())
    assert path.read_bytes() == (one if one.lower() == two.lower() else two)


# ---- failing ------------------------------------------------------------------------------------------------


@given(st.lists(st.binary(max_size=200), min_size=1, max_size=4))
def test_bytes_come_back_as_they_were(tmp_path_factory: pytest.TempPathFactory, versions: list[bytes]) -> None:
    path = tmp_path_factory.mktemp("saving") / "photo.bin"
    for data in versions:
        save_bytes(path, data)
    assert path.read_bytes() == versions[-1]


def test_line_ends_stay_as_they_are(tmp_path: Path) -> None:
    save_text(tmp_path / "card.toml", "a\r\nb\n")
    assert (tmp_path / "card.toml").read_bytes() == b"a\r\nb\n"


@pytest.mark.parametrize(
    ("step", "number", "sentence"),
    [
        ("fsync", errno.ENOSPC, "card.toml was not saved: the disk is full. Make room on it, then save again."),
        ("replace", errno.EACCES, "card.toml was not saved: you may not write there. Choose another folder."),
        ("replace", errno.EIO, f"card.toml was not saved: {os.strerror(errno.EIO)}."),
    ],
)
def test_when_it_fails_the_old_file_is_whole_and_nothing_is_thinned_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, number: int, sentence: str
) -> None:
    path = tmp_path / "card.toml"
    for n in range(KEPT + 1):
        save_text(path, f"old {n}")
    before, there = held(path), names(tmp_path)

    def fail(*_arguments: object, **_options: object) -> None:
        raise OSError(number, os.strerror(number))

    place: object = os if step == "fsync" else Path
    monkeypatch.setattr(place, step, fail)
    with pytest.raises(StoreError) as caught:
        save_text(path, "new")
    assert str(caught.value) == f"{sentence} What was there before is untouched."
    assert path.read_text() == f"old {KEPT}"
    assert held(path) == before
    assert names(tmp_path) == there
    assert len(names(tmp_path / FOLDER / path.name)) == KEPT


def test_when_only_the_last_step_fails_the_earlier_saves_are_as_they_were(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "card.toml"
    save_text(path, "one")
    save_text(path, "two")
    replace = Path.replace

    def fail(self: Path, target: Path) -> Path:
        if target == path:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(StoreError):
        save_text(path, "three")
    assert (path.read_text(), held(path)) == ("two", ["one"])


def test_a_disk_that_gives_back_something_else_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "card.toml"
    replace = Path.replace

    def spoils(self: Path, target: Path) -> Path:
        self.write_bytes(b"\0\0\0")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", spoils)
    with pytest.raises(StoreError, match="the disk gives back something else"):
        save_text(path, "new")


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no limit on the size of a file to set")
def test_a_write_that_stops_half_way_leaves_the_old_file(tmp_path: Path, fresh_python: Callable[..., str]) -> None:
    """A real failed write: the system allows this process files of 4 kB only."""
    path = tmp_path / "card.toml"
    save_text(path, "old")
    code = f"""
import resource, signal
from pathlib import Path
from kit.errors import StoreError
from kit.saving import save_bytes
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
try:
    save_bytes(Path({str(path)!r}), b"x" * 100_000)
except StoreError as error:
    print(error)
"""
    expected = "card.toml was not saved: the file is larger than this disk allows. What was there before is untouched."
    assert fresh_python(code) == expected
    assert path.read_text() == "old"
    assert names(tmp_path) == ["card.toml"]


def test_a_missing_folder_and_a_folder_of_that_name(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"card\.toml was not saved: its folder is not there\. Make the folder"):
        save_text(tmp_path / "nowhere" / "card.toml", "new")
    with pytest.raises(StoreError, match=r"was not saved: there is a folder of that name\. Choose another name"):
        save_text(tmp_path, "new")
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="its folder is not there"):
        save_text(tmp_path / "file" / "card.toml", "new")


@pytest.mark.skipif(
    sys.platform == "win32", reason="Windows has no such permissions, and links need a right of their own"
)
def test_permissions_and_links_survive(tmp_path: Path) -> None:
    path, link = tmp_path / "card.toml", tmp_path / "link.toml"
    save_text(path, "old")
    path.chmod(0o640)
    link.symlink_to(path)
    save_text(link, "new")
    assert link.is_symlink()
    assert path.read_text() == "new"
    assert path.stat().st_mode & 0o777 == 0o640
    assert held(link) == held(path) == ["old"]
    assert earlier_saves(path)[0].path.stat().st_mode & 0o777 == 0o640


# ---- the lock -----------------------------------------------------------------------------------------------

COUNTS_UP = """
import sys
from pathlib import Path
from kit.saving import rewrite
for _ in range(int(sys.argv[2])):
    rewrite(Path(sys.argv[1]), lambda there: str(int(there or b"0") + 1).encode())
    print("+", end="", flush=True)
"""


def started(code: str, *arguments: object) -> subprocess.Popen[str]:
    root = Path(__file__).resolve().parent.parent
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, arguments)], stdout=subprocess.PIPE, text=True, cwd=root
    )


def test_processes_that_read_and_write_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "count"
    running = [started(COUNTS_UP, path, 25) for _ in range(4)]
    assert [len(each.communicate(timeout=120)[0]) for each in running] == [25] * 4
    assert path.read_bytes() == b"100"
    assert names(tmp_path) == ["count", FOLDER]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows ends processes in another way")
def test_a_process_that_is_killed_holds_no_lock_and_loses_nothing_it_told_of(tmp_path: Path) -> None:
    path = tmp_path / "count"
    told = 0
    for moment in (0.35, 0.5, 0.65, 0.8):
        running = started(COUNTS_UP, path, 100_000)
        time.sleep(moment)
        running.send_signal(signal.SIGKILL)
        told += len(running.communicate(timeout=60)[0])
        rewrite(path, lambda there: there or b"0")
        assert told <= int(path.read_bytes()) <= told + 4  # one more at each kill: written, and not told yet
    save_bytes(path, b"0")
    assert names(tmp_path) == ["count", FOLDER]  # what a killed process left half-written is gone too


def test_a_file_that_stays_locked_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(file_lock, "PATIENCE", 0.05)
    path = tmp_path / "card.toml"
    with (
        locked(path),
        pytest.raises(StoreError, match=r"card\.toml was not saved: another program is writing it"),
    ):
        save_text(path, "new")
    save_text(path, "new")


def test_a_disk_without_locks_is_told_of_and_saved_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "card.toml"
    lock = file_lock._try_lock

    def none_here(handle: int) -> bool:
        if os.path.samestat(os.fstat(handle), (tmp_path / ".card.toml.lock").stat()):
            raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))
        return lock(handle)

    def asked(handle: int) -> bool:
        return none_here(handle) if (tmp_path / ".card.toml.lock").exists() else lock(handle)

    monkeypatch.setattr(file_lock, "_try_lock", asked)
    with pytest.warns(UserWarning, match=r"The disk of card\.toml has no locks: if two computers save"):
        save_text(path, "new")
    assert path.read_text() == "new"
    assert names(tmp_path) == ["card.toml"]
    assert file_lock.about_locks(path).startswith("The disk of card.toml has no locks")
    assert file_lock.about_locks(tmp_path / "elsewhere" / "card.toml") == ""
