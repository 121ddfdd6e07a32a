"""Small pieces of HTML for the panels. Every text that could come from a person is escaped here."""

from __future__ import annotations

import re
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.findings import Finding

DAY = re.compile(r"\d{4}-\d\d-\d\d")
SIGNS = {"stop": "✕", "caution": "▲", "note": "●"}


def heading(title: str, subtitle: str = "", level: int = 3) -> str:
    """A panel's title and the line under it; ``level`` is that of the heading among those of the page."""
    below = f'<div class="sw-subtitle">{escape(subtitle)}</div>' if subtitle else ""
    return f'<div class="sw-title" role="heading" aria-level="{level}">{escape(title)}</div>{below}'


def findings_list(findings: Iterable[Finding]) -> str:
    """Findings as sentences, each with a sign, a word and its source."""
    said = "".join(
        f'<div class="sw-finding" data-severity="{finding.severity}">{SIGNS[finding.severity]} '
        f"<b>{finding.severity}</b> {escape(finding.sentence)}"
        + (f' <span class="sw-source">{escape(finding.source)}</span>' if finding.source else "")
        + "</div>"
        for finding in findings
    )
    return f'<div class="sw-sentences">{said}</div>' if said else ""


def problem(sentence: str) -> str:
    """Why something cannot be shown or done; what stands on lines of its own, such as faults of a file, stays so."""
    said = f"{SIGNS['stop']} {escape(sentence)}".replace("\n", "<br>")
    return f'<div class="sw-sentences"><div class="sw-finding" data-severity="stop">{said}</div></div>'


def done(sentence: str) -> str:
    """A sentence that says what was done."""
    return f'<div class="sw-sentences"><div class="sw-finding" data-severity="note">✓ {escape(sentence)}</div></div>'


def soft(words: str) -> str:
    """A quiet line of words."""
    return f'<div class="sw-subtitle">{escape(words)}</div>'


def sheet(
    head: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    numbers: Iterable[int] = (),
    kinds: Sequence[str] = (),
    foot: Sequence[str] = (),
    caption: str = "",
) -> str:
    """A table of texts. A row is named by its first cell, where that is no number; a screen reader then says it.

    Parameters
    ----------
    numbers
        The columns that hold numbers, to be set to the right.
    kinds
        The layer of each row, for its colour.
    """
    right = set(numbers)

    def cell(number: int, text: str, scope: str) -> str:
        is_head = text and (scope == "col" or (number == 0 and 0 not in right))  # a heading without words is none
        tag, scoped = ("th", f' scope="{scope}"') if is_head else ("td", "")
        return f"<{tag}{scoped}{_mark(text, is_number=number in right)}>{_whole_days(text)}</{tag}>"

    def cells(row: Sequence[str], scope: str = "row") -> str:
        return "".join(cell(number, text, scope) for number, text in enumerate(row))

    starts = [f'<tr data-kind="{escape(kind)}">' for kind in kinds]
    body = "".join(f"{starts[n] if n < len(starts) else '<tr>'}{cells(row)}</tr>" for n, row in enumerate(rows))
    named = f' aria-label="{escape(caption)}"' if caption else ""
    return (
        (f'<div class="sw-subtitle">{escape(caption)}</div>' if caption else "")
        + f'<div class="sw-scroll"><table class="sw-sheet"{named}>'
        + f"<thead><tr>{cells(head, 'col')}</tr></thead><tbody>{body}</tbody>"
        + (f"<tfoot><tr>{cells(foot)}</tr></tfoot>" if foot else "")
        + "</table></div>"
    )


def _mark(text: str, *, is_number: bool) -> str:
    """What is said of a cell: a number stands to the right, a day stays on one line."""
    return ' class="sw-number"' if is_number else ' class="sw-whole"' if DAY.fullmatch(text) else ""


def _whole_days(text: str) -> str:
    """The text escaped, each day among other words in one piece."""
    return escape(text) if DAY.fullmatch(text) else DAY.sub(r'<span class="sw-whole">\g<0></span>', escape(text))
