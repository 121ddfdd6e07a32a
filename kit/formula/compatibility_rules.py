"""The rules of the trade as data: which substances a rule means, from which amount, and what it says."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, cast

from kit.library.columns import number_or_none, split_list
from kit.library.naming import same_name
from kit.library.sources import COMMON_PRACTICE, FROM_MEMORY, source_text
from kit.resources import load_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.findings import Severity
    from kit.formula.expansion import Materials

RuleKind = Literal["pair", "missing", "alone", "layers", "with-water", "window"]
Counted = Literal["whole", "water", "oil"]
#: What marks a substance: ``inci:squalane``, ``role:emollient``, ``charge:nonionic``.
Tag = str


@dataclass(frozen=True, slots=True)
class Selector:
    """Which substances a rule means: those that bear all tags of at least one of the alternatives."""

    alternatives: tuple[frozenset[Tag], ...]

    @classmethod
    def read(cls, text: str) -> Selector:
        """Read "Carbomer; charge:anionic+role:thickener".

        Examples
        --------
        >>> Selector.read("Carbomer; role:chelator").means(frozenset({"inci:citric acid", "role:chelator"}))
        True
        """
        return cls(tuple(frozenset(_tag(part) for part in one.split("+")) for one in split_list(text)))

    def means(self, tags: frozenset[Tag]) -> bool:
        """Whether a substance with these tags is meant."""
        return any(alternative <= tags for alternative in self.alternatives)


@dataclass(frozen=True, slots=True)
class TradeRule:
    """One rule of the trade.

    Attributes
    ----------
    kind
        ``pair``: both are there. ``missing``: the one is there and none of the other. ``alone``: the one is above
        its amount. ``layers``: it is there and there are two layers. ``with-water``: it and water are there.
        ``window``: it has a pH window.
    one_above, other_above
        From which amount it counts. [% w/w of ``counted``]
    ph_low, ph_high
        The window; None where it is open on that side.
    holds_for
        For which products, as :func:`kit.library.condition.read_condition` reads it.
    sentence
        ``{one}``, ``{other}`` and ``{found}`` stand for what is found; of a window, only the reason.
    source
        In words.
    """

    key: str
    kind: RuleKind
    one: Selector
    other: Selector
    severity: Severity
    sentence: str
    source: str
    one_above: float = 0.0
    other_above: float = 0.0
    counted: Counted = "whole"
    ph_low: float | None = None
    ph_high: float | None = None
    holds_for: str = ""


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


def tags_of(name: str, materials: Materials) -> frozenset[Tag]:
    """What marks a substance; a name that nobody knows has only its name."""
    tags = {f"inci:{known}" for known in materials.names_for_rules(name)}
    ingredient = materials.ingredient(name)
    if ingredient is not None:
        tags.add(f"charge:{plain_letters(ingredient.charge)}")
        tags.update(f"role:{plain_letters(role)}" for role in ingredient.roles)
    return frozenset(tags)


@lru_cache(maxsize=1)
def trade_rules() -> tuple[TradeRule, ...]:
    """The rules of ``data/compatibility``."""
    return tuple(_rule(row) for row in load_table("compatibility").rows)


@lru_cache(maxsize=4096)
def rules_about(tags: frozenset[Tag]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The numbers of the rules that mean a substance with these tags: as the one, and as the other."""
    numbered = tuple(enumerate(trade_rules()))
    return (
        tuple(number for number, rule in numbered if rule.one.means(tags)),
        tuple(number for number, rule in numbered if rule.other.means(tags)),
    )


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


def windows(named: Iterable[str], tags: dict[str, frozenset[Tag]]) -> list[Window]:
    """The pH windows of the substances of a formula, each once."""
    rules = trade_rules()
    found = []
    for name in named:
        window = preservative_windows().get(plain_letters(name))
        if window is not None:
            found.append(window)
        found += [
            Window(name, rule.ph_low, rule.ph_high, rule.severity, rule.sentence, rule.source)
            for number in rules_about(tags[name])[0]
            if (rule := rules[number]).kind == "window"
        ]
    return found


def source_words(key: str) -> str:
    """The source of a finding as a person reads it beside the sentence: short where it is only habit or memory."""
    return key.replace("-", " ") if key in (COMMON_PRACTICE, FROM_MEMORY) else source_text(key)


def _tag(text: str) -> Tag:
    kind, colon, word = text.strip().partition(":")
    return f"{kind}:{plain_letters(word)}" if colon else f"inci:{same_name(kind)}"


def _rule(row: dict[str, str]) -> TradeRule:
    return TradeRule(
        key=row["key"],
        kind=cast("RuleKind", row["kind"]),
        one=Selector.read(row["one"]),
        other=Selector.read(row["other"]),
        severity=cast("Severity", row["severity"]),
        sentence=row["sentence"],
        source=source_words(row["source"]),
        one_above=number_or_none(row["one_above"]) or 0.0,
        other_above=number_or_none(row["other_above"]) or 0.0,
        counted=cast("Counted", row["layer"]),
        ph_low=number_or_none(row["ph_low"]),
        ph_high=number_or_none(row["ph_high"]),
        holds_for=row["holds_for"],
    )
