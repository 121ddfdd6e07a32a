"""Files and typed text of every kind, damaged anyhow: they are read, or refused in the kit's own words."""

from __future__ import annotations

import io
import os
import random
import re
import tempfile
import zipfile
from contextlib import suppress
from dataclasses import replace
from datetime import date
from functools import cache, partial
from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING
from warnings import catch_warnings

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from kit.bench.price_list import prices_of
from kit.bench.stock_book import StockBook
from kit.bench.strength import read_strength
from kit.blends.trial_file import trial_of
from kit.course.hand_in import HandIn, hand_in_text, read_hand_in
from kit.course.pictures import Picture, small_picture
from kit.course.progress import Progress, Try
from kit.errors import EntryError, FileFaultsError, KitError
from kit.formula.amounts import read_amount
from kit.formula.files import read_formula, save_formula
from kit.formula.files.draft import of_draft, to_draft
from kit.formula.files.tables import csv_formula, xlsx_formula
from kit.formula.files.toml_file import formula_of
from kit.formula.model import Formula, Line, Phase, Rule
from kit.formula.paste import read_column, read_table_text
from kit.in_use.parting_trial import Trial
from kit.in_use.trial_book import TrialBook
from kit.label.particulars import PARTICULARS, particulars_of, read_months, save_particulars
from kit.label.statements import AllergenStatement, read_statement, save_statements, statements_of
from kit.library.ingredient import Ingredient
from kit.library.own import own_of, save_own
from kit.money import read_money
from kit.numbers import read_number
from kit.product.product import Product
from kit.product.workshop import workshop_of
from kit.resources import resource_folder
from kit.saving import earlier_saves
from kit.stability.exchange import from_csv, to_csv
from kit.stability.old_notes.columns import guess_mapping
from kit.stability.old_notes.readings import preview
from kit.stability.old_notes.table import read_table
from kit.stability.plan import plans
from kit.stability.plan_files import plan_of, save_plan
from kit.stability.reading import read_value
from kit.stability.storage_temperature import read_temperature_log
from kit.stability.study import Observation, Study
from kit.stability.workbook import from_xlsx, to_xlsx
from kit.units import magnitude

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.findings import Finding

DEMO = resource_folder("data") / "demo"
PLAN = plans()["home-twelve-weeks"]
DAY = date(2026, 1, 12)


@cache
def study() -> Study:
    return Study(1, "Shampoo, clear", PLAN, ("A", "B"), DAY, "Slow Lather", "2026-01-12T08:00:00+00:00")


def in_file(name: str, data: bytes, work: Callable[[Path], object]) -> object:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(data)
        return work(path)


def made(name: str, save: Callable[[Path], object]) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        save(Path(folder) / name)
        return (Path(folder) / name).read_bytes()


def observations() -> list[Observation]:
    text = "reading,batch,condition,time_point,attribute,value,observed_on,observer,note,replaces,reason\n"
    keys = PLAN.conditions[0].key, PLAN.time_points[0].label
    text += f'1,A,{keys[0]},{keys[1]},ph,"5,4",2026-01-12,KM,cloudy,,\n'
    text += f"2,A,{keys[0]},{keys[1]},ph,5.5,2026-01-12,,,1,digits\n"
    return from_csv(text.encode(), "readings.csv", study())


def formula_bytes(suffix: str) -> bytes:
    formula = read_formula(DEMO / "quiet_hour_lotion.toml", [])
    return made(f"f{suffix}", lambda path: save_formula(formula, path))


def stock_book() -> bytes:
    def fill(path: Path) -> None:
        book = StockBook(path)
        book.made("Citric Acid 20 % stock", "100 g", on="2026-01-12", note='a "note", long')
        book.used("Citric Acid 20 % stock", "2.5 g", on="2026-01-14")
        book.counted("Citric Acid 20 % stock", "90 g", on="2026-01-15")

    return made("stocks.csv", fill)


def trials() -> bytes:
    def fill(path: Path) -> None:
        book = TrialBook(path)
        book.keep(Trial(variant="as it is", day="2026-01-12", shakes=12))
        book.keep(Trial(variant="more salt", day="2026-01-13", shakes=8))
        book.withdraw(1, "bottle fell")

    return made("trials.csv", fill)


def drawing(kind: str) -> bytes:
    written = io.BytesIO()
    Image.linear_gradient("L").resize((60, 40)).save(written, kind)
    return written.getvalue()


def hand_in() -> bytes:
    progress = Progress("Kim", (Try("k", 0, "5", "right"),))
    return hand_in_text(HandIn(progress, {"a.toml": "title = 'x'"}, (Picture("p.png", b"\x89PNG"),))).encode()


def foreign(data: bytes) -> object:
    table = read_table(data, "notes.csv")
    return preview(table, study(), guess_mapping(table, study()), DAY)


OWN = (
    Ingredient(
        inci="Sea Silk", plain_name="silk", roles=("humectant",), composition={"Glycerin": 40.0, "Aqua": 60.0}, own=True
    ),
)
SAID = {"parfum a": AllergenStatement("Parfum A", {"Limonene": 1.5, "Linalool": 0.25}, "lot 4")}

#: kind of file → its reader, and files of that kind from which the damaged ones are made.
READERS: dict[str, tuple[Callable[[bytes], object], Callable[[], list[bytes]]]] = {
    "formula as TOML": (
        partial(formula_of, name="f.toml"),
        lambda: [(DEMO / f"{name}.toml").read_bytes() for name in ("quiet_hour_lotion", "three_layer_trial")],
    ),
    "formula as CSV": (
        lambda data: csv_formula(data, "f.csv", []),
        lambda: [formula_bytes(".csv"), b"Ingredient;Amount\r\nAqua;95,5\r\nGlycerin;4,5\r\nTotal;100\r\n"],
    ),
    "formula as workbook": (lambda data: xlsx_formula(data, "f.xlsx", []), lambda: [formula_bytes(".xlsx")]),
    "draft": (
        lambda data: of_draft(data, "draft"),
        lambda: [to_draft(read_formula(DEMO / "salt_wind_spray.toml", []), "m")],
    ),
    "prices": (lambda data: prices_of(data, "prices.csv", []), lambda: [(DEMO / "prices.csv").read_bytes()]),
    "stock book": (
        lambda data: in_file("s.csv", data, lambda path: (StockBook(path).all_on_hand(), StockBook(path).check())),
        lambda: [stock_book()],
    ),
    "trial book": (lambda data: in_file("t.csv", data, lambda path: TrialBook(path).rows([])), lambda: [trials()]),
    "trial of blends": (
        lambda data: trial_of(data, "b.csv", []),
        lambda: [(DEMO / "beard_oil_trial.csv").read_bytes()],
    ),
    "particulars": (
        lambda data: particulars_of(data, "p.csv"),
        lambda: [
            made("p.csv", lambda path: save_particulars(path, {PARTICULARS[0]: "Mist, light", PARTICULARS[1]: 'a "b"'}))
        ],
    ),
    "statements": (
        lambda data: statements_of(data, "s.csv"),
        lambda: [made("s.csv", lambda path: save_statements(path, SAID))],
    ),
    "own ingredients": (
        lambda data: own_of(data, "o.csv", []),
        lambda: [made("o.csv", lambda path: save_own(path, OWN))],
    ),
    "temperatures": (
        lambda data: in_file("t.csv", data, read_temperature_log),
        lambda: [
            b"time;temperature\n2026-03-09 08:00;20,0\n2026-03-09 20:00;30,5\n2026-03-10 20:00;21\n",
            b"date,min,max\n2026-03-09,18,24\n2026-03-10,17.5,25\n",
        ],
    ),
    "old notes": (foreign, lambda: [(DEMO / "old_notes.csv").read_bytes(), to_xlsx(study(), observations())]),
    "readings as CSV": (
        lambda data: from_csv(data, "r.csv", study()),
        lambda: [to_csv(study(), observations()).encode()],
    ),
    "readings as workbook": (
        lambda data: in_file("r.xlsx", data, lambda path: from_xlsx(path, study())),
        lambda: [to_xlsx(study(), observations())],
    ),
    "plan": (
        lambda data: plan_of(data, "p.toml"),
        lambda: [made("p.toml", lambda path: save_plan(path, replace(PLAN, title="Mine")))],
    ),
    "workshop": (
        lambda data: workshop_of(data, "w.toml"),
        lambda: [b'batch = "500 g"\nbottle = "round 50 mL"\ntolerance = 1.0\n'],
    ),
    "hand-in": (read_hand_in, lambda: [hand_in()]),
    "picture handed in": (lambda data: small_picture(Picture("p", data)), lambda: [drawing("JPEG"), drawing("PNG")]),
}

#: What stands for trouble in some reader: signs that end, quote, run, turn or are none; numbers that are too much.
SIGNS = [
    "\0",
    "\r",
    "\n",
    "\r\n",
    '"',
    "'",
    "\\",
    ",",
    ";",
    "\t",
    "=",
    "[",
    "]",
    "{",
    "}",
    "\u2028",
    "\u202e",
    "\ufeff",
]
NUMBERS = "1e400 -1e308 nan inf 0 -0 1.250 1,250 5% 1e308lb g/0 g^9^9 null true q.s. ½ ٣ %"
DAYS = ["0000-00-00", "2026-02-30", "9999-12-31", "5 percent °F", "[[phase]]\n", "\\ud800"]
TROUBLE = (
    *(piece.encode() for piece in [*SIGNS, *NUMBERS.split(), *DAYS]),
    *(b"\xff", b"9" * 400, b'{"a": 1}', b"[" * 3000, b"a" * 70_000),
)


def damaged(whole: bytes, chance: random.Random) -> bytes:
    """A file with a few things cut out, turned over, doubled, moved or put in."""
    data = bytearray(whole)
    for _ in range(chance.randint(1, 4)):
        at, size = chance.randint(0, len(data)), chance.choice((1, 1, 2, 5, 40, 400))
        what = chance.randint(0, 6)
        if what <= 2:
            data[at:at] = chance.choice(TROUBLE)
        elif what == 3:
            del data[at : at + size]
        elif what == 4 and data:
            data[at % len(data)] ^= 1 << chance.randint(0, 7)
        elif what == 5:
            data[at:at] = data[at : at + size]
        else:
            lines = bytes(data).split(b"\n")
            chance.shuffle(lines)
            data = bytearray(b"\n".join(lines))
    return bytes(data)


def damaged_workbook(whole: bytes, chance: random.Random) -> bytes:
    """A workbook of which one part is damaged, or the archive itself."""
    if chance.random() < 0.2:
        return damaged(whole, chance)
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as source, zipfile.ZipFile(made, "w") as target:
        names = source.namelist()
        chosen = chance.choice([name for name in names if name.endswith((".xml", ".rels"))])
        for name in names:
            data = source.read(name)
            if name != chosen:
                target.writestr(name, data)
            elif chance.random() < 0.9:
                target.writestr(name, damaged(data, chance))
    return made.getvalue()


def told(kind: str, read: Callable[[bytes], object], data: bytes) -> str:
    """What is wrong with how the data were taken; empty where nothing is."""
    began = perf_counter()
    try:
        with catch_warnings(action="ignore"):  # what is told where nobody takes the notes
            read(data)
    except KitError as error:
        if not str(error).strip():
            return f"{kind}: an error without words for {data[:200]!r}"
    except Exception as error:
        return f"{kind}: {error!r} for {data[:3000]!r}"
    return f"{kind}: slow for {data[:200]!r}" if perf_counter() - began > SLOW else ""


#: Other programs run beside this one. [s]
SLOW = 20.0
MANY = int(os.environ.get("SHAKEWELL_EXAMPLES", "25"))


def test_no_damage_to_a_file_brings_anything_but_a_sentence() -> None:
    faults = []
    for kind, (read, seeds) in READERS.items():
        whole, chance = seeds(), random.Random(kind)
        for seed in whole:
            read(seed)
        for _ in range(MANY):
            seed = chance.choice(whole)
            fault = told(kind, read, (damaged_workbook if seed.startswith(b"PK") else damaged)(seed, chance))
            faults += [fault] if fault else []
    assert not faults, "\n".join(faults[:12])


#: What is typed, by its kind.
TYPED: dict[str, Callable[[str], object]] = {
    "number": read_number,
    "amount": read_amount,
    "mass": lambda text: magnitude(text, "g", name="batch"),
    "volume": lambda text: magnitude(text, "mL", name="fill"),
    "temperature": lambda text: magnitude(text, "degC", name="room"),
    "density": lambda text: magnitude(text, "kg/m**3", name="density"),
    "strength": read_strength,
    "money": read_money,
    "months": read_months,
    "statement": lambda text: read_statement("Parfum A", text),
    "pasted table": read_table_text,
    "pasted column": read_column,
    "anchor": lambda text: read_value(PLAN.attribute("ph"), text),
    "colour": lambda text: read_value(PLAN.attribute("colour"), text),
    "temperatures": read_temperature_log,
}
_PIECES = st.sampled_from(
    [piece.decode("utf-8", "replace") for piece in TROUBLE if len(piece) < 500]
    + ["5", "0.1", "20 %", " g", " mL", " °C", " w/v", "N", " mol/L", "mM", "€", "EUR", "Aqua", "Limonene 1.5; "]
    + ["kg", " of ", "(", ")", "/", "^2", "*"]
)


@settings(max_examples=10 * MANY)
@given(text=st.lists(st.one_of(_PIECES, st.text(max_size=6)), max_size=8).map("".join))
def test_no_text_that_is_typed_brings_anything_but_a_sentence(text: str) -> None:
    for kind, read in TYPED.items():
        try:
            read(text)
        except KitError as error:
            said = str(error)
        except Exception as error:
            raise AssertionError(f"{kind}: {error!r} for {text!r}") from error
        else:
            continue
        assert said.strip(), kind


def test_no_name_holds_the_sign_nul() -> None:
    for line in ({"material": "Aq\0ua"}, {"entry": "5\0"}, {"note": "\0"}):
        with pytest.raises(EntryError, match="holds the sign NUL, which no text has"):
            Line(**line)  # type: ignore[arg-type]
    for read, data in (
        (formula_of, b'title = "x\\u0000"\n[[phase]]\nname = "A"\n[[phase.line]]\ningredient = "Aq\\u0000ua"'),
        (csv_formula, b"ingredient,amount\nAq\0ua,5\n"),
        (own_of, b"inci\nSea\0 Silk\n"),
    ):
        with pytest.raises(FileFaultsError, match="holds the sign NUL, which no text has"):
            read(data, "f")
    assert [row.material for row in read_table_text("Aqua\t95\nUrea\t5\0").rows] == ["Aqua", "Urea"]
    with pytest.raises(EntryError, match="holds the sign NUL"):
        StockBook("never_written.csv").made("Ac\0id", "5 g")


def test_a_workbook_keeps_the_last_digit_and_phases_of_one_name_are_told(tmp_path: Path) -> None:
    lines = (Line("Aqua", "q.s.", "fill"),), (Line("Urea", "5"),)
    formula = Formula(
        "Hand gel",
        tuple(Phase("A", "water", each) for each in lines),
        rules=(Rule("Urea", 100 / 3),),
        materials=(Ingredient(inci="Thirds", composition={"Glycerin": 100 / 3, "Aqua": 200 / 3}, own=True),),
    )
    for suffix, words in (("xlsx", "in a XLSX file they become one"), ("csv", "in a CSV file they become one")):
        told = save_formula(formula, tmp_path / f"f.{suffix}")
        assert any("Several phases are called 'A'" in note.sentence and words in note.sentence for note in told)
    assert save_formula(formula, tmp_path / "f.toml") == []
    for suffix in ("xlsx", "toml"):
        back = read_formula(tmp_path / f"f.{suffix}", [])
        assert (back.rules[0].low, dict(back.materials[0].composition)) == (
            100 / 3,
            {"Glycerin": 100 / 3, "Aqua": 200 / 3},
        )
    notes: list[Finding] = []
    table = b"phase,layer,ingredient,amount\nA,water,Aqua,50\nB,water,Urea,10\nA,water,Glycerin,40\n"
    assert [len(phase.lines) for phase in csv_formula(table, "f.csv", notes).phases] == [2, 1]
    assert any("The lines of 'A' stand apart in the table" in note.sentence for note in notes)


def test_a_trial_that_was_cut_off_is_set_aside_and_told(tmp_path: Path) -> None:
    whole, path = trials(), tmp_path / "trials.csv"
    last = len(whole.rstrip().rpartition(b"\n")[2])
    for cut in (last - 2, last - 7, last - 1):
        path.write_bytes(whole.rstrip()[:-cut])
        with pytest.warns(UserWarning, match=r"The last row of trials\.csv was cut off .* its earlier saves"):
            TrialBook(path).keep(Trial(variant="as it is", day="2026-01-20", shakes=9))
        assert [row.number for row in TrialBook(path).rows([])] == [1, 2, 3]
        assert earlier_saves(path)[0].read() == whole.rstrip()[:-cut]


def test_a_formula_with_odd_numbers_is_worked_out_or_refused_in_words() -> None:
    """A stock of density 0, and amounts such as 1e308 % beside q.s., once ended in a division by zero and in nan."""
    source, chance = (DEMO / "quiet_hour_lotion.toml").read_text(encoding="utf-8"), random.Random(6267)
    source += '\n[[stock]]\nname = "Salt 10 %"\ncontents = { "Sodium Chloride" = 10, "Aqua" = 90 }\ndensity = 1.07\n'
    numbers, done = ["0", "-1", "1e-300", "5e-324", "1e15", "100", "1e308", "q.s.", "1e-12", "0 g", "1e9 g"], 0
    for _ in range(MANY):
        text = source
        for _ in range(chance.randint(1, 5)):
            found = chance.choice(list(re.finditer(r'= ("[^"\n]*"|[\d.]+)', text)))
            new = chance.choice(numbers)
            number = new if re.fullmatch(r"[\d.e-]+", new) else "0"
            text = text[: found.start(1)] + (f'"{new}"' if found[1][0] == '"' else number) + text[found.end(1) :]
        try:
            product = Product(formula_of(text.encode(), "f.toml"))
        except KitError:
            continue
        for part in ("findings", "layers", "window", "label", "cost"):
            with suppress(KitError):
                getattr(product, part, None)
                done += 1
    assert done > MANY / 2
    with pytest.raises(FileFaultsError, match="a density of 0 g/mL is not believable"):
        formula_of(source.replace("1.07", "0").encode(), "f.toml")
    assert read_amount("1e308 %").kind == "unreadable"
    with pytest.raises(EntryError, match="too large a number"):
        read_number("9" * 400 + " ½")
