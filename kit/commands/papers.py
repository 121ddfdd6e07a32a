"""The commands that write one paper: their options follow from its description."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kit.commands.common import Output, hand_out, new_parser, say
from kit.commands.logs import add_log, record_of
from kit.commands.options import from_options, options_of
from kit.commands.product import add_formula, add_product, product_of
from kit.papers.registry import make_paper, specs

if TYPE_CHECKING:
    import argparse

    from kit.findings import Finding
    from kit.papers.paper import PaperSpec


def paper_commands() -> dict[str, PaperSpec]:
    """Command → the paper that it writes."""
    made = [spec for spec in specs().values() if spec.about in ("product", "study")]
    return {spec.command or spec.name.replace("_", "-"): spec for spec in made}


def parser(spec: PaperSpec, prog: str) -> argparse.ArgumentParser:
    """The arguments of the command that writes a paper."""
    of_product = spec.about == "product"
    example = spec.example or ("my_body_shake.toml" if of_product else "stability_log.db --study 1")
    whose = "a formula" if of_product else "a study"
    made = new_parser(prog, f"Write the {spec.title.lower()} of {whose}: {spec.subtitle}.", example)
    if of_product:
        add_formula(made)
        add_product(made, "kept", *spec.takes)
    else:
        add_log(made)
    options_of(made, spec.options, "what stands on it")
    options_of(made, Output, "the paper")
    return made


def run(spec: PaperSpec, given: argparse.Namespace) -> int:
    """Write the paper."""
    notes: list[Finding] = []
    options: Any = from_options(given, spec.options)
    about = product_of(given, "kept", *spec.takes) if spec.about == "product" else record_of(given)
    about = spec.files(about, options, notes)
    say(notes)
    title = about.formula.title if spec.about == "product" else about.study.title
    return hand_out(make_paper(spec.name, about, options), from_options(given, Output), title)
