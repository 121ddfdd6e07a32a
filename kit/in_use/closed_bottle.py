"""A closed bottle on the way from cold to warm: how far it fills, the air that is left, and the pressure in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.in_use.vapour import AMBIENT, ZERO_CELSIUS, partial_pressures, vapours
from kit.layers.density import LayerContents, amounts
from kit.layers.density_words import COVERAGE
from kit.layers.substance import usual_expansion
from kit.soundness import sound
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.in_use.life import Liquid
    from kit.library.ingredient import PhaseKind


@sound()
def gauge_pressure(
    room: float, room_then: float, celsius: float, closed_at: float, vapour: float = 0.0, vapour_then: float = 0.0
) -> float:
    """The pressure above that outside in a rigid, tight bottle that was closed at another temperature. [kPa]

    The air that was shut in keeps to the gas law, and the vapour over the liquid is that of its temperature:
    (P₀ - p(t₀)) · T / T₀ · V₀ / V + p(t) - P₀. Outside stand 101.325 kPa all the while.

    Parameters
    ----------
    room, room_then
        The headspace now, and when it was closed. [mL]
    celsius, closed_at
        [°C]
    vapour, vapour_then
        What the liquid sends into it at both. [kPa]

    Raises
    ------
    RangeError
        No headspace, or a liquid that boils.

    References
    ----------
    .. [1] The law of ideal gases with Dalton's law of partial pressures: OpenStax, Chemistry 2e, sections 9.2 and 9.3
       (the sections from memory).

    Examples
    --------
    Dry air shut in at 20 °C and warmed to 50 °C presses by 30 parts in 293 more:

    >>> round(gauge_pressure(10, 10, 50, 20), 2)
    10.37
    """
    if not (room > 0 and room_then > 0):
        msg = f"A headspace of {min(room, room_then):.3g} mL holds no air: the liquid fills the bottle."
        raise RangeError(msg)
    if not (0 <= vapour_then < AMBIENT and vapour >= 0):
        msg = f"A vapour of {vapour_then:.4g} kPa boils at {AMBIENT:g} kPa: such a bottle cannot be closed over air."
        raise RangeError(msg)
    warmer = (celsius + ZERO_CELSIUS) / (closed_at + ZERO_CELSIUS)
    return (AMBIENT - vapour_then) * warmer * room_then / room + vapour - AMBIENT


def vapour_over(liquids: Sequence[Liquid], celsius: float) -> tuple[float, dict[str, float]]:
    """What the layers send into the air over them when they are shaken: together, and substance by substance. [kPa]

    A substance in two layers counts in the one in which it presses harder, as in :func:`kit.in_use.life.live`.

    Raises
    ------
    RangeError
        Outside the range of the vapour pressures, 0 to 60 °C.
    """
    known, parts = vapours(), dict[str, float]()
    for liquid in liquids:
        moles = {name: liquid.shares[name] / known[plain_letters(name)].molar_mass for name in liquid.volatile}
        if not moles:
            continue
        for name, pressure in partial_pressures(moles, celsius, liquid.moles_of_rest).items():
            parts[name] = max(parts.get(name, 0.0), pressure)
    return math.fsum(parts.values()), parts


@dataclass(frozen=True, slots=True)
class FilledVolumes:
    """What is in the bottle at a temperature.

    Attributes
    ----------
    volumes
        Layer → its volume, ice left out. [mL]
    off
        How far all of it together may lie off for what it grew since the bottle was filled, twice the standard
        uncertainty. [± mL]
    carried
        Of how much of it the expansion is not known: it is taken to be that of a usual liquid. [% of the volume]
    """

    volumes: Mapping[PhaseKind, float]
    off: float
    carried: float

    @property
    def volume(self) -> float:
        """[mL]"""
        return math.fsum(self.volumes.values())


class Filling:
    """A product as it is filled, whose layers are looked up once and can then be asked at any temperature."""

    def __init__(self, formula: Formula, materials: Materials, fill: float, filled_at: float) -> None:
        """Fill so much of a product. [mL, °C]

        Raises
        ------
        RangeError
            Amounts are missing, or a layer has no density.
        """
        self.filled_at = filled_at
        self._percents = amounts(formula)
        layers = LayerContents.of(formula, materials)
        self._layers = [layer for layer in layers if layer.mass(self._percents) > 0]
        self._then = {layer.kind: layer.density(self._percents, filled_at) for layer in self._layers}
        for layer in self._layers:
            if self._then[layer.kind].mixed is None and not self._then[layer.kind].measured:
                msg = (
                    f"How the {layer.name} grows when it is warmed is not known: nothing in it has a density. Weigh "
                    "100 mL of it, or give its ingredients a density."
                )
                raise RangeError(msg)
        masses = {layer.kind: layer.mass(self._percents) for layer in self._layers}
        room = math.fsum(mass / self._then[kind].value for kind, mass in masses.items())
        if not room > 0:
            msg = f"{formula.title} has no amounts yet, so nothing is in the bottle. Type the amounts first."
            raise RangeError(msg)
        #: What of each layer is in the bottle. [g]
        self.masses: dict[PhaseKind, float] = {kind: mass * fill / room for kind, mass in masses.items()}

    def at(self, celsius: float) -> FilledVolumes:
        """Its volumes at a temperature, 0 to 100 °C. [°C]

        What the uncertainty of a density grows by on warming is that of the expansion, as in
        :func:`kit.layers.temperature.expansion_room`; where the expansion of a part is not known, that of a usual
        liquid stands in for it, with a wide band.
        """
        volumes: dict[PhaseKind, float] = {}
        variance = carried = 0.0
        for layer in self._layers:
            then, now = self._then[layer.kind], layer.density(self._percents, celsius)
            volume = volumes[layer.kind] = self.masses[layer.kind] / now.value
            grown = max((now.uncertainty / now.value) ** 2 - (then.uncertainty / then.value) ** 2, 0.0)
            unknown = max(
                1 - (1 - each.unknown_share / 100) * (1 - each.unknown_expansion_share / 100) for each in (then, now)
            )
            usual = usual_expansion()[1] * (celsius - self.filled_at)
            since = then.unknown_expansion_share / 100 * usual
            variance += volume**2 * (max(grown, since**2) + (now.unknown_share / 100 * usual) ** 2)
            carried += volume * unknown
        whole = math.fsum(volumes.values())
        return FilledVolumes(volumes, COVERAGE * math.sqrt(variance), 100 * carried / whole)

    def from_below(self, celsius: float) -> list[tuple[PhaseKind, str]]:
        """The layers from below at a temperature, the densest first: kind and name. [°C]"""
        ordered = sorted(self._layers, key=lambda layer: -layer.density(self._percents, celsius).value)
        return [(layer.kind, layer.name) for layer in ordered]
