"""Net content: never more than is there, in the units of the place."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError, RangeError, UnitError
from kit.label.content import FLUID_OUNCE, OUNCE, NetContent, content_of_volume, read_content, rounded_down
from kit.rounding import all_digits


@pytest.mark.parametrize(
    ("typed", "eu", "us"),
    [
        ("85 mL", "85 mL (82 g)", "2.87 fl oz (85 mL)"),
        ("85.9 mL", "85 mL (83 g)", "2.87 fl oz (85 mL)"),
        ("250 mL", "250 mL (242 g)", "8.45 fl oz (250 mL)"),
        ("0,1 L", "100 mL (97 g)", "3.38 fl oz (100 mL)"),
        ("7.5 mL", "7.5 mL (7.2 g)", "0.25 fl oz (7.5 mL)"),
        ("80 g", "80 g (82 mL)", "Net Wt 2.82 oz (80 g)"),
    ],
)
def test_what_is_typed_is_what_is_promised(typed: str, eu: str, us: str) -> None:
    # density 0.97 g/mL; 1 fl oz = 29.5735 mL, 1 oz = 28.3495 g
    content = read_content(typed, 0.97)
    assert content.text("eu") == eu
    assert content.text("us") == us


@given(st.floats(0.5, 50_000), st.floats(0.5, 2), st.booleans())
def test_no_figure_is_above_what_is_there_nor_far_below(amount: float, density: float, by_weight: bool) -> None:
    content = read_content(f"{all_digits(amount)} {'g' if by_weight else 'mL'}", density)
    hair = 1 + 1e-11
    assert content.millilitres * 0.9 <= float(rounded_down(content.millilitres)) <= content.millilitres * hair
    assert content.grams * 0.9 <= float(rounded_down(content.grams)) <= content.grams * hair
    stated = content.grams / OUNCE if by_weight else content.millilitres / FLUID_OUNCE
    assert float(content.customary) <= stated * hair


def test_a_typed_figure_is_not_lost_to_a_hair() -> None:
    assert rounded_down(0.29 * 100) == "29"  # 28.999999999999996 in binary
    assert rounded_down(100.0) == "100"


@pytest.mark.parametrize(
    ("typed", "error", "words"),
    [
        ("85", UnitError, r"85"),
        ("85 mm", EntryError, r"'85 mm' is not a net content\. Type a volume \(85 mL\) or a weight \(80 g\)\."),
        ("much", EntryError, "much"),
        ("0 mL", RangeError, r"A net content of 0 g is not possible\. Give what one pack holds, such as 85 mL\."),
        ("-5 mL", RangeError, "is not possible"),
        ("0.004 mL", RangeError, r"A net content of 0.00388 g is not possible"),
    ],
)
def test_what_is_no_content_is_told(typed: str, error: type[Exception], words: str) -> None:
    with pytest.raises((error, EntryError), match=words):
        read_content(typed, 0.97)


def test_a_content_needs_a_density() -> None:
    with pytest.raises(RangeError, match=r"The density of the product is not known yet\. Complete the formula first"):
        read_content("85 mL", 0)


@pytest.mark.parametrize(
    ("millilitres", "density", "small"), [(4.9, 1.2, True), (5, 1.0, False), (5, 0.9, True), (100, 1, False)]
)
def test_a_pack_below_5_g_or_5_ml_is_small(millilitres: float, density: float, small: bool) -> None:
    assert content_of_volume(millilitres, density).is_small is small


def test_a_pint_and_a_pound_are_larger_units() -> None:
    assert not NetContent(450, 473, "volume").has_larger_unit
    assert NetContent(450, 474, "volume").has_larger_unit
    assert not NetContent(453, 500, "weight").has_larger_unit
    assert NetContent(454, 470, "weight").has_larger_unit
