"""What is otherwise on a page: no threads, no locks, and packages that are not there and are called by their names."""

from __future__ import annotations

import asyncio
import re
import sys
import zipfile
from functools import partial
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import pytest

from kit import in_browser, page_kernel
from kit.demos import demo
from kit.errors import KitError
from kit.file_lock import locked
from kit.formula.expansion import Materials, substances_table
from kit.frames import PlainFrame
from kit.library.library import Library
from kit.widgets import soon

if TYPE_CHECKING:
    from pathlib import Path

CELL = re.compile(r"<t[hd]>(.*?)</t[hd]>")


def test_what_waits_is_done_on_the_pages_own_loop_once_and_not_when_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(in_browser, "IN_BROWSER", True)
    done: list[str] = []

    async def page() -> None:
        kept, forgotten = (soon.Soon(partial(done.append, name), 0.01) for name in ("kept", "forgotten"))
        for one in (kept, kept, forgotten):
            one.ask()
        forgotten.forget()
        in_browser.in_background(lambda: done.append("beside"), "nothing is beside a page")
        await asyncio.sleep(0.05)
        kept.ask()
        kept.now()

    asyncio.run(page())
    assert done == ["kept", "kept"]


def test_a_page_has_no_locks_and_leaves_no_file_of_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("kit.file_lock.IN_BROWSER", True)
    with locked(tmp_path / "formula.toml"):
        assert list(tmp_path.iterdir()) == []


def test_a_kernel_of_a_page_says_which_package_is_not_there_and_draws_stills_after_messages(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    told: dict[Any, Any] = {}
    said: list[object] = []
    events = SimpleNamespace(trigger=said.append)
    kernel = SimpleNamespace(comm_manager=SimpleNamespace(comm_msg=said.append))
    shell = SimpleNamespace(
        set_custom_exc=lambda kinds, how: told.update(dict.fromkeys(kinds, how)),
        Completer=SimpleNamespace(use_jedi=True), events=events, kernel=kernel,
    )  # fmt: skip
    monkeypatch.setattr("IPython.get_ipython", lambda: shell)
    (tmp_path / in_browser.LAID_BY).mkdir()
    with zipfile.ZipFile(tmp_path / in_browser.LAID_BY / "laid_by_until_now.zip", "w") as file:
        file.writestr("laid_by_until_now/__init__.py", "told = 1")
    monkeypatch.setattr(page_kernel, "PACKAGE", tmp_path / "kit")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setattr(sys, "meta_path", [*sys.meta_path])
    monkeypatch.setattr(page_kernel, "ABSENT", {"no_such_package": "arrays"})
    page_kernel.begin()
    assert __import__("laid_by_until_now").told == 1
    assert not [*(tmp_path / in_browser.LAID_BY).iterdir()]
    assert shell.Completer.use_jedi is False
    with pytest.raises(ImportError, match="needs arrays, which this page does not have") as found:
        __import__("no_such_package")
    assert isinstance(found.value, KitError)
    told[type(found.value)](shell, type(found.value), found.value, None, tb_offset=None)
    assert "needs arrays" in capsys.readouterr().out
    kernel.comm_manager.comm_msg("a message")
    assert said == ["a message", "post_execute"]


def test_a_table_without_pandas_says_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    formula = demo("harbour_hair_mist")
    materials = Materials.of(formula, Library.bundled())
    with_pandas = substances_table(formula, materials)[["substance", "percent w/w"]].round(3).head(4)
    monkeypatch.setitem(sys.modules, "pandas", None)
    plain: Any = substances_table(formula, materials)[["substance", "percent w/w"]].round(3).head(4)
    assert isinstance(plain, PlainFrame)
    html = plain._repr_html_()
    monkeypatch.undo()
    assert plain.columns == {name: tuple(values) for name, values in with_pandas.to_dict("list").items()}
    assert CELL.findall(html) == CELL.findall(with_pandas.to_html())
