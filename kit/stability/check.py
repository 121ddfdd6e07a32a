"""What is odd about a reading, said before it is saved: unreadable, outside a limit, or off its schedule."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.findings import Finding, Place
from kit.stability.colour_difference import delta_e_2000
from kit.stability.reading import read_value, says_yes
from kit.stability.schedule import days_words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.plan import Attribute, TimePoint
    from kit.stability.reading import Reading
    from kit.stability.study import Study

    Lab = tuple[float, float, float]

ADVICE = "Look or measure once more; if it stays, save it as it is and say in the note what you saw."


def findings_for(attribute: Attribute, value: object, start_value: object = None) -> list[Finding]:
    """What is odd about ``value``, given the reading of the same bottle at the start (None: not known).

    ``stop`` where the value cannot be read, ``caution`` where it is outside a limit or has changed from the
    start by more than the plan allows, ``note`` where it says only more or less. An empty list says only that the
    limits of the plan are kept.

    Examples
    --------
    >>> from kit.stability.plan import plans
    >>> ph = plans()["home-twelve-weeks"].attribute("ph")
    >>> findings_for(ph, "5,0", "5,3")
    []
    >>> print(findings_for(ph, "4,7", "5,3")[0].sentence)
    pH is 4.7: 0.6 below the 5.3 at the start, and the plan allows 0.5. Look or measure once more; ...
    """
    try:
        reading = read_value(attribute, value)
        start = None if start_value is None else read_value(attribute, start_value)
        sentences = _beyond(attribute, reading, start)
    except EntryError as error:
        return [Finding("stop", str(error), Place(field=attribute.key))]
    place = Place(field=attribute.key)
    found = [Finding("caution", f"{words} {ADVICE}", place, attribute.source) for words in sentences]
    if reading.above is not None or reading.below is not None:
        words = (
            f"{attribute.label}: {reading.text!r} says only on which side it lies. It is kept as typed; no trend and"
        )
        found.append(Finding("note", f"{words} no shelf life is computed from it.", place))
    return found


def beyond_limits(attribute: Attribute, value: object, start_value: object = None) -> list[Finding]:
    """Those of :func:`findings_for` that say that a limit is not kept, and none that is only good to know."""
    return [one for one in findings_for(attribute, value, start_value) if one.severity != "note"]


def is_untold(attribute: Attribute, value: object, start_value: object = None) -> bool:
    """Whether a reading that says only more or less leaves open whether it keeps the limits of the plan.

    Raises
    ------
    EntryError
        It cannot be read.
    """
    reading = read_value(attribute, value)
    start = None if start_value is None else read_value(attribute, start_value).number
    lower, upper = limits_of(attribute, start)
    if reading.above is not None:
        return upper is not None or (lower is not None and reading.above < lower)
    if reading.below is not None:
        return lower is not None or (upper is not None and reading.below > upper)
    return False


def _beyond(attribute: Attribute, reading: Reading, start: Reading | None) -> list[str]:
    if reading.colour is not None:
        return _changed_colour(attribute, reading.colour, start.colour if start else None)
    if attribute.kind == "yes/no":
        answer = "yes" if says_yes(attribute, reading.text) else "no"
        if attribute.expected in ("", answer):
            return []
        return [f"{attribute.label}: {answer}, and the plan expects {attribute.expected}."]
    if reading.number is None:
        return _beyond_for_sure(attribute, reading, start.number if start else None)
    return [
        *_outside_limits(attribute, reading.number),
        *_changed(attribute, reading.number, start.number if start else None),
    ]


def _beyond_for_sure(attribute: Attribute, reading: Reading, start: float | None) -> list[str]:
    """What a reading that says only more or less breaks, however much more or less it is."""
    if reading.above is not None and attribute.upper is not None and reading.above >= attribute.upper:
        return [f"{attribute.label} is {reading.text}: above its limit, {said(attribute, attribute.upper)}."]
    if reading.below is not None and attribute.lower is not None and reading.below <= attribute.lower:
        return [f"{attribute.label} is {reading.text}: below its limit, {said(attribute, attribute.lower)}."]
    lower, upper = limits_of(attribute, start)
    if start is None or lower is None or upper is None:
        return []
    after = f"that the plan allows after the {said(attribute, start)} at the start."
    if reading.above is not None and reading.above >= upper:
        return [f"{attribute.label} is {reading.text}: above the {said(attribute, upper)} {after}"]
    if reading.below is not None and reading.below <= lower:
        return [f"{attribute.label} is {reading.text}: below the {said(attribute, lower)} {after}"]
    return []


def _changed_colour(attribute: Attribute, colour: Lab, start: Lab | None) -> list[str]:
    if start is None or attribute.change is None:
        return []
    change = delta_e_2000(start, colour)
    if round(change, 9) <= attribute.change:
        return []
    before, after = (" ".join(f"{one:.4g}" for one in lab) for lab in (start, colour))
    words = (
        f"{attribute.label} is {after}: a CIEDE2000 difference of {change:.2f} from the {before} at the start, and the "
        f"plan allows {attribute.change:g}."
    )
    return [words]


def _outside_limits(attribute: Attribute, number: float) -> list[str]:
    found = []
    for word, limit, beyond in (
        ("below", attribute.lower, attribute.lower is not None and number < attribute.lower),
        ("above", attribute.upper, attribute.upper is not None and number > attribute.upper),
    ):
        if limit is not None and beyond:
            found.append(f"{attribute.label} is {said(attribute, number)}: {word} its limit, {said(attribute, limit)}.")
    return found


def _changed(attribute: Attribute, number: float, start: float | None) -> list[str]:
    allowed = allowed_change(attribute, start)
    if start is None or allowed is None:
        return []
    change = round(abs(number - start), 9)
    if change <= round(allowed, 9):
        return []
    side = "below" if number < start else "above"
    percent = f" ({attribute.change_percent:g} %)" if attribute.change_percent is not None else ""
    words = (
        f"{attribute.label} is {said(attribute, number)}: {_with_unit(attribute, change)} {side} the "
        f"{said(attribute, start)} at the start, and the plan allows {_with_unit(attribute, allowed)}{percent}."
    )
    return [words]


def allowed_change(attribute: Attribute, start: float | None) -> float | None:
    """The change [unit of the attribute] from the start that the plan allows, the tighter of two."""
    allowed = [] if attribute.change is None else [attribute.change]
    if attribute.change_percent is not None and start is not None:
        allowed.append(abs(start) * attribute.change_percent / 100)
    return min(allowed, default=None)


def limits_of(attribute: Attribute, start: float | None) -> tuple[float | None, float | None]:
    """The lower and upper limit of a bottle that started at ``start``, the tighter of all. [unit of the attribute]"""
    lower, upper = attribute.lower, attribute.upper
    allowed = allowed_change(attribute, start)
    if allowed is not None and start is not None:
        lower = start - allowed if lower is None else max(lower, start - allowed)
        upper = start + allowed if upper is None else min(upper, start + allowed)
    return lower, upper


def limits_for_all(attribute: Attribute, starts: Iterable[float]) -> tuple[float | None, float | None]:
    """The limits within which every bottle keeps its own, given where each started. [unit of the attribute]

    The lower may come out above the upper where the bottles started too far apart.
    """
    own = [limits_of(attribute, start) for start in starts] or [limits_of(attribute, None)]
    lower = max((low for low, _ in own if low is not None), default=None)
    return lower, min((high for _, high in own if high is not None), default=None)


def said(attribute: Attribute, number: float) -> str:
    """The number with its unit, or the grade with its words."""
    if attribute.kind == "grade" and number == int(number) and 0 <= number < len(attribute.scale):
        return f"{number:g} ({attribute.scale[int(number)]})"
    return _with_unit(attribute, number)


def _with_unit(attribute: Attribute, number: float) -> str:
    return f"{number:.6g} {attribute.unit}".rstrip()


def findings_for_date(study: Study, time_point: TimePoint, observed_on: date, today: date) -> list[Finding]:
    """What is odd about the day of a reading: before the start, in the future, early or late: cautions."""
    due = study.due_on(time_point)
    last = due + timedelta(days=time_point.grace)
    if observed_on > today:
        words = f"{observed_on} has not come yet. Check the year and the month."
    elif observed_on < study.started_on:
        words = f"{observed_on} is before the study began, on {study.started_on}. Check the date."
    elif observed_on > last:
        late = days_words((observed_on - due).days)
        words = f"{observed_on} is {late} after this pull was due, on {due}: say why in the note."
    elif observed_on < due - timedelta(days=time_point.grace):
        early = days_words((due - observed_on).days)
        words = f"{observed_on} is {early} before this pull is due, on {due}: is it the right pull?"
    else:
        return []
    return [Finding("caution", words, Place(field="observed_on"))]
