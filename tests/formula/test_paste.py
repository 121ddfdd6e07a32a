"""Rows pasted from a spreadsheet or an e-mail: whatever their shape, no name and no amount is lost."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kit.formula.amounts import read_amount
from kit.formula.model import Line
from kit.formula.own_table import OwnTable
from kit.formula.paste import lines_of, read_column, read_pasted, read_table_text
from kit.formula.table_rows import PastedRow

PLAIN = [("Aqua", "q.s."), ("Glycerin", "4,5"), ("Sodium Benzoate", "0.4 %")]
NAMES = st.sampled_from(["Aqua", "Glycerin", "Coco-Caprylate", "Sodium PCA (and) Aqua", "PEG-40 Oil", "1,2-Hexanediol"])
AMOUNTS = st.sampled_from(["q.s.", "4", "4,5", "0.35 %", "800 ppm", "12 g", "12,5 g", "3 blobs"])


def pairs(text: str) -> list[tuple[str, str]]:
    return [(row.material, row.entry) for row in read_pasted(text)]


def typed(text: str) -> list[tuple[str, str]]:
    """The rows with every q.s. as it was typed: of several, that of the water is told to fill up to 100 %."""
    return [(material, "q.s." if entry == "q.s. to 100" else entry) for material, entry in pairs(text)]


def by_phase(text: str) -> list[tuple[str, str, str]]:
    return [(row.phase, row.material, row.entry) for row in read_pasted(text)]


@pytest.mark.parametrize(
    "text",
    [
        "Aqua\tq.s.\nGlycerin\t4,5\nSodium Benzoate\t0.4 %",
        "Aqua\tq.s.\r\nGlycerin\t4,5\r\nSodium Benzoate\t0.4 %\r\n",
        "Aqua\tq.s.\rGlycerin\t4,5\rSodium Benzoate\t0.4 %\r",
        "\n\nAqua\tq.s.\n\nGlycerin\t4,5\n   \nSodium Benzoate\t0.4 %\n\n",
        "q.s.\tAqua\n4,5\tGlycerin\n0.4 %\tSodium Benzoate",
        "Ingredient\t% w/w\nAqua\tq.s.\nGlycerin\t4,5\nSodium Benzoate\t0.4 %\nTotal\t100",
        "Amount\tINCI name\nq.s.\tAqua\n4,5\tGlycerin\n0.4 %\tSodium Benzoate",
        "Supplier name;Menge;Zutat\nx;q.s.;Aqua\nx;4,5;Glycerin\nx;0.4 %;Sodium Benzoate",
        "Aqua;q.s.\nGlycerin;4,5\nSodium Benzoate;0.4 %\nTotal:;100",
        "Aqua,q.s.\nGlycerin,4,5\nSodium Benzoate,0.4 %",
        'Aqua,q.s.\n"Glycerin","4,5"\nSodium Benzoate,0.4 %\nSUM,100',
        "Ingredient,Amount\nAqua,q.s.\nGlycerin,4,5\nSodium Benzoate,0.4 %",
        "Aqua, q.s.\nGlycerin, 4,5\nSodium Benzoate, 0.4 %",
        "Aqua q.s.\nGlycerin 4,5\nSodium Benzoate 0.4 %",
        "Aqua   q.s.\nGlycerin:  4,5\nSodium Benzoate     0.4 %",
        "Aqua\tq.s.\nGlycerin\t4,5\nSodium\xa0Benzoate\t0.4\xa0%",
        "Aqua\tq.s.\nGlycerin\t4,5\nSodium Benzoate\t0.4 %\n\t100",
        "\ufeffAqua\tq.s.\nGlycerin\t4,5\nSodium Benzoate\t0.4 %".removeprefix("\ufeff"),
    ],
)
def test_the_same_rows_in_every_shape(text: str) -> None:
    assert pairs(text) == PLAIN


@pytest.mark.parametrize(
    "text",
    [
        "Phase\tIngredient\t%\nA\tAqua\t90\nA\tGlycerin\t1\nB\tSqualane\t9",
        "%\tPhase name\tIngredient\n90\tA\tAqua\n1\tA\tGlycerin\n9\tB\tSqualane",
        "Phase\tIngredient\t%\nA\tAqua\t90\n\tGlycerin\t1\nB\tSqualane\t9",  # merged phase cells
        "A\tAqua\t90\nA\tGlycerin\t1\nB\tSqualane\t9",
        "A\nAqua\t90\nGlycerin\t1\nB\nSqualane\t9",
        "A\t\nAqua\t90\nGlycerin\t1\nB\t\nSqualane\t9\nTotal\t100",
        "A\nAqua;90\nGlycerin;1\nB\nSqualane;9",
        "A\nAqua,90\nGlycerin,1\nB\nSqualane,9",
        "A\nAqua 90\nGlycerin 1 %\nB\nSqualane 9".replace("1 %", "1"),
    ],
)
def test_phases_by_column_or_by_heading(text: str) -> None:
    assert by_phase(text) == [("A", "Aqua", "90"), ("A", "Glycerin", "1"), ("B", "Squalane", "9")]


def test_a_heading_may_be_words() -> None:
    found = by_phase("Water phase\nAqua\t90\nOil layer (pour last)\nSqualane\t10")
    assert found == [("Water phase", "Aqua", "90"), ("Oil layer (pour last)", "Squalane", "10")]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Aqua 90,5\nGlycerin 9,5", [("Aqua", "90,5"), ("Glycerin", "9,5")]),
        ("Aqua q.s. to 100\nGlycerin 4", [("Aqua", "q.s. to 100"), ("Glycerin", "4")]),
        ("Aqua ad 100 %\nGlycerin 4", [("Aqua", "ad 100 %"), ("Glycerin", "4")]),
        ("Aqua 1'250 g\nGlycerin 40 g", [("Aqua", "1'250 g"), ("Glycerin", "40 g")]),
        ("Polysorbate 20 3\nPEG-40 4", [("Polysorbate 20", "3"), ("PEG-40", "4")]),
        ("Glycerin 4 % w/w", [("Glycerin", "4 % w/w")]),
        ("Glycerin,4,5", [("Glycerin", "4,5")]),
        ("Glycerin,4,5 %\nAqua,95", [("Glycerin", "4,5 %"), ("Aqua", "95")]),
        ("A,Glycerin,4,5\nB,Squalane,7", [("Glycerin", "4,5"), ("Squalane", "7")]),
        ("Ingredient,Percent,Grams\nGlycerin,4,10", [("Glycerin", "4")]),  # 4 % and 10 g, not 4.10 %
        ('Aqua;"90\nGlycerin;4', [("Aqua", "90"), ("Glycerin", "4")]),  # a stray quotation mark
        ('Aqua, "90,5"\n"Oil, sweet", "9,5"', [("Aqua", "90,5"), ("Oil, sweet", "9,5")]),  # a blank before a quote
        ("4 g Squalane\nJojoba oil", [("Squalane", "4 g"), ("Jojoba oil", "")]),  # an amount in front of one of two
        ("Oil|sweet\t60\nOil|bitter\t40", [("Oil|sweet", "60"), ("Oil|bitter", "40")]),  # tabs before bars
        ('Aqua; "90"\nSalt; "10"', [("Aqua", "90"), ("Salt", "10")]),
        ('"Oil, sweet"\t5\n"Salt ""rock"""\t4', [("Oil, sweet", "5"), ('Salt "rock"', "4")]),
        ("Aqua\t5 mL\nGlycerin\t3 mL", [("Aqua", "5 mL"), ("Glycerin", "3 mL")]),  # unreadable, but amounts
        ("Aqua\t90\nGlycerin\t\nUrea\t3", [("Aqua", "90"), ("Glycerin", ""), ("Urea", "3")]),
        ("Aqua\t90\n\t9", [("Aqua", "90"), ("", "9")]),  # 9 is no total of anything
        ("Aqua, Glycerin, Parfum", [("Aqua, Glycerin, Parfum", "")]),
        ("Sodium PCA, 50 % solution 2\nAqua, pure 98", [("Sodium PCA, 50 % solution", "2"), ("Aqua, pure", "98")]),
        ("Aqua\nGlycerin\nSodium Benzoate", [("Aqua", ""), ("Glycerin", ""), ("Sodium Benzoate", "")]),
        ("4\n4,5\n800 ppm\nq.s.", [("", "4"), ("", "4,5"), ("", "800 ppm"), ("", "q.s.")]),
        ("90,5\n9,5", [("", "90,5"), ("", "9,5")]),
        ("12,5 g\n13,5 g", [("", "12,5 g"), ("", "13,5 g")]),
        ("", []),
        (" \n\t\n", []),
        ("Aqua\t90\t450 g\nUrea\t10\t50 g", [("Aqua", "90"), ("Urea", "10")]),  # the first of two amounts
        ("Total\t100", []),
        ("1,2-Hexanediol,2\nAqua,98", [("1,2-Hexanediol", "2"), ("Aqua", "98")]),
        ("2-Methyl-2,4-pentanediol,2,5\nAqua,97,5", [("2-Methyl-2,4-pentanediol", "2,5"), ("Aqua", "97,5")]),
        ("INCI,Amount,Amount\nAqua,90,80\nUrea,10,10", [("Aqua", "90 or 80"), ("Urea", "10")]),  # which of the two?
        ("Oil 1 250 g\nUrea 4 g", [("Oil 1 250 g", ""), ("Urea", "4 g")]),  # 1250 g of Oil, or 250 g of Oil 1?
        ("Oil 1 000\nUrea 4", [("Oil 1 000", ""), ("Urea", "4")]),
        ("Aqua,1,000 g\nUrea,4 g", [("Aqua", "1,000 g"), ("Urea", "4 g")]),
        ("Aqua\t60\nTotals\t60", [("Aqua", "60")]),
        ("Aqua\t60\nsum :\t60", [("Aqua", "60")]),
    ],
)
def test_shapes_that_are_easily_misread(text: str, expected: list[tuple[str, str]]) -> None:
    assert pairs(text) == expected


@given(
    st.lists(st.tuples(NAMES, AMOUNTS), min_size=1, max_size=8),
    st.sampled_from(["\t", ";"]),
    st.sampled_from(["\n", "\r\n", "\r", "\n\n"]),
    st.booleans(),
    st.booleans(),
    st.booleans(),
)
def test_separated_rows_come_through_whole(
    rows: list[tuple[str, str]], delimiter: str, newline: str, head: bool, swapped: bool, total: bool
) -> None:
    table = [("Ingredient", "Amount")] * head + rows + [("Total", "100")] * total
    table = [cells[::-1] for cells in table] if swapped and head else table
    assert typed(newline.join(delimiter.join(cells) for cells in table)) == rows


@given(
    st.lists(
        st.tuples(NAMES.filter(lambda name: "," not in name), AMOUNTS.filter(lambda a: "blobs" not in a)),
        min_size=1,
        max_size=8,
    ),
    st.sampled_from([" ", "  ", ": "]),
)
def test_rows_with_blanks_between_come_through_whole(rows: list[tuple[str, str]], blanks: str) -> None:
    assert typed("\n".join(blanks.join(cells) for cells in rows)) == rows


@given(st.text(st.sampled_from('Aq 4,;.\t\n"%g:'), max_size=40) | st.text(max_size=60))
@example('"')
@example("a\tb\tc\n\t\t")
def test_any_text_can_be_pasted(text: str) -> None:
    for row in read_pasted(text):
        assert row.material or row.entry
    column = read_column(text)
    assert column is None or all("\n" not in cell for cell in column)


def test_pasting_much_is_no_hardship() -> None:
    rows = [(f"Oil {n}", f"0,{n:03}") for n in range(1, 900)]
    assert pairs("\n".join("\t".join(cells) for cells in rows)) == rows
    assert pairs("x" * 200_000 + ',"' + "y" * 200_000 + '",4')[0][1] == "4"


def test_one_column_keeps_its_gaps_so_that_the_rows_still_match() -> None:
    assert read_column("1\n\n3,5\n") == ["1", "", "3,5"]
    assert read_column("12,5 g\r\n13 g") == ["12,5 g", "13 g"]
    assert read_column("Aqua\nGlycerin") == ["Aqua", "Glycerin"]
    assert read_column("") == []
    assert read_column("Aqua\t90\nGlycerin\t10") is None


def test_rows_become_lines_and_qs_fills_the_layer() -> None:
    rows = [PastedRow("Aqua", "q.s. to 100"), PastedRow("Glycerin", "4,5", "A")]
    assert lines_of(rows) == (Line("Aqua", "q.s. to 100", "fill"), Line("Glycerin", "4,5", "share"))


@pytest.mark.parametrize("mark", ["\t", ";", ","])
@pytest.mark.parametrize("after", ["", "."])
def test_a_column_that_numbers_the_rows_is_not_the_amounts(mark: str, after: str) -> None:
    rows = [("Aqua", "q.s."), ("Glycerin", "5"), ("Urea", "3")]
    text = "\n".join(mark.join((f"{n}{after}", *row)) for n, row in enumerate(rows, start=1))
    assert pairs(text) == rows
    assert pairs(f"{text}\n{mark}{mark}100") == rows
    blanks = "\n".join(f"{n}{after or ')'} {name} {entry}" for n, (name, entry) in enumerate(rows, start=1))
    assert pairs(blanks) == rows


def test_rows_may_be_numbered_under_headings_and_behind_the_phase() -> None:
    meant = [("Water phase", "Aqua", "70"), ("Water phase", "Urea", "5"), ("Oil phase", "Squalane", "25")]
    assert by_phase("Water phase\n1\tAqua\t70\n2\tUrea\t5\nOil phase\n1\tSqualane\t25") == meant
    assert by_phase("Water phase\n1 Aqua 70\n2 Urea 5\nOil phase\n3 Squalane 25") == meant
    assert by_phase("A\t1\tAqua\t70\nA\t2\tUrea\t30") == [("A", "Aqua", "70"), ("A", "Urea", "30")]
    assert pairs("Nr\tRohstoff\tAnteil\n1\tAqua\t70\n2\tUrea\t5") == [("Aqua", "70"), ("Urea", "5")]


@pytest.mark.parametrize("text", ["1\tAqua\n2\tGlycerin\n3\tUrea", "1,Aqua\n2,Glycerin", "7;Aqua\n8;Glycerin\n9;Urea"])
def test_numbers_that_may_count_the_rows_are_asked_about(text: str) -> None:
    assert {read_amount(row.entry).kind for row in read_pasted(text)} == {"unreadable"}
    assert {row.material for row in read_pasted(text)} <= {"Aqua", "Glycerin", "Urea"}


@pytest.mark.parametrize("text", ["Aqua\t1\nGlycerin\t2\nUrea\t3", "3\tAqua\n1\tGlycerin", "4\tAqua\n5\tUrea"])
def test_amounts_that_do_not_count_the_rows_stay_amounts(text: str) -> None:
    assert {read_amount(row.entry).kind for row in read_pasted(text)} == {"percent"}


@given(st.lists(st.tuples(NAMES, AMOUNTS), min_size=1, max_size=6), st.sampled_from([1, 3, 12]))
def test_numbers_before_the_rows_change_no_row(rows: list[tuple[str, str]], first: int) -> None:
    """Of fewer than three rows that do not begin with 1, no number shows that it counts."""
    first = first if len(rows) > 2 else 1
    text = "\n".join(f"{n}\t{name}\t{entry}" for n, (name, entry) in enumerate(rows, start=first))
    found = typed(text)
    assert found == rows or {read_amount(entry).kind for _, entry in found} == {"unreadable"}


@pytest.mark.parametrize(
    ("text", "rows", "fills"),
    [
        # water fills, wherever it stands; without any, the first; or that which says to 100
        ("Glycerin\tq.s.\nAqua\tq.s.\nUrea\t5", [("q.s.", "share"), ("q.s. to 100", ""), ("5", "")], "Aqua"),
        ("Glycerin\tq.s.\nSqualane\tq.s.\nUrea\t5", [("q.s.", ""), ("q.s.", "share"), ("5", "")], "Glycerin"),
        ("Urea\t5\nGlycerin\tq.s.\nSqualane\tq.s.", [("5", ""), ("q.s.", ""), ("q.s.", "share")], "Glycerin"),
        ("Aqua\tq.s.\nSqualane\tq.s. to 100", [("q.s.", "share"), ("q.s. to 100", "")], "Squalane"),
    ],
)
def test_of_several_qs_one_fills(text: str, rows: list[tuple[str, str]], fills: str) -> None:
    table = read_table_text(text)
    assert [(row.entry, row.hold) for row in table.rows] == rows
    assert f"{fills} was taken to fill up to 100 %" in " ".join(note.sentence for note in table.notes)
    assert not table.names_phases


def test_a_batch_is_named_where_grams_stand_beside_a_rest_whatever_else_does() -> None:
    rows = "Ingredient\tAmount\nAqua\tad 250 g\nSqualane\t10 g\n"
    assert read_table_text(rows).written_for == 250
    assert read_table_text(rows + "Urea\t5 %\n").written_for == 250
    assert read_table_text("Ingredient\tAmount\nAqua\tad 250 g\nUrea\t5 %\n").written_for is None


def test_rows_are_parted_by_a_phase_or_by_a_layer() -> None:
    assert read_table_text("Phase\tIngredient\t%\nA\tAqua\t90\nB\tSqualane\t10").names_phases
    assert OwnTable((PastedRow("Aqua", "90", layer="water"),)).names_phases
    assert OwnTable((PastedRow("Aqua", "90", "A"),)).names_phases
