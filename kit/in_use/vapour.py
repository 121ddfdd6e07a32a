"""What a liquid sends into the air above it: vapour pressures, Raoult's law, alcohol in water, diffusion in air."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.resources import load_table
from kit.soundness import sound
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Mapping

#: Of an ideal gas. [J/(mol K), which is kPa L/(mol K)]
GAS_CONSTANT = 8.314462618
#: Of the air around. [kPa]
AMBIENT = 101.325
ZERO_CELSIUS = 273.15

#: Van Laar's constants of alcohol (1) in water (2), natural logarithm: Perry's Chemical Engineers' Handbook. They are
#: of boiling mixtures at 101.3 kPa; against pressures measured at 30 °C they lie within 5.5 %. [-]
VAN_LAAR = (1.6798, 0.9227)
WATER, ALCOHOLS = "Aqua", ("Alcohol", "Alcohol Denat.")

#: What an atom adds to the diffusion volume of a molecule. Silicon is not in the list: counted as a carbon (our own
#: choice; a third more or less of it moves the coefficient by 3 %).
DIFFUSION_VOLUMES = {"C": 16.5, "H": 1.98, "O": 5.48, "Si": 16.5}
OF_WATER, OF_AIR, MASS_OF_AIR = 12.7, 20.1, 28.97


@dataclass(frozen=True, slots=True)
class Vapour:
    """The vapour of one pure liquid.

    Attributes
    ----------
    a, b, c
        Of Antoine's equation, log10(p / kPa) = a - b / (t / °C + c).
    coldest, warmest
        Between which it holds. [°C]
    molar_mass
        [g/mol]
    molecular_formula
        Such as "C2H6O".
    off
        How far the equation lies from what it was fitted to. [%]
    source
        Key of ``data/sources``.
    """

    inci: str
    a: float
    b: float
    c: float
    coldest: float
    warmest: float
    molar_mass: float
    molecular_formula: str
    off: float
    source: str
    note: str = ""

    def pressure(self, celsius: float) -> float:
        """The vapour pressure. [kPa]

        Raises
        ------
        RangeError
            Colder or warmer than the equation holds.

        References
        ----------
        .. [1] C. Antoine, Comptes Rendus 107 (1888) 681.

        Examples
        --------
        >>> round(vapour_of("Aqua").pressure(25), 3)
        3.17
        """
        if not self.coldest <= celsius <= self.warmest:
            msg = (
                f"The vapour pressure of {self.inci} is known from {self.coldest:g} to {self.warmest:g} °C, "
                f"not at {celsius:g} °C."
            )
            raise RangeError(msg)
        return math.pow(10.0, self.a - self.b / (celsius + self.c))

    @property
    def diffusion_volume(self) -> float:
        """After Fuller, Schettler and Giddings (1966). [cm³/mol]"""
        if self.inci == WATER:
            return OF_WATER
        atoms = re.findall(r"(Si|[CHO])(\d*)", self.molecular_formula)
        return sum(DIFFUSION_VOLUMES[atom] * int(count or 1) for atom, count in atoms)

    def diffusion_in_air(self, celsius: float) -> float:
        """The diffusion coefficient in air at 101.325 kPa. [mm²/s]

        References
        ----------
        .. [1] E. N. Fuller, P. D. Schettler, J. C. Giddings, Industrial and Engineering Chemistry 58 (1966) 18.

        Examples
        --------
        >>> round(vapour_of("Aqua").diffusion_in_air(25), 1)
        25.1
        """
        kelvin = celsius + ZERO_CELSIUS
        volumes = math.cbrt(self.diffusion_volume) + math.cbrt(OF_AIR)
        square_cm = 1e-3 * math.pow(kelvin, 1.75) * math.sqrt(1 / self.molar_mass + 1 / MASS_OF_AIR) / volumes**2
        return 100 * square_cm * 101.325 / AMBIENT


@lru_cache(maxsize=1)
def vapours() -> Mapping[str, Vapour]:
    """Every liquid of which the vapour pressure is known, by its plain INCI name."""
    table = load_table("vapour-pressures")
    held = table.about["range"]
    return {
        plain_letters(row["inci"]): Vapour(
            row["inci"], float(row["a"]), float(row["b"]), float(row["c"]), held["coldest_degc"], held["warmest_degc"],
            float(row["molar_mass_g_mol"]), row["molecular_formula"], float(row["off_percent"]), row["source"],
            row["note"],
        )
        for row in table.rows
    }  # fmt: skip


def vapour_of(inci: str) -> Vapour:
    """The vapour of a liquid.

    Raises
    ------
    RangeError
        Nobody knows it here.
    """
    found = vapours().get(plain_letters(inci))
    if found is None:
        msg = f"The vapour pressure of {inci} is not known here; data/vapour-pressures lists those that are."
        raise RangeError(msg)
    return found


@sound(least=("alcohol",))
def van_laar(alcohol: float) -> tuple[float, float]:
    """The activity coefficients of alcohol and of water in a mixture of the two.

    Parameters
    ----------
    alcohol
        Its mole fraction. [0 to 1]

    References
    ----------
    .. [1] J. J. van Laar, Zeitschrift für physikalische Chemie 72 (1910) 723.

    Examples
    --------
    Boiling 95.6 % alcohol, mole fraction 0.894, gives off what it holds: both coefficients times their pressures agree.

    >>> [round(one, 3) for one in van_laar(0.894)]
    [1.006, 2.255]
    """
    first, second = VAN_LAAR
    water = 1 - alcohol
    both = first * alcohol + second * water
    return math.exp(first * (second * water / both) ** 2), math.exp(second * (first * alcohol / both) ** 2)


def partial_pressures(moles: Mapping[str, float], celsius: float, other_moles: float = 0.0) -> dict[str, float]:
    """What stands above one layer at rest with closed air: substance → its part of the pressure. [kPa]

    Raoult's law, with van Laar's activity where alcohol and water stand together. It holds for liquids that are alike;
    an oil may hold a volatile silicone or alkane by some 10 to 30 % off it (common practice).

    Parameters
    ----------
    moles
        Of each substance whose vapour is known. [mol, or in proportion]
    other_moles
        Of all that does not evaporate.

    Raises
    ------
    RangeError
        A substance without a known vapour pressure, or a temperature outside its range.

    References
    ----------
    .. [1] F.-M. Raoult, Comptes Rendus 104 (1887) 1430.

    Examples
    --------
    >>> equal = partial_pressures({"Undecane": 1, "Dodecane": 1}, 20)
    >>> {name: round(1000 * kpa, 1) for name, kpa in equal.items()}
    {'Undecane': 19.5, 'Dodecane': 5.8}
    """
    every = sum(moles.values()) + other_moles
    if not every > 0:
        return dict.fromkeys(moles, 0.0)
    alcohol, water = sum(moles.get(name, 0.0) for name in ALCOHOLS), moles.get(WATER, 0.0)
    of_alcohol, of_water = van_laar(alcohol / (alcohol + water)) if alcohol and water else (1.0, 1.0)
    activity = {WATER: of_water, **dict.fromkeys(ALCOHOLS, of_alcohol)}
    return {
        name: amount / every * activity.get(name, 1.0) * vapour_of(name).pressure(celsius)
        for name, amount in moles.items()
    }


@sound(least=("kpa", "molar_mass", "millilitres"))
def headspace_loss(kpa: float, molar_mass: float, celsius: float, millilitres: float) -> float:
    """The vapour in so much saturated air. [g]

    Examples
    --------
    A litre of air over water at 25 °C holds 23 mg (psychrometric tables: 23.0 g/m³).

    >>> round(1000 * headspace_loss(3.169, 18.015, 25, 1000), 1)
    23.0
    """
    return kpa * molar_mass / (GAS_CONSTANT * (celsius + ZERO_CELSIUS)) * millilitres / 1000


def open_loss_rate(kpa: float, vapour: Vapour, celsius: float, neck_width: float, way: float) -> float:
    """What leaves through an open neck into still air. [g/s]

    Parameters
    ----------
    kpa
        Of the vapour at the liquid. [kPa]
    neck_width, way
        Inner diameter of the neck, and the way from the liquid to its mouth, all of it as narrow. [mm]

    Raises
    ------
    RangeError
        A pressure of boiling, or no way at all.

    References
    ----------
    .. [1] J. Stefan, Sitzungsberichte der Akademie der Wissenschaften Wien 68 (1873) 385: diffusion through air that
       stands still.

    Examples
    --------
    >>> water = vapour_of("Aqua")
    >>> round(3600 * open_loss_rate(3.17, water, 25, 20, 50), 4)
    0.0132
    """
    if not 0 <= kpa < AMBIENT:
        msg = f"A liquid with {kpa:.4g} kPa of vapour boils at {AMBIENT:g} kPa: this law is for still air."
        raise RangeError(msg)
    if not way > 0:
        msg = f"The way from the liquid to the mouth must be more than 0 mm, got {way:g} mm."
        raise RangeError(msg)
    area = math.pi * neck_width**2 / 4
    moles_per_litre = AMBIENT / (GAS_CONSTANT * (celsius + ZERO_CELSIUS))
    moles_per_cubic_mm = moles_per_litre / 1e6
    flux = vapour.diffusion_in_air(celsius) * moles_per_cubic_mm / way * math.log(AMBIENT / (AMBIENT - kpa))
    return flux * area * vapour.molar_mass
