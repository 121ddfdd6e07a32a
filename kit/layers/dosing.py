"""What each dose of a shaken two-layer product holds, to the last one the dip tube reaches (array engine).

Before each dose the bottle is shaken evenly, or not at all; then the drops move for as long as the user waits, as in
:mod:`kit.layers.separation`, and the tube draws what is at its tip. What was drawn is taken from what is left, so the
remainder drifts from dose to dose.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.layers.doses import Doses, Pump, User
from kit.layers.fronts import LATEST, Profile, SizeSums, Travel, pace_of

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from kit.layers.bottle import Bottle
    from kit.layers.shaken import Shaken

    Array = npt.NDArray[np.float64]

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
