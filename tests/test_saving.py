"""Saving: all of the new file or all of the old one."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import StoreError
from kit.saving import previous_version, save_bytes, save_text


def names(folder: Path) -> list[str]:
    return sorted(each.name for each in folder.iterdir())


def test_a_new_file_has_no_previous_version(tmp_path: Path) -> None:
    save_text(tmp_path / "card.toml", "title = 'naïve'\n")
    assert (tmp_path / "card.toml").read_bytes() == "title = 'naïve'\n".encode()
    assert names(tmp_path) == ["card.toml"]


def test_the_version_before_is_kept_under_its_own_name(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    for text in ("one", "two", "three"):
        save_text(path, text)
    assert path.read_text() == "three"
    assert previous_version(path).read_text() == "two"
    assert names(tmp_path) == ["card.toml", "card.toml.previous"]


def test_saving_the_same_again_keeps_the_older_one(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    for text in ("one", "two", "two"):
        save_text(path, text)
    assert previous_version(path).read_text() == "one"


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
def test_when_it_fails_the_old_file_is_whole_and_no_litter_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, number: int, sentence: str
) -> None:
    path = tmp_path / "card.toml"
    save_text(path, "old")

    def fail(*_arguments: object, **_options: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(*((os, "fsync") if step == "fsync" else (Path, "replace")), fail)
    with pytest.raises(StoreError) as caught:
        save_text(path, "new")
    assert str(caught.value) == f"{sentence} What was there before is untouched."
    assert path.read_text() == "old"
    assert names(tmp_path) == ["card.toml"]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no limit on the size of a file to set")
def test_a_write_that_stops_half_way_leaves_the_old_file(tmp_path: Path, fresh_python) -> None:
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
