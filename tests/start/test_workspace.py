"""Laying a maker's folder: everything arrives, nothing of hers is overwritten."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit import workspace
from kit.errors import StoreError
from kit.workspace import START, default_folder, lay

ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.fixture
def little_kit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A kit with two notebooks and one demo file."""
    home = tmp_path / "kit-files"
    for name in (START, "01_ratio.ipynb", ".ipynb_checkpoints/01_ratio.ipynb"):
        file = home / "notebooks" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(f"the kit's {name}", encoding="utf-8")
    demo = home / "data" / "demo" / "shake.toml"
    demo.parent.mkdir(parents=True)
    demo.write_text("the kit's shake", encoding="utf-8")
    monkeypatch.setattr(workspace, "resource_folder", lambda name: home / name)
    return home


def test_the_notebooks_and_the_demo_arrive(little_kit: Path, tmp_path: Path) -> None:
    laid = lay(tmp_path / "new" / "folder")
    assert laid.new == (START, "01_ratio.ipynb", "demo/shake.toml")
    found = {p.relative_to(laid.folder).as_posix() for p in laid.folder.rglob("*") if p.is_file()}
    assert found == set(laid.new)
    assert str(laid) == f"{laid.folder} holds the notebooks and the demo (3 new files)."


def test_a_changed_file_is_kept_and_named(little_kit: Path, tmp_path: Path) -> None:
    folder = lay(tmp_path / "mine").folder
    (folder / "01_ratio.ipynb").write_text("my own notes", encoding="utf-8")
    (folder / "demo" / "shake.toml").unlink()
    again = lay(folder)
    assert again.new == ("demo/shake.toml",)
    assert again.kept == ("01_ratio.ipynb",)
    assert (folder / "01_ratio.ipynb").read_text(encoding="utf-8") == "my own notes"
    assert "(1 new file)" in str(again)
    assert "Kept as you left them: 01_ratio.ipynb. To have the kit's own copy again, rename yours" in str(again)


def test_a_copy_that_was_stopped_does_not_pass_for_a_makers_file(
    little_kit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", stop)
        with pytest.raises(KeyboardInterrupt):
            lay(tmp_path / "mine")
    laid = lay(tmp_path / "mine")
    assert START in laid.new
    assert (laid.folder / START).read_text(encoding="utf-8") == f"the kit's {START}"


@pytest.mark.parametrize("folder", [ROOT, ROOT / "kit", ROOT / "kit" / "bench", ROOT / "notebooks"])
def test_the_kits_own_folders_are_refused(folder: Path) -> None:
    with pytest.raises(StoreError, match=r"belongs to the kit itself\. Name another folder, for example"):
        lay(folder)


def test_a_file_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "list.txt"
    file.write_text("x", encoding="utf-8")
    with pytest.raises(StoreError, match=r"list\.txt is a file, not a folder. Name another folder"):
        lay(file)


def test_a_place_that_cannot_be_written_is_told(little_kit: Path, tmp_path: Path) -> None:
    file = tmp_path / "list.txt"
    file.write_text("x", encoding="utf-8")
    with pytest.raises(StoreError, match=r"could not be laid into .*below: .+\. Name another folder"):
        lay(file / "below")


def test_where_the_folder_is_when_none_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert default_folder(Path("/somewhere/clone")) == Path("/somewhere/clone/workspace")
    assert default_folder(None) == tmp_path / "shakewell"


def test_the_real_notebooks_start_where_jupyterlab_opens(tmp_path: Path) -> None:
    laid = lay(tmp_path / "real")
    assert START in laid.new
    assert laid.kept == ()
