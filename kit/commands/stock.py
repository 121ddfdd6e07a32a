"""``stock``: labels for the stocks of a formula, or the sheets by which they are made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.commands.common import (
    add_balance,
    add_details,
    add_formula,
    add_paper,
    desk_of,
    details_of,
    hand_out,
    new_parser,
)

if TYPE_CHECKING:
    import argparse

    from kit.papers.desk import Desk


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write labels for the stocks that travel with a formula, several on a page; or the sheets to make them by.",
        "my_body_shake.toml --copies 4 --made-on 2026-03-01",
    )
    add_formula(made)
    made.add_argument("--name", default="", metavar="STOCK", help="only the stock of this name")
    made.add_argument("--copies", type=int, default=1, metavar="N", help="labels of each stock (1)")
    made.add_argument("--make", metavar="MASS", help='write sheets to make so much of each, such as "250 g"')
    add_balance(made)
    add_details(made)
    add_paper(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Write the labels or the sheets."""
    desk = desk_of(options)
    return _making_sheets(desk, options) if options.make else _labels(desk, options)


def _labels(desk: Desk, options: argparse.Namespace) -> int:
    paper = desk.stock_labels(details_of(options), copies=options.copies, only=options.name)
    return hand_out(paper, options, desk.formula.title, options.name)


def _making_sheets(desk: Desk, options: argparse.Namespace) -> int:
    from kit.bench.making import from_pure
    from kit.errors import RangeError
    from kit.papers.paper import Paper
    from kit.papers.stock_labels import stocks_of
    from kit.papers.stock_sheet import StockSheet, stock_sheet_html

    stocks = stocks_of(desk.formula, options.name)
    if not stocks:
        msg = "There is no stock to make. Open a formula that holds one, or name one that it holds."
        raise RangeError(msg)
    if len(stocks) > 1:
        options.out = None  # several sheets cannot bear one name
    codes = []
    for stock in stocks:
        made = from_pure(stock, options.make, balance=desk.balance, tolerance=desk.tolerance)
        html = stock_sheet_html(StockSheet(made, desk.materials, details=details_of(options)))
        codes.append(hand_out(Paper("stock_sheet", html, made.findings), options, stock.name, options.lot))
    return max(codes)
