"""Which part of an oil layer clouds or sets in the cold, as far as the melting of each part by itself is known."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.library.melting import melting_of
from kit.library.sources import source_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from kit.library.melting import Melting

#: More of a layer than this is the layer. [% w/w]
ALONE = 99.0
#: So many names stand in one sentence.
SHOWN = 4


@dataclass(frozen=True, slots=True)
class OilClouding:
    """What is known of an oil layer in the cold.

    Attributes
    ----------
    name
        Of the layer.
    known
        The melting of each part that has one, with its share, the first to cloud first. [% w/w]
    unknown
        The parts of which nobody here knows where they melt, the largest first. [% w/w]
    """

    name: str
    known: tuple[tuple[Melting, float], ...]
    unknown: tuple[tuple[str, float], ...]

    @property
    def unknown_share(self) -> float:
        """[% w/w of the layer]"""
        return math.fsum(share for _, share in self.unknown)

    @property
    def clear_above(self) -> float | None:
        """Above this every part that is known is melted by itself; None where none is known. [°C]"""
        return self.known[0][0].melts_to if self.known else None

    def at(self, celsius: float) -> tuple[list[str], list[str]]:
        """What would be solid and what soft at a temperature, each by itself. [°C]"""
        found: dict[str, list[str]] = {"solid": [], "soft": [], "melted": []}
        for melting, _ in self.known:
            found[melting.state_at(celsius)].append(melting.inci)
        return found["solid"], found["soft"]

    def sentence(self) -> str:
        """Which part clouds first, and what is not known."""
        if not self.known:
            return (
                f"Where the {self.name} clouds is not known: the table of melting has none of it "
                f"({_named(name for name, _ in self.unknown)}). Keep a bottle in a fridge for a day and look."
            )
        first, share = self.known[0]
        said = (
            f"First to cloud in the {self.name}: {first.inci} ({share:.3g} % of it), which by itself is wholly melted "
            f"above {first.melts_to:g} °C"
        )
        said += f" and set below {first.melts_from:g} °C" if first.melts_from < first.melts_to else ""
        said += (
            "." if share > ALONE else ". Mixed with the rest it clouds later; how much later only a cold bottle tells."
        )
        if self.unknown:
            names = _named(name for name, _ in self.unknown)
            said += f" Not known where they cloud, {self.unknown_share:.3g} % of the layer: {names}."
        return said

    def sources(self) -> str:
        """Where the melting of the first is from."""
        return source_text(self.known[0][0].source) if self.known else "data/melting"


def _named(names: Iterable[str]) -> str:
    every = list(names)
    more = f" and {len(every) - SHOWN} more" if len(every) > SHOWN else ""
    return ", ".join(every[:SHOWN]) + more


def oil_clouding(name: str, shares: Mapping[str, float]) -> OilClouding:
    """What is known of an oil layer in the cold.

    Parameters
    ----------
    name
        What it is called.
    shares
        Substance → its part. [% w/w]

    Examples
    --------
    >>> found = oil_clouding("Oil layer", {"Cocos Nucifera Oil": 60, "Squalane": 30, "Tocopherol": 10})
    >>> found.clear_above, found.at(15), found.unknown
    (28.0, (['Cocos Nucifera Oil'], []), (('Tocopherol', 10.0),))
    """
    whole = math.fsum(shares.values())
    known, unknown = [], []
    for each, share in shares.items():
        if share <= 0:
            continue
        melting = melting_of(each)
        if melting is None:
            unknown.append((each, 100 * share / whole))
        else:
            known.append((melting, 100 * share / whole))
    known.sort(key=lambda pair: (-pair[0].melts_to, -pair[1]))
    unknown.sort(key=lambda pair: -pair[1])
    return OilClouding(name, tuple(known), tuple(unknown))
