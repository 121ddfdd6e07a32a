"""Which cautions belong on the papers of a formula."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.resources import load_table

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.formula.expansion import Materials


def cautions_for(substances: Iterable[str], materials: Materials) -> list[str]:
    """The cautions for these substances: those of the substances and their roles first, then the general ones."""
    names = set(substances)
    roles = {role for name in names if (found := materials.ingredient(name)) for role in found.roles}
    special, general = [], []
    for row in load_table("cautions").rows:
        about, of_role = _words(row["substances"]), _words(row["roles"])
        if not about and not of_role:
            general.append(row["sentence"])
        elif about & names or of_role & roles:
            special.append(row["sentence"])
    return special + general


def _words(cell: str) -> set[str]:
    return {word.strip() for word in cell.split(";") if word.strip()}
