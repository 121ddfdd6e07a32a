"""Labels for bottles of stock, several on a page, to be cut out."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kit.bench.making import in_order
from kit.errors import KitError, RangeError
from kit.label.cautions import cautions_for
from kit.library.ingredient import Stock
from kit.papers.batch_sheet import SheetDetails
from kit.papers.layout import templates

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula

#: A page of labels is for one evening's bottles; a slip of the key must not print a book.
MOST_COPIES = 100


def stocks_of(formula: Formula, only: str = "") -> list[Stock]:
    """The stocks that travel with a formula, or only the one of that name."""
    named = only.strip().casefold()
    stocks = [material for material in formula.materials if isinstance(material, Stock)]
    return [stock for stock in stocks if not named or stock.name.casefold() == named]


@dataclass(frozen=True, slots=True)
class StockLabels:
    """All that a page of labels prints.

    Attributes
    ----------
    copies
        Labels of each stock.
    details
        Its lot and date stand on every label that has none of its own.
    """

    stocks: Sequence[Stock]
    materials: Materials
    copies: int = 1
    details: SheetDetails = field(default_factory=SheetDetails)

    def __post_init__(self) -> None:
        if not self.stocks:
            msg = "There is no stock to label. Make one first, or open a formula that holds one."
            raise RangeError(msg)
        if not 1 <= self.copies <= MOST_COPIES:
            msg = f"Print 1 to {MOST_COPIES} labels of each stock, not {self.copies}."
            raise RangeError(msg)


def stock_labels_html(sheet: StockLabels) -> str:
    """The labels as one HTML document that needs nothing else."""
    details = sheet.details
    labels = [
        {
            "name": stock.name,
            "strength": f"{stock.strength:g} % {stock.basis} {stock.active}" if stock.strength is not None else "",
            "density": f"{stock.density.value:g} g/mL" if stock.density else "",
            "contents": ", ".join(f"{name} {share:.4g} %" for name, share in in_order(stock.contents)),
            "lot": details.lot,
            "made_on": stock.made_on or details.made_on,
            "made_by": details.made_by,
            "keep_until": stock.keep_until,
            "note": stock.note,
            "cautions": _own_cautions(stock, sheet.materials),
        }
        for stock in sheet.stocks
        for _ in range(sheet.copies)
    ]
    return templates().get_template("stock_labels.html").render(labels=labels)


def _own_cautions(stock: Stock, materials: Materials) -> list[str]:
    """What to beware of with this stock; the general cautions stand on its making sheet."""
    try:
        substances = [name for part in stock.contents for name in materials.substances(part)]
    except KitError:
        substances = list(stock.contents)
    general = set(cautions_for((), materials))
    return [said for said in cautions_for(dict.fromkeys(substances), materials) if said not in general]
