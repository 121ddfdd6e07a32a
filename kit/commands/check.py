"""``check``: the findings about a formula, and nothing written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.commands import CLEAN, STOP
from kit.commands.common import new_parser, say
from kit.commands.product import add_formula, add_product, product_of
from kit.formula.versions import version_label
from kit.visible_text import one_line

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(prog, "Say what there is to say about a formula. Nothing is written.", "my_body_shake.toml")
    add_formula(made)
    add_product(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Say the findings, and count them."""
    product = product_of(options)
    say(product.findings)
    counts = [
        f"{count} {severity}{'s' if count != 1 else ''}"
        for severity in ("stop", "caution", "note")
        if (count := sum(finding.severity == severity for finding in product.findings))
    ]
    title = one_line(f"{product.formula.title}, {version_label(product.formula)}")
    print(f"{title}: {', '.join(counts) or 'nothing found by the kit'}.")
    print(one_line(product.looked_up.sentence))
    return STOP if product.stops else CLEAN
