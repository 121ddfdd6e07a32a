"""What a person wrote into a file stays as she wrote it: no number is cut, and opening and saving changes no byte."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import ChangedOnDiskError, FileFaultsError
from kit.formula.editing import set_line
from kit.formula.files import read_formula, save_formula
from kit.saving import Seen, earlier_saves
from tests.formula.made import formulas, water_and

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.formula.model import Formula

HEAD = '[[phase]]\nname = "Water"\n'


def read(text: str, name: str = "f.toml") -> Formula:
    with TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(text.encode())
        return read_formula(path)


@pytest.mark.parametrize(
    "written",
    ["2.9", "2.0", '"2"', "true", "-1", "0", "1" * 400, "1e3", "inf", "nan", "[2]", "2026-01-01", "0x" + "f" * 5000],
)
def test_a_version_that_is_no_whole_number_is_refused_and_never_cut(written: str) -> None:
    for line, text in (
        (1, f"version = {written}\n{HEAD}"),
        (4, f"{HEAD}[[earlier]]\nversion = {written}\nlines = []\n"),
    ):
        with pytest.raises(FileFaultsError) as told:
            read(text)
        (fault,) = told.value.faults
        assert fault.where == f"line {line}, version"
        assert fault.problem.startswith("version must be a whole number from 1, such as 3; found ")
        assert len(fault.problem) < 140


def test_a_number_of_thousands_of_digits_is_told() -> None:
    with pytest.raises(FileFaultsError, match=r"f\.toml has 1 fault"):
        read(f"version = {'1' * 5000}\n{HEAD}")


PLACES = {
    "strength": '{head}[[stock]]\nname = "A"\nactive = "Urea"\ncontents = {{ Urea = 50, Aqua = 50 }}\nstrength = {v}\n',
    "density": '{head}[[stock]]\nname = "A"\ncontents = {{ Urea = 50, Aqua = 50 }}\ndensity = {v}\n',
    "share": '{head}[[ingredient]]\ninci = "A"\ncomposition = {{ Urea = {v}, Aqua = 1 }}\n',
    "least": '{head}[[rule]]\ningredient = "Urea"\nleast = {v}\n',
    "amount": '{head}[[phase.line]]\ningredient = "Urea"\namount = {v}\n',
    "row": '{head}[[variant]]\nname = "A"\nlines = [["W", "water", "Urea", {v}, "share"]]\n',
    "steps": "steps = [{v}]\n{head}",
    "roles": '{head}[[ingredient]]\ninci = "A"\nroles = [{v}]\n',
    "written_for": "written_for = {v}\n{head}",
    "ph": "measured_ph = {v}\n{head}",
    "title": "title = {v}\n{head}",
}
NUMBERS = st.one_of(
    st.integers(-(10**420), 10**420),
    st.integers(0, 200),
    st.floats(),
    st.floats(0, 200),
    st.decimals(0, 200, places=20),
).map(str)
VALUES = st.one_of(NUMBERS, st.sampled_from(['""', '"3"', "true", "false", "[]", "{}", "1979-05-27", "[[1]]"]))


def what_it_says(formula: Formula, place: str) -> object:
    """The number that a file's place was read as."""
    stock: Any = next(iter(formula.materials), None)
    places: dict[str, Callable[[], object]] = {
        "strength": lambda: stock.strength,
        "density": lambda: stock.density.value,
        "share": lambda: stock.composition["Urea"],
        "least": lambda: formula.rules[0].low,
        "amount": lambda: formula.phases[0].lines[0].entry,
        "row": lambda: formula.variants[0].phases[0].lines[0].entry,
        "steps": lambda: formula.steps[0],
        "roles": lambda: stock.roles[0],
        "written_for": lambda: formula.written_for,
        "ph": lambda: formula.ph,
        "title": lambda: formula.title,
    }
    return places[place]()


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(PLACES)), VALUES)
def test_a_value_of_any_kind_is_read_as_it_is_or_refused_with_its_line(place: str, written: str) -> None:
    try:
        said = what_it_says(read(PLACES[place].format(head=HEAD, v=written)), place)
    except FileFaultsError as error:
        unplaced = [fault for fault in error.faults if not fault.where.startswith("line ")]
    else:
        unplaced = []
        is_as_written(place, said, written)
    assert [fault for fault in unplaced if fault.where != "file"] == []


def is_as_written(place: str, said: object, written: str) -> None:
    if place in ("amount", "row") and isinstance(said, str) and not written.startswith('"'):
        assert float(said) == float(written)
        if place == "amount":  # an amount keeps the very digits
            assert said.rstrip("0") == written.rstrip("0")
    elif said is None:  # a table of nothing says that no pH was measured
        assert (place, written) == ("ph", "{}")
    elif isinstance(said, float):
        assert said == float(written)
    else:
        assert f'"{said}"' == written


# ---- opened and saved ---------------------------------------------------------------------------------------

SIGNS = st.text(st.sampled_from("0123456789"), min_size=1, max_size=4)
#: Numbers as somebody types them: with noughts behind, with a comma, with and without a unit.
TYPED = st.one_of(
    st.tuples(SIGNS, SIGNS).map(lambda parts: f"{int(parts[0])}.{parts[1]}"),
    SIGNS.map(lambda digits: str(int(digits))),
    st.tuples(SIGNS, SIGNS, st.sampled_from(["", " %", " ppm", " g"])).map(
        lambda parts: f'"{int(parts[0])},{parts[1]}{parts[2]}"'
    ),
)
STYLES = st.tuples(st.sampled_from(["\n", "\r\n"]), st.sampled_from(["", "\ufeff"]), st.sampled_from(["", "  # mine"]))


def by_hand(amounts: list[str], mass: str, style: tuple[str, str, str]) -> bytes:
    end, mark, remark = style
    lines = [
        f"title = 'By hand'{remark}",
        "product_kind = 'rinse-off'",
        "version=3",
        f"written_for   =  {mass}",
        "",
        "# the water",
        "[[phase]]",
        "name= 'Water'",
        "layer = 'water'",
    ]
    for n, amount in enumerate(amounts):
        lines += ["[[phase.line]]", f"ingredient = 'Material {n}'{remark}", f"amount   = {amount}", ""]
    return (mark + end.join(lines) + end).encode()


@settings(max_examples=80, deadline=None)
@given(st.lists(TYPED, min_size=1, max_size=5), st.sampled_from(["'250 g'", '"0,25 kg"', "'250.0 g'"]), STYLES)
def test_opened_and_saved_a_formula_keeps_every_byte(
    amounts: list[str], mass: str, style: tuple[str, str, str]
) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "f.toml"
        path.write_bytes(by_hand(amounts, mass, style))
        before, seen = path.read_bytes(), Seen()
        formula = seen.read(path, read_formula)
        save_formula(formula, path, seen=seen)
        assert path.read_bytes() == before
        assert earlier_saves(path) == []
        # one line changed: no digit of another one changes, nor how the file ends its lines
        save_formula(set_line(formula, 0, 0, entry="77"), path, seen=seen)
        after = path.read_bytes()
        same = [(a, b) for a, b in zip(before.split(b"\n"), after.split(b"\n"), strict=True) if a != b]
        assert len(same) <= 1
        assert all(a.startswith(b"amount") for a, _ in same)


@settings(max_examples=40, deadline=None)
@given(formulas(least=1), st.sampled_from([".toml", ".csv", ".xlsx"]))
def test_whatever_it_is_saved_as_saving_what_was_opened_changes_no_byte(formula: Formula, suffix: str) -> None:
    if not formula.phases:
        return
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"f{suffix}"
        save_formula(formula, path)
        before = path.read_bytes()
        save_formula(read_formula(path), path)
        assert path.read_bytes() == before


def test_a_csv_by_hand_keeps_every_byte(tmp_path: Path) -> None:
    path = tmp_path / "f.csv"
    path.write_bytes("\ufeffIngredient;Amount\r\nAqua;q.s.\r\nGlycerin;3,50\r\n\r\n".encode())
    before = path.read_bytes()
    save_formula(read_formula(path), path)
    assert path.read_bytes() == before


def test_a_csv_with_a_quotation_mark_that_is_never_closed_loses_no_line(tmp_path: Path) -> None:
    path = tmp_path / "f.csv"
    path.write_text('ingredient,amount\nAqua,"90\nGlycerin,10\n', encoding="utf-8")
    with pytest.raises(FileFaultsError, match="row 2: a quotation mark is opened here and closed nowhere"):
        read_formula(path)


@pytest.mark.parametrize("suffix", [".toml", ".csv", ".xlsx"])
def test_what_another_window_saved_is_not_passed_over(tmp_path: Path, suffix: str) -> None:
    path, mine, theirs = tmp_path / f"f{suffix}", Seen(), Seen()
    save_formula(water_and(("Glycerin", "1")), path)
    formula = mine.read(path, read_formula)
    save_formula(set_line(theirs.read(path, read_formula), 0, 1, entry="2"), path, seen=theirs)
    with pytest.raises(ChangedOnDiskError):
        save_formula(set_line(formula, 0, 1, entry="3"), path, seen=mine)
    assert read_formula(path).phases[0].lines[1].entry == "2"
    save_formula(set_line(formula, 0, 1, entry="2"), path, seen=mine)  # the same as theirs: nothing to choose
    save_formula(set_line(formula, 0, 1, entry="4"), path, seen=mine)
    assert read_formula(path).phases[0].lines[1].entry == "4"


def test_a_file_that_a_person_damaged_meanwhile_is_told_too(tmp_path: Path) -> None:
    path, seen = tmp_path / "f.toml", Seen()
    save_formula(water_and(), path, seen=seen)
    path.write_text("title = ", encoding="utf-8")
    with pytest.raises(ChangedOnDiskError):
        save_formula(replace(water_and(), title="Mine"), path, seen=seen)


def test_the_files_of_these_tests_are_toml() -> None:
    tomlkit.parse(by_hand(["3.50", '"3,5 %"'], "'250 g'", ("\n", "", "  # mine")).decode())


@pytest.mark.parametrize("cell", [2.9, "2", True, -1, 0, 1e300])
def test_a_version_in_a_workbook_is_not_cut_either(tmp_path: Path, cell: object) -> None:
    import openpyxl

    path = tmp_path / "f.xlsx"
    save_formula(water_and(("Glycerin", "1")), path)
    book = openpyxl.load_workbook(path)
    row = next(row for row in book["About"].iter_rows() if row[0].value == "version")
    row[1].value = cell
    book.save(path)
    with pytest.raises(FileFaultsError, match="version: version must be a whole number from 1"):
        read_formula(path)
