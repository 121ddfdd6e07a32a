"""What a maker's own trials support of "shake so many times": how often it mixed, at least, and after what standing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.in_use.parting_trial import MIXES
from kit.soundness import sound
from kit.visible_text import brief, listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.in_use.parting_trial import Trial

#: A bound that holds in 95 of 100 such series of trials. [%]
LEVEL = 95.0
#: How long a product stood before a trial: words, and up to how many days. [days]
STANDING = (("up to a day", 1.0), ("up to a week", 7.0), ("up to four weeks", 28.0), ("up to twelve weeks", 84.0),
            ("longer", math.inf))  # fmt: skip
NOT_NOTED = "standing not noted"
SOURCE = "C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413 (from memory)"


@sound()
def least_share(successes: int, trials: int, level: float = LEVEL) -> float:
    """The least share that so many successes bear out: one-sided lower bound of Clopper and Pearson. [0 to 1]

    Parameters
    ----------
    level
        In so many of 100 series the true share is above the bound, whatever it is. [%, 50 to below 100]

    Raises
    ------
    RangeError
        No trials, more successes than trials, or a level outside that.

    References
    ----------
    .. [1] C. J. Clopper, E. S. Pearson, "The use of confidence or fiducial limits illustrated in the case of the
       binomial", Biometrika 26 (1934) 404-413 (from memory).

    Examples
    --------
    >>> round(least_share(4, 20), 6), round(least_share(10, 10), 3), least_share(0, 5)
    (0.071354, 0.741, 0.0)
    """
    _check(successes, trials, level)
    if successes == 0:
        return 0.0
    if successes == trials:  # in closed form, so that the usual case needs no SciPy
        return float((1 - level / 100) ** (1 / trials))
    from scipy.special import betaincinv

    return float(betaincinv(successes, trials - successes + 1, 1 - level / 100))


@sound()
def most_share(successes: int, trials: int, level: float = LEVEL) -> float:
    """The most that so many successes let the share be: the upper bound of Clopper and Pearson. [0 to 1]

    Raises
    ------
    RangeError
        As :func:`least_share`.

    Examples
    --------
    >>> round(most_share(4, 20), 6)
    0.401028
    """
    _check(successes, trials, level)
    return 1 - least_share(trials - successes, trials, level)


def trials_for_share(share: float, level: float = LEVEL) -> int:
    """How many trials, all with a full mix, bear out that at least this share mixes. [0 to 1, both excluded]

    Raises
    ------
    RangeError
        A share or level outside that.

    Examples
    --------
    >>> trials_for_share(0.90), trials_for_share(0.95)
    (29, 59)
    """
    if not (0 < share < 1 and 50 <= level < 100):
        msg = f"Choose a share between 0 and 1, such as 0.9, and a level from 50 % on; got {share:g} and {level:g} %."
        raise RangeError(msg)
    return math.ceil(math.log(1 - level / 100) / math.log(share) - 1e-12)


#: More than anybody shakes.
MOST_TRIALS = 1_000_000_000


def _check(successes: int, trials: int, level: float) -> None:
    if not (1 <= trials <= MOST_TRIALS and 0 <= successes <= trials and 50 <= level < 100):
        msg = (
            f"{brief(successes)} of {brief(trials)} trials at {level:g} %: there must be a trial or more, no more "
            "successes than trials, and a level from 50 to below 100 %."
        )
        raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class Shakings:
    """The trials with one number of shakes after one standing: how they mixed.

    Attributes
    ----------
    standing
        In words; see :data:`STANDING`.
    mixed, streaks, unmixed
        How many trials ended so.
    """

    standing: str
    shakes: int
    mixed: int
    streaks: int
    unmixed: int

    @property
    def trials(self) -> int:
        """How many there are."""
        return self.mixed + self.streaks + self.unmixed

    @property
    def least(self) -> float:
        """The share of a full mix that they bear out at 95 %. [0 to 1]"""
        return least_share(self.mixed, self.trials)


@dataclass(frozen=True, slots=True)
class ShakeAdvice:
    """What the trials support: a number of shakes, or nothing.

    Attributes
    ----------
    shakes
        The fewest with which every trial gave a full mix, after the longest standing too; None where there is none.
    label
        The words for a label; empty where there is no such number.
    support
        What they rest on, in sentences that belong beside the label, not on it.
    groups
        Every group of trials, by standing and shakes.
    """

    shakes: int | None
    label: str
    support: str
    groups: tuple[Shakings, ...]


def shake_advice(trials: Iterable[Trial]) -> ShakeAdvice:
    """What trials of one variant support of "shake so many times before use".

    A number counts only where each of its trials, and each trial with more shakes, gave a full mix, and where it was
    tried after the longest standing of all. Nothing is drawn on beyond what was tried.
    """
    looked = [trial for trial in trials if trial.mix in MIXES]
    groups = _groups(looked)
    if not looked:
        words = "No trial says how it mixed. Shake, look at once, and note mixed, streaks or not mixed."
        return ShakeAdvice(None, "", words, groups)
    known = [trial for trial in looked if trial.stood is not None] or looked
    longest = _order(max(known, key=lambda trial: _order(trial.stood)).stood)
    failed = max((trial.shakes for trial in looked if trial.mix != MIXES[0]), default=0)
    good = sorted({t.shakes for t in looked if t.shakes > failed})
    tried = [n for n in good if any(t.shakes == n and _order(t.stood) == longest for t in looked)]
    if not tried:
        return ShakeAdvice(None, "", _no_number(looked, failed, good, longest), groups)
    number = tried[0]
    return ShakeAdvice(number, label_words(number), _support(looked, number, failed), groups)


def label_words(shakes: int) -> str:
    """The words for a label: "Shake 10 times before each use."

    Examples
    --------
    >>> label_words(1), label_words(12)
    ('Shake once before each use.', 'Shake 12 times before each use.')
    """
    times = {1: "once", 2: "twice"}.get(shakes, f"{shakes} times")
    return f"Shake {times} before each use."


def remix_words(groups: Sequence[Shakings]) -> str:
    """How many shakes re-mixed it after each standing that was tried, in a sentence."""
    said = []
    for standing in dict.fromkeys(group.standing for group in groups):
        mine = [group for group in groups if group.standing == standing]
        failed = max((group.shakes for group in mine if group.mixed < group.trials), default=0)
        enough = next((group for group in mine if group.shakes > failed), None)
        said.append(
            f"{standing}: {enough.shakes} shakes, {enough.mixed} of {enough.trials} trials"
            if enough
            else f"{standing}: not even {failed} shakes each time"
        )
    return f"Fewest shakes that re-mixed it every time, by how long it had stood: {'; '.join(said)}." if said else ""


def _groups(trials: Sequence[Trial]) -> tuple[Shakings, ...]:
    found: dict[tuple[int, int], list[str]] = {}
    for trial in trials:
        found.setdefault((_order(trial.stood), trial.shakes), []).append(trial.mix)
    return tuple(
        Shakings(_standing(order), shakes, *(mixes.count(mix) for mix in MIXES))
        for (order, shakes), mixes in sorted(found.items())
    )


def _order(stood: float | None) -> int:
    """The place of a standing among :data:`STANDING`; before all where it was not noted."""
    return -1 if stood is None else next(n for n, (_, most) in enumerate(STANDING) if stood <= most)


def _standing(order: int) -> str:
    return NOT_NOTED if order < 0 else STANDING[order][0]


def _no_number(looked: Sequence[Trial], failed: int, good: Sequence[int], longest: int) -> str:
    if good:
        return (
            f"{good[0]} shakes mixed it each time, but not after the longest standing tried ({_standing(longest)}). "
            "Try that number there too; until then the trials bear out no number of shakes."
        )
    count = sum(trial.mix != MIXES[0] for trial in looked)
    return (
        f"With {failed} shakes, the most that were tried, a full mix was not reached each time ({count} of "
        f"{len(looked)} trials of all). The trials bear out no number of shakes. Try more."
    )


def _support(looked: Sequence[Trial], number: int, failed: int) -> str:
    mine = [trial for trial in looked if trial.shakes == number]
    count, least = len(mine), 100 * least_share(len(mine), len(mine))
    days = [trial.stood for trial in mine if trial.stood is not None]
    stood = f", stood for {min(days):g} to {max(days):g} days" if days else ", standing not noted"
    hands = listed(sorted({trial.bottle for trial in mine if trial.bottle}))
    words = (
        f"{count} of {count} trials with {number} shakes gave a full mix{stood}"
        f"{f', in {hands}' if hands else ''}. At 95 % that bears out a full mix in at least {least:.0f} of 100 such "
        "shakings, no more."
    )
    if failed:
        words += f" With {failed} shakes it was not mixed each time."
    if count < trials_for_share(0.9):
        words += f" For 90 of 100 it takes {trials_for_share(0.9)} trials, all mixed."
    return f"{words} Other hands, colder rooms and fuller bottles were not tried unless they stand among the trials."
