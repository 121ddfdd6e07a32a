"""The maker's own rules: the least and the most of something, in the whole or in a layer."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.formula.model import LAYER_NAMES, Rule
from kit.formula.requirements import idle_rules
from kit.inputs import Choice, Input
from kit.widgets.form import Button, Form
from kit.widgets.html import sheet
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.widgets.panel import Source


class RulesPanel(Panel):
    """Write a rule, take one out; each joins the findings and the window of ratios at once."""

    title = "Your own rules"
    subtitle = "beside the law's limits; they end the window of ratios where they stop holding"

    def __init__(self, source: Source = None) -> None:
        self.form = Form(Rule, [Button("add", "Add this rule", self._add, primary=True)], wide=("material", "reason"))
        self.table = ipw.HTML().add_class("sw-answer")
        out = Button("remove", "Take it out", self._remove)
        self.there = Form([Input("rule", "Rule", Choice({}), None)], [out], wide=("rule",))
        super().__init__(source, [self.form, self.table, self.there])

    def refresh(self) -> None:
        """Show the rules of the formula in hand."""
        formula, rules = self.bench.formula, self.bench.formula.rules
        names = [line.material for _, _, line, _ in formula.each_line() if line.material.strip()]
        self.form.offer("material", dict.fromkeys([*names, *(inci for inci, _ in self.bench.library.names())]))
        try:
            idle = idle_rules(formula, self.bench.product.materials)
        except KitError:  # a material that is part of itself, which the findings say
            idle = []
        rows = [
            [
                rule.material,
                _percent(rule.low),
                _percent(rule.high),
                LAYER_NAMES[rule.of],
                rule.reason,
                "in no line: says nothing" if rule in idle else "",
            ]
            for rule in rules
        ]
        head = ["ingredient", "at least, %", "at most, %", "of the", "because", ""]
        self.table.value = sheet(head, rows, numbers=(1, 2)) if rows else "No rule of your own yet."
        self.there.offer("rule", {n: rule_words(rule) for n, rule in enumerate(rules)})
        self.there.show(*(("rule", "remove") if rules else ()))

    def _add(self) -> str:
        rule = Rule(**self.form.read())
        self.bench.change(replace(self.bench.formula, rules=(*self.bench.formula.rules, rule)))
        self.form.clear("low", "high", "reason")
        return f"{rule_words(rule)}: it counts from now on, and is saved with the formula."

    def _remove(self) -> str:
        rules = self.bench.formula.rules
        gone = rules[self.there["rule"]]
        self.bench.change(replace(self.bench.formula, rules=tuple(rule for rule in rules if rule is not gone)))
        return f"{rule_words(gone)} was taken out. Undo brings it back."


def rule_words(rule: Rule) -> str:
    """A rule in a few words.

    Examples
    --------
    >>> rule_words(Rule("Parfum", high=1.0, of="oil"))
    'Parfum at most 1 % of the oil layer'
    """
    bounds = [
        f"at {word} {bound:g} %" for word, bound in (("least", rule.low), ("most", rule.high)) if bound is not None
    ]
    return f"{rule.material} {' and '.join(bounds)} of the {LAYER_NAMES[rule.of]}"


def _percent(bound: float | None) -> str:
    return "—" if bound is None else f"{bound:g}"
