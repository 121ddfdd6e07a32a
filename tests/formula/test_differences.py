"""What changed between versions: line by line, in words, in findings; the same seen from both sides."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import example, given

from kit.demos import demo
from kit.findings import Finding
from kit.formula.compare import compare, compare_substances, line_rows
from kit.formula.differences import BACKWARDS, differences, finding_changes
from kit.formula.editing import (
    add_lines,
    move_line,
    remove_line,
    set_line,
    set_phase,
    with_material,
)
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase, Rule
from kit.formula.phase_names import renamed_phases
from kit.formula.versions import keep_version
from kit.library.description import Description
from kit.library.ingredient import Ingredient, Stock
from tests.formula.made import LIBRARY, formulas, water_and

if TYPE_CHECKING:
    from kit.library.ingredient import PhaseKind

OLD = water_and(("Glycerin", "6"), ("Urea", "2"))
TWO = Formula(
    "Two",
    (
        Phase("Water", "water", (Line("Aqua", "q.s.", "fill"), Line("Glycerin", "4"))),
        Phase("Oil", "oil", (Line("Squalane", "9", "fill"), Line("Tocopherol", "1"))),
    ),
)


def told(before: Formula, after: Formula) -> dict[str, str]:
    return {line.material: line.words for line in differences(before, after).changed}


@given(formulas())
def test_nothing_changed_is_empty(formula: Formula) -> None:
    found = differences(formula, formula)
    assert not found
    assert found.changed == ()
    assert found.about == ()
    assert all(row.words == "" for row in line_rows([formula, formula, formula]))


@given(formulas(), formulas())
@example(water_and(("Urea", "-2")), water_and(("Urea", "5 mL")))
def test_seen_from_the_other_side_each_word_is_turned_round(before: Formula, after: Formula) -> None:
    there, back = differences(before, after), differences(after, before)
    assert bool(there) == bool(back)
    turned = sorted((c.material.casefold(), tuple(BACKWARDS.get(k, k) for k in c.kinds)) for c in back.changed)
    assert sorted((change.material.casefold(), change.kinds) for change in there.changed) == turned
    assert sum(change.change for change in there.lines) == pytest.approx(-sum(change.change for change in back.lines))


@given(formulas(), formulas(), formulas())
def test_rows_hold_every_line_of_every_version_once(a: Formula, b: Formula, c: Formula) -> None:
    rows = line_rows([a, b, c])
    for n, version in enumerate((a, b, c)):
        places = [(p, i) for p, i, line, _ in version.each_line() if not line.is_blank]
        assert sorted(row.standings[n].place for row in rows if row.standings[n] is not None) == places  # type: ignore[union-attr]
    assert all(len(row.standings) == 3 for row in rows)
    assert all(any(standing is not None for standing in row.standings) for row in rows)


@given(formulas(), formulas())
def test_two_versions_in_rows_say_what_their_differences_say(a: Formula, b: Formula) -> None:
    rows = sorted((row.material, row.words) for row in line_rows([a, b]))
    assert rows == sorted((change.material, change.words) for change in differences(a, b).lines)


def test_added_removed_more_and_less() -> None:
    after = add_lines(remove_line(set_line(OLD, 0, 1, entry="4"), 0, 2), 0, 2, [Line("Betaine", "3")])
    assert told(OLD, after) == {
        "Aqua": "▲ more: 92 % to 93 %",
        "Glycerin": "▼ less: 6 % to 4 %",
        "Betaine": "+ added: 3 % in Water layer",
        "Urea": "− removed: 2 % in Water layer",
    }


def test_moved_held_otherwise_and_noted() -> None:
    after = move_line(set_line(TWO, 1, 1, hold="level", note="from the new bottle"), 1, 1, 0, 2)
    assert told(TWO, after) == {
        "Tocopherol": (
            "→ moved from Oil to Water; ◇ keeps its % of the layer, now keeps its % of the whole; "
            "✎ note: was none, now “from the new bottle”"
        )
    }


def test_an_amount_that_cannot_be_read_is_said_to_be_so() -> None:
    assert told(OLD, set_line(OLD, 0, 2, entry="a pinch"))["Urea"] == "▼ less: 2 % to an amount that cannot be read"
    assert told(OLD, set_line(OLD, 0, 2, entry=" "))["Urea"] == "▼ less: 2 % to no amount"


def test_percents_are_shown_with_as_many_decimals_as_tell_them_apart() -> None:
    assert told(OLD, set_line(OLD, 0, 2, entry="2.34567"))["Urea"] == "▲ more: 2 % to 2.346 %"
    assert told(OLD, set_line(OLD, 0, 2, entry="2.00004"))["Urea"] == "▲ more: 2 % to 2.00004 %"


def test_a_phase_that_only_got_another_name_moves_nothing() -> None:
    renamed = set_phase(TWO, 1, name="Oils")
    assert told(TWO, renamed) == {}
    assert differences(TWO, renamed).about == ("The phase Oil is now called Oils.",)
    again = set_line(renamed, 1, 1, entry="2")
    assert {row.material: row.words for row in line_rows([TWO, renamed, again])}["Tocopherol"] == "▲ more: 1 % to 2 %"


def test_a_layer_under_another_name_is_known_by_what_it_holds_wherever_it_stands() -> None:
    water, oil = TWO.phases
    other = Phase("Cool-down", "water", (Line("Panthenol", "0"),))
    after = replace(TWO, phases=(replace(oil, name="Oil phase"), other, replace(water, name="Water phase")))
    found = differences(TWO, after)
    assert [line.material for line in found.changed] == ["Panthenol"]
    assert found.about == (
        f"The phase {water.name} is now called Water phase.",
        f"The phase {oil.name} is now called Oil phase.",
    )
    rows = [row for row in compare([TWO, after]) if row.material != "Panthenol"]
    assert {row.phase for row in rows} == {"Oil phase", "Water phase"}
    assert all(row.change == 0 and None not in row.percents for row in rows)


def test_a_layer_of_other_materials_and_kind_is_no_renamed_one() -> None:
    water, oil = TWO.phases
    after = replace(TWO, phases=(water, Phase("Powders", "other", (Line("Mica", "10"),))))
    assert [line.words.split(":")[0] for line in differences(TWO, after).changed] == ["+ added"] + ["− removed"] * len(
        oil.lines
    )


def layers(*each: tuple[str, PhaseKind, str]) -> Formula:
    """Phases by name and kind, of materials that are one letter each."""
    return Formula("T", tuple(Phase(name, kind, tuple(Line(one, "1") for one in held)) for name, kind, held in each))


@pytest.mark.parametrize(
    ("before", "after", "called"),
    [
        # of one kind: 2 of the 4 materials that either holds are in both, which is more than a third …
        (
            layers(("A", "oil", "abc"), ("B", "oil", "def")),
            layers(("X", "oil", "deg"), ("Y", "oil", "abh")),
            {"A": "Y", "B": "X"},
        ),
        # … and 1 of 3 is less, so the place decides; capitals and blanks are no difference
        (
            layers(("A", "oil", "ab"), ("B", "oil", "de")),
            layers(("X", "oil", "dg"), ("Y", "oil", "ah")),
            {"A": "X", "B": "Y"},
        ),
        (
            layers(("A", "oil", "abc"), ("B", "oil", "def")),
            layers(("X", "oil", "DEG"), ("Y", "oil", "ABH")),
            {"A": "Y", "B": "X"},
        ),
        # of another kind: 3 of 4 are enough, 2 of 3 are not
        (layers(("A", "oil", "abc")), layers(("X", "water", "abcd")), {"A": "X"}),
        (layers(("A", "oil", "abc")), layers(("X", "water", "ab")), {}),
        # 3 of 4 before 2 of 4, whichever stands first
        (
            layers(("A", "oil", "abc")),
            layers(("X", "oil", "abd"), ("Y", "oil", "abcd")),
            {"A": "Y"},
        ),
        # of two alike, the one of its own kind
        (layers(("A", "oil", "abc")), layers(("X", "water", "abc"), ("Y", "oil", "abc")), {"A": "Y"}),
        # nothing in common: by kind and place, then the only one of its kind; of several, none
        (layers(("A", "oil", "a")), layers(("Z", "water", "z"), ("X", "oil", "b")), {"A": "X"}),
        (layers(("A", "oil", "a")), layers(("Z", "water", "z"), ("X", "oil", "b"), ("Y", "oil", "c")), {}),
        (layers(("A", "oil", "a")), layers(("X", "water", "b")), {}),
        # one whose name both have is itself, whatever it holds
        (layers(("A", "oil", "abc"), ("B", "oil", "de")), layers(("A", "oil", "de"), ("X", "oil", "fg")), {"B": "X"}),
        # phases without a material have none in common
        (layers(("A", "oil", "")), layers(("X", "water", "")), {}),
    ],
)
def test_which_phase_is_which_under_another_name(before: Formula, after: Formula, called: dict[str, str]) -> None:
    assert renamed_phases(before, after) == called


def test_what_stands_in_a_column_of_her_own_is_told_where_it_changed() -> None:
    before = Formula("T", (Phase("A", "water", (Line("Aqua", "100", more=(("Supplier", "one"),)),)),))
    after = set_line(before, 0, 0, more=(("Supplier", "two"),))
    assert told(before, after) == {"Aqua": "✎ Supplier: was “one”, now “two”"}


def test_the_same_material_twice_is_paired_in_order() -> None:
    twice = water_and(("Glycerin", "1"), ("Glycerin", "2"))
    after = set_line(twice, 0, 2, entry="3")
    assert [line.words for line in differences(twice, after).changed if line.material == "Glycerin"] == [
        "▲ more: 2 % to 3 %"
    ]


def test_of_the_same_material_twice_the_one_with_another_amount_is_what_went() -> None:
    twice = water_and(("Glycerin", "5"), ("Glycerin", "3"))
    changed = [line for line in differences(twice, water_and(("Glycerin", "3"))).changed if line.material == "Glycerin"]
    assert [line.words for line in changed] == ["− removed: 5 % in Water layer"]
    swapped = water_and(("Glycerin", "3"), ("Glycerin", "5"))
    assert not differences(twice, swapped)


def test_an_amount_of_nothing_that_cannot_be_read_any_more_is_told() -> None:
    nothing = set_line(OLD, 0, 2, entry="0")
    unread = set_line(OLD, 0, 2, entry="a pinch")
    assert told(nothing, unread)["Urea"] == "▼ less: 0 % to an amount that cannot be read"
    assert told(unread, nothing)["Urea"] == "▲ more: an amount that cannot be read to 0 %"


def test_no_versions_are_no_rows() -> None:
    assert line_rows([]) == ()


def test_the_same_material_in_two_phases_that_change_places_moves_nowhere() -> None:
    both = add_lines(TWO, 1, 2, [Line("Glycerin", "1")])
    assert told(both, replace(both, phases=both.phases[::-1])) == {}


def test_capitals_make_no_other_material() -> None:
    assert told(OLD, set_line(OLD, 0, 1, material=" glycerin ")) == {}


def test_a_line_through_three_versions() -> None:
    gone = remove_line(OLD, 0, 2)
    back = add_lines(gone, 0, 2, [Line("Urea", "2")])
    passing = add_lines(OLD, 0, 3, [Line("Betaine", "1")])
    rows = {row.material: (row.percents, row.words) for row in line_rows([OLD, gone, back])}
    assert rows["Urea"] == ((2, None, 2), "↺ changed and changed back")
    assert rows["Aqua"] == ((92, 94, 92), "↺ changed and changed back")
    assert rows["Glycerin"] == ((6, 6, 6), "")
    rows = {row.material: (row.percents, row.words) for row in line_rows([OLD, passing, OLD])}
    assert rows["Betaine"] == ((None, 1, None), "± added and removed again")
    assert [row.material for row in line_rows([OLD, gone])] == ["Aqua", "Glycerin", "Urea"]


def test_what_else_changed_in_words() -> None:
    stock = Stock("Acid stock", {"Citric Acid": 10.0, "Aqua": 90.0})
    before = replace(
        OLD, steps=("Weigh.", "Stir.", "Fill."), note="old", materials=(stock, Ingredient("My Oil", own=True)),
        rules=(Rule("Parfum", high=1.0, of="oil"),),
    )  # fmt: skip
    stronger = Stock("Acid stock", {"Citric Acid": 20.0, "Aqua": 80.0})
    after = replace(
        before,
        title="Tonic",
        description=Description(product_kind="rinse-off", body_part="face"),
        note="",
        steps=("Weigh.", "Warm to 40 °C.", "Stir."),
        rules=(Rule("Urea", low=2.0, high=5.0),),
        materials=(stronger, Stock("New stock", {"Aqua": 100.0})),
    )
    assert differences(before, after).about == (
        "The title was “Toner”, now “Tonic”.",
        "The description, product, was “leave-on”, now “rinse-off”.",
        "The description, more about its use, was none, now “face”.",
        "The note was “old”, now none.",
        "The stock New stock was added.",
        "The own ingredient My Oil was taken out.",
        "The stock Acid stock is another one: Citric Acid 10 % to 20 %, Aqua 90 % to 80 %.",
        "Your rule was taken out: Parfum at most 1 % of the oil layer.",
        "Your rule is new: Urea at least 2 % and at most 5 % of the whole.",
        "Step 2 is new: “Warm to 40 °C.”.",
        "Step 3 was taken out: “Fill.”.",
    )
    denser = replace(stock, note="weighed again")
    assert differences(replace(before, materials=(stock,)), replace(before, materials=(denser,))).about == (
        "The stock Acid stock is another one.",
    )
    other = replace(stock, contents={"Lactic Acid": 10.0, "Aqua": 90.0})
    assert differences(replace(before, materials=(stock,)), replace(before, materials=(other,))).about == (
        "The stock Acid stock is another one: Citric Acid 10 % to 0 %, Lactic Acid 0 % to 10 %.",
    )


def test_substances_through_blends_and_stocks_of_each_version() -> None:
    before = with_material(
        water_and(("Acid stock", "10"), ("Glycerin", "1")), Stock("Acid stock", {"Citric Acid": 10.0, "Aqua": 90.0})
    )
    after = with_material(remove_line(before, 0, 2), Stock("Acid stock", {"Citric Acid": 20.0, "Aqua": 80.0}))
    found = {
        row.name: (row.percents, row.change)
        for row in compare_substances([before, after], [Materials.of(f, LIBRARY) for f in (before, after)])
    }
    assert found == {
        "Aqua": (pytest.approx((98, 98)), pytest.approx(0)),
        "Citric Acid": (pytest.approx((1, 2)), pytest.approx(1)),
        "Glycerin": ((1, None), -1),
    }


def test_findings_that_came_went_and_stayed() -> None:
    range_before = Finding("note", "0.4 % Urea is below its usual range, 1 to 5 %.", source="common practice")
    range_after = Finding("note", "0.3 % Urea is below its usual range, 1 to 5 %.", source="common practice")
    limit, other = Finding("stop", "Too much."), Finding("caution", "Too much.")
    found = finding_changes([range_before, limit, limit], [range_after, other, limit])
    assert (found.gained, found.lost, found.stayed) == ((other,), (limit,), (range_after, limit))
    nothing = finding_changes([limit], [limit])
    assert (nothing.gained, nothing.lost) == ((), ())


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("0.4 % Polysorbate 20 is below its usual range.", "0.4 % Polysorbate 80 is below its usual range."),
        ("CI 42090 is not in the library.", "CI 19140 is not in the library."),
        ("PEG-40 and Aqua.", "PEG-60 and Aqua."),
    ],
)
def test_a_number_in_a_name_is_no_figure(before: str, after: str) -> None:
    found = finding_changes([Finding("note", before)], [Finding("note", after)])
    assert (found.gained, found.lost, found.stayed) == ((Finding("note", after),), (Finding("note", before),), ())


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("Add 0.4 % Urea.", "Add 3 % Urea."),
        ("Used at pH 6 to 7.5. You measured 4.", "Used at pH 6 to 7.5. You measured 5."),
        ("0.4 % Polysorbate 20 is below 1 %.", "0.25 % Polysorbate 20 is below 1 %."),
    ],
)
def test_a_figure_may_differ(before: str, after: str) -> None:
    found = finding_changes([Finding("note", before)], [Finding("note", after)])
    assert (found.gained, found.lost, found.stayed) == ((), (), (Finding("note", after),))


def test_the_demo_and_the_version_before_it() -> None:
    formula = demo()
    assert told(formula.earlier[-1], formula) == {
        "Aqua": "▲ more: 72.4 % to 74.4 %",
        "Glycerin": "▼ less: 6 % to 4 %",
    }
    kept = keep_version(set_line(formula, 0, 1, entry="3"), formula, "less sticky")
    rows = {row.material: row.percents for row in line_rows([*kept.earlier, kept])}
    assert rows["Glycerin"] == (6, 4, 3)
