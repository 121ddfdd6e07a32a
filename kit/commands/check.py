"""``check``: the findings about a formula, and nothing written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.commands import CLEAN, STOP
from kit.commands.common import add_formula, desk_of, new_parser, say

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(prog, "Say what there is to say about a formula. Nothing is written.", "my_body_shake.toml")
    add_formula(made)
    return made


def run(options: argparse.Namespace) -> int:
    """Say the findings, and count them."""
    from kit.formula.versions import version_label
    from kit.visible_text import one_line

    desk = desk_of(options)
    say(desk.findings)
    counts = [
        f"{count} {severity}{'s' if count != 1 else ''}"
        for severity in ("stop", "caution", "note")
        if (count := sum(finding.severity == severity for finding in desk.findings))
    ]
    title = one_line(f"{desk.formula.title}, {version_label(desk.formula)}")
    print(f"{title}: {', '.join(counts) or 'nothing found by the kit'}.")
    return STOP if any(finding.severity == "stop" for finding in desk.findings) else CLEAN
