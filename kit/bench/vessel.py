"""Whether a batch fits a vessel: not so full that it spills, not so empty that the stirrer runs dry."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.units import magnitude

#: Stirring and heating need room above the liquid (common practice). [% of the brimful volume]
MOST_FILL = 80.0
#: Below this a stirrer or stick blender often draws air (common practice). [% of the brimful volume]
LEAST_FILL = 25.0


@dataclass(frozen=True, slots=True)
class Vessel:
    """A beaker, pot or mixer.

    Attributes
    ----------
    volume
        Brimful. [mL]
    most, least
        How full it may be and must be; the maker's own choice. [% of the brimful volume]
    """

    volume: float
    most: float = MOST_FILL
    least: float = LEAST_FILL
    name: str = "the vessel"

    def __post_init__(self) -> None:
        if not self.volume > 0:
            msg = f"{self.name} must hold more than 0 mL, got {self.volume:g} mL. Fill it with water and weigh that."
            raise RangeError(msg)
        if not 0 <= self.least < self.most <= 100:
            msg = (
                f"{self.name}: the least fill must be below the most, both from 0 to 100 %; got {self.least:g} and "
                f"{self.most:g} %."
            )
            raise RangeError(msg)

    @classmethod
    def of(
        cls, volume: object, *, most: float = MOST_FILL, least: float = LEAST_FILL, name: str = "the vessel"
    ) -> Vessel:
        """A vessel from a quantity: ``Vessel.of("600 mL")``."""
        return cls(magnitude(volume, "mL", name="vessel"), most, least, name)

    def most_mass(self, density: float) -> float:
        """The largest batch of a product of this density. [g/mL → g]

        Examples
        --------
        >>> Vessel(600).most_mass(0.95)
        456.0
        """
        return self.volume * self.most / 100.0 * _checked(density)

    def least_mass(self, density: float) -> float:
        """The smallest batch that can be stirred in it. [g/mL → g]"""
        return self.volume * self.least / 100.0 * _checked(density)

    def filling(self, mass: float, density: float) -> Filling:
        """How a batch stands in it. [g, g/mL]

        Examples
        --------
        >>> Vessel(600).filling(522.5, 0.95).findings()[0].sentence
        '550 mL fills 91.7 % of the vessel; you allow 80 %. Make 456 g at most, or make it in 2 parts.'
        """
        if not mass > 0:
            msg = f"The batch must weigh more than 0 g, got {mass:g} g."
            raise RangeError(msg)
        return Filling(self, mass / _checked(density), density)


@dataclass(frozen=True, slots=True)
class Filling:
    """A batch in a vessel. [mL, g/mL]"""

    vessel: Vessel
    volume: float
    density: float

    @property
    def percent(self) -> float:
        """How full it is. [% of the brimful volume]"""
        return 100.0 * self.volume / self.vessel.volume

    @property
    def parts(self) -> int:
        """In how many equal parts the batch fits."""
        return max(1, ceil(self.percent / self.vessel.most - 1e-9))

    def findings(self) -> list[Finding]:
        """Too full to stir without spilling, or too empty for the stirrer."""
        vessel, here = self.vessel, Place(field="vessel")
        if self.percent > vessel.most * (1 + 1e-9):
            sentence = (
                f"{self.volume:.4g} mL fills {self.percent:.3g} % of {vessel.name}; you allow {vessel.most:g} %. "
                f"Make {vessel.most_mass(self.density):.4g} g at most, or make it in {self.parts} parts."
            )
            return [Finding("caution", sentence, here, "common practice")]
        if self.percent < vessel.least * (1 - 1e-9):
            sentence = (
                f"{self.volume:.4g} mL fills only {self.percent:.3g} % of {vessel.name}: too empty to stir well below "
                f"{vessel.least:g} %. Make {vessel.least_mass(self.density):.4g} g or more, or take a smaller one."
            )
            return [Finding("caution", sentence, here, "common practice")]
        return []


def bottles_from(mass: float, density: float, fill: object) -> tuple[int, float]:
    """How many bottles a batch fills, and what is left over. [g, g/mL → -, g]

    Raises
    ------
    RangeError
        No batch, no density or no fill.

    Examples
    --------
    >>> bottles_from(1000, 0.95, "100 mL")
    (10, 50.0)
    """
    volume = magnitude(fill, "mL", name="fill")
    if not (mass > 0 and volume > 0):
        msg = f"Batch and fill must be more than 0, got {mass:g} g and {volume:g} mL."
        raise RangeError(msg)
    each = volume * _checked(density)
    count = int(mass / each + 1e-9)
    return count, max(mass - count * each, 0.0)


def _checked(density: float) -> float:
    if not density > 0:
        msg = f"The density must be more than 0 g/mL, got {density:g}."
        raise RangeError(msg)
    return density
