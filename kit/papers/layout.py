"""What all papers share: templates that escape every text, the size of the paper, a line at the foot of each page."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import kit.papers as room
from kit.findings import by_matter
from kit.formula.steps import full_step
from kit.formula.versions import version_label
from kit.layers.density_words import density_text
from kit.visible_text import one_line, visible

if TYPE_CHECKING:
    from collections.abc import Iterable

    import jinja2

    from kit.findings import Finding


PaperSize = Literal["a4", "letter"]

#: What a paper is called, and its width and height (ISO 216; ANSI/ASME Y14.1). [mm]
PAPER_SIZES: dict[PaperSize, tuple[str, float, float]] = {
    "a4": ("A4", 210.0, 297.0),
    "letter": ("Letter", 215.9, 279.4),
}

#: How every paper's style begins. No text of a person can hold it, because there "<" is escaped.
_STYLE_BEGINS = "<style>\n@page { size: A4;"

#: So much of a title stands at the foot of every page.
MOST_FOOT = 90


@lru_cache(maxsize=1)
def templates() -> jinja2.Environment:
    """The templates of all papers; every text is escaped, and its unseen signs are made visible."""
    import jinja2
    from markupsafe import Markup

    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader([Path(folder, "templates") for folder in room.__path__]),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_seen,
    )
    made.filters["version"] = version_label
    made.filters["by_matter"] = by_matter
    made.filters["full_steps"] = lambda steps: [full_step(step) for step in steps]
    made.filters["density_text"] = density_text
    made.filters["sources_of"] = sources_of
    made.filters["foot"] = lambda *parts: Markup(foot_text(*parts))  # numbers and quotation marks only
    return made


def sources_of(findings: Iterable[Finding], more: Iterable[str] = ()) -> list[str]:
    """The sources of the findings that are printed, then some more: each once, to be numbered."""
    told = [group[0].source for group in by_matter(findings)]
    return list(dict.fromkeys(source for source in [*told, *more] if source))


def _seen(value: Any) -> Any:
    """A value as a template prints it; markup of the kit's own stays markup."""
    if not isinstance(value, str):
        return value
    shown = visible(value.replace("\r\n", "\n").replace("\r", "\n"))
    return value if shown == value else type(value)(shown)


def on_paper(html: str, size: PaperSize) -> str:
    """A paper of the kit for this size of paper; papers are made for A4 and fit both.

    Raises
    ------
    ValueError
        The text is not a paper of the kit.
    """
    if _STYLE_BEGINS not in html:
        msg = "This is not a paper of the kit: its style does not begin with the size of the page."
        raise ValueError(msg)
    return html.replace(_STYLE_BEGINS, _STYLE_BEGINS.replace("A4", PAPER_SIZES[size][0]), 1)


def foot_text(*parts: str) -> str:
    r"""Texts as a CSS string for the foot of each page, every letter beyond a to z and 0 to 9 as its number.

    Examples
    --------
    >>> foot_text("Shake", "TL-7")
    '"Shake\\000020\\0000b7\\000020TL\\00002d7"'
    """
    text = " · ".join(said for part in parts if (said := one_line(part)))
    short = text if len(text) <= MOST_FOOT else text[: MOST_FOOT - 1] + "…"
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in short) + '"'
