"""The words of the sheet of actual weights."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.bench.actual import correction, partial_correction
from kit.errors import KitError
from kit.rounding import decimal_places, percent_text
from kit.widgets.html import done, problem, sheet, soft

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.actual import ActualBatch, ActualLine

#: A longer name is cut beside its box; the whole of it is in the box's tip.
LONGEST_NAME = 34
ONLY_ADDITIONS = (
    "Nothing can be taken out, so only additions help. Whether one may go in this late (heat, pH, preservative) is for "
    "you to judge."
)


def row_label(material: str, grams: float, places: int) -> str:
    """What stands before the box of a line.

    Examples
    --------
    >>> row_label("Glycerin", 4, 2)
    'Glycerin: 4.00 g'
    """
    name = material if len(material) <= LONGEST_NAME else f"{material[: LONGEST_NAME - 1].rstrip()}…"
    return f"{name}: {grams:.{places}f} g"


def line_said(line: ActualLine) -> str:
    """What a line really is, or that it is still to come."""
    paper = percent_text(line.percent_planned)
    if not line.is_weighed:
        now = percent_text(line.percent)
        return soft(f"planned {paper} %" if now == paper else f"planned {paper} %, as it stands {now} %")
    return (
        f'<b>{percent_text(line.percent)} %</b> <span class="sw-subtitle">({paper} % on paper) · '
        f"{line.off_grams:+.3g} g · {line.off:+.2g} % of it</span>"
    )


def advice(real: ActualBatch, weighed: Sequence[float | None], tolerance: float) -> str:
    """Whether to correct, by how much of what, and what it costs."""
    if not any(line.is_weighed for line in real.lines):
        return soft("Nothing has been typed yet.")
    if not real.outside(tolerance):
        return done(f"Every line is within {tolerance:g} % of its percent: nothing needs to be added.")
    try:
        partial, full = partial_correction(real.batch, weighed, tolerance), correction(real.batch, weighed)
    except KitError as error:
        return problem(str(error))
    step = real.batch.balance.readability
    some, all_of = ({(a.phase, a.line): a.grams for a in c.additions} for c in (partial, full))
    rows = [
        [line.material, _grams(some.get(place, 0.0), step), _grams(all_of.get(place, 0.0), step)]
        for line in real.lines
        if (place := (line.phase, line.line)) in some or place in all_of
    ]
    foot = ["together", _grams(partial.added, step), _grams(full.added, step)]
    head = ["to correct, add", f"within {tolerance:g} %, g", "exactly back, g"]
    words = (
        f"Adding {partial.added:.4g} g brings every line within {tolerance:g} % (a batch of {partial.mass:.5g} g); "
        f"exactly back takes {full.added:.4g} g ({full.mass:.5g} g)."
    )
    return sheet(head, rows, numbers=(1, 2), foot=foot, caption=words) + soft(ONLY_ADDITIONS)


def _grams(grams: float, step: float) -> str:
    """An addition as the balance shows it; a dash for none."""
    if not grams:
        return "–"
    return f"{grams:.{decimal_places(step)}f}" if grams >= step / 2 else f"under {step:g}"
