"""What a certificate says is read with every fault at once, and kept."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError, FileFaultsError, RangeError, StoreError
from kit.label.allergens import allergens
from kit.label.statements import (
    AllergenStatement,
    collected,
    read_statement,
    read_statements,
    save_statements,
    statement_for,
)

if TYPE_CHECKING:
    from pathlib import Path

NAMES = sorted({each.label_name for each in allergens()})


def test_what_is_typed_is_read_in_any_unit() -> None:
    found = read_statement(" Parfum ", "linalool 5; Limonene 0,7 %; Citral 300 ppm; 97-53-0 1 ‰", " sheet 12 ")
    assert dict(found.parts) == {"Linalool": 5.0, "Limonene": 0.7, "Citral": pytest.approx(0.03), "Eugenol": 0.1}
    assert (found.material, found.certificate) == ("Parfum", "sheet 12")
    assert found.text == "Linalool 5; Limonene 0.7; Citral 0.03; Eugenol 0.1"


def test_none_is_a_statement_too() -> None:
    found = read_statement("Parfum", "None")
    assert (dict(found.parts), found.text) == ({}, "none")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Linalol 5", "'Linalol' is not in the list of fragrance allergens. Did you mean Linalool?"),
        (
            "Xylophone 5",
            "'Xylophone' is not in the list of fragrance allergens. Copy its name from the supplier's certificate.",
        ),
        ("Linalool", "'Linalool' is not a name and a share. Write it like 'Linalool 5' or 'Citral 300 ppm'."),
        ("Linalool 5 g", "'5 g' is not a share of the material. Write a percent (0.7) or ppm (700 ppm)."),
        ("Linalool much", "'much' is not a share of the material. Write a percent (0.7) or ppm (700 ppm)."),
        ("Linalool 5; linalool 2", "Linalool stands twice for Parfum. Write it once, with its whole percent."),
        ("", "Write what the certificate of Parfum says, such as 'Linalool 5; Limonene 0.7', or 'none'."),
    ],
)
def test_what_cannot_be_read_is_told(text: str, words: str) -> None:
    with pytest.raises(EntryError) as error:
        read_statement("Parfum", text)
    assert str(error.value) == words


def test_a_statement_needs_its_material() -> None:
    with pytest.raises(EntryError, match="The statement needs the name of its material, as the formula writes it"):
        read_statement(" ", "Linalool 5")


def test_more_than_the_whole_is_refused() -> None:
    with pytest.raises(
        RangeError, match=r"its allergens add to 110 %, more than the whole\. Give each in % w/w of Parf"
    ):
        read_statement("Parfum", "Linalool 60; Limonene 50")
    with pytest.raises(RangeError, match=r"Parfum: Linalool is given as 101 %\. A share lies between 0 and 100 %"):
        AllergenStatement("Parfum", {"Linalool": 101.0})


def test_a_statement_is_found_whatever_its_name_is_written_with() -> None:
    found = collected([read_statement("Lavandula angustifolia-oil", "Linalool 30")])
    assert statement_for("LAVANDULA Angustifolia Oil", found) is not None
    assert statement_for("Parfum", found) is None


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "allergens.csv"


@pytest.mark.parametrize(
    "text",
    [
        'material,allergen,percent,certificate\nParfum,Linalool,5,sheet 12\nParfum,Limonene,"0,7",\nOil,none,,\n',
        "\ufeffMaterial;Allergen;Percent;Certificate\nParfum;Linalool;5;sheet 12\n\nparfum;limonene;0,7;\nOil;none;;\n",
        (
            "allergen\tpercent\tmaterial\tcertificate\n"
            "Linalool\t5 %\tParfum\tsheet 12\nLimonene\t7000 ppm\tParfum\nnone\t\tOil\n"
        ),
    ],
)
def test_her_own_file_is_read_as_spreadsheets_write_it(file: Path, text: str) -> None:
    file.write_text(text, encoding="utf-8")
    found = read_statements(file)
    assert {each.material: dict(each.parts) for each in found.values()} == {
        "Parfum": {"Linalool": 5.0, "Limonene": pytest.approx(0.7)},
        "Oil": {},
    }
    assert found["parfum"].certificate == "sheet 12"


def test_every_fault_is_told_at_once_and_nothing_is_read(file: Path) -> None:
    file.write_text(
        "material,allergen,percent\n,Linalool,5\nParfum,Linalol,5\nParfum,Limonene,much\nParfum,Citral,1\n"
        "Parfum,Citral,2\nParfum,Eugenol,0,7\nOil,Linalool,60\nOil,Limonene,50\n",
        encoding="utf-8",
    )
    with pytest.raises(FileFaultsError) as error:
        read_statements(file)
    assert str(error.value).splitlines() == [
        "allergens.csv has 6 faults; nothing was changed.",
        "- row 2, column material: the name of the material is missing.",
        "- row 3: 'Linalol' is not in the list of fragrance allergens. Did you mean Linalool?",
        "- row 4: 'much' is not a share of the material. Write a percent (0.7) or ppm (700 ppm).",
        "- row 6: Citral of Parfum is there twice. Keep one of the two.",
        (
            "- row 7: the percent can be 0, with '7' beside it, or 0.7. For the one, put both cells in double quotes; "
            "for the other, write 0.7. Or part all cells by semicolons."
        ),
        (
            "- the whole file: Oil: its allergens add to 110 %, more than the whole. Give each in % w/w of Oil, not of "
            "the product."
        ),
    ]


def test_columns_are_told(file: Path) -> None:
    file.write_text("material,share\nParfum,5\n", encoding="utf-8")
    with pytest.raises(FileFaultsError) as error:
        read_statements(file)
    assert [fault.problem for fault in error.value.faults] == [
        (
            "there is no column 'allergen', 'percent'. The first row must hold the column names: "
            "material, allergen, percent, certificate."
        ),
        "'share' is not a column of this file. The columns are: material, allergen, percent, certificate.",
    ]


def test_a_file_that_is_not_there_or_no_text_is_told(file: Path) -> None:
    with pytest.raises(StoreError, match=r"allergens\.csv cannot be read: there is no such file"):
        read_statements(file)
    file.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FileFaultsError, match="it is not saved as UTF-8 text"):
        read_statements(file)


@given(
    st.dictionaries(
        st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=8).filter(
            lambda name: any(letter.isascii() and letter.isalnum() for letter in name)
        ),
        st.dictionaries(st.sampled_from(NAMES), st.floats(0, 25), max_size=4),
        max_size=4,
    )
)
def test_what_is_kept_is_read_back(
    tmp_path_factory: pytest.TempPathFactory, known: dict[str, dict[str, float]]
) -> None:
    path = tmp_path_factory.mktemp("kept") / "allergens.csv"
    statements = collected(AllergenStatement(name, parts, "=1+1") for name, parts in known.items())
    save_statements(path, statements)
    assert read_statements(path) == statements
    cells = [cell for row in csv.reader(path.read_text(encoding="utf-8").splitlines()) for cell in row]
    assert not any(cell.startswith("=") for cell in cells)
