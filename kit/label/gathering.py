"""What stands in a product: each substance with the lines that bring it, perfumes as one, allergens and colourants."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kit.findings import Finding, Place
from kit.label.allergens import Allergen, allergen_named
from kit.label.entries import FLAVOUR, FLAVOUR_WORDS, PERFUME, PERFUME_WORDS, is_colour_index
from kit.label.statements import statement_for
from kit.label.typical import typical_shares
from kit.library.sources import source_text
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.label.statements import AllergenStatement
    from kit.library.ingredient import Material


#: A plant material with one of these endings holds scents of its own; so may what has one of these roles.
_SCENTED_ENDINGS = (" oil", " extract", " absolute", " resin", " balsam", " water")

_SCENTED_ROLES = frozenset({"fragrance part", "essential oil", "scent"})

ANNEX_III = source_text("eu-annex-iii")

#: Material of a line → how much of a substance it brings. [% w/w of the whole]
Lines = dict[str, float]


@dataclass
class Gathered:
    """The substances of a formula.

    Attributes
    ----------
    substances
        INCI name → the lines that bring it; perfumes and flavours under one name each. Together they weigh as
        much as the formula. [% w/w]
    allergens
        Name to print of each listed allergen → the lines that bring it, alone or within a perfume or oil. [% w/w]
    entries
        Name to print → its entry in the list.
    estimated
        Name to print of each allergen → the materials in which a usual share stands in for the supplier's statement.
    findings, allergen_findings
        What is not known, of the substances and of the allergens in them.
    """

    substances: dict[str, Lines] = field(default_factory=dict)
    allergens: dict[str, Lines] = field(default_factory=dict)
    entries: dict[str, Allergen] = field(default_factory=dict)
    estimated: dict[str, set[str]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    allergen_findings: list[Finding] = field(default_factory=list)


def gather(
    formula: Formula,
    materials: Materials,
    statements: Mapping[str, AllergenStatement] | None = None,
    perfume: Iterable[str] = (),
) -> Gathered:
    """The substances of a formula with the lines that bring each, through blends and stocks at any depth.

    Parameters
    ----------
    statements
        What certificates say about allergens, from :func:`kit.label.statements.collected`.
    perfume
        Materials to be declared as part of the perfume, such as an essential oil. A material with the role
        "fragrance" or "perfume" always is.

    Raises
    ------
    CompositionError
        A blend or stock that is part of itself.
    """
    known = statements or {}
    search = _Search(materials, known, frozenset(plain_letters(name) for name in perfume))
    for p, i, line, percent in formula.each_line():
        name = line.material.strip()
        if not name or not percent or percent < 0:
            continue
        materials.substances(name)  # refuses a loop, with its sentence
        material = materials.get(name)
        search.line = material.name if material is not None else name
        search.place = Place(p, i, "material")
        search.add(name, percent)
    return search.found


class _Search:
    """Walks from a line down to substances, and notes what is not known once for each material."""

    def __init__(
        self, materials: Materials, statements: Mapping[str, AllergenStatement], perfume: frozenset[str]
    ) -> None:
        self.materials = materials
        self.statements = statements
        self.perfume = perfume
        self.found = Gathered()
        self.line = ""
        self.place = Place()
        self._told: set[str] = set()
        self._ends: dict[str, dict[str, float]] = {}

    def add(self, name: str, percent: float) -> None:
        """Add a material and what is in it. [% w/w of the whole]"""
        for end, share in self.ends(name).items():
            self._add_end(end, percent * share)

    def ends(self, name: str) -> Mapping[str, float]:
        """What a material is split into, each with how much of it 1 g holds; it must not be part of itself. [g]

        Each material is split once, the innermost first, however often and however deep it stands.
        """
        waiting = [name]
        while waiting:
            inner = waiting[-1]
            parts = self._split(inner)
            missing = [part for part in [*parts][::-1] if part not in self._ends]
            if inner not in self._ends and missing:
                waiting += missing
                continue
            waiting.pop()
            if inner not in self._ends:
                self._ends[inner] = self._mixed(parts) if parts else {inner: 1.0}
        return self._ends[name]

    def _split(self, name: str) -> Mapping[str, float]:
        """The parts of a material that the list names instead of it; none of one that it names, or that has none."""
        material = self.materials.get(name)
        if material is None or not _parts(material) or self.collective(name, material):
            return {}
        is_scent = _may_hold_allergens(material.name, material, allergen_named(material.name))
        return {} if is_scent else material.composition

    def _mixed(self, parts: Mapping[str, float]) -> dict[str, float]:
        found: dict[str, float] = {}
        whole = sum(parts.values())
        for part, percent in parts.items():
            for end, share in self._ends[part].items():
                found[end] = found.get(end, 0.0) + percent * share / whole
        return found

    def _add_end(self, name: str, percent: float) -> None:
        """Add what is not split further. [% w/w of the whole]"""
        material = self.materials.get(name)
        collective = self.collective(name, material)
        inci = material.name if material is not None else name.strip()
        allergen = allergen_named(inci)
        if collective:
            self._bring(self.found.substances, collective, percent)
            if allergen is not None:
                self._allergen(allergen, percent)
            self._within(name, material, percent)
        else:
            self._substance(name, material, percent)

    def collective(self, name: str, material: Material | None) -> str:
        """Parfum or Aroma where a material is one, else nothing."""
        words = {plain_letters(name), plain_letters(material.name) if material is not None else ""}
        if (words | _roles(material)) & FLAVOUR_WORDS:
            return FLAVOUR
        if (words | _roles(material)) & PERFUME_WORDS or words & self.perfume:
            return PERFUME
        return ""

    def _substance(self, name: str, material: Material | None, percent: float) -> None:
        inci = material.name if material is not None else name.strip()
        if percent <= 0:
            return
        self._bring(self.found.substances, inci, percent)
        if material is None:
            self._tell(
                Finding("caution", f"{inci} is not in the library. Check that this is its INCI name.", self.place)
            )
        if "(and)" in inci:
            sentence = f"{inci} is a mixture whose parts are not known. Give its composition in the library."
            self._tell(Finding("stop", sentence, self.place))
        allergen = allergen_named(inci)
        if allergen is not None:
            self._allergen(allergen, percent)
        if _may_hold_allergens(inci, material, allergen):
            self._within(inci, material, percent)

    def _within(self, name: str, material: Material | None, percent: float) -> None:
        """Add the allergens inside a perfume, flavour or scented plant material."""
        inci = material.name if material is not None else name.strip()
        statement = statement_for(inci, self.statements) or statement_for(name, self.statements)
        if statement is not None:
            for part, share in statement.parts.items():
                found = allergen_named(part)
                if found is not None:
                    self._allergen(found, percent * share / 100.0)
        elif material is not None and _parts(material):
            for part, grams in self.materials.substances(inci).items():
                found = allergen_named(part)
                if found is not None:
                    self._allergen(found, percent * grams / 100.0)
        elif typical := typical_shares(inci):
            for each in typical:
                self._allergen(each.allergen, percent * each.share / 100.0)
                self.found.estimated.setdefault(each.allergen.label_name, set()).add(inci)
            sentence = (
                f"No allergen statement of {inci} is noted. Its allergens are counted with the usual shares of such an "
                f"oil: {', '.join(each.text for each in typical)}. Yours may hold twice as much or others. Ask its "
                "supplier for the statement and note what it says; it then takes the place of this estimate."
            )
            self._tell(Finding("caution", sentence, self.place, ANNEX_III), self.found.allergen_findings)
        elif allergen_named(inci) is None or _is_plant(inci):
            sentence = (
                f"Nothing is known about the allergens in {inci}. Ask its supplier for the allergen statement and "
                "note what it says; until then allergens may be missing from the list."
            )
            self._tell(Finding("caution", sentence, self.place, ANNEX_III), self.found.allergen_findings)

    def _allergen(self, allergen: Allergen, percent: float) -> None:
        self.found.entries[allergen.label_name] = allergen
        self._bring(self.found.allergens, allergen.label_name, percent)

    def _bring(self, where: dict[str, Lines], name: str, percent: float) -> None:
        lines = where.setdefault(name, {})
        lines[self.line] = lines.get(self.line, 0.0) + percent

    def _tell(self, finding: Finding, where: list[Finding] | None = None) -> None:
        if finding.sentence not in self._told:
            self._told.add(finding.sentence)
            (self.found.findings if where is None else where).append(finding)


def _parts(material: Material) -> bool:
    """Whether a material is a mixture with a composition of its own."""
    return bool(material.composition) and set(material.composition) != {material.name}


def _roles(material: Material | None) -> frozenset[str]:
    return frozenset(role.casefold() for role in getattr(material, "roles", ()))


def is_colourant(inci: str, materials: Materials) -> bool:
    """Whether a substance is there to colour: by its role in the library, or because it is a Colour Index number."""
    return is_colour_index(inci) or "colourant" in _roles(materials.get(inci))


def _is_plant(inci: str) -> bool:
    return inci.casefold().endswith(_SCENTED_ENDINGS)


def _may_hold_allergens(inci: str, material: Material | None, allergen: Allergen | None) -> bool:
    """Whether a substance is a plant's oil, extract or water with scents of its own, or a scent nobody knows."""
    if allergen is not None:
        return _is_plant(inci)
    return bool(_SCENTED_ROLES & _roles(material))


def scented_materials(formula: Formula, materials: Materials) -> list[str]:
    """The materials of a formula's lines whose allergens a certificate has to tell, in the order of the lines.

    Perfumes, flavours and scented plant materials, also where they are part of a blend or stock.
    """
    search = _Search(materials, {}, frozenset())
    found: dict[str, None] = {}
    for _, _, line, _ in formula.each_line():
        if line.material.strip():
            materials.substances(line.material)
            found.update(dict.fromkeys(_scented(search, line.material.strip())))
    return list(found)


def _scented(search: _Search, name: str) -> Iterator[str]:
    for end in search.ends(name):
        material = search.materials.get(end)
        inci = material.name if material is not None else end
        if search.collective(end, material) or _may_hold_allergens(inci, material, allergen_named(inci)):
            yield inci
