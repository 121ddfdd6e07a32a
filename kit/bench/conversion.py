"""One strength on another basis, through the density of the solution.

Mass for mass, mass for volume, volume for volume, moles and equivalents are five families. They hang together
in one chain, each link needing one more figure::

    N ─ equivalents ─ mol/L ─ molar mass ─ w/v ─ density of the solution ─ w/w
                                            └─── density of the pure active ─ v/v
"""

from __future__ import annotations

from dataclasses import replace

from kit.bench.strength import STRENGTH_UNITS, Family, Strength, read_strength
from kit.crossing import crossing
from kit.errors import KitError, RangeError
from kit.findings import Finding, Place
from kit.library.ingredient import BASES, Basis
from kit.library.library import Library
from kit.liquids.aqueous import AqueousSolution, aqueous_solution
from kit.visible_text import listed


def density_in_water(substance: str, strength: float, basis: Basis = "w/w", *, celsius: float = 20.0) -> float:
    """Density of a solution in water. [g/mL]

    Parameters
    ----------
    substance
        INCI name of what is dissolved, as it is weighed: a hydrate with its water.
    strength, basis
        In % on that basis; v/v for what is a liquid by itself.
    celsius
        [°C]

    Raises
    ------
    RangeError
        No table of this substance is known, or it does not reach so far.

    References
    ----------
    .. [1] The tables: :func:`kit.liquids.aqueous.aqueous_solution`.

    Examples
    --------
    >>> round(density_in_water("Alcohol", 70, "v/v"), 4), round(density_in_water("Sodium Hydroxide", 20, "w/v"), 3)
    (0.8856, 1.185)
    """
    table = _table(substance)
    most = min(100.0, table.most / table.brings)

    def density(percent: float) -> float:
        return table.density(min(percent * table.brings, table.most), celsius)

    if basis == "w/w":
        return table.density(strength * table.brings, celsius)
    grams = strength * pure_density(substance, celsius=celsius) if basis == "v/v" else strength

    def too_little(percent: float) -> float:
        return percent * density(percent) - grams

    if not 0 <= grams <= most * density(most) * (1 + 1e-9):
        msg = (
            f"{strength:g} % {basis} of {substance} lies outside what its published table covers: up to {most:.4g} % "
            f"w/w, {most * density(most):.4g} g in 100 mL. Give the density of the solution: weigh 100 mL of it."
        )
        raise RangeError(msg)
    if grams == 0:
        return density(0.0)
    at_most = max(too_little(most), 0.0)
    return density(crossing(too_little, 0.0, most, -grams, at_most) if at_most else most)


def pure_density(substance: str, *, celsius: float = 20.0) -> float:
    """Density of a liquid that mixes with water in all proportions, by itself. [g/mL]

    Raises
    ------
    RangeError
        No table is known, or it does not reach to the pure liquid.
    """
    table = _table(substance)
    if table.most < 100:
        msg = (
            f"{substance} has no published density as a pure liquid here, so % v/v cannot be counted. Give the density "
            "of the pure active; it stands on the data sheet."
        )
        raise RangeError(msg)
    return table.density(100.0, celsius)


def _table(substance: str) -> AqueousSolution:
    found = aqueous_solution(substance)
    if found is None:
        msg = (
            f"No published density of {substance or 'this substance'} in water is known here. Give the density of the "
            "solution in g/mL: weigh 100 mL of it."
        )
        raise RangeError(msg)
    return found


def to_w_w(
    strength: float, basis: Basis, *, density: float | None = None, active_density: float | None = None
) -> float:
    """A strength on any basis as % w/w.

    Parameters
    ----------
    strength
        In % on the given basis: w/w g per 100 g, w/v g per 100 mL of solution, v/v mL per 100 mL of solution.
    density
        Of the finished solution. [g/mL]
    active_density
        Of the pure active, needed for v/v. [g/mL]

    Raises
    ------
    RangeError
        A strength below 0 or above 100 % w/w, or a density that is needed and missing.

    References
    ----------
    .. [1] USP General Notices 8.140, "Percentage concentrations".

    Examples
    --------
    >>> round(to_w_w(20, "w/v", density=1.08), 3)
    18.519
    """
    if basis not in BASES:
        msg = f"The basis {basis!r} is not known. Write one of {', '.join(BASES)}."
        raise RangeError(msg)
    if basis == "w/w":
        return _share(strength)
    if density is None or not density > 0:
        msg = f"{strength:g} % {basis} needs the density of the solution in g/mL to become % w/w. Weigh 100 mL of it."
        raise RangeError(msg)
    if basis == "w/v":
        return _share(strength / density)
    if active_density is None or not active_density > 0:
        msg = f"{strength:g} % v/v needs the density of the pure active in g/mL to become % w/w."
        raise RangeError(msg)
    return _share(strength * active_density / density)


def _share(percent: float) -> float:
    if not 0 <= percent <= 100:
        msg = (
            f"The strength comes to {percent:.4g} % w/w; it must be from 0 to 100 %. Look at the number and its basis."
        )
        raise RangeError(msg)
    return percent


USP_PERCENT = "USP General Notices 8.140, Percentage concentrations"

#: The links of the chain, from the one end to w/v in the middle; and what each link needs.
_TOWARDS_W_V: dict[Family, tuple[Family, str]] = {
    "eq": ("mol", "equivalents"),
    "mol": ("w/v", "molar_mass"),
    "v/v": ("w/v", "active_density"),
    "w/w": ("w/v", "density"),
}

_MISSING = {
    "density": ("the density of the solution in g/mL", "Weigh 100 mL of it."),
    "active_density": ("the density of the pure active in g/mL", "It stands on the data sheet."),
    "molar_mass": ("the molar mass in g/mol", "Mind the water of a hydrate."),
    "equivalents": ("the number of equivalents in a mole", "For an acid: the protons that count."),
}


def _way(family: Family) -> list[tuple[Family, Family, str]]:
    """The links from a family to w/v."""
    links: list[tuple[Family, Family, str]] = []
    while family != "w/v":
        nearer, needs = _TOWARDS_W_V[family]
        links.append((family, nearer, needs))
        family = nearer
    return links


def convert(
    strength: Strength | str,
    to: str,
    *,
    density: float | None = None,
    active_density: float | None = None,
    molar_mass: float | None = None,
    equivalents: int | None = None,
    substance: str = "",
) -> Strength:
    """The same strength in another unit.

    Parameters
    ----------
    to
        One of :data:`STRENGTH_UNITS`, or another way of writing it.
    density
        Of the solution; between w/w and the others. [g/mL]
    active_density
        Of the pure active; for v/v. [g/mL]
    molar_mass
        For mol/L and N. [g/mol]
    equivalents
        In a mole; for N. [-]
    substance
        INCI name of what is dissolved in water: the densities at 20 °C are then taken from its published table, and
        its molar mass from the library. A figure that is given goes before them.

    Raises
    ------
    RangeError
        A figure that is needed is missing (the sentence names every one), or the result is more than the
        density allows.

    References
    ----------
    .. [1] USP General Notices 8.140, "Percentage concentrations".
    .. [2] OpenStax, Chemistry 2e, sections 3.3 and 3.4.
    .. [3] The tables: :func:`kit.liquids.aqueous.aqueous_solution`.

    Examples
    --------
    >>> print(convert("37.2 % w/w", "mol/L", density=1.19, molar_mass=36.46))
    12.1415 mol/L
    >>> print(convert("70 % v/v", "% w/w", substance="Alcohol"))
    62.386 % w/w
    """
    start = read_strength(strength) if isinstance(strength, str) else strength
    unit = to if to in STRENGTH_UNITS else read_strength(f"0 {to}").unit
    family, factor = STRENGTH_UNITS[unit]
    figures: dict[str, float | None] = {
        "density": density,
        "active_density": active_density,
        "molar_mass": molar_mass,
        "equivalents": equivalents if equivalents is not None else start.equivalents,
    }
    up, down = _way(start.family), _way(family)
    while up and down and up[-1] == down[-1]:
        up.pop()
        down.pop()
    needed = [needs for *_, needs in (*up, *down)]
    if substance:
        _look_up(start, needed, figures, substance)
    _require(start, unit, needed, figures)
    value = start.base
    for link, _, needs in up:
        value = _towards(link, value, figures[needs] or 1.0)
    for link, _, needs in reversed(down):
        value = _away(link, value, figures[needs] or 1.0)
    result = Strength(value / float(factor), unit, equivalents=equivalents or start.equivalents)
    _possible(result, figures["density"], figures["active_density"], figures["molar_mass"])
    return result if unit != start.unit else replace(start, equivalents=result.equivalents)


def _look_up(start: Strength, needed: list[str], figures: dict[str, float | None], substance: str) -> None:
    """Put in what the library and the published tables know and was not given."""
    if "molar_mass" in needed and figures["molar_mass"] is None:
        known = Library.bundled().get(substance)
        mass = known.molar_mass if known is not None else None
        figures["molar_mass"] = mass.value if mass else None
    if "active_density" in needed and figures["active_density"] is None:
        figures["active_density"] = pure_density(substance)
    if "density" not in needed or figures["density"] is not None:
        return
    if start.family == "w/w":
        figures["density"] = density_in_water(substance, start.base)
        return
    w_v, way = start.base, _way(start.family)
    if all(figures[need] for *_, need in way):
        for link, _, need in way:
            w_v = _towards(link, w_v, figures[need] or 1.0)
        figures["density"] = density_in_water(substance, w_v, "w/v")


def _require(start: Strength, unit: str, needed: list[str], figures: dict[str, float | None]) -> None:
    for name in needed:
        given = figures[name]
        if given is not None and not 0 < given < float("inf"):
            msg = f"{start} needs {_MISSING[name][0]} to become {unit}, above 0; got {given:g}. {_MISSING[name][1]}"
            raise RangeError(msg)
    missing = [name for name in _MISSING if name in needed and figures[name] is None]
    if missing:
        what = listed(_MISSING[name][0] for name in missing)
        msg = f"{start} needs {what} to become {unit}. {' '.join(_MISSING[name][1] for name in missing)}"
        raise RangeError(msg)


def _towards(family: Family, value: float, figure: float) -> float:
    """One link nearer to w/v: N → mol/L, mol/L → % w/v, % v/v → % w/v, % w/w → % w/v."""
    if family == "eq":
        return value / figure
    return value * figure / 10.0 if family == "mol" else value * figure


def _away(family: Family, value: float, figure: float) -> float:
    """The same link back, from nearer to w/v to ``family``."""
    if family == "eq":
        return value * figure
    if family == "w/w":
        share = value / figure
        return 100.0 if 100 < share <= 100 * (1 + 1e-9) else to_w_w(value, "w/v", density=figure)
    return 10.0 * value / figure if family == "mol" else value / figure


def _possible(result: Strength, density: float | None, active_density: float | None, molar_mass: float | None) -> None:
    """Refuse more grams in a volume than the density of the solution allows."""
    if not density or result.family == "w/w":
        return
    try:
        grams = convert(result, "% w/v", active_density=active_density, molar_mass=molar_mass).value
    except RangeError:
        return
    if grams > 100.0 * density * (1 + 1e-9):
        msg = (
            f"{result} would be {grams:.4g} g in 100 mL, but 100 mL of a solution of {density:g} g/mL weigh only "
            f"{100 * density:.4g} g. Look at the density and the basis."
        )
        raise RangeError(msg)


def w_v_for_w_w_note(strength: Strength | str, **figures: float) -> Finding:
    """How far apart w/v and w/w are for this strength: what mistaking one for the other would do.

    Parameters
    ----------
    figures
        What :func:`convert` needs: at least ``density``. [g/mL]

    Examples
    --------
    >>> print(w_v_for_w_w_note("20 % w/v", density=1.08).sentence)
    20 % w/v is 18.52 % w/w here: at 1.08 g/mL the two differ by 8 %. Read as 20 % w/w, it would be 8 % too high.
    """
    start = read_strength(strength) if isinstance(strength, str) else strength
    other = "% w/v" if start.family == "w/w" else "% w/w"
    place = Place(field="strength")
    try:
        found = convert(start, other, **figures)  # type: ignore[arg-type]
    except KitError as error:
        return Finding("caution", f"How far w/v and w/w are apart cannot be said: {error}", place, USP_PERCENT)
    density = figures["density"]
    apart = 100.0 * abs(density - 1)
    if apart < 0.05:
        said = f"{start} is {found.value:.4g} {other} here: at {density:g} g/mL the two bases are the same."
        return Finding("note", said, place, USP_PERCENT)
    said = f"{start} is {found.value:.4g} {other} here: at {density:g} g/mL the two differ by {apart:.3g} %."
    if start.family in ("w/w", "w/v"):
        off = 100.0 * (start.base / found.value - 1) if found.value else 0.0
        said += f" Read as {start.base:g} {other}, it would be {abs(off):.3g} % too {'high' if off > 0 else 'low'}."
    return Finding("caution" if apart >= 1 else "note", said, place, USP_PERCENT)
