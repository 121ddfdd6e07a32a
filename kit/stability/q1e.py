"""What ICH Q1E asks of a shelf life estimate: how far it may reach, what to be careful about, and the words for it.

No sentence here asserts more than "computed from so many readings".
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, get_args

from kit.errors import RangeError
from kit.findings import Finding, worst_first
from kit.iso_dates import days_in_months, whole_months
from kit.soundness import sound
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.stability.pooling import Model
    from kit.stability.series import Series
    from kit.stability.shelf_life import Asked, Pooling, ShelfLife

#: What happened in warm storage, as far as the maker tells.
Warm = Literal["not told", "no significant change", "change when warm, none in between", "change in between too"]
WARM: tuple[Warm, ...] = get_args(Warm)
#: Where the product is meant to be kept: at room temperature, or in the fridge.
Storage = Literal["room", "cold"]
STORAGES: tuple[Storage, ...] = get_args(Storage)

SOURCE = (
    "ICH Q1E, Evaluation for Stability Data (2003), 2.4, 2.5 and appendix A: a rule for medicines that cosmetics "
    "borrow (its factors are from memory)"
)
#: Times the days with readings, and how many months beyond them at most, where a statistical analysis was made.
REACH: dict[tuple[Storage, Warm], tuple[float, int]] = {
    ("room", "no significant change"): (2.0, 12),
    ("room", "change when warm, none in between"): (1.5, 6),
    ("cold", "no significant change"): (1.5, 6),
}


@dataclass(frozen=True, slots=True)
class Cap:
    """How far the estimate may reach [days], and the reason."""

    days: float
    reason: str
    source: str = SOURCE


@sound()
def cap(observed: float, *, warm: Warm = "not told", storage: Storage = "room") -> Cap:
    """How far an estimate may reach, given readings until day ``observed``.

    Parameters
    ----------
    observed
        The day of the last reading in the storage that counts. [days]
    warm
        What happened in accelerated storage and in between. A separated layer, a changed colour or smell, or a reading
        outside its limit is a significant change.
    storage
        "room" or "cold".

    Raises
    ------
    RangeError
        A day below 0, or a word that is none of the choices.

    Examples
    --------
    >>> cap(84, warm="no significant change").days
    168.0
    >>> print(cap(84).reason)
    Nothing was told about warm storage, so the estimate ends with the last reading, on day 84.
    """
    if not observed >= 0:
        msg = f"The last reading is on day {observed:g}; it cannot be before the start, day 0."
        raise RangeError(msg)
    for word, choices in ((warm, WARM), (storage, STORAGES)):
        if word not in choices:
            msg = f"{word!r} is none of the choices: {', '.join(choices)}."
            raise RangeError(msg)
    last = f"the last reading, on day {observed:g}"
    if warm == "not told":
        return Cap(observed, f"Nothing was told about warm storage, so the estimate ends with {last}.")
    reach = REACH.get((storage, warm))
    if reach is None:
        return Cap(observed, f"There was a significant change in warm storage, so the estimate ends with {last}.")
    times, months = reach
    seen, most = whole_months(observed), observed + days_in_months(months)
    # in days and in months: six months seen end on day 182, and twice that is day 365
    days = max(min(times * observed, most), days_in_months(min(int(times * seen), seen + months)))
    how = f"{times:g} times the days with readings" if times * observed <= most else f"{months} months beyond {last}"
    because = {
        "no significant change": "no significant change in warm storage",
        "change when warm, none in between": "a significant change when warm but none in between",
    }[warm]
    kept = "kept cold" if storage == "cold" else "kept at room temperature"
    words = f"With {because} and {kept}, the estimate may reach {how}: day {days:.0f}. Later readings must confirm it."
    return Cap(days, words)


Q1E = "ICH Q1E, Evaluation for Stability Data (2003)"
Q1A = "ICH Q1A(R2), Stability Testing of New Drug Substances and Products (2003)"
#: A line needs readings on this many days: with two it has no scatter.
FEWEST_DAYS = 3
#: ICH Q1E works with three batches or more, ICH Q1A(R2) with twelve months at the start.
BATCHES, YEAR = 3, days_in_months(12)
CONFIRM = "It is an estimate of the mean, not of each bottle, and no proof; later readings must confirm it."


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that was computed, as a sentence, and where its rule is from."""

    words: str
    source: str = ""


def usable(series: Sequence[Series], asked: Asked) -> tuple[list[Series], list[Finding]]:
    """The series a line can be laid through, and why the others were left out."""
    used, findings = [], []
    for one in series:
        if one.one_sided:
            words = (
                f"Batch {one.batch} has readings that say only more or less: {listed(one.one_sided)}. They are left "
                "out of the line, which may so look better or worse than it is. Read on until there is a number."
            )
            findings.append(Finding("caution", words))
        known = len(set(one.days))
        if known < FEWEST_DAYS:
            days = f"{known} day{'s' if known != 1 else ''}"
            words = f"Batch {one.batch} has readings on {days}; a line with its scatter needs {FEWEST_DAYS} or more."
            findings.append(Finding("caution", f"{words} It was left out.", source=f"{Q1A} asks for more"))
        else:
            used.append(one)
    if not used:
        words = "There are too few readings for a line: read each batch on three days or more"
        findings.append(Finding("stop", f"{words}, better on six.", source=f"{Q1A} asks for more"))
    elif asked.order == "first":
        below = [one for one in used if min(one.values) <= 0]
        if below:
            lowest = min((one for one in below), key=lambda one: min(one.values))
            words = (
                f"Batch {lowest.batch} has a reading of {min(lowest.values):g}: first order takes logarithms, which "
                "need readings above 0. Choose zero order, or leave out what the method could not see."
            )
            return [], [*findings, Finding("stop", words)]
    return used, findings


def model_words(key: Model, batches: int, pooling: Pooling, *, chosen: bool) -> str:
    """Which lines were fitted, and which test led there."""
    lines = {
        "one batch": "one line through the readings of one batch",
        "common line": f"one line for all {batches} batches",
        "common slope": f"{batches} lines with a common slope, each with its own start",
        "separate lines": f"{batches} lines, each with its own slope and start",
    }[key]
    if key == "one batch":
        return lines
    if chosen:
        return f"{lines}, as chosen"
    slopes = f"slopes: {_p(pooling.slopes)}"
    starts = f"starts: {_p(pooling.intercepts)}"
    tested = slopes if key == "separate lines" else f"{slopes}, {starts}"
    return f"{lines} ({tested}; below {pooling.level:g} counts as different)"


def _p(p: float | None) -> str:
    if p is None:
        return "p not known"
    return f"p = {p:.3f}" if p >= 0.001 else "p below 0.001"


def with_words(result: ShelfLife, used: Sequence[Series], findings: Sequence[Finding]) -> ShelfLife:
    """The result with its sentence, its steps and its findings."""
    return replace(
        result,
        sentence=_sentence(result, used),
        steps=tuple(_steps(result, used)),
        findings=tuple(worst_first([*findings, *_findings(result, used)])),
    )


def _counted(used: Sequence[Series]) -> str:
    count = sum(len(one.days) for one in used)
    first, last = min(min(one.days) for one in used), max(one.last_day for one in used)
    batches = f"{len(used)} batch{'es' if len(used) != 1 else ''}"
    return f"{count} readings of {batches} over {last - min(first, 0.0):g} days"


def _days(days: float) -> str:
    months = whole_months(days)
    counted = f" ({months} whole month{'' if months == 1 else 's'})" if months else ""
    return f"{days:.0f} day{'' if days == 1 else 's'}{counted}"


def _limits(asked: Asked) -> str:
    lower = None if asked.lower is None else f"the lower limit {asked.lower:g}"
    upper = None if asked.upper is None else f"the upper limit {asked.upper:g}"
    return " or ".join(filter(None, [lower, upper]))


def _sentence(result: ShelfLife, used: Sequence[Series]) -> str:
    asked = result.asked
    begin = f"Computed from {_counted(used)}:"
    if result.days is None or result.cap is None:
        return f"{begin} no limit was given, so there is nothing to meet. {CONFIRM}"
    bound = f"the {asked.sided}-sided {100 * asked.confidence:g} % confidence limit of the mean"
    if result.crossing == 0:
        return f"{begin} {bound} lies beyond {_limits(asked)} from the start, so the readings support no time at all."
    whose = "" if result.model_key in ("one batch", "common line") else f" first in batch {result.governing}"
    if result.crossing is None:
        met = f"{bound} never meets {_limits(asked)}"
    else:
        met = f"{bound} meets {_limits(asked)}{whose} on day {result.crossing:.1f}"
    if result.crossing is not None and result.crossing <= result.cap.days:
        return f"{begin} {met}, so they support {_days(result.days)}. {CONFIRM}"
    return f"{begin} {met}; they support {_days(result.days)} and no more. {result.cap.reason} {CONFIRM}"


def _steps(result: ShelfLife, used: Sequence[Series]) -> list[Step]:
    asked = result.asked
    scale = "the readings" if asked.order == "zero" else "the natural logarithms of the readings"
    steps = [Step(f"Taken: {_counted(used)}; a straight line through {scale}, by least squares.", f"{Q1E}, 2.6")]
    pooling = result.pooling
    if pooling.slopes is not None:
        against = "the separate lines" if pooling.error == "separate lines" else "the model with a common slope"
        steps.append(
            Step(
                f"Equal slopes tested against the scatter about separate lines: {_p(pooling.slopes)}. Equal starts "
                f"given a common slope, against the scatter of {against}: {_p(pooling.intercepts)}. Below "
                f"{pooling.level:g} batches count as different, the slopes first.",
                f"{Q1E}, appendix B (the clause is from memory)",
            )
        )
    steps.append(Step(f"Model: {result.model}.", f"{Q1E}, appendix B (the clause is from memory)"))
    if result.model_key == "separate lines":
        spread = "each batch its own" if pooling.spread == "own" else "one pooled over the batches"
        steps.append(Step(f"Scatter about the separate lines: {spread}. ICH Q1E leaves it open.", "our choice, stated"))
    sides = "on one side" if asked.sided == "one" else "on two sides: the direction was not known beforehand"
    bound = f"Confidence limit of the mean line, {100 * asked.confidence:g} % {sides}"
    if result.cap is not None and result.days is not None:
        met = "never meets the limit" if result.crossing is None else f"meets the limit on day {result.crossing:.1f}"
        steps.append(Step(f"{bound}: it {met}; batch {result.governing} ends first.", f"{Q1E}, 2.6"))
        steps.append(Step(result.cap.reason, result.cap.source))
        steps.append(Step(f"The earlier of both, rounded down to a whole day: {_days(result.days)}.", "our choice"))
    else:
        steps.append(Step(f"{bound}; no limit was given.", f"{Q1E}, 2.6"))
    return [*steps, *(Step(check.words, check.source) for check in result.checks)]


def _findings(result: ShelfLife, used: Sequence[Series]) -> list[Finding]:
    found = [Finding("caution", check.words, source=check.source) for check in result.checks if check.caution]
    last = min(one.last_day for one in used)
    known = min(len(set(one.days)) for one in used)
    if result.crossing == 0:
        words = (
            "The confidence limit lies beyond the limit on day 0: the start is too near the limit, or too uncertain."
        )
        found.append(Finding("caution", words, source=f"{Q1E}, 2.6"))
    if known == FEWEST_DAYS:
        found.append(Finding("caution", f"A batch was read on {known} days only, so its limits are wide.", source=Q1A))
    if len(used) < BATCHES:
        how = "Two batches say" if len(used) > 1 else "One batch says"
        words = f"{how} little about how batches differ; ICH asks for three."
        found.append(Finding("note", words, source=f"{Q1E}, 2.6; {Q1A}"))
    if result.model_key == "common line":
        words = "One line speaks for the batches together; a batch that is a little worse may end sooner."
        found.append(Finding("note", words, source="own simulation: batches a little unlike are pooled too often"))
    if last < YEAR:
        words = f"The readings end on day {last:g}; ICH asks for twelve months in the intended storage to begin with."
        found.append(Finding("note", words, source=Q1A))
    return found + _about_crossing(result)


def _about_crossing(result: ShelfLife) -> list[Finding]:
    if result.cap is None or result.days is None or result.crossing == 0:
        return []
    found = []
    if result.crossing is None or result.crossing > result.cap.days:
        where = "it is never met" if result.crossing is None else f"it is met on day {result.crossing:.0f} only"
        words = f"The limit is not met within the days that the readings support, {result.cap.days:.0f}: {where}."
        found.append(Finding("note", words, source=SOURCE))
    fit = next(one for one in result.fits if one.batch == result.governing)
    if fit.slope_error > 0 and abs(fit.slope) < 2 * fit.slope_error:
        words = "No change was seen in the batch that ends first: its slope is within two standard errors of none, so "
        words += "the crossing says how uncertain the line is, not when the product changes."
        found.append(Finding("note", words))
    return found
