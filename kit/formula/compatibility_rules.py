"""The rules of the trade as data: which substances a rule means, from which amount, and what it says."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, cast, get_args

from kit.library.columns import number_or_none, split_list
from kit.library.condition import read_condition
from kit.library.naming import same_name
from kit.library.sources import COMMON_PRACTICE, FROM_MEMORY, source_text
from kit.library.table import JURISDICTIONS
from kit.resources import load_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from kit.findings import Severity
    from kit.formula.expansion import Materials
    from kit.library.description import Description
    from kit.library.table import Jurisdiction

RuleKind = Literal["pair", "missing", "alone", "window", "product-ph"]
Need = Literal["layers", "with-water", "much-water", "no-water"]
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
        its amount. ``window``: it has a pH window. ``product-ph``: the product itself has one.
    needs
        What must be so besides: ``layers``, that there are two; ``with-water``, that there is some;
        ``much-water``, that there is more than a thick syrup has; ``no-water``, that there is oil and no water.
    one_above, other_above
        From which amount it counts. [% w/w of ``counted``]
    ph_low, ph_high
        The window; None where it is open on that side.
    holds_for
        For which products, as :func:`kit.library.condition.read_condition` reads it.
    jurisdiction
        Of which place its source is, where it is no rule of the whole trade.
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
    needs: tuple[Need, ...] = ()
    counted: Counted = "whole"
    ph_low: float | None = None
    ph_high: float | None = None
    holds_for: str = ""
    jurisdiction: str = ""

    def applies_to(self, description: Description, place: str = "") -> bool | None:
        """Whether it speaks of such a product; None where the description leaves that open.

        ``place`` is whose rules count, in words; empty where nobody said.

        What only excludes products speaks of all until the description names one of these.
        """
        if self.jurisdiction and place and JURISDICTIONS[cast("Jurisdiction", self.jurisdiction)] != place:
            return False
        condition = read_condition(self.holds_for)
        found = condition.holds(description)
        if found is None and all(
            clause.mark == "not" for clause in condition.clauses if clause.holds(description) is None
        ):
            return True
        return found


def tags_of(name: str, materials: Materials) -> frozenset[Tag]:
    """What marks a substance; a name that nobody knows has only its name."""
    tags = {f"inci:{known}" for known in materials.names_for_rules(name)}
    tags.update(f"last:{word}" for word in plain_letters(name).split()[-1:])
    ingredient = materials.ingredient(name)
    if ingredient is not None:
        tags.add(f"charge:{plain_letters(ingredient.charge)}")
        tags.add(f"phase:{plain_letters(ingredient.phase)}")
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


def source_words(key: str) -> str:
    """The source of a finding as a person reads it beside the sentence: short where it is only habit or memory."""
    return key.replace("-", " ") if key in (COMMON_PRACTICE, FROM_MEMORY) else source_text(key)


def _tag(text: str) -> Tag:
    kind, colon, word = text.strip().partition(":")
    return f"{kind}:{plain_letters(word)}" if colon else f"inci:{same_name(kind)}"


def _rule(row: dict[str, str]) -> TradeRule:
    first, *needs = row["kind"].split("+")
    if first in get_args(Need):
        first, needs = "alone", [first, *needs]
    return TradeRule(
        key=row["key"],
        kind=cast("RuleKind", first),
        needs=cast("tuple[Need, ...]", tuple(needs)),
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
        jurisdiction=row["jurisdiction"],
    )
