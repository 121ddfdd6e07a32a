"""What to say of a bottle in the cold, in the warm and in the post, and which cycles to test it with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.in_use.cold_and_warm import NOT_BELOW
from kit.in_use.on_the_way import ice_words
from kit.layers.temperature import FULLEST, SOURCE
from kit.library.sources import sources
from kit.library.volatility import volatility_of
from kit.stability.plan import plans

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.in_use.cold_and_warm import ColdAndWarm
    from kit.stability.plan import Plan

_PLACE = Place(field="bottle")

#: A pressure above that outside that is told as a caution: a third of the air's (our own choice). [kPa]
TOLD = 33.0


def proposed_cycles(found: ColdAndWarm) -> list[tuple[Plan, str]]:
    """Which ready plans of three cycles suit such a product, and why."""
    warmest = found.freezing.warmest if found.freezing is not None else None
    coldest = min(each.coldest for each in plans()["freeze-thaw"].conditions)
    if warmest is not None and warmest >= coldest:
        frost = f"its water can freeze there, from {warmest:.1f} °C down: leave room in the bottles"
    elif warmest is not None:
        frost = f"its water begins to freeze only below {warmest:.0f} °C by computation, but oils may set"
    else:
        frost = "oils may set, and nothing here tells where it freezes"
    return [
        (plans()["cold-warm-cycles"], "what a shelf in winter and a parcel in the sun do, without ice"),
        (plans()["freeze-thaw"], frost),
    ]


def cold_and_warm_findings(found: ColdAndWarm) -> list[Finding]:
    """Everything to say of the journey."""
    return [
        *_order(found), *_cold(found), *_warm(found), *_burns(found), *_not_looked_at(found), *_cycles(found),
    ]  # fmt: skip


def _order(found: ColdAndWarm) -> Iterator[Finding]:
    if found.bands is None:
        return
    low, high = max(found.journey.coldest, NOT_BELOW), found.journey.warmest
    open_ends = [*found.bands.untold, *((a, b) for a, b, kind in found.bands.likely if not kind)]
    meets = any(start <= high and end >= low for start, end in open_ends)
    source = "published densities; u² = u(water)² + u(oil)², ± 2 u: JCGM 100:2008, 5.1.2 and 6.2"
    yield Finding("caution" if meets else "note", found.bands.sentence(), _PLACE, source)


def _cold(found: ColdAndWarm) -> Iterator[Finding]:
    frozen, journey = found.freezing, found.journey
    if frozen is not None:
        freezes = frozen.warmest is not None and frozen.warmest >= journey.coldest
        source = "data/freezing-curves; several solutes after Zdanovskii, Stokes and Robinson"
        yield Finding("caution" if freezes else "note", frozen.sentence(), _PLACE, source)
        then = found.at(journey.coldest)
        if then.ice[1] > 0:
            grows = frozen.grows(found.filling.masses["water"], journey.coldest)
            said = (
                f"At {journey.coldest:g} °C {ice_words(then.ice)} of the water in the {frozen.name} is ice, which "
                f"takes 9 % more room: up to {grows:.1f} mL more. {max(then.room, 0):.1f} mL of air are left then. "
                "Glass may crack even with room, where ice grips the wall; what a layer looks like after thawing only "
                "a trial tells."
            )
            if then.is_overfull:
                said += " The ice has no room: the bottle breaks or the cap lifts. Fill less."
            yield Finding("caution", said, _PLACE, "ice 0.9167 g/mL, water 0.9998 g/mL at 0 °C")
    if found.clouding is not None:
        first = found.clouding.clear_above
        clouds = first is not None and first >= journey.coldest
        yield Finding(
            "caution" if clouds else "note", found.clouding.sentence(), _PLACE, found.clouding.sources()
        )  # fmt: skip


def _warm(found: ColdAndWarm) -> Iterator[Finding]:
    warmest = found.journey.warmest
    then = found.at(warmest)
    carried = ""
    if then.carried > 0.5:
        carried = (
            f" How {then.carried:.3g} % of it expands there is not known; that of a usual liquid stands in, with its "
            "band."
        )
    if then.is_overfull:
        said = (
            f"At {warmest:g} °C the product takes {then.volume:.1f} ± {then.about:.1f} mL, and {found.bottle.name} "
            f"holds {found.bottle.brimful:.1f} mL to the brim: liquid cannot be squeezed, so a closed bottle bursts or "
            f"leaks. Fill less.{carried}"
        )
        yield Finding("caution", said, _PLACE, SOURCE)
        return
    full = 100 * (then.volume + then.off) / found.bottle.brimful
    said = f"At {warmest:g} °C {then.room:.1f} ± {then.about:.1f} mL of air are left"
    if then.pressure is not None and then.pressure_band is not None:
        low, high = then.pressure_band
        said += (
            f", and a rigid, tight bottle stands {then.pressure:.0f} kPa over the air outside ({low:.0f} to "
            f"{high:.0f}; {then.pressure / 100:.2f} bar). A soft bottle bulges instead, a pump or a cap may weep, "
            "and the first press after a hot day may spit"
        )
    said += f".{carried}"
    if full > FULLEST:
        said += f" It is more than {FULLEST:g} % full then: fill less."
    pressed = then.pressure is not None and then.pressure > TOLD
    severe = full > FULLEST or pressed
    source = f"gas law with vapour after Raoult; {SOURCE}"
    yield Finding("caution" if severe else "note", said, _PLACE, source)


def _burns(found: ColdAndWarm) -> Iterator[Finding]:
    burning = sorted(
        {
            f"{name} (category {known.flammability})"
            for liquid in found.liquids
            for name in liquid.shares
            if (known := volatility_of(name)) is not None and known.flammability in ("1", "2", "3")
        }
    )
    if not burning:
        return
    said = (
        f"It holds what can burn: {', '.join(burning)}. Posts and carriers have rules for flammable liquids, by their "
        "flash point, the size of the bottle and the way they travel, and by air many take none; the rules of your "
        "country and carrier decide, not this panel. Have the flash point of the product measured and ask the carrier "
        "before you send it. In a hold the air outside is thinner too, by some 25 kPa (from memory)."
    )
    yield Finding("caution", said, _PLACE, sources()["clp-2-6"].citation)


def _not_looked_at(found: ColdAndWarm) -> Iterator[Finding]:
    others = [name for kind, name in found.filling.from_below(found.journey.closed_at) if kind == "other"]
    if others:
        yield Finding("note", f"Freezing and clouding were not looked at for: {', '.join(others)}.", _PLACE)
    if found.journey.coldest < NOT_BELOW:
        said = (
            "Below 0 °C no density and no vapour pressure is computed: the layers are drawn as they stand at 0 °C, "
            "with the room that ice asks for."
        )
        yield Finding("note", said, _PLACE)


def _cycles(found: ColdAndWarm) -> Iterator[Finding]:
    said = "; ".join(f"{plan.title} ({why})" for plan, why in proposed_cycles(found))
    sentence = (
        f"To see what it does, cycle bottles. Ready plans, to choose in the stability panel: {said}. Fill one bottle "
        "more than you read, and keep one at room temperature to compare with."
    )
    yield Finding("note", sentence, _PLACE, proposed_cycles(found)[0][0].source)
