"""The density of a solution in water from its published table, whatever basis its strength is written on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.crossing import crossing
from kit.errors import RangeError
from kit.liquids.aqueous import AqueousSolution, aqueous_solution

if TYPE_CHECKING:
    from kit.library.ingredient import Basis


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
