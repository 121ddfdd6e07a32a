"""The ingredient declaration: every substance once, in the order that the law of a place asks for, with the reason."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from kit.errors import CompositionError
from kit.findings import Finding, Place, worst_first
from kit.formula.amounts import TOTAL_TOLERANCE
from kit.label.allergens import exceeds, threshold
from kit.label.colourants import colourant_findings
from kit.label.entries import (
    FLAVOUR,
    ORDER_SOURCES,
    PERFUME,
    DeclaredSubstance,
    Group,
    close_places,
    is_by_weight,
    place_in_words,
    plain_line,
    printed_name,
    shares_in_words,
)
from kit.label.gathering import gather, is_colourant
from kit.library.columns import split_list
from kit.rounding import four_digits
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.label.gathering import Gathered, Lines
    from kit.label.statements import AllergenStatement
    from kit.library.table import Jurisdiction


@dataclass(frozen=True, slots=True)
class Choices:
    """What the maker may choose or has to say about a list.

    Attributes
    ----------
    small_first
        The order of those that may stand in any order: ``weight`` (most first), ``alphabet``, or names in the
        order wanted; names left out follow by weight.
    perfume
        Materials to be declared as part of the perfume.
    statements
        What certificates say about allergens, from :func:`kit.label.statements.collected`.
    nano
        Substances that are there as nanomaterials.
    left_out
        Substances that are no ingredients in the sense of the law → why: an impurity of a raw material, or an
        aid in the making that is not there at the end.
    weighing_error
        How far each weighing may be off, to tell which places in the list rest on less than that. [% of it]
    """

    small_first: Literal["weight", "alphabet"] | tuple[str, ...] = "weight"
    perfume: tuple[str, ...] = ()
    statements: Mapping[str, AllergenStatement] = field(default_factory=dict)
    nano: tuple[str, ...] = ()
    left_out: Mapping[str, str] = field(default_factory=dict)
    weighing_error: float = 0.0


def read_left_out(text: str) -> dict[str, str]:
    """What is no ingredient, as typed: "Alcohol = impurity of the extract; Urea = aid, rinsed out".

    Examples
    --------
    >>> read_left_out("Alcohol = impurity of the extract; Urea")
    {'Alcohol': 'impurity of the extract', 'Urea': ''}
    """
    pairs = (part.partition("=") for part in split_list(text))
    return {name.strip(): reason.strip() for name, _, reason in pairs if name.strip()}


class ListMaker:
    """Turns what was gathered into entries in their order."""

    def __init__(
        self, formula: Formula, materials: Materials, jurisdiction: Jurisdiction, choices: Choices, found: Gathered
    ) -> None:
        self.materials = materials
        self.kind = formula.product_kind
        self.jurisdiction = jurisdiction
        self.choices = choices
        self.found = found
        self.findings: list[Finding] = []
        self._nano = {plain_letters(name) for name in choices.nano}

    def entries(self) -> list[DeclaredSubstance]:
        """Every entry, in the order of the list."""
        weights, colours = self._ingredients()
        named = self._allergens(weights) if self.jurisdiction == "eu" else {}
        placed = [self._entry(name, lines, colours[name]) for name, lines in weights.items()]
        placed += [self._entry(name, lines, colour=False, within=True) for name, lines in named.items()]
        ordered = [entry for entry in placed if entry.group == "by weight"]
        small = [entry for entry in placed if entry.group == "any order"]
        colourants = [entry for entry in placed if entry.group == "colourant"]
        return [*sorted(ordered, key=_by_weight), *self._small(small), *sorted(colourants, key=_by_weight)]

    def _ingredients(self) -> tuple[dict[str, Lines], dict[str, bool]]:
        """Printed name → lines, and printed name → whether it is a colourant; what bears one name is one entry."""
        weights: dict[str, Lines] = {}
        colours: dict[str, bool] = {}
        left_out = {plain_letters(name): reason for name, reason in self.choices.left_out.items()}
        for inci, lines in self.found.substances.items():
            percent = sum(lines.values())
            if plain_letters(inci) in left_out:
                self._tell_left_out(inci, percent, left_out[plain_letters(inci)])
                continue
            name = self._name(inci)
            mine = weights.setdefault(name, {})
            for line, share in lines.items():
                mine[line] = mine.get(line, 0.0) + share
            colours[name] = colours.get(name, True) and is_colourant(inci, self.materials)
        return weights, colours

    def _name(self, inci: str) -> str:
        printed = printed_name(inci, self.jurisdiction)
        name = printed.name
        if self.jurisdiction == "us":
            if not printed.firm:
                self._note(f"{name} stands for {inci} from memory. Look it up before you print it.", printed.source)
            return name
        allergen = self.found.entries.get(_label_name(inci, self.found))
        if allergen is not None and exceeds(self._allergen_total(allergen.label_name), threshold(self.kind)):
            name = allergen.label_name
        return f"{name} (nano)" if plain_letters(inci) in self._nano else name

    def _allergen_total(self, label_name: str) -> float:
        return sum(self.found.allergens.get(label_name, {}).values())

    def _allergens(self, weights: Mapping[str, Lines]) -> dict[str, Lines]:
        """The allergens above their level that do not stand in the list by themselves."""
        level, named = threshold(self.kind), {}
        for label_name, lines in self.found.allergens.items():
            entry = self.found.entries[label_name]
            total = sum(lines.values())
            if entry.which == "removed" and total > 0:
                self.findings.append(
                    Finding(
                        "caution",
                        f"{label_name} is no longer among the fragrance allergens of Annex III; it is remembered as "
                        "prohibited in the European Union. Ask the supplier for a perfume without it.",
                        source=entry.source,
                    )
                )
            if exceeds(total, level) and label_name not in weights and f"{label_name} (nano)" not in weights:
                named[label_name] = lines
        return named

    def _entry(self, name: str, lines: Lines, colour: bool, within: bool = False) -> DeclaredSubstance:
        percent = sum(lines.values())
        group: Group = (
            "colourant" if colour else "by weight" if is_by_weight(percent, self.jurisdiction) else "any order"
        )
        why = self._why(name, percent, group, within)
        reason = f"{shares_in_words(percent, lines)} {why}"
        return DeclaredSubstance(name, percent, group, reason, within, dict(lines), why)

    def _why(self, name: str, percent: float, group: Group, within: bool) -> str:
        said = []
        if within or name in self.found.entries:
            said.append(
                f"Named because it is a listed allergen above {threshold(self.kind):g} % in a {self.kind} product "
                f"({self.found.entries[name].entry})."
            )
        if name in self.found.estimated:
            oils = ", ".join(sorted(self.found.estimated[name]))
            said.append(f"Estimated: the usual share of {oils} stands in for its supplier's statement.")
        if within:
            said.append("Its weight is counted with what it came in.")
        elif exceeds(total := self._allergen_total(name), percent):
            said.append(f"With what came inside perfumes and oils there is {four_digits(total)} % of it.")
        if name in (PERFUME, FLAVOUR, "Fragrance", "Flavor"):
            said.append("All of the perfume or flavour stands under this one word.")
        said.append(place_in_words(percent, group, self.jurisdiction))
        return " ".join(said)

    def _small(self, small: list[DeclaredSubstance]) -> list[DeclaredSubstance]:
        wanted = self.choices.small_first
        if wanted == "alphabet":
            return sorted(small, key=lambda entry: entry.name.casefold())
        by_weight = sorted(small, key=_by_weight)
        if wanted == "weight":
            return by_weight
        printed = [plain_letters(printed_name(name, self.jurisdiction).name) for name in wanted]
        places = {letters: place for place, letters in reversed(list(enumerate(printed)))}
        for name, letters in zip(wanted, printed, strict=True):
            if letters not in {plain_letters(entry.name) for entry in small}:
                self._note(f"{plain_line(name)} is not among those that may stand in any order, so it keeps its place.")
        return sorted(by_weight, key=lambda entry: places.get(plain_letters(entry.name), len(places)))

    def _tell_left_out(self, inci: str, percent: float, reason: str) -> None:
        self._note(
            f"{inci} ({four_digits(percent)} %) is left out: {plain_line(reason) or 'no reason given'}. Only "
            "impurities of raw materials, and aids that are no longer in the product, are no ingredients.",
            ORDER_SOURCES[self.jurisdiction],
        )

    def _note(self, sentence: str, source: str = "") -> None:
        self.findings.append(Finding("note", sentence, Place(field="declaration"), source))


def _label_name(inci: str, found: Gathered) -> str:
    """The name under which a substance stands among the allergens that were found; empty where it does not."""
    letters = plain_letters(inci)
    for label_name, entry in found.entries.items():
        if letters in {plain_letters(name) for name in (label_name, *entry.names, *entry.other_names)}:
            return label_name
    return ""


def _by_weight(entry: DeclaredSubstance) -> tuple[float, str]:
    return -round(entry.percent, 9), entry.name.casefold()


@dataclass(frozen=True, slots=True)
class Declaration:
    """The list of ingredients, and what there is to say about it."""

    entries: tuple[DeclaredSubstance, ...]
    findings: tuple[Finding, ...] = ()
    jurisdiction: Jurisdiction = "eu"

    @property
    def names(self) -> tuple[str, ...]:
        """The names in their order."""
        return tuple(entry.name for entry in self.entries)

    @property
    def text(self) -> str:
        """The list as it is printed, with its heading; empty where there is nothing to declare."""
        return f"Ingredients: {', '.join(self.names)}" if self.entries else ""

    @property
    def any_order(self) -> tuple[str, ...]:
        """The names that may stand in any order."""
        return tuple(entry.name for entry in self.entries if entry.group == "any order")


def declaration(
    formula: Formula, materials: Materials, *, jurisdiction: Jurisdiction = "eu", choices: Choices | None = None
) -> Declaration:
    """The list of ingredients of a formula. Never raises: what is not known yet is a finding.

    Substances stand by weight as they are added, most first. Those of less than 1 % (European Union) or of 1 %
    or less (United States) may follow in any order, and colourants last. What is there by way of several lines,
    blends and stocks is one entry with its whole weight. A perfume is one entry; in the European Union the listed
    allergens in it are named too where they exceed their level.

    References
    ----------
    .. [1] Regulation (EC) No 1223/2009, Article 19(1)(g); Annex III for allergens.
    .. [2] 21 CFR 701.3; the order of its paragraph (f) was read in guides to labelling.

    Examples
    --------
    >>> from kit.demos import demo
    >>> from kit.formula.expansion import Materials
    >>> from kit.library.library import Library
    >>> formula = demo()
    >>> declaration(formula, Materials.of(formula, Library.bundled())).names[:4]
    ('Aqua', 'Coco-Caprylate', 'Prunus Armeniaca Kernel Oil', 'Glycerin')
    """
    choices = choices or Choices()
    findings = _amount_findings(formula)
    try:
        found = gather(formula, materials, choices.statements, choices.perfume)
    except CompositionError as error:
        return Declaration((), (Finding("stop", str(error)), *findings), jurisdiction)
    findings += found.findings
    if jurisdiction == "eu":
        findings += found.allergen_findings
    maker = ListMaker(formula, materials, jurisdiction, choices, found)
    entries = maker.entries()
    findings += maker.findings
    findings += close_places(entries, choices.weighing_error, jurisdiction, by_weight=choices.small_first == "weight")
    findings += colourant_findings(found.substances, formula.description, materials, jurisdiction)
    return Declaration(tuple(entries), tuple(worst_first(findings)), jurisdiction)


def _amount_findings(formula: Formula) -> list[Finding]:
    found = []
    for p, i, line, percent in formula.each_line():
        if not line.is_blank and (percent is None or percent < 0):
            name = plain_line(line.material) or "A line without a name"
            found.append(
                Finding("stop", f"{name} has no amount that can be used, so it is not in the list.", Place(p, i))
            )
        elif percent and not line.material.strip():
            sentence = f"{four_digits(percent)} % has no ingredient yet, so it is not in the list."
            found.append(Finding("stop", sentence, Place(p, i)))
    if abs(formula.total - 100) > TOTAL_TOLERANCE:
        found.append(Finding("stop", f"The formula adds to {formula.total:.6g} %, so the order may change yet."))
    return found
