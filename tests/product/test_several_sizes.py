"""A batch for bottles of several sizes: its mass, its cost and its papers, worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from kit.__main__ import main
from kit.bench.batch_text import ByBottles, Filled, read_bottles
from kit.bench.price import PackItem, Price
from kit.bench.price_list import PriceList
from kit.bench.scaling import Order
from kit.errors import KitError
from kit.formula.files import save_formula
from kit.formula.model import Formula, Line, Phase
from kit.papers import make_paper
from kit.product.product import Product
from kit.product.workshop import Workshop, read_workshop, save_workshop
from kit.widgets.bench import Bench
from kit.widgets.cost_panel import CostPanel
from kit.widgets.scaling_panel import ScalingPanel
from tests.widgets.hands import words

if TYPE_CHECKING:
    from pathlib import Path

MIXED = ByBottles(6, 100.0, (Filled(3, 30.0), Filled(1, 250.0)))
TONER = Formula("Heather toner", (Phase("Water layer", "water", (Line("Aqua", "q.s."), Line("Glycerin", "4"))),))
PRICES = PriceList(
    "EUR", (Price("Aqua", 1, "kg", 1.0), Price("Glycerin", 1, "kg", 1.0)), (PackItem("bottle", 10, 5.0),)
)


@pytest.fixture
def product() -> Product:
    return replace(Product(TONER), prices=PRICES).with_batch(MIXED)


@pytest.mark.parametrize(
    "text",
    ["6 x 100 mL + 3 x 30 mL + 1 x 250 mL", "6×100mL+3 bottles of 30 mL + 1 * 0.25 L", "6 x 10 cL, 3x30ml, 1x0,25L"],
)
def test_sizes_are_read_as_they_are_said_and_written_to_be_read_again(text: str) -> None:
    assert read_bottles(text) == MIXED == read_bottles(str(MIXED))


@pytest.mark.parametrize(
    ("text", "words"),
    [("6 x 100 mL + 30 mL", "'30 mL' says no bottles. Write how many of what, such as 3 x 30 mL."),
     ("6 x 100 mL + 0 x 30 mL", "is no bottle"), ("6 x 100 mL +", "says no bottles"), ("6 x 100 mL + 3 x 30 g", "mL")],
)  # fmt: skip
def test_what_is_no_size_is_told(text: str, words: str) -> None:
    with pytest.raises(KitError, match=words):
        read_bottles(text)


def test_the_batch_fills_all_of_them(product: Product) -> None:
    # 6 x 100 + 3 x 30 + 250 = 940 mL; at 0.95 g/mL 893 g, and with 5 % overage and 10 % loss 893 x 1.05 / 0.9.
    size = Order(by="bottles", bottles=6, fill=100.0, besides=MIXED.besides, overage=5, loss=10).size(0.95)
    assert size.product == pytest.approx(893)
    assert size.mass == pytest.approx(1041.8333, rel=1e-6)
    assert product.bottles == 10
    assert product.batch.mass == pytest.approx(940 * product.density, rel=1e-4)


def test_each_size_bears_its_share_of_the_contents_and_its_own_bottle(product: Product) -> None:
    # Everything costs 1 EUR a kg, and the density is d: a bottle of v mL costs v d / 1000, and 0.50 EUR for itself.
    sheet = product.cost
    by_hand = {fill: fill * product.density / 1000 + 0.5 for fill in (100.0, 30.0, 250.0)}
    assert {size.fill: each for size, each in sheet.per_size} == pytest.approx(by_hand, rel=1e-6)
    assert sum(size.count * each for size, each in sheet.per_size) == pytest.approx(sheet.total, rel=1e-9)
    assert sheet.per_bottle is None
    assert any("counted alike for bottles of every size" in one.sentence for one in sheet.findings)
    alike = product.with_batch(ByBottles(6, 100.0)).cost
    assert alike.per_size == []
    assert alike.per_bottle == pytest.approx(by_hand[100.0], rel=1e-6)


def test_papers_and_panels_name_every_size(product: Product) -> None:
    sheet = " ".join(make_paper("batch_sheet", product).html.split())
    assert "g of product for 6 x 100 mL + 3 x 30 mL + 1 x 250 mL, overage" in sheet
    each = product.density
    for fill in (100, 30, 250):
        assert f"{fill * each:.1f} ({fill} mL)" in sheet
    told = [one.sentence for one in product.label.findings]
    assert any("other sizes too (3 x 30 mL + 1 x 250 mL), and each size needs a label" in one for one in told)
    assert "A bottle, of 3 x 30 mL" in make_paper("cost_sheet", product).html
    bench = Bench(TONER)
    bench.prices = PRICES
    panel = ScalingPanel(bench)
    panel.form.type(grams="6 x 100 mL + 3 x 30 mL")
    assert bench.order.by_bottles == ByBottles(6, 100.0, (Filled(3, 30.0),))
    assert ", and 3 x 30 mL; " in words(panel.table)
    panel.form.type(besides="3 x 30 mL; 2 x 250 mL")
    assert ", and 3 x 30 mL, and 2 x 250 mL; " in words(panel.table)
    assert "for each of 2 of 250 mL" in words(CostPanel(bench).answer)
    panel.form.type(besides="30 mL")
    assert "'30 mL' says no bottles" in panel.form.faults["besides"]
    panel.form.type(besides="")
    assert bench.order.besides == ()


def test_the_workshop_and_a_command_know_them(
    tmp_path: Path, product: Product, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    save_workshop(Workshop.of(product), tmp_path / "workshop.toml")
    assert read_workshop(tmp_path / "workshop.toml").batch == MIXED
    save_formula(TONER, tmp_path / "toner.toml")
    for said in (
        ["--batch", "6 x 100 mL + 3 x 30 mL"],
        ["--bottles", "6", "--fill", "100 mL", "--besides", "3 x 30 mL"],
    ):
        assert main(["sheet", "toner.toml", "--out", "sheet.html", *said]) == 0
        assert "for 6 x 100 mL + 3 x 30 mL" in (tmp_path / "sheet.html").read_text("utf-8")
