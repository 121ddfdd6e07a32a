"""What is known of each preservative, and which of them a formula holds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.library.columns import number_or_none
from kit.library.ingredient import Figure
from kit.resources import load_table

if TYPE_CHECKING:
    from kit.findings import Severity
    from kit.formula.expansion import Materials
    from kit.formula.model import Formula

ROLE = "preservative"

#: Partition coefficients shown where nobody knows the one in the maker's oil: the lowest and highest of table VII of
#: Bean (1972), and two between.
RANGE_OF_K = (0.02, 1.0, 10.0, 280.0)

#: A published K is taken for an oil layer of which that oil is at least this much (our choice). [% w/w]
SAME_OIL = 95.0


@dataclass(frozen=True, slots=True)
class Preservative:
    """A substance that can be counted in the water.

    Attributes
    ----------
    form
        acid (can ionise), neutral (does not), or unknown.
    pka
        Of the acid in water at 25 °C. [-]
    log_p
        Octanol-water; shown for orientation, never used as a K. [-]
    solubility
        Of the undissociated substance in water. [g/L]
    ph_low, ph_high
        Between which it is usually used. [-]
    """

    inci: str
    form: str = "unknown"
    pka: Figure | None = None
    log_p: Figure | None = None
    solubility: Figure | None = None
    ph_low: float | None = None
    ph_high: float | None = None
    ph_source: str = ""
    severity: Severity = "note"
    caution: str = ""
    caution_source: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class PublishedK:
    """A partition coefficient in print: [% w/v in the oil over % w/v in the water]."""

    preservative: str
    oil: str
    oil_inci: str
    k: float
    celsius: float
    source: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Found:
    """A preservative of a formula, through whatever brings it.

    Attributes
    ----------
    about
        What is known of it; for a salt, of its acid.
    forms
        The substances that bring it, such as Sodium Benzoate.
    per_line
        How much of it 1 g of each line brings, lines in order; a salt counted as its acid. [g/g]
    uncounted
        Salts that are counted as they are, because the library has no molar mass for them or for their acid.
    """

    about: Preservative
    forms: tuple[str, ...]
    per_line: tuple[float, ...]
    uncounted: tuple[str, ...] = ()

    @property
    def inci(self) -> str:
        """The name in which it is counted."""
        return self.about.inci

    @property
    def is_salt(self) -> bool:
        """Whether some of it comes as a salt."""
        return any(form != self.inci for form in self.forms)


@lru_cache(maxsize=1)
def known_preservatives() -> dict[str, Preservative]:
    """Every preservative of the bundled table that is counted as itself, by INCI name."""
    return {
        row["inci"]: Preservative(
            inci=row["inci"],
            form=row["form"],
            pka=_figure(row, "pka", "pka_source"),
            log_p=_figure(row, "log_p", "log_p_source"),
            solubility=_figure(row, "solubility_g_l", "solubility_source"),
            ph_low=number_or_none(row["ph_low"]),
            ph_high=number_or_none(row["ph_high"]),
            ph_source=row["ph_source"],
            severity="caution" if row["severity"] == "caution" else "note",
            caution=row["caution"],
            caution_source=row["caution_source"],
            note=row["note"],
        )
        for row in load_table("preservatives").rows
        if row["counted_as"] == row["inci"]
    }


def _figure(row: dict[str, str], column: str, source: str) -> Figure | None:
    return Figure(float(row[column]), row[source]) if row[column] else None


@lru_cache(maxsize=1)
def salts() -> dict[str, str]:
    """Each salt of the bundled table and the acid that it is counted as."""
    rows = load_table("preservatives").rows
    return {row["inci"]: row["counted_as"] for row in rows if row["counted_as"] != row["inci"]}


@lru_cache(maxsize=1)
def published_partition() -> tuple[PublishedK, ...]:
    """The partition coefficients in print."""
    return tuple(
        PublishedK(
            row["preservative"],
            row["oil"],
            row["oil_inci"],
            float(row["k"]),
            float(row["celsius"]),
            row["source"],
            row["note"],
        )
        for row in load_table("partition").rows
    )


def published_k(inci: str, oil_inci: str) -> PublishedK | None:
    """The published K of a preservative in this very oil, if there is one."""
    return next((row for row in published_partition() if (row.preservative, row.oil_inci) == (inci, oil_inci)), None)


def the_oil(formula: Formula, materials: Materials) -> str:
    """The one oil that makes up nearly the whole oil layer; empty where it is a mixture. [INCI name]"""
    masses: dict[str, float] = {}
    for p, _, line, percent in formula.each_line():
        if formula.phases[p].kind == "oil" and percent:
            for name, share in materials.substances(line.material).items():
                masses[name] = masses.get(name, 0.0) + percent * share / 100.0
    whole = sum(masses.values())
    return next((name for name, mass in masses.items() if 100.0 * mass >= SAME_OIL * whole > 0), "")


def find_preservatives(formula: Formula, materials: Materials) -> tuple[Found, ...]:
    """The preservatives of a formula, in the order in which they are written.

    A substance counts where the library gives it the role of a preservative, whether it comes by itself, in a stock
    or in a blend, in whichever layer. A bought preservative of which no part has that role counts as a whole.
    """
    lines = [line.material for _, _, line, _ in formula.each_line()]
    forms: dict[str, list[str]] = {}
    shares: dict[str, list[float]] = {}
    uncounted: dict[str, list[str]] = {}
    for n, name in enumerate(lines):
        for form, share in _preserving_parts(name, materials).items():
            inci = salts().get(form, form)
            factor = _acid_per_salt(form, inci, materials)
            if form not in forms.setdefault(inci, []):
                forms[inci].append(form)
                if factor is None:
                    uncounted.setdefault(inci, []).append(form)
            brought = shares.setdefault(inci, [0.0] * len(lines))
            brought[n] += share / 100.0 * (1.0 if factor is None else factor)
    known = known_preservatives()
    return tuple(
        Found(known.get(inci, Preservative(inci)), tuple(names), tuple(shares[inci]), tuple(uncounted.get(inci, ())))
        for inci, names in forms.items()
    )


def _preserving_parts(name: str, materials: Materials) -> dict[str, float]:
    if not name.strip():
        return {}
    parts = materials.substances(name)
    found = {part: share for part, share in parts.items() if _has_role(part, materials)}
    if found or not _has_role(name, materials):
        return found
    ingredient = materials.ingredient(name)
    return {ingredient.inci if ingredient else name: 100.0}


def _has_role(name: str, materials: Materials) -> bool:
    ingredient = materials.ingredient(name)
    return ingredient is not None and ROLE in ingredient.roles


def _acid_per_salt(form: str, inci: str, materials: Materials) -> float | None:
    """Grams of acid that 1 g of its salt makes; None where a molar mass is missing. [g/g]"""
    if form == inci:
        return 1.0
    salt, acid = materials.ingredient(form), materials.ingredient(inci)
    if salt is None or acid is None or salt.molar_mass is None or acid.molar_mass is None:
        return None
    return acid.molar_mass.value / salt.molar_mass.value
