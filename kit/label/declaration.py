"""The ingredient declaration: every substance once, in the order that the law of a place asks for, with the reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import CompositionError
from kit.findings import Finding, Place, worst_first
from kit.formula.amounts import TOTAL_TOLERANCE
from kit.label.colourants import colourant_findings
from kit.label.entries import Choices, DeclaredSubstance, ListMaker, read_left_out
from kit.label.gathering import gather
from kit.label.names import plain_line
from kit.label.places import close_places, figure

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.table import Jurisdiction

__all__ = ["Choices", "Declaration", "DeclaredSubstance", "declaration", "read_left_out"]


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
    if jurisdiction == "eu":
        findings += colourant_findings(found.substances, formula.product_kind, materials)
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
            sentence = f"{figure(percent)} % has no ingredient yet, so it is not in the list."
            found.append(Finding("stop", sentence, Place(p, i)))
    if abs(formula.total - 100) > TOTAL_TOLERANCE:
        found.append(Finding("stop", f"The formula adds to {formula.total:.6g} %, so the order may change yet."))
    return found
