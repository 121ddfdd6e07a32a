"""A maker's own table says the same whether it is pasted, a CSV file or a workbook.

The tables stand in ``tables/``, written by hand in six languages, each with what it says.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import FileFaultsError
from kit.formula.amounts import read_amount
from kit.formula.files import read_formula, save_formula
from kit.formula.files.tables import csv_formula, xlsx_formula
from kit.formula.headings import find_headings, unit_of
from kit.formula.model import Formula
from kit.formula.paste import read_table_text
from tests.present import present
from tests.rows import each_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.findings import Finding

HERE = Path(__file__).parent / "tables"
Rows = list[list[str]]
#: phase, layer, ingredient, amount, how it holds, cells of columns that the kit does not read
Said = tuple[str, str, str, str, str, tuple[tuple[str, str], ...]]


@dataclass
class Written:
    """A table of the corpus and what it says."""

    name: str
    rows: Rows = field(default_factory=list)
    said: list[Said] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    grams: float | None = None


def corpus() -> list[Written]:
    found: list[Written] = []
    for path in sorted(HERE.glob("*.txt")):
        below, begun = False, False
        for text in path.read_text(encoding="utf-8").splitlines():
            cells = [cell.strip() for cell in text.split("|")]
            if text.startswith("## "):
                found.append(Written(f"{path.stem}: {text[3:]}"))
                below, begun = False, True
            elif text == "===":
                below = True
            elif not text.strip() or not begun:
                continue
            elif not below:
                found[-1].rows.append(cells)
            elif cells[0] == "told":
                found[-1].told.append(cells[1])
            elif cells[0] == "grams":
                found[-1].grams = float(cells[1])
            else:
                found[-1].said.append(as_said(cells))
    for table in found:
        width = max(map(len, table.rows))
        table.rows = [[*row, *[""] * (width - len(row))] for row in table.rows]
    return found


def as_said(cells: list[str]) -> Said:
    phase, layer, material, entry, *more = cells
    hold = "fill" if read_amount(entry).kind == "rest" else "share"
    pairs = {heading: text for heading, _, text in (cell.partition("=") for cell in more)}
    return phase, layer, material, entry, pairs.pop("holds", hold), tuple(pairs.items())


def said_by(formula: Formula) -> list[Said]:
    return [
        (phase.name, phase.kind, line.material, line.entry, line.hold, line.more)
        for phase in formula.phases
        for line in phase.lines
    ]


# ---- the ways in ----------------------------------------------------------------------------------------------


def separated(rows: Rows, mark: str) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=mark, lineterminator="\n").writerows(rows)
    return text.getvalue()


def pasted(rows: Rows, notes: list[Finding]) -> Formula:
    return read_text("\n".join("\t".join(row) for row in rows), notes)


def read_text(text: str, notes: list[Finding]) -> Formula:
    table = read_table_text(text)
    notes += [*table.notes, *table.placed()[1]]
    return Formula("t", table.phases(), written_for=table.written_for)


def as_csv_with(mark: str) -> Callable[[Rows, list[Finding]], Formula]:
    return lambda rows, notes: csv_formula(separated(rows, mark).encode(), "t.csv", notes)


def as_workbook(rows: Rows, notes: list[Finding]) -> Formula:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Blad 1"
    for row in rows:
        sheet.append([cell or None for cell in row])
    data = io.BytesIO()
    book.save(data)
    return xlsx_formula(data.getvalue(), "t.xlsx", notes)


def as_numbers(rows: Rows, notes: list[Finding]) -> Formula:
    """A workbook in which every number is one."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append([float(cell) if cell.replace(".", "", 1).isdecimal() else cell or None for cell in row])
    data = io.BytesIO()
    book.save(data)
    return xlsx_formula(data.getvalue(), "t.xlsx", notes)


WAYS: dict[str, Callable[[Rows, list[Finding]], Formula]] = {
    "pasted": pasted,
    "pasted with semicolons": lambda rows, notes: read_text(separated(rows, ";"), notes),
    "pasted with commas": lambda rows, notes: read_text(separated(rows, ","), notes),
    "comma": as_csv_with(","),
    "semicolon": as_csv_with(";"),
    "tab": as_csv_with("\t"),
    "workbook": as_workbook,
}
CORPUS = corpus()


def test_the_corpus_is_there() -> None:
    assert len(CORPUS) >= 40
    assert len({table.name.split(":")[0] for table in CORPUS}) == 6
    assert all(table.said for table in CORPUS)


@each_of("way", WAYS)
@each_of("table", CORPUS, ids=lambda table: table.name)
def test_a_table_says_what_its_maker_meant(table: Written, way: str) -> None:
    notes: list[Finding] = []
    formula = WAYS[way](table.rows, notes)
    assert said_by(formula) == table.said
    assert formula.written_for == table.grams
    sentences = " ".join(note.sentence for note in notes)
    assert [told for told in table.told if told not in sentences] == []


@pytest.mark.parametrize(
    "table",
    [table for table in CORPUS if not any("," in row[-1] + row[-2] for row in table.rows)],
    ids=lambda table: table.name,
)
def test_numbers_in_cells_are_the_same_numbers(table: Written) -> None:
    text, numbers = as_workbook(table.rows, []), as_numbers(table.rows, [])
    assert [(x.material, read_amount(x.entry)) for p in numbers.phases for x in p.lines] == [
        (x.material, replace(read_amount(x.entry))) for p in text.phases for x in p.lines
    ]


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".toml"])
@pytest.mark.parametrize("table", CORPUS, ids=lambda table: table.name)
def test_what_was_read_is_kept_with_every_cell_of_her_own(table: Written, suffix: str, tmp_path: Path) -> None:
    formula = replace(as_workbook(table.rows, []), title="t")
    save_formula(formula, tmp_path / f"t{suffix}")
    found = read_formula(tmp_path / f"t{suffix}", [])
    assert said_by(found) == table.said


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("table", CORPUS, ids=lambda table: table.name)
def test_a_file_that_is_opened_and_saved_keeps_every_byte(table: Written, mark: str, tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text(separated(table.rows, mark), encoding="utf-8")
    before = path.read_bytes()
    save_formula(read_formula(path, []), path)
    assert path.read_bytes() == before


@each_of("table", CORPUS, ids=lambda table: table.name)
def test_bars_between_cells_are_read_too(table: Written) -> None:
    """As tables come out of notes and chats: bars around the cells, lines drawn between the rows."""
    if len(table.rows[0]) == 1:
        return
    rows = ["| " + " | ".join(row) + " |" for row in table.rows if any(row)]
    rows.insert(1, "|" + "---|" * len(table.rows[0]))
    assert said_by(read_text("\n".join(rows), [])) == table.said


@pytest.mark.parametrize(
    "text",
    [
        "Fettphase\n40 g Squalane\n10 g Tocopherol\nWasserphase\n45 g Aqua\n5 g Urea",
        "Fettphase:\n- 40 g Squalane\n- 10 g Tocopherol\n\nWasserphase:\n- 45 g Aqua\n- 5 g Urea",
        "Fettphase:\nSqualane 40 g\nTocopherol 10 g\nWasserphase:\nAqua 45 g\nUrea 5 g",
    ],
)
def test_a_recipe_in_a_text_is_read_too(text: str) -> None:
    assert [line[:4] for line in said_by(read_text(text, []))] == [
        ("Fettphase", "oil", "Squalane", "40 g"),
        ("Fettphase", "oil", "Tocopherol", "10 g"),
        ("Wasserphase", "water", "Aqua", "45 g"),
        ("Wasserphase", "water", "Urea", "5 g"),
    ]


def test_of_two_amounts_in_a_text_the_one_in_brackets_stays_beside() -> None:
    text = "Phase huileuse :\n- 2,5g Squalane (5%)\nPhase aqueuse :\n- 47,5g Aqua (95%)"
    assert [(line[0], line[2], line[3], line[5]) for line in said_by(read_text(text, []))] == [
        ("Phase huileuse", "Squalane", "2,5g", (("Column 3", "5%"),)),
        ("Phase aqueuse", "Aqua", "47,5g", (("Column 3", "95%"),)),
    ]


# ---- tables put together anew -----------------------------------------------------------------------------------

ROWS = [row for table in CORPUS for row in table.rows]
CELLS = st.sampled_from(sorted({cell for row in ROWS for cell in row}))
HEADS = st.sampled_from([table.rows[0] for table in CORPUS if len(table.rows[0]) > 1])


@given(st.sampled_from(CORPUS), st.data())
def test_any_of_the_tables_says_the_same_in_every_way(table: Written, data: st.DataObject) -> None:
    """Rows left out, doubled and in another order, columns too: whatever it says, it says it in every way."""
    rows = data.draw(st.lists(st.sampled_from(table.rows[1:]), min_size=1, max_size=8))
    order = data.draw(st.permutations(range(len(table.rows[0]))))
    mixed = [[row[n] for n in order] for row in (table.rows[0], *rows)]
    if not any(any(row) for row in mixed[1:]):
        return
    assert_same(mixed)


@given(HEADS, st.data())
def test_any_cells_under_any_headings_say_the_same_in_every_way(head: list[str], data: st.DataObject) -> None:
    rows = data.draw(st.lists(st.lists(CELLS, min_size=len(head), max_size=len(head)), min_size=1, max_size=6))
    assert_same([head, *rows])


def assert_same(rows: Rows) -> None:
    """One formula in every way; a file that is refused is so however it is written, and nothing pasted ever is.

    Where the cells are parted by commas, two of them can look like one number, and that is asked about.
    """
    rows = [row for row in rows if any(row)]
    found = {way: what_it_says(way, rows) for way in ("pasted", "comma", "semicolon", "tab", "workbook")}
    files = {found[way] for way in ("semicolon", "tab", "workbook")}
    assert len(files) == 1
    assert found["comma"] in (files | {REFUSED})
    assert found["pasted"] != REFUSED
    assert files in ({REFUSED}, {found["pasted"]})


REFUSED = "refused"


def what_it_says(way: str, rows: Rows) -> str:
    try:
        formula = WAYS[way](rows, [])
    except FileFaultsError:
        return REFUSED
    return str((said_by(formula), formula.written_for))


def test_a_heading_with_the_sum_of_its_phase_is_no_line() -> None:
    text = "Ingredient;%\nWater phase;70\nAqua;68\nGlycerin;2\nOil phase;30\nSqualane;29,5\nTocopherol;0,5\n"
    found = read_table_text(text)
    assert [(row.phase, row.material, row.entry) for row in found.rows] == [
        ("Water phase", "Aqua", "68"), ("Water phase", "Glycerin", "2"),
        ("Oil phase", "Squalane", "29,5"), ("Oil phase", "Tocopherol", "0,5"),
    ]  # fmt: skip
    wrong = read_table_text(text.replace("phase;70", "phase;71"))  # no sum: it is read as a line, and nothing is lost
    assert ("Water phase", "71") in [(row.material, row.entry) for row in wrong.rows]


@pytest.mark.parametrize(
    ("beside", "heading", "unit"),
    [
        ("Max %", "%", "%"), ("Active %", "Amount %", "%"), ("Price per 100 g", "g", "g"), ("Prix €/g", "g", "g"),
        ("Wirkstoff aktiv %", "Menge %", "%"), ("100 g batch", "Amount", ""), ("1 kg", "% w/w", "%"),
        ("Remark", "Amount 2", ""), ("Remark", "% 2", "%"), ("Remark", "Weight", ""), ("Remark", "Gewicht", ""),
        ("Remark", "kg", "kg"),
    ],
)  # fmt: skip
def test_the_amounts_are_not_taken_from_prices_limits_or_another_batch(beside: str, heading: str, unit: str) -> None:
    rows = [["Ingredient", beside, heading], ["Aqua", "90", "68"], ["Glycerin", "5", "2"], ["Squalane", "6", "30"]]
    found = present(find_headings(rows))
    assert found.names == ("ingredient", beside, "amount")
    assert (found.unit, found.told) == (unit, ())


def test_a_column_called_layer_is_the_phase_where_it_names_no_layer() -> None:
    for names, column in ((("A", "B"), "phase"), (("water", "oil"), "layer")):
        rows = [["Ingredient", "Amount", "Layer"], ["Aqua", "90", names[0]], ["Squalane", "10", names[1]]]
        assert present(find_headings(rows)).names == ("ingredient", "amount", column)
    twice = present(find_headings([["ingredient", "amount", "ingredient"], ["Aqua", "90", "water"]]))
    assert twice.names == ("ingredient", "amount", "ingredient (2)")
    assert twice.told == ("More than one column is called 'ingredient': the first was taken, the others stay unread.",)


def test_a_heading_says_the_unit_in_words_and_signs() -> None:
    heads = ("Menge in ‰", "Kilogramm", "Amount in kilograms", "Gramme", "Anteil ppm", "% p/v", "w/v %", "cl", "gr")
    assert [unit_of(head) for head in heads] == ["‰", "kg", "kg", "g", "ppm", "% w/v", "% w/v", "cL", "g"]


def test_fractions_of_one_are_told() -> None:
    told = "the amounts add to 1, as fractions do, and were read as percent."
    assert told in sentences("Ingredient;Amount\nAqua;0.68\nSqualane;0.32")
    assert told not in sentences("Ingredient;Amount\nAqua;0.68 %\nSqualane;0.32 %")  # who writes % means it
    assert told not in sentences("Ingredient;Amount\nAqua;0.68\nSqualane;0.31")
    odd = read_table_text("Ingredient;Amount\nAqua;ad 1.2.3 g\nUrea;5 g")
    assert (odd.rows[0].entry, odd.written_for) == ("ad 1.2.3 g", None)


def sentences(text: str) -> str:
    return " ".join(note.sentence for note in read_table_text(text).notes)


def test_an_amount_without_a_name_is_a_total_only_where_names_end() -> None:
    for text, count in (
        ("Ingredient;%\nAqua;68\nGlycerin;2\nSqualane;30\n;100", 3),
        ("Ingredient;%\nAqua;68\nGlycerin;2\n;70\nSqualane;30", 4),  # 68 + 2 = 70, but more follows
    ):
        assert len(read_table_text(text).rows) == count
    assert [row.entry for row in read_table_text("4\n4\n8").rows] == ["4", "4", "8"]  # a column of amounts alone


def test_the_batch_is_what_a_total_in_grams_says() -> None:
    table = "Ingredient;g\nAqua;q.s.\nGlycerin;10\nTotal;{}\n"
    for grams in ("250", "0.5"):
        assert read_table_text(table.replace("10", "0.1").format(grams)).written_for == float(grams)
    for no_batch in ("0", "100 %", "q.s."):
        assert read_table_text(table.format(no_batch)).written_for is None
        assert "beside q.s. nothing says how large the batch is." in sentences(table.format(no_batch))
    assert read_table_text("Ingredient;Amount\nAqua;ad 250 g\nGlycerin;10 g\n").written_for == 250
    assert read_table_text("Ingredient;Amount\nAqua;ad 0,25 kg\nGlycerin;10 g\n").written_for == 250
    none = read_table_text("Ingredient;Amount\nAqua;ad 0 g\nGlycerin;10 g\n")
    assert (none.written_for, none.rows[0].entry) == (None, "ad 0 g")


def test_what_is_no_line_is_told() -> None:
    table = "Phase;Ingredient;%;Remark\nA;Aqua;60;\n;;;stir gently\nB;Squalane;40;\nTotal;;100;\n;keep cool;;\n"
    assert [(row.phase, row.material) for row in read_table_text(table).rows] == [("A", "Aqua"), ("B", "Squalane")]
    assert "row 3 names no ingredient and was not read: stir gently." in sentences(table)
    assert "what stands below the total was not read: keep cool." in sentences(table)
    # Below a sum of one phase the next one follows, so a line without an amount there is one.
    for rows in (("B;Parfum;", "B;Squalane;40"), ("B;Squalane;40", "B;Parfum;")):
        sums = "\n".join(("Phase;Ingredient;%", "A;Aqua;60", ";Total;60", *rows))
        assert {row.material for row in read_table_text(sums).rows} == {"Aqua", "Parfum", "Squalane"}
        assert "below the total" not in sentences(sums)
    titled = "Ingredient;%\nMy shake;\nWater phase;\nAqua;60\nOil phase;\nSqualane;40\n"
    assert "what stands above the first phase was not read: My shake." in sentences(titled)
    beside = "Phase;Ingredient;%;Remark\nA;;;heat\n;Aqua;60;\nB;;;\n;Squalane;40;\n"
    assert [row.phase for row in read_table_text(beside).rows] == ["A", "B"]
    assert "what stands beside the heading A was not read: heat." in sentences(beside)
    empty = "Phase;Ingredient;%\nA;Aqua;100\nOil phase;;\nB;;\n"
    assert "no lines stand under 'Oil phase', so it was left out." in sentences(empty)
    assert "no lines stand under 'B', so it was left out." in sentences(empty)


def test_a_cell_of_several_lines_is_one_cell() -> None:
    whole = read_table_text('Ingredient\t%\n"Aqua\n(purified)"\t90\nGlycerin\t10')
    assert [(row.material, row.entry) for row in whole.rows] == [("Aqua (purified)", "90"), ("Glycerin", "10")]
    # two stray quotation marks in different columns are no cell of several lines, and no row is lost
    stray = read_table_text('Ingredient\tAmount\nAqua\t"90\nGlycerin"\t4')
    assert [row.entry for row in stray.rows] == ["90", "4"]
