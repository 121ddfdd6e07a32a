"""Several balances at hand: which line goes to which, what is then weighed, and how well the percents are known."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.__main__ import main
from kit.bench.balance import Balance, MoreBalances
from kit.bench.making import from_pure
from kit.bench.order import arrangement_findings, chains, weighing_steps
from kit.bench.premix import proposals
from kit.bench.uncertainty import draw_masses, weighing_uncertainty
from kit.bench.weighing import smallest_sound_batch, weigh
from kit.errors import KitError, RangeError
from kit.formula.files import save_formula
from kit.formula.model import Formula, Line, Phase
from kit.library.ingredient import Stock
from kit.product.product import Product
from kit.product.workshop import Workshop, read_workshop, save_workshop
from kit.widgets.bench import Bench
from kit.widgets.scaling_panel import ScalingPanel
from kit.widgets.weighing_panel import WeighingPanel
from tests.widgets.hands import rows, words

if TYPE_CHECKING:
    from pathlib import Path

#: A kitchen scale, and beside it a letter balance, a pocket one, and one of a laboratory.
KITCHEN = Balance(1.0, 5000.0)
LETTER, POCKET, FINE = Balance(0.1, 600.0), Balance(0.01, 200.0), Balance(0.001, 50.0)
FOUR = Balance(1.0, 5000.0, others=(POCKET, FINE, LETTER))
LOTION = Formula(
    "Estuary lotion",
    (
        Phase("Water layer", "water", (
            Line("Aqua", "q.s."), Line("Glycerin", "4"), Line("Xanthan Gum", "0.3"), Line("Disodium EDTA", "0.05"),
        )),
        Phase("Oil layer", "oil", (Line("Squalane", "18"), Line("Tocopherol", "0.2"))),
    ),
)  # fmt: skip


def test_each_line_goes_to_the_coarsest_balance_that_keeps_the_tolerance() -> None:
    # USP 41: the least weight is 2 x 0.41 d / tolerance, 0.82 g for every 0.01 g of d at 1 %: 82 g on the kitchen
    # scale, 8.2 g on the letter balance, 0.82 g on the pocket one, 0.082 g on the fine one.
    found = {w.material: w for w in weigh(LOTION, "1000 g", FOUR).weighings}
    assert {name: w.balance.readability for name, w in found.items()} == {
        "Aqua": 1.0, "Squalane": 1.0, "Glycerin": 0.1, "Xanthan Gum": 0.01, "Tocopherol": 0.01, "Disodium EDTA": 0.001,
    }  # fmt: skip
    assert {name: w.text for name, w in found.items()} == {
        "Aqua": "774", "Squalane": "180", "Glycerin": "40.0", "Xanthan Gum": "3.00", "Tocopherol": "2.00",
        "Disodium EDTA": "0.500",
    }  # fmt: skip
    # 1000 x 77.45 % is 774.5 g of water, and the kitchen scale shows 774 or 775: the batch is what is weighed.
    assert weigh(LOTION, "1000 g", FOUR).mass == pytest.approx(999.5)


@pytest.mark.parametrize(
    ("grams", "step"),
    [(82.0, 1.0), (81.9, 0.1), (8.2, 0.1), (8.19, 0.01), (0.82, 0.01), (0.819, 0.001), (0.001, 0.001), (5001, 1.0)],
)
def test_at_its_least_weight_a_balance_is_still_good_enough(grams: float, step: float) -> None:
    assert FOUR.suited([grams], 1).readability == step


def test_what_the_first_cannot_carry_goes_to_a_stronger_one() -> None:
    pocket = Balance(0.01, 200.0, others=(KITCHEN,))
    assert pocket.suited([150], 1).readability == 0.01
    assert pocket.suited([201], 1).readability == 1.0
    assert pocket.suited([150, 201], 1).readability == 1.0
    assert pocket.suited([0.5, 201], 1).readability == 1.0  # none keeps both: the one that carries them
    assert pocket.suited([6000], 1).readability == 1.0
    assert pocket.suited([0.0], 1) == pocket.suited([], 1) == POCKET
    assert any(
        "more than the balance carries, 200 g" in one.sentence for one in weigh(LOTION, "400 g", POCKET).findings
    )
    heavy = weigh(LOTION, "400 g", pocket)
    assert not any("carries" in one.sentence for one in heavy.findings)
    assert heavy.weighings[0].balance == KITCHEN


@given(
    st.floats(20, 5000),
    st.lists(st.sampled_from([LETTER, POCKET, FINE, Balance(0.5, 3000.0)]), unique=True, max_size=4),
    st.sampled_from([0.5, 1.0, 5.0]),
)
def test_every_line_is_whole_steps_of_a_balance_that_suits_it(
    mass: float, others: list[Balance], tolerance: float
) -> None:
    grams = f"{mass:.4f} g"
    batch = weigh(LOTION, grams, Balance(1.0, 5000.0, others=tuple(others)), tolerance)
    at_hand = [KITCHEN, *others]
    for w in batch.weighings:
        assert w.balance in at_hand
        steps = w.grams / w.balance.readability
        assert steps == pytest.approx(round(steps), abs=1e-6)
        if batch.apart:  # alone, the largest line takes what the others lack
            assert abs(w.grams - w.target) <= w.balance.readability / 2 * (1 + 1e-9)
        good = [one for one in at_hand if one.capacity >= w.target >= one.least_weight(tolerance) * (1 + 1e-6)]
        if good:
            assert w not in batch.small
            assert w.target >= w.balance.least_weight(tolerance) * (1 - 1e-6)
    assert batch.mass == pytest.approx(sum(w.grams for w in batch.weighings), abs=1e-9)
    assert {w.material for w in batch.small} <= {w.material for w in weigh(LOTION, grams, KITCHEN, tolerance).small}


def test_one_balance_alone_weighs_as_before() -> None:
    one = weigh(LOTION, "250 g", POCKET)
    assert not one.apart
    assert one.mass == 250
    assert [w.balance for w in one.weighings] == [POCKET] * 6
    assert "balance reads g" not in one.table()
    assert list(weigh(LOTION, "1000 g", FOUR).table()["balance reads g"]) == [1, 0.1, 0.01, 0.001, 1, 0.01]


def test_the_percents_are_known_as_well_as_each_balance_allows() -> None:
    # Two lines, m1 on the kitchen scale and m2 on the pocket one, each by difference of two readings of d/sqrt(12):
    # x2 = 100 m2 / M, so u(x2)² = (100/M)² ((1 - m2/M)² 2 u2² + (m2/M)² 2 u1²), and the same with 1 and 2 exchanged.
    toner = Formula("Toner", (Phase("Water layer", "water", (Line("Aqua", "q.s."), Line("Urea", "2"))),))
    batch = weigh(toner, "400 g", Balance(1.0, 5000.0, others=(POCKET,)))
    (m1, m2), mass = (w.grams for w in batch.weighings), batch.mass
    assert (m1, m2) == (392, 8)
    u1, u2 = 1.0 / sqrt(12), 0.01 / sqrt(12)
    by_hand = 100 / mass * sqrt((1 - m2 / mass) ** 2 * 2 * u2**2 + (m2 / mass) ** 2 * 2 * u1**2)
    result = weighing_uncertainty(batch)
    assert result.lines[1].standard == pytest.approx(by_hand, rel=1e-9)
    assert result.lines[0].standard == pytest.approx(by_hand, rel=1e-9)  # of two parts one is 100 less the other
    assert result.mass_standard == pytest.approx(sqrt(2 * u1**2 + 2 * u2**2), rel=1e-9)
    drawn = draw_masses(batch, np.random.default_rng(3), 200_000)
    assert drawn[1].std() == pytest.approx(sqrt(2) * u2, rel=0.01)
    assert (100 * drawn[1] / drawn.sum(axis=0)).std() == pytest.approx(by_hand, rel=0.01)


def test_what_goes_to_another_balance_has_a_dish_of_its_own_there() -> None:
    batch = weigh(LOTION, "1000 g", FOUR)
    assert chains(batch, "one vessel") == ((0, 4), (1,), (2,), (3,), (5,))
    assert chains(batch, "vessel per phase") == ((0,), (4,), (1,), (2,), (3,), (5,))
    steps = {step.weighing.material: step for step in weighing_steps(batch, "one vessel", vessel="30 g")}
    assert (steps["Squalane"].before, steps["Squalane"].after) == (774, 954)
    assert (steps["Disodium EDTA"].before, steps["Disodium EDTA"].after) == (0, 0.5)
    heavy = arrangement_findings(batch, "one vessel", vessel="60 g")
    assert any("With Disodium EDTA the load reaches 60.5 g" in one.sentence for one in heavy)


def test_premixes_stocks_and_sound_batches_know_the_finest() -> None:
    assert len(weigh(LOTION, "100 g", KITCHEN).small) == 6
    small = weigh(LOTION, "100 g", FOUR)
    assert [w.material for w in small.small] == ["Disodium EDTA"]  # 0.05 g, below 0.082 g
    (premix,) = proposals(small).premixes
    assert premix.active == "Disodium EDTA"
    assert premix.amounts.active == pytest.approx(0.082)
    assert "is small for a balance that reads 0.001 g: below 0.082 g" in small.findings[0].sentence
    # 0.082 g is 0.05 % of 164 g.
    assert smallest_sound_batch(LOTION, FOUR) == 164
    stock = Stock("Acid", {"Citric Acid": 10.0, "Aqua": 90.0}, active="Citric Acid")
    assert from_pure(stock, "20 g", balance=FOUR).balance == POCKET  # 2 g and 18 g: the letter balance asks for 8.2 g


@pytest.mark.parametrize(
    "text",
    ["0.001 g up to 50 g; 0.1 g up to 600 g", "1 mg / 50 g + 0,1 g / 0.6 kg", "0.001g carries 50g\n0.1 g to 600 g"],
)
def test_balances_are_read_as_they_are_said(text: str) -> None:
    assert MoreBalances().read(text) == (FINE, LETTER) == MoreBalances().read(MoreBalances().write((FINE, LETTER)))


@pytest.mark.parametrize(
    ("text", "said"),
    [("0.001 g", "must say what the balance reads and carries"), ("50 g up to 0.001 g", "must lie between 0 and"),
     ("0.001 up to 50 g", "no unit"), ("fine up to strong", "fine")],
)  # fmt: skip
def test_what_is_no_balance_is_told(text: str, said: str) -> None:
    with pytest.raises(KitError, match=said):
        MoreBalances().read(text)
    with pytest.raises(RangeError, match="name all of them beside the first"):
        Balance(others=(FOUR,))


def test_panels_papers_and_the_workshop_know_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    bench = Bench(LOTION)
    panel = ScalingPanel(bench)
    panel.form.type(grams="1000", readability="1", capacity="5000")
    assert "are small for a balance that reads 1 g" in " ".join(f.sentence for f in bench.product.weighing_findings)
    panel.form.type(others="0.01 g up to 200 g; 0.001 g up to 50 g; 0.1 g up to 600 g")
    assert bench.balance == FOUR
    assert bench.product.weighing_findings == []
    assert [row[-1] for row in rows(panel.table)] == ["1", "0.1", "0.01", "0.001", "1", "0.01"]
    assert "from 164 g upwards on these balances" in words(panel.findings)
    assert "the one that reads 0.001 g weighs 0.082 g and more" in words(WeighingPanel(bench).rules)
    save_workshop(Workshop.of(bench.product), tmp_path / "workshop.toml")
    assert read_workshop(tmp_path / "workshop.toml").put_into(Product(LOTION)).balance == FOUR
    save_formula(LOTION, tmp_path / "lotion.toml")
    assert main(["sheet", "lotion.toml", "--out", "sheet.html", "--batch", "1000 g"]) == 0
    sheet = (tmp_path / "sheet.html").read_text("utf-8")
    assert "0.500<br><small>reads 0.001 g</small>" in sheet
    assert "Each line on the balance whose step stands beside it" in sheet
    for known in ("reads 1 g, carries 5000 g", "reads 0.1 g, carries 600 g", "reads 0.001 g, carries 50 g"):
        assert known in sheet
    assert "On balances that read 1, 0.01, 0.001 and 0.1 g, every" in _card(tmp_path)


def _card(folder: Path) -> str:
    assert main(["card", "lotion.toml", "--out", "card.html"]) == 0
    return " ".join((folder / "card.html").read_text("utf-8").split())
