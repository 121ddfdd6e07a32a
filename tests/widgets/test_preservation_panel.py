"""The panel of estimated levels, without a browser: what is typed, what is shown, what is said."""

from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING

import pytest

import kit
from kit.formula.model import Formula, Line, Phase
from kit.layers.preservation import preservative_levels

if TYPE_CHECKING:
    from kit.widgets.preservation_panel import PreservationPanel


def plain(html: str) -> str:
    """The words of some HTML."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def cells(html: str) -> list[list[str]]:
    """The body of a table, row by row."""
    body = re.search(r"<tbody>(.*)</tbody>", html, re.S)
    rows = re.findall(r"<tr.*?>(.*?)</tr>", body[1], re.S) if body else []
    return [[unescape(cell) for cell in re.findall(r"<t[hd].*?>(.*?)</t[hd]>", row, re.S)] for row in rows]


def simple_product(*lines: tuple[str, str, str]) -> Formula:
    kinds = dict.fromkeys(kind for kind, _, _ in lines)
    return Formula(
        "A made-up shake",
        tuple(
            Phase(kind, kind, tuple(Line(name, x) for k, name, x in lines if k == kind))  # type: ignore[arg-type]
            for kind in kinds
        ),
    )


@pytest.fixture
def bench() -> kit.Bench:
    return kit.Bench(kit.demo())


@pytest.fixture
def panel(bench: kit.Bench) -> PreservationPanel:
    return kit.PreservationPanel(bench)


def test_a_row_for_each_preservative_and_a_table_three_ways(panel: PreservationPanel) -> None:
    assert list(panel.rows) == ["Benzoic Acid", "Sorbic Acid"]
    assert [one.words for one in panel.asked.children[1].inputs.values()] == [
        "Sorbic Acid: K in this oil",
        "Least level",
        "Counted as",
    ]
    rows = cells(panel.table.value)
    assert len(rows) == 8
    assert rows[0] == [
        "Benzoic Acid",
        "0.339",
        "0.02,\u00a0guess",
        "0.399",
        "0.397",
        "not counted",
        "not counted",
    ]
    assert rows[1][0] == "from Sodium Benzoate"
    assert "ideal volumes" in panel.table.value
    assert "(ISO 11930)" in panel.findings.value
    assert "because no pH was given" in panel.findings.value
    assert panel.message.value == panel.reached.value == ""


def test_the_table_shows_what_the_room_computes(panel: PreservationPanel, bench: kit.Bench) -> None:
    panel.form.type(ph="4,6")
    panel.rows["Benzoic Acid"].type(k="5")
    panel.rows["Sorbic Acid"].type(k="3")
    levels = preservative_levels(
        bench.formula, bench.product.materials, None, 4.6, {"Benzoic Acid": 5, "Sorbic Acid": 3}
    )
    for row, level in zip(cells(panel.table.value), levels, strict=True):
        assert row[2].endswith("your K")
        assert float(row[5]) == pytest.approx(level.percent("whole"), rel=0.005)
        assert float(row[6]) == pytest.approx(level.percent("undissociated"), rel=0.005)
    panel.form.type(basis="w/v")
    assert float(cells(panel.table.value)[0][5]) == pytest.approx(levels[0].in_volume("whole"), rel=0.005)
    assert "in % w/v of the water layer" in panel.table.value


def test_the_picture_names_every_curve_and_follows_the_choice(panel: PreservationPanel) -> None:
    assert "Estimated level of Benzoic Acid" in panel.picture.value
    panel.form.type(ph="4.6")
    assert "Estimated level of the undissociated part of Benzoic Acid at pH 4.6" in panel.picture.value
    for name in (
        "none of it in the oil",
        "K 0.02",
        "K 1",
        "K 10",
        "K 280",
        "now 15.0 %",
        "window of ratios, 10.0 to 31.5 %",
    ):
        assert f">{name}<" in panel.picture.value
    panel.form.type(shown="Sorbic Acid")
    panel.rows["Sorbic Acid"].type(k="3")
    assert "undissociated part of Sorbic Acid" in panel.picture.value
    assert ">K 3, your K<" in panel.picture.value
    assert ">K 10<" not in panel.picture.value
    panel.rows["Sorbic Acid"].type(counted="whole")
    assert "Estimated level of Sorbic Acid at pH 4.6" in panel.picture.value


def test_the_picture_reaches_somewhat_beyond_the_window_and_what_is_in_hand(
    panel: PreservationPanel, bench: kit.Bench
) -> None:
    def last_tick() -> float:
        return max(float(x) for x in re.findall(r'text-anchor="middle"[^>]*>(\d+)<', panel.picture.value))

    assert last_tick() == 60
    bench.move_oil(70)
    assert last_tick() == 80


def test_a_least_level_gives_its_ratio_and_a_line(panel: PreservationPanel) -> None:
    panel.form.type(ph="4.6")
    panel.rows["Benzoic Acid"].type(least="0,08 %")
    rows = cells(panel.reached.value)
    assert [row[0] for row in rows] == ["undissociated Benzoic Acid, at least 0.08 %"] * 4
    assert [row[3:] for row in rows] == [
        ["at every ratio", "—"],
        ["at every ratio", "—"],
        ["below", "9.58"],
        ["below", "0.25"],
    ]
    assert "your least level, 0.08 %" in panel.picture.value
    panel.rows["Benzoic Acid"].type(least="9")
    assert {row[3] for row in cells(panel.reached.value)} == {"at no ratio"}
    panel.rows["Benzoic Acid"].type(least="")
    assert panel.reached.value == ""


def test_moving_the_ratio_moves_the_levels_and_what_was_typed_stays(panel: PreservationPanel, bench: kit.Bench) -> None:
    panel.form.type(ph="4.6")
    panel.rows["Benzoic Acid"].type(k="5")
    before = cells(panel.table.value)[0]
    bench.move_oil(25)
    after = cells(panel.table.value)[0]
    assert float(after[3]) > float(before[3])
    assert "now 25.0 %" in panel.picture.value
    assert panel.rows["Benzoic Acid"].texts["k"] == "5"
    bench.undo()
    assert cells(panel.table.value)[0] == before


@pytest.mark.parametrize(
    ("control", "text", "words"),
    [
        ("ph", "15", "A pH of 15 cannot be: it lies between 0 and 14"),
        ("ph", "sour", "'sour' is not a number"),
        (
            "k",
            "0",
            "K of Benzoic Acid is given as 0. It is the concentration in the oil over that in the water",
        ),
        ("k", "-2", "K of Benzoic Acid is given as -2"),
        ("k", "high", "'high' is not a number"),
        ("least", "0", "A least level of 0 % asks for nothing"),
        ("least", "much", "'much' is not a number"),
    ],
)
def test_what_cannot_be_is_said_and_kept_in_its_box(
    panel: PreservationPanel, control: str, text: str, words: str
) -> None:
    form = panel.form if control == "ph" else panel.rows["Benzoic Acid"]
    form.type(**{control: text})
    assert words in form.faults.get(control, plain(panel.message.value))
    assert form.texts[control] == text
    form.type(**{control: ""})
    assert form.faults == {}
    assert panel.message.value == ""
    assert len(cells(panel.table.value)) == 8


def test_no_preservative_at_all(panel: PreservationPanel, bench: kit.Bench) -> None:
    bench.change(simple_product(("water", "Aqua", "70"), ("oil", "Squalane", "30")))
    assert "No preservative that the library knows is in this formula" in panel.findings.value
    assert panel.table.value == panel.picture.value == ""
    assert panel.asked.children == ()
    bench.undo()
    assert len(panel.asked.children) == 2


def test_no_oil_layer(panel: PreservationPanel, bench: kit.Bench) -> None:
    bench.change(simple_product(("water", "Aqua", "99.7"), ("water", "Phenoxyethanol", "0.3")))
    assert "There is no oil layer: all of it is in the water." in panel.picture.value
    assert cells(panel.table.value) == [["Phenoxyethanol", "0.300", "", "0.300", "0.300", "0.300", "0.300"]]
    assert "(ISO 11930)" in panel.findings.value
    assert "counted" in panel.rows["Phenoxyethanol"].hidden


def test_no_water_layer_and_an_unfinished_formula(panel: PreservationPanel, bench: kit.Bench) -> None:
    bench.change(simple_product(("oil", "Squalane", "99.9"), ("oil", "Butylparaben", "0.1")))
    assert "has no water layer" in panel.message.value
    bench.change(simple_product(("water", "Aqua", "50"), ("oil", "Squalane", "30")))
    assert "it adds to 80 %, not 100 %" in panel.message.value
    assert panel.findings.value == ""


def test_preservative_only_in_the_oil(panel: PreservationPanel, bench: kit.Bench) -> None:
    bench.change(simple_product(("water", "Aqua", "70"), ("oil", "Squalane", "29.9"), ("oil", "Butylparaben", "0.1")))
    assert "Butylparaben is put into the oil layer only" in panel.findings.value
    assert "is from memory" not in panel.findings.value
    panel.form.type(ph="5")
    assert "The pKa of Butylparaben, 8.5, is from memory." in panel.findings.value


def test_a_name_with_signs_is_shown_as_text(panel: PreservationPanel, bench: kit.Bench) -> None:
    guard = kit.Ingredient("Guard <b>& co", roles=("preservative",))
    bench.add_material(guard)
    lines = simple_product(("water", "Aqua", "69.5"), ("water", guard.inci, "0.5"), ("oil", "Squalane", "30"))
    bench.change(Formula("x", lines.phases, materials=(guard,)))
    for box in (panel.picture, panel.table, panel.findings):
        assert "<b>& co" not in box.value
        assert "Guard &lt;b&gt;&amp; co" in box.value


def test_the_panel_promises_nothing(panel: PreservationPanel) -> None:
    panel.form.type(ph="4.6")
    panel.rows["Benzoic Acid"].type(least="0.05")
    boxes = (panel.children[0], panel.picture, panel.reached, panel.table, panel.findings)
    said = " ".join(plain(box.value) for box in boxes).casefold()
    assert not re.search(r"\bsafe\b|\bpreserved\b|\bprotected\b", said)
