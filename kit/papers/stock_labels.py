"""Labels for bottles of stock, several on a page, to be cut out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.bench.making import in_order
from kit.errors import KitError, RangeError
from kit.inputs import asked, count
from kit.label.cautions import cautions_for
from kit.library.ingredient import Stock
from kit.papers.paper import ByHand, PaperSpec

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.product.product import Product

#: A page of labels is for one evening's bottles; a slip of the key must not print a book.
MOST_COPIES = 100


def stocks_of(formula: Formula, only: str = "") -> list[Stock]:
    """The stocks that travel with a formula, or only the one of that name."""
    named = only.strip().casefold()
    stocks = [material for material in formula.materials if isinstance(material, Stock)]
    return [stock for stock in stocks if not named or stock.name.casefold() == named]


@dataclass(frozen=True, slots=True)
class StockLabelsOptions(ByHand):
    """What is asked for labels of stocks; lot and date stand on every label that has none of its own."""

    copies: int = asked("Labels of each", count(), 1)
    only: str = asked("Only the stock", option="name", help="By its name; empty: every stock of the formula.")


def context(product: Product, options: StockLabelsOptions) -> dict[str, Any]:
    """What the labels print.

    Raises
    ------
    RangeError
        The formula holds no stock, or none of that name; or too many labels are asked for.
    """
    stocks = stocks_of(product.formula, options.only)
    if not stocks:
        msg = "There is no stock to label. Make one first, or open a formula that holds one."
        raise RangeError(msg)
    if not 1 <= options.copies <= MOST_COPIES:
        msg = f"Print 1 to {MOST_COPIES} labels of each stock, not {options.copies}."
        raise RangeError(msg)
    labels = [
        {
            "name": stock.name,
            "strength": f"{stock.strength:g} % {stock.basis} {stock.active}" if stock.strength is not None else "",
            "density": f"{stock.density.value:g} g/mL" if stock.density else "",
            "contents": ", ".join(f"{name} {share:.4g} %" for name, share in in_order(stock.contents)),
            "lot": options.lot,
            "made_on": stock.made_on or options.made_on,
            "made_by": options.made_by,
            "keep_until": stock.keep_until,
            "note": stock.note,
            "cautions": _own_cautions(stock, product.materials),
        }
        for stock in stocks
        for _ in range(options.copies)
    ]
    return {"labels": labels}


def _own_cautions(stock: Stock, materials: Materials) -> list[str]:
    """What to beware of with this stock; the general cautions stand on its making sheet."""
    try:
        substances = [name for part in stock.contents for name in materials.substances(part)]
    except KitError:
        substances = list(stock.contents)
    general = set(cautions_for((), materials))
    return [said for said in cautions_for(dict.fromkeys(substances), materials) if said not in general]


SPEC = PaperSpec(
    "stock_labels",
    "Stock labels",
    "for the stocks that travel with the formula, to be cut out",
    "product",
    StockLabelsOptions,
    context,
    ("labels",),
    lambda product, options: (product.formula.title, options.only, options.lot),
    command="stock",
)
