"""Names of files: those made of titles hold everywhere, those that are none are refused, no product takes another's."""

from __future__ import annotations

import errno
import json
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.commands.common import Output, hand_out
from kit.demos import demo
from kit.errors import EntryError, KitError, StoreError
from kit.file_names import MADE, TYPED, beside, file_stem, free_name, typed_path, why_no_name
from kit.formula.model import Formula
from kit.inputs import FileName
from kit.made_for import LIST, own_place
from kit.papers.registry import make_paper
from kit.papers.writing import paper_name
from kit.product.product import Product
from kit.saving import Seen, save_text
from kit.tables import read_file
from kit.widgets.bench import Bench
from kit.widgets.formula_panel import FormulaPanel
from kit.widgets.papers_panel import PapersPanel
from tests.widgets.hands import said


@given(
    st.lists(st.text(max_size=120) | st.sampled_from(["CON", "nul", "LPT1", "com¹", "İ" * 90, "a/../b"]), max_size=4)
)
def test_a_name_made_of_any_title_is_one_on_every_system(titles: list[str]) -> None:
    for stem in (file_stem(*titles), file_stem(*map(str.upper, titles))):
        assert why_no_name(Path(f"{stem}.toml")) == ""
        assert why_no_name(Path(stem)) == ""
        assert len(stem.encode()) <= MADE + 1
        assert stem == Path(stem).name
    assert file_stem("Con.") == "con_"
    assert file_stem("") == file_stem() == file_stem("?") == "formula"
    assert paper_name("batch_sheet", "x" * 300, "Lot " * 90) != paper_name("batch_sheet", "y" * 300, "Lot " * 90)


NO_NAMES = {
    "a\0b": r"a\x00b cannot be the name of a file: it holds the sign NUL. Type it again.",
    "half \ud83d": r"half \ud83d cannot be the name of a file: it holds half of a sign. Type it again.",
    "x" * (TYPED + 1): "cannot be the name of a file: it is too long. Choose a shorter one.",
    "tab\there": r"tab\there cannot be the name of a file: it holds a sign that cannot be seen. Type it again.",
    "CON": "CON cannot be the name of a file: Windows keeps CON for a device. Choose another.",
    "papers/Lpt1.old.csv": "Windows keeps Lpt1 for a device. Choose another.",
    "a:b|c?*.csv": "other computers take no : | ? * in a name. Leave it out.",
    "price list.": "other computers drop a space or a point at its end. Leave it out.",
}


@pytest.mark.skipif(sys.platform == "win32", reason="Windows itself takes none of them")
def test_what_can_be_no_name_is_refused_and_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    panel = FormulaPanel(Bench(demo()))
    for name, words in NO_NAMES.items():
        with pytest.raises(EntryError) as told:
            typed_path(name, ".csv" if name != "price list." else "")
        assert words in str(told.value)
        panel.files.type(file=name)
        panel.files.press("save")
        assert panel.bench.saved is None, name
        assert "cannot be the name of a file" in said(panel.files) + str(panel.files.faults), name
        for write in (lambda path: save_text(path, "x"), lambda path: Seen().read(path, read_file)):
            with pytest.raises(KitError, match=r"was not saved, because it cannot be the name|cannot be read: "):
                write(Path(name))
    assert list(tmp_path.iterdir()) == []
    Path("old: a name?.csv").write_text("x")  # a file that is there may be called what it likes
    assert FileName(".csv").read("old: a name?") == Path("old: a name?.csv")
    save_text(Path("old: a name?.csv"), "y")


def test_a_file_that_is_saved_elsewhere_is_said_to_lie_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here = tmp_path / "mine"
    (here / "papers").mkdir(parents=True)
    monkeypatch.chdir(here)
    assert beside(Path("a.csv")) == beside(Path("papers/../a.csv")) == beside(here / "a.csv") == "beside this notebook"
    assert beside(Path("papers/a.csv")) == "in the folder papers"
    assert beside(Path("../a.csv")) == f"in the folder {tmp_path}"
    panel = FormulaPanel(Bench(demo()))
    panel.files.type(file="../outside.toml")
    panel.files.press("save")
    assert f"Saved outside.toml in the folder {tmp_path}." in said(panel.files)
    assert free_name(Path("../outside.toml")) == Path("../outside_2.toml")


def test_two_products_of_one_file_name_keep_their_files_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    first, second = (PapersPanel(Formula(title)) for title in ("a/b/c", "a:b|c?*"))
    assert {file_stem("a/b/c"), file_stem("a:b|c?*")} == {"a_b_c"}
    for panel in (first, second, first, second):
        panel.choice.type(paper="formula_card")
        panel.out.press("write")
    assert said(first.out).startswith("Wrote formula_card_a_b_c.html beside this notebook. Open")
    why = "(the file that bears the usual name is of 'a/b/c' and stays)"
    assert said(second.out).startswith(f"Wrote formula_card_a_b_c_2.html beside this notebook {why}. Open")
    assert "a/b/c" in Path("formula_card_a_b_c.html").read_text()
    assert "a:b|c?*" in Path("formula_card_a_b_c_2.html").read_text()
    assert json.loads(Path(LIST).read_text()) == {
        "formula_card_a_b_c.html": "a/b/c",
        "formula_card_a_b_c_2.html": "a:b|c?*",
    }


def test_the_list_of_owners_does_no_harm(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "card.html"
    for spoilt in (b"[1]", b"{", b'{"card.html": 3}', b"\xff", b"[" * 100_000):
        (tmp_path / LIST).write_bytes(spoilt)
        path.write_text("of a former day")
        assert own_place("mine", path).path == path
        assert own_place("theirs", path, take=False).path == tmp_path / "card_2.html"
    path.unlink()
    assert own_place("theirs", path, take=False).path == path, "a file that is gone belongs to nobody"
    monkeypatch.chdir(tmp_path)
    for title in ("mine", "theirs"):
        card = replace(make_paper("formula_card", Product(Formula(title))), name="card")
        hand_out(card, Output(), title)
    assert capsys.readouterr().out == "card.html\ncard_2.html\n"


def test_a_folder_that_cannot_be_written_is_told_of_by_the_file_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuses(*_: object, **__: object) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr("os.open", refuses)
    place = own_place("mine", tmp_path / "card.html")
    with pytest.raises(StoreError, match=r"card\.html was not saved: that disk can only be read\. Choose another"):
        save_text(place.path, "x")
