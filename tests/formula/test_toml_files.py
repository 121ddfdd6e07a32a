"""A formula in a TOML file: everything comes back, comments stay, and every fault is told at once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.demos import demo
from kit.errors import Fault, FileFaultsError, StoreError
from kit.formula.editing import add_lines, set_line
from kit.formula.files import read_formula, save_formula
from kit.formula.files.toml_file import line_numbers
from kit.formula.model import Formula, Line, Phase
from kit.formula.versions import keep_version
from kit.library.description import Description
from kit.resources import resource_folder
from kit.saving import earlier_saves
from tests.formula.made import formulas, water_and

DEMO = resource_folder("data") / "demo" / "after_swim_body_shake.toml"


def faults(path: Path, text: str) -> list[str]:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileFaultsError) as raised:
        read_formula(path)
    return [str(fault) for fault in raised.value.faults]


def test_the_demo_comes_back_and_an_unchanged_save_changes_no_letter(tmp_path: Path) -> None:
    path = tmp_path / "shake.toml"
    assert save_formula(demo(), path) == []
    assert read_formula(path) == demo()
    path.write_bytes(DEMO.read_bytes())
    save_formula(demo(), path)
    assert path.read_text(encoding="utf-8") == DEMO.read_text(encoding="utf-8")


@settings(max_examples=60)
@given(formulas(least=1), formulas(least=1))
def test_any_formula_comes_back_also_over_another_one(first: Formula, second: Formula) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "formula.toml"
        for formula in (first, second, first):
            if formula.phases:
                save_formula(formula, path)
                assert read_formula(path) == formula


def test_comments_survive_a_change(tmp_path: Path) -> None:
    path = tmp_path / "shake.toml"
    path.write_bytes(DEMO.read_bytes())
    before = DEMO.read_text(encoding="utf-8").splitlines()
    save_formula(set_line(demo(), 0, 1, entry="5"), path)
    after = path.read_text(encoding="utf-8").splitlines()
    assert [(a, b) for a, b in zip(before, after, strict=True) if a != b] == [('amount = "4"', 'amount = "5"')]
    assert sum("#" in line for line in after) == sum("#" in line for line in before) == 4


BY_HAND = """\
# Written on Tuesday.
title = "Milk"  # for now

# made first
[[phase]]
name = "W"
layer = "water"

# from the still
[[phase.line]]
ingredient = "Aqua"
amount = "q.s."

# melted at 70 degrees
[[phase]]
name = "F"
layer = "oil"

[[phase.line]]
ingredient = "Squalane"
amount = 8
"""


def test_a_comment_stays_above_the_table_that_it_is_about_and_goes_along_to_a_new_file(tmp_path: Path) -> None:
    path, other = tmp_path / "milk.toml", tmp_path / "cream.toml"
    path.write_text(BY_HAND, encoding="utf-8")
    milk = read_formula(path)
    changed = set_line(replace(milk, description=Description(body_part="face")), 0, 0, hold="fill", note="cold")
    changed = add_lines(replace(changed, change_note="x"), 0, 1, [Line("Urea", "2,5")])
    save_formula(changed, other, like=path)
    save_formula(changed, path)
    text = path.read_text(encoding="utf-8")
    assert read_formula(path) == read_formula(other) == changed
    assert other.read_text(encoding="utf-8") == text
    assert text.startswith('# Written on Tuesday.\ntitle = "Milk"  # for now\n')
    for pair in ("# made first\n[[phase]]", "# from the still\n[[phase.line]]", "# melted at 70 degrees\n[[phase]]"):
        assert f"\n\n{pair}\n" in text
    assert 'note = "cold"\n\n' in text


def test_a_comment_behind_a_changed_value_and_on_a_moved_line_stays(tmp_path: Path) -> None:
    path = tmp_path / "toner.toml"
    path.write_text(
        'title = "Toner"\n\n[[phase]]\nname = "W"\nlayer = "water"\n\n[[phase.line]]\ningredient = "Aqua"\n'
        'amount = "q.s."\n\n[[phase.line]]\ningredient = "Urea" # from the new drum\namount = 2.5 # half\n',
        encoding="utf-8",
    )
    formula = read_formula(path)
    assert formula.phases[0].lines[1] == Line("Urea", "2.5")
    lines = (replace(formula.phases[0].lines[1], entry="3"), formula.phases[0].lines[0])
    save_formula(
        replace(formula, description=Description(body_part="face"), phases=(replace(formula.phases[0], lines=lines),)),
        path,
    )
    text = path.read_text(encoding="utf-8")
    assert "# from the new drum" in text
    assert 'amount = "3" # half' in text
    assert text.index("Urea") < text.index("Aqua")
    assert read_formula(path).description.body_part == "face"


def test_versions_come_back(tmp_path: Path) -> None:
    old = water_and(("Glycerin", "6"))
    new = keep_version(set_line(old, 0, 1, entry="10 g"), old, "by mass")
    new = replace(new, written_for=250.0)
    save_formula(new, tmp_path / "t.toml")
    assert read_formula(tmp_path / "t.toml") == new


def test_amounts_that_cannot_be_read_survive(tmp_path: Path) -> None:
    formula = water_and(("Glycerin", "a pinch"), ("", ""), ("Urea", "10 % w/v"), ('Quote "this"\\', "=1+1"))
    save_formula(formula, tmp_path / "half.toml")
    assert read_formula(tmp_path / "half.toml") == formula


def test_the_version_before_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "t.toml"
    for entry in ("1", "2", "3"):
        save_formula(water_and(("Glycerin", entry)), path)
    assert read_formula(path) == water_and(("Glycerin", "3"))
    assert [read_formula(save.path) for save in earlier_saves(path)] == [
        water_and(("Glycerin", entry)) for entry in ("2", "1")
    ]


def test_a_file_that_is_no_toml_is_replaced_and_kept_beside(tmp_path: Path) -> None:
    path = tmp_path / "t.toml"
    path.write_bytes(b"\xff not [ toml")
    save_formula(water_and(), path)
    assert read_formula(path) == water_and()
    assert earlier_saves(path)[0].read() == b"\xff not [ toml"


def outcome(path: Path) -> Formula | tuple[Fault, ...]:
    try:
        return read_formula(path)
    except FileFaultsError as error:
        return error.faults


BROKEN = """\
title = 7
versoin = 2
product_kind = "soak"
written_for = 250

[[phase]]
name = "Water"
layer = "watery"

[[phase.line]]
ingredient = "Aqua"
amunt = "q.s."
holds = "fills"

[[stock]]
name = "Acid"
strength = -10
contents = { "Citric Acid" = 10, "Aqua" = 89 }

[[rule]]
ingredient = "Parfum"
of = "oil"

[[rule]]
ingredient = "Parfum"
most = "much"
"""


STOCK, EARLIER, OWN = "[[phase]]\n[[stock]]\nname='a'\n", "[[phase]]\n[[earlier]]\n", "[[phase]]\n[[ingredient]]\n"


def test_every_fault_is_told_with_its_line_and_field(tmp_path: Path) -> None:
    found = faults(tmp_path / "broken.toml", BROKEN)
    for fault in (
        "line 1, title: title must be text in quotation marks; found 7",
        "line 2, versoin: 'versoin' is not known here; did you mean 'version'?",
        "line 3, product_kind: product_kind must be one of leave-on, rinse-off; found 'soak'",
        'line 4, written_for: written_for has no unit (got 250). Write "250 g".',
        "line 8, layer: layer must be one of water, oil, other; found 'watery'",
        "line 12, amunt: 'amunt' is not known here; did you mean 'amount'?",
        "line 13, holds: holds must be one of share, level, fill; found 'fills'",
        "line 17, strength: strength must be a number of 0 or more, without a unit; found -10",
        "line 15, stock: Acid: its parts add to 99 %, not 100 %. Add 1 %; often the solvent is what is missing.",
        "line 22, of: of must be one of whole, water layer, oil layer, other layer; found 'oil'",
        "line 20, rule: The rule for Parfum has neither a least nor a most. Give one of them in %.",
        "line 26, most: most must be a number of 0 or more, without a unit; found 'much'",
    ):
        assert fault in found
    assert len(found) == 13
    assert "line 24, rule: The rule for Parfum has neither a least nor a most. Give one of them in %." in found


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('title = "T', "line 1, column "),
        ('title = "T"\nversion = \n', "line 2, column "),
        ('title = "a"\ntitle = "b"\n', "this is not TOML: "),
        ('note = "T"', "file: there is no [[phase]] in this file"),
        ("phase = 3", "line 1, phase: phase must be written as tables: [[phase]]"),
        ("[[phase]]\n[[phase.line]]\namount = true", "line 3, amount: amount must be text or a number"),
        ("version = inf\n[[phase]]", "line 1, version: version must be a whole number from 1"),
        (STOCK + "contents = {Aqua = 'x'}", "line 4, contents: contents must be names with numbers"),
        ("steps = 'x'\n[[phase]]", "line 1, steps: steps must be a list in square brackets"),
        ("written_for = '0 g'\n[[phase]]", "line 1, written_for: written_for must be more than 0 g; found '0 g'"),
        (EARLIER + "lines = [['a','water','b','c',['d']]]", "line 3, lines: row 1 must be [phase, layer, "),
        (OWN + "inci='Oil'\ndensity=90", "line 2, ingredient: Oil: a density of 90 g/mL is not believable"),
        ("[[phase]]\nsmell='x'", "line 2, smell: 'smell' is not known here; known here are name, layer, "),
        ("used_on = ['knee']\n[[phase]]", "line 1, used_on: 'knee' is not known here; known are hair, scalp, "),
        ("used_on = 'hair; knee'\n[[phase]]", "line 1, used_on: 'knee' is not known here"),
        ("other_layer_moved_to = 5\n[[phase]]", "line 1, other_layer_moved_to: oil_layer_moved_to must stand beside"),
        ("oil_layer_moved_to = 120\n[[phase]]", "line 1, oil_layer_moved_to: A layer can be 0 to 100 % of the whole"),
        ("[[phase]]\ncolour = 'gold'", "line 2, colour: colour must be written like \"#d3a144\"; found 'gold'"),
        ('[[phase]]\n[[phase.line]]\namount = "1\\u0000"', "line 3, amount: it holds the sign NUL"),
        ('[[phase]]\n[[phase.line]]\ningredient = "a\\u0000"', "line 3, ingredient: it holds the sign NUL"),
        ("steps = [3]\n[[phase]]", "line 1, steps: step 1 must be text in quotation marks or a table; found 3"),
        ("steps = [{do='stir', celsius='hot'}]\n[[phase]]", "celsius must be a number of °C; found 'hot'"),
        ("[[phase]]\n[[answer]]\nto='x'\nday='2026-01-01'", "line 2, answer: An answer to a caution needs its reason"),
        ("[[phase]]\n[[answer]]\nto='x'\nbecause='y'\nday='soon'", "line 2, answer: 'soon' is not a day."),
    ],
)  # fmt: skip
def test_one_fault_at_a_time(tmp_path: Path, text: str, fault: str) -> None:
    (found,) = faults(tmp_path / "f.toml", text)[:1]
    assert fault in found


def test_bytes_that_are_no_text(tmp_path: Path) -> None:
    (tmp_path / "f.toml").write_bytes(b"title = '\xe9'")
    with pytest.raises(FileFaultsError, match="file: it cannot be read as text; save it as UTF-8"):
        read_formula(tmp_path / "f.toml")


def test_a_byte_mark_in_front_does_no_harm(tmp_path: Path) -> None:
    save_formula(water_and(), tmp_path / "f.toml")
    (tmp_path / "f.toml").write_bytes(b"\xef\xbb\xbf" + (tmp_path / "f.toml").read_bytes())
    assert read_formula(tmp_path / "f.toml") == water_and()


@settings(max_examples=60)
@given(st.text(st.sampled_from('[]="#{}\n abphaseline.title1,'), max_size=80))
def test_any_text_in_a_file_is_answered(text: str) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "f.toml"
        path.write_text(text, encoding="utf-8")
        said = outcome(path)
        assert isinstance(said, Formula) or said


def test_what_is_missing_or_of_another_kind(tmp_path: Path) -> None:
    with pytest.raises(FileFaultsError, match=rf"file: there is no file gone.toml in {tmp_path.name}"):
        read_formula(tmp_path / "gone.toml")
    for use in (read_formula, lambda path: save_formula(Formula(), path)):
        with pytest.raises(FileFaultsError) as raised:
            use(tmp_path / "f.docx")
        assert str(raised.value.faults[0]) == (
            "file name: files of this kind cannot be used; name it with one of .toml, .csv, .xlsx"
        )
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    for name in ("none.toml", "none.csv", "none.xlsx"):
        with pytest.raises(FileFaultsError, match=f"there is no file {name}"):
            read_formula(tmp_path / name)
    with pytest.raises(StoreError, match=r"t\.toml was not saved: its folder is not there"):
        save_formula(water_and(), tmp_path / "gone" / "t.toml")


def test_a_phase_without_a_name_gets_one_that_counts_from_one(tmp_path: Path) -> None:
    save_formula(Formula("T", (Phase("", "water", (Line("Aqua", "100"),)),)), tmp_path / "t.toml")
    assert read_formula(tmp_path / "t.toml").phases[0].name == "Phase 1"


def test_lines_of_a_file_are_numbered_by_what_stands_there() -> None:
    numbers = line_numbers(BROKEN)
    assert numbers["title",] == 1
    assert numbers["phase", 0, "layer"] == 8
    assert numbers["phase", 0, "line", 0, "amunt"] == 12
    assert numbers["rule", 1] == 24


def test_saving_again_and_again_does_not_make_the_file_grow(tmp_path: Path) -> None:
    path = tmp_path / "shake.toml"
    path.write_bytes(DEMO.read_bytes())
    longer = replace(demo(), phases=(*demo().phases, Phase("Scent", "oil", (Line("Parfum", "0"),))))
    sizes = []
    for _ in range(6):
        save_formula(longer, path)
        save_formula(demo(), path)
        sizes.append(path.stat().st_size)
    assert sizes[1:] == sizes[:1] * 5
    assert read_formula(path) == demo()


def test_a_formula_whose_phases_were_all_taken_out_opens_again(tmp_path: Path) -> None:
    empty = Formula(title="Nothing yet")
    save_formula(empty, tmp_path / "f.toml")
    assert read_formula(tmp_path / "f.toml") == empty


def test_every_step_with_a_fault_is_told_not_only_the_first(tmp_path: Path) -> None:
    steps = "steps = ['stir', {do='heat', celsius='hot'}, 3, {do='cool', celsius='cold'}, 'fill']"
    (tmp_path / "f.toml").write_text(f"{steps}\n[[phase]]", encoding="utf-8")
    with pytest.raises(FileFaultsError) as raised:
        read_formula(tmp_path / "f.toml")
    told = " ".join(map(str, raised.value.faults))
    assert "found 'hot'" in told
    assert "step 3 must be text" in told
    assert "found 'cold'" in told
