"""What gets on badly with what: the rules of the trade, and the pH at which things are usually used.

A formula is expanded once for all checks, to what the whole and each kind of layer hold. A rule of the trade is a
reason to try a small batch; it proves nothing. Every finding says where the rule is from.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.formula.compatibility_rules import (
    TradeRule,
    Window,
    preservative_windows,
    rules_about,
    source_words,
    tags_of,
    trade_rules,
    windows,
)
from kit.formula.requirements import EDGE, known_by_rules, meant_by
from kit.library.condition import read_condition
from kit.library.limit import LOCAL_RULES, Limits
from kit.library.naming import same_name
from kit.liquids.alcohol import ETHANOL
from kit.visible_text import listed, plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.limit import Limit


#: What a plant's water or juice is called; both are nearly all water, and microbes grow in them as in any other.
_WATERY = (" water", " juice")


@dataclass(frozen=True)
class Contents:
    """A formula expanded to substances; lines without a percent are left out.

    Attributes
    ----------
    lines
        For each line that counts: its place, its layer, its percent of the whole, and what 100 g of it hold.
    """

    formula: Formula
    materials: Materials
    lines: tuple[tuple[Place, str, float, Mapping[str, float]], ...]

    @classmethod
    def of(cls, formula: Formula, materials: Materials) -> Contents:
        """Expand a formula.

        Raises
        ------
        CompositionError
            A blend or stock that is part of itself.
        """
        return cls(
            formula,
            materials,
            tuple(
                (Place(p, i, "material"), formula.phases[p].kind, percent, materials.substances(line.material))
                for p, i, line, percent in formula.each_line()
                if percent is not None and percent > 0 and line.material.strip()
            ),
        )

    @cached_property
    def whole(self) -> dict[str, float]:
        """Substance → percent of the whole. [% w/w]"""
        return _summed(self.lines, None, 1.0)

    @cached_property
    def water(self) -> float:
        """Water, with the waters and juices of plants counted as such. [% w/w of the whole]

        Examples
        --------
        >>> from kit.demos import demo
        >>> from kit.formula.expansion import Materials
        >>> from kit.library.library import Library
        >>> contents = Contents.of(demo(), Materials.of(demo(), Library.bundled()))
        >>> contents.water == contents.whole["Aqua"]
        True
        """
        names = {name: plain_letters(name) for name in self.whole}
        return sum(self.whole[name] for name, plain in names.items() if plain == "aqua" or plain.endswith(_WATERY))

    @cached_property
    def tags(self) -> dict[str, frozenset[str]]:
        """Substance → what marks it; see :func:`kit.formula.compatibility_rules.tags_of`."""
        return {name: tags_of(name, self.materials) for name in self.whole}

    @cached_property
    def known_by_rules(self) -> dict[str, list[str]]:
        """The name by which rules know a substance → the substances here that it means."""
        return known_by_rules(self.whole, self.materials)

    def layer_percent(self, kind: str) -> float:
        """How much of the whole a layer is. [% w/w]"""
        return sum(percent for _, layer, percent, _ in self.lines if layer == kind)

    def percents(self, counted: str) -> dict[str, float]:
        """Substance → percent of the whole or of a layer. [% w/w]"""
        if counted == "whole":
            return self.whole
        mass = self.layer_percent(counted)
        return _summed(self.lines, counted, 100.0 / mass) if mass else {}

    def in_layer(self, names: Iterable[str], kinds: Iterable[str]) -> bool:
        """Whether any of these substances stands in a layer of one of these kinds."""
        wanted, layers = set(names), set(kinds)
        return any(kind in layers and not wanted.isdisjoint(parts) for _, kind, _, parts in self.lines)

    def place_of(self, names: Iterable[str]) -> Place:
        """The line that brings most of these substances."""
        wanted = tuple(names)
        amounts = [
            (percent * sum(parts.get(name, 0.0) for name in wanted), -n)
            for n, (_, _, percent, parts) in enumerate(self.lines)
        ]
        most, number = max(amounts, default=(0.0, 0))
        return self.lines[-number][0] if most > 0 else Place()


def _summed(
    lines: Iterable[tuple[Place, str, float, Mapping[str, float]]], kind: str | None, scale: float
) -> dict[str, float]:
    found: dict[str, float] = {}
    for _, layer, percent, parts in lines:
        if kind is None or layer == kind:
            share = percent * scale / 100.0
            for name, part in parts.items():
                found[name] = found.get(name, 0.0) + share * part
    return found


#: ISO 29621:2017, criteria of which any one may make a product one of low microbiological risk, after a qualified
#: person's assessment.
LOW_RISK_ALCOHOL = 20.0

LOW_RISK_PH = (3.0, 10.0)


def compatibility_findings(contents: Contents) -> list[Finding]:
    """Every rule of the trade that speaks about a formula, in the order of the table.

    Parameters
    ----------
    contents
        The formula, expanded to substances: a stock or a blend counts by what it holds.

    Returns
    -------
    Findings without a pH; see :func:`ph_findings` for those with one.
    """
    ones: dict[int, list[str]] = {}
    others: dict[int, list[str]] = {}
    for name in contents.whole:
        as_one, as_other = rules_about(contents.tags[name])
        for number in as_one:
            ones.setdefault(number, []).append(name)
        for number in as_other:
            others.setdefault(number, []).append(name)
    rules = trade_rules()
    spoken = [_spoken(rules[number], ones[number], others.get(number, []), contents) for number in sorted(ones)]
    return [*filter(None, spoken), *_windows_apart(contents)]


def refuse_odd_ph(ph: float) -> None:
    """Refuse, with a RangeError, a pH that no meter shows."""
    if not 0 <= ph <= 14:
        msg = f"A pH of {ph:g} is not believable. Type what the meter or the strip shows, between 0 and 14."
        raise RangeError(msg)


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
        )
        for window in windows(contents.whole, contents.tags)
        if not window.holds(ph)
    ]
    return [*_ph_limits(contents, ph, limits), *outside]


def ph_question(contents: Contents) -> list[Finding]:
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
            f"Measure the pH of the water layer and type it beside the findings: {words}.",
            Place(field="ph"),
            found[0].source,
            "ph",
        )
    ]


def _spoken(rule: TradeRule, ones: list[str], others: list[str], contents: Contents) -> Finding | None:
    """What a rule says about the substances that it means, if it speaks at all."""
    if rule.kind == "window":
        return None
    percents = contents.percents(rule.counted)
    amount = sum(percents.get(name, 0.0) for name in ones)
    others = [name for name in others if name not in ones]
    against = sum(percents.get(name, 0.0) for name in others)
    two_layers = contents.layer_percent("water") and contents.layer_percent("oil")
    if (
        amount <= rule.one_above
        or (rule.kind == "pair" and against <= rule.other_above)
        or (rule.kind == "missing" and others)
        or (rule.kind == "layers" and not two_layers)
        or (rule.kind == "with-water" and contents.water <= 0)
        or read_condition(rule.holds_for).holds(contents.formula.description) is False
    ):
        return None
    sentence = rule.sentence.format(one=listed(ones), other=listed(others), found=f"{amount:.3g} %")
    return Finding(rule.severity, sentence, contents.place_of(ones), rule.source, f"trade: {rule.key}")


def _windows_apart(contents: Contents) -> Iterator[Finding]:
    """Two substances whose pH windows do not meet: no pH serves both."""
    seen = set()
    for one, other in combinations(windows(contents.whole, contents.tags), 2):
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
        )


def _low(window: Window) -> float:
    return 0.0 if window.low is None else window.low


def _high(window: Window) -> float:
    return 14.0 if window.high is None else window.high


def _ph_limits(contents: Contents, ph: float, limits: Iterable[Limit]) -> Iterator[Finding]:
    known = limits if isinstance(limits, Limits) else Limits(limits)
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


def low_risk_findings(contents: Contents, ph: float | None = None) -> list[Finding]:
    """Whether a criterion of ISO 29621 is met: a note for the person who judges it, never a clearance.

    Alcohol is compared in % w/w, which is less than % by volume: a product at 20 % w/w is above 20 % by volume.
    Where a substance is not in the library, nobody knows whether it brings water, and nothing is said of that mark.

    References
    ----------
    .. [1] ISO 29621:2017, Cosmetics - Microbiology - Guidelines for the risk assessment and identification of
       microbiologically low-risk products: pH 3.0 or below, 10.0 or above, alcohol 20 % or more, no water,
       oxidising products (the edges from memory: a summary that was read leaves them out).
    """
    met = []
    known = all(contents.materials.get(name) is not None for name in contents.whole)
    if contents.whole and known and contents.formula.is_complete and contents.water <= 0:
        met.append("no water was written in it")
    alcohol = sum(contents.whole.get(name, 0.0) for name in ETHANOL)
    if alcohol >= LOW_RISK_ALCOHOL - EDGE:
        met.append(f"it holds {alcohol:.3g} % w/w alcohol, {LOW_RISK_ALCOHOL:g} % or more")
    if ph is not None and not LOW_RISK_PH[0] < ph < LOW_RISK_PH[1]:
        met.append(f"its pH is {ph:g}, {'3 or below' if ph <= LOW_RISK_PH[0] else '10 or above'}")
    if contents.whole.get("Hydrogen Peroxide", 0.0) > 0:
        met.append("it holds an oxidiser")
    if not met:
        return []
    return [
        Finding(
            "note",
            f"ISO 29621 names a mark of products with a low microbiological risk that is met here: {'; '.join(met)}. "
            "Whether that holds for this product, its pack and its use, a qualified person must judge; wet hands and "
            "bathrooms bring water and microbes in.",
            Place(field="total"),
            source_words("iso-29621"),
        )
    ]
