from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from kit.demos import demo
from kit.errors import FileFaultsError, StoreError, UnknownNameError
from kit.file_names import file_stem
from kit.formula.files import read_formula, save_formula
from kit.library.ingredient import Ingredient
from kit.library.own import OWN_FILE, save_own
from kit.saving import earlier_saves
from kit.widgets.bench import Bench, open_bench
from tests.widgets.hands import one_phase, two_layers, typed


def test_a_file_that_is_there_is_opened_and_there_is_nothing_to_undo() -> None:
    save_formula(two_layers(title="Mine"), "mine.toml")
    bench = open_bench("mine.toml")
    assert bench.formula.title == "Mine"
    assert bench.start is bench.saved is bench.formula
    assert bench.file == Path("mine.toml")
    assert not bench.can_undo


def test_without_the_file_the_demo_that_was_asked_for_is_in_hand_and_saved_there() -> None:
    bench = open_bench("mine.toml", start_from="after_swim_body_shake")
    assert bench.formula == demo()
    assert bench.saved is None
    assert not Path("mine.toml").exists()
    bench.save()
    assert read_formula("mine.toml") == demo()
    assert bench.saved is bench.formula


def test_a_demo_that_is_not_there_is_named() -> None:
    with pytest.raises(UnknownNameError, match=r"There is no demo formula 'elixir'\. Write one of"):
        open_bench(start_from="elixir")


def test_saved_without_a_name_it_takes_the_title(bench: Bench) -> None:
    bench.change(replace(bench.formula, title="Tern Lane: shake, no. 2!"))
    assert bench.save() == []
    assert bench.file == Path("tern_lane_shake_no_2.toml")
    assert bench.file.exists()


@pytest.mark.parametrize(
    ("title", "stem"),
    [
        ("After-swim body shake", "after_swim_body_shake"),
        ("../../etc/passwd", "etc_passwd"),
        ("  ", "formula"),
        ("Öl & Wasser", "öl_wasser"),
        ("x" * 90, "x" * 60),
    ],
)
def test_a_title_becomes_a_file_name(title: str, stem: str) -> None:
    assert file_stem(title) == stem


def test_saving_again_keeps_the_version_before(bench: Bench) -> None:
    bench.save("shake.toml")
    typed(bench, 0, 1, "6")
    bench.save()
    assert read_formula("shake.toml") == bench.formula
    assert b'amount = "4"' in earlier_saves("shake.toml")[0].read()


def test_what_a_kind_of_file_leaves_out_is_said_and_stays_in_hand(bench: Bench) -> None:
    bench.add_material(Ingredient("Lane Extract (invented)"))
    notes = bench.save("shake.csv")
    assert [note.sentence for note in notes] == [
        (
            "A CSV file does not hold title, version and product kind or stocks and own ingredients "
            "or versions that were kept. Save as TOML to keep everything."
        )
    ]
    assert bench.formula.materials
    assert bench.file == Path("shake.csv")


def test_what_cannot_be_saved_leaves_the_bench_as_it_was(bench: Bench) -> None:
    bench.save("shake.toml")
    with pytest.raises(FileFaultsError, match=r"shake\.docx has 1 fault"):
        bench.save("shake.docx")
    with pytest.raises(StoreError, match=r"shake\.toml was not saved: its folder is not there"):
        bench.save("nowhere/shake.toml")
    assert bench.file == Path("shake.toml")


def test_a_file_with_faults_leaves_the_bench_as_it_was(bench: Bench) -> None:
    Path("broken.toml").write_text('titel = "x"\n', encoding="utf-8")
    before = bench.formula
    with pytest.raises(FileFaultsError, match="did you mean 'title'"):
        bench.open("broken.toml")
    assert (bench.formula, bench.file, bench.can_undo) == (before, None, False)


def test_undo_after_opening_brings_back_the_work_with_its_own_file(bench: Bench) -> None:
    save_formula(one_phase(("Aqua", "100")), "toner.toml")
    bench.save("shake.toml")
    typed(bench, 0, 1, "6")
    mine, start = bench.formula, bench.start
    bench.open("toner.toml")
    assert (bench.formula.title, bench.start.title, bench.file) == ("Toner", "Toner", Path("toner.toml"))
    bench.undo()
    assert (bench.formula, bench.start, bench.file) == (mine, start, Path("shake.toml"))
    bench.save()
    assert read_formula("toner.toml").title == "Toner"
    assert read_formula("shake.toml") == mine
    bench.redo()
    assert (bench.formula.title, bench.start.title, bench.file) == ("Toner", "Toner", Path("toner.toml"))


def test_opening_its_own_file_again_drops_the_changes_and_undo_brings_them_back(bench: Bench) -> None:
    bench.save("shake.toml")
    typed(bench, 0, 1, "6")
    changed = bench.formula
    bench.open("shake.toml")
    assert bench.formula == bench.start == two_layers()
    bench.undo()
    assert (bench.formula, bench.file) == (changed, Path("shake.toml"))


def test_opening_what_is_in_hand_is_no_step(bench: Bench) -> None:
    bench.save("shake.toml")
    bench.open("shake.toml")
    assert not bench.can_undo


def test_a_bench_knows_the_makers_own_ingredients() -> None:
    save_own(Path(OWN_FILE), [Ingredient("Cera Nova", own=True)])
    assert open_bench().library.get("Cera Nova") is not None


def test_a_faulty_file_of_ones_own_is_said_and_not_passed_over() -> None:
    Path(OWN_FILE).write_text("inci,density_g_ml\nCera Nova,heavy\n", encoding="utf-8")
    with pytest.raises(FileFaultsError, match="row 2"):
        open_bench()
