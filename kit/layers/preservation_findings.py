"""What to say about the preservatives of a formula: what was assumed, what is unusual, what no arithmetic shows."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from kit.findings import Finding, Place, worst_first
from kit.formula.compatibility import Contents, low_risk_findings
from kit.layers.preservation import preservative_levels
from kit.layers.preservatives import find_preservatives, published_partition
from kit.library.sources import is_firm, source_text
from kit.liquids.alcohol import ALCOHOLS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.layers.preservation import WaterLevel
    from kit.layers.preservatives import Found, Preservative
    from kit.layers.ratio import RatioPath

PLACE = Place(field="preservative")
HABIT = "common practice"

CHALLENGE = (
    "An estimated level in water says nothing about microbes by itself. Only a challenge test in a laboratory "
    "(ISO 11930) shows whether this product withstands them."
)
BINDING = ("solubiliser", "emulsifier", "surfactant")
#: Above this share of the water layer an alcohol is worth a word: it raises the pKa of an acid (our choice). [% w/w]
MUCH_ALCOHOL = 5.0


def preservation_findings(
    formula: Formula,
    materials: Materials,
    ph: float | None = None,
    partition: Mapping[str, float] | None = None,
    *,
    path: RatioPath | None = None,
) -> list[Finding]:
    """Everything to say about the preservatives of a complete formula with a water layer, worst first.

    Parameters
    ----------
    ph, partition, path
        As for :func:`kit.layers.preservation.preservative_levels`.

    Raises
    ------
    KitError
        As for :func:`kit.layers.preservation.preservative_levels`.
    """
    levels = preservative_levels(formula, materials, None, ph, partition, path=path)
    every = find_preservatives(formula, materials)
    found = [Finding("caution", CHALLENGE, PLACE, "ISO 11930")]
    if not every:
        words = "No preservative that the library knows is in this formula, although it holds a water layer."
        unseen = Finding("caution", f"{words} Microbes that can harm may grow unseen in it.", PLACE, HABIT)
        marks = low_risk_findings(Contents.of(formula, materials), ph)  # much alcohol, say
        return [unseen, *found, *(replace(mark, place=PLACE) for mark in marks)]
    found += [*_unknown_k(levels), *_no_ph([one for one in every if one.about.pka is not None], ph)]
    for one in every:
        mine = [level for level in levels if level.inci == one.inci]
        found += [*_about_place(one, formula), *_about_ph(one, ph), *_about_k(mine), *_about_solubility(mine)]
        if one.about.caution:
            source = source_text(one.about.caution_source)
            found.append(Finding(one.about.severity, one.about.caution, PLACE, source))
    return worst_first([*found, *_about_company(formula, materials, every)])


def _about_place(found: Found, formula: Formula) -> Iterator[Finding]:
    kinds = {formula.phases[p].kind for (p, *_), part in zip(formula.each_line(), found.per_line, strict=True) if part}
    if kinds == {"oil"}:
        yield Finding(
            "caution",
            f"{found.inci} is put into the oil layer only. It guards the water only as far as it passes over; put it "
            "into the water layer and let it share itself out.",
            PLACE,
            HABIT,
        )
    elif "other" in kinds:
        yield Finding(
            "note",
            f"{found.inci} comes in a phase that belongs to neither layer. It is counted as if it reached both.",
            PLACE,
        )
    for form in found.uncounted:
        yield Finding(
            "caution",
            f"{form} is counted by its own weight, not as {found.inci}: a molar mass is missing in the library.",
            PLACE,
        )


def _about_ph(found: Found, ph: float | None) -> Iterator[Finding]:
    about = found.about
    if about.form != "neutral" and about.pka is None:
        yield Finding("note", f"The pKa of {found.inci} is not known: its ionisation is not counted.", PLACE)
    elif about.pka is not None and ph is not None and not is_firm(about.pka.source):
        yield Finding("note", f"The pKa of {found.inci}, {about.pka.value:g}, is from memory.", PLACE, "from memory")
    if ph is not None:
        yield from _outside_habit(about, ph)


def _outside_habit(about: Preservative, ph: float) -> Iterator[Finding]:
    high = about.ph_high is not None and ph > about.ph_high
    low = about.ph_low is not None and ph < about.ph_low
    if high and about.form == "acid":
        little = "above that little undissociated acid is left"
        words = f"{about.inci} is usually used up to about pH {about.ph_high:g}; {little}. You measured {ph:g}."
        yield Finding("caution", words, PLACE, source_text(about.ph_source))
    elif high or low:
        span = f"pH {about.ph_low:g} to {about.ph_high:g}" if about.ph_low else f"pH {about.ph_high:g} and below"
        words = f"{about.inci} is usually used at about {span}. You measured {ph:g}."
        yield Finding("caution", words, PLACE, source_text(about.ph_source))


def _no_ph(acids: Sequence[Found], ph: float | None) -> Iterator[Finding]:
    if acids and ph is None:
        names = " and ".join(one.inci for one in acids)
        yield Finding(
            "note",
            f"Ionisation of {names} is not counted, because no pH was given. Measure the pH of the water layer: only "
            "the undissociated part enters the oil, and it is the part that is thought to act.",
            PLACE,
        )


def _unknown_k(levels: Sequence[WaterLevel]) -> Iterator[Finding]:
    guesses = [level for level in levels if not level.k.is_known]
    names = dict.fromkeys(level.inci for level in guesses)
    if not names:
        return
    log_ps = {level.inci: level.found.about.log_p for level in guesses}
    octanol = ", ".join(f"{inci} {10**log_p.value:.3g}" for inci, log_p in log_ps.items() if log_p)
    apart = f" Figures for octanol and water ({octanol}) belong to another liquid and are not used." if octanol else ""
    printed = [
        f"{row.preservative} in {row.oil} {row.k:g}" for row in published_partition() if row.preservative in names
    ]
    print_words = f" In print for other oils: {', '.join(printed)}." if printed else ""
    ks = [level.k.value for level in guesses]
    yield Finding(
        "note",
        f"K in this oil is unknown for {' and '.join(names)}. Levels are shown for K {min(ks):g} to {max(ks):g}, the "
        f"spread of one table of parabens in two oils.{print_words}{apart} Give your own K where it was measured.",
        PLACE,
        source_text(guesses[0].k.source),
    )


def _about_k(levels: Sequence[WaterLevel]) -> Iterator[Finding]:
    first = levels[0]
    if first.k.is_known and first.k.source:
        words = f"K of {first.inci} is {first.k.value:g}, {first.k.words} at 25 °C; yours may differ."
        yield Finding("note", words, PLACE, source_text(first.k.source))


def _about_solubility(levels: Sequence[WaterLevel]) -> Iterator[Finding]:
    full = [level for level in levels if level.best.is_saturated]
    solubility = levels[0].found.about.solubility
    if full and solubility:
        with_k = f" (with K {full[0].k.value:g})" if len(levels) > 1 else ""
        yield Finding(
            "caution",
            f"The water cannot hold so much {levels[0].inci}{with_k}: about {solubility.value:g} g/L of the "
            f"undissociated substance dissolve at about 25 °C, and {full[0].best.undissolved:.2g} g of 100 g of "
            "product would stay behind as crystals or drops. The level is shown as far as it dissolves.",
            PLACE,
            source_text(solubility.source),
        )


def _about_company(formula: Formula, materials: Materials, every: Sequence[Found]) -> Iterator[Finding]:
    alcohol = water = 0.0
    binders = []
    for p, _, line, percent in formula.each_line():
        inside = materials.substances(line.material) if line.material.strip() and percent else {}
        if formula.phases[p].kind == "water":
            water += percent or 0.0
            alcohol += sum((percent or 0.0) * inside.get(name, 0.0) / 100 for name in ALCOHOLS)
        known = [materials.ingredient(name) for name in inside]
        binders += [i.inci for i in known if i and i.charge == "nonionic" and set(i.roles) & set(BINDING)]
    if binders:
        words = f"{', '.join(dict.fromkeys(binders))}: nonionic surfactants bind parabens, phenoxyethanol and others, "
        yield Finding("caution", f"{words}so less is free in the water than is shown.", PLACE, HABIT)
    if water and 100 * alcohol > MUCH_ALCOHOL * water and any(one.about.pka for one in every):
        yield Finding(
            "note",
            "The water layer holds alcohol, which raises the pKa of an acid (benzoic acid: 4.21 in water, 4.92 in 25 % "
            "w/w ethanol). The pKa of plain water is used.",
            PLACE,
            source_text("benzoic-pka"),
        )
