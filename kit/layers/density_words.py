"""Densities of layers in words: what they rest on, which layer stands below, and what cannot be told."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.layers.mixing import PURE
from kit.layers.substance import WATER
from kit.library.sources import OWN, own_source, source_text, sources
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from kit.layers.density import Layer, LayerDensity
    from kit.layers.mixing import Mixed, Part

#: Layers closer than this form slowly and may change places with temperature (common practice). [g/mL]
CLOSE_DENSITIES = 0.02

#: A density is given as ± so many standard uncertainties (GUM 6.2). [-]
COVERAGE = 2.0

HOW = (
    "as you measured them, else from published tables of solutions in water where there are some, else from ideal "
    "volumes (mixing is taken to change no volume); ± is twice the standard uncertainty"
)
MEASURE = "Let a little of each stand in a narrow glass, or weigh 100 mL of each at the same temperature."

#: From here on a measured density is the density, digits apart. [0 to 1]
WHOLLY = 1 - 1e-6

#: So many substances of one kind are named, the largest first. [-]
NAMED = 4

_PLACE = Place(field="bottle")


def density_text(about: LayerDensity) -> str:
    """A density as a person reads it: "0.925 ± 0.001", or "not known". [g/mL]"""
    if not about.is_known:
        return "not known"
    return _with_band(about.value, about.uncertainty)


def _with_band(value: float, uncertainty: float) -> str:
    return f"{value:.3f} ± {max(COVERAGE * uncertainty, 0.001):.3f}"


def density_words(about: LayerDensity) -> str:
    """What the density of a layer rests on, in one sentence."""
    if about.mixed is None and not about.measured:
        return f"{about.words}: {about.value:g} g/mL from memory; nothing in it has a density in the library."
    shown = density_text(about)
    told = f"{about.words}: {shown} {'g/mL' if about.is_known else ''} at {about.celsius:g} °C".replace("  ", " ")
    return f"{told}; {'; '.join(_basis(about))}." if about.unknown_share < 100 else f"{told}."


def _basis(about: LayerDensity) -> Iterator[str]:
    mixed = about.mixed
    if about.measured:
        yield "you measured it" if about.measured >= WHOLLY else "led by what you measured of nearly this layer"
    if mixed is None or about.measured >= WHOLLY:
        return
    yield from _mixed_basis(mixed)
    if about.unknown_share > 0.05:
        yield f"{about.unknown_share:.3g} % has no density and counts as the rest"


def _mixed_basis(mixed: Mixed) -> Iterator[str]:
    tabled = _names(mixed.parts, "table")
    if tabled:
        shrinks = _shrinks(mixed.parts)
        less = f" (mixed, the liquids take {shrinks:.2g} % less room than apart)" if shrinks >= 0.1 else ""
        yield f"{tabled}{' in water' if _names(mixed.parts, 'water') else ''} by published tables{less}"
    carried = _names([part for part in mixed.parts if part.beyond == "cold or heat"], "table")
    if carried:
        yield f"{carried} carried beyond the temperatures of the table"
    solids = _names(mixed.parts, "dissolved solid")
    if solids:
        yield f"{solids} with the estimated room of a dissolved solid"
    ideal = _names(mixed.parts, "ideal")
    if ideal and len(mixed.parts) > 1:
        yield f"{ideal} by ideal volumes"
    elif ideal:
        yield "its own density"
    watery = _names([part for part in mixed.parts if part.substance.name != WATER], "water")
    if watery:
        yield f"{watery} as water"
    if _names(mixed.parts, "measured"):
        yield "what is sold as a mixture by its own density"
    if mixed.reacts:
        yield "acid and base take each other up, which grows the volume a little and counts as uncertainty"
    if {part.substance.name for part in mixed.parts} == {WATER}:
        yield "by the published table of water"


def _names(parts: Sequence[Part], how: str) -> str:
    found = sorted((part for part in parts if part.how == how), key=lambda part: -part.mass)
    named = [part.substance.name for part in found[:NAMED]]
    if len(found) > NAMED:
        named.append(f"{len(found) - NAMED} more")
    return listed(named)


def _shrinks(parts: Sequence[Part]) -> float:
    """By how much less room liquids with a table and the water take than apart. [% of their volume apart]"""
    there = [part for part in parts if part.how == "water" or (part.how == "table" and _is_liquid(part))]
    apart = sum(part.mass * (part.substance.volume or 0.0) for part in there)
    return 100 * (1 - sum(part.volume for part in there) / apart) if apart else 0.0


def _is_liquid(part: Part) -> bool:
    solution = part.substance.solution
    return solution is not None and solution.most >= PURE and part.substance.volume is not None


def density_sources(layers: Iterable[Layer]) -> list[str]:
    """The citations behind the densities of the layers, each once."""
    keys: dict[str, None] = {}
    for layer in layers:
        if layer.about and layer.about.measured:
            keys.setdefault(own_source("measured by herself"))
        if layer.about and layer.about.measured >= WHOLLY:
            continue
        mixed = layer.about.mixed if layer.about else None
        for part in mixed.parts if mixed else ():
            solution = part.substance.solution
            key = solution.source if part.how == "table" and solution is not None else part.substance.source
            if key and part.how != "measured":
                keys.setdefault(key)
        keys |= dict.fromkeys(mixed.sources if mixed else ())
    return [source_text(key) if key in sources() or key.startswith(OWN) else f"{key}." for key in keys]


def density_findings(layers: Sequence[Layer]) -> list[Finding]:
    """What to say about densities that are missing, carried beyond a table, or close together."""
    found: list[Finding] = []
    for layer in layers:
        found += _unknown(layer)
        found += _carried(layer)
    heavy_first = sorted(layers, key=lambda layer: -layer.density)
    for lower, upper in pairwise(heavy_first):
        found += _order(lower, upper, sorted((lower, upper), key=list(layers).index))
    return found


def _unknown(layer: Layer) -> Iterator[Finding]:
    if layer.unknown_share > 0.05:
        basis = "the rest of the layer" if layer.unknown_share < 100 else f"{layer.density:g} g/mL, from memory"
        sentence = (
            f"{layer.unknown_share:.3g} % of the {layer.words} has no density in the library; "
            f"it is computed from {basis}."
        )
        yield Finding("note", sentence, _PLACE)


def _carried(layer: Layer) -> Iterator[Finding]:
    for part in layer.about.mixed.parts if layer.about and layer.about.mixed else ():
        solution = part.substance.solution
        if part.beyond == "strength" and solution is not None:
            too_much = "by itself" if part.substance.volume is not None else "as the rest of the layer"
            sentence = (
                f"{part.substance.name} is stronger in the {layer.words} than its published table goes "
                f"({solution.most:g} % in water): what is too much for it counts {too_much}, so the density may err. "
                "Does it all dissolve? Weigh 100 mL of the layer."
            )
            yield Finding("caution", sentence, _PLACE, source_text(solution.source))


def order_is_sure(lower: Layer | LayerDensity, upper: Layer | LayerDensity) -> bool:
    """Whether the bands of two densities, each ± twice its standard uncertainty, stay clear of each other."""
    low, high = (each.density if hasattr(each, "density") else each.value for each in (upper, lower))
    return high - low > COVERAGE * (lower.uncertainty + upper.uncertainty)


def _order(lower: Layer, upper: Layer, as_written: Sequence[Layer]) -> Iterator[Finding]:
    gap = lower.density - upper.density
    if not order_is_sure(lower, upper) and (lower.uncertainty or upper.uncertainty):
        both = " and ".join(
            f"the {layer.words} {_with_band(layer.density, layer.uncertainty)} g/mL" for layer in as_written
        )
        sentence = f"Which layer stands below cannot be told: {both} overlap. {MEASURE}"
        yield Finding("caution", sentence, _PLACE)
    elif gap < CLOSE_DENSITIES:
        kinds = " and ".join(layer.kind for layer in as_written)
        sentence = (
            f"The {kinds} layers differ by only {gap:.3f} g/mL: they part slowly and may change places when warm or "
            "cold."
        )
        yield Finding("caution", sentence, _PLACE, "common practice")
