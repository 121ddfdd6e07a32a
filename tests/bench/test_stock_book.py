"""The stock book: adding up, refusing, faults with their row and field, and never losing what was there."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.bench.dilution import make_stock
from kit.bench.stock_book import Entry, StockBook
from kit.bench.weighing import weigh
from kit.errors import EntryError, FileFaultsError, RangeError, UnitError
from kit.formula.model import Formula, Line, Phase
from kit.rounding import all_digits
from kit.saving import earlier_saves

if TYPE_CHECKING:
    from collections.abc import Sequence

ACID = make_stock("Citric Acid 20 % stock", "Citric Acid", 20, keep_until="2026-04-01")
#: Half a sign too, which becomes a question mark; only NUL is refused.
SIGNS = st.characters(exclude_characters="\0")
HEAD = "date,stock,what happened,grams,note\n"


@pytest.fixture
def book(tmp_path: Path) -> StockBook:
    return StockBook(tmp_path / "stocks.csv")


def file_of(book: StockBook) -> Path:
    return Path(book.path)


def toner(percent: str = "2") -> Formula:
    lines = (Line("Aqua", "q.s.", "fill"), Line(ACID.name, percent, "level"))
    return Formula("Toner", (Phase("Water", "water", lines),), materials=(ACID,))


def test_a_person_can_read_the_file(book: StockBook) -> None:
    book.made(ACID.name, "0.1 kg", on="2026-01-12", note='in brown glass, "A"')
    book.used(ACID.name, "2.5 g", on="2026-01-14")
    book.thrown_away(ACID.name, "90 g", on="2026-03-01", note="cloudy")
    assert file_of(book).read_text(encoding="utf-8") == (
        HEAD
        + '2026-01-12,Citric Acid 20 % stock,made,100,"in brown glass, ""A"""\n'
        + "2026-01-14,Citric Acid 20 % stock,used,2.5,\n"
        + "2026-03-01,Citric Acid 20 % stock,thrown away,90,cloudy\n"
    )
    assert book.on_hand(ACID.name) == 7.5
    assert book.entries()[1] == Entry("2026-01-14", ACID.name, "used", 2.5)


def test_no_file_yet_is_an_empty_book(book: StockBook) -> None:
    assert book.entries() == []
    assert book.on_hand("anything") == 0
    assert book.all_on_hand() == {}


def test_spelling_makes_no_difference_and_the_first_one_is_shown(book: StockBook) -> None:
    book.made("Acid  stock", "10 g")
    book.used(" ACID stock", "4 g")
    assert book.all_on_hand() == {"Acid stock": 6}
    assert book.entries()[0].day == date.today().isoformat()


def test_a_count_sets_what_is_there(book: StockBook) -> None:
    book.made("Acid", "100 g")
    book.counted("acid", "91.2 g", note="some dried up")
    book.used("Acid", "1.2 g")
    assert book.on_hand("Acid") == 90
    book.counted("Acid", "0 g")
    assert book.on_hand("Acid") == 0


@settings(max_examples=25)
@given(st.lists(st.integers(1, 400), min_size=1, max_size=4))
def test_it_adds_up(tmp_path_factory: pytest.TempPathFactory, uses: list[int]) -> None:
    book = StockBook(tmp_path_factory.mktemp("book") / "stocks.csv")
    book.made("Acid", "16 g")
    for centigrams in uses:
        book.used("Acid", f"{all_digits(centigrams / 100)} g")
    assert book.on_hand("Acid") == pytest.approx(16 - sum(uses) / 100, abs=1e-9)


def test_the_file_only_grows_and_the_one_before_is_kept(book: StockBook) -> None:
    book.made("Acid", "10 g", on="2026-01-01")
    before = file_of(book).read_bytes()
    book.used("Acid", "1 g", on="2026-01-02")
    assert file_of(book).read_bytes().startswith(before)
    assert earlier_saves(book.path)[0].read() == before


def test_a_batch_takes_off_what_it_weighs(book: StockBook) -> None:
    book.made(ACID.name, "10 g", on="2026-02-01")
    assert book.use_for_batch(weigh(toner(), "250 g"), on="2026-02-02") == []
    assert book.on_hand(ACID.name) == 5
    assert book.entries()[-1] == Entry("2026-02-02", ACID.name, "used", 5, "Toner, 250 g")


def test_a_stock_known_only_to_the_book_counts_too(book: StockBook) -> None:
    book.made("Glycerin 50 %", "10 g")
    formula = Formula("T", (Phase("W", "water", (Line("Aqua", "q.s."), Line("glycerin 50 %", "4"))),))
    book.use_for_batch(weigh(formula, "100 g"))
    assert book.on_hand("Glycerin 50 %") == 6


def test_not_enough_for_a_batch_writes_nothing(book: StockBook) -> None:
    other = make_stock("Panthenol stock", "Panthenol", 10)
    lines = (Line("Aqua", "q.s."), Line(ACID.name, "2"), Line(other.name, "4"))
    formula = Formula("Toner", (Phase("W", "water", lines),), materials=(ACID, other))
    book.made(ACID.name, "100 g")
    book.made(other.name, "3 g")
    before = file_of(book).read_bytes()
    words = (
        r"Not enough on hand\. Panthenol stock: 10 g are needed and 3 g are there\. Make more first, or a smaller "
        r"batch\. Nothing was written\."
    )
    with pytest.raises(RangeError, match=words):
        book.use_for_batch(weigh(formula, "250 g"))
    assert file_of(book).read_bytes() == before


def test_a_batch_without_stocks(book: StockBook) -> None:
    formula = Formula("Plain", (Phase("W", "water", (Line("Aqua", "q.s."),)),))
    with pytest.raises(RangeError, match=r"Plain holds no stock, so the book stays as it is\."):
        book.use_for_batch(weigh(formula, "100 g"))


def test_a_stock_past_its_date_is_named(book: StockBook) -> None:
    book.made(ACID.name, "10 g", on="2026-02-01")
    (found,) = book.use_for_batch(weigh(toner(), "100 g"), on="2026-04-02")
    assert found.severity == "caution"
    assert found.sentence == (
        "Citric Acid 20 % stock was to be kept until 2026-04-01, and this is 2026-04-02. Make it anew."
    )


@pytest.mark.parametrize("verb", ["used", "thrown_away"])
def test_more_than_there_is(book: StockBook, verb: str) -> None:
    book.made("Acid", "1 g")
    with pytest.raises(RangeError, match=r"Acid: 2 g are needed and 1 g are there"):
        getattr(book, verb)("Acid", "2 g")


def test_what_is_refused_at_the_door(book: StockBook) -> None:
    with pytest.raises(UnitError, match=r'amount of the stock has no unit .* Write "5 g"'):
        book.made("Acid", 5)
    with pytest.raises(RangeError, match="The amount must be more than 0 g, got 0 g"):
        book.made("Acid", "0 g")
    with pytest.raises(EntryError, match="A stock needs its name in the book"):
        book.made("  ", "1 g")
    with pytest.raises(EntryError, match=r"'12/01/2026' is not a date\. Write it as year-month-day"):
        book.made("Acid", "1 g", on="12/01/2026")
    assert not file_of(book).exists()


def test_every_fault_with_its_row_and_field(book: StockBook) -> None:
    file_of(book).write_text(
        HEAD
        + "2026-01-01,Acid,made,10,\n"
        + "2026-13-01,Acid,made,10,\n"
        + ",,lost,ten,\n\n"
        + "2026-01-02,Acid,used,-1,\n"
        + "2026-01-02,Acid\n",
        encoding="utf-8",
    )
    before = file_of(book).read_bytes()
    with pytest.raises(FileFaultsError) as refused:
        book.made("Acid", "1 g")
    said = str(refused.value)
    assert "stocks.csv has 7 faults; nothing was changed." in said
    for words in (
        "row 3, column date: '2026-13-01' is not a date",
        "row 4, column date: 'an empty cell' is not a date",
        "row 4, column stock: it is empty",
        "row 4, column what happened: 'lost' is not one of made, used, thrown away, counted",
        "row 4, column grams: 'ten' is not a number",
        "row 6, column grams: -1 is not above 0. What happened says the direction.",
        "row 7: it has 2 cells; write date, stock, what happened, grams, note.",
    ):
        assert words in said
    assert file_of(book).read_bytes() == before


def test_other_headings(book: StockBook) -> None:
    file_of(book).write_text("day,name\n2026-01-01,Acid\n", encoding="utf-8")
    with pytest.raises(
        FileFaultsError,
        match=r"row 1: there is no column .* must hold the column names: date, stock, what happened, grams, note",
    ):
        book.on_hand("Acid")


def test_a_spreadsheet_with_semicolons_and_decimal_commas(book: StockBook) -> None:
    text = "\ufeffdate;stock;what happened;grams;note\r\n2026-01-01;Acid;made;10,5;\r\n2026-01-02;Acid;used;0,5;"
    file_of(book).write_bytes(text.encode("utf-8"))
    assert book.on_hand("Acid") == 10
    book.used("Acid", "2.25 g", on="2026-01-03")
    assert file_of(book).read_text(encoding="utf-8").splitlines()[-1] == "2026-01-03;Acid;used;2,25;"
    assert book.on_hand("Acid") == 7.75


def test_not_text_at_all(book: StockBook) -> None:
    file_of(book).write_bytes(b"\xff\xfe\x00d")
    with pytest.raises(
        FileFaultsError, match=r"stocks\.csv has 1 fault.*\n.*not saved as UTF-8 text\. Save it again as"
    ):
        book.entries()


def test_what_the_book_notices(book: StockBook) -> None:
    file_of(book).write_text(HEAD + "2026-01-01,Acid,used,2,\n2026-01-01,Low,made,1,\n2026-01-01,Full,made,100,\n")
    worst, low = book.check(low="5 g")
    assert worst.sentence == "More Acid was used than made: it stands at -2 g. Weigh what is there and count it."
    assert low.sentence == "Low is down to 1 g. Make some more."


# ---- several writers ----------------------------------------------------------------------------------------

WRITES = """
import sys
from kit.bench.stock_book import StockBook
book = StockBook(sys.argv[1])
for n in range(int(sys.argv[3])):
    book.made(f"Stock {n % 3}", f"{n + 1} g", on="2026-01-01", note=f"{sys.argv[2]}:{n}")
    print(f"{sys.argv[2]}:{n}", flush=True)
"""


def writer(book: StockBook, name: str, entries: int) -> subprocess.Popen[str]:
    root = Path(__file__).resolve().parent.parent.parent
    command = [sys.executable, "-c", WRITES, str(book.path), name, str(entries)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=root)


def acknowledged(writers: Sequence[subprocess.Popen[str]]) -> list[str]:
    """What each writer printed, whole lines only."""
    return [line for each in writers for line in each.communicate(timeout=120)[0].split("\n")[:-1]]


@pytest.mark.parametrize(("processes", "entries"), [(2, 40), (4, 50)])
def test_writers_at_once_lose_nothing(book: StockBook, processes: int, entries: int) -> None:
    told = acknowledged([writer(book, f"w{n}", entries) for n in range(processes)])
    assert len(told) == processes * entries
    assert sorted(entry.note for entry in book.entries()) == sorted(told)


def test_two_cannot_use_the_same_grams(book: StockBook) -> None:
    book.made("Acid", "10 g")
    code = WRITES.replace('made(f"Stock {n % 3}", f"{n + 1} g"', 'used("Acid", "1 g"')
    root = Path(__file__).resolve().parent.parent.parent
    users = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(book.path), f"u{n}", "10"],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=root,
        )
        for n in range(2)
    ]  # fmt: skip
    assert len(acknowledged(users)) == 10
    assert book.on_hand("Acid") == 0


@pytest.mark.skipif(sys.platform == "win32", reason="Windows ends processes in another way")
def rows_in(book: StockBook) -> int:
    return file_of(book).read_bytes().count(b"\n") if file_of(book).exists() else 0


def test_what_a_killed_writer_had_acknowledged_is_there(book: StockBook) -> None:
    told: list[str] = []
    for turn in range(4):
        before, patience = rows_in(book), time.monotonic() + 30
        writers = [writer(book, f"k{turn}{n}", 10_000) for n in range(2)]
        while rows_in(book) < before + 4 + turn and time.monotonic() < patience:
            time.sleep(0.01)
        for each in writers:
            each.send_signal(signal.SIGKILL)
        told += acknowledged(writers)
    there = [entry.note for entry in book.entries()]
    assert len(told) > 8
    assert set(told) <= set(there)
    assert len(there) <= len(told) + 8  # at most one of each writer was there and not told yet
    book.made("Acid", "1 g", on="2026-01-01")
    assert len(book.entries()) == len(there) + 1


def test_a_row_that_was_cut_off_is_set_aside_and_told(book: StockBook) -> None:
    """Only at the end, and only where its line has no end: any other fault stays a fault."""
    for torn in ("2026-01-02,Aci", '2026-01-02,Acid,used,5,"a no', "2026"):
        file_of(book).write_text(f"{HEAD}2026-01-01,Acid,made,10,\n{torn}", encoding="utf-8")
        with pytest.warns(UserWarning, match=r"The last row of stocks\.csv was cut off .* among its earlier saves"):
            book.used("Acid", "4 g", on="2026-01-03")
        assert [entry.event for entry in book.entries()] == ["made", "used"]
        assert torn.encode() in earlier_saves(file_of(book))[0].read()


# ---- a damaged book -----------------------------------------------------------------------------------------

ROW = "2026-01-01,Acid,made,10,"


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (f'{ROW}"opened\n', r"row 2: a quotation mark is opened here and closed nowhere"),
        (f'{ROW}a\n{ROW}"opened\n', r"row 3: a quotation mark is opened here"),
        (f'{ROW}"opened\n{ROW}"again"\n', r"row 2: it cannot be read as a table"),
        (f'{ROW}"opened\n{ROW}b"\n', r"row 2: a cell holds what looks like another row"),
        (f"{ROW}cut\roff\n", r"row 3: it has 1 cells"),
        ("2026-01-01,Acid,made\n", r"row 2: it has 3 cells"),
    ],
)
def test_a_damaged_row_is_told_and_takes_in_no_new_one(book: StockBook, rows: str, said: str) -> None:
    file_of(book).write_bytes((HEAD + rows).encode())
    with pytest.raises(FileFaultsError, match=said):
        book.made("Acid", "1 g")
    with pytest.raises(FileFaultsError, match=said):
        book.on_hand("Acid")
    assert file_of(book).read_bytes() == (HEAD + rows).encode()


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("ended", [True, False])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_a_new_entry_is_a_row_of_its_own_and_no_byte_before_it_changes(
    book: StockBook, end: str, ended: bool, mark: str
) -> None:
    before = (mark + HEAD.replace("\n", end) + ROW + (end if ended else "")).encode()
    file_of(book).write_bytes(before)
    book.made("Acid", "1 g", on="2026-01-02")
    after = file_of(book).read_bytes()
    assert after == before + (("" if ended else end) + "2026-01-02,Acid,made,1," + end).encode()
    assert book.on_hand("Acid") == 11


def test_a_note_that_looks_like_a_row_is_refused_at_the_door(book: StockBook) -> None:
    with pytest.raises(EntryError, match="begins with a date and a comma, like a row of the book"):
        book.made("Acid", "1 g", note="seen\n2026-01-02, cloudy")
    book.made("Acid", "1 g", note="2026-01-02, cloudy\nwarm since 2026-01-01, too")
    assert book.entries()[0].note == "2026-01-02, cloudy\nwarm since 2026-01-01, too"


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.text(SIGNS, min_size=1, max_size=12).filter(lambda name: name.strip()),
            st.floats(1e-9, 1e9),
            st.text(SIGNS, max_size=25),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_every_entry_comes_back_with_all_its_digits(
    tmp_path_factory: pytest.TempPathFactory, entries: list[tuple[str, float, str]]
) -> None:
    book = StockBook(tmp_path_factory.mktemp("book") / "stocks.csv")
    wanted = []
    for name, grams, note in entries:
        book.made(name, f"{all_digits(grams)} g", on="2026-01-01", note=note)
        plain = note.encode("utf-8", "replace").decode().strip().replace("\r\n", "\n").replace("\r", "\n")
        stock = " ".join(name.encode("utf-8", "replace").decode().split())
        wanted.append(Entry("2026-01-01", stock, "made", grams, plain))
    assert book.entries() == wanted


def test_a_book_says_which_decimal_mark_settled_its_numbers(tmp_path: Path) -> None:
    path = tmp_path / "stocks.csv"
    head = "date;stock;what happened;grams;note\n2026-01-12;Acid;made;1.250;\n"
    path.write_text(f"{head}2026-01-13;Acid;used;0,5;\n", encoding="utf-8")
    assert StockBook(path).on_hand("Acid") == 1249.5
    (said,) = StockBook(path).check()
    assert said.sentence == (
        "stocks.csv: the decimal mark of this file is the comma, as its other numbers show, so '1.250' is 1250."
    )


def test_a_note_that_looks_like_decimals_is_kept_beside_a_whole_number(tmp_path: Path) -> None:
    book = StockBook(tmp_path / "stocks.csv")
    book.made("Acid", "97 g", on="2026-01-12", note="5")
    assert [(entry.grams, entry.note) for entry in book.entries()] == [(97.0, "5")]
