"""What a panel wrote as HTML, with only that left in it that stands still: text, tables, lists, folds and pictures."""

from __future__ import annotations

import re
from collections import Counter
from functools import lru_cache
from html import escape
from html.parser import HTMLParser

from kit.widgets.still.pictures import with_images

_KEPT = {
    "a", "b", "blockquote", "br", "caption", "code", "dd", "del", "details", "div", "dl", "dt", "em", "h1", "h2", "h3",
    "h4", "h5", "h6", "hr", "i", "img", "li", "ol", "p", "pre", "small", "span", "strong", "sub", "summary", "sup",
    "table", "tbody", "td", "tfoot", "th", "thead", "tr", "u", "ul",
}  # fmt: skip
_ALONE = {"br", "hr", "img"}
#: What is left out together with all that stands in it.
_LEFT_OUT = {"style", "script", "iframe", "object", "button", "select", "template"}
_ATTRIBUTES = {"class", "style", "colspan", "rowspan", "title", "alt", "href", "src", "lang", "open"}
_LINK = re.compile(r"(?![a-z][a-z\d+.-]*:|//)|https?://", re.IGNORECASE)
_PICTURE = re.compile(r"data:image/(svg\+xml|png|jpeg|webp);base64,[\w+/=]+")


class _Cleaner(HTMLParser):
    """Writes again what is let pass; everything is escaped anew, and what is opened is closed, so that it ends here."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.parts: list[str] = []
        self._inside: list[str] = []
        self._open: list[str] = []
        self._counted = Counter[str]()

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        if self._inside or tag in _LEFT_OUT:
            if tag in _LEFT_OUT:
                self._inside.append(tag)
                title = dict(attributes).get("title") if tag == "iframe" else None
                self.parts.append(f"<div>{escape(title)}: seen where the notebook runs.</div>" if title else "")
            return
        if tag == "textarea":
            self.parts.append('<pre style="white-space:pre-wrap">')
            self._opened("pre")
        elif tag in _KEPT:
            said = "".join(f' {name}="{escape(value or "")}"' for name, value in attributes if _may(name, value or ""))
            self.parts.append(f"<{tag}{said}>")
            if tag not in _ALONE:
                self._opened(tag)

    def handle_endtag(self, tag: str) -> None:
        if self._inside:
            if tag == self._inside[-1]:
                self._inside.pop()
        else:
            self._shut("pre" if tag == "textarea" else tag)

    def handle_data(self, data: str) -> None:
        if not self._inside:
            self.parts.append(escape(data))

    def end(self) -> str:
        """All that was let pass."""
        self.close()
        if self._open:
            self._shut(self._open[0])
        return "".join(self.parts)

    def _opened(self, tag: str) -> None:
        self._open.append(tag)
        self._counted[tag] += 1

    def _shut(self, tag: str) -> None:
        """Close a tag and all that was opened within it; nothing where it is not open."""
        while self._counted[tag]:
            inner = self._open.pop()
            self._counted[inner] -= 1
            self.parts.append(f"</{inner}>")
            if inner == tag:
                return


def _may(name: str, value: str) -> bool:
    if name == "src":
        return bool(_PICTURE.fullmatch(value))
    if name == "href":
        return bool(_LINK.match(value))
    return name in _ATTRIBUTES and not (name == "style" and re.search(r"url\(|expression|@import|position", value))


@lru_cache(maxsize=512)
def cleaned(html: str) -> str:
    """The HTML of a panel as a still holds it; remembered, because most of it stays as it is."""
    cleaner = _Cleaner()
    cleaner.feed(with_images(html))
    return cleaner.end()
