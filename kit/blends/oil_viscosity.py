"""The viscosity of one oil by itself, as the blending rules take it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.formula.model import Formula, Line, Phase
from kit.layers.density import layers_of
from kit.layers.viscosity import LEAST_KINEMATIC, layer_viscosity

if TYPE_CHECKING:
    from kit.formula.expansion import Materials


def kinematic_of(name: str, materials: Materials) -> float | None:
    """Viscosity divided by density of an oil, through its parts where it is a blend; None where none is known.

    [mm²/s at 20 °C; some figures of ``data/viscosities`` are for 25 °C, as their notes say]

    Examples
    --------
    >>> from kit.library.library import Library
    >>> from kit.formula.expansion import Materials
    >>> round(kinematic_of("Caprylic/Capric Triglyceride", Materials(Library.bundled())), 1)
    30.7
    """
    alone = Formula(name, (Phase("Oil", "oil", (Line(name, "100"),)),))
    layer = layers_of(alone, materials)[0]
    found = layer_viscosity(alone, materials, layer)
    kinematic = found.value / layer.density
    return None if found.words == "assumed" or kinematic <= LEAST_KINEMATIC else kinematic
