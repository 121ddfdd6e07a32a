"""The lessons as pages: whole, valid, with every panel's picture, asking for nothing; hostile text does no harm."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from typing import TYPE_CHECKING, Any

import pytest

from kit.commands import CLEAN, FAILED, run
from kit.errors import EntryError, StoreError
from kit.pages import running
from kit.pages.writing import in_order, write_pages
from kit.resources import resource_folder
from tests.papers.reading import Page

if TYPE_CHECKING:
    from pathlib import Path

#: What somebody might write into a notebook.
HOSTILE = (
    "<script>alert(1)</script><img src=x onerror=alert(1)><a href='javascript:alert(1)'>a</a></main></body>"
    "<iframe src='https://x.org'></iframe><style>*{display:none}</style><svg onload=alert(1)><p style='position:fixed'>"
    "<form action='https://x.org'><input autofocus onfocus=alert(1)><base href='https://x.org/'><b>"
)


def checked(path: Path) -> Page:
    """A page that is valid HTML, allows only its own script, and asks for no other address."""
    page = Page(path.read_text(encoding="utf-8"))
    (script,) = page.all("script")
    allowed = base64.b64encode(hashlib.sha256((script.text or "").encode()).digest()).decode()
    (policy,) = (one.get("content") or "" for one in page.all("meta") if one.get("http-equiv"))
    assert policy.startswith("default-src 'none'; img-src data:;")
    assert f"script-src 'sha256-{allowed}';" in policy
    for one in page.root.iter():
        names = [str(name) for name in one.attrib]
        assert not [name for name in names if name.startswith("on") or name in ("action", "srcset", "data")], path.name
        assert (one.get("src") or "data:").startswith("data:"), path.name
        assert one.tag != "link"
        address = one.get("href") or "#"
        beside = path.parent / address.partition("#")[0]
        assert address.startswith(("#", "https://", "http://")) or beside.is_file(), f"{path.name}: {address}"
    ids = [one.get("id") for one in page.root.iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    assert len(page.all("main")) == len(page.all("h1")) == 1, path.name
    return page


def text(source: str, **more: object) -> dict[str, Any]:
    """A cell of text."""
    return {"cell_type": "markdown", "metadata": {}, "source": source, **more}


def code(source: str, *outputs: dict[str, Any], tags: tuple[str, ...] = ()) -> dict[str, Any]:
    """A cell of code with what it showed."""
    metadata = {"tags": list(tags)}
    return {"cell_type": "code", "metadata": metadata, "source": source, "outputs": outputs, "execution_count": None}


def shown(**data: object) -> dict[str, Any]:
    """What a cell shows, by kind: an underline stands for a slash."""
    kinds = {kind.replace("__", "/"): value for kind, value in data.items()}
    return {"output_type": "display_data", "metadata": {}, "data": kinds}


def write(path: Path, *cells: dict[str, Any]) -> None:
    """A notebook in its file."""
    cells = tuple({**cell, "id": f"c{at}"} for at, cell in enumerate(cells))
    path.write_text(json.dumps({"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5}), encoding="utf-8")


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """Pages of every lesson as it is stored, and of a small notebook that is run, as the command runs all."""
    folder = tmp_path_factory.mktemp("pages")
    mine = tmp_path_factory.mktemp("notebooks") / "mine.ipynb"
    panel = code("kit.DilutionPanel()", tags=(running.PICTURE,))
    write(mine, text("# Mine"), code("import kit"), panel, code("# the same\nprint(6 * 7)"))
    notebooks = running.saved_notebooks(resource_folder("notebooks")) | {"mine": running.run_notebook(mine)}
    write_pages(notebooks, folder)
    return folder, notebooks


def test_every_lesson_is_a_whole_page_in_the_order_of_the_course(course: tuple[Path, dict[str, Any]]) -> None:
    folder, notebooks = course
    order = in_order(notebooks)
    assert order[:4] == ["00_start", "01_stock_dilutions", "04_scaling", "04b_weighing"]
    assert {path.stem for path in folder.iterdir()} == {*order, "index"}
    index = checked(folder / "index.html")
    linked = [one.get("href") for one in index.all("a")]
    assert linked == [f"{name}.html" for name in order]
    assert "Week" in index.text
    for at, name in enumerate(order):
        page = checked(folder / f"{name}.html")
        ways = {str(one.get("rel")): one.get("href") for one in page.all("a") if one.get("rel")}
        assert ways.get("prev", "") == (f"{order[at - 1]}.html" if at else "")
        assert ways.get("next", "") == (f"{order[at + 1]}.html" if at + 1 < len(order) else "")
        printed = [o.text for c in notebooks[name].cells for o in c.get("outputs", ()) if o.output_type == "stream"]
        shown = " ".join(page.text.split())
        assert not [text for text in printed if " ".join(text.split()) not in shown], name
    # what names another lesson leads there
    assert "04b_weighing.html" in {one.get("href") for one in checked(folder / "01_stock_dilutions.html").all("a")}


def test_a_panel_that_was_run_stands_in_its_page_as_its_picture(course: tuple[Path, dict[str, Any]]) -> None:
    folder, notebooks = course
    page = checked(folder / "mine.html")
    assert page.html.count('<div class="sw-still sw-still-') == 1
    assert len(page.all("img")) == 1
    assert [one.text for one in page.all("summary")][-2:] == ["code", "the same"]
    assert "42" in page.text.split()
    assert running.not_run(notebooks["mine"]) == 0
    assert running.not_run(notebooks["05_shaking_and_dosing"]) > 3


def hostile(path: Path) -> None:
    """A notebook that would do harm wherever something of it passed as it is."""
    outputs = [
        shown(text__html=HOSTILE),
        {**shown(), "data": {"image/svg+xml": f"<svg>{HOSTILE}</svg>"}},
        {**shown(), "data": {"application/vnd.plotly.v1+json": {"data": [{"type": HOSTILE}], "layout": 7}}},
        shown(image__png='"><script>x</script>'),
        {"output_type": "stream", "name": "stderr", "text": f"\x1b[31m{HOSTILE}\x1b[0m\u202e"},
        {"output_type": "error", "ename": HOSTILE, "evalue": "", "traceback": []},
    ]
    attached = {"attachments": {"p.png": {"image/png": "iVBORw0KGgo="}}}
    links = "![p](attachment:p.png) [next](b%20%26.ipynb#s1) [gone](c.ipynb)"
    write(path, text(f"# {HOSTILE}\n\n{links}", **attached), text(HOSTILE), code(HOSTILE, *outputs))


def test_of_hostile_notebooks_only_still_things_are_left_and_nothing_is_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    hostile(tmp_path / "a.ipynb")
    write(tmp_path / "b &.ipynb", text("# B"), code(f"open({str(tmp_path / 'run')!r}, 'w')", tags=(running.PICTURE,)))
    out = tmp_path / "out"
    assert run("pages", [str(out), "--notebooks", str(tmp_path)]) == CLEAN
    said = capsys.readouterr()
    assert said.out == f"{out / 'index.html'}\n"
    assert "b & was saved without a panel having run." in said.err
    assert not (tmp_path / "run").exists()
    html = (out / "a.html").read_text(encoding="utf-8")
    inside = html[html.index("<main>") + 6 : html.rindex("</main>")]
    assert not re.search(r"<(script|img src=\"?x|iframe|style|svg|form|input|base|link)\b", inside)
    assert not re.search(r"<[^>]*(\son\w+=|javascript:|position)", inside)
    assert inside.count("data:image/png;base64,iVBORw0KGgo=") == 1
    assert 'href="b%20%26.html#s1"' in inside
    assert "<a>gone</a>" in inside
    assert "⟨U+202E⟩" in inside
    page = Page((out / "b &.html").read_text(encoding="utf-8"))
    assert len(page.all("script")) == 1


def test_what_cannot_be_made_into_pages_is_told(tmp_path: Path) -> None:
    with pytest.raises(EntryError, match="There is no notebook"):
        running.saved_notebooks(tmp_path)
    for content in ("{", "[]", '{"nbformat": 9}', "\x00"):
        (tmp_path / "bad.ipynb").write_text(content, encoding="utf-8")
        with pytest.raises(StoreError, match=r"bad\.ipynb cannot be read"):
            running.saved_notebooks(tmp_path)
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "index.html").write_text("mine", encoding="utf-8")
    with pytest.raises(EntryError, match=r"holds an index\.html of something else"):
        write_pages({}, tmp_path / "site")
    assert run("pages", [str(tmp_path / "out"), "--notebooks", str(tmp_path / "none")]) == FAILED
    write(tmp_path / "bad.ipynb", code("1 / 0"))
    with pytest.raises(StoreError, match=r"bad stopped and was not made into a page\. ZeroDivisionError"):
        running.run_notebook(tmp_path / "bad.ipynb")
