"""How a weak acid or base stands in water at a pH, and how it shares itself out between oil and water at rest.

Concentrations here are % w/v (g in 100 mL of the layer or of the whole), because K is a ratio of such
concentrations. φ is the ratio of the volumes, oil to water: 1 for equal volumes. It is not the oil's fraction.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.inputs import Number
from kit.numbers import read_likely, read_number
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Sequence


def checked_ph(ph: float) -> float:
    """A pH as it came, if it lies between 0 and 14.

    Raises
    ------
    RangeError
        It does not.
    """
    if not 0 <= ph <= 14:
        msg = (
            f"A pH of {ph:g} cannot be: it lies between 0 and 14. Type what the meter showed in the water layer, "
            "or leave it empty; ionisation is then not counted."
        )
        raise RangeError(msg)
    return ph


@dataclass(frozen=True, slots=True)
class MeasuredPh(Number):
    """A pH as the meter showed it."""

    def read(self, text: str, unit: str = "") -> float:  # noqa: ARG002
        """The pH; a KitError says what is wrong with it."""
        return checked_ph(read_likely(text, 0, 14))


@dataclass(frozen=True, slots=True)
class Coefficient(Number):
    """A partition coefficient of ``name`` that a person gives."""

    name: str = "it"

    def read(self, text: str, unit: str = "") -> float:  # noqa: ARG002
        """The coefficient; a KitError says what is wrong with it."""
        return checked_k(read_number(text), self.name)


@sound()
def species_shares(ph: float, pka: Sequence[float]) -> tuple[float, ...]:
    """The shares of the forms of an acid, the one with all its protons first; they add to 1.

    Examples
    --------
    >>> [round(share, 4) for share in species_shares(4.2, (4.2,))]
    [0.5, 0.5]
    """
    powers = [0.0]
    for constant in pka:
        powers.append(powers[-1] + ph - constant)
    top = max(powers)
    parts = [10.0 ** (power - top) for power in powers]
    total = sum(parts)
    return tuple(part / total for part in parts)


@sound()
def undissociated_fraction(ph: float, pka: float) -> float:
    """The undissociated part of a weak acid with one proton: 1 / (1 + 10^(pH - pKa)). [0 to 1]

    Parameters
    ----------
    ph
        As measured in the water layer, 0 to 14. A pH that was only computed may be off by 0.3. [-]
    pka
        In water; it rises in alcohol: benzoic acid has 4.21 in water, 4.92 in 25 % w/w ethanol [2]_. [-]

    Raises
    ------
    RangeError
        The pH lies outside 0 to 14.

    References
    ----------
    .. [1] K. A. Hasselbalch, Biochemische Zeitschrift 78 (1917) 112-144 (from memory), for one acid and its anion;
       OpenStax, Chemistry 2e, section 14.6.
    .. [2] Open article PMC6624721, table 1.

    Examples
    --------
    >>> round(100 * undissociated_fraction(5.0, 4.20), 2)
    13.68
    """
    return species_shares(checked_ph(ph), (pka,))[0]


@sound(least=("overall", "oil_to_water", "k"))
def water_level(overall: float, oil_to_water: float, k: float) -> float:
    """Concentration in the water: C (φ + 1) / (K φ + 1). [% w/v of the water]

    Parameters
    ----------
    overall
        C, in oil and water taken together. [% w/v]
    oil_to_water
        φ, volume of oil over volume of water, 0 or more; the oil's fraction must be converted first, see
        :func:`oil_to_water`. [mL/mL]
    k
        Concentration in the oil over concentration in the water, both % w/v, in this very oil. The octanol-water
        figure is another number: for methylparaben 91 against 0.02 in liquid paraffin and 7.5 in soya oil.

    Raises
    ------
    RangeError
        φ or K below 0.

    Notes
    -----
    K is taken to be the same at every concentration, and nothing to be bound by an emulsifier.

    References
    ----------
    .. [1] H. S. Bean, "Preservatives for pharmaceuticals", J. Soc. Cosmet. Chem. 23 (1972) 715.
    .. [2] H. S. Bean and others, J. Soc. Cosmet. Chem. 16 (1965), no. 1, p. 18.

    Examples
    --------
    Methylparaben, 0.1 % in liquid paraffin and water in equal volumes:

    >>> round(water_level(0.1, 1.0, 0.02), 2)
    0.2
    """
    if not oil_to_water >= 0:
        msg = f"The ratio of oil to water is {oil_to_water:g}. Give mL of oil for each mL of water, 0 or more."
        raise RangeError(msg)
    if not k >= 0:
        msg = f"A partition coefficient of {k:g} cannot be: a concentration is not below 0."
        raise RangeError(msg)
    return overall * (oil_to_water + 1.0) / (k * oil_to_water + 1.0)


@sound(least=("overall", "k"))
def water_level_by_fraction(overall: float, oil_fraction: float, k: float) -> float:
    """The same with the oil's fraction of the volume f: C / (1 - f + K f). [% w/v of the water]

    Parameters
    ----------
    oil_fraction
        Volume of oil over volume of oil and water, 0 to less than 1. [mL/mL]

    Examples
    --------
    >>> round(water_level_by_fraction(0.1, 0.5, 0.02), 2)
    0.2
    """
    return water_level(overall, oil_to_water(oil_fraction), k)


def oil_to_water(oil_fraction: float) -> float:
    """The ratio of volumes φ = f / (1 - f) for the oil's fraction of the volume f. [mL/mL]

    Raises
    ------
    RangeError
        The fraction is not from 0 to less than 1: without water there is no water layer to speak of.

    Examples
    --------
    >>> oil_to_water(0.5), round(oil_to_water(0.4), 4)
    (1.0, 0.6667)
    """
    if not 0 <= oil_fraction < 1:
        msg = f"The oil's fraction of the volume is {oil_fraction:g}. Give 0 to less than 1, such as 0.3 for 30 %."
        raise RangeError(msg)
    return oil_fraction / (1.0 - oil_fraction)


def checked_k(k: float, name: str) -> float:
    """A partition coefficient that a person gave, if it is above 0.

    Raises
    ------
    RangeError
        It is not.
    """
    if not 0 < k < float("inf"):
        msg = (
            f"K of {name} is given as {k:g}. It is the concentration in the oil over that in the water, so it lies "
            "above 0. Leave it empty where nobody measured it: a range is then shown."
        )
        raise RangeError(msg)
    return k


@dataclass(frozen=True, slots=True)
class Shares:
    """One preservative in two layers at rest.

    Attributes
    ----------
    water
        Everything of it that is dissolved in the water. [% w/v of the water layer]
    undissociated
        The undissociated part of that. [% w/v of the water layer]
    oil
        [% w/v of the oil layer]
    undissolved
        What neither layer can hold. [g]
    """

    water: float
    undissociated: float
    oil: float
    undissolved: float

    @property
    def is_saturated(self) -> bool:
        """Whether the water holds as much as it can."""
        return self.undissolved > 0


@sound()
def share_out(
    grams: float,
    water: float,
    oil: float,
    k: float,
    *,
    undissociated: float = 1.0,
    solubility: float | None = None,
) -> Shares:
    """Share a preservative out between the volumes of two layers.

    Only the undissociated part enters the oil, so that everything in the water meets the oil with
    D = K x undissociated fraction; the pH is counted in this one place. Where the undissociated part would pass its
    solubility, water and oil stay saturated and the rest is left undissolved.

    Parameters
    ----------
    grams
        Of the preservative; a salt counted as its acid. [g]
    water, oil
        Volumes of the layers; the water's above 0. [mL]
    k
        Of the undissociated substance, in this oil, 0 or more. [-]
    undissociated
        Its fraction in the water, see :func:`kit.layers.partition.undissociated_fraction`. [0 to 1]
    solubility
        Of the undissociated substance in water; None where it is not known. [g/L]

    Raises
    ------
    RangeError
        There is no water, or the fraction lies outside 0 to 1.

    References
    ----------
    .. [1] As :func:`water_level`; the cap is seen in table VIII there, 0.24 % w/v of methylparaben.

    Examples
    --------
    >>> share_out(0.5, 50, 50, 1.0)
    Shares(water=0.5, undissociated=0.5, oil=0.5, undissolved=0.0)
    """
    if not water > 0:
        msg = "There is no water layer, so no level in water. Set one phase to water and give its lines amounts."
        raise RangeError(msg)
    if not 0 <= undissociated <= 1:
        msg = f"The undissociated fraction is {undissociated:g}. Give 0 to 1."
        raise RangeError(msg)
    level = water_level(100.0 * grams / (water + oil), oil / water, k * undissociated)
    acid, most = level * undissociated, None if solubility is None else solubility / 10.0
    if most is None or acid <= most:
        return Shares(level, acid, k * acid, 0.0)
    level = most / undissociated
    left = grams - (level * water + k * most * oil) / 100.0
    return Shares(level, most, k * most, left)
