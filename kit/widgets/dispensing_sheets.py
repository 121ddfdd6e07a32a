"""The tables of the dispensing panel."""

from __future__ import annotations

import math
from html import escape
from typing import TYPE_CHECKING

from kit.in_use.dispensing_findings import doses_outside
from kit.widgets.html import sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.dispensing import Dispensed
    from kit.in_use.weighed_doses import Agreement, WeighedDoses
    from kit.layers.window import Window


#: As many single doses are shown: as many of the first as of the last.
MOST_ROWS = 40


def dispensers_sheet(runs: Sequence[Dispensed], window: Window | None) -> str:
    """The dispensers side by side: first and last dose, what stays, the last tenth."""
    if len(runs[0].standing) == 1:
        rows = [[run.dispenser.kind, f"{len(run.doses)}", f"{math.fsum(run.left):.1f}"] for run in runs]
        caption = f"{math.fsum(runs[0].filled):.1f} g filled; each dose is as filled"
        return sheet(["", "doses", "stays, g"], rows, numbers=(1, 2), caption=caption)
    name = runs[0].name
    judged = window is not None and window.is_open and runs[0].standing[runs[0].followed].layer.kind == "oil"
    head = ["", "doses", f"first, % {name}", "last, %", "last tenth, %", "stays, g"]
    head += ["outside"] if judged else []
    rows = []
    for run in runs:
        last = run.last_tenth
        tenth = "stays in" if last.dose is None else f"{100 * last.held[run.followed] / math.fsum(last.held):.1f}"
        row = [run.dispenser.kind, f"{len(run.doses)}", f"{run.percents[0]:.1f}", f"{run.percents[-1]:.1f}"]
        row += [tenth, f"{math.fsum(run.left):.1f}"]
        rows.append([*row, *([f"{doses_outside(run, window)}"] if judged and window is not None else [])])
    whole = math.fsum(runs[0].filled)
    caption = f"{whole:.1f} g filled, of it {runs[0].label:.1f} % {name}; {runs[0].manner.words} before each dose. "
    caption += "Each % is of a dose; the last tenth is what is in the bottle by then"
    caption += "; outside: doses outside the window of ratios" if judged else ""
    return sheet(head, rows, numbers=range(1, 7), caption=caption)


def doses_sheet(run: Dispensed) -> str:
    """Doses of one dispenser, each that differs from the one before: of each layer, what it holds and is left."""
    names = [each.layer.name for each in run.standing]
    head = ["dose", *(f"{name}, g" for name in names), *(f"{name} left, g" for name in names)]
    doses, last = run.doses, len(run.doses) - 1
    telling = [n for n, dose in enumerate(doses) if n in (0, last) or _differs(dose, doses[n - 1])]
    if len(telling) > MOST_ROWS:
        telling = [*telling[: MOST_ROWS // 2], *telling[-MOST_ROWS // 2 :]]
    rows = [
        [str(n + 1), *(f"{mass:.3f}" for mass in doses[n]), *(f"{there:.2f}" for there in run.after(n + 1))]
        for n in telling
    ]
    words = f"{run.dispenser.kind}: the doses one by one, each that differs from the one before"
    return f"<details><summary>{escape(words)}</summary>{sheet(head, rows, numbers=range(len(head)))}</details>"


def _differs(dose: Sequence[float], before: Sequence[float]) -> bool:
    """Whether two doses differ by what the table shows."""
    return any(abs(mass - other) > 0.0005 for mass, other in zip(dose, before, strict=True))


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
