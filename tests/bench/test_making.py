"""Making a stock: what is weighed adds up, reaches its strength, and fits its vessel."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.balance import Balance
from kit.bench.dilution import make_stock
from kit.bench.making import VESSELS, from_pure, from_stronger, from_two, vessel_for
from kit.errors import RangeError
from kit.library.ingredient import Stock
from kit.rounding import all_digits

ACID = make_stock("Acid 20", "Citric Acid", 20, others={"Potassium Sorbate": 0.5}, density=1.08)


def sound(making: object) -> None:
    assert sum(p.grams for p in making.portions) == pytest.approx(making.amount, abs=1e-9)  # type: ignore[attr-defined]


@given(st.floats(0.1, 60), st.floats(70, 100), st.integers(200, 20_000))
def test_what_is_weighed_adds_up_and_reaches_the_strength(strength: float, assay: float, decigrams: int) -> None:
    stock = make_stock("S", "Citric Acid", strength)
    making = from_pure(stock, f"{all_digits(decigrams / 10)} g", assay={"Citric Acid": assay})
    sound(making)
    # each weighing is off by at most half a step of the balance
    assert making.reached == pytest.approx(strength, abs=100 * 0.0051 / making.amount * 2)


def test_the_assay_divides() -> None:
    making = from_pure(ACID, "250 g", assay={"Citric Acid": 97})
    acid, sorbate, water = making.portions
    assert (acid.material, acid.grams, acid.note) == ("Citric Acid", 51.55, "50 g pure, divided by its assay of 97 %")
    assert (sorbate.grams, water.grams) == (1.25, 197.2)
    assert making.steps[0] == "Weigh about two thirds of the Aqua into the vessel."
    assert making.steps[-1] == "Label it, close it, and write it into the stock book."


def test_an_amount_by_volume_goes_through_the_density() -> None:
    assert from_pure(ACID, "100 mL").amount == 108
    with pytest.raises(
        RangeError, match=r"S has no density, so 100 mL cannot be turned into grams\. Give the amount in g\."
    ):
        from_pure(make_stock("S", "Citric Acid", 20), "100 mL")


def test_a_liquid_may_be_measured_by_volume_too() -> None:
    glycerin = make_stock("G", "Glycerin", 50)
    first = from_pure(glycerin, "100 g", densities={"Glycerin": 1.25}).portions[0]
    assert (first.material, first.grams, first.millilitres) == ("Glycerin", 50, 40)


@given(st.floats(0.1, 19.9), st.integers(100, 5000))
def test_a_weaker_stock_thins_everything_alike(wanted: float, grams: int) -> None:
    making = from_stronger(ACID, wanted, f"{grams} g")
    sound(making)
    held = making.stock.contents
    assert held["Citric Acid"] == pytest.approx(wanted)
    assert held["Potassium Sorbate"] / held["Citric Acid"] == pytest.approx(0.5 / 20)
    assert sum(held.values()) == pytest.approx(100, abs=1e-9)


@given(st.floats(5, 20))
def test_two_stocks_by_alligation(wanted: float) -> None:
    weak = make_stock("Acid 5", "Citric Acid", 5)
    for one, other in ((ACID, weak), (weak, ACID)):
        making = from_two(one, other, wanted, "1000 g")
        sound(making)
        assert making.reached == pytest.approx(wanted, abs=0.001)
        strong = sum(p.grams for p in making.portions if p.material == "Acid 20")
        assert strong == pytest.approx(1000 * (wanted - 5) / 15, abs=0.01)


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (lambda: from_pure(ACID, "0 g"), "The amount to make must be more than 0, got 0 g"),
        (lambda: from_pure(ACID, "100 g", assay={"Citric Acid": 0}), r"Citric Acid: an assay of 0 % is not possible\."),
        (
            lambda: from_pure(ACID, "100 g", assay={"Citric Acid": 15}),
            r"no room is left for Aqua\. Take purer material",
        ),
        (lambda: from_pure(ACID, "0.001 g"), "0.001 g is less than one step of the balance, 0.01 g"),
        (lambda: from_stronger(ACID, 30, "100 g"), r"30 cannot be mixed from 20 and 0: it must lie between"),
        (lambda: from_stronger(ACID, 0, "100 g"), r"A strength of 0 % Citric Acid is not a stock"),
        (lambda: from_stronger(Stock("M", {"Aqua": 100.0}), 1, "100 g"), "M states no active"),
        (lambda: vessel_for(100, 100), r"A headspace of 100 % is not possible\."),
    ],
)
def test_what_cannot_be_made(work: object, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        work()  # type: ignore[operator]


@given(st.floats(1, 8000))
def test_the_vessel_is_the_smallest_with_room(millilitres: float) -> None:
    size = vessel_for(millilitres)
    assert size is not None
    assert millilitres <= 0.8 * size * (1 + 1e-9)
    smaller = [vessel for vessel in VESSELS if vessel < size]
    assert not smaller or millilitres > 0.8 * smaller[-1] * (1 - 1e-9)


def test_vessels() -> None:
    """A fifth of the room left empty: common practice."""
    assert (vessel_for(200), vessel_for(201), vessel_for(9000)) == (250, 400, None)
    assert (vessel_for(8), vessel_for(8.1), vessel_for(8000)) == (10, 25, 10_000)
    assert from_pure(ACID, "216 g").vessel == 250  # 200 mL at 1.08 g/mL


def test_what_is_said_before_it_is_made() -> None:
    said = " ".join(str(f) for f in from_pure(ACID, "20 g").findings)
    assert "0.1 g of Potassium Sorbate is small for a balance that reads 0.01 g" in said
    assert "Make 164 g or more, or dilute in steps." in said
    assert "It holds water: make little, keep it cold" in said
    large = " ".join(str(f) for f in from_pure(ACID, "20 kg").findings)
    assert "20000 g is more than the balance carries, 500 g." in large
    assert "more than the largest common vessel" in large
    coarse = from_pure(ACID, "9 g", balance=Balance(1, 500)).findings
    assert any("Rounded to the balance, it comes to 22.22 % w/w Citric Acid instead of" in f.sentence for f in coarse)


def test_the_label() -> None:
    stock = make_stock(
        "Acid", "Citric Acid", 20, basis="w/v", density=1.08, made_on="2026-01-12", keep_until="2026-04-12"
    )
    assert from_pure(stock, "100 g").label() == {
        "what": "Acid",
        "strength": "20 % w/v Citric Acid",
        "contents": "Aqua 81.48 %, Citric Acid 18.52 %",
        "made on": "2026-01-12",
        "keep until": "2026-04-12",
    }
