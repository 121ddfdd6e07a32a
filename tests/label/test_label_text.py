"""The whole label: what is printed, what is missing by the law of each place, and hostile text made harmless."""

from __future__ import annotations

import unicodedata
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.demos import demo
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.label.cautions import label_cautions
from kit.label.content import content_of_volume, read_content
from kit.label.label_text import BLANK, LabelText, label
from kit.label.particulars import PARTICULARS, Particulars
from kit.library.description import Description
from kit.library.ingredient import Stock
from tests.label.made import LIBRARY, certificate, product

#: Neither a text that is printed as typed, nor free of other rules.
APART = {"durability_months", "imported", "habits", "warnings", "content"}
FULL = Particulars(
    function="Two-phase body oil",
    batch_code="TL-07",
    best_before="11/2027",
    storage="Keep cool and dark.",
    directions="Spray on damp skin and rub in.",
    responsible_person="A. N. Maker (invented), Tern Lane Workshop",
    warnings="Not for babies.\n\nNot near flames.",
    contact="the workshop, telephone on its door",
)


def made(formula: Formula | None = None, place: str = "eu", millilitres: float | None = 85.3, **more: Any) -> LabelText:
    formula = formula or demo()
    content = content_of_volume(millilitres, 0.97) if millilitres else None
    materials = Materials.of(formula, LIBRARY)
    return label(formula, materials, jurisdiction=place, content=content, **more)  # type: ignore[arg-type]


def lacking(found: LabelText) -> list[str]:
    return [each.field for each in found.missing]


def told(found: LabelText, field: str) -> list[str]:
    return [f"{each.severity}: {each.sentence}" for each in found.findings if each.place.field == field]


def test_a_whole_label_of_the_union() -> None:
    found = made(details=FULL)
    assert found.text == (
        "After-swim body shake\n"
        "Two-phase body oil\n\n"
        "85 mL (82 g)\n\n"
        "Shake well before each use.\n"
        "Spray on damp skin and rub in.\n\n"
        "Ingredients: Aqua, Coco-Caprylate, Prunus Armeniaca Kernel Oil, Glycerin, Sodium PCA, Sodium Chloride, "
        "Sodium Benzoate, Citric Acid, Tocopherol, Potassium Sorbate, Parfum\n\n"
        "For the outside of the body only. Keep out of the eyes and off broken skin. Stop if the skin becomes red or "
        "itches.\n"
        "Keep out of reach of children.\n"
        "Not for babies.\n"
        "Not near flames.\n\n"
        "Batch: TL-07\n"
        "Best used before the end of: 11/2027\n"
        "Storage: Keep cool and dark.\n\n"
        "Responsible person: A. N. Maker (invented), Tern Lane Workshop\n"
        "Report unwanted effects to: the workshop, telephone on its door"
    )
    assert found.missing == ()


def test_an_empty_label_of_the_union_misses_what_article_19_asks() -> None:
    found = made(Formula("Nothing yet"), millilitres=None)
    assert lacking(found) == ["responsible_person", "content", "best_before", "batch_code", "function", "declaration"]
    assert [str(each) for each in found.missing][:3] == [
        (
            "name and address of the responsible person [Regulation (EC) No 1223/2009 on cosmetic products, "
            "Article 19, paragraph 1(a)]"
        ),
        (
            "nominal content by weight or volume when packed [Regulation (EC) No 1223/2009 on cosmetic products, "
            "Article 19, paragraph 1(b)]"
        ),
        (
            "how long it keeps unopened: up to 30 months a date, above that a period after opening [Regulation (EC) No "
            "1223/2009 on cosmetic products, Article 19, paragraph 1(c)]"
        ),
    ]
    assert found.text == (
        f"Nothing yet\n\n{found.cautions[0]}\nKeep out of reach of children.\n\n"
        f"Batch: {BLANK}\nBest used before the end of: {BLANK}\n\nResponsible person: {BLANK}"
    )


def test_an_empty_label_of_the_united_states() -> None:
    found = made(Formula("Nothing yet"), "us", None)
    assert lacking(found) == ["function", "responsible_person", "content", "declaration", "warnings", "contact"]
    assert {each.field: each.firm for each in found.missing}["contact"] is False
    assert str(found.missing[-1]).endswith("[MoCRA, remembered as section 609(a); from memory]")
    warned = Particulars(warnings="Warning - the safety of this product has not been determined")
    assert "warnings" not in lacking(made(place="us", details=warned))


@pytest.mark.parametrize(
    ("details", "field"),
    [
        ({}, "best_before"),
        ({"durability_months": 30}, "best_before"),
        ({"durability_months": 30, "period_after_opening": "12M"}, "best_before"),
        ({"durability_months": 30, "best_before": "2027-11"}, None),
        ({"best_before": "29/02/2028"}, None),
        ({"best_before": "29/02/2027"}, "best_before"),
        ({"best_before": "2027-06-31"}, "best_before"),
        ({"best_before": "November 2027"}, None),
        ({"best_before": "soon"}, "best_before"),
        ({"durability_months": 30.5}, "period_after_opening"),
        ({"durability_months": 31, "period_after_opening": "soon"}, "period_after_opening"),
        ({"durability_months": 31, "period_after_opening": "12 months"}, None),
        ({"durability_months": 31, "best_before": "30/11/2029"}, None),
        ({"period_after_opening": "12M"}, "best_before"),
    ],
)
def test_a_date_up_to_30_months_and_a_period_after_opening_above(details: dict[str, Any], field: str | None) -> None:
    found = lacking(made(details=Particulars(**details)))
    assert [each for each in found if each in ("best_before", "period_after_opening")] == ([field] if field else [])


def test_the_period_is_printed_beside_words_for_its_symbol() -> None:
    found = made(details=Particulars(durability_months=36, period_after_opening="12 months"))
    assert "\n(open-jar symbol) 12M\n" in f"\n{found.text}\n"
    assert told(found, "period_after_opening")[0].startswith(
        "note: The period stands beside the open-jar symbol of Annex VII, which plain text cannot show"
    )
    blank = made(details=Particulars(durability_months=36))
    assert f"(open-jar symbol) {BLANK}" in blank.text
    assert "Best used" not in blank.text


def test_what_cannot_be_a_period_or_a_date_is_told() -> None:
    found = made(details=Particulars(period_after_opening="0M", best_before="2027"))
    assert told(found, "period_after_opening") == [
        "stop: '0M' is not a period after opening. Type a number of months or years, such as 12M or 1Y."
    ]
    assert told(found, "best_before")[0] == (
        "stop: '2027' is not a date for a label. Type month and year (11/2027), or day, month and year."
    )
    assert "0M" not in found.text


def test_the_united_states_ask_for_no_date() -> None:
    found = made(place="us", details=Particulars(best_before="2027"))
    assert told(found, "best_before")[0].startswith("caution: '2027' is not a date for a label.")


def test_a_date_is_never_passed_without_a_word_on_tests() -> None:
    found = told(made(details=Particulars(best_before="11/2027")), "best_before")
    assert found == [
        (
            "caution: A date or a period after opening needs tests of this product by a qualified person. The kit does "
            "not work one out for a label."
        )
    ]


def test_a_period_in_place_of_a_date_is_told() -> None:
    found = told(made(details=Particulars(durability_months=24, period_after_opening="6M")), "best_before")
    assert "caution: At 24 months a date is asked for; a period after opening takes its place only above 30." in found


def test_the_origin_is_asked_for_what_is_imported() -> None:
    assert "country_of_origin" not in lacking(made())
    assert "country_of_origin" in lacking(made(details=Particulars(imported=True)))
    assert "Made in: Elsewhere" in made(details=Particulars(imported=True, country_of_origin="Elsewhere")).text


def test_a_list_that_is_not_ready_is_missing() -> None:
    found = made(product(("Aqua", "80"), ("Glycerin", "some")))
    assert [each.what for each in found.missing if each.field == "declaration"] == [
        "list of ingredients, headed by the word for ingredients: the one here is not ready, see what stands beside it"
    ]
    assert "Ingredients: Aqua" in found.text


def test_only_what_has_a_water_and_an_oil_layer_is_shaken() -> None:
    assert made().shake
    assert not made(product(("Aqua", "q.s."))).shake
    empty_oil = Phase("Oil layer", "oil", (Line("Squalane", "0"),))
    formula = product(("Aqua", "100"))
    assert not made(Formula("Toner", (*formula.phases, empty_oil))).shake


# ---- cautions ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "place", "words"),
    [
        (("Hydrogen Peroxide", "3"), "eu", "Contains hydrogen peroxide."),
        (("Retinol", "0.1"), "eu", "Contains Vitamin A."),
        (("benzalkonium  chloride", "0.05"), "eu", "Avoid contact with eyes."),
        (("Alcohol", "40"), "eu", "Flammable: keep away from heat, flames and sparks."),
        (("Alcohol", "40"), "us", "Flammable: keep away from heat, flames and sparks."),
    ],
)
def test_cautions_that_are_printed(line: tuple[str, str], place: str, words: str) -> None:
    assert words in made(product(("Aqua", "q.s."), line), place).text


def test_cautions_that_are_not_printed() -> None:
    assert "Flammable" not in made(product(("Aqua", "q.s."), ("Alcohol", "20"))).text
    assert "hydrogen peroxide" not in made(product(("Aqua", "q.s."), ("Hydrogen Peroxide", "3")), "us").text
    assert made(details=Particulars(habits=False)).cautions == ()


@pytest.mark.parametrize(
    ("line", "place", "words"),
    [
        (("Iodopropynyl Butylcarbamate", "0.01"), "eu", "Not to be used for children under three"),
        (("Lactic Acid", "5"), "us", "Sunburn Alert"),
        (("Salicylic Acid", "0.5"), "eu", "Not to be used for children under 3"),
    ],
)
def test_a_condition_that_the_kit_cannot_know_is_told_and_not_printed(
    line: tuple[str, str], place: str, words: str
) -> None:
    found = made(product(("Aqua", "q.s."), line), place)
    assert words not in found.text
    (sentence,) = [each for each in told(found, "cautions") if words in each]
    assert sentence.startswith("caution: This warning may be asked for; look up its conditions: “")


def test_the_words_of_the_law_are_printed_apart_from_ours_and_told_with_their_entry() -> None:
    found = made(product(("Aqua", "q.s."), ("Retinol", "0.1")))
    (warning,) = found.warnings
    assert warning.said == "“Contains Vitamin A. Consider your daily intake before use.”"
    assert f"\n\n{warning.sentence}\n\n{found.cautions[0]}\n" in found.text
    (finding,) = [each for each in found.findings if each.place.field == "cautions"]
    assert finding.sentence == f"The law asks for this warning, in these words: {warning.said}"
    assert finding.source == (
        "Regulation (EC) No 1223/2009 on cosmetic products, Annex III, entry 376 (Regulation (EU) 2024/996)"
    )


def test_our_wording_of_a_warning_says_so() -> None:
    can = replace(product(("Aqua", "q.s.")), description=Description(applied="aerosol"))
    (sentence,) = told(made(can, "us"), "cautions")
    assert sentence.startswith(
        "note: The law asks for a warning; this is our wording, print that of the entry: Warning:"
    )


def test_a_warning_that_rests_on_the_description_says_what_to_tell() -> None:
    """One sentence for all that the same input would settle."""
    found = made(product(("Aqua", "q.s."), ("Sodium Hydroxide", "0.2"), ("Resorcinol", "0.1"), kind="rinse-off"))
    (sentence,) = told(found, "cautions")
    assert sentence.startswith(
        "caution: The description of the product does not say what it is. On that rests whether the law asks for this "
    )
    assert "“Contains resorcinol.” (entry 22)" in sentence
    assert "Contains" not in found.text


def test_a_warning_of_later_is_not_printed_before_its_day() -> None:
    formula = product(("Aqua", "q.s."), ("Retinol", "0.1"))
    materials = Materials.of(formula, LIBRARY)
    early = label_cautions({"Retinol": 0.1}, materials, "eu", formula.description, "2025-10-31")
    assert not [each for each in early if each.quoted]


@pytest.mark.parametrize(("place", "words"), [("eu", "safety report"), ("us", "serious adverse event")])
def test_what_a_person_must_still_do_is_told(place: str, words: str) -> None:
    (sentence,) = told(made(place=place), "duties")
    assert words in sentence


# ---- content, loops, hostile text -------------------------------------------------------------------------


def test_rounding_down_is_stated_and_large_packs_are_told() -> None:
    assert told(made(), "content")[0].startswith("note: Figures are rounded down, so that the pack holds at least")
    large = told(made(place="us", millilitres=500), "content")
    assert large[0] == (
        "caution: From a pint or a pound on, the larger units have to be stated too; that rule is from memory."
    )
    assert large[2] == "note: One fluid ounce is taken as 29.5735 mL and one ounce as 28.3495 g."
    assert len(told(made(millilitres=500), "content")) == 1


def test_a_loop_of_stocks_leaves_a_label_with_its_sentence() -> None:
    loop = (Stock("A", {"B": 100}), Stock("B", {"A": 100}))
    found = made(product(("Aqua", "q.s."), ("A", "2"), materials=loop))
    assert found.findings[0].sentence.startswith("A is made of itself: A → B → A.")
    assert "declaration" in lacking(found)


def test_hostile_text_is_one_plain_line_and_told() -> None:
    hostile = Particulars(product_name="Oil\u202e\x00\nBatch: forged", batch_code="\u200bTL\u2066-07")
    found = made(details=hostile)
    assert found.text.splitlines()[0] == "Oil Batch: forged"
    assert "Batch: TL-07" in found.text
    assert told(found, "product_name") == ["note: 2 signs that cannot be seen were taken out of the product name."]
    assert told(found, "batch_code") == ["note: 2 signs that cannot be seen were taken out of the batch code."]
    assert told(made(details=Particulars(storage="a\u2029b\u00ad")), "storage") == [
        "note: One sign that cannot be seen was taken out of the storage."
    ]


@given(st.text(max_size=30), st.text(max_size=30).filter(lambda name: "\0" not in name))
def test_no_text_puts_a_hidden_sign_or_a_line_of_its_own_on_the_label(typed: str, material: str) -> None:
    formula = product(("Aqua", "q.s."), (material, "2"))
    texts: dict[str, Any] = {name: typed for name in PARTICULARS if name not in APART}
    details = Particulars(**texts, imported=True)
    found = made(formula, details=details)
    plain = made(product(("Aqua", "q.s."), ("x", "2")), details=Particulars())
    for letter in found.text:
        assert letter == "\n" or unicodedata.category(letter)[0] != "C" or letter in "\u200c\u200d"
        assert unicodedata.category(letter) not in ("Zl", "Zp")
    most = plain.text.count("\n") + 12
    assert found.text.count("\n") <= most
    found.text.encode("utf-8")


def test_a_certificate_reaches_the_label() -> None:
    from kit.label.declaration import Choices

    choices = Choices(statements=certificate(Parfum="Limonene 2"))
    assert made(choices=choices).declaration.names[-1] == "Limonene"


def test_a_figure_that_rests_on_an_unsure_density_is_not_printed_without_a_word() -> None:
    made = product()
    for off, warned in ((0.4, False), (7.0, True)):
        for content, words in (
            (
                content_of_volume(100, 0.97, off),
                "weight beside the volume",
            ),
            (
                read_content("80 g", 0.97, off),
                "volume beside the weight",
            ),
        ):
            said = label(made, Materials.of(made, LIBRARY), content=content)
            sentence = f"The {words} rests on a density that may lie off by 7 %"
            assert any(sentence in finding.sentence for finding in said.findings) == warned
