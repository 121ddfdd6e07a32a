"""The weighing panel on its bench, without a browser."""

from __future__ import annotations

import re

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
from tests.widgets.hands import said


@pytest.fixture
def panel() -> WeighingPanel:
    return WeighingPanel(Bench(demo()))


def offers(panel: WeighingPanel) -> list[str]:
    return re.findall("<li>(.*?)</li>", panel.premixes.value)


def use(panel: WeighingPanel, number: int) -> None:
    panel.premix.type(premix=panel.premix.fields[0]["options"][number])
    panel.premix.press("use")


def bars(panel: WeighingPanel) -> list[float]:
    return list(present(panel.figure).data[1].x)


def test_it_shows_the_bench(panel: WeighingPanel) -> None:
    assert (panel.mass["mass"], panel.mass.texts["mass"]) == (250, "250")
    assert (panel.form.texts["readability"], panel.form.texts["capacity"]) == ("0.01", "500")
    assert (panel.form.texts["repeatability"], panel.form.texts["linearity"], panel.form["tolerance"]) == ("", "", 1.0)
    assert "smallest sound batch 820 g" in panel.scale.value
    assert bars(panel) == pytest.approx([line.relative for line in weighing_uncertainty(weigh(demo(), "250 g")).lines])
    assert "± by propagation" in panel.table.value
    assert "± by Monte Carlo" in panel.table.value
    assert "2,000 draws" in panel.table.value
    assert len(offers(panel)) == 3


def test_the_slider_changes_the_order_and_the_bars_grow(panel: WeighingPanel) -> None:
    before, figure = bars(panel), panel.figure
    panel.mass.type(mass="50")
    assert panel.bench.order.grams == 50
    assert panel.mass["mass"] == 50
    assert panel.figure is figure
    assert bars(panel) == pytest.approx([5 * x for x in before], rel=1e-6)
    panel.mass.type(mass="5000")
    assert panel.bench.product.batch.mass == 5000
    assert panel.mass["mass"] == 5000
    assert offers(panel) == []
    assert "No line needs a premix here" in panel.premixes.value


def test_the_slider_is_the_batch_also_with_overage_and_loss() -> None:
    bench = Bench(demo())
    bench.order = Order("bottles", bottles=4, fill=bench.fill, overage=5, loss=10)
    panel = WeighingPanel(bench)
    assert panel.mass["mass"] == pytest.approx(bench.product.batch_size.mass, abs=1e-6)
    panel.mass.type(mass="400")
    assert bench.order.by == "mass"
    assert bench.product.batch.mass == pytest.approx(400)
    assert bench.order.grams == pytest.approx(400 * 0.9 / 1.05)
    assert (bench.order.overage, bench.order.loss) == (5, 10)


def test_one_press_goes_to_the_smallest_sound_batch(panel: WeighingPanel) -> None:
    panel.mass.press("sound")
    assert panel.bench.product.batch.mass == 820
    assert panel.bench.product.batch.findings[-1:] != []  # 610 g of water are more than the balance carries
    assert "Every line keeps within 1 % from 820 g upwards on this balance." in said(panel.mass)
    assert offers(panel) == []


def test_the_balance_is_typed_and_bad_input_stays(panel: WeighingPanel) -> None:
    panel.form.type(readability="1 mg")
    panel.form.type(repeatability="0,002")
    panel.form.type(linearity="± 3 mg")
    panel.form.type(capacity="600")
    assert panel.bench.balance == Balance(0.001, 600, 0.002, 0.003)
    assert panel.form.texts["readability"] == "1 mg"
    panel.form.type(repeatability="fine")
    assert "does not start with a number" in panel.form.faults["repeatability"]
    assert panel.bench.balance == Balance(0.001, 600, 0.002, 0.003)
    panel.mass.type(mass="77")
    assert panel.form.texts["repeatability"] == "fine"
    panel.form.type(repeatability="700")
    assert "cannot belong to a balance that carries 600 g" in said(panel.form)
    panel.form.type(repeatability="", linearity="")
    assert panel.bench.balance == Balance(0.001, 600)
    panel.form.type(readability=" ")
    assert "Balance reads: This is empty." in said(panel.form)
    panel.bench.balance = Balance(0.1, 2000)
    assert (panel.form.texts["readability"], panel.form.texts["capacity"]) == ("0.1", "2000")


def test_the_tolerance_moves_the_line_and_the_smallest_batch(panel: WeighingPanel) -> None:
    panel.form.type(tolerance="5")
    assert panel.bench.tolerance == 5
    assert set(present(panel.figure).data[4].x) == {5.0}
    assert "smallest sound batch 164 g" in panel.scale.value
    panel.bench.tolerance = 0.5
    assert panel.form["tolerance"] == 0.5


def test_the_arrangement_is_weighed_up(panel: WeighingPanel) -> None:
    apart = bars(panel)
    panel.way.type(arrangement="one vessel for all")
    assert bars(panel)[0] < apart[0]
    assert bars(panel)[-1] == pytest.approx(apart[-1], rel=0.01)
    assert "In one vessel each reading ends one line" in panel.findings.value
    panel.way.type(vessel="240")
    assert "the load reaches" not in panel.findings.value
    panel.way.type(vessel="300")
    assert "With Sodium PCA (and) Aqua the load reaches 501 g" in panel.findings.value
    assert "Weigh the smallest first" in panel.findings.value
    panel.way.type(order="smallest first")
    assert "Use a lighter vessel" in panel.findings.value


def test_a_premix_is_put_to_use_and_can_be_undone(panel: WeighingPanel) -> None:
    bench = panel.bench
    before = expand(bench.formula, bench.product.materials)
    assert "Tocopherol: stir 0.82 g into 0.82 g of Coco-Caprylate" in offers(panel)[1]
    use(panel, 1)
    assert bench.formula.phases[1].lines[2].material == "Tocopherol 50 % in Coco-Caprylate"
    assert expand(bench.formula, bench.product.materials) == pytest.approx(before)
    assert "is in the formula now" in said(panel.premix)
    assert len(offers(panel)) == 2
    assert present(panel.figure).layout.yaxis.ticktext[9].startswith("Tocopherol 50 %")
    bench.undo()
    assert len(offers(panel)) == 3


def test_many_draws_are_made_on_demand(panel: WeighingPanel) -> None:
    panel.way.press("many")
    assert "100,000 draws" in panel.table.value
    assert present(panel.figure).data[3].name == "by Monte Carlo, 100,000 draws"
    panel.mass.type(mass="60")
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
    assert "sound" in panel.mass.disabled
    panel.way.press("many")
    assert "cannot be weighed yet" in said(panel.way)
    panel.bench.change(good)
    assert panel.picture.layout.display == ""
    assert len(offers(panel)) == 3


def test_a_balance_too_coarse_says_so(panel: WeighingPanel) -> None:
    panel.mass.type(mass="20")
    panel.form.type(capacity="5000")
    panel.form.type(readability="100")
    assert "less than one step of the balance, 100 g" in panel.findings.value
    panel.form.type(readability="2")
    assert "nothing to a balance that reads 2 g" in panel.findings.value
    assert "No premix helps" in panel.premixes.value


def test_names_are_escaped() -> None:
    formula = set_line(demo(), 1, 3, material="<img src=x>")
    panel = WeighingPanel(Bench(formula))
    for html in (panel.findings.value, panel.table.value, *offers(panel)):
        assert "<img" not in html
    assert "&lt;img src=x&gt;" in offers(panel)[-1]


def test_the_older_rule_stands_beside_the_newer(panel: WeighingPanel) -> None:
    """Pharmacy teaching pages: a sensitivity requirement of 6 mg needs 0.6 g within 1 %; USP 41 has 820 d at 0.1 %."""
    assert "Within 1 % it weighs 0.82 g and more (USP 41)." in panel.rules.value
    panel.form.type(sensitivity="0.006")
    assert "0.82 g and more (USP 41); by its sensitivity requirement 0.6 g." in panel.rules.value
    panel.form.type(sensitivity="6 mg")
    panel.form.type(tolerance="5")
    assert "Within 5 % it weighs 0.164 g and more (USP 41); by its sensitivity requirement 0.12 g." in panel.rules.value
    panel.form.type(sensitivity="six")
    assert "six" in panel.form.faults["sensitivity"]


def test_a_trace_is_offered_two_premixes_in_a_row() -> None:
    """0.05 % of an active on a balance that reads 0.1 g."""
    lines = (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "4"), Line("Allantoin", "0.05"))
    bench = Bench(Formula("Mist", (Phase("Water", "water", lines),)))
    bench.balance = Balance(0.1, 1000)
    panel = WeighingPanel(bench)
    (words,) = [words for words in offers(panel) if words.startswith("Allantoin")]
    assert "one premix would come to 820 g, so make 2 in a row. Premix 1: stir 8.2 g of it into 73.8 g of Aqua" in words
    use(panel, offers(panel).index(words))
    assert [stock.name for stock in bench.formula.materials] == ["Allantoin 10 % in Aqua", "Allantoin 1 % in Aqua"]
    assert bench.formula.phases[0].lines[2].material == "Allantoin 1 % in Aqua"
