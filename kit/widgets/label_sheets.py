"""The tables and lists of the label panel."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from kit.label.statements import statement_for
from kit.library.table import JURISDICTIONS
from kit.rounding import four_digits
from kit.widgets.html import sheet

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.label.declaration import Declaration
    from kit.label.entries import DeclaredSubstance
    from kit.label.label_text import LabelText
    from kit.label.statements import AllergenStatement


def missing_list(result: LabelText) -> str:
    """What the law of a place asks for and the label has not yet."""
    place = JURISDICTIONS[result.jurisdiction]
    if not result.missing:
        words = f"Of what the kit knows that the {place} asks for, nothing is missing. That is not the whole law."
        return f'<div class="sw-subtitle">{escape(words)}</div>'
    items = "".join(
        f'<li>{escape(_sentence(lacking.what))} <span class="sw-source">{escape(lacking.source)}</span>'
        f"{'' if lacking.firm else ' (from memory)'}</li>"
        for lacking in result.missing
    )
    return f"<b>Still missing for the {escape(place)}</b><ul class='sw-missing'>{items}</ul>"


def _sentence(words: str) -> str:
    end = "" if words.endswith((".", '"')) else "."
    return f"{words[:1].upper()}{words[1:]}{end}"


def reasons_sheet(listed: Declaration) -> str:
    """Each entry with its percent, the lines that bring it, and why it stands where it does."""
    rows = [
        [
            str(number),
            entry.name,
            f"({four_digits(entry.percent)})" if entry.within else four_digits(entry.percent),
            _brought_by(entry),
            entry.why,
        ]
        for number, entry in enumerate(listed.entries, start=1)
    ]
    caption = "Percents in brackets are part of another entry and not counted twice."
    inside = any(entry.within for entry in listed.entries)
    head = ["", "as printed", "% w/w", "from the lines", "why it stands here"]
    return sheet(head, rows, numbers=[0, 2], caption=caption if inside else "")


def _brought_by(entry: DeclaredSubstance) -> str:
    """The lines of an entry, each with its percent where there are several."""
    lines = sorted(entry.lines.items(), key=lambda line: -line[1])
    if len(lines) == 1:
        return lines[0][0]
    return " + ".join(f"{name} {four_digits(percent)}" for name, percent in lines)


def statements_sheet(scented: Mapping[str, str], statements: Mapping[str, AllergenStatement]) -> str:
    """For each scented material what is known about its allergens: by a certificate, else by what it is made of."""
    rows = []
    for name, made_of in scented.items():
        known = statement_for(name, statements)
        if known is None and made_of:
            rows.append([name, made_of, "none yet: what it is made of in the library"])
        else:
            rows.append([name, known.text if known else "not known yet", known.certificate if known else ""])
    return sheet(["material", "allergens, % of it", "paper"], rows) if rows else ""
