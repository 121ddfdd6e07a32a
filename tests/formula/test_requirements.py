"""Legal limits and the maker's own rules, at, just below and just above their bound."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.findings import Place
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase, Rule
from kit.formula.requirements import EDGE, flat_percents, idle_rules, requirements
from kit.library.description import Description
from kit.library.ingredient import Figure, Ingredient, Stock
from kit.library.limit import Limit
from tests.formula.made import LIBRARY, LIMITS, findings, water_and

if TYPE_CHECKING:
    from kit.library.description import ProductKind

SALT = "Sodium Benzoate"
EU = "Regulation (EC) No 1223/2009 on cosmetic products, Annex V"


@pytest.mark.parametrize(
    ("salt", "percent", "kind", "breaks"),
    [  # Annex V entries 1, 4, 12, 29, 57, as of 2026-05-26; molar masses of the table of ingredients
        ("Sodium Benzoate", "0.5899", "leave-on", False),  # 0.4999 % as acid
        ("Sodium Benzoate", "0.59", "leave-on", False),  # 0.500006 %: 0.5 % to within the rounding of the molar masses
        ("Sodium Benzoate", "0.5901", "leave-on", True),  # 0.50009 %
        ("Sodium Benzoate", "0.60", "leave-on", True),  # 0.5085 %
        ("Sodium Benzoate", "0.60", "rinse-off", False),
        ("Sodium Benzoate", "2.94", "rinse-off", False),
        ("Sodium Benzoate", "2.96", "rinse-off", True),
        ("Benzoic Acid", "0.5", "leave-on", False),
        ("Benzoic Acid", "0.500001", "leave-on", True),
        ("Potassium Sorbate", "0.80", "leave-on", False),  # 0.5971 %
        ("Potassium Sorbate", "0.81", "rinse-off", True),  # 0.6046 %
        ("Methylparaben", "0.44", "leave-on", False),
        ("Methylparaben", "0.45", "leave-on", True),
        ("Phenoxyethanol", "1", "leave-on", False),
        ("Phenoxyethanol", "1.01", "leave-on", True),
        ("Methylisothiazolinone", "15 ppm", "rinse-off", False),
        ("Methylisothiazolinone", "16 ppm", "rinse-off", True),
        ("Methylisothiazolinone", "1 ppm", "leave-on", True),  # not permitted at all
    ],
)
def test_the_limit_holds_to_the_digit(salt: str, percent: str, kind: ProductKind, breaks: bool) -> None:
    stops = [f for f in findings(water_and((salt, percent), kind=kind)) if f.severity == "stop"]
    assert len(stops) == (1 if breaks else 0)
    assert all(f.source.startswith(EU) and f.place == Place(0, 1, "amount") for f in stops)


@pytest.mark.parametrize("percent", ["0.1", "0.1000000001", "0.10000001", "0.2"])
def test_a_limit_that_must_not_be_reached_is_broken_at_its_very_edge(percent: str) -> None:
    """REACH, Annex XVII, entry 70: "in a concentration equal to or greater than 0,1 % by weight" (read as quoted in
    notices of Regulations (EU) 2018/35 and 2024/1328)."""
    (found,) = [
        f for f in findings(water_and(("Cyclopentasiloxane", percent), kind="rinse-off")) if f.severity == "stop"
    ]
    said = "0.1 %" if float(percent) < 0.10000001 else f"{float(percent):g} %"
    assert said in found.sentence
    assert "it must stay below 0.1 % in rinse-off products. Lower it." in found.sentence
    below = findings(water_and(("Cyclopentasiloxane", "0.09999999"), kind="rinse-off"))
    assert not [f for f in below if f.severity == "stop"]


# A millionth of the limit must be more than what counts as equal.
TURNING = [limit for limit in LIMITS.values() if limit.is_of_percent and limit.max_percent > 2e6 * EDGE]


@given(st.sampled_from(TURNING))
def test_every_limit_turns_exactly_where_its_words_say(limit: Limit) -> None:
    kind: ProductKind = "rinse-off" if "rinse-off" in limit.holds_for else "leave-on"
    as_itself = not limit.expressed_as or limit.expressed_as in limit.substances
    name = limit.expressed_as if limit.expressed_as and as_itself else limit.substances[0]
    if not as_itself or (limit.needs and name not in limit.needs) or not limit.applies_to(Description(kind)):
        return  # whether it holds is asked in the tests of conditions
    for percent, breaks in ((0.999999, False), (1.0, limit.below), (1.000001, True)):
        formula = water_and((name, repr(limit.max_percent * percent)), kind=kind)
        (one,) = requirements(formula, Materials(LIBRARY), [limit])
        assert (one.finding(flat_percents(formula)) is not None) == breaks, (limit.key, percent)
        assert one.is_open == limit.below
        assert ("below" in one.name) == limit.below


@given(
    st.floats(0.01, 5.0).map(lambda x: round(x, 2)),
    st.floats(30.0, 600.0).map(lambda x: round(x, 2)),
    st.floats(30.0, 600.0).map(lambda x: round(x, 2)),
    st.floats(-0.9, 0.9),
    st.floats(-0.9, 0.9),
)
def test_no_rounding_of_a_molar_mass_breaks_a_limit_and_little_more_does(
    most: float, of_acid: float, of_salt: float, one: float, other: float
) -> None:
    """A salt whose acid is at the limit by the unrounded molar masses is within it by the rounded ones."""
    salt = Ingredient("Some Salt", molar_mass=Figure(of_salt, "from-memory"))
    limit = Limit("acid", ("Some Salt", "Some Acid"), "", most, "Some Acid", of_acid)
    true = (of_salt + 0.005 * one) / (of_acid + 0.005 * other)
    for percent, breaks in ((most * true, False), (most * true * (1 + 3 * (0.01 / of_acid + 0.01 / of_salt)), True)):
        if percent > 90:
            continue
        formula = water_and(("Some Salt", repr(percent)), materials=(salt,))
        (found,) = requirements(formula, Materials(LIBRARY, formula.materials), [limit])
        assert (found.finding(flat_percents(formula)) is not None) == breaks


def test_a_breach_says_what_counted_how_and_by_which_law() -> None:
    (found,) = [f for f in findings(water_and(("Sodium Benzoate", "0.60"))) if f.severity == "stop"]
    assert found.sentence == (
        "Sodium Benzoate, counted as Benzoic Acid, comes to 0.5085 %; the limit in leave-on products is 0.5 %. "
        "Lower it. (as benzoic acid; acid and salt together) Local rules decide."
    )
    assert found.source == f"{EU}, entry 1, as of 2026-05-26"


def test_what_is_not_permitted_is_to_be_taken_out() -> None:
    (found,) = [f for f in findings(water_and(("Methylisothiazolinone", "10 ppm"))) if f.severity == "stop"]
    assert found.sentence.startswith(
        "Methylisothiazolinone is not permitted in leave-on products; the formula holds 0.001 %. Take it out."
    )


@given(st.floats(1e-8, 2e-3))
def test_a_breach_is_never_shown_as_the_limit_itself(over: float) -> None:
    (found,) = [f for f in findings(water_and(("Benzoic Acid", repr(0.5 + over)))) if f.severity == "stop"]
    shown = re.search(r"comes to ([\d.]+) %; the limit", found.sentence)
    assert shown is not None
    assert float(shown[1]) > 0.5


def test_acid_and_salt_count_together_and_so_does_what_a_stock_brings() -> None:
    both = water_and(("Benzoic Acid", "0.3"), ("Sodium Benzoate", "0.3"))  # 0.3 + 0.2542
    (found,) = [f for f in findings(both) if f.severity == "stop"]
    assert found.sentence.startswith("Benzoic Acid + Sodium Benzoate, counted as Benzoic Acid, comes to 0.5542 %")
    stock = Stock("Booster", {"Sodium Benzoate": 30, "Aqua": 70})
    hidden = water_and(("Booster", "2.1"), materials=(stock,))  # 0.63 % benzoate, 0.5339 % as acid
    (found,) = [f for f in findings(hidden) if f.severity == "stop"]
    assert "comes to 0.5339 %" in found.sentence
    assert found.place == Place(0, 1, "amount")


def test_parabens_are_limited_alone_two_by_two_and_all_together() -> None:
    """Annex V entries 12 and 12a: 0.4 % the single ester, 0.14 % propyl and butyl, 0.8 % all, as acid."""
    single = [("Methylparaben", "0.44"), ("Ethylparaben", "0.48")]  # 0.3995 + 0.3990 as acid
    assert [f for f in findings(water_and(*single)) if f.severity == "stop"] == []
    sum_only = [f for f in findings(water_and(*single, ("Propylparaben", "0.1"))) if f.severity == "stop"]
    assert len(sum_only) == 1
    assert "the limit is 0.8 %" in sum_only[0].sentence
    pair = [f for f in findings(water_and(("Propylparaben", "0.1"), ("Butylparaben", "0.1"))) if f.severity == "stop"]
    assert [("Propylparaben + Butylparaben" in f.sentence, "0.14 %" in f.sentence) for f in pair] == [(True, True)]


def test_a_limit_that_hangs_on_a_condition_is_a_caution() -> None:
    perfume = replace(water_and(("Musk Ketone", "0.6")), description=Description("leave-on", "perfume"))
    found = findings(perfume, "Musk Ketone comes to 0.6 %; the limit")
    assert {f.severity for f in found} == {"caution"}
    assert all("the limit" in f.sentence and "(" in f.sentence for f in found)
    assert "stop" in {f.severity for f in findings(water_and(("Salicylic Acid", "2.1")), "Salicylic Acid")}


def test_a_limit_on_nothing_in_the_formula_is_no_requirement() -> None:
    formula = water_and(("Glycerin", "4"))
    assert requirements(formula, Materials.of(formula, LIBRARY), LIMITS.values()) == []


def test_a_substance_without_a_molar_mass_counts_whole() -> None:
    limit = Limit("x", ("Moon salt",), "", 1.0, "Moon acid", 100.0)
    formula = water_and(("Moon salt", "1.2"))
    (found,) = requirements(formula, Materials.of(formula, LIBRARY), [limit])
    assert found.name == "Moon salt at most 1 % as Moon acid"
    assert found.slack(flat_percents(formula)) == pytest.approx(-0.2)


LAYERS = Formula(
    "Shake",
    (
        Phase("Water layer", "water", (Line("Aqua", "q.s."), Line("Sodium Benzoate", "0.4"))),
        Phase("Oil layer", "oil", (Line("Squalane", "19"), Line("Parfum", "1"))),
    ),
)


def with_rule(*rule: Any, **more: Any) -> Formula:
    from dataclasses import replace

    return replace(LAYERS, rules=(Rule(*rule, **more),))


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        (("Parfum", None, 1.0), ""),
        (("Parfum", None, 0.9), "Parfum is 1 %; your own rule asks for at most 0.9 %."),
        (("Parfum", 1.0, None), ""),
        (("Parfum", 1.2, None), "Parfum is 1 %; your own rule asks for at least 1.2 %."),
        (("Parfum", None, 5.0, "oil"), ""),  # 1 of 20 is 5 %
        (("Parfum", None, 4.9, "oil"), "Parfum is 5 % of the oil layer; your own rule asks for at most 4.9 %."),
        (("Sodium Benzoate", 0.5, None, "water"), ""),  # 0.4 of 80
        ((SALT, 0.51, None, "water"), f"{SALT} is 0.5 % of the water layer; your own rule asks for at least 0.51 %."),
        ((SALT, 0.1, None, "oil"), f"{SALT} is 0 % of the oil layer; your own rule asks for at least 0.1 %."),
        (("parfum", None, 0.9), "parfum is 1 %; your own rule asks for at most 0.9 %."),
        (("water", None, 70.0), "water is 79.6 %; your own rule asks for at most 70 %."),  # another name of Aqua
        (("fragrance", None, 0.5), "fragrance is 1 %; your own rule asks for at most 0.5 %."),  # of Parfum
    ],
)  # fmt: skip
def test_the_makers_own_rules(rule: tuple[object, ...], words: str) -> None:
    found = findings(with_rule(*rule), "your own rule")
    assert [f.sentence for f in found] == ([words] if words else [])
    assert all((f.severity, f.source) == ("caution", "the maker's own rule") for f in found)


def test_a_rule_gives_its_reason_and_braces_in_it_do_no_harm() -> None:
    (found,) = findings(with_rule("Parfum", None, 0.5, reason="it {stung} {0} {"), "your own rule")
    assert found.sentence == "Parfum is 1 %; your own rule asks for at most 0.5 % (it {stung} {0} {)."
    (left_over,) = findings(with_rule("{odd} {", 1.0), "{odd} {")
    assert left_over.sentence == (
        "Your rule about {odd} { says nothing here: {odd} { is in no line. Take the rule out, or add the material."
    )
    assert (left_over.severity, left_over.place.field) == ("note", "rule")


def test_a_rule_is_left_over_only_where_nothing_brings_its_material() -> None:
    for name in ("Sodium Benzoate", "parfum", "fragrance", "water"):
        formula = with_rule(name, 0.01)
        assert idle_rules(formula, Materials.of(formula, LIBRARY)) == []
    stock, drops = Stock("Drops", {"Urea": 10.0, "Aqua": 90.0}, "Urea", 10.0), (Line("Drops", "100"),)
    formula = Formula("T", (Phase("W", "water", drops),), materials=(stock,), rules=(Rule("Urea", 20.0),))
    assert idle_rules(formula, Materials.of(formula, LIBRARY)) == []
    assert findings(formula, "your own rule asks for at least 20 %")


def test_a_rule_counts_what_a_stock_brings_and_a_blend_by_its_own_name() -> None:
    stock = Stock("Scent stock", {"Parfum": 10, "Alcohol": 90})
    blend = Ingredient("House blend", composition={"Squalane": 50, "Tocopherol": 50}, own=True)
    formula = water_and(
        ("Scent stock", "5"),
        ("house blend", "4"),
        materials=(stock, blend),
        rules=(Rule("Parfum", None, 0.4), Rule("House blend", None, 3.0)),
    )
    assert [f.sentence.split(";")[0] for f in findings(formula, "your own rule")] == [
        "Parfum is 0.5 %",
        "House blend is 4 %",
    ]


def test_a_rule_without_a_formula_still_speaks() -> None:
    (found,) = findings(Formula(rules=(Rule("Aqua", 1.0),)), "Your rule about Aqua")
    assert found.place == Place(field="rule")


def test_both_ends_of_a_rule_are_requirements_and_the_least_slack_is_exact() -> None:
    formula = with_rule("Parfum", 2.0, 6.0, "oil")
    low, high = requirements(formula, Materials.of(formula, LIBRARY), [])
    percents = flat_percents(formula)
    assert (low.name, high.name) == ("Parfum at least 2 % of the oil layer", "Parfum at most 6 % of the oil layer")
    assert low.slack(percents) == pytest.approx(1 - 0.02 * 20)
    assert high.slack(percents) == pytest.approx(0.06 * 20 - 1)
    assert low.found(percents) == high.found(percents) == pytest.approx(5)
    # a rule of a layer gives 1 % of that layer for each percent: the oil layer is 20 % of the whole
    assert high.ease(percents) == pytest.approx(0.2)
    (whole,) = requirements(with_rule("Parfum", None, 0.9), Materials.of(formula, LIBRARY), [])
    assert whole.ease(percents) == 1
    assert all(one.ease(percents) == 0 for one in requirements(formula, Materials.of(formula, LIBRARY), LIMITS.values())
               if one.kind != "own rule")  # fmt: skip


@given(st.floats(0.1, 99), st.floats(0.01, 50), st.sampled_from(["low", "high"]))
def test_a_layer_rule_is_the_same_as_dividing_by_the_layer(oil: float, bound: float, end: str) -> None:
    lines = (Line("Squalane", repr(oil * 0.75)), Line("Parfum", repr(oil * 0.25)))
    rule = Rule("Parfum", bound if end == "low" else None, bound if end == "high" else None, of="oil")
    formula = Formula("T", (Phase("W", "water", (Line("Aqua", "q.s."),)), Phase("O", "oil", lines)), rules=(rule,))
    broken = bool(findings(formula, "your own rule"))
    if abs(bound - 25) > 1e-6:
        assert broken is (bound < 25 if end == "high" else bound > 25)
