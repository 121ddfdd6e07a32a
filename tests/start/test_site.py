"""What the command for the site says where it cannot build one; what it builds is used in ``tests/browser``."""

from __future__ import annotations

import sys
import tarfile
from typing import TYPE_CHECKING

from kit.commands import FAILED, run
from kit.site import runtime
from kit.site.pages import about, opening

if TYPE_CHECKING:
    from pathlib import Path

    import pytest


def test_what_cannot_be_built_is_said_and_nothing_is_touched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(runtime, "version", lambda: "314.0.6")
    monkeypatch.setitem(sys.modules, "deno", None)  # nothing to fetch with
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "notes.txt").write_text("x", encoding="utf-8")
    (tmp_path / "other.tgz").write_bytes(b"not a package")
    (tmp_path / "old").mkdir()
    for name in runtime.FILES:
        (tmp_path / "old" / name).touch()
    (tmp_path / "old" / "package.json").write_text('{"version": "0.29.0"}', encoding="utf-8")
    with tarfile.open(tmp_path / "empty.tgz", "w:gz") as file:
        file.add(tmp_path / "old" / "package.json", "package/package.json")
    new = str(tmp_path / "site")
    for arguments, words in (
        ([str(tmp_path / "mine")], "holds something else than a site, and nothing in it was changed"),
        ([new], "could not be fetched. This needs the internet once. Or fetch its npm package elsewhere"),
        ([new, "--pyodide", str(tmp_path / "other.tgz")], "cannot be read as a package of npm"),
        ([new, "--pyodide", str(tmp_path / "empty.tgz")], "is not Pyodide: it lacks pyodide.mjs"),
        ([new, "--pyodide", str(tmp_path / "mine")], "is not Pyodide: it lacks pyodide.mjs"),
        ([new, "--pyodide", str(tmp_path / "old")], "is Pyodide 0.29, and the site needs 314.0.6. Name that one."),
    ):
        assert run("site", arguments) == FAILED
        assert words in capsys.readouterr().err
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["notes.txt"]
    assert not (tmp_path / "site").exists()


def test_the_pages_lead_to_the_lessons_and_ask_nothing_of_others() -> None:
    assert 'content="0; url=lab/index.html?workspace=00_start&amp;path=00_start.ipynb"' in opening("00_start.ipynb")
    said = about(["00_start.ipynb", "08_label.ipynb"])
    assert '<a href="lab/index.html?workspace=08_label&amp;path=08_label.ipynb">08 label</a>' in said
    assert "://" not in said + opening("00_start.ipynb")
