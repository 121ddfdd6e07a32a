"""The ratio by what is seen: from the visible height of the oil layer to the mass that gives it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.crossing import crossing
from kit.formula.moved import NOTHING
from kit.layers.density import LayerContents

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.formula.expansion import Materials
    from kit.layers.bottle import Bottle
    from kit.layers.ratio import RatioPath


@dataclass(frozen=True, slots=True)
class HeightScale:
    """How high the oil layer stands at each ratio, in one bottle filled to one volume.

    A line that keeps its level grows stronger in its layer as that shrinks, so the layer's density moves with the
    ratio; it is computed anew at each.

    Attributes
    ----------
    fill
        [mL]
    most
        The oil layer when there is no water layer left. [% w/w of the whole]
    layers
        What each layer is made of.
    """

    bottle: Bottle
    fill: float
    most: float
    path: RatioPath
    layers: tuple[LayerContents, ...]

    @classmethod
    def of(cls, path: RatioPath, materials: Materials, bottle: Bottle, fill: float) -> HeightScale:
        """The scale along a path; lines without a density count as the rest of their layer does."""
        return cls(bottle, fill, path.most, path, tuple(LayerContents.of(path.formula, materials)))

    def oil_is_below(self, oil: float) -> bool:
        """Whether the oil layer stands below the water layer when it is ``oil`` % of the whole by mass."""
        upwards = list(self.volumes(oil))
        return upwards.index("oil") < upwards.index("water")

    def volumes(self, oil: float) -> dict[str, float]:
        """Each layer's volume in 100 g of product when the oil layer is ``oil`` %, the lowest layer first. [mL]"""
        percents = self.path.percents(oil)
        standing = []
        for layer in self.layers:
            mass = layer.mass(percents)
            density = layer.density(percents).value
            standing.append((density, layer.kind, mass / density if mass > NOTHING else 0.0))
        return {kind: volume for _, kind, volume in sorted(standing, key=lambda each: -each[0])}

    def height_share(self, oil: float) -> float:
        """The oil layer's part of the visible height when it is ``oil`` % of the whole by mass. [%]"""
        now = self.volumes(oil)
        scale = self.fill / sum(now.values())
        below = 0.0
        for kind, volume in now.items():
            if kind == "oil":
                break
            below += scale * volume
        top = min(below + scale * now["oil"], self.fill)
        height = self.bottle.level(top) - self.bottle.level(min(below, self.fill))
        return 100.0 * height / self.bottle.level(self.fill)

    def volume_share(self, oil: float) -> float:
        """The oil layer's part of the volume when it is ``oil`` % of the whole by mass. [%]"""
        now = self.volumes(oil)
        return 100.0 * now["oil"] / sum(now.values())

    def oil_for_volume(self, share: float) -> float:
        """The oil layer by mass that takes ``share`` % of the volume, at most what there can be. [% w/w]"""
        return self._oil_for(self.volume_share, share)

    def oil_for(self, share: float) -> float:
        """The oil layer by mass that stands at ``share`` % of the visible height. [% w/w of the whole]"""
        return self._oil_for(self.height_share, share)

    def _oil_for(self, seen: Callable[[float], float], share: float) -> float:
        """Both grow with the mass, so one crossing is there; outside the scale the nearest end is given."""
        at_none, at_most = seen(0.0) - share, seen(self.most) - share
        if at_none >= 0:
            return 0.0
        if at_most <= 0:
            return self.most
        return crossing(lambda oil: seen(oil) - share, 0.0, self.most, at_none, at_most)
