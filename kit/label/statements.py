"""What a supplier's certificate says about the allergens in a perfume or essential oil, kept in a maker's own CSV."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kit.errors import EntryError, Fault, RangeError
from kit.formula.amounts import read_amount
from kit.label.allergens import allergen_named, nearest_allergens
from kit.library.columns import split_list
from kit.rounding import all_digits
from kit.saving import save_unless_same
from kit.tables import Schema, as_csv, read_file, read_table
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from kit.saving import Seen

COLUMNS = ("material", "allergen", "percent", "certificate")
#: A share is below 100 % and read by its own row, so no habit of the file settles it.
TABLE = Schema("this file", COLUMNS, needed=COLUMNS[:3], numbers=("percent",), unbounded=())

#: Typed in place of contents where the certificate says that there are none.
NOTHING = "none"


@dataclass(frozen=True, slots=True)
class AllergenStatement:
    """The allergens in one material.

    Attributes
    ----------
    material
        The material by the name a formula uses.
    parts
        Name to print of each allergen → its share of the material; empty where there is none. [% w/w]
    certificate
        Which paper says so, in the maker's own words.
    """

    material: str
    parts: Mapping[str, float] = field(default_factory=dict)
    certificate: str = ""

    def __post_init__(self) -> None:
        for name, percent in self.parts.items():
            if not 0 <= percent <= 100:
                msg = f"{self.material}: {name} is given as {percent:g} %. A share lies between 0 and 100 %."
                raise RangeError(msg)
        total = sum(self.parts.values())
        if total > 100 + 1e-6:
            msg = (
                f"{self.material}: its allergens add to {total:.6g} %, more than the whole. Give each in % w/w of "
                f"{self.material}, not of the product."
            )
            raise RangeError(msg)

    @property
    def text(self) -> str:
        """The contents as they are typed: "Linalool 5; Limonene 0.7"."""
        return "; ".join(f"{name} {percent:.12g}" for name, percent in self.parts.items()) or NOTHING


Statements = dict[str, AllergenStatement]


def statement_for(material: str, statements: Mapping[str, AllergenStatement]) -> AllergenStatement | None:
    """The statement for a material, whatever capitals or signs its name is written with."""
    return statements.get(plain_letters(material))


def collected(statements: Iterable[AllergenStatement]) -> Statements:
    """Statements by the plain letters of their material; a later one takes the place of an earlier one."""
    return {plain_letters(each.material): each for each in statements}


def read_share(name: str, text: str) -> tuple[str, float]:
    """The name to print and the share of one allergen. [% w/w of the material]

    Raises
    ------
    EntryError
        No listed allergen of that name, or no percent.
    """
    allergen = allergen_named(name)
    if allergen is None:
        near = nearest_allergens(name)
        hint = f"Did you mean {' or '.join(near)}?" if near else "Copy its name from the supplier's certificate."
        msg = f"{name.strip()!r} is not in the list of fragrance allergens. {hint}"
        raise EntryError(msg)
    amount = read_amount(text)
    if amount.kind != "percent" or amount.problem:
        msg = f"{text.strip()!r} is not a share of the material. Write a percent (0.7) or ppm (700 ppm)."
        raise EntryError(msg)
    return allergen.label_name, amount.value


def read_statement(material: str, text: str, certificate: str = "") -> AllergenStatement:
    """Read "Linalool 5; Limonene 0,7 %; Citral 300 ppm", each in % w/w of the material, or "none".

    Raises
    ------
    EntryError
        A part is not a listed allergen with its share, or stands twice.
    RangeError
        The shares are more than the whole.

    Examples
    --------
    >>> dict(read_statement("Lavandula Angustifolia Oil", "linalool 35; Limonene 0,7 %").parts)
    {'Linalool': 35.0, 'Limonene': 0.7}
    """
    if not material.strip():
        msg = "The statement needs the name of its material, as the formula writes it."
        raise EntryError(msg)
    if text.strip().casefold() == NOTHING:
        return AllergenStatement(material.strip(), {}, certificate.strip())
    parts: dict[str, float] = {}
    for part in split_list(text):
        name, share = _name_and_share(part)
        label_name, percent = read_share(name, share)
        if label_name in parts:
            msg = f"{label_name} stands twice for {material.strip()}. Write it once, with its whole percent."
            raise EntryError(msg)
        parts[label_name] = percent
    if not parts:
        msg = f"Write what the certificate of {material.strip()} says, such as 'Linalool 5; Limonene 0.7', or 'none'."
        raise EntryError(msg)
    return AllergenStatement(material.strip(), parts, certificate.strip())


def _name_and_share(part: str) -> tuple[str, str]:
    words = part.split()
    unit = words.pop() if len(words) > 2 and not any(letter.isdigit() for letter in words[-1]) else ""
    if len(words) < 2:
        msg = f"{part!r} is not a name and a share. Write it like 'Linalool 5' or 'Citral 300 ppm'."
        raise EntryError(msg)
    return " ".join(words[:-1]), f"{words[-1]} {unit}".strip()


def read_statements(path: Path) -> Statements:
    """The statements of a maker's own file: columns material, allergen, percent and, if she likes, certificate.

    A row for each allergen of each material; a row whose allergen is "none" says that the material has none.
    Comma or semicolon between the cells, decimal point or comma, with or without a byte mark.

    Raises
    ------
    StoreError
        There is no such file, or it cannot be opened.
    FileFaultsError
        Every fault in it, with its row as a spreadsheet counts it.
    """
    return statements_of(read_file(path), path.name)


def statements_of(data: bytes, name: str) -> Statements:
    """The statements that these bytes of a maker's own file hold; see :func:`read_statements`."""
    table = read_table(data, name, TABLE)
    parts: dict[str, dict[str, float]] = {}
    names: dict[str, tuple[str, str]] = {}
    for number, row in table.rows:
        material, allergen = row["material"], row.get("allergen", "")
        if not material:
            table.fault(number, "the name of the material is missing.", "material")
            continue
        key = plain_letters(material)
        known, certificate = names.get(key, (material, ""))
        names[key] = (known, certificate or row.get("certificate", ""))
        found = parts.setdefault(key, {})
        if allergen.casefold() == NOTHING:
            continue
        try:
            label_name, percent = read_share(allergen, row.get("percent", ""))
            AllergenStatement(material, {label_name: percent})
        except (EntryError, RangeError) as error:
            table.fault(number, str(error))
            continue
        if label_name in found:
            table.fault(number, f"{label_name} of {material} is there twice. Keep one of the two.")
        found[label_name] = percent
    statements = []
    for key, (material, certificate) in names.items():
        try:
            statements.append(AllergenStatement(material, parts[key], certificate))
        except RangeError as error:
            table.faults.append(Fault("the whole file", str(error)))
    table.finish(None)
    return collected(statements)


def save_statements(path: Path, statements: Mapping[str, AllergenStatement], *, seen: Seen | None = None) -> None:
    """Write the statements; what it held goes to its earlier saves. A file that says the same keeps every byte.

    Raises
    ------
    ChangedOnDiskError
        The file is not as it was ``seen``; nothing was written.
    StoreError
        It cannot be written; the old file is then untouched.
    """
    rows = [
        (each.material, name, all_digits(percent) if name != NOTHING else "", each.certificate)
        for each in statements.values()
        for name, percent in each.parts.items() or [(NOTHING, 0.0)]
    ]
    data = as_csv([COLUMNS, *rows]).encode("utf-8", "replace")
    save_unless_same(path, data, lambda there: statements_of(there, path.name), seen=seen)
