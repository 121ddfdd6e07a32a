"""The text of a label, ready to be pasted, with what the law still misses in it."""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from kit.errors import CompositionError
from kit.findings import Finding, Place, worst_first
from kit.formula.expansion import expand
from kit.inputs import inputs_of
from kit.label.cautions import SHAKE, LabelCaution, caution_findings, duties, label_cautions
from kit.label.content import FLUID_OUNCE, OUNCE, WELL_KNOWN
from kit.label.declaration import Choices, Declaration, declaration
from kit.label.entries import hidden_signs, plain_line
from kit.label.particulars import DATE_UP_TO, PARTICULARS, Particulars, durability_findings, is_date, is_period, period
from kit.library.sources import is_firm, source_text
from kit.resources import load_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.label.content import NetContent
    from kit.library.table import Jurisdiction


#: Where something is to be written by hand.
BLANK = "______________________"

#: The particulars about the batch and how long it keeps, which stand together.
KEEPING = ("batch_code", "best_before", "period_after_opening", "storage")

#: Directions that say how often to shake; the general words give way to them.
_HOW_OFTEN = re.compile(r"\bshake (once|twice|\d+ times)\b", re.IGNORECASE)

#: What a product with a water and an oil layer needs on its label.
TWO_LAYERS = {"water", "oil"}


@dataclass(frozen=True, slots=True)
class LabelText:
    """A label: what is printed, what is missing, and what there is to say.

    Attributes
    ----------
    product_name, function
        As printed.
    content
        None while it is not known.
    declaration
        The list of ingredients.
    warnings
        What a law asks for in its own words, printed as it stands; each has its entry.
    cautions
        What else is printed as precautions, in this order, in our words and the maker's. What rests on a condition
        is not printed but told in ``findings``.
    shake
        Whether the product has to be shaken.
    details
        The rest, as typed.
    missing
        What the law asks for and is not there yet.
    """

    jurisdiction: Jurisdiction
    product_name: str
    function: str
    content: NetContent | None
    declaration: Declaration
    warnings: tuple[LabelCaution, ...]
    cautions: tuple[str, ...]
    shake: bool
    details: Particulars
    missing: tuple[Missing, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def batch_code(self) -> str:
        """As printed."""
        return plain_line(self.details.batch_code)

    @property
    def period_after_opening(self) -> str:
        """As printed, such as "12M"; empty where nothing was typed that can be read."""
        typed = self.details.period_after_opening
        return period(typed) if is_period(typed) else ""

    @property
    def text(self) -> str:
        """The label as plain text, a particular a line, with a free line between its parts."""
        return "\n\n".join("\n".join(lines) for lines in self._parts() if lines)

    def _parts(self) -> Iterator[list[str]]:
        said = self.details
        yield [line for line in (self.product_name, self.function) if line]
        yield [self.content.text(self.jurisdiction)] if self.content is not None else []
        directions = plain_line(said.directions)
        shakes = SHAKE if self.shake and not _HOW_OFTEN.search(directions) else ""
        yield [line for line in (shakes, directions) if line]
        yield [self.declaration.text] if self.declaration.text else []
        yield list(dict.fromkeys(warning.sentence for warning in self.warnings))
        yield list(self.cautions)
        yield [line for name in KEEPING for line in self._line(name)]
        yield [line for name in PARTICULARS if name not in KEEPING for line in self._line(name)]

    def _line(self, name: str) -> list[str]:
        """One particular, or a blank to write on where the law asks for it."""
        words = next(one.printed for one in inputs_of(Particulars) if one.name == name)
        opened = name == "period_after_opening"
        value = self.period_after_opening if opened else plain_line(str(getattr(self.details, name) or ""))
        if not words or (not value and name not in {lacking.field for lacking in self.missing}):
            return []
        return [f"{words}{'' if words.endswith(')') else ':'} {value or BLANK}"]


def label(
    formula: Formula,
    materials: Materials,
    *,
    jurisdiction: Jurisdiction = "eu",
    content: NetContent | None = None,
    details: Particulars | None = None,
    choices: Choices | None = None,
    on: str = "",
) -> LabelText:
    """The label of a formula. Never raises: what is not known or not there yet is told.

    Parameters
    ----------
    content
        What one pack holds; see :func:`kit.label.content.content_of_volume` and
        :func:`kit.label.content.read_content`.
    details
        What the maker typed.
    choices
        What she chose for the list of ingredients.
    on
        The day on which the product is placed on the market, as ISO text; empty: today.
    """
    details = details or Particulars()
    listed = declaration(formula, materials, jurisdiction=jurisdiction, choices=choices)
    cautions = label_cautions(_substances(formula, materials), materials, jurisdiction, formula.description, on)
    printed = [
        caution for caution in cautions if caution.duty == "must" or (caution.duty == "habit" and details.habits)
    ]
    findings = [
        *listed.findings,
        *caution_findings(cautions),
        *durability_findings(details, jurisdiction),
        *_content_findings(content, jurisdiction),
        *_hidden(formula, details),
        duties(jurisdiction),
    ]
    return LabelText(
        jurisdiction=jurisdiction,
        product_name=plain_line(details.product_name) or plain_line(formula.title),
        function=plain_line(details.function),
        content=content,
        declaration=listed,
        warnings=tuple(caution for caution in printed if caution.quoted),
        cautions=tuple(
            dict.fromkeys([*(caution.sentence for caution in printed if not caution.quoted), *details.warning_lines])
        ),
        shake=_is_shaken(formula),
        details=details,
        missing=tuple(missing_particulars(jurisdiction, details, content, listed)),
        findings=tuple(worst_first(findings)),
    )


def _is_shaken(formula: Formula) -> bool:
    """Whether it is meant to stand in layers, or at least has two and its description does not say otherwise."""
    if formula.description.layering:
        return formula.description.layering == "two layers"
    return {phase.kind for p, phase in enumerate(formula.phases) if formula.phase_total(p) > 0} >= TWO_LAYERS


def _substances(formula: Formula, materials: Materials) -> dict[str, float]:
    try:
        return expand(formula, materials)
    except CompositionError:
        return {}


def _content_findings(content: NetContent | None, jurisdiction: Jurisdiction) -> Iterator[Finding]:
    place = Place(field="content")
    if content is None:
        return
    if jurisdiction == "us" and content.has_larger_unit:
        sentence = "From a pint or a pound on, the larger units have to be stated too; that rule is from memory."
        yield Finding("caution", sentence, place, source_text("us-701-13"))
    if content.off > WELL_KNOWN:
        other, do = ("weight", "weigh") if content.stated == "volume" else ("volume", "measure")
        sentence = (
            f"The {other} beside the {content.stated} rests on a density that may lie off by {content.off:.2g} %: {do} "
            f"the content of a filled pack, or leave the {other} out where the law lets you."
        )
        yield Finding("caution", sentence, place)
    sentence = "Figures are rounded down, so that the pack holds at least what it says. Millilitres are for 20 °C."
    yield Finding("note", sentence, place, source_text("nist-metric-labelling"))
    if jurisdiction == "us":
        sentence = f"One fluid ounce is taken as {FLUID_OUNCE:g} mL and one ounce as {OUNCE:g} g."
        yield Finding("note", sentence, place, source_text("us-16-cfr-500"))


def _hidden(formula: Formula, details: Particulars) -> Iterator[Finding]:
    typed = {"title": formula.title, **{each.name: getattr(details, each.name) for each in fields(details)}}
    for line in (line for _, _, line, _ in formula.each_line()):
        typed[f"ingredient {plain_line(line.material)}"] = line.material
    for name, text in typed.items():
        if isinstance(text, str) and (count := hidden_signs(text)):
            words = name.replace("_", " ")
            taken = "One sign that cannot be seen was" if count == 1 else f"{count} signs that cannot be seen were"
            sentence = f"{taken} taken out of the {words}."
            yield Finding("note", sentence, Place(field=name))


UNSUBSTANTIATED = "Warning—The safety of this product has not been determined."


@dataclass(frozen=True, slots=True)
class Missing:
    """One particular that is missing.

    Attributes
    ----------
    what
        In words.
    field
        The part of the label: a field of :class:`kit.label.particulars.Particulars`, "content" or "declaration".
    source
        Where the law asks for it.
    firm
        False where that is only remembered.
    """

    what: str
    field: str
    source: str
    firm: bool = True

    def __str__(self) -> str:
        return f"{self.what} [{self.source}{'' if self.firm else '; from memory'}]"


def missing_particulars(
    jurisdiction: Jurisdiction, details: Particulars, content: NetContent | None, listed: Declaration
) -> Iterator[Missing]:
    """Each particular that the law of a place asks for and that is not there yet."""
    for row in load_table("label-rules").rows:
        if row["jurisdiction"] != jurisdiction:
            continue
        what = _lacking(row["field"], row["asks"], details, content, listed)
        if what:
            yield Missing(
                what,
                _field(row["field"], details),
                _citation(row["source_key"], row["entry"]),
                is_firm(row["source_key"]),
            )


def _lacking(field: str, asks: str, details: Particulars, content: NetContent | None, listed: Declaration) -> str:
    """What is missing of one particular, or nothing."""
    if field == "content":
        return "" if content is not None else asks
    if field == "declaration":
        return _list_lacking(asks, listed)
    if field == "best_before":
        return _durability_lacking(details)
    if field == "country_of_origin":
        return asks if details.imported and not details.country_of_origin.strip() else ""
    if field == "warnings":
        return "" if plain_letters(UNSUBSTANTIATED) in plain_letters(details.warnings) else asks
    return "" if str(getattr(details, field)).strip() else asks


def _field(field: str, details: Particulars) -> str:
    """The part of the label to fill in: above 30 months it is the period after opening in place of the date."""
    months = details.durability_months
    return "period_after_opening" if field == "best_before" and months is not None and months > DATE_UP_TO else field


def _list_lacking(asks: str, listed: Declaration) -> str:
    if not listed.entries:
        return asks
    stops = [finding for finding in listed.findings if finding.severity == "stop"]
    return f"{asks}: the one here is not ready, see what stands beside it" if stops else ""


def _durability_lacking(details: Particulars) -> str:
    months = details.durability_months
    dated, opened = is_date(details.best_before), is_period(details.period_after_opening)
    if dated:
        return ""
    if months is None:
        return "how long it keeps unopened: up to 30 months a date, above that a period after opening"
    if months <= DATE_UP_TO:
        return "the date up to which it keeps, headed 'best used before the end of'"
    return "" if opened else "a period after opening, beside the open-jar symbol"


def _citation(source_key: str, entry: str) -> str:
    return f"{source_text(source_key)}, {entry}" if is_firm(source_key) else entry
