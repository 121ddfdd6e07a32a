"""Which allergens are listed, by which names they are found, and the level above which they are named."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.formula.model import Formula, Line, Phase
from kit.label.allergens import Allergen, allergen_named, allergens, exceeds, nearest_allergens, threshold
from tests.label.made import LAVENDER, certificate, listed, product
from tests.rows import each_of


def test_the_list_has_the_entries_that_were_read() -> None:
    count = {which: sum(each.which == which for each in allergens()) for which in ("first", "2023", "removed")}
    assert count == {"first": 24, "2023": 57, "removed": 2}


@each_of("each", allergens(), ids=lambda each: each.label_name)
def test_each_is_found_by_every_name_and_number(each: Allergen) -> None:
    for name in (each.label_name, *each.names, *each.other_names):
        assert allergen_named(name) == each, name
    for number in each.cas:
        assert allergen_named(number) in (each, None)


def test_a_number_that_two_entries_share_decides_nothing() -> None:
    assert allergen_named("8028-48-6") is None  # of the flower oil and the peel oil of orange


@pytest.mark.parametrize(
    ("typed", "label_name"),
    [
        ("d-limonene", "Limonene"),
        ("ALPHA-PINENE", "Pinene"),
        ("Lavandula Hybrida Oil", "Lavandula Oil/Extract"),
        ("Citrus Sinensis Peel Oil", "Citrus Aurantium Peel Oil"),
        ("trans-Rose Ketone 2", "Rose Ketones"),
        ("Cinnamaldehyde", "Cinnamal"),
        ("5392-40-5", "Citral"),
    ],
)
def test_other_words_lead_to_the_name_to_print(typed: str, label_name: str) -> None:
    found = allergen_named(typed)
    assert found is not None
    assert found.label_name == label_name


def test_what_is_not_listed_is_not_found() -> None:
    assert allergen_named("Glycerin") is None
    assert allergen_named("") is None
    assert nearest_allergens("Xylophone") == []
    assert nearest_allergens("Geranol")[0] == "Geraniol"


@pytest.mark.parametrize(
    ("kind", "percent", "named"),
    [
        ("leave-on", 0.000999, False),
        ("leave-on", 0.001, False),
        ("leave-on", 0.001001, True),
        ("rinse-off", 0.00999, False),
        ("rinse-off", 0.01, False),
        ("rinse-off", 0.01001, True),
    ],
)
def test_an_allergen_is_named_above_its_level_and_not_on_it(kind: str, percent: float, named: bool) -> None:
    # 1 % perfume, so its linalool in % of the perfume is 100 times that in the product
    formula = product(("Aqua", "q.s."), ("Parfum", "1"), kind=kind)
    found = listed(formula, statements=certificate(Parfum=f"Linalool {100 * percent!r}"))
    assert ("Linalool" in found.names) is named
    assert exceeds(percent, threshold(kind)) is named  # type: ignore[arg-type]


@given(st.integers(1, 400), st.integers(1, 400))
def test_the_level_counts_what_all_lines_bring(first: int, second: int) -> None:
    """Linalool of two perfumes and an oil: thousandths of a percent of the product, in a leave-on product."""
    oil = Phase("Oil layer", "oil", (Line(LAVENDER.inci, "1"), Line("Aroma", "1"), Line("Squalane", "q.s.")))
    formula = Formula("Oil", (oil,), materials=(LAVENDER,))
    notes = certificate(
        Lavandula_Angustifolia_Oil=f"Linalool {first / 1000!r}",
        Aroma=f"Linalool {second / 1000!r}",
    )
    assert ("Linalool" in listed(formula, statements=notes).names) is (first + second > 100)


def test_two_members_of_one_group_count_together() -> None:
    formula = product(("Aqua", "q.s."), ("Lavandula Hybrida Oil", "0.0006"), (LAVENDER.inci, "0.0006"))
    assert listed(formula).names == ("Aqua", "Lavandula Oil/Extract")
    alone = product(("Aqua", "q.s."), (LAVENDER.inci, "0.0006"))
    assert listed(alone).names == ("Aqua", "Lavandula Angustifolia Oil")
