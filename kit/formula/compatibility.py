"""What gets on badly with what: the rules of the trade, and the pH at which things are usually used.

A formula is expanded once for all checks, to what the whole and each kind of layer hold. A rule of the trade is a
reason to try a small batch; it proves nothing. Every finding says where the rule is from.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.formula.compatibility_rules import TradeRule, rules_about, source_words, tags_of, trade_rules
from kit.formula.ph_windows import windows_apart
from kit.formula.requirements import EDGE, known_by_rules
from kit.library.condition import read_condition
from kit.library.description import TELL
from kit.liquids.alcohol import ETHANOL
from kit.visible_text import listed, plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from kit.formula.compatibility_rules import Need
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.description import Description


#: So many substances are named in a sentence, at most.
MOST_NAMES = 5

#: What a plant's water or juice is called; both are nearly all water, and microbes grow in them as in any other.
_WATERY = (" water", " juice")


@dataclass(frozen=True)
class Contents:
    """A formula expanded to substances; lines without a percent are left out.

    Attributes
    ----------
    lines
        For each line that counts: its place, its layer, its percent of the whole, and what 100 g of it hold.
    place
        Whose rules count, in words; empty where nobody said.
    """

    formula: Formula
    materials: Materials
    lines: tuple[tuple[Place, str, float, Mapping[str, float]], ...]
    place: str = ""

    @classmethod
    def of(cls, formula: Formula, materials: Materials, place: str = "") -> Contents:
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
            place,
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

    def rules_about(self, name: str) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """The numbers of the rules of the trade that mean a substance: as the one, and as the other."""
        return rules_about(self.tags[name])

    def has(self, need: Need) -> bool:
        """Whether there are two layers, or water, or much of it, or oil without water."""
        if need == "layers":
            return self.layer_percent("water") > 0 and self.layer_percent("oil") > 0
        if need == "no-water":
            return self.water <= 0 and self.layer_percent("oil") > 0
        return self.water > (SYRUP if need == "much-water" else 0)

    def layer_percent(self, kind: str) -> float:
        """How much of the whole a layer is. [% w/w]"""
        return sum(percent for _, layer, percent, _ in self.lines if layer == kind)

    def percents(self, counted: str) -> dict[str, float]:
        """Substance → percent of the whole or of a layer. [% w/w]"""
        if counted == "whole":
            return self.whole
        if counted not in self._in_layers:
            mass = self.layer_percent(counted)
            self._in_layers[counted] = _summed(self.lines, counted, 100.0 / mass) if mass else {}
        return self._in_layers[counted]

    @cached_property
    def _in_layers(self) -> dict[str, dict[str, float]]:
        """What was summed of each layer."""
        return {}

    def in_layer(self, names: Iterable[str], kinds: Iterable[str]) -> bool:
        """Whether any of these substances stands in a layer of one of these kinds."""
        layers = set(kinds)
        return any(self.lines[n][1] in layers for name in set(names) for n in self._bringing.get(name, ()))

    def place_of(self, names: Iterable[str]) -> Place:
        """The line that brings most of these substances."""
        wanted = dict.fromkeys(names)
        numbers = {n for name in wanted for n in self._bringing.get(name, ())}
        amounts = [(self.lines[n][2] * sum(self.lines[n][3].get(name, 0.0) for name in wanted), -n) for n in numbers]
        most, number = max(amounts, default=(0.0, 0))
        return self.lines[-number][0] if most > 0 else Place()

    @cached_property
    def _bringing(self) -> dict[str, list[int]]:
        """Substance → the numbers of the lines that bring it."""
        found: dict[str, list[int]] = {}
        for number, (_, _, _, parts) in enumerate(self.lines):
            for name in parts:
                found.setdefault(name, []).append(number)
        return found


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


#: So much water, at most, is in a product whose sugar takes it from the microbes (common practice). [% w/w]
SYRUP = 15.0

#: ISO 29621:2017, criteria of which any one may make a product one of low microbiological risk, after a qualified
#: person's assessment.
LOW_RISK_ALCOHOL = 20.0

LOW_RISK_PH = (3.0, 10.0)

#: From this much on a product is taken to be an oxidising one; the standard names no figure (a judgement). [% w/w]
LOW_RISK_PEROXIDE = 1.0


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
        as_one, as_other = contents.rules_about(name)
        for number in as_one:
            ones.setdefault(number, []).append(name)
        for number in as_other:
            others.setdefault(number, []).append(name)
    rules, description = trade_rules(), contents.formula.description
    spoken: list[Finding] = []
    waiting: dict[TradeRule, list[str]] = {}
    for number in sorted(ones):
        rule = rules[number]
        applies = rule.applies_to(description, contents.place)
        found = None if applies is False else _spoken(rule, ones[number], others.get(number, []), contents)
        if found is not None and applies is None:
            if rule.severity != "note":
                waiting[rule] = ones[number]
        elif found is not None:
            spoken.append(found)
    return [*spoken, *_to_tell(waiting, description), *windows_apart(contents)]


def _to_tell(waiting: Mapping[TradeRule, Sequence[str]], description: Description) -> Iterator[Finding]:
    """One note for all rules of the trade that rest on what the description does not say."""
    if not waiting:
        return
    asks = dict.fromkeys(axis for rule in waiting for axis in read_condition(rule.holds_for).asks(description))
    about = list(dict.fromkeys(name for names in waiting.values() for name in names if plain_letters(name) != "aqua"))
    names = listed([*about[:MOST_NAMES], *(["others"] if len(about) > MOST_NAMES else [])])
    many = "A rule" if len(waiting) == 1 else f"{len(waiting)} rules"
    yield Finding(
        "note",
        f"{many} of the trade{f' about {names}' if names else ''} may speak here. "
        "That rests on what the description does not say: "
        f"{listed([TELL[axis] for axis in asks])}. Tell it there.",
        Place(field="description"),
        "common practice",
        "tell: rules of the trade",
    )


def _spoken(rule: TradeRule, ones: list[str], others: list[str], contents: Contents) -> Finding | None:
    """What a rule says about the substances that it means, if it speaks at all."""
    if rule.kind == "window":
        return None
    percents = contents.percents(rule.counted)
    amount = sum(percents.get(name, 0.0) for name in ones)
    others = [name for name in others if name not in ones]
    against = sum(percents.get(name, 0.0) for name in others)
    if (
        amount <= rule.one_above
        or (rule.kind == "pair" and against <= rule.other_above)
        or (rule.kind == "missing" and others)
        or not all(contents.has(need) for need in rule.needs)
    ):
        return None
    ones = [name for name in ones if percents.get(name, 0.0) > 0]
    worded = in_number(rule.sentence, len(ones))
    sentence = worded.format(one=listed(ones), other=listed(others), found=f"{amount:.3g} %")
    return Finding(rule.severity, sentence, contents.place_of(ones), rule.source, f"trade: {rule.key}")


_OF_ONE = re.compile(r"\{one\} (is|has|does|[a-z]+?s)\b")
_OF_MANY = {"is": "are", "has": "have", "does": "do"}


def in_number(sentence: str, count: int) -> str:
    """A sentence about one substance, with its verb as it is of several where there are several.

    Examples
    --------
    >>> in_number("{one} blurs the line.", 2), in_number("{one} bleaches.", 2), in_number("{one} is dry.", 1)
    ('{one} blur the line.', '{one} bleach.', '{one} is dry.')
    """
    if count < 2:
        return sentence

    def of_many(found: re.Match[str]) -> str:
        verb = found[1]
        bare = verb[:-2] if verb.endswith(("ches", "shes", "sses")) else verb[:-1]
        return f"{{one}} {_OF_MANY.get(verb, bare)}"

    return _OF_ONE.sub(of_many, sentence, count=1)


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
    if contents.whole.get("Hydrogen Peroxide", 0.0) >= LOW_RISK_PEROXIDE:
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
