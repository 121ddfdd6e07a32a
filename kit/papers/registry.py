"""Every paper of the kit: each file of this room that holds a ``SPEC``."""

from __future__ import annotations

from functools import lru_cache
from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING, Any

import kit.papers as room
from kit.errors import UnknownNameError
from kit.findings import worst_first
from kit.papers.layout import templates
from kit.papers.paper import Paper
from kit.papers.writing import paper_name

if TYPE_CHECKING:
    from kit.papers.paper import PaperSpec


@lru_cache(maxsize=1)
def specs() -> dict[str, PaperSpec]:
    """Name → the description of the paper, in the order of their titles."""
    modules = [import_module(f"kit.papers.{found.name}") for found in iter_modules(room.__path__)]
    found = sorted((module.SPEC for module in modules if hasattr(module, "SPEC")), key=lambda spec: spec.title)
    return {spec.name: spec for spec in found}


def spec_of(name: str) -> PaperSpec:
    """The description of a paper.

    Raises
    ------
    UnknownNameError
        There is no paper of that name.
    """
    if name not in specs():
        msg = f"There is no paper {name!r}. Write one of {', '.join(specs())}."
        raise UnknownNameError(msg)
    return specs()[name]


def make_paper(name: str, about: Any, options: Any = None) -> Paper:
    """A paper of a product, a study or a stock; what was not asked for is as the options' defaults say.

    Raises
    ------
    KitError
        The paper cannot be made out; the sentence says why.
    """
    spec = spec_of(name)
    given = spec.options() if options is None else options
    return filled(spec, spec.context(about, given), *spec.named(about, given))


def filled(spec: PaperSpec, context: dict[str, Any], *named: str) -> Paper:
    """The template of a paper filled with what it prints, its findings worst first."""
    findings = worst_first(context.get("findings", ()))
    html = templates().get_template(f"{spec.name}.html").render(context | {"findings": findings})
    return Paper(spec.name, html, tuple(findings), paper_name(spec.name, *named))
