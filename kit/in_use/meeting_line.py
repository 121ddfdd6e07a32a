"""Where the layers meet: cautions about microbes that no arithmetic settles, each with the test that does.

Nothing here says that a product withstands microbes. The level in the water is an estimate on paper; what is said of
the line between the layers is what may go wrong there, and what a laboratory must look at.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.findings import Finding, Place, worst_first
from kit.in_use.mutual_solubility import mutual_solubility
from kit.in_use.product_system import held_by_layer
from kit.layers.preservation import Layout, preservative_levels
from kit.library.sources import source_text
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.layers.preservation import WaterLevel
    from kit.layers.ratio import RatioPath

PLACE = Place(field="meeting line")

ISO_11930 = "ISO 11930, a challenge test"
COUNTS = "ISO 21149 and ISO 16212, counts of bacteria, yeast and mould (the numbers from memory)"

#: A preservative that stands in the oil by more than this is worth a word (our choice). [% of what is there]
IN_THE_OIL = 20.0


def meeting_findings(
    formula: Formula,
    materials: Materials,
    ph: float | None = None,
    partition: Mapping[str, float] | None = None,
    *,
    path: RatioPath | None = None,
    ends: tuple[float, float] | None = None,
) -> list[Finding]:
    """Cautions about microbes where the layers of a formula meet, worst first; nothing without two layers.

    What :func:`kit.layers.preservation_findings.preservation_findings` says is not said again.

    Parameters
    ----------
    ph, partition, path
        As for :func:`kit.layers.preservation.preservative_levels`.
    ends
        The ends of the window of ratios; None where it is not open. [% w/w of oil layer]

    Raises
    ------
    KitError
        As for :func:`kit.layers.preservation.preservative_levels`.
    """
    layers = held_by_layer(formula, materials)
    water, oil = layers.get("water", {}), layers.get("oil", {})
    if not water.get("Aqua") or not oil:
        return []
    found = [*_condensed(oil)]
    levels = preservative_levels(formula, materials, None, ph, partition, path=path)
    if levels:
        found += [*_in_the_oil(levels)]
        if path is not None and ends is not None:
            found += _at_the_ends(formula, materials, ph, partition, path, ends)
    return worst_first(found)


def _condensed(oil: Mapping[str, float]) -> Iterator[Finding]:
    """Water that dissolves in the oil when warm and falls out as drops when cool."""
    known = [
        one for name in oil if (one := mutual_solubility("Aqua", name)) is not None and one.one_in_other is not None
    ]
    held = "".join(f" {one.other} holds {one.one_in_other:.2g} % of water at {one.celsius:g} °C." for one in known)
    sources = [source_text(one.source) for one in known]
    yield Finding(
        "caution",
        "Water dissolves in the oil layer when it is warm, and drops of it fall out when it cools, under the cap and "
        f"at the line.{held} Such drops hold only what preservative passes over to them, and the water layer's does "
        "not reach them until the bottle is shaken. A laboratory must sample at the line of a rested bottle, not only "
        f"of a shaken one: {ISO_11930}; {COUNTS}.",
        PLACE,
        "; ".join(["common practice", *dict.fromkeys(sources)]),
    )


def _in_the_oil(levels: Sequence[WaterLevel]) -> Iterator[Finding]:
    said = []
    for inci in dict.fromkeys(level.inci for level in levels):
        shares = sorted(share for level in levels if level.inci == inci and (share := oil_part(level)) is not None)
        if shares and shares[-1] > IN_THE_OIL:
            span = f"{shares[0]:.0f} to {shares[-1]:.0f} %" if len(shares) > 1 else f"{shares[0]:.0f} %"
            said.append(f"of {inci} {span}")
    if said:
        yield Finding(
            "caution",
            f"By the estimate {listed(said)} stand in the oil layer and do not guard the water from there; "
            "while the bottle rests, the water nearest the line is the first to lose it. Whether what is left is "
            f"enough there, only {ISO_11930} on bottles that have rested can show.",
            PLACE,
            source_text("bean-1972"),
        )


def oil_part(level: WaterLevel) -> float | None:
    """How much of a preservative stands in the oil, of all that is there; None where there is none. [%]"""
    if not level.simple > 0:
        return None
    undissolved = level.best.undissolved / level.of_whole
    return 100.0 * max(0.0, 1.0 - level.best.water / level.simple - undissolved)


def _at_the_ends(
    formula: Formula,
    materials: Materials,
    ph: float | None,
    partition: Mapping[str, float] | None,
    path: RatioPath,
    ends: tuple[float, float],
) -> list[Finding]:
    said: dict[str, list[str]] = {}
    layout = Layout.of(formula, materials, path)
    for end in dict.fromkeys(min(layout.high, max(layout.low, end)) for end in ends):
        levels = preservative_levels(formula, materials, end, ph, partition, path=path)
        for inci in dict.fromkeys(level.inci for level in levels):
            found = sorted(level.best.water for level in levels if level.inci == inci)
            span = f"{found[0]:.2g}" if found[0] == found[-1] else f"{found[0]:.2g} to {found[-1]:.2g}"
            said.setdefault(inci, []).append(f"{span} % w/v at {end:.3g} % of oil layer")
    if not said:
        return []
    words = "; ".join(f"{inci} {' and '.join(parts)}" for inci, parts in said.items())
    return [
        Finding(
            "note",
            f"Estimated level in the water where the window of ratios ends: {words}. A product that may be filled or "
            f"used up anywhere between must be tested where the level is least: {ISO_11930}.",
            PLACE,
            source_text("bean-1972"),
        )
    ]
