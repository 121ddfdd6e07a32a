"""How much of one liquid dissolves in another, where somebody measured it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, cast

from kit.errors import RangeError
from kit.library.columns import number_or_none
from kit.resources import load_table
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Mapping

Relation = Literal["mixes", "partly", "hardly"]


@dataclass(frozen=True, slots=True)
class MutualSolubility:
    """Two liquids and what each takes up of the other.

    Attributes
    ----------
    one, other
        INCI names: of the water layer, and of the oil layer.
    relation
        "mixes" in all proportions, "partly" by some per cent, "hardly" by less than about one.
    one_in_other, other_in_one
        In the saturated layer; None where no figure was found. [% w/w]
    is_most
        Whether the figures are only an upper bound.
    celsius
        [°C]
    source
        Key of ``data/sources``.
    """

    one: str
    other: str
    relation: Relation
    one_in_other: float | None
    other_in_one: float | None
    is_most: bool
    celsius: float
    source: str
    note: str = ""


@lru_cache(maxsize=1)
def mutual_solubilities() -> Mapping[tuple[str, str], MutualSolubility]:
    """The bundled pairs, by their two names."""
    return {
        (row["one"], row["other"]): MutualSolubility(
            row["one"],
            row["other"],
            cast("Relation", row["relation"]),
            number_or_none(row["one_in_other"]),
            number_or_none(row["other_in_one"]),
            row["bound"] == "below",
            float(row["celsius"]),
            row["source"],
            row["note"],
        )
        for row in load_table("mutual-solubility").rows
    }


def mutual_solubility(one: str, other: str) -> MutualSolubility | None:
    """What is known of a liquid of the water layer and one of the oil layer; None where nothing is.

    Examples
    --------
    >>> mutual_solubility("Aqua", "Benzyl Alcohol").other_in_one
    4.2
    """
    return mutual_solubilities().get((one, other))


@sound()
def taken_up(saturation: float, solvent: float, there: float) -> float:
    """How much of a liquid a pure solvent takes up: as far as it saturates, and no more than is there. [g]

    Parameters
    ----------
    saturation
        Of the liquid in the saturated solution, 0 to less than 100. [% w/w]
    solvent
        Of the pure solvent. [g]
    there
        Of the liquid. [g]

    Raises
    ------
    RangeError
        A saturation outside 0 to 100, or an amount below 0.

    References
    ----------
    .. [1] A balance of mass: w = m / (m + solvent).

    Examples
    --------
    Water that holds 4.2 % of benzyl alcohol at 20 °C:

    >>> round(taken_up(4.2, 95.8, 10), 3)
    4.2
    """
    if not 0 <= saturation < 100 or not solvent >= 0 or not there >= 0:
        msg = (
            f"{saturation:g} % of {there:g} g in {solvent:g} g cannot be. Give a saturation from 0 to less than 100 % "
            "and amounts of 0 g or more."
        )
        raise RangeError(msg)
    return min(there, solvent * saturation / (100.0 - saturation))
