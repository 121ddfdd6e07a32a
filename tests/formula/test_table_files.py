"""A formula as CSV and as a workbook."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import openpyxl
import pytest
from hypothesis import given, settings

from kit.demos import demo
from kit.errors import FileFaultsError
from kit.formula.amounts import read_amount
from kit.formula.editing import set_line
from kit.formula.files import read_formula, save_formula
from kit.formula.model import Formula, Line, Phase, Rule, Variant
from kit.formula.versions import keep_version
from kit.library.ingredient import Figure, Ingredient, Stock
from kit.library.sources import OWN
from kit.saving import earlier_saves
from tests.formula.made import formulas, water_and

if TYPE_CHECKING:
    from kit.findings import Finding

FULL = replace(
    demo(),
    earlier=(),
    written_for=250.0,
    materials=(
        *demo().materials,
        Stock("Salt stock", {"Sodium Chloride": 10.5, "Aqua": 89.5}, "Sodium Chloride", 10.0, "w/v", Figure(1.07, OWN)),
        Ingredient(
            "House blend", "house", (), ("emollient", "solvent"), "oil", "nonionic", Figure(0.9, OWN),
            composition={"Squalane": 50.0, "Tocopherol": 50.0}, facts_source=OWN, note="mild", own=True,
        ),
        Ingredient("Plum oil", phase="oil", facts_source=OWN, own=True),
    ),
)  # fmt: skip

HOSTILE = water_and(
    ("=1+1", "=2+2"), ("@x", "-3+1"), ("+cmd|x", "4"), ("\tTab", "q"), ('"Quoted", and; all\nlines', "0,5")
)


def faults(path: Path) -> list[str]:
    with pytest.raises(FileFaultsError) as raised:
        read_formula(path)
    return [str(fault) for fault in raised.value.faults]


def wrote(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def test_a_workbook_keeps_steps_stocks_own_ingredients_and_rules(tmp_path: Path) -> None:
    assert save_formula(FULL, tmp_path / "f.xlsx") == []
    assert read_formula(tmp_path / "f.xlsx") == FULL


def test_a_csv_keeps_the_lines(tmp_path: Path) -> None:
    save_formula(FULL, tmp_path / "After swim.csv")
    found = read_formula(tmp_path / "After swim.csv")
    assert found == Formula("After swim", FULL.phases)


def test_what_is_left_out_is_said(tmp_path: Path) -> None:
    (note,) = save_formula(demo(), tmp_path / "f.csv")
    assert (note.severity, note.sentence) == (
        "note",
        (
            "A CSV file does not hold title, version and product kind or stocks and own ingredients or rules or "
            "steps or versions that were kept. "
            "Save as TOML to keep everything."
        ),
    )
    (note,) = save_formula(demo(), tmp_path / "f.xlsx")
    assert note.sentence == "A XLSX file does not hold versions that were kept. Save as TOML to keep everything."
    assert "title, version and product kind" in save_formula(water_and(), tmp_path / "g.csv")[0].sentence
    assert save_formula(water_and(), tmp_path / "g.xlsx") == []
    twice = (Phase("A", "water", (Line("Aqua", "50"),)), Phase("A", "water", (Line("Urea", "50"),)))
    one, several = (save_formula(Formula("f", twice), tmp_path / f"h.{kind}")[-1].sentence for kind in ("xlsx", "csv"))
    for kind, sentence in (("XLSX", one), ("CSV", several)):
        assert f"Several phases are called 'A': in a {kind} file they become one." in sentence


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_text_that_a_spreadsheet_would_run_stays_text(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"f{suffix}"
    save_formula(HOSTILE, path)
    assert read_formula(path).phases == HOSTILE.phases
    if suffix == ".csv":
        cells = [cell for line in path.read_text(encoding="utf-8").splitlines() for cell in line.split(",")]
        assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t"))]
        assert "'=1+1" in cells
    else:
        written = [cell for row in openpyxl.load_workbook(path)["Formula"].iter_rows() for cell in row]
        assert {cell.data_type for cell in written if cell.value is not None} == {"s"}
        assert "=1+1" in {cell.value for cell in written}


@settings(max_examples=40)
@given(formulas(least=1))
def test_any_formula_comes_back_from_both(formula: Formula) -> None:
    formula = replace(formula, title="f")
    with TemporaryDirectory() as folder:
        for suffix in (".csv", ".xlsx"):
            path = Path(folder) / f"f{suffix}"
            save_formula(formula, path)
            found = read_formula(path)
            texts = [(p.name, p.kind, x.material, x.entry, x.hold) for p in found.phases for x in p.lines]
            kept = [(p.name, p.kind, x.material, x.entry, x.hold) for p in formula.phases for x in p.lines]
            assert texts == kept
            if suffix == ".xlsx":
                assert found.steps == formula.steps
                assert found.written_for == formula.written_for
                assert len(found.rules) == len(formula.rules)
                mixed = [
                    pytest.approx(dict(m.composition), rel=1e-12) for m in formula.materials
                ]  # a cell holds 16 digits
                assert [m.composition for m in found.materials] == mixed


def test_control_characters_that_a_workbook_cannot_hold_come_back_all_the_same(tmp_path: Path) -> None:
    formula = water_and(("Gly\x0bcerin\x07", "4"), ("_x0041_", "1"), ("a\rb", "1"))
    for suffix in (".csv", ".xlsx"):
        save_formula(formula, tmp_path / f"f{suffix}")
        assert read_formula(tmp_path / f"f{suffix}").phases == formula.phases


def test_phases_of_one_name_stay_apart_where_their_layers_differ(tmp_path: Path) -> None:
    phases = (Phase("Phase 1", "water", (Line("Aqua", "90"),)), Phase("Phase 1", "oil", (Line("Squalane", "10"),)))
    for name in ("f.csv", "f.xlsx"):
        save_formula(Formula("f", phases), tmp_path / name)
        assert read_formula(tmp_path / name).phases == phases


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_columns_may_stand_in_any_order_with_any_separator(tmp_path: Path, separator: str) -> None:
    rows = [("Amount", "INGREDIENT", "phase", "price"), ("q.s.", "Aqua", "A", "0"), ("4", "Glycerin", "A", "3")]
    path = wrote(tmp_path / "t.csv", "\r\n".join(separator.join(row) for row in rows))
    meant = (
        Line("Aqua", "q.s.", "fill", more=(("price", "0"),)),
        Line("Glycerin", "4", more=(("price", "3"),)),
    )
    notes: list[Finding] = []
    assert read_formula(path, notes) == Formula("t", (Phase("A", "water", meant),))
    assert [note.sentence.split(";")[0] for note in notes] == ["No name says the layer of A"]


def test_a_semicolon_file_may_hold_decimal_commas(tmp_path: Path) -> None:
    path = wrote(tmp_path / "t.csv", "\ufeffingredient;amount;layer\nAqua;q.s.;water\n;;\nSqualane;4,5;oil\n")
    phases = read_formula(path).phases
    assert [(p.name, p.kind, [x.entry for x in p.lines]) for p in phases] == [
        ("Phase 1", "water", ["q.s."]),
        ("Phase 1", "oil", ["4,5"]),
    ]


def test_an_amount_cut_at_its_decimal_comma_is_a_fault_not_another_amount(tmp_path: Path) -> None:
    path = wrote(tmp_path / "t.csv", "ingredient,amount\nAqua,90\nGlycerin,4,5\n")
    (fault,) = faults(path)
    assert fault.startswith("row 3: the amount can be 4, with '5' beside it, or 4.5. For the one,")


@pytest.mark.parametrize(
    ("head", "problem"),
    [
        (
            "what,amount",
            "row 1: there is no column 'ingredient'. The first row must hold the column names: ",
        ),
        (
            "a;b",
            "row 1: there is no column 'ingredient', 'amount'. The first row must hold the column names: ",
        ),
        (
            "",
            "row 1: there is no column 'ingredient', 'amount'. The first row must hold the column names: ",
        ),
    ],
)
def test_missing_columns_are_named(tmp_path: Path, head: str, problem: str) -> None:
    assert faults(wrote(tmp_path / "t.csv", head)) == [f"{problem}phase, layer, ingredient, amount, holds, note."]


def test_a_table_without_headings_begins_with_amounts_and_has_them_in_most_rows(tmp_path: Path) -> None:
    taken = "t.csv: there are no headings, so each column was taken for what it holds."
    for text, names in (
        ("Aqua,90\nGlycerin,10\n", ["Aqua", "Glycerin"]),
        ("Aqua,90\nGlycerin,good\nUrea,10\n", ["Aqua", "Glycerin", "Urea"]),  # two of three
        ("My shake\nAqua,90\nGlycerin,10\n", ["My shake", "Aqua", "Glycerin"]),  # the title has one cell
    ):
        notes: list[Finding] = []
        (phase,) = read_formula(wrote(tmp_path / "t.csv", text), notes).phases
        assert [line.material for line in phase.lines] == names
        assert taken in [note.sentence for note in notes]
    (phase,) = read_formula(wrote(tmp_path / "t.csv", "Aqua,90\nGlycerin,10\nUrea,good\n"), []).phases
    assert [line.entry for line in phase.lines] == ["90", "10", "good"]
    for text in ("Aqua,90\nGlycerin,good\n", "Aqua,good\nGlycerin,5\nUrea,5\n"):  # one of two; none in the first
        assert faults(wrote(tmp_path / "t.csv", text))[0].startswith("row 1: there is no column 'ingredient', 'amount'")


def test_faults_in_rows_are_told_all_at_once_with_their_row(tmp_path: Path) -> None:
    text = "layer,ingredient,amount,holds\nwater,Aqua,q.s.,fill\n\nwater,Urea,2,always\nsea,Salt,1,share\n"
    assert faults(wrote(tmp_path / "t.csv", text)) == [
        "row 4, holds: holds must be one of share, level, fill; found 'always'",
        "row 5, layer: layer must be one of water, oil, other; found 'sea'",
    ]


def test_a_csv_that_is_no_text_or_too_large_in_one_cell(tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_bytes(b"ingredient,amount\n\xe9,3")
    assert faults(tmp_path / "t.csv") == [
        "the whole file: it is not saved as UTF-8 text. Save it again as 'CSV UTF-8'."
    ]
    (found,) = faults(wrote(tmp_path / "u.csv", f"ingredient,amount\n{'x' * 200_000},3"))
    assert found.startswith("row 2: it cannot be read as a table (field larger")


def test_a_workbook_that_is_cut_short_or_none_at_all(tmp_path: Path) -> None:
    save_formula(FULL, tmp_path / "f.xlsx")
    whole = (tmp_path / "f.xlsx").read_bytes()
    for data in (whole[: len(whole) // 2], b"", b"PK\x03\x04 not really"):
        (tmp_path / "cut.xlsx").write_bytes(data)
        (found,) = faults(tmp_path / "cut.xlsx")
        assert found.startswith("file: it cannot be read as a workbook (")


def test_a_workbook_made_by_hand(tmp_path: Path) -> None:
    """One sheet of another name, numbers as numbers, percents as a spreadsheet shows them, a title that is a year."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Table 1"
    for row in (
        ["Ingredient", "Amount", None, "Remark", "Bought"],
        ["Aqua", "q.s."],
        [None, None],
        ["Glycerin", 0.045],
        ["Urea", 2.0],
    ):
        sheet.append(row)
    sheet["B4"].number_format = "0.0%"
    sheet["E2"] = datetime(2026, 3, 1)
    about = book.create_sheet("About")
    for row in (["field", "value"], ["title", 2026], ["version", 3]):
        about.append(row)
    book.save(tmp_path / "hand.xlsx")
    found = read_formula(tmp_path / "hand.xlsx")
    assert (found.title, found.version) == ("2026", 3)
    assert found.phases[0].lines[0].more == (("Bought", "2026-03-01"),)
    assert [(x.material, x.entry) for x in found.phases[0].lines] == [
        ("Aqua", "q.s."),
        ("Glycerin", "4.5 %"),
        ("Urea", "2"),
    ]


def test_a_faulty_rule_or_stock_in_a_workbook_says_which(tmp_path: Path) -> None:
    save_formula(replace(FULL, rules=(Rule("Parfum", None, 1.0),)), tmp_path / "f.xlsx")
    book = openpyxl.load_workbook(tmp_path / "f.xlsx")
    book["Rules"]["C2"] = "lots"
    book["Stocks"]["C2"] = -1
    book.save(tmp_path / "f.xlsx")
    found = faults(tmp_path / "f.xlsx")
    assert "stock, 1, strength: strength must be a number of 0 or more, without a unit; found -1" in found
    assert "rule, 1, most: most must be a number of 0 or more, without a unit; found 'lots'" in found


def test_numbers_that_a_workbook_holds_as_text_are_read_by_the_one_reader(tmp_path: Path) -> None:
    save_formula(replace(FULL, rules=(Rule("Parfum", None, 1.0),)), tmp_path / "f.xlsx")
    book = openpyxl.load_workbook(tmp_path / "f.xlsx")
    stocks, own = book["Stocks"], book["Own ingredients"]
    salt = next(row[0].row for row in stocks.iter_rows(min_row=2) if row[0].value == "Salt stock")
    plum = next(row[0].row for row in own.iter_rows(min_row=2) if row[0].value == "Plum oil")
    stocks[f"C{salt}"], stocks[f"F{salt}"], stocks[f"K{salt}"] = "10,5", "1,075 g/mL", "10.5 %"
    own[f"F{plum}"], book["Rules"]["C2"] = "0,92", "1,250"
    stocks[f"K{salt + 1}"], stocks[f"K{salt + 1}"].number_format = 0.895, "0.0%"
    book.save(tmp_path / "f.xlsx")
    found = read_formula(tmp_path / "f.xlsx")
    stock = next(each for each in found.materials if each.name == "Salt stock")
    oil = next(each for each in found.materials if each.name == "Plum oil")
    assert isinstance(stock, Stock)
    assert isinstance(oil, Ingredient)
    assert (stock.strength, stock.density) == (10.5, Figure(1.075, OWN))
    assert stock.contents == {"Sodium Chloride": 10.5, "Aqua": 89.5}
    assert (oil.density, found.rules[0].high) == (Figure(0.92, OWN), 1.25)  # 1250 % is no share
    for wrong in ("10.5 mol", "some", "1.234,5.6", ""):
        stocks[f"K{salt}"] = wrong
        book.save(tmp_path / "f.xlsx")
        assert any(fault.startswith("stock, ") for fault in faults(tmp_path / "f.xlsx"))


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_the_version_before_is_kept(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"f{suffix}"
    save_formula(water_and(("Glycerin", "1")), path)
    first = path.read_bytes()
    save_formula(water_and(("Glycerin", "2")), path)
    assert earlier_saves(path)[0].read() == first


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (
            "ingredient,amount,note\nAqua,50,5\n",
            (
                "row 2: the amount can be 50, with '5' under note, or 50.5. For the one, put both cells in double "
                "quotes; for the other, write 50.5. Or part all cells by semicolons."
            ),
        ),
        (
            "ingredient,amount,note\n1,2-Hexanediol,2\n",
            "row 2: 1,2-Hexanediol looks like one name. Put a name with a comma in double quotes.",
        ),
    ],
)
def test_a_table_that_can_be_read_two_ways_is_asked_about(tmp_path: Path, text: str, fault: str) -> None:
    assert faults(wrote(tmp_path / "t.csv", text)) == [fault]


#: Number formats as French workbooks store them, what the cell holds, and the amount that is meant. The file always has
#: the signs of ECMA-376-1:2016, 18.8.31 (point for decimals, comma for thousands), whatever the screen shows.
FRENCH = [
    (r"#\ ##0.00", 50.25, "50.25"),
    (r'#\ ##0.00" g"', 1250.5, "1250.5 g"),
    (r'#,##0.00\ "g"', 1250.5, "1250.5 g"),
    ('0,0" g"', 12.5, "12.5 g"),
    ('[$-40C]#,##0.0" g"', 1250.5, "1250.5 g"),
    ("0.00%", 0.0455, "4.55 %"),
    (r"0.00\ %", 0.0455, "4.55 %"),
    ('0.0"%"', 4.55, "4.55 %"),
    ('0.000," kg"', 1250.5, "1.2505 kg"),
    (r"#,##0.00\ [$€-40C]", 12.5, "12.5 €"),
    ("@", "1\u202f250,5 g", "1 250,5 g"),
]


@pytest.mark.parametrize(("number_format", "held", "meant"), FRENCH)
def test_a_french_workbook_is_read_as_it_is_meant(
    tmp_path: Path, number_format: str, held: float | str, meant: str
) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Formule"
    for row in (["Ingredient", "Amount"], ["Aqua", held], ["Urea", "0,5"]):
        sheet.append(row)
    sheet["B2"].number_format = number_format
    book.save(tmp_path / "f.xlsx")
    entry = read_formula(tmp_path / "f.xlsx", []).phases[0].lines[0].entry
    assert entry == meant
    amount = read_amount(entry)
    assert (amount.kind == "unreadable") == ("€" in meant)
    if isinstance(held, float) and amount.kind == "percent":
        assert amount.value == pytest.approx(100 * held if "%" in number_format.replace('"%"', "") else held)
    elif amount.kind == "mass":
        assert amount.value == 1250.5 or held == 12.5


def test_a_title_above_the_headings_is_told_with_its_row(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["Lotion du matin"], ["Ingredient", "Amount"], ["Aqua", 100]):
        sheet.append(row)
    book.save(tmp_path / "f.xlsx")
    notes: list[Finding] = []
    formula = read_formula(tmp_path / "f.xlsx", notes)
    assert [line.material for _, _, line, _ in formula.each_line()] == ["Aqua"]
    told = "f.xlsx: the names of the columns stand in row 2; what stands above them was not read."
    assert [note.sentence for note in notes] == [told]


HERS = "Phase;INCI;%;Function;Supplier\nA Water;Aqua;95;solvent; tap \nA Water;Urea;5;=danger;\n"


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".toml"])
def test_a_column_of_her_own_stays_with_its_line_while_others_change(tmp_path: Path, suffix: str) -> None:
    formula = read_formula(wrote(tmp_path / "hers.csv", HERS))
    path = tmp_path / f"f{suffix}"
    save_formula(formula, path)
    save_formula(set_line(read_formula(path), 0, 1, entry="6"), path)
    lines = read_formula(path).phases[0].lines
    assert [(line.entry, line.more) for line in lines] == [
        ("95", (("Function", "solvent"), ("Supplier", " tap "))),
        ("6", (("Function", "=danger"),)),
    ]


def test_columns_of_her_own_travel_with_variants_and_earlier_versions(tmp_path: Path) -> None:
    formula = read_formula(wrote(tmp_path / "hers.csv", HERS))
    kept = keep_version(set_line(formula, 0, 1, entry="6"), formula)
    family = replace(kept, variants=(Variant("dry", formula.phases, "first"),))
    save_formula(family, tmp_path / "f.toml")
    assert read_formula(tmp_path / "f.toml") == family


def test_her_own_columns_are_named_texts_in_a_toml_file(tmp_path: Path) -> None:
    text = '[[phase]]\nname = "A"\n[[phase.line]]\ningredient = "Aqua"\namount = "1"\nmore = { Price = 3 }\n'
    assert faults(wrote(tmp_path / "f.toml", text)) == [
        'line 6, more: more must be headings with texts: { Supplier = "ours", Function = "solvent" }'
    ]


def test_a_heading_of_her_own_that_is_one_of_the_kit_s_is_kept_apart(tmp_path: Path) -> None:
    path = wrote(tmp_path / "t.csv", "INCI,Ingredient,%,Note\nAqua,water,95,x\nUrea,urea,5,\n")
    formula = read_formula(path)
    assert formula.phases[0].lines[0] == Line("Aqua", "95", note="x", more=(("Ingredient", "water"),))
    save_formula(set_line(formula, 0, 0, entry="94"), path)
    assert path.read_text(encoding="utf-8").splitlines()[0] == "phase,layer,ingredient,amount,holds,note,Ingredient"
    assert read_formula(path).phases[0].lines[0].more == (("Ingredient", "water"),)


def test_the_nearest_name_of_a_column_is_told(tmp_path: Path) -> None:
    (fault,) = faults(wrote(tmp_path / "t.csv", "igredient;amount\nAqua;\n"))
    assert fault.endswith("Did you mean 'ingredient' by 'igredient'?")


@pytest.mark.parametrize("title", ["Formula", "Rezeptur"])
def test_the_sheet_with_the_headings_is_found(tmp_path: Path, title: str) -> None:
    book = openpyxl.Workbook()
    cover = book.active
    assert cover is not None
    cover.append(["Workshop", "2026"])
    sheet = book.create_sheet(title)
    for row in (["INCI", "%"], ["Aqua", 95], ["Urea", 5], ["Summe", "=SUM(B2:B3)"]):
        sheet.append(row)
    about = book.create_sheet("About")
    about.append(["all that is to be known"])
    book.save(tmp_path / "f.xlsx")
    notes: list[Finding] = []
    found = read_formula(tmp_path / "f.xlsx", notes)
    assert [line.material for *_, line, _ in found.each_line()] == ["Aqua", "Urea"]
    assert any(f"from the sheet {title!r}" in note.sentence for note in notes) == (title != "Formula")


def test_a_file_whose_batch_no_csv_can_hold_still_keeps_every_byte(tmp_path: Path) -> None:
    path = wrote(tmp_path / "t.csv", "INCI;g\nAqua;q.s.\nUrea;5\nTotal;100\n")
    before = path.read_bytes()
    formula = read_formula(path, [])
    assert formula.written_for == 100
    save_formula(formula, path)
    assert path.read_bytes() == before
    assert "the batch for which grams are written" in save_formula(formula, path)[0].sentence
