from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.formula.files import read_formula
from kit.formula.model import Formula, Line, Phase, layer_mix
from kit.layers.ratio import RatioPath
from kit.widgets.bench import Bench
from kit.widgets.formula_table.table import EDITS, read_edit
from kit.widgets.typing_in import apply_edit
from tests.widgets.hands import entries, names, two_layers

if TYPE_CHECKING:
    from pathlib import Path

    from kit.widgets.formula_table.table import Edit


def paste(text: str, *, phase: int = 0, line: int = 0, field: str = "material") -> Edit:
    return {"kind": "paste", "phase": phase, "line": line, "field": field, "text": text}


def entry(text: str, line: int = 1) -> Edit:
    return {"kind": "set_entry", "phase": 0, "line": line, "text": text}


# ---- one edit each ----------------------------------------------------------------------------------------


def test_a_name_is_set_without_blanks_around_it() -> None:
    edit = {"kind": "set_material", "phase": 0, "line": 1, "text": "  Propanediol "}
    assert names(apply_edit(two_layers(), edit))[0] == ["Aqua", "Propanediol", "Sodium Benzoate"]


def test_an_amount_is_kept_as_typed() -> None:
    assert entries(apply_edit(two_layers(), entry("3,5 %")))[0] == ["q.s.", "3,5 %", "0.4"]


def test_a_line_in_which_qs_is_typed_fills_its_layer() -> None:
    formula = apply_edit(two_layers(), entry("q.s."))
    assert formula.phases[0].lines[1].hold == "fill"


def test_qs_typed_again_leaves_the_hold_that_was_chosen_since() -> None:
    chosen = apply_edit(two_layers(), {"kind": "set_hold", "phase": 0, "line": 0, "value": "share"})
    formula = apply_edit(chosen, entry("q.s. to 100 %", line=0))
    assert formula.phases[0].lines[0] == Line("Aqua", "q.s. to 100 %", "share")


def test_the_hold_is_set_and_a_word_that_is_none_is_let_pass() -> None:
    formula = two_layers()
    edit = {"kind": "set_hold", "phase": 0, "line": 1, "value": "level"}
    assert apply_edit(formula, edit).phases[0].lines[1].hold == "level"
    assert apply_edit(formula, {**edit, "value": "tightly"}) is formula


def test_a_phase_is_named_and_never_nameless() -> None:
    edit = {"kind": "set_phase_name", "phase": 1, "text": " Oils "}
    assert apply_edit(two_layers(), edit).phases[1].name == "Oils"
    assert apply_edit(two_layers(), {**edit, "text": "  "}).phases[1].name == "Phase"


def test_the_kind_of_a_phase_is_set_and_a_word_that_is_none_is_let_pass() -> None:
    formula = two_layers()
    edit = {"kind": "set_phase_kind", "phase": 1, "value": "other"}
    assert apply_edit(formula, edit).phases[1].kind == "other"
    assert apply_edit(formula, {**edit, "value": "foam"}) is formula


@pytest.mark.parametrize(("after", "place"), [(-1, 0), (0, 1), (2, 3)])
def test_an_empty_line_is_added_where_it_was_asked_for(after: int, place: int) -> None:
    formula = apply_edit(two_layers(), {"kind": "add_line", "phase": 0, "after": after})
    assert formula.phases[0].lines[place].is_blank
    assert len(formula.phases[0].lines) == 4


def test_a_line_is_removed() -> None:
    formula = apply_edit(two_layers(), {"kind": "remove_line", "phase": 0, "line": 0})
    assert names(formula) == [["Glycerin", "Sodium Benzoate"], ["Coco-Caprylate", "Tocopherol"]]


def test_a_line_moves_to_another_phase_whole() -> None:
    edit = {"kind": "move_line", "phase": 0, "line": 2, "to_phase": 1, "to_line": 1}
    formula = apply_edit(two_layers(), edit)
    assert names(formula) == [["Aqua", "Glycerin"], ["Coco-Caprylate", "Sodium Benzoate", "Tocopherol"]]
    assert formula.phases[1].lines[1] == Line("Sodium Benzoate", "0.4", "level")


def test_an_added_phase_is_of_the_kind_that_is_missing() -> None:
    formula = Formula()
    for name, kind in (
        ("Water layer", "water"),
        ("Oil layer", "oil"),
        ("Phase 3", "other"),
        ("Phase 4", "other"),
    ):
        formula = apply_edit(formula, {"kind": "add_phase", "after": len(formula.phases) - 1})
        assert formula.phases[-1] == Phase(name, kind, (Line(),))  # type: ignore[arg-type]


def test_a_phase_is_removed_and_moved() -> None:
    removed = apply_edit(two_layers(), {"kind": "remove_phase", "phase": 0})
    assert [phase.name for phase in removed.phases] == ["Oil layer"]
    moved = apply_edit(two_layers(), {"kind": "move_phase", "phase": 1, "to": 0})
    assert [phase.name for phase in moved.phases] == ["Oil layer", "Water layer"]


NOWHERE: list[dict[str, Any]] = [
    {"kind": "set_material", "phase": 2, "line": 0, "text": "Aqua"},
    {"kind": "set_material", "phase": 0, "line": 3, "text": "Aqua"},
    {"kind": "set_entry", "phase": -1, "line": 0, "text": "4"},
    {"kind": "set_entry", "phase": 0, "line": -1, "text": "4"},
    {"kind": "set_hold", "phase": 0, "line": 9, "value": "fill"},
    {"kind": "set_phase_name", "phase": 2, "text": "Oils"},
    {"kind": "set_phase_kind", "phase": -1, "value": "oil"},
    {"kind": "add_line", "phase": 5, "after": 0},
    {"kind": "add_line", "phase": 0, "after": 3},
    {"kind": "add_line", "phase": 0, "after": -2},
    {"kind": "remove_line", "phase": 0, "line": 3},
    {"kind": "move_line", "phase": 0, "line": 3, "to_phase": 1, "to_line": 0},
    {"kind": "move_line", "phase": 0, "line": 0, "to_phase": 2, "to_line": 0},
    {"kind": "add_phase", "after": 2},
    {"kind": "remove_phase", "phase": 2},
    {"kind": "move_phase", "phase": 2, "to": 0},
    {"kind": "paste", "phase": 0, "line": 3, "field": "material", "text": "Aqua\t80\nGlycerin\t4"},
]


@pytest.mark.parametrize("edit", NOWHERE, ids=lambda edit: edit["kind"])
def test_an_edit_of_a_place_that_is_not_there_leaves_the_formula_as_it_is(edit: Edit) -> None:
    formula = two_layers()
    assert read_edit(edit) == edit
    assert apply_edit(formula, edit) is formula


@pytest.mark.parametrize("kind", ["set_material", "set_entry", "set_hold", "remove_line"])
def test_an_empty_phase_has_no_first_line_to_edit(kind: str) -> None:
    formula = Formula(phases=(Phase("Water layer"),))
    assert apply_edit(formula, {"kind": kind, "phase": 0, "line": 0, "text": "4", "value": "fill"}) is formula


def test_rows_can_be_pasted_into_an_empty_phase() -> None:
    formula = Formula(phases=(Phase("Water layer"),))
    assert names(apply_edit(formula, paste("Aqua\tq.s.\nGlycerin\t4"))) == [["Aqua", "Glycerin"]]


# ---- paste ------------------------------------------------------------------------------------------------


def test_pasted_rows_follow_the_line_they_were_pasted_on() -> None:
    formula = apply_edit(two_layers(), paste("Panthenol\t1\nAllantoin\t0,2", line=1))
    assert names(formula)[0] == ["Aqua", "Glycerin", "Panthenol", "Allantoin", "Sodium Benzoate"]
    assert entries(formula)[0] == ["q.s.", "4", "1", "0,2", "0.4"]


def test_pasted_rows_take_the_place_of_an_empty_line_but_not_of_one_with_a_note() -> None:
    for note, kept in (("", 0), ("ask about this", 1)):
        formula = Formula(phases=(Phase("Water layer", "water", (Line(note=note),)),))
        lines = apply_edit(formula, paste("Aqua\tq.s.\nGlycerin\t4")).phases[0].lines
        assert len(lines) == 2 + kept
        assert [line for line in lines if not line.is_blank] == [
            Line("Aqua", "q.s.", "fill"),
            Line("Glycerin", "4"),
        ]


def test_pasted_rows_under_headings_go_to_their_phases() -> None:
    text = "Water layer\nPanthenol\t1\nOIL LAYER\nSqualane\t2\nPhase C: powders\nMica\t0.5"
    formula = apply_edit(two_layers(), paste(text))
    assert [phase.name for phase in formula.phases] == ["Water layer", "Oil layer", "Phase C: powders"]
    assert names(formula) == [
        ["Aqua", "Panthenol", "Glycerin", "Sodium Benzoate"],
        ["Coco-Caprylate", "Tocopherol", "Squalane"],
        ["Mica"],
    ]


@pytest.mark.parametrize(("heading", "kind"), [("Oil phase", "oil"), ("Fat phase", "oil"), ("Phase C", "water")])
def test_a_new_phase_is_of_the_kind_that_its_heading_hints_at(heading: str, kind: str) -> None:
    formula = apply_edit(
        Formula(phases=(Phase("Water", "water", (Line("Aqua", "90"),)),)), paste(f"{heading}\nA b\t1\nC d\t2")
    )
    assert [(phase.name, phase.kind) for phase in formula.phases] == [("Water", "water"), (heading, kind)]


def test_a_pasted_column_of_amounts_runs_down_and_qs_in_it_fills_the_layer() -> None:
    formula = apply_edit(two_layers(), paste("80\n5\nq.s.\n1\n2", field="amount"))
    assert entries(formula)[0] == ["80", "5", "q.s.", "1", "2"]
    assert names(formula)[0] == ["Aqua", "Glycerin", "Sodium Benzoate", "", ""]
    assert [line.hold for line in formula.phases[0].lines] == ["fill", "share", "fill", "share", "share"]


def test_a_pasted_column_of_names_becomes_lines() -> None:
    formula = apply_edit(two_layers(), paste("Panthenol\nAllantoin", line=2))
    assert names(formula)[0] == ["Aqua", "Glycerin", "Sodium Benzoate", "Panthenol", "Allantoin"]


def test_rows_pasted_into_the_amounts_are_rows_all_the_same() -> None:
    formula = apply_edit(two_layers(), paste("Panthenol\t1\nAllantoin\t0.2", line=1, field="amount"))
    assert entries(formula)[0] == ["q.s.", "4", "1", "0.2", "0.4"]


@pytest.mark.parametrize("text", ["", " \n\t\n ", "Ingredient\t% w/w"])
@pytest.mark.parametrize("field", ["material", "amount"])
def test_pasting_nothing_changes_nothing(text: str, field: str) -> None:
    assert apply_edit(two_layers(), paste(text, field=field)) == two_layers()


# ---- any message at all -----------------------------------------------------------------------------------

PLACES = st.integers(-2, 5)
TEXTS = st.one_of(
    st.sampled_from(["", "q.s.", "4", "3,5 %", "12 g", "-1", "Aqua", "oil", "fill", "level", "amount", "material"]),
    st.sampled_from(["Aqua\t80\nGlycerin\t4", "80\n5\n\nq.s.", "Oil phase\nSqualane\t2\nWater layer\nPanthenol\t1"]),
    st.text(max_size=12),
    st.text('Aq1,.;\t\n%" ', max_size=20),
)
EDIT = st.sampled_from(list(EDITS)).flatmap(
    lambda kind: st.fixed_dictionaries(
        {"kind": st.just(kind), **{name: PLACES if of is int else TEXTS for name, of in EDITS[kind].items()}}
    )
)


def marked(formula: Formula) -> Formula:
    """The same formula with a mark of its own on each line."""
    phases = []
    for phase in formula.phases:
        lines = tuple(
            Line(line.material, line.entry, line.hold, f"mark {phase.name} {i}") for i, line in enumerate(phase.lines)
        )
        phases.append(Phase(phase.name, phase.kind, lines))
    return Formula(formula.title, tuple(phases))


def marks(formula: Formula) -> Counter[str]:
    return Counter(line.note for _, _, line, _ in formula.each_line() if line.note)


@given(st.lists(EDIT, max_size=12))
def test_no_message_ever_raises_or_loses_a_line_that_was_not_removed(edits: list[Edit]) -> None:
    bench = Bench(marked(two_layers()))
    for edit in edits:
        if edit["kind"] in ("undo", "redo"):
            bench.apply(edit)
            continue
        before = bench.formula
        removed: Counter[str] = Counter()
        if edit["kind"] == "remove_line" and 0 <= edit["phase"] < len(before.phases):
            lines = before.phases[edit["phase"]].lines
            removed = Counter(line.note for line in lines[edit["line"] :][:1] if edit["line"] >= 0 and line.note)
        elif edit["kind"] == "remove_phase" and 0 <= edit["phase"] < len(before.phases):
            removed = Counter(line.note for line in before.phases[edit["phase"]].lines if line.note)
        bench.apply(edit)
        assert marks(bench.formula) == marks(before) - removed
        if edit["kind"].startswith("move") or edit["kind"].startswith("set_phase"):
            assert Counter(line for *_, line, _ in bench.formula.each_line()) == Counter(
                line for *_, line, _ in before.each_line()
            )


@given(st.lists(EDIT.filter(lambda edit: edit["kind"] not in ("undo", "redo")), max_size=12))
def test_undo_goes_all_the_way_back_and_redo_all_the_way_forward(edits: list[Edit]) -> None:
    bench = Bench(two_layers())
    for edit in edits:
        bench.apply(edit)
    last = bench.formula
    while bench.can_undo:
        bench.undo()
    assert bench.formula == two_layers()
    while bench.can_redo:
        bench.redo()
    assert bench.formula is last


def at_90_percent_oil(formula: Formula, name: str) -> float:
    """What a material comes to in the water layer when that has shrunk to a tenth. [% w/w of the layer]"""
    there = RatioPath.of(formula).at(90)
    mix = layer_mix(there, "water")
    return mix[name]


def test_a_preservative_that_is_typed_holds_its_percent_of_the_water_layer() -> None:
    formula = two_layers()
    formula = apply_edit(formula, {"kind": "add_line", "phase": 0, "after": 2})
    formula = apply_edit(formula, {"kind": "set_material", "phase": 0, "line": 3, "text": "Phenoxyethanol"})
    formula = apply_edit(formula, {"kind": "set_entry", "phase": 0, "line": 3, "text": "0.9"})
    assert formula.phases[0].lines[3] == Line("Phenoxyethanol", "0.9", "share")
    now = layer_mix(formula, "water")["Phenoxyethanol"]
    assert at_90_percent_oil(formula, "Phenoxyethanol") == pytest.approx(now)


@pytest.mark.parametrize("way", ["pasted", "read"])
def test_one_that_is_pasted_or_read_from_a_file_does_too(tmp_path: Path, way: str) -> None:
    rows = "Phase\tIngredient\t%\nWater\tAqua\tq.s.\nWater\tPhenoxyethanol\t0.9\nOil phase\tSqualane\t20"
    if way == "read":
        lines = [f"{line},{'oil' if 'Oil' in line else 'water'}" for line in rows.split("\n")[1:]]
        text = "\n".join(["phase,ingredient,amount,layer", *lines]).replace("\t", ",")
        (tmp_path / "shake.csv").write_text(text)
        formula = read_formula(tmp_path / "shake.csv")
    else:
        formula = apply_edit(
            Formula("New", (Phase("Water", "water", (Line(),)),)),
            {"kind": "paste", "phase": 0, "line": 0, "field": "material", "text": rows},
        )
    now = layer_mix(formula, "water")["Phenoxyethanol"]
    assert at_90_percent_oil(formula, "Phenoxyethanol") == pytest.approx(now)
    assert now == pytest.approx(0.9 / 0.8)
