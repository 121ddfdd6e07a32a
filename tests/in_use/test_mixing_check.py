"""What layers dissolve of one another: published figures, what a formula is told, and nothing told twice."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import RangeError
from kit.formula.compatibility import Contents, compatibility_findings
from kit.in_use.mixing_check import mixing_findings
from kit.in_use.mutual_solubility import mutual_solubilities, mutual_solubility, taken_up
from kit.in_use.product_system import held_by_layer, product_system
from kit.in_use.ternary_systems import ternary_system
from kit.library.library import Library
from kit.library.sources import sources
from kit.resources import load_table
from tests.in_use.some_products import LAYERED, layered
from tests.present import present
from tests.rows import each_of


@each_of("row", load_table("mutual-solubility").rows)
def test_a_pair_is_whole_and_its_liquids_are_known(row: dict[str, str]) -> None:
    library = Library.bundled()
    assert library.get(row["one"]) is not None
    assert library.get(row["other"]) is not None
    assert row["relation"] in ("mixes", "partly", "hardly")
    assert row["bound"] in ("", "below")
    assert row["source"] in sources()
    figures = [float(row[c]) for c in ("one_in_other", "other_in_one") if row[c]]
    assert all(0 < figure < 100 for figure in figures)
    if row["relation"] == "partly":
        assert max(figures) >= 1
    if row["relation"] == "hardly":
        assert all(figure <= 1 for figure in figures)
    if row["relation"] == "mixes":
        assert not figures


def test_every_system_and_point_belongs_together() -> None:
    systems = {row["key"] for row in load_table("ternary-systems").rows}
    for table in ("tie-lines", "saturation-curves"):
        rows = load_table(table).rows
        assert {row["system"] for row in rows} <= systems
        assert {row["source"] for row in rows} <= set(sources())
    assert {row["system"] for row in load_table("tie-lines").rows} == systems
    for row in load_table("saturation-curves").rows:
        assert sum(float(row[part]) for part in ("water", "shared", "oil")) == pytest.approx(100, abs=0.02)


def test_figures_as_published() -> None:
    """Each as printed: IUPAC-NIST 69_260, benzyl alcohol with water at 20 °C, 0.0420 and 0.9080; butyl acetate with
    water, Braz. J. Chem. Eng. 21 (2004) 647; water in limonene, mole fraction 0.016, Fluid Phase Equilib. 224 (2004)
    251; D5 in water 17 ppb; vegetable oils below 10 g in 100 g of alcohol, J. Am. Oil Chem. Soc. 36 (1959) 77.
    """
    benzyl = present(mutual_solubility("Aqua", "Benzyl Alcohol"))
    assert benzyl.other_in_one == 4.2
    assert benzyl.one_in_other == pytest.approx(100 - 90.80)
    ester = present(mutual_solubility("Aqua", "Butyl Acetate"))
    assert (ester.other_in_one, ester.one_in_other) == (0.53, 1.36)
    limonene = present(mutual_solubility("Aqua", "Limonene"))
    moles = 0.016 * 18.015, 0.984 * 136.238
    assert limonene.one_in_other == pytest.approx(100 * moles[0] / sum(moles), abs=0.001)
    assert present(mutual_solubility("Aqua", "Cyclopentasiloxane")).other_in_one == pytest.approx(17e-9 * 100)
    peanut = present(mutual_solubility("Alcohol", "Arachis Hypogaea Oil"))
    assert peanut.is_most
    assert peanut.other_in_one == pytest.approx(100 * 10 / 110, abs=0.02)
    assert len(mutual_solubilities()) >= 25


@given(st.floats(0, 99.9), st.floats(0, 1e3), st.floats(0, 1e3))
def test_no_more_is_taken_up_than_is_there(saturation: float, solvent: float, there: float) -> None:
    found = taken_up(saturation, solvent, there)
    assert 0 <= found <= there
    if found < there:
        assert 100 * found == pytest.approx(saturation * (found + solvent), rel=1e-9, abs=1e-12)


def test_a_saturation_that_cannot_be_is_refused() -> None:
    for wrong in ((100, 1, 1), (-1, 1, 1), (1, -1, 1), (1, 1, -1)):
        with pytest.raises(RangeError, match="cannot be"):
            taken_up(*wrong)


def test_a_product_of_the_three_liquids_is_laid_on_their_system() -> None:
    formula, materials = layered({"Aqua": "q.s.", "Alcohol Denat.": "20"}, {"Limonene": "30"})
    one = present(product_system(formula, materials))
    assert one.system is ternary_system("water-alcohol-limonene")
    assert one.overall.parts == pytest.approx((50, 20, 30))
    assert present(one.water_layer).parts == pytest.approx((500 / 7, 200 / 7, 0))
    assert one.oil_percent == pytest.approx(30)
    assert "Alcohol Denat. counts as Alcohol" in one.words
    first = mixing_findings(formula, materials)[0]
    assert (first.severity, first.sentence[:10]) == ("note", "Two layers")
    assert "30 °C" in first.sentence
    assert first.source.startswith("The influence of the temperature")
    strong, materials = layered({"Aqua": "q.s.", "Alcohol": "77"}, {"Limonene": "16"})
    assert mixing_findings(strong, materials)[0].sentence.startswith("One layer")


def test_what_is_not_of_the_system_is_told_and_too_much_of_it_is_not_known() -> None:
    some, materials = layered({"Aqua": "q.s.", "Alcohol": "20", "Sodium Chloride": "2"}, {"Limonene": "30"})
    assert "Not counted, 2 % of the whole: Sodium Chloride 2 %" in present(product_system(some, materials)).words
    much, materials = layered({"Aqua": "q.s.", "Alcohol": "20", "Glycerin": "6"}, {"Limonene": "30"})
    assert product_system(much, materials) is None
    said = " ".join(finding.sentence for finding in mixing_findings(much, materials))
    assert "Alcohol with Limonene" in said, "what mixes by itself is said in words"
    assert "Glycerin with Limonene" in said
    assert "carries oil into it" in said


def test_figures_unknown_pairs_and_what_hardly_dissolves() -> None:
    formula, materials = layered(
        {"Aqua": "q.s.", "Glycerin": "10"}, {"Helianthus Annuus Seed Oil": "10", "Butyl Acetate": "20"}
    )
    found = mixing_findings(formula, materials)
    unknown = [finding for finding in found if "not known here" in finding.sentence]
    assert len(unknown) == 1, "one finding names all pairs"
    assert "Glycerin with Helianthus Annuus Seed Oil and Butyl Acetate" in unknown[0].sentence
    figure = next(finding for finding in found if finding.sentence.startswith("At 25 °C"))
    assert "Aqua takes up 0.53 % of Butyl Acetate, here 0.32 g of the 20 g" in figure.sentence
    assert any("Dissolve hardly" in finding.sentence and "Helianthus" in finding.sentence for finding in found)
    assert mixing_findings(*layered({"Aqua": "q.s."}, {})) == []


def test_a_figure_of_one_side_alone_says_nothing_of_the_other() -> None:
    """Water takes up 6.5 % of triacetin (handbook, from memory), alcohol less than 9.1 % of peanut oil (Kaparthi
    1959); of the other way round neither prints anything.
    """
    triacetin = mixing_findings(*layered({"Aqua": "q.s."}, {"Triacetin": "30"}))
    said = next(finding.sentence for finding in triacetin if finding.sentence.startswith("At 25 °C"))
    # 70 g of water hold 6.5 / 93.5 of their mass: 4.87 g
    assert "Aqua takes up 6.5 % of Triacetin, here 4.9 g of the 30 g in 100 g of product, both counted" in said
    assert said.endswith("1 part in about 14 of water.")
    peanut = mixing_findings(*layered({"Alcohol": "q.s."}, {"Arachis Hypogaea Oil": "30"}))
    said = next(finding.sentence for finding in peanut if finding.sentence.startswith("At 25 °C"))
    assert "Alcohol takes up at most 9.1 % of Arachis Hypogaea Oil, here at most 7 g of the 30 g" in said
    silicone = mixing_findings(*layered({"Aqua": "q.s."}, {"Cyclopentasiloxane": "30"}))
    hardly = next(finding.sentence for finding in silicone if "Dissolve hardly" in finding.sentence)
    assert "Aqua and Cyclopentasiloxane (1.7e-06 % of the second in the first)." in hardly
    limonene = mixing_findings(*layered({"Aqua": "q.s."}, {"Limonene": "30"}), of_system=False)
    assert not any("of the first in the second" in finding.sentence for finding in limonene)


def test_what_a_rule_of_the_trade_says_is_not_said_again() -> None:
    held = {"Aqua": "q.s.", "Alcohol": "40"}, {"Ricinus Communis Seed Oil": "20"}
    formula, materials = layered(*held, LAYERED)
    spoken = [one.sentence for one in compatibility_findings(Contents.of(formula, materials))]
    assert any("Ricinus Communis Seed Oil" in sentence and "Alcohol" in sentence for sentence in spoken)
    assert not any("Mix by themselves" in one.sentence for one in mixing_findings(formula, materials))
    undescribed = mixing_findings(*layered(*held))
    assert any("Mix by themselves" in one.sentence for one in undescribed)


def test_layers_are_added_up_from_their_lines() -> None:
    formula, materials = layered({"Aqua": "q.s.", "Alcohol (and) Aqua": "20"}, {"Squalane": "30"})
    held = held_by_layer(formula, materials)
    assert held["water"]["Alcohol"] == pytest.approx(20 * 0.92408)
    assert sum(held["water"].values()) == pytest.approx(70)
    assert held["oil"] == {"Squalane": pytest.approx(30)}


@each_of(
    ("alcohol", "words"),
    [
        ("13.9", ""),  # of 70 g of water layer: 19.9 %; a word is said from a fifth on
        ("14", "The water layer holds 20 % of alcohol, which carries oil into it"),
        ("35", "The water layer holds 50 % of alcohol"),
    ],
)
def test_what_alcohol_carries_is_said_from_a_fifth_of_the_water_layer_on(alcohol: str, words: str) -> None:
    said = mixing_findings(*layered({"Aqua": "q.s.", "Alcohol": alcohol}, {"Squalane": "30"}))
    told = [one.sentence for one in said if "carries oil into it" in one.sentence]
    assert len(told) == bool(words)
    assert all(one.startswith(words) for one in told)
    # the first two water layers of the measured system that held any limonene at 30 °C (data/tie-lines)
    lines = [line.water_layer for line in ternary_system("water-alcohol-limonene").lines if line.water_layer.oil > 0]
    held = " and ".join(f"{one.oil:.2g} % at {one.shared:.0f} % of alcohol" for one in lines[:2])
    assert all(f"over limonene such a layer held {held} (30 °C)" in one for one in told)


def test_a_liquid_is_looked_at_from_a_twentieth_of_its_layer_on() -> None:
    for glycerin, oil, told in (("3.5", "1.5", True), ("3.4", "1.5", False), ("3.5", "1.4", False)):
        found = mixing_findings(*layered({"Aqua": "q.s.", "Glycerin": glycerin}, {"Squalane": f"{30 - float(oil)}",
                                                                                  "Butyl Acetate": oil}))  # fmt: skip
        assert any("Glycerin with" in one.sentence and "Butyl Acetate" in one.sentence for one in found) == told


def test_what_is_still_being_typed_is_left_out() -> None:
    formula, materials = layered({"Aqua": "70", "Glycerin": ""}, {"Squalane": "30", "Tocopherol": "0", "": "1"})
    held = held_by_layer(formula, materials)
    assert held == {"water": {"Aqua": pytest.approx(70)}, "oil": {"Squalane": pytest.approx(30)}}


@each_of(
    ("salt", "others"),
    [("5", 1), ("5.1", 0)],  # a twentieth of the whole may be something else
)
def test_a_product_is_a_measured_system_while_a_twentieth_is_something_else(salt: str, others: int) -> None:
    found = product_system(*layered({"Aqua": "q.s.", "Alcohol": "20", "Sodium Chloride": salt}, {"Limonene": "30"}))
    assert (found is not None) == bool(others)


def test_what_is_not_counted_is_named_from_the_most_on() -> None:
    some = {"Sodium Chloride": "0.4", "Glycerin": "1", "Urea": "0.6", "Panthenol": "0.5", "Sorbitol": "0.8"}
    one = present(product_system(*layered({"Aqua": "q.s.", "Alcohol": "20", **some}, {"Limonene": "30"})))
    assert one.words.startswith(
        "Not counted, 3.3 % of the whole: Glycerin 1 %, Sorbitol 0.8 %, Urea 0.6 %, Panthenol 0.5 % and 1 more."
    )
    assert one.oil_percent == pytest.approx(100 * 30 / 96.7)
    four = {name: some[name] for name in list(some)[:4]}
    one = present(product_system(*layered({"Aqua": "q.s.", "Alcohol": "20", **four}, {"Limonene": "30"})))
    assert "Panthenol 0.5 % and Sodium Chloride 0.4 %. Salts" in one.words


def test_denatured_alcohol_takes_up_what_alcohol_does() -> None:
    peanut = mixing_findings(*layered({"Alcohol Denat.": "q.s."}, {"Arachis Hypogaea Oil": "30"}))
    assert any("takes up at most 9.1 % of Arachis Hypogaea Oil" in one.sentence for one in peanut)
