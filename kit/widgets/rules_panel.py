"""The maker's own rules: the least and the most of something, in the whole or in a layer."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError
from kit.formula.model import Rule
from kit.formula.requirements import LAYER_NAMES
from kit.numbers import read_likely
from kit.widgets.html import heading, sheet
from kit.widgets.panel import Panel, controls, offer, try_to

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


class RulesPanel(Panel):
    """Write a rule, take one out; each joins the findings and the window of ratios at once."""

    def __init__(self, bench: Bench) -> None:
        style = {"style": {"description_width": "initial"}}
        self.material = ipw.Combobox(description="Ingredient or substance", **style)
        self.least = ipw.Text(description="at least, %", placeholder="none", **style)
        self.most = ipw.Text(description="at most, %", placeholder="none", **style)
        counted = [(words, kind) for kind, words in LAYER_NAMES.items()]
        self.of = ipw.Dropdown(options=counted, value="whole", description="of the", **style)
        self.reason = ipw.Text(description="because", placeholder="solubility, smell, a tested level …", **style)
        self.add = ipw.Button(description="Add this rule", button_style="primary", layout={"width": "auto"})
        self.table, self.message = ipw.HTML(), ipw.HTML()
        self.chosen = ipw.Dropdown(description="Rule", **style)
        self.remove = ipw.Button(description="Take it out", layout={"width": "auto"})
        head = heading(
            "Your own rules", "beside the law's limits; they end the window of ratios where they stop holding"
        )
        super().__init__(
            bench,
            [
                ipw.HTML(head),
                controls(self.material, self.least, self.most, self.of, self.reason, self.add),
                self.message,
                self.table,
                controls(self.chosen, self.remove),
            ],
        )
        self.add.on_click(lambda _: self._add())
        self.remove.on_click(lambda _: self._remove())

    def refresh(self) -> None:
        """Show the rules of the formula in hand."""
        formula, rules = self.bench.formula, self.bench.formula.rules
        names = [line.material for _, _, line, _ in formula.each_line() if line.material.strip()]
        self.material.options = list(dict.fromkeys([*names, *(inci for inci, _ in self.bench.library.names())]))
        rows = [
            [rule.material, _percent(rule.low), _percent(rule.high), LAYER_NAMES[rule.of], rule.reason]
            for rule in rules
        ]
        head = ["ingredient", "at least, %", "at most, %", "of the", "because"]
        self.table.value = sheet(head, rows, numbers=(1, 2)) if rows else "No rule of your own yet."
        offer(self.chosen, [(rule_words(rule), n) for n, rule in enumerate(rules)])
        self.chosen.layout.display = self.remove.layout.display = "" if rules else "none"

    def _add(self) -> None:
        def work() -> str:
            name = self.material.value.strip()
            if not name:
                msg = "Say for which ingredient the rule is: type part of its name."
                raise EntryError(msg)
            typed = (box.value.strip() for box in (self.least, self.most))
            low, high = (read_likely(text, 0, 100) if text else None for text in typed)
            rule = Rule(name, low, high, self.of.value, self.reason.value.strip())
            self.bench.change(replace(self.bench.formula, rules=(*self.bench.formula.rules, rule)))
            self.least.value = self.most.value = self.reason.value = ""
            return f"{rule_words(rule)}: it counts from now on, and is saved with the formula."

        try_to(self.message, work)

    def _remove(self) -> None:
        def work() -> str | None:
            rules = self.bench.formula.rules
            if self.chosen.value is None:
                return None
            gone = rules[self.chosen.value]
            self.bench.change(replace(self.bench.formula, rules=tuple(rule for rule in rules if rule is not gone)))
            return f"{rule_words(gone)} was taken out. Undo brings it back."

        try_to(self.message, work)


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
