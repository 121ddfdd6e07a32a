"""Who doses from which bottle, and what the doses hold: the nouns of :mod:`kit.layers.dosing`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.layers.inversion import LIKELY_DROPS

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

TRADE = (
    "A product in two layers must be shaken before every use. A fine-mist spray of it lands as a jet rather than a "
    "mist, so dose it into the hand (common practice)."
)


@dataclass(frozen=True, slots=True)
class Pump:
    """A pump or spray with a dip tube: height of its tip above the bottle's floor, and one dose. [mm, mL]"""

    tip: float
    dose: float

    def __post_init__(self) -> None:
        if not self.tip >= 0:
            msg = f"The tip of the tube is {self.tip:g} mm above the floor of the bottle; it must be 0 or more."
            raise RangeError(msg)
        if not self.dose > 0:
            msg = f"One dose must be more than 0 mL, got {self.dose:g} mL."
            raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class User:
    """How a person uses the bottle.

    Attributes
    ----------
    delay
        From shaking to dosing, as a rule (median). [s]
    delay_spread
        Geometric standard deviation of the delays: 1 is always the same.
    coarser
        How many times larger the drops are than those of a good shake.
    shakes
        False where the layers are left as they stand.
    """

    name: str
    delay: float = 2.0
    delay_spread: float = 1.5
    coarser: float = 1.0
    shakes: bool = True

    def __post_init__(self) -> None:
        if not self.delay >= 0:
            msg = f"{self.name}: the time from shaking to dosing cannot be below 0 s, got {self.delay:g} s."
            raise RangeError(msg)
        if not 1 <= self.delay_spread <= 10:
            msg = f"{self.name}: the spread of the delays is a factor between 1 and 10, got {self.delay_spread:g}."
            raise RangeError(msg)
        if not self.coarser > 0:
            msg = f"{self.name}: drops can be coarser by a factor above 0, got {self.coarser:g}."
            raise RangeError(msg)


#: Three kinds of user to compare. The numbers are invented for comparison, not measured.
USERS = (
    User("shakes well, doses at once", 2.0, 1.5),
    User("shakes little, dawdles", 20.0, 2.0, coarser=2.5),
    User("never shakes", 0.0, 1.0, shakes=False),
)


@dataclass(frozen=True)
class Doses:
    """The doses of one or many bottles: rows are doses, columns bottles.

    Attributes
    ----------
    oil, water
        Drawn by each dose. [mL]
    oil_left, water_left
        In the bottle when the tube reaches no more. [mL]
    oil_density, water_density
        [g/mL]
    label
        The oil layer of the product as filled. [% w/w]
    most_drops
        The largest part of the volume that was drops before any dose. [0 to 1]
    """

    user: User
    oil: Array
    water: Array
    oil_left: Array
    water_left: Array
    oil_density: float
    water_density: float
    label: float
    most_drops: float

    @property
    def oil_percent(self) -> Array:
        """The oil layer in each dose. [% w/w]"""
        oil, water = self.oil * self.oil_density, self.water * self.water_density
        return 100 * oil / (oil + water)

    @property
    def count(self) -> int:
        """How many doses the tube draws."""
        return int(self.oil.shape[0])

    def percentiles(self, percents: Sequence[float] = (5, 50, 95)) -> Array:
        """The oil layer in each dose at these percentiles of the bottles: one row a percentile. [% w/w]"""
        import numpy as np

        return np.percentile(self.oil_percent, percents, axis=1)

    def summary(self) -> str:
        """First and last dose against the label, and what is left, in words; of the middle bottle."""
        import numpy as np

        middle = self.percentiles((50,))[0]
        oil, water = float(np.median(self.oil_left)), float(np.median(self.water_left))
        return (
            f"{self.user.name}: first dose {middle[0]:.1f} % oil layer ({middle[0] - self.label:+z.1f}), last "
            f"{middle[-1]:.1f} % ({middle[-1] - self.label:+z.1f}); the label says {self.label:.1f} % w/w. "
            f"Left below the tube: {oil:.1f} mL of oil and {water:.1f} mL of water layer."
        )

    def findings(self) -> list[Finding]:
        """What to say about this run."""
        if self.most_drops <= 1 - LIKELY_DROPS:
            return []
        sentence = (
            f"{self.user.name}: what is left drifts until {100 * self.most_drops:.0f} % of it is drops. Long before "
            "that the other liquid becomes the drops, which is not modelled: trust the first doses more than the last."
        )
        return [Finding("caution", sentence, Place(field="dosing"))]
