"""The weighing panel on its bench, without a browser."""

from __future__ import annotations

import pytest

from kit.bench.balance import Balance
from kit.bench.scaling import Order
from kit.bench.uncertainty import weighing_uncertainty
from kit.bench.weighing import weigh
from kit.demos import demo
from kit.formula.editing import set_line
from kit.formula.expansion import expand
from kit.formula.model import Formula, Line, Phase
from kit.widgets.bench import Bench
from kit.widgets.weighing_panel import WeighingPanel
from tests.present import present


@pytest.fixture
def panel() -> WeighingPanel:
    return WeighingPanel(Bench(demo()))


def offers(panel: WeighingPanel) -> list[str]:
    return [one.words.value for one in panel.premixes.children if one.layout.display != "none"]


def bars(panel: WeighingPanel) -> list[float]:
    return list(present(panel.figure).data[1].x)


def test_it_shows_the_bench(panel: WeighingPanel) -> None:
    assert (panel.mass.value, panel.mass_box.value) == (250, 250)
    assert (panel.readability.value, panel.capacity.value) == ("0.01", "500")
    assert (panel.repeatability.value, panel.linearity.value, panel.tolerance.value) == ("", "", 1.0)
    assert "smallest sound batch 820 g" in panel.scale.value
    assert bars(panel) == pytest.approx([line.relative for line in weighing_uncertainty(weigh(demo(), "250 g")).lines])
    assert "± by propagation" in panel.table.value
    assert "± by Monte Carlo" in panel.table.value
    assert "2,000 draws" in panel.table.value
    assert len(offers(panel)) == 3


def test_the_slider_changes_the_order_and_the_bars_grow(panel: WeighingPanel) -> None:
    before, figure = bars(panel), panel.figure
    panel.mass.value = 50
    assert panel.bench.order.grams == 50
    assert panel.mass_box.value == 50
    assert panel.figure is figure
    assert bars(panel) == pytest.approx([5 * x for x in before], rel=1e-6)
    panel.mass_box.value = 5000
    assert panel.bench.product.batch.mass == 5000
    assert panel.mass.value == 2000
    assert offers(panel) == []
    assert "No line needs a premix here" in panel.premix_head.value


def test_the_slider_is_the_batch_also_with_overage_and_loss() -> None:
    bench = Bench(demo())
    bench.order = Order("bottles", bottles=4, fill=bench.fill, overage=5, loss=10)
    panel = WeighingPanel(bench)
    assert panel.mass_box.value == pytest.approx(bench.product.batch_size.mass, abs=1e-6)
    panel.mass.value = 400
    assert bench.order.by == "mass"
    assert bench.product.batch.mass == pytest.approx(400)
    assert bench.order.grams == pytest.approx(400 * 0.9 / 1.05)
    assert (bench.order.overage, bench.order.loss) == (5, 10)


def test_one_press_goes_to_the_smallest_sound_batch(panel: WeighingPanel) -> None:
    panel.sound.click()
    assert panel.bench.product.batch.mass == 820
    assert panel.bench.product.batch.findings[-1:] != []  # 610 g of water are more than the balance carries
    assert "Every line keeps within 1 % from 820 g upwards on this balance." in panel.message.value
    assert offers(panel) == []


def test_the_balance_is_typed_and_bad_input_stays(panel: WeighingPanel) -> None:
    panel.readability.value = "1 mg"
    panel.repeatability.value = "0,002"
    panel.linearity.value = "± 3 mg"
    panel.capacity.value = "600"
    assert panel.bench.balance == Balance(0.001, 600, 0.002, 0.003)
    assert panel.readability.value == "1 mg"
    panel.repeatability.value = "fine"
    assert "does not start with a number" in panel.message.value
    assert panel.bench.balance == Balance(0.001, 600, 0.002, 0.003)
    panel.mass.value = 77
    assert panel.repeatability.value == "fine"
    panel.repeatability.value = "700"
    assert "cannot belong to a balance that carries 600 g" in panel.message.value
    panel.repeatability.value = panel.linearity.value = ""
    assert panel.bench.balance == Balance(0.001, 600)
    panel.readability.value = " "
    assert "needs its readability" in panel.message.value
    panel.bench.balance = Balance(0.1, 2000)
    assert (panel.readability.value, panel.capacity.value) == ("0.1", "2000")


def test_the_tolerance_moves_the_line_and_the_smallest_batch(panel: WeighingPanel) -> None:
    panel.tolerance.value = 5
    assert panel.bench.tolerance == 5
    assert set(present(panel.figure).data[4].x) == {5.0}
    assert "smallest sound batch 164 g" in panel.scale.value
    panel.bench.tolerance = 0.5
    assert panel.tolerance.value == 0.5


def test_the_arrangement_is_weighed_up(panel: WeighingPanel) -> None:
    apart = bars(panel)
    panel.arrangement.value = "one vessel"
    assert bars(panel)[0] < apart[0]
    assert bars(panel)[-1] == pytest.approx(apart[-1], rel=0.01)
    assert "In one vessel each reading ends one line" in panel.findings.value
    panel.vessel.value = 240
    assert "the load reaches" not in panel.findings.value
    panel.vessel.value = 300
    assert "With Sodium PCA (and) Aqua the load reaches 501 g" in panel.findings.value
    assert "Weigh the smallest first" in panel.findings.value
    panel.order.value = "smallest first"
    assert "Use a lighter vessel" in panel.findings.value


def test_a_premix_is_put_to_use_and_can_be_undone(panel: WeighingPanel) -> None:
    bench = panel.bench
    before = expand(bench.formula, bench.product.materials)
    assert "Tocopherol: stir 0.82 g into 0.82 g of Coco-Caprylate" in offers(panel)[1]
    panel.premixes.children[1].use.click()
    assert bench.formula.phases[1].lines[2].material == "Tocopherol 50 % in Coco-Caprylate"
    assert expand(bench.formula, bench.product.materials) == pytest.approx(before)
    assert "is in the formula now" in panel.message.value
    assert len(offers(panel)) == 2
    assert present(panel.figure).layout.yaxis.ticktext[9].startswith("Tocopherol 50 %")
    bench.undo()
    assert len(offers(panel)) == 3


def test_many_draws_are_made_on_demand(panel: WeighingPanel) -> None:
    panel.many.click()
    assert "100,000 draws" in panel.table.value
    assert present(panel.figure).data[3].name == "by Monte Carlo, 100,000 draws"
    panel.mass.value = 60
    assert "2,000 draws" in panel.table.value


def test_a_line_more_redraws_the_names(panel: WeighingPanel) -> None:
    short = Formula("Short", (Phase("W", "water", (Line("Aqua", "q.s."), Line("Glycerin", "3"))),))
    panel.bench.change(short)
    assert list(present(panel.figure).layout.yaxis.ticktext) == ["Aqua", "Glycerin"]
    assert len(bars(panel)) == 2
    assert present(panel.figure).layout.height == 200


def test_what_cannot_be_weighed_says_why_and_comes_back(panel: WeighingPanel) -> None:
    good = panel.bench.formula
    panel.bench.change(set_line(good, 0, 1, entry="lots"))
    assert "cannot be weighed yet: Glycerin" in panel.findings.value
    assert (panel.scale.value, panel.table.value, offers(panel)) == ("", "", [])
    assert panel.picture.layout.display == "none"
    panel.sound.click()
    assert "cannot be weighed yet" in panel.message.value
    panel.many.click()
    assert "cannot be weighed yet" in panel.message.value
    panel.bench.change(good)
    assert panel.picture.layout.display == ""
    assert len(offers(panel)) == 3


def test_a_balance_too_coarse_says_so(panel: WeighingPanel) -> None:
    panel.mass.value = 20
    panel.capacity.value = "5000"
    panel.readability.value = "100"
    assert "less than one step of the balance, 100 g" in panel.findings.value
    panel.readability.value = "2"
    assert "is nothing to a balance that reads 2 g" in panel.findings.value
    assert "No premix helps" in panel.premix_head.value


def test_names_are_escaped() -> None:
    formula = set_line(demo(), 1, 3, material="<img src=x>")
    panel = WeighingPanel(Bench(formula))
    for html in (panel.findings.value, panel.table.value, *offers(panel)):
        assert "<img" not in html
    assert "&lt;img src=x&gt;" in offers(panel)[-1]


def test_the_older_rule_stands_beside_the_newer(panel: WeighingPanel) -> None:
    """Pharmacy teaching pages: a sensitivity requirement of 6 mg needs 0.6 g within 1 %; USP 41 has 820 d at 0.1 %."""
    assert "Within 1 % it weighs 0.82 g and more (USP 41)." in panel.rules.value
    panel.sensitivity.value = "0.006"
    assert "0.82 g and more (USP 41); by its sensitivity requirement 0.6 g." in panel.rules.value
    panel.sensitivity.value = "6 mg"
    panel.tolerance.value = 5
    assert "Within 5 % it weighs 0.164 g and more (USP 41); by its sensitivity requirement 0.12 g." in panel.rules.value
    panel.sensitivity.value = "six"
    assert "sw-problem" in panel.rules.value or "six" in panel.rules.value


def test_a_trace_is_offered_two_premixes_in_a_row() -> None:
    """0.05 % of an active on a balance that reads 0.1 g."""
    lines = (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "4"), Line("Allantoin", "0.05"))
    bench = Bench(Formula("Mist", (Phase("Water", "water", lines),)))
    bench.balance = Balance(0.1, 1000)
    panel = WeighingPanel(bench)
    (words,) = [words for words in offers(panel) if words.startswith("Allantoin")]
    assert "one premix would come to 820 g, so make 2 in a row. Premix 1: stir 8.2 g of it into 73.8 g of Aqua" in words
    offer = next(one for one in panel.premixes.children if one.words.value == words)
    offer.use.click()
    assert [stock.name for stock in bench.formula.materials] == ["Allantoin 10 % in Aqua", "Allantoin 1 % in Aqua"]
    assert bench.formula.phases[0].lines[2].material == "Allantoin 1 % in Aqua"
