"""The tables of the parting trials: what was kept, what was fitted, compared, shaken, and planned."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from kit.layers.shaken_product import time_words
from kit.widgets.html import sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.parting_compare import Comparison
    from kit.in_use.parting_fit import PartingFit
    from kit.in_use.parting_trial import KeptTrial
    from kit.in_use.shake_share import Shakings
    from kit.in_use.trial_design import Run

#: So many of the latest trials are listed.
SHOWN = 20
#: The columns of the trials, which of them hold numbers, and which are there though all their cells are empty.
HEAD = ("no.", "day", "variant", "shakes", "stood, days", "°C", "mix", "readings", "parted after, s", "line", "note")
NUMBERS, ALWAYS = frozenset({0, 3, 4, 5, 7, 8}), frozenset({0, 1, 2, 3, 8})


def trials_sheet(rows: Sequence[KeptTrial]) -> str:
    """The trials that count, the latest last, and how many rows they took the place of."""
    standing = [row for row in rows if row.counts]
    shown = [_trial_row(row) for row in standing[-SHOWN:]]
    earlier = len(standing) - len(shown)
    replaced = sum(row.trial is not None and bool(row.replaced) for row in rows)
    caption = f"{len(standing)} trial{'s' if len(standing) != 1 else ''} that count"
    caption += f"; the latest {SHOWN} are shown" if earlier else ""
    caption += f"; {replaced} corrected or withdrawn, still in the file" if replaced else ""
    filled = [n for n in range(len(HEAD)) if any(row[n] for row in shown) or n in ALWAYS]
    right = [place for place, n in enumerate(filled) if n in NUMBERS]
    return sheet([HEAD[n] for n in filled], [[row[n] for n in filled] for row in shown], numbers=right, caption=caption)


def _trial_row(row: KeptTrial) -> list[str]:
    trial = row.trial
    assert trial is not None
    over = f"over {trial.watched:g}" if trial.watched is not None else ""
    note = f"corrects {row.corrects}: {row.why}" if row.corrects else ""
    return [
        str(row.number),
        trial.day,
        trial.variant,
        str(trial.shakes),
        "" if trial.stood is None else f"{trial.stood:g}",
        "" if trial.temperature is None else f"{trial.temperature:g}",
        trial.mix,
        str(len(trial.readings) or ""),
        over if trial.parted is None else f"{trial.parted:g}",
        trial.line,
        "; ".join(filter(None, (trial.note, note))),
    ]


def fit_sheet(fit: PartingFit) -> str:
    """Read against computed, reading by reading."""
    rows = [
        [f"{one.seconds:g}", f"{one.millimetres:g}", f"{computed:.1f}", f"{one.millimetres - computed:+.1f}"]
        for one, computed in zip(fit.readings, fit.computed, strict=True)
    ]
    table = sheet(["after, s", "read, mm", "computed, mm", "difference, mm"], rows, numbers=range(4))
    return f"<details><summary>Each reading against the law</summary>{table}</details>"


def comparison_sheet(found: Sequence[Comparison]) -> str:
    """Each variant against the base: trials, parting times, ratio with its interval."""
    rows = []
    for one in found:
        ratio = one.ratio
        middle = "" if ratio is None or ratio.value is None else f"{ratio.value:.2g}"
        ends = "" if ratio is None else f"{_end(ratio.low)} to {_end(ratio.high)}"
        level = "" if ratio is None else f"{ratio.level:.3g} %, {ratio.how}"
        times = "; ".join(f"{'' if parted else 'over '}{t:g} s" for t, parted in one.times)
        rows.append([one.variant, times, middle, ends, level])
    return sheet(["variant", "parted after", "times as long", "interval", "of"], rows, numbers=(2, 3))


def _end(value: float) -> str:
    return "open" if value <= 0 or math.isinf(value) else f"{value:.2g}"


def shakings_sheet(groups: Sequence[Shakings]) -> str:
    """How each number of shakes mixed, by standing."""
    rows = [
        [one.standing, str(one.shakes), str(one.mixed), str(one.streaks), str(one.unmixed), f"{100 * one.least:.0f}"]
        for one in groups
    ]
    head = ["had stood", "shakes", "mixed", "streaks", "not mixed", "full mix in at least, of 100"]
    return sheet(head, rows, numbers=range(1, 6))


def plan_sheet(runs: Sequence[Run], shakes: int, watch: float) -> str:
    """A plan of trials in the order in which they are done."""
    rows = [
        [str(run.place), run.variant.name, f"{run.variant.salt:g}", f"{run.variant.alcohol:g}", str(run.repeat), "", ""]
        for run in runs
    ]
    caption = f"{len(runs)} trials, each with {shakes} shakes and watched for {time_words(watch)} at most"
    head = ["trial", "variant", "salt, %", "alcohol, %", "time", "mixed?", "parted after, s"]
    return sheet(head, rows, numbers=(0, 2, 3, 4), caption=caption)
