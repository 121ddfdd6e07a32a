"""A maker's own ingredients in a file that she can edit."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.bench.price_list import prices_of
from kit.errors import FileFaultsError, StoreError
from kit.library.columns import COLUMNS, read_composition
from kit.library.ingredient import PHASE_KINDS, Figure, Ingredient, Purchase, Solubility, SolubleIn
from kit.library.library import Library
from kit.library.own import read_own, save_own
from kit.saving import earlier_saves
from kit.visible_text import plain_letters
from tests.present import present

if TYPE_CHECKING:
    from pathlib import Path

PLUM = Ingredient(
    inci="Prunus Domestica Seed Oil",
    plain_name="plum kernel oil",
    other_names=("plum oil",),
    roles=("emollient", "scent"),
    phase="oil",
    charge="nonionic",
    density=Figure(0.913, "own: data sheet of March"),
    usual_low=Figure(1.0, "own"),
    usual_high=Figure(10.0, "own"),
    facts_source="own",
    note='Smells of marzipan, "strongly"; keep cool.',
    own=True,
)
BLEND = Ingredient(
    inci="Tern Lane oil base",
    phase="oil",
    composition={"Squalane": 33.3, "Prunus Domestica Seed Oil": 66.7},
    composition_source="own",
    facts_source="own",
    own=True,
)


def faults_of(path: Path, text: str | bytes) -> list[str]:
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    with pytest.raises(FileFaultsError) as caught:
        read_own(path)
    assert str(caught.value).startswith(f"{path.name} has ")
    return [str(fault) for fault in caught.value.faults]


def test_what_is_saved_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    save_own(path, [PLUM, BLEND])
    assert read_own(path) == (PLUM, BLEND)


words = st.text(st.characters(categories=["L", "N"], include_characters=" ,.\"'()%-/"), max_size=20).map(
    lambda text: " ".join(text.split())
)
SUPPLIED = {plain_letters(each.inci) for each in Library.bundled()}
names = words.filter(lambda text: bool(plain_letters(text)) and plain_letters(text) not in SUPPLIED)
shares = st.integers(1, 99).map(lambda part: {"Aqua": float(part), "Glycerin": 100.0 - part})
made_up = st.builds(
    Ingredient,
    inci=names,
    plain_name=words,
    other_names=st.lists(names, max_size=2).map(tuple),
    roles=st.lists(names, max_size=2).map(tuple),
    phase=st.sampled_from(PHASE_KINDS),
    charge=words,
    density=st.none() | st.builds(Figure, st.floats(0.3, 5), st.just("own: scale")),
    usual_low=st.none() | st.builds(Figure, st.floats(0, 10), st.just("own")),
    usual_high=st.none() | st.builds(Figure, st.floats(10, 100), st.just("own")),
    molar_mass=st.none() | st.builds(Figure, st.floats(1, 1e5), st.just("from-memory")),
    viscosity=st.none() | st.builds(Figure, st.floats(0, 1e6), st.just("own")),
    log_p=st.none() | st.builds(Figure, st.floats(-20, 20), st.just("own: book")),
    pka=st.lists(st.builds(Figure, st.floats(-5, 20), st.just("own")), max_size=3).map(tuple),
    purchase=st.none()
    | st.builds(Purchase, st.floats(0, 1e6), st.just("EUR"), st.floats(0.001, 1e6), st.sampled_from(["g", "kg", "mL"])),
    composition=shares,
    composition_source=st.just("own"),
    facts_source=st.just("own"),
    note=words,
    own=st.just(True),
)


@given(st.lists(made_up, max_size=3, unique_by=lambda each: plain_letters(each.inci)))
def test_anything_that_is_saved_is_read_back(tmp_path_factory: pytest.TempPathFactory, made: list[Ingredient]) -> None:
    path = tmp_path_factory.mktemp("own") / "own.csv"
    save_own(path, made)
    assert read_own(path) == tuple(made)


def test_the_version_before_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    save_own(path, [PLUM])
    save_own(path, [PLUM, BLEND])
    assert read_own(earlier_saves(path)[0].path) == (PLUM,)


def test_a_file_typed_by_hand_needs_only_names(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    path.write_text("inci\nCera Nova\n\nCera Vetus\n", encoding="utf-8")
    found = read_own(path)
    assert [each.inci for each in found] == ["Cera Nova", "Cera Vetus"]
    assert all(each.own and each.phase == "water" for each in found)


def test_a_file_from_a_spreadsheet_with_decimal_commas(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    text = '\ufeffINCI;Phase;density_g_ml;composition\r\nCera Nova;oil;0,95;"Squalane 12,5 %; Tocopherol 87,5"\r\n'
    path.write_bytes(text.encode())
    (found,) = read_own(path)
    assert found.density == Figure(0.95, "own")
    assert found.composition == {"Squalane": 12.5, "Tocopherol": 87.5}
    assert found.composition_source == "own"


def test_every_fault_is_told_with_its_row_and_column(tmp_path: Path) -> None:
    text = (
        "inci,phase,density_g_ml,usual_low_percent,usual_high_percent,composition\n"
        "Cera Nova,oily,heavy,5,2,\n"
        "\n"
        ",oil,,,120,\n"
        "Cera Alba,oil,,,,Squalane\n"
    )
    found = faults_of(tmp_path / "own.csv", text)
    assert found == [
        "row 2, column usual_low_percent: 5 % is above the usual high of 2 %. Swap the two.",
        "row 2, column phase: 'oily' is not a layer. Write water, oil or other.",
        "row 2, column density_g_ml: 'heavy' is not a number. Write digits with one decimal mark, such as 3.5 or 3,5.",
        "row 4, column inci: the name is missing. Write the INCI name as printed on the bag, bottle or data sheet.",
        "row 4, column usual_high_percent: 120 is not possible here: it must not be below 0 and not above 100.",
        "row 5, column composition: 'Squalane' is not a name and a percent. Write it like 'Aqua 50; Sodium PCA 50'.",
    ]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", r"row 1: there is no column 'inci'\. The first row must hold the column names: inci, plain_name"),
        ("name\nCera Nova\n", r"row 1: there is no column 'inci'"),
        ("inci,colour\nCera Nova,red\n", r"row 1: 'colour' is not a column of this file"),
        ("inci,note,note\nCera Nova,a,b\n", r"row 1: the column 'note' is there 2 times\. Keep one\."),
        ("inci,note\nCera Nova,soft, white\n", r"row 2: there are 3 cells under 2 column names\. Put a text"),
        (
            "inci\nCera Nova\ncera  NOVA\n",
            r"row 3, column inci: cera  NOVA is already in row 2\. Keep one of the two\.",
        ),
        ("inci,density_g_ml\nCera Nova,950\n", r"row 2: Cera Nova: a density of 950 g/mL is not believable"),
        ("inci,density_g_ml\nCera Nova,-1\n", r"column density_g_ml: -1 is not possible here: .* below 0\."),
        ("inci,density_g_ml\nCera Nova,0.9 %\n", r"column density_g_ml: '0.9 %'"),
        ("inci,molar_mass_g_mol\nCera Nova,0\n", r"column molar_mass_g_mol: 0 is not possible"),
        ("inci,composition\nCera Nova,Aqua 60; Glycerin 30\n", r"row 2: Cera Nova: its parts add to 90 %, not 100 %"),
        ("inci,composition\nCera Nova,Aqua 60; Aqua 40\n", r"Aqua is in the composition twice\. Write it once"),
        (b"inci\nC\xe9ra Nova\n", r"the whole file: it is not saved as UTF-8 text\. Save it again as 'CSV UTF-8'\."),
        ("inci\n" + "x" * 200_000 + "\n", r"row 2: it cannot be read as a table \(.*\)\. Open it"),
    ],
)
def test_a_fault_says_what_to_do(tmp_path: Path, text: str | bytes, sentence: str) -> None:
    found, *more = faults_of(tmp_path / "own.csv", text)
    assert re.search(sentence, found), found
    assert not more or "there is no column" in found  # then the other names in its place are told too


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"own\.csv cannot be read: there is no such file\. Check the name"):
        read_own(tmp_path / "own.csv")


def test_a_folder_is_not_a_file(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="cannot be read"):
        read_own(tmp_path)


def test_a_bad_file_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    faults_of(path, "inci,phase\nCera Nova,oily\n")
    assert path.read_text(encoding="utf-8") == "inci,phase\nCera Nova,oily\n"


def test_the_file_has_one_row_of_names_a_person_can_read(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    save_own(path, [BLEND])
    head, row, *rest = path.read_text(encoding="utf-8").splitlines()
    assert head == ",".join(COLUMNS)
    assert row.startswith("Tern Lane oil base,")
    assert "Squalane 33.3; Prunus Domestica Seed Oil 66.7" in row
    assert rest == []


def test_an_empty_composition_is_a_single_substance() -> None:
    assert read_composition(" ; ") == {}


BOUGHT = replace(
    PLUM,
    purchase=Purchase(12.5, "EUR", 250.0, "mL", lot="A 17", bought_on="2026-05-01", keep_until="2027-05-01"),
    viscosity=Figure(62.0, "own: cup of March"),
    log_p=Figure(-1.5, "own"),
    pka=(Figure(3.1, "own"), Figure(4.8, "own")),
    solubility=Solubility(SolubleIn("insoluble", "own"), SolubleIn("mixes", "own"), None),
    molecular_formula="C57H104O6",
)


def test_a_purchase_and_every_other_figure_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    save_own(path, [BOUGHT])
    assert read_own(path) == (BOUGHT,)


def test_a_name_and_a_price_are_enough_for_what_the_kit_has(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    path.write_text("inci;price;currency;pack_amount;pack_unit\nglycerin;4,50;eur;1;L\n", encoding="utf-8")
    (found,) = read_own(path)
    supplied = present(Library.bundled().get("Glycerin"))
    assert found == replace(supplied, own=True, purchase=Purchase(4.5, "EUR", 1.0, "L"))


def test_only_what_differs_from_the_kit_is_written_so_that_an_update_counts(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    supplied = present(Library.bundled().get("Squalane"))
    mine = replace(supplied, own=True, density=Figure(0.812, "own: scale"), purchase=Purchase(lot="B 2"))
    save_own(path, [mine])
    head, row = path.read_text(encoding="utf-8").splitlines()
    cells = {name: cell for name, cell in zip(head.split(","), row.split(","), strict=True) if cell}
    assert cells == {
        "inci": "Squalane", "density_g_ml": "0.812", "density_source": "own: scale", "lot": "B 2",
    }  # fmt: skip
    assert read_own(path) == (mine,)


@given(st.sampled_from(sorted(each.inci for each in Library.bundled())), st.floats(0.5, 2), st.booleans())
def test_a_changed_ingredient_of_the_kit_is_read_back(
    tmp_path_factory: pytest.TempPathFactory, name: str, density: float, priced: bool
) -> None:
    path = tmp_path_factory.mktemp("own") / "own.csv"
    pack = Purchase(1.0, "GBP", 5.0, "g") if priced else None
    mine = replace(present(Library.bundled().get(name)), own=True, density=Figure(density, "own"), purchase=pack)
    save_own(path, [mine])
    assert read_own(path) == (mine,)


def test_every_fault_of_a_purchase_is_told_with_the_others(tmp_path: Path) -> None:
    text = (
        "inci,log_p,price,currency,pack_amount,pack_unit,bought_on\n"
        "Cera Nova,far,dear,EUR,250,g,\n"
        "Cera Alba,,5,12,250,g,\n"
        "Cera Flava,,5,EUR,250,g,yesterday\n"
    )
    assert faults_of(tmp_path / "own.csv", text) == [
        "row 2, column log_p: 'far' is not a number. Write digits with one decimal mark, such as 3.5 or 3,5.",
        "row 2, column price: 'dear' is not a number. Write digits with one decimal mark, such as 3.5 or 3,5.",
        "row 3, purchase: '12' is not a currency. Write its code or symbol, such as EUR, GBP or €.",
        "row 4, purchase: 'yesterday' is not a date. Write 'bought on' as year-month-day, such as 2026-05-31.",
    ]


def test_text_that_a_spreadsheet_would_run_is_kept_as_text(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    odd = Ingredient("=1+1 wax", note="@home", phase="oil", facts_source="own", own=True)
    save_own(path, [odd])
    assert "'=1+1 wax" in path.read_text(encoding="utf-8")
    assert read_own(path) == (odd,)


@pytest.mark.parametrize(
    ("currency", "unit"), [("€", "KG"), ("Fr.", "lb"), ("eur", "oz"), ("$", "fl oz"), ("euro", "g")]
)
def test_a_purchase_takes_what_a_price_list_takes(tmp_path: Path, currency: str, unit: str) -> None:
    path = tmp_path / "own.csv"
    path.write_text(f"inci,price,currency,pack_amount,pack_unit\nCera Nova,5,{currency},1,{unit}\n", encoding="utf-8")
    (own,) = read_own(path)
    assert own.purchase is not None
    kept = "EUR" if currency == "eur" else currency  # three letters are a code; symbols and names stay as written
    assert (own.purchase.currency, own.purchase.unit) == (kept, unit)
    text = f"material,amount,unit,price,currency\nCera Nova,1,{unit},5,{currency}\n"
    assert prices_of(text.encode(), "prices.csv").prices[0].unit == unit
