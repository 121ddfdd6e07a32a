"""Unsaved work outlives its notebook, two notebooks know of each other, and nothing stops the hand."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kit.demos import demo
from kit.errors import ChangedOnDiskError
from kit.formula.editing import set_line
from kit.formula.files import read_formula
from kit.formula.files.draft import of_draft, to_draft
from kit.product_folder import make_product_folder
from kit.saving import earlier_saves
from kit.widgets.bench import Bench, open_product
from kit.widgets.formula_panel import FormulaPanel
from kit.widgets.status_panel import StatusPanel
from kit.widgets.unsaved import DEBOUNCE, Session
from kit.workspace import FORMULA
from tests.pace import on_this_machine
from tests.widgets.hands import HOSTILE, said, two_layers, typed, words

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).resolve().parent.parent.parent
NOTEBOOK = """
import sys, time
import kit
from kit.formula.editing import set_line
bench = kit.open_product()
print("open", flush=True)
for number in range({edits}):
    bench.edit(lambda formula: set_line(formula, 0, 1, entry=f"{{1 + number / 100:.2f}}"))
    print(number, flush=True)
    time.sleep({pause})
{then}
"""


@pytest.fixture
def product(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = make_product_folder(tmp_path, two_layers(title="Rose toner"))
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture(autouse=True)
def _notebooks_end() -> object:
    yield
    for session in [*Session.here.values()]:
        session.end()


@contextmanager
def another_notebook(
    folder: Path, *, edits: int = 0, pause: float = 0, then: str = ""
) -> Iterator[subprocess.Popen[str]]:
    """A process of its own with the product open."""
    code = NOTEBOOK.format(edits=edits, pause=pause, then=then)
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", code]
    with subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE, text=True, env=environment) as process:
        try:
            assert process.stdout is not None
            assert process.stdout.readline() == "open\n"
            yield process
        finally:
            process.kill()


def amount(bench: Bench) -> str:
    return str(bench.formula.phases[0].lines[1].entry)


def left_behind(folder: Path) -> list[Path]:
    return sorted((folder / ".unsaved").glob("*.draft"))


def test_a_run_anew_offers_what_was_not_saved_and_takes_it_up(product: Path) -> None:
    before = (product / FORMULA).read_bytes()
    first = open_product()
    typed(first, 0, 1, "9")
    bench = open_product()  # all cells are run again
    status = StatusPanel(bench)
    assert amount(bench) == "4"
    assert "There is unsaved work of" in words(status.beside)
    assert "Glycerin ▲ more: 4 % to 9 %" in words(status.beside)
    assert status.choice.hidden == []
    status.choice.press("take")
    assert amount(bench) == "9"
    assert "still not saved" in said(status.choice)
    assert "take" in status.choice.hidden
    assert words(status.beside) == ""
    assert "Not saved yet: Glycerin" in words(status.line)
    assert (product / FORMULA).read_bytes() == before
    status.form.press("undo")
    assert amount(bench) == "4"
    status.form.press("redo")
    status.form.press("save")
    bench.session.now()  # type: ignore[union-attr]
    assert not left_behind(product)
    assert StatusPanel(open_product()).choice.hidden == ["take", "aside"]
    assert amount(open_product()) == "9"


def test_what_is_put_aside_is_the_latest_of_the_earlier_saves(product: Path) -> None:
    typed(open_product(), 0, 1, "9")
    status = StatusPanel(open_product())
    typed(status.bench, 0, 1, "5")  # the hand goes on before it chooses: both are kept
    status.bench.session.now()  # type: ignore[union-attr]
    assert len(left_behind(product)) == 2
    status.choice.press("aside")
    assert "earlier saves" in said(status.choice)
    assert read_formula(earlier_saves(product / FORMULA)[0].path).phases[0].lines[1].entry == "9"
    assert amount(status.bench) == "5"
    assert StatusPanel(open_product()).bench.session.found.formula.phases[0].lines[1].entry == "5"  # type: ignore[union-attr]


def test_a_draft_of_work_that_the_file_overtook_is_asked_about_when_it_is_saved(product: Path) -> None:
    typed(open_product(), 0, 1, "9")
    Session.here.popitem()[1].end()
    other = Bench()
    other.open(product / FORMULA)
    typed(other, 0, 2, "0.3")
    other.save()
    bench = open_product()
    assert bench.session is not None
    bench.session.take_up()
    with pytest.raises(ChangedOnDiskError):
        bench.save()
    assert read_formula(product / FORMULA).phases[0].lines[2].entry == "0.3"
    assert bench.formula.phases[0].lines[2].entry == "0.4"


def test_a_killed_kernel_loses_at_most_the_last_debounce(product: Path) -> None:
    done: list[tuple[float, int]] = []
    with another_notebook(product, edits=200, pause=0.01) as process:
        assert process.stdout is not None
        then = time.monotonic() + 1.5
        while time.monotonic() < then:
            number = int(process.stdout.readline())
            done.append((time.monotonic(), number))
        process.send_signal(signal.SIGKILL)
        killed = time.monotonic()
    bench = open_product()
    assert bench.session is not None
    bench.session.take_up()
    kept = round((float(amount(bench)) - 1) * 100)
    sure = max(number for when, number in done if when < killed - DEBOUNCE - 0.35)  # and the time to write it
    assert kept >= sure > 0
    assert read_formula(product / FORMULA).phases[0].lines[1].entry == "4"


def test_a_notebook_that_ends_well_leaves_its_unsaved_work_too(product: Path) -> None:
    with another_notebook(product, edits=3) as process:
        process.wait()
    assert not list((product / ".unsaved").glob("*.sign"))
    assert "There is unsaved work" in words(StatusPanel(open_product()).beside)


def test_two_notebooks_are_told_of_each_other_and_keep_apart(product: Path) -> None:
    with another_notebook(product, edits=1, then="time.sleep(30)") as process:
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(DEBOUNCE + 0.5)
        bench = open_product()
        status = StatusPanel(bench)
        assert "Another notebook has this product open too: on this computer since" in words(status.beside)
        assert "with unsaved work" in words(status.beside)
        assert "There is unsaved work of" not in words(status.beside)  # it is the other's
    assert bench.session is not None
    bench.session.look()
    assert "Another notebook" not in words(status.beside)
    sign = next(path for path in (product / ".unsaved").glob("*.sign") if path != bench.session.sign)
    about = json.loads(sign.read_bytes())
    sign.write_text(json.dumps({**about, "host": "elsewhere"}))
    bench.session.look()
    assert "on elsewhere since" in words(status.beside)
    os.utime(sign, (time.time() - 600,) * 2)
    bench.session.look()
    assert words(status.beside) == ""
    sign.write_text("{}")
    bench.session.look()


def test_a_folder_that_cannot_be_written_to_is_a_sentence(product: Path) -> None:
    (product / ".unsaved").write_text("a file where the folder should be")
    status = StatusPanel(open_product())
    typed(status.bench, 0, 1, "9")
    assert "kept in this notebook only, not on the disk" in words(status.beside)
    assert amount(status.bench) == "9"
    (product / ".unsaved").unlink()


def test_a_full_disk_is_a_sentence_that_goes_when_there_is_room(product: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    status = StatusPanel(open_product())
    session = status.bench.session
    assert session is not None

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        typed(status.bench, 0, 1, "9")
        session.now()
        assert amount(status.bench) == "9"
        assert "kept in this notebook only, not on the disk: the disk is full" in words(status.beside)
    typed(status.bench, 0, 1, "8")
    session.now()
    assert words(status.beside) == ""
    assert not list((product / ".unsaved").glob("*.new"))


def test_a_draft_that_cannot_be_read_is_kept_and_not_offered(product: Path) -> None:
    (product / ".unsaved").mkdir()
    for name, text in {"1": "", "2": "[]", "3": '{"formula": {"title": 3}, "began_from": ""}'}.items():
        (product / ".unsaved" / f"{name}.draft").write_text(text)
    assert words(StatusPanel(open_product()).beside) == ""
    assert len(list((product / ".unsaved").glob("*.unreadable"))) == 3


def test_a_draft_holds_the_whole_formula() -> None:
    for formula in (demo(), set_line(demo(), 0, 1, material=HOSTILE, entry="6,250"), two_layers(note="\ud800 ≤")):
        assert of_draft(to_draft(formula, "mark"), "a draft") == (formula, "mark")


def test_an_edit_waits_for_no_disk(product: Path) -> None:
    assert product
    plain, kept = Bench(two_layers()), open_product()

    def spent(bench: Bench) -> float:
        start = time.perf_counter()
        for number in range(40):
            typed(bench, 0, 1, f"{4 + number / 100}")
        return (time.perf_counter() - start) / 40

    spent(plain), spent(kept)
    assert min(spent(kept) for _ in range(3)) < min(spent(plain) for _ in range(3)) + on_this_machine(0.005)


def test_what_is_not_saved_is_said_in_words(product: Path) -> None:
    panel = FormulaPanel(open_product())
    assert words(panel.unsaved) == f"Saved in {FORMULA}."
    typed(panel.bench, 0, 1, "9")
    assert words(panel.unsaved).startswith("Not saved yet: Glycerin ▲ more: 4 % to 9 %; Aqua")
    status = StatusPanel(panel.bench)
    assert status.form.actions["undo"].words == "Undo: Glycerin 9 % to 4 %"
    panel.bench.keep("more of it")
    assert words(panel.unsaved) == f"Saved in {FORMULA}."
    assert words(FormulaPanel(Bench(two_layers())).unsaved) == "Not saved yet: nothing of it is on disk."
