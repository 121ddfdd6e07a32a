"""Cautions: those of the workshop, printed on papers for the maker, and those of the label, for the user."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, cast

from kit.findings import Finding, Place
from kit.formula.requirements import known_by_rules
from kit.iso_dates import today
from kit.library.columns import split_list
from kit.library.condition import read_condition
from kit.library.description import TELL
from kit.library.naming import same_name
from kit.library.sources import is_firm, source_text
from kit.resources import load_table
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

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
    asks
        The inputs of the description that would settle whether it is asked for; empty where they do.
    """

    sentence: str
    duty: Duty
    source: str
    quoted: bool = False
    asks: tuple[str, ...] = ()

    @property
    def said(self) -> str:
        """The sentence, in quotation marks where it is the law's own."""
        return f"“{self.sentence}”" if self.quoted else self.sentence


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

    What the law asks for comes first, its own words before ours, then what it asks for under a condition that nobody
    told, then habits of the trade. A caution for some products only, whatever is in them, needs a description that
    says that this is one of them. ``on`` is the day on which the product is placed on the market, as ISO text; empty:
    today.
    """
    day = on or today()
    present = known_by_rules(substances, materials)
    found = []
    for row in load_table("label-cautions").rows:
        about = {name for key in _known_names(row["substances"]) for name in present.get(key, ())}
        percent = sum(substances[name] for name in about)
        level = float(row["over_percent"] or 0)
        condition = read_condition(row["holds_for"])
        holds, asks = condition.holds(description), condition.asks(description)
        in_force = row["from"] <= day and (not row["until"] or day <= row["until"])
        if (
            row["jurisdiction"] not in ("both", jurisdiction)
            or (row["substances"] and percent <= level)
            or not in_force
            or holds is False
            or (holds is None and (not row["substances"] or row["duty"] == "habit"))
        ):
            continue
        source = source_text(row["source_key"])
        entry = row["entry"].removeprefix(f"{source.rpartition(', ')[2]}, ")
        duty = cast("Duty", "if" if holds is None and row["duty"] == "must" else row["duty"])
        cited = f"{source}, {entry}" if entry else source
        found.append(LabelCaution(row["sentence"], duty, cited, row["quoted"] == "yes", asks))
    return sorted(found, key=lambda caution: (("must", "if", "habit").index(caution.duty), not caution.quoted))


def caution_findings(cautions: Sequence[LabelCaution]) -> Iterator[Finding]:
    """What to say about the cautions that a law asks for, or may ask for."""
    here = Place(field="cautions")
    open_ones: dict[tuple[str, ...], list[LabelCaution]] = {}
    for caution in cautions:
        if caution.asks:
            open_ones.setdefault(caution.asks, []).append(caution)
        elif caution.duty == "must" and caution.quoted:
            yield Finding(
                "note", f"The law asks for this warning, in these words: {caution.said}", here, caution.source
            )
        elif caution.duty == "must":
            sentence = f"The law asks for a warning; this is our wording, print that of the entry: {caution.sentence}"
            yield Finding("note", sentence, here, caution.source)
        elif caution.duty == "if":
            sentence = f"This warning may be asked for; look up its conditions: {caution.said}"
            yield Finding("caution", sentence, here, caution.source)
    for asks, each in open_ones.items():
        words = "; ".join(f"{caution.said} ({caution.source.rpartition(', ')[2]})" for caution in each)
        sentence = (
            f"The description of the product does not say {listed([TELL[axis] for axis in asks])}. On that rests "
            f"whether the law asks for this on the label: {words}. Say it in the description."
        )
        yield Finding("caution", sentence, here, each[0].source)


def duties(jurisdiction: Jurisdiction) -> Finding:
    """What a person must still do before a product is sold in a place, which no arithmetic can do."""
    rows = [row for row in load_table("duties").rows if row["jurisdiction"] == jurisdiction]
    words = "; ".join(f"{row['duty']}{'' if is_firm(row['source_key']) else ' (from memory)'}" for row in rows)
    sentence = f"A label is not all that is asked for. Before a product is sold, a person must still see to: {words}."
    sources = dict.fromkeys(source_text(row["source_key"]) for row in rows if is_firm(row["source_key"]))
    return Finding("note", sentence, Place(field="duties"), "; ".join(sources))


def _known_names(cell: str) -> set[str]:
    """The names in a cell, as rules know them."""
    return {same_name(name) for name in split_list(cell)}
