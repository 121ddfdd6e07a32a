"""What a panel wrote as HTML, with only that left in it that stands still: text, tables, lists, folds and pictures."""

from __future__ import annotations

import re
from functools import lru_cache
from html import escape
from html.parser import HTMLParser

from kit.widgets.still.pictures import with_images

_KEPT = {
    "a", "b", "br", "caption", "code", "dd", "details", "div", "dl", "dt", "em", "h1", "h2", "h3", "h4", "hr", "i",
    "img", "li", "ol", "p", "pre", "small", "span", "strong", "sub", "summary", "sup", "table", "tbody", "td", "tfoot",
    "th", "thead", "tr", "u", "ul",
}  # fmt: skip
_ALONE = {"br", "hr", "img"}
#: What is left out together with all that stands in it.
_LEFT_OUT = {"style", "script", "iframe", "object", "button", "select", "template"}
_ATTRIBUTES = {"class", "style", "colspan", "rowspan", "title", "alt", "href", "src", "lang", "open"}
_LINK = re.compile(r"(?![a-z][a-z\d+.-]*:|//)|https?://", re.IGNORECASE)
_PICTURE = re.compile(r"data:image/(svg\+xml|png|jpeg|webp);base64,[\w+/=]+")


class _Cleaner(HTMLParser):
    """Writes again what is let pass; everything is escaped anew."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.parts: list[str] = []
        self._inside: list[str] = []

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        if self._inside or tag in _LEFT_OUT:
            if tag in _LEFT_OUT:
                self._inside.append(tag)
                title = dict(attributes).get("title") if tag == "iframe" else None
                self.parts.append(f"<div>{escape(title)}: seen where the notebook runs.</div>" if title else "")
            return
        if tag == "textarea":
            self.parts.append('<pre style="white-space:pre-wrap">')
        elif tag in _KEPT:
            said = "".join(f' {name}="{escape(value or "")}"' for name, value in attributes if _may(name, value or ""))
            self.parts.append(f"<{tag}{said}>")

    def handle_endtag(self, tag: str) -> None:
        if self._inside:
            if tag == self._inside[-1]:
                self._inside.pop()
        elif tag == "textarea":
            self.parts.append("</pre>")
        elif tag in _KEPT - _ALONE:
            self.parts.append(f"</{tag}>")

    def handle_data(self, data: str) -> None:
        if not self._inside:
            self.parts.append(escape(data))


def _may(name: str, value: str) -> bool:
    if name == "src":
        return bool(_PICTURE.fullmatch(value))
    if name == "href":
        return bool(_LINK.match(value))
    return name in _ATTRIBUTES and not (name == "style" and re.search(r"url\(|expression|@import", value))


@lru_cache(maxsize=512)
def cleaned(html: str) -> str:
    """The HTML of a panel as a still holds it; remembered, because most of it stays as it is."""
    cleaner = _Cleaner()
    cleaner.feed(with_images(html))
    cleaner.close()
    return "".join(cleaner.parts)
