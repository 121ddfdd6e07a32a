"""Read a paper as a browser does, with a general-purpose parser that forgives nothing."""

from __future__ import annotations

import re
from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING

import html5lib

if TYPE_CHECKING:
    from collections.abc import Iterator
    from xml.etree import ElementTree as ET

#: What may stand in the way of a paper that needs nothing from anywhere.
FOREIGN = ("script", "link", "iframe", "object", "embed", "form", "base", "audio", "video")
#: A link to a file beside a paper; it is opened by a hand alone.
BESIDE = re.compile(r"[\w.%-]+(/[\w.%-]+)?")
SVG = "{http://www.w3.org/2000/svg}"


class Page:
    """A paper that is valid HTML; anything else fails here."""

    def __init__(self, html: str) -> None:
        self.html = html
        parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
        self.root: ET.Element = parser.parse(html)

    def all(self, *tags: str) -> list[ET.Element]:
        """The elements of these tags, in order."""
        return [element for element in self.root.iter() if element.tag in tags]

    @property
    def tags(self) -> Counter[str]:
        """How often each tag occurs; parts of drawings, which cut long words short, count once."""
        found = Counter(str(element.tag) for element in self.root.iter())
        return Counter({tag: 1 if tag.startswith(SVG) else n for tag, n in found.items()})

    @property
    def text(self) -> str:
        """All that is said outside drawings, the style left out."""
        return "\n".join(self._texts(self.root))

    def _texts(self, element: ET.Element) -> Iterator[str]:
        if element.tag == "style" or str(element.tag).startswith(SVG):
            return
        if element.text:
            yield element.text
        for child in element:
            yield from self._texts(child)
            if child.tail:
                yield child.tail

    def faults(self) -> list[str]:
        """What a careful reader would mark, beyond what makes HTML valid."""
        found = []
        ids = [element.get("id") for element in self.root.iter() if element.get("id")]
        found += [f"the id {name!r} is there {n} times" for name, n in Counter(ids).items() if n > 1]
        pointed = [name for e in self.root.iter() for name in (e.get("aria-labelledby") or "").split()]
        found += [f"nothing has the id {name!r}" for name in pointed if name not in ids]
        if not self.root.get("lang"):
            found.append("the page has no language")
        if len(self.all("title")) < 1 or not (self.all("title")[0].text or "").strip():
            found.append("the page has no title")
        levels = [int(str(e.tag)[1]) for e in self.all("h1", "h2", "h3", "h4", "h5", "h6")]
        if levels[:1] != [1] or levels.count(1) != 1:
            found.append(f"the headings do not begin with the only h1: {levels}")
        found += [f"h{b} follows h{a}" for a, b in pairwise(levels) if b > a + 1]
        found += ["a table has no row of headings" for table in self.all("table") if not [*table.iter("th")]]
        found += [f"it holds {tag}" for tag in FOREIGN if self.all(tag)]
        found += [f"it asks for {address}" for address in self._addresses()]
        return found

    def _addresses(self) -> list[str]:
        names = ("href", "src", "srcset", "action", "data", "xlink:href")
        given = [
            value
            for e in self.root.iter()
            for name, value in e.attrib.items()
            if str(name) in names and not (e.tag == "a" and BESIDE.fullmatch(value))
        ]
        styles = " ".join(e.text or "" for e in self.all("style"))
        return [a for a in given if not a.startswith(("#", "data:"))] + re.findall(r"@import|url\(|https?:", styles)
