"""What a table of old notes would bring, as HTML: the first readings, and what is refused and why."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from kit.stability.old_notes.readings import with_schedule
from kit.widgets.html import done, problem, sheet

if TYPE_CHECKING:
    from kit.stability.old_notes.readings import Preview
    from kit.stability.study import Study

#: How many readings are shown; of what is refused, three times as many.
SHOWN = 8


def preview_html(found: Preview, study: Study) -> str:
    """The preview, or what must be answered first."""
    if found.asks:
        return "".join(problem(ask) for ask in found.asks)
    rows = [
        [
            str(one.line), one.batch, study.plan.condition(one.condition).label, one.time_point, str(one.observed_on),
            study.plan.attribute(one.attribute).label, one.value, with_schedule(one, study).note,
        ]
        for one in found.readings[:SHOWN]
    ]  # fmt: skip
    said = "".join(f'<div class="sw-subtitle">{escape(words)}</div>' for words in found.told)
    if rows:
        head = ["line", "batch", "kept in", "pull", "seen on", "what", "value", "note"]
        caption = f"To be recorded: {len(found.readings)}; the first of them:"
        said += sheet(head, rows, caption=caption)
    else:
        said += problem("No reading would be recorded.")
    refused = [[str(one.line), one.column, one.text, one.reason] for one in found.refused[: 3 * SHOWN]]
    if not refused:
        return said + done("Nothing is refused.")
    more = len(found.refused) - len(refused)
    caption = f"Refused so far: {len(found.refused)}{f'; {more} of them are only in the CSV' if more else ''}."
    return said + sheet(["line", "column", "cell", "why"], refused, caption=caption)
