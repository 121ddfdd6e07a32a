"""A maker's own CSV files: whatever text stands in a cell comes back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.price_list import read_prices
from kit.bench.stock_book import StockBook
from kit.errors import FileFaultsError, StoreError
from kit.formula.files import read_formula
from kit.formula.model import Formula
from kit.label.particulars import read_particulars
from kit.label.statements import read_statements
from kit.library.own import read_own
from kit.spreadsheet_text import unguarded
from kit.tables import Schema, as_csv, read_file, read_table, rows_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

CELLS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0")) | st.lists(
    st.sampled_from(["\r", "\n", "=", "'", '"', ",", ";", "a"]), max_size=6
).map("".join)


@given(st.lists(st.tuples(CELLS, CELLS, CELLS), max_size=4))
def test_every_cell_comes_back_as_it_was(rows: list[tuple[str, str, str]]) -> None:
    read = rows_of(as_csv([("a", "b", "c"), *rows]).encode(), "own.csv")
    assert [tuple(unguarded(cell) for cell in row) for row in read[1:]] == rows


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_however_a_spreadsheet_writes_it(mark: str, ending: str) -> None:
    data = f"\ufeffmaterial{mark}price{ending}Urea{mark}8{ending}".encode()
    assert rows_of(data, "own.csv") == [["material", "price"], ["Urea", "8"]]


def test_what_is_no_table_is_told() -> None:
    with pytest.raises(FileFaultsError, match=r"own\.csv has 1 fault.*\n- the whole file: it is not saved as UTF-8"):
        rows_of(b"\xff\xfe", "own.csv")
    with pytest.raises(FileFaultsError, match="row 2: it cannot be read as a table"):
        rows_of(b"a,b\n" + b"x" * 200_000, "own.csv")


@pytest.mark.parametrize(
    ("text", "row"), [('a,b\n1,"2\n3,4\n', 2), ('a,b\n1,2\n3,"4', 3), ('a,"b\n1,2\n', 1), ('a,b\n1,"2\n3,"4"\n', 2)]
)
def test_a_quotation_mark_that_is_never_closed_swallows_no_row(text: str, row: int) -> None:
    with pytest.raises(FileFaultsError, match=rf"row {row}: (a quotation mark is opened here|it cannot be read)"):
        rows_of(text.encode(), "own.csv")


def test_a_file_that_cannot_be_opened_is_named(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"own\.csv cannot be read: there is no such file\. Check the name"):
        read_file(tmp_path / "own.csv")
    with pytest.raises(StoreError, match=f"{tmp_path.name} cannot be read: "):
        read_file(tmp_path)


READERS: dict[str, Callable[[Path], object]] = {
    "prices": read_prices,
    "own": read_own,
    "book": lambda path: StockBook(path).entries(),
    "statements": read_statements,
    "particulars": read_particulars,
    "formula": lambda path: read_formula(path, []),
}
BOTH = "can be {0}, with {1!r} under {2}, or {0}.{1}. For the one, put both cells in double quotes"


@pytest.mark.parametrize(
    ("kind", "head", "row", "cells"),
    [
        ("prices", "material,unit,amount,price,currency,note", "Glycerin,g,1,9,80,note", ("9", "80", "currency")),
        ("prices", "material,amount,unit,price,note,currency", "Glycerin,1,kg,9,80,EUR", ("9", "80", "note")),
        ("prices", "material,amount,unit,price,lot,note", "Glycerin,1,kg,€9,80", ("€9", "80", "lot")),
        ("prices", "material,amount,unit,price,per_bottle,note", "Bottle,10,pieces,9,80", ("9", "80", "per_bottle")),
        ("prices", "material,amount,unit,price,currency,note", "Glycerin,1,5,kg,9.80,EUR", ("1", "5", "unit")),
        ("own", "inci,density_g_ml,note", "Plum Oil,0,92", ("0", "92", "note")),
        ("own", "inci,composition,note", "Blend,Aqua 90,5; Glycerin 9.5", ("Aqua 90", "5; Glycerin 9.5", "note")),
        ("own", "inci,usual_low_percent,usual_high_percent,note", "Urea,1,5", ("1", "5", "usual_high_percent")),
        ("book", "date,stock,what happened,grams,note", "2026-01-12,Acid,made,97,5", ("97", "5", "note")),
        ("statements", "material,allergen,percent,certificate", "Parfum,Linalool,0,7", ("0", "7", "certificate")),
        ("formula", "ingredient,amount,holds,note", "Aqua,50,5 %", ("50", "5 %", "holds")),
    ],
)
def test_a_number_cut_at_its_decimal_comma_is_no_number_in_any_file(
    tmp_path: Path, kind: str, head: str, row: str, cells: tuple[str, str, str]
) -> None:
    path = tmp_path / "mine.csv"
    path.write_text(f"{head}\n{row}\n", encoding="utf-8")
    with pytest.raises(FileFaultsError) as raised:
        READERS[kind](path)
    assert BOTH.format(*cells) in str(raised.value)
    assert all(fault.where.startswith(("row 2", "column currency")) for fault in raised.value.faults)


@pytest.mark.parametrize("kind", READERS)
def test_a_text_cut_at_its_own_comma_is_a_fault(tmp_path: Path, kind: str) -> None:
    heads = {
        "prices": "material,amount,unit,price",
        "own": "inci,note",
        "book": "date,stock,what happened,grams,note",
        "statements": "material,allergen,percent",
        "particulars": "particular,text",
        "formula": "ingredient,amount",
    }
    rows = {"book": "2026-01-12,Acid,made,97,lot 3, blue", "particulars": "durability_months,1,5"}
    path = tmp_path / "mine.csv"
    path.write_text(f"{heads[kind]}\n{rows.get(kind, 'Oil,5,g,1,7')}\n", encoding="utf-8")
    with pytest.raises(FileFaultsError, match=r"row 2: (there are|it has|the .* can be)"):
        READERS[kind](path)


PRICES = Schema(
    "a list", ("material", "price", "lot", "bought_on", "note"), ("material", "price"), ("price",), ("bought_on",)
)


@pytest.mark.parametrize(
    "row",
    [
        '"Oil",9,"80",',
        'Oil,"9","80",n',
        "Oil,9,80,",
        "Oil,9.0,80,n",
        "Oil,9,lot 80,n",
        "Oil,9,,80",
        "Oil;9;80;n",
        "Oil,9",
    ],
)
def test_what_is_counted_or_quoted_is_read(row: str) -> None:
    head = "material;price;lot;note" if ";" in row else "material,price,lot,note"
    table = read_table(f"{head}\n{row}\n".encode(), "t.csv", PRICES)
    assert (table.faults, table.rows[0][1]["material"]) == ([], "Oil")


HEAD = PRICES.columns
NUMBERS = st.integers(0, 999).map(str) | st.decimals(0, 999, places=2).map(lambda n: str(n).replace(".", ","))


@given(
    st.tuples(
        st.just("Oil"),
        NUMBERS,
        st.sampled_from(["", "17", "A4", "4711"]),
        st.sampled_from(["", "2026-01-12"]),
        st.sampled_from(["", "blue", "3"]),
    ),
    st.booleans(),
)
def test_no_row_typed_by_hand_gives_another_number(meant: tuple[str, ...], whole: bool) -> None:
    """Decimal commas and commas between the cells, empty cells at the end typed or not: the number, or a fault."""
    cells = list(meant)
    while not whole and not cells[-1]:
        cells.pop()
    table = read_table(f"{','.join(HEAD)}\n{','.join(cells)}\n".encode(), "t.csv", PRICES)
    if table.faults:
        return
    ((_, read),) = table.rows
    refused_later = read.get("bought_on", "") not in ("", "2026-01-12")
    assert refused_later or read["price"].replace(".", ",") == meant[1]


@given(st.lists(st.tuples(*[st.sampled_from(["", "1", "2.5", "80", "lot 3", "7 g", "2-Hexanediol"])] * 4).filter(any)))
def test_what_the_kit_wrote_is_read_without_a_question(rows: list[tuple[str, ...]]) -> None:
    data = as_csv([("a", "b", "c", "d"), *rows]).encode()
    table = read_table(data, "t.csv", Schema("a table", ("a", "b", "c", "d"), numbers=("a", "c")))
    assert [tuple(row.values()) for _, row in table.rows] == rows
    assert table.faults == []


#: A file of each kind that a maker may have, without a fault.
WHOLE = {
    "prices": "material;amount;unit;price\nGlycerin;1;kg;9,80 EUR\nUrea;500;g;4,20 EUR\n",
    "own": "inci;density_g_ml;note\nPlum Oil;0,92;pressed\nCera Nova;0,96;\n",
    "book": "date;stock;what happened;grams;note\n2026-01-12;Acid;made;97,5;\n2026-01-13;Acid;used;2,5;\n",
    "statements": "material;allergen;percent\nParfum;Linalool;0,7\nParfum;Limonene;2,5\n",
    "particulars": "particular;text\nfunction;body oil\nstorage;cool, dark\n",
    "formula": "ingredient;amount;note\nAqua;q.s.;\nGlycerin;4,5;thick\n",
}
MUTATIONS: dict[str, tuple[Callable[[list[str]], list[str]], str]] = {
    "nothing": (lambda lines: lines, ""),
    "a row of more cells": (lambda lines: [lines[0], lines[1] + ";" * 12 + "x", *lines[2:]], "row 2: there are"),
    "a column doubled": (
        lambda lines: [f"{line};{line.split(';')[0]}" for line in lines],
        "is there 2 times. Keep one",
    ),
    "capitals, blanks": (lambda lines: [f" {lines[0].upper().replace(';', ' ; ')} ", *lines[1:]], ""),
    "columns not named": (lambda lines: lines[1:], "there is no column"),
    "a quotation mark too many": (lambda lines: [*lines[:-1], f'"{lines[-1]}'], "a quotation mark is opened here"),
    "a title above": (lambda lines: ["Tern Lane Workshop", "", *lines], ""),
    "an empty row between": (lambda lines: [lines[0], ";;", *lines[1:]], ""),
}


#: A maker's own table of a formula may do without headings, and have columns that are not read.
LET_PASS = {("formula", "a column doubled"), ("formula", "columns not named")}


@pytest.mark.filterwarnings("ignore:.*the names of the columns stand in row 3")
@pytest.mark.parametrize("kind", READERS)
@pytest.mark.parametrize("mutation", MUTATIONS)
def test_a_mutated_file_reads_as_before_or_says_what_is_wrong(tmp_path: Path, kind: str, mutation: str) -> None:
    before, path = tmp_path / "whole.csv", tmp_path / "mine.csv"
    before.write_text(WHOLE[kind], encoding="utf-8")
    change, words = MUTATIONS[mutation]
    words = "" if (kind, mutation) in LET_PASS else words
    path.write_text("\n".join(change(WHOLE[kind].splitlines())) + "\n", encoding="utf-8")
    if words:
        with pytest.raises(FileFaultsError, match=words):
            READERS[kind](path)
    else:
        found, meant = (READERS[kind](each) for each in (path, before))
        if isinstance(found, Formula) and isinstance(meant, Formula):
            assert [line[:3] for line in told(found)] == [line[:3] for line in told(meant)]
        else:
            assert str(found).replace("mine", "whole") == str(meant)


def told(formula: Formula) -> list[tuple[str, str, str, str]]:
    return [(phase.name, line.material, line.entry, line.note) for phase in formula.phases for line in phase.lines]


def test_a_text_that_may_stand_once_is_a_fault_where_it_comes_again() -> None:
    schema = Schema("a list", ("name", "note"), unique=("name",))
    table = read_table("name,note\nCetearyl,x\n,x\n,x\ncétéaryl ,y\nزيت,x\nزيت,x\n".encode(), "t.csv", schema)
    assert [str(fault) for fault in table.faults] == [
        "row 5, column name: cétéaryl is already in row 2. Keep one of the two.",
        "row 7, column name: زيت is already in row 6. Keep one of the two.",
    ]


def test_a_particular_stands_once(tmp_path: Path) -> None:
    path = tmp_path / "label.csv"
    path.write_text("particular,text\nstorage,cool\nfunction,oil\nstorage,dark\n", encoding="utf-8")
    with pytest.raises(FileFaultsError, match=r"row 4, column particular: storage is already in row 2\. Keep one"):
        read_particulars(path)


@pytest.mark.parametrize(
    "text", ["ingredient,amount\nAqua{0}\nGlycerin,4\nUrea,5\n", "amount,ingredient\n4{0}\n5,Urea\n"]
)
def test_a_formula_with_a_row_that_ends_early_is_read_as_with_its_empty_cells(tmp_path: Path, text: str) -> None:
    path, read = tmp_path / "mine.csv", []
    for end in ("", ","):
        path.write_text(text.format(end), encoding="utf-8")
        try:
            read.append(str(read_formula(path, [])))
        except FileFaultsError as error:
            read.append(str(error))
    assert read[0] == read[1]


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("own", "note,inci\nx\n"),
        ("statements", "percent,allergen,material\n5\n"),
        ("book", "note,date,stock,grams\nx\n"),
    ],
)
def test_a_row_that_ends_before_its_name_is_a_fault(tmp_path: Path, kind: str, text: str) -> None:
    path = tmp_path / "mine.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileFaultsError):
        READERS[kind](path)
