"""What a product is, in words that rules can read: where it is used, how it is applied, for whom."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

from kit.findings import Finding, Place, Severity
from kit.inputs import Choice, Several, Text, asked, refuse_unknown_words
from kit.library.columns import split_list
from kit.resources import load_table

if TYPE_CHECKING:
    from collections.abc import Iterable

ProductKind = Literal["leave-on", "rinse-off"]

PRODUCT_KINDS: tuple[ProductKind, ...] = ("leave-on", "rinse-off")

USED_ON = (
    "hair", "scalp", "face", "eye area", "lips", "mouth", "body", "underarms", "hands", "feet", "nails",
    "mucous membrane",
)  # fmt: skip

#: How it leaves its pack and reaches the skin, and the words for it.
APPLIED = {
    "poured": "poured from the bottle",
    "pumped": "pumped into the hand",
    "pump spray": "sprayed by a pump",
    "aerosol": "sprayed from an aerosol can",
    "spread": "spread from a jar or tube",
    "roll-on": "rolled on",
    "loose powder": "as a loose powder",
}

#: For whom; children are those of 3 to 12 years.
USERS = ("under 3", "children", "adults", "professional")

LAYERING = {
    "two layers": "two layers, shaken",
    "emulsified": "emulsified",
    "one phase": "one phase",
}

#: Of those, what stands in no layers that the eye can part.
ONE_PIECE = ("emulsified", "one phase")

#: Words of rules that stand for several words of a description.
GROUPS = {
    "mucous membrane": ("mucous membrane", "mouth", "lips", "eye area"),
    "spray": ("pump spray", "aerosol"),
    "breathed in": ("pump spray", "aerosol", "loose powder"),
}


@dataclass(frozen=True, slots=True)
class ProductType:
    """A kind of product that rules speak of.

    Attributes
    ----------
    lineage
        Its own name, then that of the wider type of which it is part, and so on.
    product_kind
        Leave-on or rinse-off; empty where it can be either.
    used_on
        Where it can be used, the usual place first.
    """

    name: str
    lineage: tuple[str, ...]
    product_kind: str
    used_on: tuple[str, ...]
    words: str


@lru_cache(maxsize=1)
def product_types() -> dict[str, ProductType]:
    """The kinds of product of ``data/product-types``, by name."""
    rows = {row["type"]: row for row in load_table("product-types").rows}
    found = {}
    for name, row in rows.items():
        lineage, wider = [name], row["part_of"]
        while wider:
            lineage.append(wider)
            wider = rows[wider]["part_of"]
        found[name] = ProductType(name, tuple(lineage), row["product_kind"], split_list(row["used_on"]), row["words"])
    return found


NOT_SAID = "not said"


def _types() -> dict[str, str]:
    return {"": NOT_SAID, **{name: name for name in product_types()}}


@dataclass(frozen=True, slots=True)
class Description:
    """What a product is. What is not said stays open, and a rule that rests on it says so.

    Examples
    --------
    >>> Description("leave-on", "mouth rinse").contradictions[0].sentence
    'A mouth rinse is a rinse-off product, and the description says leave-on. Mend one of the two.'
    """

    product_kind: ProductKind = asked(
        "Product", Choice({kind: kind for kind in PRODUCT_KINDS}), "leave-on", help="Stays on, or is washed off."
    )
    product_type: str = asked("What it is", Choice(_types()), "", help="Limits and warnings depend on it.")
    used_on: tuple[str, ...] = asked(
        "Used on", Several(USED_ON, "ticks"), (), help="Every part of the body it is meant for."
    )
    applied: str = asked("How it is applied", Choice({"": NOT_SAID, **APPLIED}), "")
    users: tuple[str, ...] = asked("For whom", Several(USERS, "ticks"), (), help="Children are those of 3 to 12 years.")
    layering: str = asked("In the bottle", Choice({"": NOT_SAID, **LAYERING}), "")
    body_part: str = asked("More about its use", Text(), "", example="dry ends, after swimming")

    def __post_init__(self) -> None:
        refuse_unknown_words(self)

    @property
    def is_one_piece(self) -> bool:
        """Whether it is said to stand in no layers: emulsified, or one phase."""
        return self.layering in ONE_PIECE

    @property
    def words(self) -> str:
        """In one line: "leave-on hair lotion · pump spray · adults · two layers"."""
        kind = " ".join(filter(None, [self.product_kind, self.product_type]))
        parts = [kind, ", ".join(self.used_on), self.applied, ", ".join(self.users), self.layering, self.body_part]
        return " · ".join(filter(None, parts))

    @property
    def contradictions(self) -> list[Finding]:
        """What in it cannot be true together, a sentence each."""
        known = product_types().get(self.product_type)
        said: list[tuple[Severity, str]] = []
        if known is not None and known.product_kind not in ("", self.product_kind):
            said.append(
                (
                    "stop",
                    f"A {known.name} is a {known.product_kind} product, and the description says {self.product_kind}.",
                )
            )
        if known is not None and known.used_on and self.used_on and not {*known.used_on} & {*self.used_on}:
            places, used = " or ".join(known.used_on), ", ".join(self.used_on)
            said.append(("caution", f"A {known.name} is for {places}, and the description says it is used on {used}."))
        if self.applied == "loose powder" and self.layering in ("two layers", "emulsified"):
            said.append(("stop", "A loose powder has no layers of oil and water."))
        return [
            Finding(severity, f"{one} Mend one of the two.", Place(field="description"), matter="description")
            for severity, one in said
        ]

    def ways(self, axes: tuple[str, ...]) -> list[Description]:
        """Every product that it may be, by what these inputs leave open; itself where they leave nothing open."""
        found = [self]
        for axis in axes:
            if not getattr(self, axis):
                found = [replace(one, **{axis: value}) for one in found for value in _values(axis)]
        return [one for one in found if not one.contradictions]


def _values(axis: str) -> list[Any]:
    if axis in ("used_on", "users"):
        return [(word,) for word in (USED_ON if axis == "used_on" else USERS)]
    words: dict[str, Iterable[str]] = {"product_type": product_types(), "applied": APPLIED, "layering": LAYERING}
    return list(words[axis])


#: A product of which nothing is said but that it stays on.
NOTHING_SAID = Description()

#: Every word of a rule, and the input of a description that it is about.
AXES: dict[str, str] = {
    **dict.fromkeys(PRODUCT_KINDS, "product_kind"),
    **dict.fromkeys(product_types(), "product_type"),
    **dict.fromkeys(USED_ON, "used_on"),
    **dict.fromkeys([*APPLIED, "spray", "breathed in"], "applied"),
    **dict.fromkeys(USERS, "users"),
    **dict.fromkeys(LAYERING, "layering"),
}

#: What to tell, by the input that leaves it open.
TELL = {
    "product_type": "what it is",
    "used_on": "what it is used on",
    "applied": "how it is applied",
    "users": "for whom it is",
    "layering": "whether it is meant to stand in layers",
}
