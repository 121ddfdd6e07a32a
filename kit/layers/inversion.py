"""Which liquid becomes the drops when two layers are shaken, from how much there is of each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from kit.errors import RangeError

Inner = Literal["oil", "water"]

#: Below the first share of the volume a liquid is surely the drops, below the second very likely: as the surround
#: it would have to hold drops packed closer than equal balls can be stacked (0.74) or poured (0.64).
SURELY_DROPS, LIKELY_DROPS = 0.26, 0.36
PACKING = (
    "close packing of equal balls: 0.74 stacked (W. Ostwald, Kolloid-Z. 6 (1910) 103), 0.64 poured at random "
    "(G. D. Scott, Nature 188 (1960) 908); both from memory"
)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Which liquid may be the drops: one, or both where shaking can make either. With the reason in words."""

    kinds: tuple[Inner, ...]
    words: str


def suggest_drops(oil_share: float) -> Suggestion:
    """Which liquid is likely to be the drops after shaking, from the oil's part of the volume.

    Parameters
    ----------
    oil_share
        Oil layer by volume, 0 to 1.

    Raises
    ------
    RangeError
        A share outside 0 to 1.

    References
    ----------
    .. [1] W. Ostwald, Kolloid-Z. 6 (1910) 103-109: no more than 0.74 of equal balls (from memory).
    .. [2] G. D. Scott, Nature 188 (1960) 908-909: 0.64 poured at random (from memory).

    Examples
    --------
    >>> suggest_drops(0.2).kinds, suggest_drops(0.5).kinds
    (('oil',), ('oil', 'water'))
    """
    if not 0 < oil_share < 1:
        msg = f"The oil layer must be between 0 and 1 of the volume, got {oil_share:g}."
        raise RangeError(msg)
    less: Inner = "oil" if oil_share <= 0.5 else "water"
    share = min(oil_share, 1 - oil_share)
    said = f"{100 * share:.0f} % of the volume is {less}"
    if share < SURELY_DROPS:
        return Suggestion((less,), f"{said}, below {100 * SURELY_DROPS:.0f} %: {less} is the drops.")
    if share < LIKELY_DROPS:
        return Suggestion((less,), f"{said}, below {100 * LIKELY_DROPS:.0f} %: {less} is very likely the drops.")
    words = f"{said}: either liquid may become the drops, by how it is shaken and what is in it. Both are shown."
    return Suggestion(("oil", "water"), words)
