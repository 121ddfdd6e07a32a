"""What stands around the chart of a shelf-life estimate: tests, lines, steps, and what a label's words mean."""

from __future__ import annotations

import math
from html import escape
from typing import TYPE_CHECKING

from kit.widgets.html import sheet

if TYPE_CHECKING:
    from kit.stability.shelf_life import ShelfLife

LABEL_WORDS = """
<details class="sw-label-words"><summary><b>“Best before” and “period after opening”: what the words mean</b></summary>
<p>The EU asks for one of two things on a cosmetic (Regulation (EC) No 1223/2009, article 19(1)(c)). Where a product
keeps its function for <b>30 months or less</b>, a date of minimum durability: “best used before the end of” month and
year, or day, month and year, with how to store it where that matters. Where it keeps <b>longer than 30 months</b>, no
date is required, and the open jar with months or years after opening stands instead, unless durability once opened has
no meaning, as for a pack used up at once.</p>
<p>The estimate above is neither. It says for how long the mean of one attribute is supported to keep one limit, in
closed bottles, in one storage. A date needs every attribute that matters, microbes above all, and a qualified person
who answers for it. A period after opening needs packs that were opened and used again and again (ISO 11930 and tests
in use). This kit proposes neither of the two.</p>
<p class="sw-subtitle">Read in a copy of the earlier UK text with the same rule; the exception for packs that are not
opened again is from memory. Read the law of your own market.</p></details>
"""


def pooling_words(result: ShelfLife) -> str:
    """The tests whether batches may share a line, both p-values, the model and the cap, as HTML."""
    pooling = result.pooling
    rows = [["Equal slopes?", _p(pooling.slopes), _verdict(pooling.slopes, pooling.level)]]
    rows.append(
        ["Equal starts, given a common slope?", _p(pooling.intercepts), _verdict(pooling.intercepts, pooling.level)]
    )
    rows.append(["Lines fitted", "", result.model])
    if result.cap is not None:
        rows.append(["May reach", f"day\u00a0{result.cap.days:.0f}", result.cap.reason])
    return sheet(["Pooling and reach", "", ""], rows)


def _p(p: float | None) -> str:
    if p is None:
        return "not\u00a0tested"
    return f"p\u00a0=\u00a0{p:.3f}" if p >= 0.001 else "p\u00a0<\u00a00.001"


def _verdict(p: float | None, level: float) -> str:
    if p is None:
        return "needs two batches or more"
    return f"below {level:g}: they count as different" if p < level else f"not below {level:g}: not told apart"


def batches_table(result: ShelfLife) -> str:
    """The line of each batch, as HTML."""
    if not result.fits:
        return ""
    per = "per day" if result.asked.order == "zero" else "per day, of the logarithm"
    rows = [
        [
            f"{fit.batch} ◂" if fit.batch == result.governing and len(result.fits) > 1 else fit.batch,
            f"{fit.readings}",
            _with_error(fit.intercept, fit.intercept_error),
            _with_error(fit.slope, fit.slope_error),
            f"{fit.s:.3g}",
            f"{fit.df}",
            "never" if fit.crossing is None else f"{fit.crossing:.1f}",
        ]
        for fit in result.fits
    ]
    head = ["batch", "readings", "line at day 0", f"slope, {per}", "scatter s", "d.f.", "limit met, day"]
    caption = "± is one standard error; ◂ marks the batch that ends first"
    return sheet(head, rows, numbers=range(1, len(head)), caption=caption)


def _with_error(value: float, error: float) -> str:
    """A number and its standard error, both to the second digit of the error."""
    if not 0 < error < math.inf:
        return f"{value:.5g}"
    places = max(1 - math.floor(math.log10(error)), 0)
    return f"{value:.{places}f} ± {error:.{places}f}"


def checks_list(result: ShelfLife) -> str:
    """What the residuals say, one sentence for each look at them."""
    rows = [[check.name, check.words] for check in result.checks]
    return sheet(["What the residuals say", ""], rows) if rows else ""


def steps_list(result: ShelfLife) -> str:
    """What was computed step by step, each with its source, to be unfolded."""
    steps = result.steps[: len(result.steps) - len(result.checks)]
    if not steps:
        return ""
    items = "".join(
        f"<li>{escape(step.words)}"
        + (f' <span class="sw-source">{escape(step.source)}</span>' if step.source else "")
        + "</li>"
        for step in steps
    )
    return f'<details class="sw-steps"><summary>How it was computed, step by step</summary><ol>{items}</ol></details>'
