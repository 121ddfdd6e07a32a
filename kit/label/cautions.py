"""Cautions: those of the workshop, printed on papers for the maker, and those of the label, for the user."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal, cast

from kit.formula.requirements import known_by_rules
from kit.library.columns import split_list
from kit.library.condition import read_condition
from kit.library.naming import same_name
from kit.library.sources import source_text
from kit.resources import load_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from kit.formula.expansion import Materials
    from kit.library.description import Description
    from kit.library.table import Jurisdiction

#: Asked for whenever the substance is there; asked for under a condition that the kit cannot know; a habit.
Duty = Literal["must", "if", "habit"]

SHAKE = "Shake well before each use."


@dataclass(frozen=True, slots=True)
class LabelCaution:
    """One caution for a label, and where it comes from.

    Attributes
    ----------
    quoted
        Whether the sentence is the law's own wording, to be printed as it is.
    """

    sentence: str
    duty: Duty
    source: str
    quoted: bool = False


def cautions_for(substances: Iterable[str], materials: Materials) -> list[str]:
    """The workshop's cautions for these substances: theirs and their roles' first, then the general ones."""
    present = list(substances)
    names = {known for name in present for known in materials.names_for_rules(name)}
    roles = {role for name in present if (found := materials.ingredient(name)) for role in found.roles}
    special, general = [], []
    for row in load_table("cautions").rows:
        about, of_role = _known_names(row["substances"]), set(split_list(row["roles"]))
        if not about and not of_role:
            general.append(row["sentence"])
        elif about & names or of_role & roles:
            special.append(row["sentence"])
    return special + general


def label_cautions(
    substances: Mapping[str, float],
    materials: Materials,
    jurisdiction: Jurisdiction,
    description: Description,
    on: str = "",
) -> list[LabelCaution]:
    """The cautions that a product with these substances may carry on its label. [% w/w of the product]

    What the law asks for comes first, then what it asks for under a condition that nobody told, then habits of the
    trade. ``on`` is the day on which the product is placed on the market, as ISO text; empty: today.
    """
    day = on or date.today().isoformat()
    present = known_by_rules(substances, materials)
    found = []
    for row in load_table("label-cautions").rows:
        about = {name for key in _known_names(row["substances"]) for name in present.get(key, ())}
        percent = sum(substances[name] for name in about)
        level = float(row["over_percent"] or 0)
        holds = read_condition(row["holds_for"]).holds(description)
        in_force = row["from"] <= day and (not row["until"] or day <= row["until"])
        if (
            row["jurisdiction"] not in ("both", jurisdiction)
            or (row["substances"] and percent <= level)
            or not in_force
            or holds is False
        ):
            continue
        source = source_text(row["source_key"])
        entry = row["entry"].removeprefix(f"{source.rpartition(', ')[2]}, ")
        duty = cast("Duty", "if" if holds is None and row["duty"] == "must" else row["duty"])
        cited = f"{source}, {entry}" if entry else source
        found.append(LabelCaution(row["sentence"], duty, cited, row["quoted"] == "yes"))
    return sorted(found, key=lambda caution: ("must", "if", "habit").index(caution.duty))


def _known_names(cell: str) -> set[str]:
    """The names in a cell, as rules know them."""
    return {same_name(name) for name in split_list(cell)}
