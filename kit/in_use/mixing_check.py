"""What one layer of a product dissolves of the other, as far as somebody measured it; what mixes; what nobody knows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.findings import Finding, Place, worst_first
from kit.formula.compatibility import Contents, compatibility_findings
from kit.in_use.mutual_solubility import mutual_solubility, taken_up
from kit.in_use.product_system import COUNTED_AS, held_by_layer, product_system
from kit.in_use.ternary_systems import ternary_system
from kit.library.sources import source_text
from kit.liquids.alcohol import ETHANOL
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kit.findings import Severity
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.in_use.mutual_solubility import MutualSolubility
    from kit.in_use.product_system import ProductSystem
    from kit.in_use.tie_lines import Settled

PLACE = Place(field="layers")

#: A liquid is looked at where it makes up this much of its layer (our choice). [% w/w]
MUCH = 5.0
#: From so much alcohol in the water layer on, a word is said of what it carries (our choice). [% w/w of the layer]
CARRIES = 20.0

SEVERITY: dict[str, Severity] = {"two": "note", "one": "caution", "not known": "caution"}
TRIAL = "Stand a bottle warm and one cold for some days, and look for haze, drops and a line that moves."


def mixing_findings(formula: Formula, materials: Materials, *, of_system: bool = True) -> list[Finding]:
    """What is known of the layers of a formula dissolving in one another, worst first; nothing without two layers.

    What a rule of the trade says about the same pair already is not said again; see
    :func:`kit.formula.compatibility.compatibility_findings`.

    Parameters
    ----------
    of_system
        Whether to say what the measured system that the product is does at rest; False where that is shown beside.

    Raises
    ------
    CompositionError
        A blend or stock that is part of itself.
    """
    layers = held_by_layer(formula, materials)
    water, oil = layers.get("water", {}), layers.get("oil", {})
    if not water or not oil:
        return []
    system = product_system(formula, materials)
    pairs = pairs_between(water, oil, materials)
    found = [*(_of_system(system) if system is not None and of_system else [])]
    measured = set() if system is None else set(system.system.names)
    pairs = [pair for pair in pairs if not {COUNTED_AS.get(name, name) for name in pair} <= measured]
    known = {
        pair: figure
        for pair in pairs
        if (figure := mutual_solubility(COUNTED_AS.get(pair[0], pair[0]), pair[1])) is not None
    }
    told = _told(formula, materials)
    for pair, figure in known.items():
        if figure.relation == "partly":
            found.append(_of_figure(figure, water[pair[0]], oil[pair[1]]))
    quiet = [pair for pair in pairs if any(pair[0] in sentence and pair[1] in sentence for sentence in told)]
    found += _of_mixing({pair: one for pair, one in known.items() if one.relation == "mixes" and pair not in quiet})
    found += _of_hardly([figure for figure in known.values() if figure.relation == "hardly"])
    found += _of_unknown([pair for pair in pairs if pair not in known and pair not in quiet])
    if system is None:
        found += _of_alcohol(water)
    return worst_first(found)


def pairs_between(water: Mapping[str, float], oil: Mapping[str, float], materials: Materials) -> list[tuple[str, str]]:
    """Every liquid that makes up much of the water layer with every one that makes up much of the oil layer.

    Parameters
    ----------
    water, oil
        Substance → percent of the whole. [% w/w]
    """
    solvents = [name for name in _much(water) if name == "Aqua" or _has_role(name, ("solvent", "humectant"), materials)]
    return [(one, other) for one in solvents for other in _much(oil)]


def _told(formula: Formula, materials: Materials) -> list[str]:
    """What the rules of the trade say already."""
    findings = compatibility_findings(Contents.of(formula, materials))
    return [finding.sentence for finding in findings if finding.matter.startswith("trade: ")]


def _much(layer: Mapping[str, float]) -> list[str]:
    whole = sum(layer.values())
    return [name for name, percent in layer.items() if 100.0 * percent >= MUCH * whole]


def _has_role(name: str, roles: tuple[str, ...], materials: Materials) -> bool:
    ingredient = materials.ingredient(name)
    return ingredient is not None and not set(roles).isdisjoint(ingredient.roles)


def _of_system(one: ProductSystem) -> Iterator[Finding]:
    settled = one.settled
    source = source_text(one.system.source)
    yield Finding(SEVERITY[settled.layers], f"{settled.words}{_held(settled)}", PLACE, source)
    if one.words:
        yield Finding("note", one.words, PLACE)


def _held(settled: Settled) -> str:
    line, names = settled.line, settled.system.names
    if line is None or settled.water_share is None:
        return ""
    layers = [
        (f"the water layer, {100 * settled.water_share:.3g} % of the mass", line.water_layer),
        (f"the oil layer, {100 * (1 - settled.water_share):.3g} %", line.oil_layer),
    ]
    said = [
        f"{words}, holds {listed(_part(name, part) for name, part in zip(names, layer.parts, strict=True))}"
        for words, layer in layers
    ]
    return f" At rest {said[0]}; {said[1]}."


def _part(name: str, percent: float) -> str:
    return f"{percent:.2g} % {name}" if percent > 0 else f"no {name} that could be seen"


def _of_figure(figure: MutualSolubility, one: float, other: float) -> Finding:
    most = "at most " if figure.is_most else ""
    said = []
    if figure.other_in_one is not None:
        goes = taken_up(figure.other_in_one, one, other)
        said.append(
            f"{figure.one} takes up {most}{figure.other_in_one:.2g} % of {figure.other}, here {most}{goes:.2g} g of "
            f"the {other:.3g} g in 100 g of product"
        )
    if figure.one_in_other is not None:
        goes = taken_up(figure.one_in_other, other, one)
        said.append(
            f"{figure.other} takes up {most}{figure.one_in_other:.2g} % of {figure.one}, here {most}{goes:.2g} g"
        )
    note = f" {figure.note}" if figure.note else ""
    return Finding(
        "note",
        f"At {figure.celsius:g} °C {', and '.join(said)}, both counted as if they were alone.{note}",
        PLACE,
        source_text(figure.source),
    )


def _of_mixing(known: Mapping[tuple[str, str], MutualSolubility]) -> Iterator[Finding]:
    if known:
        names = listed(f"{one} with {other}" for one, other in known)
        yield Finding(
            "caution",
            f"Mix by themselves in all proportions, and so share themselves out between the layers: {names}. Only the "
            "water holds the layers apart; how much passes over is not known, and with less water there may be one "
            f"layer. {TRIAL}",
            PLACE,
            "; ".join(dict.fromkeys(source_text(figure.source) for figure in known.values())),
        )


def _of_hardly(known: list[MutualSolubility]) -> Iterator[Finding]:
    if known:
        said = []
        for figure in known:
            parts = []
            if figure.one_in_other is not None:
                parts.append(f"{figure.one_in_other:.2g} % of the first in the second")
            if figure.other_in_one is not None:
                parts.append(f"{figure.other_in_one:.2g} % of the second in the first")
            said.append(f"{figure.one} and {figure.other}" + (f" ({', '.join(parts)})" if parts else ""))
        yield Finding(
            "note",
            f"Dissolve hardly in one another: {'; '.join(said)}.",
            PLACE,
            "; ".join(dict.fromkeys(source_text(figure.source) for figure in known)),
        )


def _of_unknown(pairs: list[tuple[str, str]]) -> Iterator[Finding]:
    if pairs:
        by_one: dict[str, list[str]] = {}
        for one, other in pairs:
            by_one.setdefault(one, []).append(other)
        names = "; ".join(f"{one} with {listed(others)}" for one, others in by_one.items())
        yield Finding(
            "caution",
            f"How much dissolves in one another is not known here for {names}. {TRIAL}",
            PLACE,
            matter="mixing: not known",
        )


def _of_alcohol(water: Mapping[str, float]) -> Iterator[Finding]:
    alcohol = 100.0 * sum(water.get(name, 0.0) for name in ETHANOL) / sum(water.values())
    if alcohol < CARRIES:
        return
    measured = ternary_system("water-alcohol-limonene")
    seen = [line.water_layer for line in measured.lines if line.water_layer.oil > 0][:2]
    held = listed(f"{layer.oil:.2g} % at {layer.shared:.0f} % of alcohol" for layer in seen)
    yield Finding(
        "note",
        f"The water layer holds {alcohol:.3g} % of alcohol, which carries oil into it, the more the stronger it is. As "
        f"an instance, over limonene such a layer held {held} ({measured.celsius:g} °C). Your oil is another.",
        PLACE,
        source_text(measured.source),
    )
