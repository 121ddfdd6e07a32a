"""``stock``: labels for the stocks of a formula, or the sheets by which they are made."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kit.bench.making import from_pure
from kit.commands.common import Output, hand_out, new_parser
from kit.commands.options import from_options, options_of
from kit.commands.product import add_formula, add_product, product_of
from kit.errors import RangeError
from kit.inputs import asked
from kit.papers.registry import make_paper
from kit.papers.stock_labels import StockLabelsOptions, stocks_of
from kit.papers.stock_sheet import StockInMaking

if TYPE_CHECKING:
    import argparse

    from kit.product.product import Product


@dataclass(frozen=True, slots=True)
class ToMake:
    """How much is made of each stock; empty for labels in place of making sheets."""

    make: str = asked("Write sheets to make so much of each", example="250 g")


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "Write labels for the stocks that travel with a formula, several on a page; or the sheets to make them by.",
        "my_body_shake.toml --copies 4 --made-on 2026-03-01",
    )
    add_formula(made)
    options_of(made, ToMake)
    add_product(made, "balance")
    options_of(made, StockLabelsOptions, "what stands on them")
    options_of(made, Output, "the paper")
    return made


def run(options: argparse.Namespace) -> int:
    """Write the labels or the sheets."""
    product, output = product_of(options, "balance"), from_options(options, Output)
    asked_for, make = from_options(options, StockLabelsOptions), from_options(options, ToMake).make
    if make:
        return _making_sheets(product, asked_for, make, output)
    return hand_out(make_paper("stock_labels", product, asked_for), output, product.formula.title)


def _making_sheets(product: Product, asked_for: StockLabelsOptions, amount: str, output: Output) -> int:
    stocks = stocks_of(product.formula, asked_for.only)
    if not stocks:
        msg = "There is no stock to make. Open a formula that holds one, or name one that it holds."
        raise RangeError(msg)
    if len(stocks) > 1:
        output = replace(output, out=None)  # several sheets cannot bear one name
    codes = []
    for stock in stocks:
        making = from_pure(stock, amount, balance=product.balance, tolerance=product.tolerance)
        paper = make_paper("stock_sheet", StockInMaking(making, product.materials), asked_for)
        codes.append(hand_out(paper, output, product.formula.title))
    return max(codes)
