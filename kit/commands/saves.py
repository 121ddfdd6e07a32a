"""``saves``: list what a file held before its last saves, and take one back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from kit.commands import CLEAN
from kit.commands.common import new_parser

if TYPE_CHECKING:
    import argparse


def parser(prog: str) -> argparse.ArgumentParser:
    """The arguments of the command."""
    made = new_parser(
        prog,
        "List what a file held before its last ten saves: a formula, prices, own ingredients, a stock book, any file\n"
        "that the kit keeps. Taking one back is a save of its own, so it can be taken back too.",
        "my_body_shake.toml --take-back 7",
    )
    made.add_argument("file", type=Path, metavar="FILE", help="the file")
    made.add_argument("--take-back", type=int, metavar="NUMBER", help="let the file hold again what this save holds")
    return made


def run(options: argparse.Namespace) -> int:
    """List the saves, or take one back."""
    from kit.formula.files.telling import at_words, in_words
    from kit.saving import earlier_saves, take_back
    from kit.visible_text import one_line

    path: Path = options.file
    if options.take_back is not None:
        chosen = take_back(path, options.take_back)
        print(one_line(f"{path} holds again what it held on {at_words(chosen.saved_at)}."))
        print("What it held until now is among its earlier saves.")
        return CLEAN
    now = path.read_bytes() if path.is_file() else b""
    print(one_line(f"{path} now: {in_words(path.name, now)}" if path.is_file() else f"{path} is not there now."))
    saves = earlier_saves(path)
    for save in saves:
        print(one_line(_row(path, save.number, at_words(save.saved_at), save.read(), now)))
    if not saves:
        print("It has no earlier saves yet.")
    return CLEAN


def _row(path: Path, number: int, moment: str, data: bytes, now: bytes) -> str:
    from kit.formula.files.telling import differs_in, in_words

    against = f" · taking it back: {differs_in(path.name, data, now)}" if now else ""
    return f"{number} · {moment} · {in_words(path.name, data)}{against}"
