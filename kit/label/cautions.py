"""Cautions: those of the workshop, printed on papers for the maker, and those of the label, for the user."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, cast

from kit.library.columns import split_list
from kit.library.sources import source_text
from kit.resources import load_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from kit.formula.expansion import Materials
    from kit.library.table import Jurisdiction

#: Asked for whenever the substance is there; asked for under a condition that the kit cannot know; a habit.
Duty = Literal["must", "if", "habit"]

SHAKE = "Shake well before each use."


@dataclass(frozen=True, slots=True)
class LabelCaution:
    """One caution for a label, and where it comes from."""

    sentence: str
    duty: Duty
    source: str


def cautions_for(substances: Iterable[str], materials: Materials) -> list[str]:
    """The workshop's cautions for these substances: theirs and their roles' first, then the general ones."""
    present = list(substances)
    names = {plain_letters(name) for name in present}
    roles = {role for name in present if (found := materials.ingredient(name)) for role in found.roles}
    special, general = [], []
    for row in load_table("cautions").rows:
        about, of_role = _plain_names(row["substances"]), set(split_list(row["roles"]))
        if not about and not of_role:
            general.append(row["sentence"])
        elif about & names or of_role & roles:
            special.append(row["sentence"])
    return special + general


def label_cautions(substances: Mapping[str, float], jurisdiction: Jurisdiction) -> list[LabelCaution]:
    """The cautions that a product with these substances may carry on its label. [% w/w of the product]

    What the law asks for whenever the substance is there comes first, then what it asks for under a condition,
    then habits of the trade.
    """
    found = []
    for row in load_table("label-cautions").rows:
        about = _plain_names(row["substances"])
        percent = sum(share for name, share in substances.items() if plain_letters(name) in about)
        level = float(row["over_percent"] or 0)
        if row["jurisdiction"] not in ("both", jurisdiction) or (about and percent <= level):
            continue
        source = source_text(row["source_key"])
        entry = row["entry"].removeprefix(f"{source.rpartition(', ')[2]}, ")
        found.append(
            LabelCaution(row["sentence"], cast("Duty", row["duty"]), f"{source}, {entry}" if entry else source)
        )
    return sorted(found, key=lambda caution: ("must", "if", "habit").index(caution.duty))


def _plain_names(cell: str) -> set[str]:
    """The names in a cell, in a form in which capitals and signs make no difference."""
    return {plain_letters(name) for name in split_list(cell)}
