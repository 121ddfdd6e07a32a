"""The two pages of the site that are the kit's own: the one that opens the first lesson, and what the site is."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

_LOOK = "body{font:1.05rem/1.55 system-ui,sans-serif;max-width:42rem;margin:3rem auto;padding:0 1rem;color:#222;\
background:#fff}h1{font-size:1.5rem}h2{font-size:1.15rem;margin-top:2rem}code{background:#f0f0ee;padding:.1em .3em}"

#: What JupyterLite looks for in the page at the top of a site.
_ROOT = '<script id="jupyter-config-data" type="application/json" data-jupyter-lite-root=".">{}</script>\n'


def _page(title: str, head: str, body: str) -> str:
    return (
        f'<!doctype html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n<title>{escape(title)}</title>\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n{head}<style>{_LOOK}</style>\n</head>\n'
        f"<body>\n{body}</body>\n</html>\n"
    )


def lesson_address(lesson: str) -> str:
    """Where a lesson is, from the top of the site; each remembers by itself what was open with it."""
    return f"lab/index.html?workspace={_stem(lesson)}&path={lesson}"


def _stem(lesson: str) -> str:
    return lesson.removesuffix(".ipynb")


def opening(first: str) -> str:
    """The page that a visitor comes to: it goes on to the first lesson."""
    address = escape(lesson_address(first))
    head = f'<meta http-equiv="refresh" content="0; url={address}">\n{_ROOT}'
    body = (
        f'<p>The first lesson opens in a moment. If it does not: <a href="{address}">open it</a>. '
        '<a href="about.html">About this site</a>.</p>\n'
    )
    return _page("Formulation maths", head, body)


def about(lessons: Iterable[str]) -> str:
    """What the site is, where a learner's files are, and how the folder is put on a server."""
    rows = "".join(
        f'<li><a href="{escape(lesson_address(lesson))}">{escape(_stem(lesson).replace("_", " "))}</a></li>\n'
        for lesson in lessons
    )
    return _page("About this site", "", f"{_ABOUT_HEAD}<ul>\n{rows}</ul>\n{_ABOUT}")


_ABOUT_HEAD = """\
<h1>About this site</h1>
<p>The first lessons of the course, with their panels and exercises, in your browser. Nothing is installed, and nothing
is fetched from another computer than the one that serves this folder. The first time the page
needs up to half a minute: when the line at the foot says <i>Idle</i>, choose <b>Run</b>, then <b>Run All Cells</b>.</p>
"""
_ABOUT = """\
<h2>Your files</h2>
<p>What you change and save stays in this browser, on this computer, for this address; nobody else sees it. It goes when
the browser's data are cleared, and a private window forgets it at once. To take a file out, or to give one away that
you handed in: right-click it in the list on the left, then <b>Download</b>. To take one in: the arrow above the
list. To have a lesson again as it was: rename yours, download what you need, and delete it.</p>
<h2>What is not here</h2>
<p>A page has no arrays, no photos and no log of readings. A part of a lesson that needs one says so in a sentence; the
rest goes on. The other lessons, PDF files and the commands need the kit on a computer of your own.</p>
<h2>Putting it on a server</h2>
<p>The folder is nothing but files: copy it as it is to any server of still files, at any address below it; no program
runs there. It must be served by <code>https</code>, or from <code>127.0.0.1</code>, because browsers keep files for
such addresses alone; a page that is opened from the disk with <code>file:</code> does not work. The server should name
files <code>.mjs</code> and <code>.js</code> as <code>text/javascript</code>, <code>.wasm</code> as
<code>application/wasm</code>; compressing what it sends makes the first visit much shorter. On one computer, or in a
room without the internet, <code>python3 -m http.server --bind 127.0.0.1 --directory FOLDER</code> is enough. After a
new build, visitors press reload once.</p>
<p>What is computed here says nothing about a real product: weigh, measure, and have it tested by qualified people.</p>
"""
