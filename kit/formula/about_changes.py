"""What changed from one version of a formula to another besides its lines: title, notes, stocks, rules, steps."""

from __future__ import annotations

from difflib import SequenceMatcher
from typing import TYPE_CHECKING

from kit.library.ingredient import Stock

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.measured import MeasuredDensity
    from kit.formula.model import Formula, Rule
    from kit.library.ingredient import Material

#: A share that moved by less than this has not moved. [% w/w]
NOTHING = 1e-9


def quoted(text: str) -> str:
    """A text in quotation marks, or "none"."""
    return f"“{text.strip()}”" if text.strip() else "none"


def about_changes(before: Formula, after: Formula) -> list[str]:
    """What changed besides the lines, one sentence each."""
    found = []
    facts = ("title", "title"), ("product_kind", "product kind"), ("body_part", "part of the body"), ("note", "note")
    for field, words in facts:
        old, new = getattr(before, field), getattr(after, field)
        if old.strip() != new.strip():
            found.append(f"The {words} was {quoted(old)}, now {quoted(new)}.")
    return [
        *found,
        *_materials(before, after),
        *_rules(before, after),
        *_measured(before, after),
        *_steps(before.steps, after.steps),
    ]


def _materials(before: Formula, after: Formula) -> list[str]:
    old, new = ({material.name: material for material in formula.materials} for formula in (before, after))
    found = [f"{_what(new[name])} {name} was added." for name in new if name not in old]
    found += [f"{_what(old[name])} {name} was taken out." for name in old if name not in new]
    for name in new:
        if name in old and old[name] != new[name]:
            parts = _shares(old[name], new[name])
            found.append(f"{_what(new[name])} {name} is another one{f': {parts}' if parts else ''}.")
    return found


def _what(material: Material) -> str:
    return "The stock" if isinstance(material, Stock) else "The own ingredient"


def _shares(old: Material, new: Material) -> str:
    names = dict.fromkeys([*old.composition, *new.composition])
    moved = [(name, old.composition.get(name, 0.0), new.composition.get(name, 0.0)) for name in names]
    return ", ".join(f"{name} {was:.6g} % to {now:.6g} %" for name, was, now in moved if abs(was - now) > NOTHING)


def _rules(before: Formula, after: Formula) -> list[str]:
    gone = [f"Your rule was taken out: {_rule(rule)}." for rule in before.rules if rule not in after.rules]
    return [*gone, *(f"Your rule is new: {_rule(rule)}." for rule in after.rules if rule not in before.rules)]


def _measured(before: Formula, after: Formula) -> list[str]:
    old, new = before.densities, after.densities
    gone = [f"A measured density was taken out: {_density(each)}." for each in old if each not in new]
    return [*gone, *(f"A measured density is new: {_density(each)}." for each in new if each not in old)]


def _density(measured: MeasuredDensity) -> str:
    return f"{measured.layer} layer {measured.value:g} g/mL at {measured.celsius:g} °C"


def _rule(rule: Rule) -> str:
    pairs = (("least", rule.low), ("most", rule.high))
    bounds = " and ".join(f"at {word} {bound:g} %" for word, bound in pairs if bound is not None)
    where = "whole" if rule.of == "whole" else f"{rule.of} layer"
    return f"{rule.material} {bounds} of the {where}"


def _steps(before: Sequence[str], after: Sequence[str]) -> list[str]:
    found = []
    for kind, a, b, c, d in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if kind == "equal":
            continue
        found += [f"Step {n + 1} was taken out: {quoted(before[n])}." for n in range(a, b)]
        found += [f"Step {n + 1} is new: {quoted(after[n])}." for n in range(c, d)]
    return found
