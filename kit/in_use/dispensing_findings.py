"""What to say of a bottle as it is dispensed: what comes first, what stays, which doses are another product."""

from __future__ import annotations

import math
from itertools import groupby
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.in_use.dispensers import drawn_along
from kit.layers.dosing import TRADE
from kit.library.sources import sources
from kit.library.volatility import volatility_of
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.in_use.dispensing import Dispensed
    from kit.layers.window import Window

PLACE = Place(field="dispensing")
#: A dose that lies farther from the product as filled is told (our own choice). [% points]
SHIFTS = 1.0
#: Doses that differ by less are alike: half of the last figure that is told. [% points]
ALIKE = 0.05
#: What stays in the bottle is told from here on (our own choice). [% of the fill]
STAYS = 1.0
#: A stroke of a pump takes about so long (common practice). [s]
STROKE = 0.3
LUBIN = "B. T. Lubin, G. S. Springer, J. Fluid Mech. 29 (1967) 385 (its constant from memory)"
MODEL = (
    "Simplest model, our choice: each dose is a slice of the column of liquid. A tube takes what stands just above its "
    "end, a tilted bottle its top, one that is turned over its floor; the layers do not stir one another."
)
SPRAY = (
    "A spray's finest droplets are breathed in: the smaller the droplet, the deeper. Whether a product may be sprayed "
    "is for a qualified person to judge, by the droplet sizes that a laboratory measures with this very spray and "
    "each layer of it. Not towards the face; keep it from the eyes."
)
WHOLE = (
    "The product is described as emulsified. While an emulsion is whole, every dose is as filled; what is shown for "
    "one that is not shaken, or waits, is how it would be dispensed once it has parted."
)
#: The same of a product that stands in one liquid.
DROPPER_OF_ONE = (
    "A pipette brings back what it touched: keep it from skin and eyes, and have the challenge test (ISO 11930) made "
    "on bottles that were used as customers use them."
)
DROPPER = (
    "A pipette passes the upper layer on its way down and brings back what it touched: keep it from skin and eyes, and "
    "have the challenge test (ISO 11930) made on bottles that were used as customers use them."
)


def course_of(run: Dispensed) -> str:
    """How the doses of one dispenser run from the first to the last, and what stays, in words."""
    kinds = [run.layer_of(dose) for dose in run.doses]
    parts = [(name, len(list(group))) for name, group in groupby(kinds)]
    head = f"{run.dispenser.kind.capitalize()}, {run.manner.words}: {_doses(len(run.doses))}"
    if run.is_short:
        head += ", the last of them short"
    names = {each.layer.name for each in run.standing}
    if len(parts) == 1 and names.isdisjoint(kinds):
        first, last = run.percents[0], run.percents[-1]
        if max(run.percents) - min(run.percents) < ALIKE:
            said = f"; of {run.name} each holds {first:.1f} %"
        else:
            said = f"; of {run.name} {first:.1f} % at first, {last:.1f} % at last"
    else:
        if len(run.standing) == 1:
            return f"{head}, each as filled. {heel_words(run)}"
        told = [f"{count} of {name}" for name, count in parts[:5]]
        said = f": {', then '.join(told)}{' and so on' if len(parts) > 5 else ''}"
    return f"{head}{said}. {heel_words(run)}"


def heel_words(run: Dispensed) -> str:
    """What never comes out, in words."""
    stays = [
        f"{mass:.3g} g" + (f" of {each.layer.name}" if len(run.standing) > 1 else "")
        for each, mass in zip(run.standing, run.left, strict=True)
        if mass >= 0.0005 * math.fsum(run.filled)
    ]
    return f"{listed(stays)} never come{'s' if len(stays) == 1 else ''} out." if stays else "All of it comes out."


def last_tenth_words(run: Dispensed) -> str:
    """What the last tenth of the bottle holds, in words."""
    last = run.last_tenth
    if last.dose is None:
        part = 100 * math.fsum(run.left) / math.fsum(run.filled)
        return f"Its last tenth never comes out: {part:.0f} % of the fill stays."
    if len(run.standing) == 1:
        return ""
    of_it = 100 * last.held[run.followed] / math.fsum(last.held)
    span = f"{last.low:.1f} %" if last.high - last.low < ALIKE else f"{last.low:.1f} to {last.high:.1f} %"
    return f"Of its last tenth {of_it:.1f} % is {run.name}; the doses of it hold {span}."


def doses_outside(run: Dispensed, window: Window) -> int:
    """How many doses lie outside the window of ratios."""
    return sum(not window.holds(percent) for percent in run.percents)


def dispensing_findings(
    runs: Sequence[Dispensed],
    substances: Iterable[str] = (),
    window: Window | None = None,
    stroke: float = STROKE,
    layering: str = "",
) -> list[Finding]:
    """Everything to say about these ways to dispense one bottle.

    Parameters
    ----------
    substances
        What the product holds, to tell what burns.
    window
        Of allowed ratios; None where there is none.
    stroke
        How long a stroke lasts. [s]
    layering
        As the product's description says: "emulsified" is told that it must have parted for this.
    """
    if not runs:
        return []
    found = [Finding("caution", WHOLE, PLACE)] if layering == "emulsified" and len(runs[0].standing) > 1 else []
    found += [*_drifts(runs), *_stays(runs)]
    if window is not None and window.is_open:
        found += _beyond(runs, window)
    found += _blurred(runs, stroke)
    kinds = {run.dispenser.kind for run in runs}
    if "spray" in kinds:
        words = SPRAY if len(runs[0].standing) > 1 else SPRAY.replace(" and each layer of it", "")
        found += [Finding("caution", words, PLACE, "common practice"), *_burns(substances)]
        if len(runs[0].standing) > 1:
            found.append(Finding("caution", TRADE, PLACE))
    if "dropper" in kinds:
        words = DROPPER if len(runs[0].standing) > 1 else DROPPER_OF_ONE
        found.append(Finding("caution", words, PLACE, "common practice"))
    return found


def _doses(count: int) -> str:
    return f"{count} dose{'s' if count != 1 else ''}"


def _drifts(runs: Sequence[Dispensed]) -> list[Finding]:
    told = [
        f"{run.dispenser.kind} {min(run.percents):.1f} to {max(run.percents):.1f} %"
        for run in runs
        if max(max(run.percents) - run.label, run.label - min(run.percents)) > SHIFTS
    ]
    if not told:
        return []
    run = runs[0]
    sentence = (
        f"{run.manner.words.capitalize()}: the doses hold, of {run.name}, {listed(told)}, where the product as filled "
        f"has {run.label:.1f} %. What was tested as filled is another product in such a dose."
    )
    return [Finding("caution", sentence, PLACE, "mass balance")]


def _stays(runs: Sequence[Dispensed]) -> list[Finding]:
    told = [
        f"{run.dispenser.kind} {part:.1f} %"
        for run in runs
        if (part := 100 * math.fsum(run.left) / math.fsum(run.filled)) >= STAYS
    ]
    if not told:
        return []
    sentence = (
        f"Of the fill never comes out, below the end of a tube or on the wall: {listed(told)}. A tube cut to end in "
        "the deepest corner leaves least; a label that tells the content tells what is filled."
    )
    return [Finding("note", sentence, PLACE, "mass balance")]


def _beyond(runs: Sequence[Dispensed], window: Window) -> list[Finding]:
    told = [
        f"{outside} of {_doses(len(run.doses))} of the {run.dispenser.kind}"
        for run in runs
        if run.standing[run.followed].layer.kind == "oil" and (outside := doses_outside(run, window))
    ]
    if not told:
        return []
    sentence = (
        f"Outside the window of ratios ({window.low:.1f} to {window.high:.1f} % of oil layer): {'; '.join(told)}. "
        f"Below it: {window.low_end.rule}. Above it: {window.high_end.rule}."
    )
    return [Finding("caution", sentence, PLACE, "the window of ratios")]


def _blurred(runs: Sequence[Dispensed], stroke: float) -> list[Finding]:
    """Where a line between layers comes to a tube's end, the change is not as sharp as it is drawn."""
    run = next((run for run in runs if run.manner.shaking != "at once" and run.dispenser.way == "tube"), None)
    if run is None or len(run.standing) < 2 or not stroke > 0:
        return []
    lower, upper = run.standing[0].layer, run.standing[1].layer
    if not lower.density > upper.density:
        return []
    near = drawn_along(run.dispenser.dose / stroke, lower.density, upper.density)
    sentence = (
        f"The change from one layer to the other is drawn sharp. While the line between them is nearer than about "
        f"{near:.1f} mm to the end of the tube, a stroke of {run.dispenser.dose:.3g} mL in {stroke:g} s draws of both."
    )
    return [Finding("note", sentence, PLACE, LUBIN)]


def _burns(substances: Iterable[str]) -> list[Finding]:
    burning = [
        name
        for name in substances
        if (known := volatility_of(name)) is not None and known.flammability in ("1", "2", "3")
    ]
    if not burning:
        return []
    sentence = (
        f"{listed(burning)} can burn, and a spray of it much more easily than the liquid: no flame, no spark, nothing "
        "hot, fresh air. A dose of one layer alone may hold more of it than the product as filled."
    )
    return [Finding("caution", sentence, PLACE, sources()["clp-2-6"].citation)]
