"""A ratio beside typed amounts, and versions that were kept: in files, on paper, and for any formula."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.demos import demo
from kit.errors import FileFaultsError, RangeError, StoreError, UnknownNameError
from kit.formula.editing import edited, set_line, settled
from kit.formula.files import read_formula, save_formula
from kit.formula.files.draft import of_draft, to_draft
from kit.formula.model import Formula, Line, Phase
from kit.formula.moved import Ratio
from kit.formula.versions import (
    IN_HAND,
    beside,
    keep_version,
    kept_version,
    merged,
    named_versions,
    rounded_percents,
    stands_as,
    variant_formula,
    version_label,
    versions,
    with_variant,
    without_variant,
)
from kit.layers.ratio import LayerMix, RatioPath
from kit.papers.registry import make_paper
from kit.product.product import Product
from tests.layers.some_formulas import formulas

if TYPE_CHECKING:
    from pathlib import Path

MOVED = replace(demo(), ratio=Ratio(30.0))


def flat(formula: Formula) -> list[float | None]:
    return [percent for phase in formula.percents for percent in phase]


def test_the_ratio_stands_in_the_file_with_a_word_beside_it_and_goes_again(tmp_path: Path) -> None:
    file = tmp_path / "shake.toml"
    save_formula(demo(), file)
    before = file.read_text(encoding="utf-8").replace('amount = "4"', 'amount = "4"  # less was too dry')
    file.write_text(before, encoding="utf-8")
    hand = beside(MOVED, versions(demo()))
    save_formula(hand, file)
    text = file.read_text(encoding="utf-8")
    assert "oil_layer_moved_to = 30.0 # % w/w of the whole; the amounts below are as typed" in text
    assert "changed_since_version = 3" in text
    assert "# less was too dry" in text
    found = read_formula(file)
    assert found == hand
    assert (version_label(found), [old.version for old in versions(found)]) == ("version 3, changed since", [2, 3])
    save_formula(replace(found, ratio=None, changed=False, version=3, earlier=demo().earlier), file)
    assert "moved" not in file.read_text(encoding="utf-8")
    assert flat(read_formula(file)) == flat(demo())


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_a_table_holds_the_percents_that_are_in_hand(tmp_path: Path, suffix: str) -> None:
    (note,) = save_formula(MOVED, tmp_path / f"shake{suffix}")
    assert "the amounts as they were typed before the ratio was moved" in note.sentence
    assert flat(read_formula(tmp_path / f"shake{suffix}")) == pytest.approx(flat(MOVED), abs=1e-12)


def test_a_version_comes_back_bit_by_bit_also_where_rows_could_not_say_it(tmp_path: Path) -> None:
    phases = (
        Phase("Oil", "oil", (Line("Squalane", "20"),), "#aa8800"),
        Phase("Water", "water", (Line("Aqua", "q.s."), Line())),
        Phase("Empty", "other"),
        Phase("Oil", "oil", (Line("Tocopherol", "0.3", note="last"),), "#ffcc00"),
    )
    old = Formula("Two oils", phases)
    new = keep_version(replace(old, phases=phases[:2]), old, "fewer")
    save_formula(new, tmp_path / "f.toml")
    assert versions(read_formula(tmp_path / "f.toml")) == versions(new)


def test_what_the_layers_cannot_follow_is_said_and_loses_nothing(tmp_path: Path) -> None:
    half = replace(MOVED, phases=MOVED.phases[:1])
    assert "has no oil layer" in half.resolution.not_moved
    assert not half.is_complete
    save_formula(half, tmp_path / "f.toml")
    assert read_formula(tmp_path / "f.toml").phases == half.phases
    assert settled(half).ratio is None


def test_a_draft_comes_back_and_what_is_none_is_said() -> None:
    hand = beside(set_line(MOVED, 0, 1, entry="3,5"), versions(demo()))
    assert of_draft(to_draft(hand, "mark"), "a.json") == (hand, "mark")
    for odd in (b"", b"[]", b"{}", b"3", b'{"formula": {}}', b'{"formula": [], "began_from": ""}', b"\xff",
                b'{"formula": {}, "began_from": 3}', b"[" * 100_000):  # fmt: skip
        with pytest.raises(StoreError, match=r"a\.json is no draft of a formula"):
            of_draft(odd, "a.json")
    with pytest.raises(FileFaultsError, match=r"phase\.0\.layer: layer must be one of water, oil, other; found 'sea'"):
        of_draft(b'{"began_from": "", "formula": {"phase": [{"layer": "sea"}]}}', "a.json")


def test_a_version_is_found_by_its_number_with_those_before_it() -> None:
    older = kept_version(demo(), 2)
    assert (older.version, older.earlier) == (2, ())
    assert [old.version for old in kept_version(demo(), 3).earlier] == [2]
    with pytest.raises(UnknownNameError, match=r"No version 7 of .* was kept\. Those that were: 2, 3\."):
        kept_version(demo(), 7)
    with pytest.raises(UnknownNameError, match="Those that were: none yet"):
        kept_version(Formula("Toner"), 1)
    assert list(named_versions(demo())) == ["version 2", "version 3"]
    assert list(named_versions(replace(demo(), changed=True))) == ["version 2", IN_HAND]
    assert stands_as(demo(), demo())
    unrounded = set_line(demo(), 0, 1, entry="4.00004")  # kept versions are rounded to 0.001 %
    assert stands_as(unrounded, rounded_percents(unrounded))
    assert not stands_as(set_line(demo(), 0, 1, entry="5"), rounded_percents(unrounded))
    assert not stands_as(set_line(demo(), 0, 1, entry="5"), demo())
    assert not stands_as(MOVED, demo())


def test_a_family_takes_in_replaces_and_lets_go() -> None:
    drier = set_line(demo(), 0, 1, entry="6")
    family = with_variant(with_variant(demo(), "Dry hair"), "Bath", drier, "for the tub")
    again = with_variant(family, " dry HAIR ", drier)
    assert [variant.name for variant in again.variants] == ["dry HAIR", "Bath"]  # in its old place, as now spelt
    assert again.variants[0].phases == again.variants[1].phases != family.variants[0].phases
    bath = variant_formula(again, "bath")
    assert (bath.title, bath.note, bath.variants) == (f"{demo().title}, Bath", "for the tub", ())
    assert variant_formula(again, "dry hair").note == demo().note
    assert [variant.name for variant in without_variant(again, "BATH").variants] == ["dry HAIR"]
    for work in (without_variant, variant_formula):
        with pytest.raises(UnknownNameError, match=r"has no variant 'oily'\. Its family: dry HAIR, Bath\."):
            work(again, "oily")
    with pytest.raises(UnknownNameError, match="Its family: none yet"):
        variant_formula(demo(), "oily")
    with pytest.raises(RangeError, match="A variant needs a name, such as 'dry hair'"):
        with_variant(demo(), "  ")


@pytest.mark.parametrize(
    ("formula", "label"),
    [
        (demo(), "version 3"),
        (beside(MOVED, versions(demo())), "version 3, changed since"),
        (beside(replace(rounded_percents(MOVED), version=4), versions(keep_version(rounded_percents(MOVED), demo()))),
         "version 4"),
        (beside(replace(MOVED, version=4), versions(keep_version(rounded_percents(MOVED), demo()))),
         "version 4 before rounding"),
    ],
)  # fmt: skip
def test_papers_name_a_version_only_where_it_is_true(formula: Formula, label: str) -> None:
    assert version_label(formula) == label
    for name in ("formula_card", "batch_sheet", "label_text"):
        assert f"· {label} ·" in make_paper(name, Product(formula)).html


def test_two_that_bear_one_number_are_both_found() -> None:
    one, other = demo(), set_line(demo(), 0, 1, entry="5")
    assert [old.version for old in merged((one,), (other, one))] == [3, 4]
    # a number that none of those that were kept bears stays, and is not called changed
    far = replace(demo(), version=9, title="Another", earlier=())
    hand = beside(far, versions(demo()))
    assert (hand.version, hand.changed, [old.version for old in hand.earlier]) == (9, False, [2, 3])


@given(formulas(other=True), st.floats(0.05, 0.95), st.floats(0.05, 0.95))
def test_there_and_back_is_the_very_same_formula(formula: Formula, one: float, two: float) -> None:
    path = RatioPath.of(formula)
    moved = path.at(one * path.most)
    further = RatioPath.of(moved).at(two * path.most)
    assert moved.phases is further.phases is formula.phases
    assert RatioPath.of(further).at(path.start) == formula
    mix = LayerMix.of(further, ("oil", "water"))
    assert mix.at(LayerMix.of(formula, ("oil", "water")).sizes) == formula
    assert flat(settled(moved)) == pytest.approx(flat(moved), abs=1e-12)


@given(formulas(), st.floats(0.2, 0.8), st.sampled_from(["0.35", "1,25", "800 ppm"]), st.integers(0, 20))
def test_typing_while_moved_changes_the_typed_line_and_what_fills_up_alone(
    formula: Formula, part: float, text: str, number: int
) -> None:
    path = RatioPath.of(formula)
    moved = path.at(part * path.most)
    places = [(p, i) for p, i, *_ in moved.each_line() if (p, i) != moved.resolution.rest_at]
    place = places[number % len(places)]
    after = edited(moved, lambda now: set_line(now, *place, entry=text))
    assert after.phases[place[0]].lines[place[1]].entry == text
    assert after.percents[place[0]][place[1]] == pytest.approx({"0.35": 0.35, "1,25": 1.25, "800 ppm": 0.08}[text])
    for p, i, *_ in moved.each_line():
        if (p, i) not in (place, moved.resolution.rest_at):
            assert after.percents[p][i] == pytest.approx(moved.percents[p][i], abs=1e-9)


def test_of_kept_versions_that_are_alike_it_is_the_one_of_its_number_or_the_last() -> None:
    kept = tuple(replace(demo(), version=n, change_note=note) for n, note in ((1, "first"), (2, "back again")))
    for number, found, note in ((1, 1, "first"), (2, 2, "back again"), (7, 2, "back again")):
        hand = beside(replace(demo(), version=number), kept)
        assert (hand.version, hand.change_note, hand.changed) == (found, note, False)
