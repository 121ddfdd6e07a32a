"""Variants compared by their parting times: how many times as long one takes, and how sure that is.

Times differ by factors, so they are compared as logarithms. Where every trial parted, that is Welch's t. Where one was
watched and had not parted, its time is only known to be longer: then a ratio is held possible while the log-rank test
does not tell the one group from the other with all its times multiplied by it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from kit.errors import RangeError
from kit.in_use.parting_trial import of_variant, variants_of
from kit.soundness import sound
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.in_use.parting_trial import Trial

#: Fewer trials of a variant than this say nothing of how much they differ, or of a rank among others.
FEWEST_TIMED, FEWEST_RANKED = 2, 3
#: With fewer than this an interval rests on the shape of the logs, and is told as rough.
FEW = 5
SOURCE = (
    "B. L. Welch, Biometrika 34 (1947) 28; N. Mantel, Cancer Chemother. Rep. 50 (1966) 163; L. J. Wei and M. H. Gail, "
    "J. Am. Stat. Assoc. 78 (1983) 382; several at once after C. E. Bonferroni (1936) (all from memory)"
)

#: A time, and whether it parted then rather than was only watched for so long. [s]
Time = tuple[float, bool]


@dataclass(frozen=True, slots=True)
class Ratio:
    """How many times as long the one takes as the other.

    Attributes
    ----------
    value
        None where the trials do not tell it.
    low, high
        Ends of its interval; 0 and infinite where it has none on that side.
    level
        Of the interval. [%]
    p
        Two-sided, that both take equally long.
    how
        "Welch's t" or "log-rank".
    """

    value: float | None
    low: float
    high: float
    level: float
    p: float
    how: Literal["Welch's t", "log-rank"]

    @property
    def tells(self) -> bool:
        """Whether the interval leaves out 1."""
        return self.low > 1 or self.high < 1


@dataclass(frozen=True, slots=True)
class Comparison:
    """One variant against the one that the others are compared with.

    Attributes
    ----------
    times, base_times
        Of each of its trials that has an end. [s]
    ratio
        None where there are too few trials.
    differs
        What differed besides the variant, such as the shakes; empty where nothing that was noted did.
    """

    variant: str
    base: str
    times: tuple[Time, ...]
    base_times: tuple[Time, ...]
    ratio: Ratio | None
    differs: str = ""

    def sentence(self) -> str:
        """The comparison in plain words, no more than the trials bear."""
        counted = f"{_counted(self.times)} of {self.variant} against {_counted(self.base_times)} of {self.base}"
        beware = f" Beware: {self.differs} differed too." if self.differs else ""
        if self.ratio is None:
            return f"{counted}: {_why_not(self)}{beware}"
        ratio = self.ratio
        span = _interval(ratio)
        if ratio.tells:
            way = "longer" if ratio.low > 1 else "less long"
            by = f"about {ratio.value:.2g} times as long" if ratio.value is not None else f"{way} by a factor not known"
            said = f"{self.variant} takes {by} to part ({span})."
        elif ratio.how == "Welch's t" and math.isinf(ratio.high):
            said = (
                f"{ratio.value:.2g} times as long, but all trials of each took the very same time, so nothing tells "
                "how much they differ. Time them to a tenth of a second."
            )
        elif ratio.value is None:
            said = f"these trials tell no ratio (possible: {span})."
        else:
            said = (
                f"these trials do not tell the two apart: {ratio.value:.2g} times as long would fit best, {span} fits "
                "too, and 1 is among it. That is no proof that they are equal."
            )
        few = min(len(self.times), len(self.base_times)) < FEW
        return f"{counted}: {said}{' Few trials: take the ends as rough.' if few else ''}{beware}"


def compare_variants(trials: Sequence[Trial], base: str = "") -> tuple[Comparison, ...]:
    """Every variant against one of them, by the times at which their trials parted.

    Where several are compared, each interval is widened so that all together hold at 95 %.

    Parameters
    ----------
    base
        The variant that the others are compared with; empty: the first that was tried.

    Raises
    ------
    RangeError
        Fewer than two variants with a trial whose end was noted, or none of the name of ``base``.
    """
    ended = [trial for trial in trials if trial.time is not None]
    names = variants_of(ended)
    if len(names) < 2:
        msg = (
            f"{len(names)} of at least 2 variants with a trial whose end was noted. Time one more variant, and write "
            "when it parted, or how long you watched it."
        )
        raise RangeError(msg)
    first = of_variant(ended, base or names[0])
    if not first:
        msg = f"No trial of {base!r} has its end noted. There are {listed(names)}."
        raise RangeError(msg)
    others = [name for name in names if of_variant(ended, name) != first]
    level = 100 - 5 / len(others)
    found = []
    for name in others:
        mine = of_variant(ended, name)
        times, base_times = _times(mine), _times(first)
        ratio = _ratio(times, base_times, level)
        found.append(Comparison(name, first[0].variant, times, base_times, ratio, _differing(mine, first)))
    return tuple(found)


def _times(trials: Sequence[Trial]) -> tuple[Time, ...]:
    return tuple((trial.time, trial.has_parted) for trial in trials if trial.time is not None)


def _ratio(times: Sequence[Time], base: Sequence[Time], level: float) -> Ratio | None:
    """The ratio, if there are trials enough for one."""
    if all(parted for _, parted in (*times, *base)):
        if min(len(times), len(base)) < FEWEST_TIMED:
            return None
        return welch_ratio([t for t, _ in times], [t for t, _ in base], level)
    enough = min(len(times), len(base)) >= FEWEST_RANKED and any(p for _, p in (*times, *base))
    return rank_ratio(times, base, level) if enough else None


@sound(unbounded=True)
def welch_ratio(times: Sequence[float], base: Sequence[float], level: float = 95.0) -> Ratio:
    """The ratio of two geometric means with its interval, by Welch's t on the logarithms. [s, s → -]

    Raises
    ------
    RangeError
        Fewer than two times in a group, or one that is not above 0.

    References
    ----------
    .. [1] B. L. Welch, Biometrika 34 (1947) 28-35; F. E. Satterthwaite, Biometrics Bull. 2 (1946) 110-114 (from
       memory).

    Examples
    --------
    >>> found = welch_ratio([200, 220, 190], [100, 104, 97])
    >>> print(f"{found.value:.3f}, {found.low:.2f} to {found.high:.2f}")
    2.024, 1.73 to 2.37
    """
    from scipy.special import stdtr, stdtrit

    if min(len(times), len(base)) < FEWEST_TIMED or not min(*times, *base) > 0:
        msg = "Welch's t needs two times above 0 s in each group, or more."
        raise RangeError(msg)
    difference, error, freedom = welch([math.log(t) for t in times], [math.log(t) for t in base])
    if error == 0:
        return Ratio(math.exp(difference), 0.0, math.inf, level, 1.0, "Welch's t")
    reach = float(stdtrit(freedom, 0.5 + level / 200)) * error
    p = 2 * float(stdtr(freedom, -abs(difference) / error))
    ends = [math.exp(max(min(difference + side * reach, 700.0), -700.0)) for side in (-1, 1)]
    return Ratio(math.exp(difference), ends[0], ends[1], level, p, "Welch's t")


def welch(one: Sequence[float], other: Sequence[float]) -> tuple[float, float, float]:
    """Difference of two means, its standard error, and the degrees of freedom.

    Examples
    --------
    >>> difference, error, freedom = welch([1, 2, 3], [4, 6, 8])
    >>> print(f"{difference:.1f} {error:.4f} {freedom:.4f}")
    -4.0 1.2910 2.9412
    """
    parts = []
    for values in (one, other):
        mean = sum(values) / len(values)
        parts.append((mean, sum((x - mean) ** 2 for x in values) / (len(values) - 1) / len(values), len(values) - 1))
    (a, va, fa), (b, vb, fb) = parts
    below = va**2 / fa + vb**2 / fb
    return a - b, math.sqrt(va + vb), (va + vb) ** 2 / below if below > 0 else float(fa + fb)


def log_rank(one: Sequence[Time], other: Sequence[Time]) -> float:
    """The log-rank statistic of two groups: above 0 where the first parts sooner than its share. [standard deviations]

    Its square is the chi-squared of Mantel (1966), with the variance of the hypergeometric distribution.

    Examples
    --------
    >>> round(log_rank([(1, True), (2, True), (3, True)], [(4, True), (5, True), (6, False)]), 3)
    2.248
    """
    events = sorted({time for time, parted in (*one, *other) if parted})
    more = variance = 0.0
    for at in events:
        mine = sum(time >= at for time, _ in one)
        all_there = mine + sum(time >= at for time, _ in other)
        gone = sum(time == at and parted for time, parted in (*one, *other))
        more += sum(time == at and parted for time, parted in one) - gone * mine / all_there
        if all_there > 1:
            share = mine / all_there
            variance += gone * share * (1 - share) * (all_there - gone) / (all_there - 1)
    return more / math.sqrt(variance) if variance > 0 else 0.0


def rank_ratio(times: Sequence[Time], base: Sequence[Time], level: float = 95.0) -> Ratio:
    """How many times as long one group takes, where some had not parted: every ratio that the log-rank test lets pass.

    Raises
    ------
    RangeError
        A group without a time, or a time that is not above 0.

    References
    ----------
    .. [1] N. Mantel, Cancer Chemotherapy Reports 50 (1966) 163-170 (from memory).
    .. [2] L. J. Wei, M. H. Gail, "Nonparametric estimation for a scale-change with censored observations", J. Am. Stat.
       Assoc. 78 (1983) 382-388 (from memory).
    """
    from statistics import NormalDist

    if not times or not base or not min(t for t, _ in (*times, *base)) > 0:
        msg = "The log-rank test needs a time above 0 s in each group, or more."
        raise RangeError(msg)
    normal = NormalDist()
    bound = normal.inv_cdf(0.5 + level / 200)
    turns = sorted({a / b for a, _ in times for b, _ in base})
    between = [math.sqrt(x * y) for x, y in pairwise(turns)]
    tried = [turns[0] / 2, *between, turns[-1] * 2]
    found = [log_rank(times, [(r * t, parted) for t, parted in base]) for r in tried]
    p = 2 * normal.cdf(-abs(log_rank(times, base)))
    possible = [n for n, z in enumerate(found) if abs(z) <= bound]
    if not possible:  # between two ratios the test turns from the one side to the other
        possible = [min(range(len(found)), key=lambda n: abs(found[n]))]
    low = turns[possible[0] - 1] if possible[0] else 0.0
    high = turns[possible[-1]] if possible[-1] < len(turns) else math.inf
    told = all(any(parted for _, parted in group) for group in (times, base))
    nearest = _crossing(turns, found) if told else None
    return Ratio(nearest, low, high, level, p, "log-rank")


def _crossing(turns: Sequence[float], found: Sequence[float]) -> float | None:
    """Where the statistic turns from the one sign to the other; None where it does not within the times seen."""
    for n, turn in enumerate(turns):
        if found[n] > 0 >= found[n + 1] or found[n] < 0 <= found[n + 1]:
            return turn
    return None


# ---- words ------------------------------------------------------------------------------------------------------


def _counted(times: Sequence[Time]) -> str:
    count = len(times)
    open_ones = sum(not parted for _, parted in times)
    words = f"{count} trial{'s' if count != 1 else ''}"
    return f"{words} ({open_ones} had not parted)" if open_ones else words


def _interval(ratio: Ratio) -> str:
    if ratio.low <= 0 and math.isinf(ratio.high):
        return "every ratio"
    if math.isinf(ratio.high):
        return f"{ratio.low:.2g} times or more, {ratio.level:.3g} %"
    if ratio.low <= 0:
        return f"{ratio.high:.2g} times or less, {ratio.level:.3g} %"
    return f"{ratio.low:.2g} to {ratio.high:.2g} times, {ratio.level:.3g} %"


def _why_not(one: Comparison) -> str:
    """Why no ratio is told, with the times themselves where there are few."""
    told = [
        f"{name} {listed(f'{t:g} s' if parted else f'{t:g} s and not parted' for t, parted in times)}"
        for name, times in ((one.variant, one.times), (one.base, one.base_times))
    ]
    if not any(parted for _, parted in (*one.times, *one.base_times)):
        return "none of them had parted, so nothing can be compared. Watch longer."
    needs = FEWEST_TIMED if all(parted for _, parted in (*one.times, *one.base_times)) else FEWEST_RANKED
    return (
        f"{'; '.join(told)}. With fewer than {needs} trials of each nobody knows how much two trials of one variant "
        "differ, so no ratio is told. Repeat them."
    )


def _differing(one: Sequence[Trial], other: Sequence[Trial]) -> str:
    """What was noted and differed between two groups besides the variant."""
    words = {"shakes": "the shakes", "bottle": "the bottle"}
    found = [said for name, said in words.items() if _values(one, name) != _values(other, name)]
    degrees = [trial.temperature for trial in (*one, *other) if trial.temperature is not None]
    if degrees and max(degrees) - min(degrees) > 2:
        found.append("the temperature")
    return listed(found)


def _values(trials: Sequence[Trial], name: str) -> set[object]:
    return {str(getattr(trial, name)).casefold() for trial in trials}
