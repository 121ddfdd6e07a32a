"""A stock book for trying, in a folder that goes away with the session."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from kit.bench.stock_book import StockBook

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.library.ingredient import Stock


def trial_book(stocks: Iterable[Stock], made: object, *, on: str) -> StockBook:
    """A book in which so much of each stock was made, kept until the session ends.

    Parameters
    ----------
    made
        Mass of each stock, such as "60 g". [mass]
    on
        The day, such as "2026-03-02".

    Raises
    ------
    RangeError
        The mass is not above zero, or the text is no day.

    Examples
    --------
    >>> from kit.bench.dilution import make_stock
    >>> trial_book([make_stock("Citric Acid 20 % stock", "Citric Acid", 20)], "60 g", on="2026-03-02").all_on_hand()
    {'Citric Acid 20 % stock': 60.0}
    """
    folder = tempfile.mkdtemp(prefix="stock-book-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    book = StockBook(Path(folder) / "stock_book.csv")
    for stock in stocks:
        book.made(stock.name, made, on=on)
    return book
