"""The tables of the dispensing panel."""

from __future__ import annotations

import math
from html import escape
from typing import TYPE_CHECKING

from kit.in_use.dispensing_findings import doses_outside, last_tenth_words
from kit.widgets.html import sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.dispensing import Dispensed
    from kit.in_use.weighed_doses import Agreement, WeighedDoses
    from kit.layers.window import Window


def dispensers_sheet(runs: Sequence[Dispensed], window: Window | None) -> str:
    """The dispensers side by side: what comes first, first and last dose, what stays, the last tenth."""
    name = runs[0].name
    judged = window is not None and window.is_open and runs[0].standing[runs[0].followed].layer.kind == "oil"
    head = ["", "doses", "comes first", f"first dose, % {name}", "last dose, %", "never comes out, g"]
    head += ["outside the window"] if judged else []
    head += ["the last tenth of the bottle"]
    rows = []
    for run in runs:
        stays = math.fsum(run.left)
        row = [run.dispenser.kind, f"{len(run.doses)}", run.first]
        row += [f"{run.percents[0]:.1f}", f"{run.percents[-1]:.1f}", f"{stays:.1f}"]
        row += [f"{doses_outside(run, window)}"] if judged and window is not None else []
        rows.append([*row, last_tenth_words(run)])
    whole = math.fsum(runs[0].filled)
    caption = f"{whole:.1f} g filled, of it {runs[0].label:.1f} % {name}; {runs[0].manner.words} before each dose"
    return sheet(head, rows, numbers=(1, 3, 4, 5, 6) if judged else (1, 3, 4, 5), caption=caption)


def doses_sheet(run: Dispensed) -> str:
    """Every dose of one dispenser that differs from the one before: what it holds and what is then left, layer by layer."""
    names = [each.layer.name for each in run.standing]
    head = ["dose", *(f"{name}, g" for name in names), *(f"{name} left, g" for name in names)]
    left = list(run.filled)
    rows: list[list[str]] = []
    before: tuple[str, ...] = ()
    last = len(run.doses)
    for number, dose in enumerate(run.doses, start=1):
        left = [max(0.0, there - mass) for there, mass in zip(left, dose, strict=True)]
        cells = tuple(f"{mass:.3f}" for mass in dose)
        if cells != before or number == last:
            rows.append([str(number), *cells, *(f"{there:.2f}" for there in left)])
        before = cells
    if len(rows) > MOST_ROWS:
        rows = [*rows[: MOST_ROWS // 2], ["…"] + [""] * (len(head) - 1), *rows[-MOST_ROWS // 2 :]]
    table = sheet(head, rows, numbers=range(len(head)))
    words = f"{run.dispenser.kind}: the doses one by one, each that differs from the one before"
    return f"<details><summary>{escape(words)}</summary>{table}</details>"


#: As many rows of single doses are shown. []
MOST_ROWS = 40


def agreement_sheet(found: Agreement) -> str:
    """Each dose as measured and as computed."""
    digits = 4 if found.unit == "g" else 1
    rows = [
        [f"{n:g}", f"{seen:.{digits}g}", f"{told:.{digits}g}", f"{seen - told:+.2g}"]
        if found.unit == "g"
        else [f"{n:g}", f"{seen:.1f}", f"{told:.1f}", f"{seen - told:+.1f}"]
        for n, seen, told in zip(found.doses, found.seen, found.foretold, strict=True)
    ]
    head = ["dose", f"measured, {found.unit}", f"computed, {found.unit}", "difference"]
    return f"<details><summary>Each dose against the model</summary>{sheet(head, rows, numbers=range(4))}</details>"


def series_sheet(series: Sequence[WeighedDoses]) -> str:
    """What is kept in the file."""
    rows = [
        [one.name, one.day, one.kind, one.shaking, str(len(one.grams)), str(len(one.percents) or ""), one.note]
        for one in series
    ]
    head = ["series", "day", "dispenser", "before each dose", "weighed", "split", "note"]
    return sheet(head, rows, numbers=(4, 5))
