"""A notebook as the inside of a page: its text, its code folded, what it printed, its panels as their last picture.

What a notebook holds may come from anybody: all of it passes the cleaner of stills, which writes only still things.
"""

from __future__ import annotations

import re
from base64 import b64encode
from dataclasses import dataclass
from html import escape, unescape
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, unquote

from kit.pages.running import TERMINAL
from kit.visible_text import visible
from kit.widgets.still.cleaning import cleaned

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

#: Cells of this tag speak of running the notebook.
NOT_HERE = "not-in-app"
#: The most that one cell printed is shown. [characters]
MOST_PRINTED = 100_000

_HEADING = re.compile(r"<h([1-6])([^>]*)>(.*?)</h\1>", re.DOTALL)
_LINK = re.compile(r'(<a\b[^>]*?) href="([^"]*)"')
_NAMED = re.compile(r"<(code|td)((?: [^>]*)?)>([^<]{1,200})</\1>")
_PRE = re.compile(r"<pre(?! tabindex)")
_TABLE = re.compile(r"<table\b.*?</table>", re.DOTALL)
_ATTACHED = re.compile(r'src="attachment:([^"]*)"')


@dataclass(frozen=True, slots=True)
class Lesson:
    """A notebook as the inside of a page.

    Attributes
    ----------
    name
        Of the notebook, without its ending.
    title
        Its first heading, as plain words.
    html
        Clean.
    contents
        Its headings of the second order: anchor and words.
    """

    name: str
    title: str
    html: str
    contents: tuple[tuple[str, str], ...]


def page_file(name: str) -> str:
    """The file of a notebook's page.

    Examples
    --------
    >>> page_file("04_scaling"), page_file("index")
    ('04_scaling.html', 'index_.html')
    """
    return f"{name}_.html" if name.casefold() == "index" else f"{name}.html"


def lesson_of(name: str, notebook: Any, names: Collection[str]) -> Lesson:
    """The inside of a page.

    Parameters
    ----------
    notebook
        Of nbformat 4, as it ran or was saved.
    names
        All notebooks that become pages: what names one of them becomes a link.
    """
    parts = []
    for cell in notebook.cells:
        if NOT_HERE in cell.metadata.get("tags", ()):
            continue
        if cell.cell_type == "markdown":
            parts.append(f'<div class="text">{_linked(_markdown(cell), names)}</div>')
        elif cell.cell_type == "code":
            parts.append(_code(str(cell.source)))
            parts += [f'<div class="shown">{_linked(html, names)}</div>' for html in _shown(cell.outputs)]
    html, found = _with_anchors("\n".join(filter(None, parts)))
    first = next((words for level, _, words in found if level == 1), name)
    return Lesson(name, first, html, tuple((anchor, words) for level, anchor, words in found if level == 2))


def _markdown(cell: Any) -> str:
    import mistune

    renderer = mistune.HTMLRenderer(escape=False, allow_harmful_protocols=["attachment:"])
    made = str(mistune.create_markdown(renderer=renderer, plugins=["table", "strikethrough"])(str(cell.source)))
    attached = cell.get("attachments") or {}
    return cleaned(_ATTACHED.sub(lambda found: f'src="{_picture(attached.get(unquote(found[1])) or {})}"', made))


def _code(source: str) -> str:
    """The code of a cell, folded under its caption."""
    first, _, rest = source.strip().partition("\n")
    caption, code = (first.lstrip("# "), rest) if first.startswith("#") else ("code", source.strip())
    if not code.strip():
        return ""
    words, text = (escape(visible(one)) for one in (caption, code))
    return f'<details class="code"><summary>{words}</summary><pre tabindex="0">{text}</pre></details>'


def _shown(outputs: Any) -> Iterator[str]:
    """What a cell showed, piece by piece, clean; of a panel its still, without the place of the living one."""
    for output in outputs:
        if output.output_type == "stream":
            yield _printed(output.text)
        elif output.output_type == "error":
            yield _printed(f"{output.ename}: {output.evalue}")
        elif html := _bundle(output.get("data") or {}):
            yield html


def _bundle(data: Mapping[str, Any]) -> str:
    """The best of the forms in which a cell gave one thing."""
    if "application/vnd.plotly.v1+json" in data and (drawn := _figure(data["application/vnd.plotly.v1+json"])):
        return f'<div class="sw-still">{drawn}</div>'
    if "application/vnd.jupyter.widget-view+json" in data:
        return ""
    if html := str(data.get("text/html") or data.get("image/svg+xml") or ""):
        return cleaned(html)
    if source := _picture(data):
        return cleaned(f'<img alt="picture" src="{source}">')
    return _printed(str(data["text/plain"])) if "text/plain" in data else ""


def _figure(told: Any) -> str:
    import plotly.graph_objects as go

    from kit.widgets.still.pictures import figure_still

    try:
        return cleaned(figure_still(go.Figure(dict(told), skip_invalid=True)))
    except (TypeError, ValueError, KeyError, AttributeError):  # a chart that somebody spoilt has no picture
        return ""


def _picture(data: Mapping[str, Any]) -> str:
    """A picture that a notebook holds, as an address that holds it."""
    for kind in ("image/png", "image/jpeg"):
        if kind in data:
            return f"data:{kind};base64,{''.join(str(data[kind]).split())}"
    if svg := data.get("image/svg+xml"):
        return f"data:image/svg+xml;base64,{b64encode(str(svg).encode()).decode()}"
    return ""


def _printed(text: str) -> str:
    plain = TERMINAL.sub("", text)
    more = "" if len(plain) <= MOST_PRINTED else "\n…"
    return f'<pre tabindex="0">{escape(visible(plain[:MOST_PRINTED].rstrip()))}{more}</pre>'


def _linked(html: str, names: Collection[str]) -> str:
    """Links to notebooks and names of them as links to their pages; what may be too wide can be reached by key."""

    def address(found: re.Match[str]) -> str:
        path, mark, anchor = unescape(found[2]).partition("#")
        name = unquote(path.removeprefix("./")).removesuffix(".ipynb")
        if path.endswith(".ipynb") and name in names:
            return f'{found[1]} href="{escape(quote(page_file(name)) + mark + quote(anchor))}"'
        kept = path.startswith(("https://", "http://")) or not path
        return found[0] if kept else found[1]  # another file of the notebook's folder is not here

    def named(found: re.Match[str]) -> str:
        name = unescape(found[3]).strip().removesuffix(".ipynb")
        if name not in names:
            return found[0]
        link = f'<a href="{escape(quote(page_file(name)))}">{found[3]}</a>'
        return f"<{found[1]}{found[2]}>{link}</{found[1]}>"

    linked = _NAMED.sub(named, _LINK.sub(address, html))
    reached = _PRE.sub('<pre tabindex="0"', linked)
    return _TABLE.sub(lambda found: f'<div class="wide" tabindex="0">{found[0]}</div>', reached)


def _with_anchors(html: str) -> tuple[str, list[tuple[int, str, str]]]:
    """The same with an anchor on each heading; and order, anchor and words of each."""
    found: list[tuple[int, str, str]] = []

    def heading(one: re.Match[str]) -> str:
        words = unescape(re.sub(r"<[^>]*>", "", one[3])).strip()
        anchor = f"s{len(found) + 1}"
        found.append((int(one[1]), anchor, words))
        return f'<h{one[1]} id="{anchor}">{one[3]}</h{one[1]}>'

    return _HEADING.sub(heading, html), found
