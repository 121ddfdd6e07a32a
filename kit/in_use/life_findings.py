"""What to say of the life of a bottle: what drifts, what burns, what nobody knows, and what a laboratory must test."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.in_use.vapour import vapours
from kit.layers.preservatives import ROLE
from kit.library.sources import sources
from kit.library.volatility import volatility_of
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.formula.expansion import Materials
    from kit.in_use.life import LayerLife, Life

#: A level that moves by more is told (our own choice). [% of what it was]
MOVES = 2.0
#: A ratio that moves by more is told (our own choice). [% points]
SHIFTS = 0.5
#: A bottle with less in it is not looked at: its last drops are what the tube leaves. [part of what was filled]
NEARLY_EMPTY = 0.05
#: As many names stand in one sentence.
SHOWN = 6


def tracked(life: Life, materials: Materials) -> list[tuple[LayerLife, str]]:
    """The substances whose levels are followed: what evaporates, and the preservatives, layer by layer."""
    found = []
    for layer in life.layers:
        for name, share in layer.liquid.shares.items():
            ingredient = materials.ingredient(name)
            keeps = ingredient is not None and ROLE in ingredient.roles
            if share > 0 and (keeps or name in layer.held):
                found.append((layer, name))
    return found


def last_week(life: Life) -> int:
    """The last shown day on which the usual person still has a bottle worth the name."""
    worth = [n for n, mass in enumerate(life.left[:, 0]) if mass > NEARLY_EMPTY * life.filled]
    return worth[-1]


def life_findings(life: Life, materials: Materials) -> list[Finding]:
    """Everything to say about the life of a bottle."""
    return [*_drifts(life, materials), *_burns(life), *_not_known(life, materials), *_counted(life)]


def _drifts(life: Life, materials: Materials) -> list[Finding]:
    at, said = last_week(life), []
    week = f"week {life.days[at] / 7:.0f}"
    for layer in life.layers:
        share = life.share(layer.liquid.kind)[:, 0]
        if len(life.layers) > 1 and layer.liquid.kind == "oil" and abs(share[at] - share[0]) > SHIFTS:
            said.append(f"the {layer.liquid.name} goes from {share[0]:.1f} to {share[at]:.1f} % of what is left")
    for layer, name in tracked(life, materials):
        level = layer.percent(name)[:, 0]
        if not math.isnan(level[at]) and abs(level[at] / level[0] - 1) * 100 > MOVES:
            said.append(f"{name} from {level[0]:.3g} to {level[at]:.3g} % of the {layer.liquid.name}")
    if not said:
        return []
    sentence = (
        f"By {week}, for the usual person: {'; '.join(said)}. What was tested when fresh is another product then: have "
        "the challenge test (ISO 11930) and the stability bottles include one that was used as customers use it."
    )
    return [Finding("caution", sentence, Place(field="life"), "computed from vapour pressures: data/vapour-pressures")]


def _burns(life: Life) -> list[Finding]:
    burning = [
        f"{name}, {100 * layer.liquid.shares[name]:.3g} % of the {layer.liquid.name} (category {known.flammability})"
        for layer in life.layers
        for name in layer.liquid.shares
        if (known := volatility_of(name)) is not None and known.flammability in ("1", "2", "3")
    ]
    if not burning:
        return []
    sentence = (
        f"Its vapour can burn: {_listed(burning)}. The category is that of the pure liquid; the flash point of the "
        "product is measured by a laboratory, and decides how it may be labelled, stored and sent. While it "
        "evaporates, keep it from flames and sparks, with fresh air."
    )
    return [Finding("caution", sentence, Place(field="life"), sources()["clp-2-6"].citation)]


def _not_known(life: Life, materials: Materials) -> list[Finding]:
    names = {name for layer in life.layers for name in layer.liquid.shares}
    counted = sorted(name for name in names if plain_letters(name) in vapours())
    evaporating = sorted(
        name
        for name in names - set(counted)
        if (known := volatility_of(name)) is not None and known.evaporation in ("fast", "medium")
    )
    silent = sorted(
        name for name in names - set(counted) if volatility_of(name) is None and materials.ingredient(name) is None
    )
    found = []
    if evaporating:
        sentence = f"Evaporates, but its vapour pressure is not known here: {_listed(evaporating)}. Not counted."
        found.append(Finding("caution", sentence, Place(field="life"), "data/volatility"))
    if silent:
        sentence = f"Nobody here knows whether these evaporate: {_listed(silent)}. They count as staying."
        found.append(Finding("note", sentence, Place(field="life")))
    of_them = f": {_listed(counted)}" if counted else ""
    sentence = f"Looked up {len(names)} substances; {len(counted)} of them evaporate here{of_them}."
    found.append(Finding("note", sentence, Place(field="life"), "data/vapour-pressures, data/volatility"))
    return found


def _counted(life: Life) -> list[Finding]:
    unknown = sorted({name for layer in life.layers if layer.held for name in layer.liquid.unknown})
    if not unknown:
        return []
    sentence = (
        f"The molar mass is not known of {_listed(unknown)}: each counts as a fat (triolein, 885 g/mol), so that the "
        "vapour above it may in truth be less."
    )
    return [Finding("note", sentence, Place(field="life"))]


def _listed(names: Sequence[str] | Iterable[str]) -> str:
    every = list(names)
    more = f" and {len(every) - SHOWN} more" if len(every) > SHOWN else ""
    return ", ".join(every[:SHOWN]) + more
