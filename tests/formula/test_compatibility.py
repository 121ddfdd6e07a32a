"""Rules of the trade: each speaks where it should, and is silent where it should be."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings

from kit.demos import demo, demo_names
from kit.errors import RangeError
from kit.findings import Finding, Place, worst_first
from kit.formula.checks import check
from kit.formula.compatibility import Contents, compatibility_findings, low_risk_findings
from kit.formula.compatibility_rules import trade_rules
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.formula.ph_windows import ph_findings
from kit.library.description import Description
from kit.library.library import Library
from kit.library.limit import Limit
from kit.library.sources import is_firm
from kit.library.table import limits
from kit.resources import load_table
from tests.formula.made import LIBRARY, formulas
from tests.rows import each_of

RULES = {rule.key: rule for rule in trade_rules()}
ROWS = {row["key"]: row for row in load_table("compatibility").rows}


def contents_of(water: dict[str, str], oil: dict[str, str] | None = None) -> Contents:
    phases = [Phase("Water layer", "water", tuple(Line(name, amount) for name, amount in water.items()))]
    if oil:
        phases.append(Phase("Oil layer", "oil", tuple(Line(name, amount) for name, amount in oil.items())))
    formula = Formula("Trial", tuple(phases))
    return Contents.of(formula, Materials.of(formula, LIBRARY))


def said(rule: str, water: dict[str, str], oil: dict[str, str] | None = None) -> list[Finding]:
    """What one rule says, told from the others by the words that never change."""
    marks = RULES[rule].sentence
    fixed = max(marks.replace("{other}", "{one}").replace("{found}", "{one}").split("{one}"), key=len)
    return [found for found in compatibility_findings(contents_of(water, oil)) if fixed in found.sentence]


WATER = {"Aqua": "q.s."}
TWO = {"Squalane": "10"}

# key -> (water that makes it speak, oil), (water that keeps it silent, oil): by far the one difference it asks for
CASES: dict[str, tuple[tuple[dict[str, str], dict[str, str]], tuple[dict[str, str], dict[str, str]]]] = {
    "cationic-surfactant-anionic-surfactant": (
        ({"Cetrimonium Chloride": "1", "Sodium Coco-Sulfate": "3"}, {}),
        ({"Cetrimonium Chloride": "1", "Decyl Glucoside": "3"}, {}),
    ),
    "cationic-surfactant-anionic-gum": (
        ({"Aqua (and) Cetrimonium Chloride": "3", "Xanthan Gum": "0.3"}, {}),
        ({"Aqua (and) Cetrimonium Chloride": "3", "Hydroxyethylcellulose": "0.3"}, {}),
    ),
    "cationic-polymer-anionic-gum": (
        ({"Polyquaternium-10": "0.2", "Carbomer": "0.2"}, {}),
        ({"Polyquaternium-10": "0.2", "Guar Hydroxypropyltrimonium Chloride": "0.2"}, {}),
    ),
    "cationic-polymer-anionic-surfactant": (
        ({"Aqua (and) Polyquaternium-7": "2", "Sodium Coco-Sulfate": "5"}, {}),
        ({"Aqua (and) Polyquaternium-7": "2", "Coco-Betaine": "5"}, {}),
    ),
    "carbomer-salt": (
        ({"Carbomer": "0.3", "Sodium PCA (and) Aqua": "2"}, {}),
        ({"Carbomer": "0.3", "Sodium PCA (and) Aqua": "0.1"}, {}),
    ),
    "carbomer-cellulose-alcohol": (
        ({"Xanthan Gum": "0.3", "Alcohol (and) Aqua": "40"}, {}),
        ({"Xanthan Gum": "0.3", "Alcohol (and) Aqua": "15"}, {}),
    ),
    "salt-alcohol": (
        ({"Sodium Chloride": "1", "Alcohol": "30"}, {}),
        ({"Sodium Chloride": "0.4", "Alcohol": "30"}, {}),
    ),
    "salt-anionic-surfactant": (
        ({"Sodium Chloride": "1", "Sodium Coco-Sulfate": "8"}, {}),
        ({"Sodium Chloride": "1", "Coco-Glucoside": "8"}, {}),
    ),
    "benzoate-ascorbic-acid": (
        ({"Sodium Benzoate": "0.4", "Ascorbic Acid": "2"}, {}),
        ({"Potassium Sorbate": "0.4", "Ascorbic Acid": "2"}, {}),
    ),
    "isothiazolinone-breakers": (
        ({"Methylisothiazolinone": "0.001", "Arginine": "0.3"}, {}),
        ({"Methylisothiazolinone": "0.001", "Sodium Hydroxide": "0.3"}, {}),
    ),
    "releaser-breakers": (
        ({"Diazolidinyl Urea": "0.3", "Sodium Sulfite": "0.1"}, {}),
        ({"Diazolidinyl Urea": "0.3", "Sodium Sulfate": "0.1"}, {}),
    ),
    "amine-nitrosating": (
        ({"Triethanolamine": "0.3", "2-Bromo-2-Nitropropane-1,3-Diol": "0.05"}, {}),
        ({"Triethanolamine": "0.3", "Phenoxyethanol": "0.9"}, {}),
    ),
    "peroxide-enemies": (
        ({"Aqua (and) Hydrogen Peroxide": "10", "Ascorbic Acid": "1"}, {}),
        ({"Aqua (and) Hydrogen Peroxide": "10", "Citric Acid": "1"}, {}),
    ),
    "peroxide-colour": (
        ({"Hydrogen Peroxide": "1", "CI 42090": "0.001"}, {}),
        ({"Hydrogen Peroxide": "1", "Glycerin": "1"}, {}),
    ),
    "dye-ascorbic-acid": (
        ({"Ascorbic Acid": "1", "CI 19140": "0.001"}, {}),
        ({"Ascorbic Acid": "1"}, {"CI 40800": "0.001"}),
    ),
    "cationic-dye": (
        ({"Cetrimonium Chloride": "1", "CI 17200": "0.001"}, {}),
        ({"Decyl Glucoside": "1", "CI 17200": "0.001"}, {}),
    ),
    "binding": (
        ({"Phenoxyethanol": "0.9", "Polysorbate 20": "2"}, {}),
        ({"Phenoxyethanol": "0.9", "Polysorbate 20": "0.4"}, {}),
    ),
    "bicarbonate-acid": (
        ({"Sodium Bicarbonate": "2", "Aqua (and) Citric Acid": "3"}, {}),
        ({"Sodium Bicarbonate": "2", "Sodium Citrate": "3"}, {}),
    ),
    "allantoin-cold": (
        ({"Allantoin": "0.4"}, TWO),  # 0.44 % of the water layer
        ({"Allantoin": "0.4"}, {}),
    ),
    "caffeine-cold": (({"Caffeine": "1.1"}, {}), ({"Caffeine": "1"}, {})),
    "alcohol-fire": (({"Alcohol": "21"}, {}), ({"Alcohol": "20"}, {})),
    "proteins-feed": (({"Hydrolyzed Oat Protein": "1"}, {}), ({"Panthenol": "1"}, {})),
    "oil-antioxidant": (
        ({}, {"Helianthus Annuus Seed Oil": "10"}),
        ({}, {"Helianthus Annuus Seed Oil": "10", "Tocopherol (and) Helianthus Annuus Seed Oil": "0.2"}),
    ),
    "scent-antioxidant": (({}, {"Limonene": "0.1"}), ({}, {"Limonene": "0.1", "BHT": "0.05"})),
    "retinol-antioxidant": (({}, {"Retinol": "0.1"}), ({}, {"Retinol": "0.1", "Tocopherol": "0.2"})),
    "sorbate-chelator": (
        ({"Potassium Sorbate": "0.2"}, {}),
        ({"Potassium Sorbate": "0.2", "Sodium Phytate": "0.1"}, {}),
    ),
}


@each_of("key", CASES)
def test_a_rule_speaks_where_it_should_and_only_there(key: str) -> None:
    (water, oil), (calm_water, calm_oil) = CASES[key]
    (spoken,) = said(key, {**WATER, **water}, oil)
    assert spoken.severity == RULES[key].severity
    assert "{" not in spoken.sentence
    assert said(key, {**WATER, **calm_water}, calm_oil) == []


def test_a_rule_without_a_published_source_says_so() -> None:
    for row in ROWS.values():
        source = RULES[row["key"]].source
        assert is_firm(row["source"]) == (source != "common practice" and "from memory" not in source)
    (found,) = said("amine-nitrosating", {"Triethanolamine": "1", "2-Bromo-2-Nitropropane-1,3-Diol": "0.05"})
    assert found.source == "Regulation (EC) No 1223/2009 on cosmetic products, Annex III"


def test_a_finding_names_both_sides_and_stands_at_the_line_that_brings_most() -> None:
    (found,) = said(
        "cationic-surfactant-anionic-gum", {"Aqua": "q.s.", "Xanthan Gum": "0.3", "Cetrimonium Chloride": "1"}
    )
    assert found == Finding(
        "caution",
        "Cationic Cetrimonium Chloride beside an anionic thickener, Xanthan Gum: they tend to drop out together. Take "
        "a nonionic thickener, such as Hydroxyethylcellulose, or try a small batch first.",
        Place(0, 2, "material"),
        "common practice",
        "trade: cationic-surfactant-anionic-gum",
    )


def test_two_windows_that_do_not_meet_are_told_without_a_ph() -> None:
    (apart,) = [
        f.sentence
        for f in compatibility_findings(contents_of({"Sodium Benzoate": "0.4", "Magnesium Ascorbyl Phosphate": "1"}))
    ]
    assert apart == (
        "Sodium Benzoate is usually used at pH 5 and below and Magnesium Ascorbyl Phosphate at pH 6 to 8: no pH serves "
        "both. Choose the one that matters more, or take another material for the other."
    )
    assert compatibility_findings(contents_of({"Sodium Benzoate": "0.4", "Niacinamide": "3"})) == []  # both at pH 5


@each_of(
    ("name", "ph", "sentence"),
    [
        (
            "Sodium Benzoate",
            5.1,
            "Sodium Benzoate is usually used at pH 5 and below: above it little of the acid is left",
        ),
        ("Sodium Benzoate", 5.0, ""),
        ("Potassium Sorbate", 5.6, "Potassium Sorbate is usually used at pH 5.5 and below"),
        ("Methylparaben", 8.5, "Methylparaben is usually used at pH 3 to 8: outside it does less"),
        ("Niacinamide", 4.5, "Niacinamide is usually used at pH 5 to 7: in strong acid it turns to nicotinic acid"),
        ("Niacinamide", 6.0, ""),
        ("Carbomer", 4.0, "Carbomer is usually used at pH 5.5 and above: below it does not thicken"),
        ("Glycerin", 13.0, ""),
    ],
)
def test_a_measured_ph_is_held_against_the_windows(name: str, ph: float, sentence: str) -> None:
    found = [f.sentence for f in ph_findings(contents_of({"Aqua": "q.s.", name: "0.3"}), ph)]
    assert len(found) == bool(sentence)
    assert all(sentence in one and one.endswith(f"You measured {ph:g}.") for one in found)


@each_of(("ph", "stops"), [(11.0, 0), (11.1, 1)])
def test_the_laws_limit_on_the_ph_of_a_caustic_product(ph: float, stops: int) -> None:
    """Annex III, entry 15a: as a pH adjuster the product may not be above pH 11."""
    contents = contents_of({"Aqua": "q.s.", "Sodium Hydroxide": "0.2"})
    toner = replace(contents, formula=replace(contents.formula, description=Description("leave-on", "toner")))
    found = [finding for finding in ph_findings(toner, ph, limits()) if finding.matter.startswith("limit: ")]
    assert [f.severity for f in found] == ["stop"] * stops
    assert [f.severity for f in ph_findings(contents, ph, limits())] == ["caution"] * stops, "it may be a depilatory"
    assert all("must not be above pH 11; you measured 11.1." in f.sentence for f in found)
    assert all(f.source.endswith("Annex III, entry 15a (Regulation (EU) 2016/622), as of 2025-12-08") for f in found)


def test_a_law_may_ask_for_a_ph_above_one() -> None:
    """Annex V, entry 45: dimethyl oxazolidine only above pH 6."""
    contents = contents_of({"Aqua": "q.s.", "Dimethyl Oxazolidine": "0.1"})
    (found,) = ph_findings(contents, 6.0, limits())
    assert "must be above pH 6; you measured 6." in found.sentence
    assert ph_findings(contents, 6.1, limits()) == []
    assert ph_findings(contents, 6.0, [Limit("x", ("Aqua",), "rinse-off", 100, ph_low=7)]) == []


@each_of("ph", [-0.1, 14.1, float("nan")])
def test_a_ph_that_cannot_be_is_refused(ph: float) -> None:
    with pytest.raises(RangeError, match=r"A pH of .* is not believable\. Type what the meter or the strip shows"):
        ph_findings(contents_of({"Aqua": "q.s."}), ph)


@each_of(
    ("water", "oil", "ph", "words"),
    [  # ISO 29621:2017: pH 3.0 or below, 10.0 or above, alcohol 20 % or more (from memory), no water, oxidisers
        ({"Aqua": "q.s."}, {}, 2.9, "its pH is 2.9, 3 or below"),
        ({"Aqua": "q.s."}, {}, 3.0, "its pH is 3, 3 or below"),
        ({"Aqua": "q.s."}, {}, 3.01, ""),
        ({"Aqua": "q.s."}, {}, 10.0, "its pH is 10, 10 or above"),
        ({"Aqua": "q.s."}, {}, 10.1, "its pH is 10.1, 10 or above"),
        ({"Aqua": "q.s.", "Alcohol": "20.1"}, {}, None, "it holds 20.1 % w/w alcohol, 20 % or more"),
        ({"Aqua": "q.s.", "Alcohol": "20"}, {}, None, "it holds 20 % w/w alcohol, 20 % or more"),
        ({"Aqua": "q.s.", "Alcohol": "19.99"}, {}, None, ""),
        ({}, {"Squalane": "100"}, None, "no water was written in it"),
        ({}, {"Squalane": "90"}, None, ""),
        ({"Rosa Damascena Flower Water": "95", "Glycerin": "5"}, {}, None, ""),
        ({"Aloe Barbadensis Leaf Juice": "5"}, {"Squalane": "95"}, None, ""),
        ({}, {"Squalane": "99", "Something Nobody Knows": "1"}, None, ""),
        ({"Aqua": "q.s.", "Hydrogen Peroxide": "3"}, {}, None, "it holds an oxidiser"),
    ],
)
def test_a_mark_of_low_risk_is_a_note_for_a_qualified_person(
    water: dict[str, str], oil: dict[str, str], ph: float | None, words: str
) -> None:
    found = low_risk_findings(contents_of(water, oil), ph)
    assert len(found) == bool(words)
    for one in found:
        assert one.severity == "note"
        assert words in one.sentence
        assert "a qualified person must judge" in one.sentence
        assert one.source.startswith("ISO 29621:2017")


def test_the_check_says_it_all_and_a_ph_only_where_one_was_measured() -> None:
    formula = demo()
    materials = Materials.of(formula, LIBRARY)
    assert not [f for f in check(formula, materials, limits()) if "measured" in f.sentence]
    high = [f.sentence for f in check(formula, materials, limits(), ph=6.5) if "You measured 6.5" in f.sentence]
    assert len(high) == 2  # benzoate and sorbate


@each_of("name", demo_names())
def test_the_invented_products_give_the_trade_nothing_to_say(name: str) -> None:
    formula = demo(name)
    contents = Contents.of(formula, Materials.of(formula, Library.bundled()))
    assert [f for f in compatibility_findings(contents) if f.severity != "note"] == []


@given(formulas())
@settings(max_examples=60)
def test_no_formula_makes_the_rules_fall_over(formula: Formula) -> None:
    for ph in (None, 4.5):
        found = check(formula, Materials.of(formula, LIBRARY), limits(), ph=ph)
        assert found == worst_first(found)
