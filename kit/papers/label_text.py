"""The label text: what stands on a label, why the list of ingredients stands as it does, and what is missing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from kit.inputs import FileName, asked, read_group, texts_of
from kit.label.particulars import PARTICULARS, Particulars, particulars_file, read_particulars
from kit.label.statements import read_statements
from kit.library.table import JURISDICTIONS
from kit.papers.paper import PaperSpec, named_or_here
from kit.rounding import percent_on_paper

if TYPE_CHECKING:
    from pathlib import Path

    from kit.findings import Finding
    from kit.product.product import Product


@dataclass(frozen=True, slots=True)
class LabelTextOptions(Particulars):
    """What is asked for a label text: every particular, where it is not as the label panel has it."""

    batch_code: str = asked("Lot", example="TL-07", help="By which the batch is found again.")
    particulars: Path | None = asked(
        "Kept particulars",
        FileName(".csv"),
        None,
        help="Empty: those of the label panel, else the formula's ..._label.csv, where there is one here.",
    )
    allergens: Path | None = asked(
        "Allergen statements",
        FileName(".csv"),
        None,
        help="What certificates say about scents. Empty: allergen_statements.csv, where there is one here.",
    )


def files(product: Product, options: LabelTextOptions, _notes: list[Finding]) -> Product:
    """The product with the particulars and the allergen statements that are kept or were asked for."""
    typed = {name: text for name, text in texts_of(options).items() if name in PARTICULARS}
    kept = texts_of(product.particulars)
    if (options.particulars or not kept) and (
        file := named_or_here(options.particulars, particulars_file(product.formula.title))
    ):
        kept = read_particulars(file)
    choices = product.choices
    if (options.allergens or not choices.statements) and (
        file := named_or_here(options.allergens, "allergen_statements.csv")
    ):
        choices = replace(choices, statements=read_statements(file))
    return replace(product, particulars=read_group(Particulars, kept | typed), choices=choices)


def context(product: Product, _options: LabelTextOptions) -> dict[str, Any]:
    """What the paper prints.

    Raises
    ------
    KitError
        A net content that cannot be read.
    """
    label = product.label
    told = [finding.source for finding in label.findings] + [missing.source for missing in label.missing]
    return {
        "formula": product.formula,
        "place": JURISDICTIONS[label.jurisdiction],
        "label": label,
        "text": label.text,
        "findings": [*product.stops, *label.findings],
        "looked_up": product.looked_up.sentence,
        "entries": [
            {
                "name": entry.name,
                "percent": percent_on_paper(entry.percent),
                "group": f"{entry.group}, named within another" if entry.within else entry.group,
                "reason": entry.reason,
            }
            for entry in label.declaration.entries
        ],
        "sources": list(dict.fromkeys(source for source in told if source)),
    }


SPEC = PaperSpec(
    "label_text",
    "Label text",
    "the list of ingredients with its reasons, and what is missing; what is left empty is as the label panel kept it",
    "product",
    LabelTextOptions,
    context,
    ("formula", "place", "label", "text", "findings", "looked_up", "entries", "sources"),
    lambda product, options: (product.formula.title, product.jurisdiction, options.batch_code),
    files,
    command="label",
    example='my_body_shake.toml --jurisdiction eu --content "85 mL" --function "body oil"',
)
