"""What each dose of a shaken two-layer product holds, to the last one the dip tube reaches (array engine).

Before each dose the bottle is shaken evenly, or not at all; then the drops move for as long as the user waits, as in
:mod:`kit.layers.separation`, and the tube draws what is at its tip. What was drawn is taken from what is left, so the
remainder drifts from dose to dose.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.findings import Finding, Place
from kit.inputs import Number, asked
from kit.layers.separation import LATEST, Profile, SizeSums, Travel, pace_of
from kit.layers.shaken import LIKELY_DROPS
from kit.soundness import refuse_odd_fields

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    import numpy.typing as npt

    from kit.layers.bottle import Bottle
    from kit.layers.shaken import Shaken

    Array = npt.NDArray[np.float64]


TRADE = (
    "A product in two layers must be shaken before every use. A fine-mist spray of it lands as a jet rather than a "
    "mist, so dose it into the hand (common practice)."
)


@dataclass(frozen=True, slots=True)
class Pump:
    """A pump or spray with a dip tube: height of its tip above the bottle's floor, and one dose. [mm, mL]"""

    tip: float = asked("Tip above the floor", Number(0, 1000), 3.0, unit="mm", help="Where the tube ends.")
    dose: float = asked("One dose", Number(0.01, 1000), 1.0, unit="mL")

    def __post_init__(self) -> None:
        refuse_odd_fields(self)
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
    delay: float = asked("Waits", Number(0, 1e6), 2.0, unit="s", help="From shaking to dosing, as a rule.")
    delay_spread: float = asked(
        "Spread", Number(1, 10), 1.5, unit="times", help="Of the waiting: 1 is always the same."
    )
    coarser: float = asked("Drops coarser", Number(0.05, 100), 1.0, unit="times", help="Than those of a good shake.")
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

    @property
    def findings(self) -> list[Finding]:
        """What to say about this run."""
        if self.most_drops <= 1 - LIKELY_DROPS:
            return []
        sentence = (
            f"{self.user.name}: what is left drifts until {100 * self.most_drops:.0f} % of it is drops. Long before "
            "that the other liquid becomes the drops, which is not modelled: trust the first doses more than the last."
        )
        return [Finding("caution", sentence, Place(field="dosing"))]


#: The mouth of a tube draws from about this far around (common practice). [mm]
MOUTH = 1.0

#: More doses than this from one bottle are not followed one by one.
MOST_DOSES = 5000


def dose_count(bottle: Bottle, fill: float, pump: Pump) -> int:
    """How many whole doses the tube draws before its tip is dry.

    Raises
    ------
    RangeError
        The tip above the product, a dose larger than what is above the tip, or more doses than are followed.
    """
    surface = bottle.level(fill)
    if pump.tip >= surface:
        msg = (
            f"The tip of the tube at {pump.tip:.4g} mm is above the product, which stands at {surface:.4g} mm: it "
            "draws air. Lower the tip or fill more."
        )
        raise RangeError(msg)
    above = fill - bottle.volume(pump.tip)
    if pump.dose > above * (1 + 1e-9):
        msg = (
            f"One dose of {pump.dose:g} mL is more than the {above:.4g} mL that stand above the tip of the tube. "
            "Make the dose smaller, lower the tip or fill more."
        )
        raise RangeError(msg)
    count = int(above / pump.dose + 1e-9)
    if count > MOST_DOSES:
        msg = f"{count} doses in one bottle are too many to follow; {MOST_DOSES} at most. Make the dose larger."
        raise RangeError(msg)
    return count


def draw_delays(user: User, doses: int, bottles: int, seed: int = 0) -> Array:
    """Log-normal delays, one for each dose and bottle. [s]

    A user who does not shake leaves the layers as if the last shaking were forever ago.
    """
    import numpy as np

    if not user.shakes:
        return np.full((doses, bottles), LATEST)
    noise = np.random.default_rng(seed).standard_normal((doses, bottles))
    return np.asarray(user.delay * np.exp(math.log(user.delay_spread) * noise), dtype=np.float64)


def use_up(shaken: Shaken, pump: Pump, user: User, bottles: int = 1, seed: int = 0) -> Doses:
    """Use up bottles dose by dose.

    Parameters
    ----------
    bottles
        How many bottles to follow at once, each with delays of its own. One bottle has the usual delay every time.
    seed
        Of the random delays.

    Raises
    ------
    RangeError
        As :func:`dose_count`.
    """
    import numpy as np

    count = dose_count(shaken.bottle, shaken.volume, pump)
    steady = replace(user, delay_spread=1.0) if bottles == 1 else user
    return use_with_delays(shaken, pump, user, np.asarray(draw_delays(steady, count, bottles, seed)))


def use_with_delays(shaken: Shaken, pump: Pump, user: User, delays: Array) -> Doses:
    """Use up bottles with these delays: rows are doses, columns bottles. [s]

    Within one dose the liquid at the tip is followed: where a layer's edge sinks past the tip, the rest of the dose
    is of the layer above.

    Raises
    ------
    RangeError
        A delay below 0, or as :func:`dose_count`.
    """
    import numpy as np

    most = dose_count(shaken.bottle, shaken.volume, pump)
    delays = np.asarray(delays, dtype=np.float64)
    if delays.size and delays.min() < 0:
        msg = f"The time from shaking to dosing cannot be below 0 s, got {delays.min():g} s."
        raise RangeError(msg)
    if delays.shape[0] > most:
        msg = f"The tube draws {most} doses from this bottle, not {delays.shape[0]}."
        raise RangeError(msg)
    drops = np.full(delays.shape[1], shaken.drops.volume)
    surround = np.full(delays.shape[1], shaken.surround.volume)
    bench = _Drawing(shaken, pump, user)
    drawn, most_drops = np.empty_like(delays), 0.0
    for n, wait in enumerate(delays):
        most_drops = max(most_drops, float((drops / (drops + surround)).max()))
        drawn[n] = bench.drops_drawn(drops, surround, wait)
        drops = np.maximum(drops - drawn[n], 0.0)
        surround = np.maximum(surround - (pump.dose - drawn[n]), 0.0)
    oil_drops = shaken.drops.kind == "oil"
    other = pump.dose - drawn
    oil, water = (shaken.drops, shaken.surround) if oil_drops else (shaken.surround, shaken.drops)
    mass = oil.volume * oil.density
    return Doses(
        user=user,
        oil=drawn if oil_drops else other,
        water=other if oil_drops else drawn,
        oil_left=drops if oil_drops else surround,
        water_left=surround if oil_drops else drops,
        oil_density=oil.density,
        water_density=water.density,
        label=100 * mass / (mass + water.volume * water.density),
        most_drops=most_drops if user.shakes else 0.0,
    )


class _Drawing:
    """What does not change from dose to dose."""

    def __init__(self, shaken: Shaken, pump: Pump, user: User) -> None:
        self.shaken, self.pump = shaken, pump
        self.profile = Profile.of(shaken.bottle)
        sizes = shaken.sizes
        self.sums = replace(SizeSums.of(sizes), log_median=math.log(sizes.median * user.coarser))
        self.exponent = shaken.exponent(sizes.median * user.coarser)
        self.under = shaken.bottle.volume(pump.tip)

    def drops_drawn(self, drops: Array, surround: Array, wait: Array) -> Array:
        """How much of one dose is drops, for bottles that hold these volumes. [mL]"""
        import numpy as np

        total, dose, rises = drops + surround, self.pump.dose, self.shaken.rises
        share = drops / total
        pace = pace_of(self.shaken.per_square, share, wait, self.exponent)
        own = drops * Travel.of(self.profile, drops, total, rises=rises).left(pace, self.sums)
        surface = self.profile.level(total)
        way = self.pump.tip if rises else surface - self.pump.tip
        with np.errstate(over="ignore"):
            mixed = share * self.sums.share_below(np.maximum(way, MOUTH) / pace)
        if rises:
            from_mixed = np.clip(total - own - self.under, 0.0, dose)
            wanted = mixed * from_mixed + (dose - from_mixed)
        else:
            from_own = np.clip(own - self.under, 0.0, dose)
            wanted = from_own + mixed * (dose - from_own)
        return np.clip(wanted, np.maximum(dose - surround, 0.0), np.minimum(drops, dose))
