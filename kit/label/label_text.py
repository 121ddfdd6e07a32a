"""The text of a label, ready to be pasted, with what the law still misses in it."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from kit.errors import CompositionError
from kit.findings import Finding, Place, worst_first
from kit.formula.expansion import expand
from kit.label.cautions import SHAKE, LabelCaution, label_cautions
from kit.label.content import FLUID_OUNCE, OUNCE, WELL_KNOWN
from kit.label.declaration import Choices, Declaration, declaration
from kit.label.durability import durability_findings, is_period, period
from kit.label.missing import Missing, missing_particulars
from kit.label.names import hidden_signs, plain_line
from kit.library.sources import source_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.label.content import NetContent
    from kit.library.table import Jurisdiction

#: Where something is to be written by hand.
BLANK = "______________________"

#: What a product with a water and an oil layer needs on its label.
TWO_LAYERS = {"water", "oil"}


@dataclass(frozen=True, slots=True)
class LabelDetails:
    """What the maker types for a label; what is left empty is a blank to write on where the law
    asks for it, and otherwise not printed.

    Attributes
    ----------
    product_name
        Empty: the title of the formula.
    function
        What the product is and does, such as "body oil".
    batch_code
        By which the batch is found again.
    period_after_opening
        As "12M" or "1 Y"; the open-jar symbol is described in the text, not drawn.
    durability_months
        How long it keeps unopened, as a qualified person found; None where that is not known. [months]
    best_before
        As "11/2027", "30/11/2027" or an ISO date.
    storage
        Conditions under which it keeps.
    responsible_person, country_of_origin
        Name with address, and where an imported product comes from.
    imported
        Whether the product is imported, so that its origin has to be stated.
    directions
        How it is used.
    warnings
        More warnings, a line each.
    contact
        Where adverse events are reported, for the United States.
    habits
        Whether the cautions that are a habit of the trade are printed too.
    """

    product_name: str = ""
    function: str = ""
    batch_code: str = ""
    period_after_opening: str = ""
    durability_months: float | None = None
    best_before: str = ""
    storage: str = ""
    responsible_person: str = ""
    country_of_origin: str = ""
    imported: bool = False
    directions: str = ""
    warnings: str = ""
    contact: str = ""
    habits: bool = True

    @property
    def warning_lines(self) -> tuple[str, ...]:
        """The maker's own warnings, each as one line that can be printed."""
        return tuple(line for each in self.warnings.splitlines() if (line := plain_line(each)))


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
    cautions
        What is printed as precautions, in this order; conditional ones are not printed but told in ``findings``.
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
    cautions: tuple[str, ...]
    shake: bool
    details: LabelDetails
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
        yield [line for line in (SHAKE if self.shake else "", plain_line(said.directions)) if line]
        yield [self.declaration.text] if self.declaration.text else []
        yield list(self.cautions)
        yield [
            *self._line("Batch", "batch_code", self.batch_code),
            *self._line("Best used before the end of", "best_before", plain_line(said.best_before)),
            *self._line("(open-jar symbol)", "period_after_opening", self.period_after_opening),
            *self._line("Storage", "storage", plain_line(said.storage)),
        ]
        yield [
            *self._line("Responsible person", "responsible_person", plain_line(said.responsible_person)),
            *self._line("Made in", "country_of_origin", plain_line(said.country_of_origin)),
            *self._line("Report unwanted effects to", "contact", plain_line(said.contact)),
        ]

    def _line(self, words: str, field: str, value: str) -> list[str]:
        """One particular, or a blank to write on where the law asks for it."""
        if not value and field not in {lacking.field for lacking in self.missing}:
            return []
        return [f"{words}{'' if words.endswith(')') else ':'} {value or BLANK}"]


def label(
    formula: Formula,
    materials: Materials,
    *,
    jurisdiction: Jurisdiction = "eu",
    content: NetContent | None = None,
    details: LabelDetails | None = None,
    choices: Choices | None = None,
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
    """
    details = details or LabelDetails()
    listed = declaration(formula, materials, jurisdiction=jurisdiction, choices=choices)
    cautions = label_cautions(_substances(formula, materials), jurisdiction)
    printed = [
        caution for caution in cautions if caution.duty == "must" or (caution.duty == "habit" and details.habits)
    ]
    findings = [
        *listed.findings,
        *_conditional(cautions),
        *durability_findings(details, jurisdiction),
        *_content_findings(content, jurisdiction),
        *_hidden(formula, details),
    ]
    return LabelText(
        jurisdiction=jurisdiction,
        product_name=plain_line(details.product_name) or plain_line(formula.title),
        function=plain_line(details.function),
        content=content,
        declaration=listed,
        cautions=tuple(dict.fromkeys([*(caution.sentence for caution in printed), *details.warning_lines])),
        shake={phase.kind for p, phase in enumerate(formula.phases) if formula.phase_total(p) > 0} >= TWO_LAYERS,
        details=details,
        missing=tuple(missing_particulars(jurisdiction, details, content, listed)),
        findings=tuple(worst_first(findings)),
    )


def _substances(formula: Formula, materials: Materials) -> dict[str, float]:
    try:
        return expand(formula, materials)
    except CompositionError:
        return {}


def _conditional(cautions: list[LabelCaution]) -> Iterator[Finding]:
    for caution in cautions:
        if caution.duty == "must":
            sentence = f"The law asks for a warning; this is our wording, print that of the entry: {caution.sentence}"
            yield Finding("note", sentence, Place(field="cautions"), caution.source)
        elif caution.duty == "if":
            sentence = f"This warning may be asked for; look up its conditions: {caution.sentence}"
            yield Finding("caution", sentence, Place(field="cautions"), caution.source)


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


def _hidden(formula: Formula, details: LabelDetails) -> Iterator[Finding]:
    typed = {"title": formula.title, **{each.name: getattr(details, each.name) for each in fields(details)}}
    for line in (line for _, _, line, _ in formula.each_line()):
        typed[f"ingredient {plain_line(line.material)}"] = line.material
    for name, text in typed.items():
        if isinstance(text, str) and (count := hidden_signs(text)):
            words = name.replace("_", " ")
            taken = "One sign that cannot be seen was" if count == 1 else f"{count} signs that cannot be seen were"
            sentence = f"{taken} taken out of the {words}."
            yield Finding("note", sentence, Place(field=name))
