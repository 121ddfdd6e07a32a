"""Every row of the rules of the trade: it speaks where it should, and is silent where any one thing is missing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.findings import SEVERITIES, Finding
from kit.formula.compatibility import Contents, compatibility_findings
from kit.formula.compatibility_rules import Selector, TradeRule, tags_of, trade_rules
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.formula.ph_windows import ph_findings
from kit.library.columns import split_list
from kit.library.condition import Clause, read_condition
from kit.library.description import AXES, Description, product_types
from kit.resources import load_table
from tests.formula.made import LIBRARY
from tests.rows import each_of

RULES = {rule.key: rule for rule in trade_rules()}
ROWS = {row["key"]: row for row in load_table("compatibility").rows}
SPEAKING = [key for key, rule in RULES.items() if rule.kind in ("pair", "missing", "alone")]
#: An oil of which no rule speaks.
OIL = "An Oil That Nobody Knows"
NOBODY = Materials.of(Formula(), LIBRARY)


def an_example(text: str, *beside: str) -> str:
    """A substance that a selector means, and that none of those of ``beside`` does."""
    others = [Selector.read(one) for one in beside]
    for alternative in split_list(text):
        kind, colon, word = alternative.partition(":")
        if not colon:
            names = [alternative]
        elif kind == "last" and "+" not in word:
            names = [f"Something {word}"]
        else:
            names = [one.inci for one in LIBRARY if not one.composition]
        for name in names:
            tags = tags_of(name, NOBODY)
            if Selector.read(alternative).means(tags) and not any(other.means(tags) for other in others):
                return name
    pytest.fail(f"Nothing is meant by {text!r}.")


def described(rule: TradeRule) -> Description:
    """A product of which a rule speaks."""
    found: dict[str, object] = {}
    for clause in read_condition(rule.holds_for).clauses:
        word = clause.words[0]
        axis = AXES[word]
        if clause.mark == "" and axis not in found:
            word = {"spray": "pump spray", "breathed in": "aerosol"}.get(word, word)
            found[axis] = (word,) if axis in ("used_on", "users") else word
    kind = product_types()[str(found["product_type"])].product_kind if "product_type" in found else ""
    found.setdefault("product_kind", kind or "leave-on")
    made = Description(**found)  # type: ignore[arg-type]
    assert rule.applies_to(made) is True, made
    return made


def contents_of(water: dict[str, str], oil: dict[str, str], description: Description) -> Contents:
    phases = [
        Phase(name, kind, tuple(Line(material, amount) for material, amount in lines.items()))  # type: ignore[arg-type]
        for name, kind, lines in (("Water layer", "water", water), ("Oil layer", "oil", oil))
        if lines
    ]
    formula = Formula("Trial", tuple(phases), description=description)
    return Contents.of(formula, Materials.of(formula, LIBRARY))


Layers = tuple[dict[str, str], dict[str, str]]


def layers_for(rule: TradeRule, *, one: bool = True, other: bool | None = None) -> Layers:
    """A formula with all that a rule asks for, or without the one or the other; water layer and oil layer."""
    row = ROWS[rule.key]
    water, oil = {"Aqua": "q.s."}, {OIL: "10"}
    if "no-water" in rule.needs:
        water, oil = {}, {OIL: "q.s."}
    elif {"with-water", "much-water"} & set(rule.needs) or (rule.counted == "water" and "layers" not in rule.needs):
        oil = {}
    target = water if rule.counted == "water" or (water and rule.counted == "whole") else oil
    part = 0.3 if rule.counted == "oil" else 1.2
    if one and an_example(row["one"]) != "Aqua":
        target[an_example(row["one"])] = f"{part * rule.one_above + 0.05:.4g}"
    if rule.kind == "pair" if other is None else other:
        target[an_example(row["other"], row["one"])] = f"{part * rule.other_above + 0.05:.4g}"
    return water, oil


def said(rule: TradeRule, layers: Layers, description: Description) -> list[Finding]:
    found = compatibility_findings(contents_of(*layers, description))
    return [finding for finding in found if finding.matter == f"trade: {rule.key}"]


@each_of("key", SPEAKING)
def test_a_rule_speaks_where_all_that_it_asks_for_is_there(key: str) -> None:
    rule = RULES[key]
    (finding,) = said(rule, layers_for(rule), described(rule))
    assert (finding.severity, finding.source) == (rule.severity, rule.source)
    assert "{" not in finding.sentence
    assert finding.sentence[-1] == "."


@each_of("key", SPEAKING)
def test_it_is_silent_without_the_one_or_the_other(key: str) -> None:
    rule = RULES[key]
    if an_example(ROWS[key]["one"]) != "Aqua":
        assert said(rule, layers_for(rule, one=False), described(rule)) == []
    if rule.kind in ("pair", "missing"):
        assert said(rule, layers_for(rule, other=rule.kind == "missing"), described(rule)) == []
    if "layers" in rule.needs:
        assert said(rule, (layers_for(rule)[0], {}), described(rule)) == []


@each_of("key", [key for key in SPEAKING if RULES[key].holds_for])
def test_it_is_silent_about_other_products_and_waits_for_what_is_not_said(key: str) -> None:
    rule = RULES[key]
    product = described(rule)
    others = [other for clause in read_condition(rule.holds_for).clauses for other in _others(product, clause)]
    outside = [other for other in others if rule.applies_to(other) is False]
    assert outside, "No product is outside of it."
    assert all(said(rule, layers_for(rule), other) == [] for other in outside)
    open_one = Description()
    if rule.applies_to(open_one) is None and rule.severity == "caution":
        assert said(rule, layers_for(rule), open_one) == []
        told = compatibility_findings(contents_of(*layers_for(rule), open_one))
        assert [f.severity for f in told if f.matter == "tell: rules of the trade"] == ["note"]


def _others(product: Description, clause: Clause) -> list[Description]:
    """Products that differ in what a clause is about."""
    other: dict[str, tuple[object, ...]] = {
        "product_kind": ("leave-on", "rinse-off"),
        "product_type": ("nail product",),
        "used_on": (("nails",),),
        "applied": ("spread", "aerosol"),
        "users": (("professional",),),
        "layering": ("emulsified", "two layers"),
    }
    axis = AXES[clause.words[0]]
    return [replace(product, **{axis: value}) for value in other[axis]]  # type: ignore[arg-type]


@each_of("key", [key for key, rule in RULES.items() if rule.kind in ("window", "product-ph")])
def test_a_window_of_ph_is_held_against_what_was_measured(key: str) -> None:
    rule = RULES[key]
    water = {"Aqua": "q.s."}
    if rule.kind == "window":
        water[an_example(ROWS[key]["one"])] = f"{1.2 * rule.one_above + 0.05:.4g}"
    contents = contents_of(water, {}, described(rule))
    low, high = rule.ph_low, rule.ph_high
    assert low is not None or high is not None
    inside = ((low or 0.0) + (high or 14.0)) / 2
    for ph, told in ((inside, False), *([(low - 0.1, True)] if low else []), *([(high + 0.1, True)] if high else [])):
        sentences = [f.sentence for f in ph_findings(contents, ph)]
        assert any(rule.sentence in sentence for sentence in sentences) is told, (ph, sentences)


@each_of("row", ROWS.values(), ids=lambda row: row["key"])
def test_a_row_is_whole(row: dict[str, str]) -> None:
    rule = RULES[row["key"]]
    assert row["severity"] in SEVERITIES[1:], "a rule of the trade stops nobody"
    assert (rule.kind in ("pair", "missing")) == bool(row["other"])
    assert (rule.kind in ("window", "product-ph")) == bool(row["ph_low"] or row["ph_high"])
    assert (rule.kind == "product-ph") == (not row["one"])
    assert rule.kind != "product-ph" or row["holds_for"]
    assert row["layer"] in ("whole", "water", "oil")
    if rule.kind not in ("window", "product-ph"):
        assert row["sentence"][-1] == "."
        assert row["sentence"][0].isupper() or row["sentence"][0] == "{"


def test_there_are_enough_of_them_for_a_practitioner() -> None:
    assert len(RULES) >= 34 + 45


def test_published_figures_of_a_row_are_in_its_sentence() -> None:
    """Typed again from the sources: what the threshold is, the sentence says."""
    published = {
        "boric-cold": (2.6, "2.6 %", "crc-solubility"),  # 2.61 mass % at 0 °C, 3.57 at 10 °C
        "bicarbonate-cold": (6.4, "6.5 %", "crc-solubility"),  # 6.48 and 7.59
        "phosphate-cold": (1.6, "1.7 %", "crc-solubility"),  # 1.66 and 4.19
        "carbonate-cold": (6.4, "6.4 %", "crc-solubility"),  # 6.44
        "magnesium-sulfate-cold": (18, "18 %", "crc-solubility"),  # 18.2
        "potassium-chloride-cold": (21.5, "21.7 %", "crc-solubility"),  # 21.74
        "phototoxic-bergamot": (0.4, "0.4 %", "phototoxic-levels"),
        "phototoxic-lime": (0.7, "0.7 %", "phototoxic-levels"),
        "phototoxic-bitter-orange": (1.25, "1.25 %", "phototoxic-levels"),
        "aha-panel": (10, "10 %", "cir-aha-2017"),
        "glycolic-advice": (4, "4 %", "sccnfp-aha"),
        "lactic-advice": (2.5, "2.5 %", "sccnfp-aha"),
    }
    for key, (threshold, words, source) in published.items():
        assert RULES[key].one_above == threshold, key
        assert words in RULES[key].sentence, key
        assert ROWS[key]["source"] == source, key


def test_borax_and_caffeine_follow_from_what_was_measured() -> None:
    """Borax: 1.23 % anhydrous at 0 °C, 1.71 % at 10 °C. Caffeine: mole fraction 0.00123 in water at 288.01 K."""
    hydrate = 381.37 / 201.22
    assert RULES["borax-cold"].one_above == pytest.approx(1.23 * hydrate, abs=0.05)
    assert f"{1.71 * hydrate:.1f} %" in RULES["borax-cold"].sentence
    caffeine, water = 0.00123 * 194.19, (1 - 0.00123) * 18.015
    assert f"{100 * caffeine / (caffeine + water):.1f} % dissolved at 15 °C" in RULES["caffeine-cold"].sentence
