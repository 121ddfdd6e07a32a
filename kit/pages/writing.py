"""All pages of a course: an index with what comes when, and a page for each notebook, each whole in itself.

A page asks nothing of another file or address, so a folder of pages works from a stick, from a mail or on any server;
what it may do is said in it, for the browser (W3C, Content Security Policy Level 3).
"""

from __future__ import annotations

import hashlib
from base64 import b64encode
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from kit.errors import EntryError, StoreError
from kit.pages.lesson import lesson_of, page_file
from kit.resources import load_table
from kit.saving import rewrite, why
from kit.visible_text import visible

if TYPE_CHECKING:
    from collections.abc import Mapping

    import jinja2

    from kit.pages.lesson import Lesson

#: What an index that was made here says of itself; another one is not written over.
GENERATOR = "shakewell pages"
STILL = Path(__file__).resolve().parent.parent / "widgets" / "still" / "still.css"
TITLE = "Formulation maths for small batches"


@dataclass(frozen=True, slots=True)
class Entry:
    """A lesson in the index; ``week`` is "" for what belongs to none."""

    file: str
    title: str
    week: str = ""
    number: str = ""
    minutes: str = ""
    about: str = ""


def write_pages(notebooks: Mapping[str, Any], folder: Path) -> list[Path]:
    """Write the index and a page for each notebook.

    Parameters
    ----------
    notebooks
        Name without its ending → notebook (nbformat 4).

    Returns
    -------
    The files, the index first.

    Raises
    ------
    EntryError
        The folder holds an index that was not made here.
    StoreError
        A file could not be written.
    """
    index = folder / "index.html"
    if index.exists() and GENERATOR not in index.read_text(encoding="utf-8", errors="replace")[:2000]:
        msg = f"{folder.name!r} holds an index.html of something else. Name another folder."
        raise EntryError(msg)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        msg = f"The folder {str(folder)!r} cannot be made: {why(error)}."
        raise StoreError(msg) from error
    lessons = [lesson_of(name, notebooks[name], notebooks) for name in in_order(notebooks)]
    pages = {"index.html": index_page(lessons)}
    for at, lesson in enumerate(lessons):
        before = lessons[at - 1] if at else None
        after = lessons[at + 1] if at + 1 < len(lessons) else None
        pages[page_file(lesson.name)] = lesson_page(lesson, before, after)
    for name, html in pages.items():
        _put(folder / name, html)
    return [folder / name for name in pages]


def _put(path: Path, html: str) -> None:
    rewrite(path, lambda _: html.encode("utf-8", "replace"), keeps=False)


def in_order(names: Mapping[str, Any]) -> list[str]:
    """The notebooks as they are taught; then those that no week has, by the alphabet."""
    taught = [row["notebook"] for row in load_table("lessons").rows if row["notebook"] in names]
    return [*taught, *sorted(set(names) - set(taught))]


def index_page(lessons: list[Lesson]) -> str:
    """The page that opens first: what comes when, and what else there is."""
    rows = {row["notebook"]: row for row in load_table("lessons").rows}
    entries = [_entry(lesson, rows.get(lesson.name, {})) for lesson in lessons]
    return _filled(
        "index.html",
        title=TITLE,
        taught=[one for one in entries if one.week],
        others=[one for one in entries if not one.week],
    )


def lesson_page(lesson: Lesson, before: Lesson | None, after: Lesson | None) -> str:
    """A lesson's page, with the ways to those before and after it."""
    from markupsafe import Markup

    return _filled(
        "lesson.html",
        title=lesson.title,
        course=TITLE,
        body=Markup(lesson.html),  # cleaned in kit.pages.lesson
        contents=lesson.contents,
        before=before and _entry(before, {}),
        after=after and _entry(after, {}),
    )


def _entry(lesson: Lesson, row: Mapping[str, str]) -> Entry:
    told = (row.get(key, "") for key in ("week", "lesson", "minutes", "about"))
    return Entry(quote(page_file(lesson.name)), lesson.title, *told)


def _filled(template: str, **context: Any) -> str:
    from markupsafe import Markup

    script, style = (_own(name) for name in ("pages.js", "pages.css"))
    allowed = b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return (
        _templates()
        .get_template(template)
        .render(
            context,
            generator=GENERATOR,
            script=Markup(script),  # the kit's own
            style=Markup(style + STILL.read_text(encoding="utf-8")),  # the kit's own
            allowed=allowed,
        )
    )


def _own(name: str) -> str:
    return (Path(__file__).resolve().parent / "templates" / name).read_text(encoding="utf-8")


@lru_cache(maxsize=1)
def _templates() -> jinja2.Environment:
    import jinja2

    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(Path(__file__).resolve().parent / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=lambda value: visible(value) if type(value) is str else value,
    )
