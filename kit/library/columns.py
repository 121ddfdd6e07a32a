"""The columns of a maker's own file: their order, what belongs together, and where each says its source."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.inputs import Choice, Input
from kit.numbers import read_number
from kit.rounding import all_digits

if TYPE_CHECKING:
    from collections.abc import Mapping

#: Columns of a maker's own file, in order. The bundled table has one more, density_note; what it has of viscosity,
#: solubility, log P and pKa stands in tables of their own, and a purchase only in the maker's file.
COLUMNS = (
    "inci",
    "plain_name",
    "other_names",
    "cas",
    "roles",
    "phase",
    "charge",
    "density_g_ml",
    "density_source",
    "usual_low_percent",
    "usual_high_percent",
    "usual_source",
    "molar_mass_g_mol",
    "molar_mass_source",
    "molecular_formula",
    "viscosity_mpa_s",
    "viscosity_source",
    "log_p",
    "log_p_source",
    "pka",
    "pka_source",
    "soluble_in_water",
    "soluble_in_oil",
    "soluble_in_alcohol",
    "solubility_source",
    "composition",
    "composition_source",
    "facts_source",
    "price",
    "currency",
    "pack_amount",
    "pack_unit",
    "lot",
    "bought_on",
    "keep_until",
    "note",
)

#: The columns that a form asks for, as they are asked.
ASKED = (
    Input("inci", "INCI name", default="", example="as printed on the pack"),
    Input("plain_name", "Plain name", default=""),
    Input("other_names", "Other names", default="", example="separated by semicolons"),
    Input("cas", "CAS number", default="", example="56-81-5", help="By it the kit finds rules about the substance."),
    Input("roles", "Roles", default="", example="emollient; scent"),
    Input("phase", "Belongs in", Choice({kind: kind for kind in ("water", "oil", "other")}), "water"),
    Input("charge", "Charge", default="", example="nonionic", help="Such as nonionic, anionic or cationic."),
    Input("density_g_ml", "Density", default="", unit="g/mL"),
    Input("viscosity_mpa_s", "Viscosity", default="", unit="mPa·s"),
    Input("molar_mass_g_mol", "Molar mass", default="", unit="g/mol"),
    Input("log_p", "log P", default=""),
    Input("usual_low_percent", "Usual range from", default="", unit="%"),
    Input("usual_high_percent", "Usual range to", default="", unit="%"),
    Input("pka", "pKa", default="", example="3.13; 4.76"),
    Input("soluble_in_water", "In water", default="", example="soluble"),
    Input("soluble_in_oil", "In oil", default="", example="insoluble"),
    Input("soluble_in_alcohol", "In alcohol", default=""),
    Input("composition", "Made of", default="", example="Squalane 70; Tocopherol 30", help="Of a bought blend, in %."),
    Input("price", "Price of the pack", default="", example="12.50 EUR"),
    Input("currency", "Currency", default="", example="EUR"),
    Input("pack_amount", "The pack holds", default="", example="250 g"),
    Input("pack_unit", "Unit", default="", example="g", help="g, kg, mL, L, oz or lb."),
    Input("lot", "Lot", default=""),
    Input("bought_on", "Bought on", default="", example="2026-05-31"),
    Input("keep_until", "Keep until", default="", example="2028-05-31"),
    Input("note", "Note", default=""),
)

#: What belongs together: where a maker fills in none of these cells for an ingredient that the kit has too, what
#: the kit knows stands there. Group → (cells that decide, attributes of the ingredient).
GROUPS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "plain name": (("plain_name",), ("plain_name",)),
    "other names": (("other_names",), ("other_names",)),
    "CAS number": (("cas",), ("cas",)),
    "facts": (("roles", "phase", "charge"), ("roles", "phase", "charge", "facts_source")),
    "density": (("density_g_ml",), ("density",)),
    "usual range": (("usual_low_percent", "usual_high_percent"), ("usual_low", "usual_high")),
    "molar mass": (("molar_mass_g_mol", "molecular_formula"), ("molar_mass", "molecular_formula")),
    "viscosity": (("viscosity_mpa_s",), ("viscosity",)),
    "log P": (("log_p",), ("log_p",)),
    "pKa": (("pka",), ("pka",)),
    "solubility": (("soluble_in_water", "soluble_in_oil", "soluble_in_alcohol"), ("solubility",)),
    "composition": (("composition",), ("composition", "composition_source")),
    "note": (("note",), ("note",)),
}

PURCHASE_COLUMNS = ("price", "currency", "pack_amount", "pack_unit", "lot", "bought_on", "keep_until")

#: Column of a figure → column of its source.
SOURCE_COLUMNS = {
    "roles": "facts_source",
    "phase": "facts_source",
    "charge": "facts_source",
    "density_g_ml": "density_source",
    "usual_low_percent": "usual_source",
    "usual_high_percent": "usual_source",
    "molar_mass_g_mol": "molar_mass_source",
    "viscosity_mpa_s": "viscosity_source",
    "log_p": "log_p_source",
    "pka": "pka_source",
    "soluble_in_water": "solubility_source",
    "soluble_in_oil": "solubility_source",
    "soluble_in_alcohol": "solubility_source",
    "composition": "composition_source",
}


def number_or_none(text: str) -> float | None:
    """The number in a cell of a bundled table; None where it is empty."""
    return float(text) if text else None


def split_list(text: str) -> tuple[str, ...]:
    """The parts of a cell that holds a list: "solvent; humectant"."""
    return tuple(part.strip() for part in text.split(";") if part.strip()) if text else ()


def read_composition(text: str, decimal_mark: str = "") -> dict[str, float]:
    """Read "Phenoxyethanol 90; Ethylhexylglycerin 10". [% w/w]

    Examples
    --------
    >>> read_composition("Undecane 65 %; Tridecane 35")
    {'Undecane': 65.0, 'Tridecane': 35.0}
    """
    parts: dict[str, float] = {}
    for part in split_list(text):
        name, _, number = part.removesuffix("%").rstrip().rpartition(" ")
        try:
            percent = read_number(number, low=0, high=100, decimal_mark=decimal_mark)
        except EntryError:
            name = ""
        if number.startswith("00"):  # the end of 1 000
            name = ""
        if not name.strip():
            msg = f"{part!r} is not a name and a percent. Write it like 'Aqua 50; Sodium PCA 50'."
            raise EntryError(msg)
        if name.strip() in parts:
            msg = f"{name.strip()} is in the composition twice. Write it once, with its whole percent."
            raise EntryError(msg)
        parts[name.strip()] = percent
    return parts


def write_composition(parts: Mapping[str, float]) -> str:
    """The text from which :func:`read_composition` reads the same parts again."""
    return "; ".join(f"{name} {all_digits(percent)}" for name, percent in parts.items())
