"""The ratio by what is seen: from the visible height of the oil layer to the mass that gives it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.layers.bottle import from_below
from kit.layers.density import layers_of, material_density

if TYPE_CHECKING:
    from kit.formula.expansion import Materials
    from kit.layers.bottle import Bottle
    from kit.layers.ratio import RatioPath

#: Bisection steps: 100 % / 2⁵⁰ is far below any balance.
STEPS = 50


@dataclass(frozen=True, slots=True)
class HeightScale:
    """How high the oil layer stands at each ratio, in one bottle filled to one volume.

    The volume of each layer is affine in the oil layer's share, as its lines are.

    Attributes
    ----------
    volumes
        Layer kind → (at no oil, per % of oil), for 100 g of product. [mL]
    under
        Kinds of the layers that stand below the oil layer.
    """

    bottle: Bottle
    fill: float
    most: float
    volumes: dict[str, tuple[float, float]]
    under: tuple[str, ...]

    @classmethod
    def of(cls, path: RatioPath, materials: Materials, bottle: Bottle, fill: float) -> HeightScale:
        """The scale of a path; lines without a density count as the rest of their layer does."""
        layers = {layer.kind: layer for layer in layers_of(path.formula, materials)}
        volumes: dict[str, tuple[float, float]] = {}
        for (p, _, line, _), base, slope in zip(path.formula.each_line(), path.base, path.slope, strict=True):
            kind = path.formula.phases[p].kind
            if kind not in layers:
                continue
            density = material_density(line.material, materials) or layers[kind].density
            fixed, per_oil = volumes.get(kind, (0.0, 0.0))
            volumes[kind] = (fixed + base / density, per_oil + slope / density)
        upwards = [layer.kind for layer in from_below(layers.values())]
        under = tuple(upwards[: upwards.index("oil")])
        return cls(bottle, fill, path.most, volumes, under)

    @property
    def oil_is_below(self) -> bool:
        """Whether the oil layer stands below the water layer."""
        return "water" not in self.under

    def height_share(self, oil: float) -> float:
        """The oil layer's part of the visible height when it is ``oil`` % of the whole by mass. [%]"""
        now = {kind: max(fixed + per_oil * oil, 0.0) for kind, (fixed, per_oil) in self.volumes.items()}
        scale = self.fill / sum(now.values())
        below = scale * sum(now[kind] for kind in self.under)
        top = min(below + scale * now["oil"], self.fill)
        height = self.bottle.level(top) - self.bottle.level(min(below, self.fill))
        return 100.0 * height / self.bottle.level(self.fill)

    def volume_share(self, oil: float) -> float:
        """The oil layer's part of the volume when it is ``oil`` % of the whole by mass. [%]"""
        fixed, per_oil = self.volumes["oil"]
        return 100.0 * (fixed + per_oil * oil) / sum(f + p * oil for f, p in self.volumes.values())

    def oil_for_volume(self, share: float) -> float:
        """The oil layer by mass that takes ``share`` % of the volume, at most what there can be. [% w/w]

        Both volumes are affine in the oil layer's mass, so the answer is exact.
        """
        part = min(max(share, 0.0), 100.0) / 100.0
        fixed, per_oil = self.volumes["oil"]
        whole, whole_per_oil = (sum(volume[n] for volume in self.volumes.values()) for n in (0, 1))
        oil = (part * whole - fixed) / (per_oil - part * whole_per_oil)
        return min(max(oil, 0.0), self.most)

    def oil_for(self, share: float) -> float:
        """The oil layer by mass that stands at ``share`` % of the visible height. [% w/w of the whole]

        The height grows with the mass, so bisection finds it; outside the scale the nearest end is given.
        """
        low, high = 0.0, self.most
        for _ in range(STEPS):
            middle = (low + high) / 2
            if self.height_share(middle) < share:
                low = middle
            else:
                high = middle
        return (low + high) / 2
