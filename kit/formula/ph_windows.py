"""The pH at which substances and products are usually used, and what a measured pH breaks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.formula.compatibility_rules import source_words, trade_rules
from kit.formula.model import refuse_odd_ph
from kit.formula.requirements import meant_by
from kit.library.columns import number_or_none
from kit.library.limit import LOCAL_RULES, Limits
from kit.library.naming import same_name
from kit.resources import load_table
from kit.visible_text import listed, plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from kit.findings import Severity
    from kit.formula.compatibility import Contents
    from kit.library.limit import Limit


#: What the question for a pH is about.
TO_MEASURE = "pH: to be measured"


@dataclass(frozen=True, slots=True)
class Window:
    """The pH at which something is usually used, and why."""

    of: str
    low: float | None
    high: float | None
    severity: Severity
    reason: str
    source: str

    def holds(self, ph: float) -> bool:
        """Whether a pH lies in it."""
        return (self.low is None or ph >= self.low) and (self.high is None or ph <= self.high)

    @property
    def words(self) -> str:
        """The window in words.

        Examples
        --------
        >>> Window("Urea", 6, 7.5, "caution", "", "").words
        'pH 6 to 7.5'
        """
        if self.low is None:
            return f"pH {self.high:g} and below"
        return f"pH {self.low:g} and above" if self.high is None else f"pH {self.low:g} to {self.high:g}"


@lru_cache(maxsize=1)
def preservative_windows() -> dict[str, Window]:
    """The pH windows of ``data/preservatives``, by the plain letters of each substance; a salt has its acid's."""
    rows = {row["inci"]: row for row in load_table("preservatives").rows}
    found = {}
    for name, row in rows.items():
        about = rows[row["counted_as"]]
        low, high = number_or_none(about["ph_low"]), number_or_none(about["ph_high"])
        if low is None and high is None:
            continue
        little = about["form"] == "acid" and about["pka"] and float(about["pka"]) < 7
        reason = (
            "above it little of the acid is left undissociated" if little else "outside it does less or falls apart"
        )
        found[plain_letters(name)] = Window(name, low, high, "caution", reason, source_words(about["ph_source"]))
    return found


def windows(contents: Contents) -> list[Window]:
    """The pH windows of the substances of a formula."""
    rules = trade_rules()
    found = []
    for name in contents.whole:
        window = preservative_windows().get(plain_letters(name))
        if window is not None:
            found.append(window)
        for number in contents.rules_about(name)[0]:
            rule = rules[number]
            enough = contents.percents(rule.counted).get(name, 0.0) > rule.one_above
            if (
                rule.kind == "window"
                and enough
                and rule.applies_to(contents.formula.description, contents.place) is not False
            ):
                found.append(Window(name, rule.ph_low, rule.ph_high, rule.severity, rule.sentence, rule.source))
    return found


def windows_apart(contents: Contents) -> Iterator[Finding]:
    """Two substances whose pH windows do not meet: no pH serves both."""
    seen = set()
    for one, other in combinations(windows(contents), 2):
        lower, upper = (one, other) if _high(one) < _high(other) else (other, one)
        gap = _low(upper) - _high(lower)
        if one.of == other.of or gap <= 0 or (lower.of, upper.of) in seen:
            continue
        seen.add((lower.of, upper.of))
        yield Finding(
            "caution",
            f"{lower.of} is usually used at {lower.words} and {upper.of} at {upper.words}: no pH serves both. "
            "Choose the one that matters more, or take another material for the other.",
            contents.place_of([upper.of]),
            lower.source,
            f"pH: {same_name(lower.of)}, {same_name(upper.of)}",
        )


def ph_findings(contents: Contents, ph: float, limits: Iterable[Limit] = ()) -> list[Finding]:
    """What a measured pH of the water layer breaks: a law's limit on the pH, or a window of the trade.

    Parameters
    ----------
    ph
        Measured in the water layer, 0 to 14.

    Raises
    ------
    RangeError
        The pH is not between 0 and 14.
    """
    refuse_odd_ph(ph)
    outside = [
        Finding(
            window.severity,
            f"{window.of} is usually used at {window.words}: {window.reason}. You measured {ph:g}.",
            contents.place_of([window.of]),
            window.source,
            f"pH: {same_name(window.of)}",
        )
        for window in windows(contents)
        if not window.holds(ph)
    ]
    return [*_ph_limits(contents, ph, limits), *outside, *_of_the_product(contents, ph)]


def ph_question(contents: Contents, where: str = "the water layer") -> list[Finding]:
    """Where no pH was measured and a preservative of the water works only within a window: that it is to be measured.

    A preservative that is partly an acid, its salt too, is named first; there the pH decides how much of it works.
    """
    if contents.water <= 0:
        return []
    known = preservative_windows()
    found = [window for name in contents.whole if (window := known.get(plain_letters(name))) is not None]
    if not found:
        return []
    found.sort(key=lambda window: (_high(window), -_low(window)))
    words = "; ".join([f"{found[0].of} works at {found[0].words}", *(f"{one.of} at {one.words}" for one in found[1:])])
    return [
        Finding(
            "note",
            f"Measure the pH of {where} and type it beside the findings: {words}.",
            Place(field="ph"),
            found[0].source,
            TO_MEASURE,
        )
    ]


def _of_the_product(contents: Contents, ph: float) -> Iterator[Finding]:
    """The windows of such products: for skin, hair, eyes, the youngest."""
    for rule in trade_rules():
        if rule.kind != "product-ph" or not rule.applies_to(contents.formula.description, contents.place):
            continue
        window = Window("Such a product", rule.ph_low, rule.ph_high, rule.severity, rule.sentence, rule.source)
        if not window.holds(ph):
            yield Finding(
                rule.severity,
                f"{window.of} is usually at {window.words}: {window.reason}. You measured {ph:g}.",
                Place(field="ph"),
                rule.source,
                "pH: the product",
            )


def _low(window: Window) -> float:
    return 0.0 if window.low is None else window.low


def _high(window: Window) -> float:
    return 14.0 if window.high is None else window.high


def _ph_limits(contents: Contents, ph: float, limits: Iterable[Limit]) -> Iterator[Finding]:
    known = Limits.of(limits)
    for limit in known.concerning(contents.known_by_rules):
        low = limit.ph_low is not None and ph <= limit.ph_low
        high = limit.ph_high is not None and ph > limit.ph_high
        applies = limit.applies_to(contents.formula.description)
        if not (low or high) or applies is False:
            continue
        names = meant_by(limit, contents.known_by_rules)
        bound = f"must be above pH {limit.ph_low:g}" if low else f"must not be above pH {limit.ph_high:g}"
        scope = f" ({limit.scope})" if limit.scope else ""
        yield Finding(
            "caution" if limit.conditional or applies is None else limit.severity,
            f"A product with {listed(names)} {bound}; you measured {ph:g}.{scope} {LOCAL_RULES}",
            contents.place_of(names),
            limit.source,
            f"limit: {same_name(names[0])}",
        )
