"""The product that a command's options describe: what a notebook's bench holds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.bench.balance import TOLERANCE, Balance
from kit.bench.batch_text import ByBottles
from kit.bench.scaling import Order
from kit.commands.common import say
from kit.commands.options import from_options, options_of, values_of
from kit.errors import EntryError, UnknownNameError
from kit.findings import Finding
from kit.formula.files import read_formula
from kit.formula.model import PhReading
from kit.formula.versions import kept_version
from kit.inputs import Choice, Day, FileName, Input, Number, asked, count, inputs_of
from kit.layers.bottle import bundled_bottles
from kit.library.description import Description
from kit.library.library import Library
from kit.library.own import OWN_FILE, read_own
from kit.library.table import JURISDICTIONS
from kit.papers.paper import named_or_here
from kit.product.product import Product
from kit.product.workshop import WORKSHOP, find_workshop, read_workshop

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from kit.library.table import Jurisdiction


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What a formula is checked against."""

    own: Path | None = asked(
        "Your own ingredients", FileName(".csv"), None, help=f"Default: {OWN_FILE}, where there is one here."
    )
    jurisdiction: Jurisdiction = asked("Whose rules", Choice(JURISDICTIONS), "eu")
    on: str = asked("The day on which the product is placed on the market", Day(), help="Default: today.")
    workshop: Path | None = asked(
        "The numbers of your workshop",
        FileName(".toml"),
        None,
        help=f"Default: {WORKSHOP} beside the formula, else in the folder above.",
    )
    measured_ph: float | None = asked(
        "pH measured in the water layer, for the findings",
        Number(0, 14),
        None,
        help="Default: the one that is kept with the formula.",
    )


def _kept(product: Product, kept: int | None) -> Product:
    return product if kept is None else replace(product, formula=kept_version(product.formula, kept))


def _made(product: Product, bottle: str, **said: Any) -> Product:
    """The product made so: by bottles where their number is given, in a bottle filled as is usual unless said."""
    known = bundled_bottles()
    if bottle and bottle not in known:
        msg = f"There is no bottle {bottle!r}. Write one of {', '.join(known)}."
        raise UnknownNameError(msg)
    order = {name: value for name, value in said.items() if value is not None}
    if bottle:
        product = product.with_bottle(known[bottle], order.get("fill"))
    if isinstance(batch := order.get("grams"), ByBottles):
        if "bottles" in order:
            msg = f"--batch {batch} says how many bottles, and so does --bottles. Give one of them."
            raise EntryError(msg)
        del order["grams"]
        product = product.with_batch(batch)
        if bottle:
            product = replace(product, bottle=known[bottle])
    elif {"bottles", "besides", "grams"} & {*order}:
        order["by"] = "bottles" if {"bottles", "besides"} & {*order} else "mass"
        product = product.knowing("batch")
    return replace(product, order=replace(product.order, **order))


def _weighed(product: Product, tolerance: float | None, **plate: Any) -> Product:
    said = {name: value for name, value in plate.items() if value is not None}
    if said:
        product = replace(product, balance=replace(product.balance, **said)).knowing("balance")
    return product if tolerance is None else replace(product, tolerance=tolerance)


KEPT = Input("kept", "A version as it was kept, by its number", count(), None, help="Default: what is in hand.")
BOTTLE = Input("bottle", "The bottle, by the kit's name for it", default="")
#: What a command may say of the product in place of what its file says.
DESCRIPTION = [replace(one, default=None) for one in inputs_of(Description)]
ORDER = [replace(one, default=None) for one in inputs_of(Order) if one.name != "by"]
BALANCE = [replace(one, default=None) for one in (*inputs_of(Balance), TOLERANCE)]
#: What a command may ask about its product: the name in a paper's ``takes`` → the inputs, and what they do to it.
PARTS: dict[str, tuple[list[Input], Callable[..., Product]]] = {
    "kept": ([KEPT], _kept),
    "batch": ([*ORDER, BOTTLE], _made),
    "balance": (BALANCE, _weighed),
}


def add_formula(parser: argparse.ArgumentParser) -> None:
    """The formula's file."""
    parser.add_argument("file", type=Path, metavar="FILE", help="the formula: a TOML, CSV or XLSX file")


def add_product(parser: argparse.ArgumentParser, *parts: str) -> None:
    """The options of these parts, and of what every formula is checked against."""
    options_of(parser, Knowledge)
    options_of(parser, DESCRIPTION, "what the product is, where its file says nothing or something else")
    for part in parts:
        options_of(parser, PARTS[part][0], f"the {part}" if part != "kept" else "")


def product_of(given: argparse.Namespace, *parts: str) -> Product:
    """The product of the formula in the file, as the options of these parts say."""
    known, notes = from_options(given, Knowledge), list[Finding]()
    library = Library.bundled()
    if own := named_or_here(known.own, OWN_FILE):
        library = Library(library.supplied, read_own(own, notes))
    formula = read_formula(given.file, notes)
    said = {name: value for name, value in values_of(given, DESCRIPTION).items() if value is not None}
    formula = replace(formula, description=replace(formula.description, **said))
    if known.measured_ph is not None:
        formula = replace(formula, measured_ph=PhReading(known.measured_ph))
    product = Product(formula, library, known.jurisdiction, known.on)
    if file := known.workshop or find_workshop(given.file.parent):
        product = read_workshop(file).put_into(product)
    say(notes)
    for part in parts:
        inputs, put_into = PARTS[part]
        product = put_into(product, **values_of(given, inputs, bare=part == "balance"))
    return product
