"""A filled bottle from cold to warm: how its layers stand at each temperature, and what happens on the way."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.crossing import crossing
from kit.errors import RangeError
from kit.in_use.closed_bottle import Filling, gauge_pressure, vapour_over
from kit.in_use.density_bands import density_bands
from kit.in_use.freezing import in_layer, water_freezing
from kit.in_use.life import liquids
from kit.in_use.oil_clouding import oil_clouding
from kit.inputs import Number, asked
from kit.layers.density import WHOLE
from kit.soundness import refuse_odd_fields

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.in_use.density_bands import DensityBands
    from kit.in_use.freezing import WaterFreezing
    from kit.in_use.life import Liquid
    from kit.in_use.oil_clouding import OilClouding
    from kit.layers.bottle import Bottle
    from kit.layers.density import Layer
    from kit.library.ingredient import PhaseKind

#: Between these a bottle is looked at. Vapour pressures and densities are known from 0 °C on. [°C]
COLD_END, WARM_END, NOT_BELOW = -20.0, 60.0, 0.0


@dataclass(frozen=True, slots=True)
class Journey:
    """Where the bottle is closed, and how cold and warm it may get."""

    closed_at: float = asked("Filled and closed at", Number(NOT_BELOW, WARM_END), 20.0, unit="°C")
    coldest: float = asked(
        "Coldest on the way", Number(COLD_END, WARM_END), -10.0, unit="°C", help="A van in winter, a hold, a doorstep."
    )
    warmest: float = asked(
        "Warmest on the way", Number(NOT_BELOW, WARM_END), 50.0, unit="°C", help="A parcel in the sun; 50 is usual."
    )

    def __post_init__(self) -> None:
        refuse_odd_fields(self)


@dataclass(frozen=True, slots=True)
class LayerThen:
    """One layer as it stands at a temperature, from below. [mL, mm, mm]

    Attributes
    ----------
    ice
        The most of its water that can be ice. [0 to 1]
    """

    kind: PhaseKind
    name: str
    volume: float
    bottom: float
    top: float
    ice: float = 0.0


@dataclass(frozen=True, slots=True)
class BottleThen:
    """The closed bottle at one temperature.

    Attributes
    ----------
    standing
        Its layers from below. Below 0 °C their liquids stand as at 0 °C, where their densities end.
    order_is_known
        Whether it can be told which of water and oil layer lies below.
    volume, off
        Of all in it, ice at its most, and how far that may lie off. [mL, ± mL]
    carried
        How much of that expands by nobody knows how much. [% of the volume]
    room
        The headspace that is left; below 0 it does not fit. [mL]
    ice
        Which part of the water layer's water is ice, at least and at most. [-, -]
    vapour
        Over the liquid; None below 0 °C. [kPa]
    pressure, pressure_band
        Above that outside, of a rigid and tight bottle; None below 0 °C or without a headspace. [kPa]
    """

    celsius: float
    standing: tuple[LayerThen, ...]
    order_is_known: bool
    volume: float
    off: float
    carried: float
    room: float
    ice: tuple[float, float]
    vapour: float | None
    pressure: float | None
    pressure_band: tuple[float, float] | None

    @property
    def about(self) -> float:
        """How far the volume may lie off, as it is said: at least a tenth of a millilitre. [± mL]"""
        return max(self.off, 0.1)

    @property
    def is_overfull(self) -> bool:
        """Whether the liquid, or the ice, may fill the whole bottle."""
        return self.room - self.off <= 0


@dataclass(frozen=True)
class ColdAndWarm:
    """A filled and closed bottle that can be asked at any temperature from -20 to 60 °C.

    Attributes
    ----------
    bands
        The densities of water and oil layer over temperature; None without both, and where nothing parts.
    freezing, clouding
        Of the water layer and of the oil layer; None where there is none.
    is_one_piece
        Whether it is said to stand in no layers, such as an emulsion.
    """

    journey: Journey
    bottle: Bottle
    fill: float
    filling: Filling
    liquids: tuple[Liquid, ...]
    bands: DensityBands | None
    freezing: WaterFreezing | None
    clouding: OilClouding | None
    is_one_piece: bool = False

    def at(self, celsius: float) -> BottleThen:
        """The bottle at a temperature. [°C]

        Raises
        ------
        RangeError
            Outside -20 to 60 °C.
        """
        if not COLD_END <= celsius <= WARM_END:
            msg = f"A bottle is looked at from {COLD_END:g} to {WARM_END:g} °C, not at {celsius:g} °C."
            raise RangeError(msg)
        liquid_at = max(celsius, NOT_BELOW)
        filled = self.filling.at(liquid_at)
        volumes, ice = dict(filled.volumes), (0.0, 0.0)
        if self.freezing is not None:
            ice = self.freezing.ice(celsius)
            volumes["water"] += self.freezing.grows(self.filling.masses["water"], celsius)
        volume = math.fsum(volumes.values())
        room = self.bottle.brimful - volume
        vapour = vapour_over(self.liquids, celsius)[0] if celsius >= NOT_BELOW else None
        pressure, band = self._pressure(celsius, room, filled.off, vapour)
        below = self.bands.below(liquid_at) if self.bands is not None else None
        return BottleThen(
            celsius, self._standing(liquid_at, volumes, ice[1]), self.bands is None or below is not None, volume,
            filled.off, filled.carried, room, ice, vapour, pressure, band,
        )  # fmt: skip

    @property
    def room_when_closed(self) -> float:
        """[mL]"""
        return self.bottle.brimful - self.fill

    def _pressure(
        self, celsius: float, room: float, off: float, vapour: float | None
    ) -> tuple[float | None, tuple[float, float] | None]:
        then = self.room_when_closed
        if vapour is None or room <= 0 or then <= 0:
            return None, None
        before = vapour_over(self.liquids, self.journey.closed_at)[0]

        def above(left: float) -> float:
            return gauge_pressure(left, then, celsius, self.journey.closed_at, vapour, before)

        highest = above(room - off) if room > off else math.inf
        return above(room), (above(room + off), highest)

    def _standing(self, celsius: float, volumes: dict[PhaseKind, float], ice: float) -> tuple[LayerThen, ...]:
        if self.is_one_piece:
            whole = min(math.fsum(volumes.values()), self.bottle.brimful)
            kind = max(volumes, key=volumes.__getitem__)
            return (LayerThen(kind, WHOLE, whole, 0.0, self.bottle.level(whole), ice),)
        found, below = [], 0.0
        for kind, name in self.filling.from_below(celsius):
            top = min(below + volumes[kind], self.bottle.brimful)
            levels = self.bottle.level(below), self.bottle.level(top)
            found.append(LayerThen(kind, name, volumes[kind], *levels, ice if kind == "water" else 0.0))
            below = top
        return tuple(found)

    def fuller_than(self, percent: float) -> float | None:
        """The temperature above which the bottle is fuller than this, from 0 to 60 °C; None where never. [% → °C]"""

        def over(celsius: float) -> float:
            return self.filling.at(celsius).volume / self.bottle.brimful - percent / 100

        cold, warm = over(NOT_BELOW), over(WARM_END)
        if cold > 0:
            return NOT_BELOW
        return crossing(over, NOT_BELOW, WARM_END, cold, warm) if warm > 0 else None


def cold_and_warm(
    formula: Formula, materials: Materials, layers: Sequence[Layer], bottle: Bottle, fill: float, journey: Journey
) -> ColdAndWarm:
    """A filled and closed bottle, to be asked at any temperature.

    Parameters
    ----------
    layers
        Of the formula.
    fill
        [mL]

    Raises
    ------
    RangeError
        Amounts or a density are missing, more than the bottle holds, or a coldest above the warmest.
    """
    if not journey.coldest <= journey.warmest:
        msg = (
            f"The coldest on the way, {journey.coldest:g} °C, lies above the warmest, {journey.warmest:g} °C. "
            "Give the colder first."
        )
        raise RangeError(msg)
    if not 0 < fill <= bottle.brimful * (1 + 1e-9):
        msg = (
            f"{fill:.4g} mL cannot stand in {bottle.name}, which holds {bottle.brimful:.4g} mL to the brim. "
            "Fill less, or choose a larger bottle."
        )
        raise RangeError(msg)
    one = len(layers) > 1 and formula.description.is_one_piece
    names = {layer.kind: layer.name for layer in layers}
    water, oil = (in_layer(formula, materials, kind) for kind in ("water", "oil"))
    return ColdAndWarm(
        journey, bottle, fill, Filling(formula, materials, fill, journey.closed_at),
        tuple(liquids(formula, materials, layers, fill)), None if one else density_bands(formula, materials),
        water_freezing(names["water"], water, materials) if water else None,
        oil_clouding(names["oil"], oil) if oil else None, one,
    )  # fmt: skip
