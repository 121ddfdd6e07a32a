"""The fragrance allergens that a European ingredient list names, and the level above which it does."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, cast

from kit.library.columns import split_list
from kit.library.sources import source_text
from kit.resources import load_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from datetime import date

    from kit.library.description import ProductKind

AllergenList = Literal["first", "2023", "removed"]

#: Two levels closer than this, in parts of the larger one, are the same level typed in two ways.
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Allergen:
    """One entry of the list.

    Attributes
    ----------
    label_name
        The name to print, which for a group of substances is the name of the group.
    names
        The INCI names that the entry covers.
    other_names
        More words for them, from memory; they only help to find the entry.
    cas
        Chemical Abstracts numbers.
    which
        ``first`` for the list before 2023, ``2023`` for what Regulation (EU) 2023/1545 added, ``removed`` for
        what is no longer in the annex.
    entry, source, name_source
        Annex and entry, where they were read, and where the name to print was read.
    """

    label_name: str
    names: tuple[str, ...]
    other_names: tuple[str, ...]
    cas: tuple[str, ...]
    which: AllergenList
    entry: str
    source: str
    name_source: str


@lru_cache(maxsize=1)
def allergens() -> tuple[Allergen, ...]:
    """Every entry of ``data/allergens``, in the order of the table."""
    return tuple(
        Allergen(
            label_name=row["label_name"],
            names=split_list(row["names"]),
            other_names=split_list(row["other_names"]),
            cas=split_list(row["cas"]),
            which=cast("AllergenList", row["list"]),
            entry=row["entry"],
            source=source_text(row["source_key"]),
            name_source=source_text(row["name_source_key"]),
        )
        for row in load_table("allergens").rows
    )


@lru_cache(maxsize=1)
def _by_name() -> dict[str, Allergen]:
    found: dict[str, Allergen] = {}
    for allergen in allergens():
        for name in (allergen.label_name, *allergen.names, *allergen.other_names):
            found.setdefault(plain_letters(name), allergen)
    numbers = Counter(number for allergen in allergens() for number in allergen.cas)
    for allergen in allergens():
        for number in allergen.cas:
            if numbers[number] == 1:
                found.setdefault(plain_letters(number), allergen)
    return found


def allergen_named(name: str) -> Allergen | None:
    """The entry that a name or a CAS number belongs to; None where there is none, or where two share the number.

    Examples
    --------
    >>> allergen_named("lavandula angustifolia oil").label_name
    'Lavandula Oil/Extract'
    >>> allergen_named("78-70-6").label_name
    'Linalool'
    """
    return _by_name().get(plain_letters(name))


def nearest_allergens(name: str, limit: int = 3) -> list[str]:
    """Names to print that a mistyped name may have meant, likeliest first.

    Examples
    --------
    >>> nearest_allergens("Linalol")[0]
    'Linalool'
    """
    from difflib import get_close_matches

    close = get_close_matches(plain_letters(name), _by_name(), n=3 * limit, cutoff=0.75)
    return list(dict.fromkeys(_by_name()[key].label_name for key in close))[:limit]


def threshold(product_kind: ProductKind) -> float:
    """The level above which an allergen is named. [% w/w of the finished product]

    References
    ----------
    .. [1] Regulation (EC) No 1223/2009, Annex III, entries 45, 67 to 92 and those of Regulation (EU) 2023/1545.

    Examples
    --------
    >>> threshold("leave-on"), threshold("rinse-off")
    (0.001, 0.01)
    """
    levels = load_table("allergens").about["thresholds"]
    return float(levels["leave_on" if product_kind == "leave-on" else "rinse_off"])


def why_named(product_kind: ProductKind) -> str:
    """When an allergen is named, and who knows how much of it there is, in words."""
    return (
        f"In the European Union an ingredient list names each listed allergen above {threshold(product_kind):g} % of "
        f"a {product_kind} product, also where it came inside a perfume or an oil. How much is in there only the "
        "supplier's allergen statement says; copy its figures."
    )


def exceeds(percent: float, level: float) -> bool:
    """Whether a percent lies above a level, not merely on it.

    Examples
    --------
    >>> exceeds(0.1 * 1 / 100, 0.001), exceeds(0.00101, 0.001)
    (False, True)
    """
    return percent > level * (1 + SAME)


def old_label_dates() -> tuple[date, date]:
    """The last days for labels by the list before 2023: to be placed on the market, and to be made available."""
    dates = load_table("allergens").about["dates"]
    return dates["placed_on_the_market_until"], dates["made_available_until"]
