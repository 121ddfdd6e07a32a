"""A small table that reads well in a notebook, as HTML, and as text where there is no page."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from textwrap import wrap

#: Signs in a line of the text.
_WIDE = 100


@dataclass(frozen=True, slots=True, repr=False)
class Listing:
    """Rows of words under their heads.

    Examples
    --------
    >>> Listing(("term", "meaning"), (("q.s.", "What is left to 100 %."),))
    term: q.s.
    meaning: What is left to 100 %.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def __repr__(self) -> str:
        return "\n\n".join(
            "\n".join(
                "\n  ".join(wrap(f"{head}: {words}", _WIDE))
                for head, words in zip(self.heads, row, strict=True)
                if words
            )
            for row in self.rows
        )

    def _repr_html_(self) -> str:
        left = "text-align: left; vertical-align: top; white-space: normal"
        heads = "".join(f'<th scope="col" style="{left}">{escape(head)}</th>' for head in self.heads)
        rows = "".join(
            "<tr>" + "".join(f'<td style="{left}">{escape(words)}</td>' for words in row) + "</tr>" for row in self.rows
        )
        return f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"
