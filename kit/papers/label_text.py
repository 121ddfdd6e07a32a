"""The label text: what stands on a label, why the list of ingredients stands as it does, and what is missing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from kit.inputs import FileName, asked, read_group, texts_of
from kit.label.particulars import PARTICULARS, Particulars, particulars_file, read_particulars
from kit.label.statements import read_statements
from kit.library.table import JURISDICTIONS
from kit.papers.paper import PaperSpec, asked_long, named_or_here
from kit.rounding import percent_on_paper

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from kit.findings import Finding
    from kit.label.entries import DeclaredSubstance
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
    long: bool = asked_long()


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


def context(product: Product, options: LabelTextOptions) -> dict[str, Any]:
    """What the paper prints.

    Raises
    ------
    KitError
        A net content that cannot be read.
    """
    label = product.label
    common = {} if options.long else _common(label.declaration.entries)
    told = [finding.source for finding in label.findings] + [missing.source for missing in label.missing]
    return {
        "formula": product.formula,
        "place": JURISDICTIONS[label.jurisdiction],
        "label": label,
        "text": label.text,
        "findings": [*product.stops, *label.findings],
        "looked_up": product.looked_up.sentence,
        "entries": [_entry(entry, common) for entry in label.declaration.entries],
        "common": common,
        "sources": list(dict.fromkeys(source for source in told if source)),
        "long": options.long,
    }


def _group(entry: DeclaredSubstance) -> str:
    return f"{entry.group}, named within another" if entry.within else entry.group


def _common(entries: Sequence[DeclaredSubstance]) -> dict[str, str]:
    """Why the names of a part of the list stand where they do, where it is the same for several of them."""
    said: dict[str, Counter[str]] = {}
    for entry in entries:
        said.setdefault(_group(entry), Counter()).update([entry.why])
    usual = {group: whys.most_common(1)[0] for group, whys in said.items()}
    return {group: why for group, (why, count) in usual.items() if why and count > 1}


def _entry(entry: DeclaredSubstance, common: Mapping[str, str]) -> dict[str, str]:
    group, reason = _group(entry), entry.reason
    return {
        "name": entry.name,
        "percent": percent_on_paper(entry.percent),
        "group": group,
        "reason": reason.removesuffix(entry.why).rstrip() if common.get(group) == entry.why else reason,
    }


SPEC = PaperSpec(
    "label_text",
    "Label text",
    "the list of ingredients with its reasons, and what is missing; what is left empty is as the label panel kept it",
    "product",
    LabelTextOptions,
    context,
    ("formula", "place", "label", "text", "findings", "looked_up", "entries", "common", "sources", "long"),
    lambda product, options: (product.formula.title, product.jurisdiction, options.batch_code),
    files,
    command="label",
    example='my_body_shake.toml --jurisdiction eu --content "85 mL" --function "body oil"',
)
