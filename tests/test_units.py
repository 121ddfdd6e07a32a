"""Numbers as people write them, and quantities that become plain numbers."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kit.errors import EntryError, KitError, UnitError
from kit.numbers import read_number, split_number
from kit.rounding import all_digits
from kit.units import COMMON_UNITS, magnitude, quantity, registry

if TYPE_CHECKING:
    from collections.abc import Callable


def said(reader: Callable[[str], object], text: str) -> str:
    """What came of it, or the words of the refusal; any other error escapes."""
    try:
        return repr(reader(text))
    except KitError as error:
        return str(error)


NUMBERS = st.floats(min_value=0, max_value=1e4, allow_nan=False)


@pytest.mark.parametrize("unit", COMMON_UNITS)
def test_the_bench_units_agree_with_pint(unit: str) -> None:
    base, factor = COMMON_UNITS[unit]
    name = {"mcg": "ug"}.get(unit, unit)  # pint does not know the pharmacist's word for µg
    assert float(factor) == pytest.approx(quantity(1, name).m_as(base), rel=1e-12)
    assert magnitude(f"7 {unit}", base, name="it") == pytest.approx(7 * float(factor), rel=1e-12)


def test_there_is_one_registry() -> None:
    assert registry() is registry()
    assert quantity(1, "kg").m_as("g") == 1000


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("3.5", 3.5),
        ("3,5", 3.5),
        (" 3,5 ", 3.5),
        ("1 250", 1250),
        ("1\xa0250,75", 1250.75),
        ("1\u202f250", 1250),
        ("1'250,5", 1250.5),
        ("1’250.5", 1250.5),
        ("1.250,5", 1250.5),
        ("1,250.5", 1250.5),
        ("1,234,567.8", 1234567.8),
        ("1250.125", 1250.125),
        ("0,985", 0.985),
        (",985", 0.985),
        ("1 250,125", 1250.125),
        ("1,00,000", 100000),  # groups of two, as in South Asia
        ("12,34,567.5", 1234567.5),
        ("1,234,567", 1234567),
        ("١٢٣٫٥", 123.5),
        ("١٬٢٣٤", 1234),
        ("½", 0.5),
        ("1/2", 0.5),
        ("1 ½", 1.5),
        ("1½", 1.5),
        ("2 3/4", 2.75),
        ("−2", -2),
        ("-2,5", -2.5),
        ("+4", 4),
        (".5", 0.5),
        ("5.", 5),
        ("2e-3", 0.002),
        ("2e−3", 0.002),
    ],
)
def test_numbers_are_read_as_people_write_them(text: str, number: float) -> None:
    assert read_number(text) == pytest.approx(number, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "'' is not a number. Write digits with one decimal mark, such as 3.5 or 3,5."),
        ("abc", "'abc' is not a number"),
        ("--5", "is not a number"),
        ("1 25", "'1 25' is not a number"),
        ("1,2,3", "is not a number"),
        ("nan", "is not a number"),
        ("11/2", "is not a number"),
        ("1,25.50", "mixes points and commas so that it cannot be read. Write it with one decimal mark."),
        ("1e999", "'1e999' is too large a number to compute with."),
        ("9" * 400, "is too large a number to compute with."),
    ],
)
def test_what_is_no_number_is_said_in_a_sentence(text: str, words: str) -> None:
    with pytest.raises(EntryError) as raised:
        read_number(text)
    assert words in str(raised.value)
    assert len(str(raised.value)) < 200


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_written_out_reads_back(number: float) -> None:
    assert read_number(all_digits(number)) == number
    assert read_number(all_digits(number).replace(".", ",")) == number


@given(st.integers(0, 10**15), st.sampled_from([" ", "\xa0", "\u202f", "'", "’"]), st.sampled_from([".", ","]))
def test_grouped_thousands_read_back(number: int, group: str, mark: str) -> None:
    assert read_number(f"{number:,}".replace(",", group) + f"{mark}5") == number + 0.5


@given(st.text())
@example("5 g/0")
def test_a_number_is_read_or_refused_in_words(text: str) -> None:
    for reader in (read_number, split_number, lambda t: magnitude(t, "g", name="it")):
        assert said(reader, text)


def test_a_number_and_its_unit_are_parted() -> None:
    assert split_number("12,5 g") == (12.5, "g")
    assert split_number(" 800ppm ") == (800, "ppm")
    assert split_number("3") == (3, "")
    with pytest.raises(EntryError, match="'grams' does not start with a number"):
        split_number("grams")


@pytest.mark.parametrize(
    ("value", "unit", "number"),
    [
        ("0.25 kg", "g", 250),
        ("250 g", "kg", 0.25),
        ("0,1 g", "mg", 100),
        ("3 cL", "mL", 30),
        ("1 lb", "g", 453.59237),  # international pound, exactly 0.45359237 kg (1959 agreement)
        ("1 oz", "g", 28.349523125),  # a sixteenth of it
        ("2 inch", "mm", 50.8),  # exactly 25.4 mm each
        ("950 kg/m**3", "g/mL", 0.95),
        ("950 kg/m³", "g/mL", 0.95),
        ("1 floz", "mL", 29.5735295625),  # US fluid ounce, 1/128 of 231 cubic inches
    ],
)
def test_a_quantity_becomes_a_number(value: str, unit: str, number: float) -> None:
    assert magnitude(value, unit, name="it") == pytest.approx(number, rel=1e-12)


def test_a_pint_quantity_will_do() -> None:
    assert magnitude(quantity(0.25, "kg"), "g", name="batch") == 250
    with pytest.raises(UnitError, match="batch must be an amount that can be turned into g, got 5 mm"):
        magnitude(quantity(5, "mm"), "g", name="batch")


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (250, 'batch has no unit (got 250). Write "250 g".'),
        ("250", "batch has no unit (got '250'). Write \"250 g\"."),
        (None, 'batch has no unit (got None). Write "None g".'),
        ("250 mL", "batch must be an amount that can be turned into g, got 250.0 ml."),
        ("250 dollops", "batch: the unit 'dollops' is not known. Write it in g, such as \"250 g\"."),
        ("5 g/0", "batch: the unit 'g/0' is not known"),
        ("5 (((", "batch: the unit '(((' is not known"),
        ("5 g^9^9^9^9", "batch: the unit 'g^9^9^9^9' is not known"),
        ("12 gr", "batch: 'gr' can mean two things. Write g for grams, or grain for grains."),
        ("12 Mg", "batch: 'Mg' can mean two things. Write mg for milligrams, or kg for kilograms."),
    ],
)
def test_what_is_no_mass_is_said_with_the_line_to_type(value: object, words: str) -> None:
    with pytest.raises(UnitError) as raised:
        magnitude(value, "g", name="batch")
    assert words in str(raised.value)


@given(
    st.lists(
        st.sampled_from(["g", "9", "^", "**", "/", "0", "(", "[", "'", "%", "-", "µ", " ", "kg", "."]), max_size=14
    )
)
@example(["g", "^", "9", "^", "9", "^", "9"])
def test_odd_units_neither_hang_nor_escape(parts: list[str]) -> None:
    start = time.process_time()
    assert said(lambda text: magnitude(text, "g", name="it"), "5 " + "".join(parts))
    assert time.process_time() - start < 5


@given(NUMBERS, st.sampled_from(["g", "kg", "mg"]))
def test_units_do_not_matter(number: float, unit: str) -> None:
    grams = magnitude(f"{all_digits(number)} {unit}", "g", name="it")
    assert grams == pytest.approx(quantity(number, unit).m_as("g"), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("100 ML", "mL", 100), ("100 Ml", "mL", 100), ("2 Kg", "g", 2000), ("2 KG", "g", 2000), ("5 G", "g", 5),
        ("5 gm", "g", 5), ("5 grams", "g", 5), ("5 cm3", "mL", 5), ("5 cm³", "mL", 5), ("5 cc", "mL", 5),
        ("20 C", "degC", 20), ("68 F", "degC", 20), ("20 °c", "degC", 20), ("3.38 fl oz", "mL", 99.95852992125),
        ("3.38 Fl. Oz.", "mL", 99.95852992125), ("2 LBS", "g", 907.18474), ("½ lb", "g", 226.796185),
        ("1 1/2 kg", "g", 1500), ("0,985 g", "g", 0.985), ("1,234.5 g", "g", 1234.5),
    ],
)  # fmt: skip
def test_letters_are_forgiven_where_a_bench_has_one_reading(text: str, unit: str, number: float) -> None:
    assert magnitude(text, unit, name="it") == pytest.approx(number, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("5 GL", "mL", "it: 'GL' reads as gigaliter, which no bench has. Did you mean l?"),
        ("5 pg", "g", "it: 'pg' reads as picogram, which no bench has. Did you mean µg?"),
        ("5 MPa·s", "mPa·s", "it: 'MPa·s' reads as megapascal, which no bench has. Did you mean mPa?"),
        ("1,000 g", "g", "it: '1,000 g' can mean 1000 g or 1 g. Type 1000 g for the one, 1 g for the other."),
        (
            "1.234 kg",
            "g",
            "it: '1.234 kg' can mean 1234 kg or 1.234 kg. Type 1234 kg for the one, 1.2340 kg for the other.",
        ),
        (
            "1e12 g",
            "g",
            "it: 1e+12 g is beyond what any bench has, -1000000000 to 1000000000 g. Look at the number and its",
        ),
        ("1e308 lb", "g", "is beyond what any bench has"),
        ("5 percent °F", "degC", "it must be an amount that can be turned into degC"),
    ],
)
def test_what_no_bench_has_or_can_mean_two_is_said(text: str, unit: str, words: str) -> None:
    with pytest.raises(KitError) as raised:
        magnitude(text, unit, name="it")
    assert words in str(raised.value)


def test_the_field_tells_which_reading_is_meant() -> None:
    assert magnitude("1,025 g/mL", "g/mL", name="density", low=0.3, high=5) == 1.025
    assert read_number("5.125", low=0, high=14) == 5.125
    with pytest.raises(KitError, match="15 is not possible here: it must not be below 0 and not above 14"):
        read_number("15", low=0, high=14)
