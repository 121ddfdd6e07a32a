"""What happens to a closed bottle on the way from cold to warm, in the order of the temperatures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.in_use.cold_and_warm import WARM_END
from kit.layers.temperature import FULLEST, SOURCE
from kit.library.sources import source_text
from kit.library.volatility import volatility_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.in_use.cold_and_warm import ColdAndWarm

#: So many oils that melt are shown, the first to cloud first.
OILS_SHOWN = 4


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happens between two temperatures, or at one. [°C]"""

    low: float
    high: float
    what: str
    source: str

    @property
    def where(self) -> str:
        """The temperatures in words."""
        low, high = (f"{round(each, 1) + 0.0:g}" for each in (self.low, self.high))
        return f"{low} °C" if low == high else f"{low} to {high} °C"


def on_the_way(found: ColdAndWarm) -> list[Event]:
    """What happens between the coldest and the warmest of the journey, the coldest first."""
    journey = found.journey
    every = [*_ends(found), *_freezes(found), *_melts(found), *_order(found), *_fills(found), *_flashes(found)]
    met = [each for each in every if each.high >= journey.coldest and each.low <= journey.warmest]
    return sorted(met, key=lambda each: (each.low, each.high))


def _ends(found: ColdAndWarm) -> Iterator[Event]:
    journey = found.journey
    for celsius in sorted({journey.coldest, journey.closed_at, journey.warmest}):
        then = found.at(celsius)
        said = f"{max(then.room, 0):.1f} mL of air in the bottle"
        if celsius == journey.closed_at:
            said = f"closed with {said}"
        elif then.pressure is not None and not then.is_overfull:
            way = "over" if then.pressure >= 0 else "under"
            said += f", {abs(then.pressure):.0f} kPa {way} the air outside"
        if then.ice[1] > 0:
            said += f"; {ice_words(then.ice)} of the water is ice, which asks for room"
        if then.is_overfull and celsius != journey.closed_at:
            said += "; it may be full to bursting"
        yield Event(celsius, celsius, said, "densities, gas law and vapour pressures: computed")


def ice_words(ice: tuple[float, float]) -> str:
    """Which part is ice: "40 %", "10 to 60 %". [0 to 1]"""
    low, high = (f"{100 * each:.0f}" for each in ice)
    return f"{high} %" if low == high else f"{low} to {high} %"


def _freezes(found: ColdAndWarm) -> Iterator[Event]:
    frozen = found.freezing
    if frozen is None or frozen.warmest is None:
        return
    keys = dict.fromkeys(key for each in frozen.curves if each.curve for key in each.curve.sources)
    source = " ".join(source_text(key) for key in keys) or "water: 0 °C"
    low = frozen.coldest if frozen.coldest is not None else frozen.warmest
    yield Event(low, frozen.warmest, f"the first ice forms in the {frozen.name} ({frozen.begins})", source)


def _melts(found: ColdAndWarm) -> Iterator[Event]:
    known = found.clouding.known if found.clouding is not None else ()
    for melting, share in known[:OILS_SHOWN]:
        what = f"{melting.inci} ({share:.3g} % of the oil layer) melts, by itself; mixed it melts colder"
        yield Event(melting.melts_from, melting.melts_to, what, source_text(melting.source))


def _order(found: ColdAndWarm) -> Iterator[Event]:
    bands = found.bands
    if bands is None:
        return
    for low, high in bands.untold:
        yield Event(low, high, "it cannot be told which layer lies below", "densities, ± twice their uncertainty")
    for at in bands.meets:
        yield Event(at, at, "the densities of both layers meet", "densities")
    for low, high, _ in bands.likely:
        yield Event(low, high, "which layer lies below is not known", "data/expansion, data/aqueous")


def _fills(found: ColdAndWarm) -> Iterator[Event]:
    for percent, what in ((FULLEST, f"the liquid fills {FULLEST:g} % of the bottle"), (100.0, "it is full: it bursts")):
        at = found.fuller_than(percent)
        if at is not None:
            yield Event(at, WARM_END, f"from here on {what}", SOURCE)


def _flashes(found: ColdAndWarm) -> Iterator[Event]:
    names = {name for liquid in found.liquids for name in liquid.shares}
    for name in sorted(names):
        known = volatility_of(name)
        if known is None or known.flash_point is None or known.flash_point.value > found.journey.warmest:
            continue
        at = known.flash_point.value
        what = f"{name} by itself gives off vapour that can be lit; a laboratory measures where the product does"
        yield Event(at, max(at, found.journey.warmest), what, source_text(known.flash_point.source))
