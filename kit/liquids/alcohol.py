"""Ethanol and water: density, strength by mass and by volume, proof, and how much they shrink when mixed."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from kit.crossing import crossing
from kit.errors import RangeError
from kit.resources import load_table
from kit.soundness import sound

if TYPE_CHECKING:
    from collections.abc import Callable

#: The INCI names of ethanol, and those of the alcohols that thin, preserve and burn.
ETHANOL = ("Alcohol", "Alcohol Denat.")
ALCOHOLS = (*ETHANOL, "Isopropyl Alcohol")

#: Where the formula holds. [°C]
COLDEST, WARMEST = -20.0, 40.0

#: Temperature at which a strength by volume is stated in Europe, and by the tables. [°C]
STRENGTH_TEMPERATURE = 20.0

#: 60 °F, at which United States proof is stated, and 51 °F, at which British proof was. [°C]
US_PROOF_TEMPERATURE = (60 - 32) / 1.8
UK_PROOF_TEMPERATURE = (51 - 32) / 1.8


def ethanol_density(percent: float, celsius: float = STRENGTH_TEMPERATURE) -> float:
    """Density of ethanol and water. [g/mL]

    Parameters
    ----------
    percent
        Ethanol. [% w/w]
    celsius
        -20 to 40 °C, as long as it is liquid. [°C]

    Raises
    ------
    RangeError
        Outside 0 to 100 % or -20 to 40 °C.

    References
    ----------
    .. [1] OIML R 22 (1975), International Alcoholometric Tables: general formula of H. Wagenbreth and W. Blanke,
       PTB-Mitteilungen 81 (1971) 412-415. Coefficients in ``data/ethanol-water``.

    Examples
    --------
    >>> round(ethanol_density(50), 5)
    0.91377
    """
    _percent_in_range(percent, "w/w")
    _temperature_in_range(celsius)
    return _density(percent / 100, celsius)


def strength_by_volume(percent: float, celsius: float = STRENGTH_TEMPERATURE) -> float:
    """Strength by volume of a mixture whose strength by mass is known: the litres of ethanol in 100 L of it. [% v/v]

    Both volumes are taken at ``celsius``; 20 °C where nothing else is said.

    Examples
    --------
    >>> round(strength_by_volume(33.300), 2)
    40.0
    """
    return min(100.0, percent * ethanol_density(percent, celsius) / ethanol_density(100, celsius))


def strength_by_mass(percent: float, celsius: float = STRENGTH_TEMPERATURE) -> float:
    """Strength by mass of a mixture whose strength by volume is known; alcohol is sold so, at 20 °C. [% w/w]

    Raises
    ------
    RangeError
        Outside 0 to 100 % v/v or -20 to 40 °C.

    Examples
    --------
    >>> round(strength_by_mass(96), 2)
    93.84
    """
    _percent_in_range(percent, "v/v")
    return _percent_where(lambda mass: strength_by_volume(mass, celsius) - percent)


def strength_from_density(density: float, celsius: float) -> float:
    """Strength by mass of a mixture of nothing but ethanol and water, from its density at a temperature. [% w/w]

    What an alcoholometer says is turned so into the true strength: give what it reads as density, and the
    temperature of the liquid.

    Parameters
    ----------
    density
        [g/mL]
    celsius
        0 to 40 °C. [°C]

    Raises
    ------
    RangeError
        No mixture has that density at that temperature.

    Examples
    --------
    >>> round(strength_from_density(0.94805, 20), 2)
    33.3
    """
    if not 0 <= celsius <= WARMEST:
        msg = f"{celsius:g} °C is outside 0 to {WARMEST:g} °C, where every mixture of ethanol and water is liquid."
        raise RangeError(msg)
    least, most = ethanol_density(100, celsius), ethanol_density(0, celsius)
    if not least - 1e-12 <= density <= most + 1e-12:
        msg = (
            f"At {celsius:g} °C mixtures of ethanol and water weigh {least:.5f} (ethanol) to {most:.5f} g/mL (water), "
            f"not {density:g}. Something else is in it, or the temperature is another."
        )
        raise RangeError(msg)
    return _percent_where(lambda mass: density - ethanol_density(mass, celsius))


def us_proof(percent: float) -> float:
    """Proof in the United States of a strength by mass: twice the % v/v at 60 °F. [degrees of proof]

    References
    ----------
    .. [1] Title 27, Code of Federal Regulations, section 19.1: a proof gallon is a gallon at 60 °F which contains
       50 % by volume of ethyl alcohol.

    Examples
    --------
    >>> round(us_proof(strength_by_mass(50)), 1)
    99.9
    """
    return 2 * strength_by_volume(percent, US_PROOF_TEMPERATURE)


def uk_proof(percent: float) -> float:
    """British proof, in use until 1980, of a strength by mass: 100 is proof spirit. [degrees of proof]

    Proof spirit weighs twelve thirteenths of as much water, both at 51 °F; other strengths are counted by the
    ethanol in as many litres.

    References
    ----------
    .. [1] Customs and Excise Act 1952, section 172, as quoted by the Scotch Whisky Association (1995).

    Examples
    --------
    >>> round(uk_proof(100), 1)
    175.4
    """
    return 100 * strength_by_volume(percent, UK_PROOF_TEMPERATURE) / _proof_spirit()


@lru_cache(maxsize=1)
def _proof_spirit() -> float:
    density = 12 / 13 * ethanol_density(0, UK_PROOF_TEMPERATURE)
    return strength_by_volume(strength_from_density(density, UK_PROOF_TEMPERATURE), UK_PROOF_TEMPERATURE)


class Blend(NamedTuple):
    """Two liquids mixed. [% w/w of ethanol; g; mL together; mL that were lost by mixing]"""

    percent: float
    grams: float
    volume: float
    shrinkage: float


@sound()
def mix_by_volume(
    one: float, one_percent: float, other: float, other_percent: float, celsius: float = STRENGTH_TEMPERATURE
) -> Blend:
    """What two mixtures of ethanol and water measured by volume come to when they are poured together.

    Parameters
    ----------
    one, other
        Volumes at ``celsius``. [mL]
    one_percent, other_percent
        Ethanol in each. [% w/w]
    celsius
        [°C]

    Raises
    ------
    RangeError
        A volume below 0, or both 0; a strength or a temperature outside the tables.

    Examples
    --------
    >>> mixed = mix_by_volume(50, 100, 50, 0)
    >>> print(f"{mixed.volume:.2f} mL, {mixed.shrinkage:.2f} mL less than 100")
    96.46 mL, 3.54 mL less than 100
    """
    if min(one, other) < 0 or one + other <= 0:
        msg = f"Two volumes that are poured together must be above 0 mL, got {one:g} and {other:g} mL."
        raise RangeError(msg)
    masses = one * ethanol_density(one_percent, celsius), other * ethanol_density(other_percent, celsius)
    grams = sum(masses)
    percent = one_percent + (other_percent - one_percent) * (masses[1] / grams)
    volume = grams / ethanol_density(percent, celsius)
    return Blend(percent, grams, volume, one + other - volume)


class Dilution(NamedTuple):
    """What makes a weaker alcohol. [mL of the strong one; mL and g of water to add; mL that come of it]"""

    strong: float
    water: float
    water_grams: float
    volume: float


@sound()
def dilute_by_volume(volume: float, wanted: float, strong: float, celsius: float = STRENGTH_TEMPERATURE) -> Dilution:
    """How much of a strong alcohol and how much water make a volume of a weaker one.

    The water is more than the volumes suggest, because the mixture shrinks; whoever fills up to the mark needs not
    know it.

    Parameters
    ----------
    volume
        Wanted, at ``celsius``. [mL]
    wanted, strong
        The strengths, stated at 20 °C as alcohol is sold. [% v/v]
    celsius
        Of all liquids when they are measured. [°C]

    Raises
    ------
    RangeError
        No volume, a strength outside 0 to 100 %, or one wanted above the strong one.

    Examples
    --------
    >>> made = dilute_by_volume(1000, 70, 96)
    >>> print(f"{made.strong:.1f} mL and {made.water:.1f} mL of water")
    729.2 mL and 297.4 mL of water
    """
    if volume <= 0:
        msg = f"The volume wanted must be above 0 mL, got {volume:g} mL."
        raise RangeError(msg)
    weak_mass, strong_mass = strength_by_mass(wanted), strength_by_mass(strong)
    if not 0 < wanted <= strong:
        msg = f"{wanted:g} % v/v cannot be made by adding water to {strong:g} % v/v."
        raise RangeError(msg)
    grams = volume * ethanol_density(weak_mass, celsius)
    taken = grams * weak_mass / strong_mass
    water = grams - taken
    return Dilution(taken / ethanol_density(strong_mass, celsius), water / ethanol_density(0, celsius), water, volume)


def apparent_volume_of_ethanol(share: float, celsius: float) -> float:
    """Room that 1 g of ethanol takes beside water, of which ``share`` of the mass is ethanol. [0 to 1, °C → mL/g]

    Water and mixture are both taken from the same formula, so that the volume stays finite for a trace of ethanol.
    """
    water = _density(0.0, celsius)
    if share < 1e-6:
        return 1 / water - _powers_of_share(celsius)[1] / 1000 / water**2
    return (1 / _density(share, celsius) - (1 - share) / water) / share


def _percent_in_range(percent: float, basis: str) -> None:
    if not 0 <= percent <= 100:
        msg = f"Ethanol must lie between 0 and 100 % {basis}, got {percent:g} %."
        raise RangeError(msg)


def _temperature_in_range(celsius: float) -> None:
    if not COLDEST <= celsius <= WARMEST:
        msg = f"{celsius:g} °C is outside {COLDEST:g} to {WARMEST:g} °C, the range of the alcoholometric tables."
        raise RangeError(msg)


def _percent_where(rising: Callable[[float], float]) -> float:
    """The percentage from 0 to 100 at which a rising function is zero; the end that is nearest where it is not."""
    at_low, at_high = rising(0.0), rising(100.0)
    if at_low >= 0 or at_high <= 0:
        return 0.0 if at_low >= 0 else 100.0
    return crossing(rising, 0.0, 100.0, at_low, at_high)


def _density(share: float, celsius: float) -> float:
    total = 0.0
    for coefficient in reversed(_powers_of_share(celsius)):
        total = total * share + coefficient
    return total / 1000


@lru_cache(maxsize=64)
def _powers_of_share(celsius: float) -> tuple[float, ...]:
    """What stands before each power of the share of ethanol at that temperature. [kg/m³]"""
    found = [0.0] * 12
    for power, degrees, coefficient in _coefficients():
        found[power] += coefficient * (celsius - STRENGTH_TEMPERATURE) ** degrees
    return tuple(found)


@lru_cache(maxsize=1)
def _coefficients() -> tuple[tuple[int, int, float], ...]:
    return tuple(
        (int(row["power_of_share"]), int(row["power_of_degrees"]), float(row["coefficient"]))
        for row in load_table("ethanol-water").rows
    )
