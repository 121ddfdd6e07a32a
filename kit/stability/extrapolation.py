"""How far beyond the last reading an estimate may reach: the decision tree of ICH Q1E, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from kit.errors import RangeError
from kit.iso_dates import days_in_months, whole_months

#: What happened in warm storage, as far as the maker tells.
Warm = Literal["not told", "no significant change", "change when warm, none in between", "change in between too"]
WARM: tuple[Warm, ...] = get_args(Warm)
#: Where the product is meant to be kept: at room temperature, or in the fridge.
Storage = Literal["room", "cold"]
STORAGES: tuple[Storage, ...] = get_args(Storage)

SOURCE = (
    "ICH Q1E, Evaluation for Stability Data (2003), 2.4, 2.5 and appendix A: a rule for medicines that cosmetics "
    "borrow (its factors are from memory)"
)
#: Times the days with readings, and how many months beyond them at most, where a statistical analysis was made.
REACH: dict[tuple[Storage, Warm], tuple[float, int]] = {
    ("room", "no significant change"): (2.0, 12),
    ("room", "change when warm, none in between"): (1.5, 6),
    ("cold", "no significant change"): (1.5, 6),
}


@dataclass(frozen=True, slots=True)
class Cap:
    """How far the estimate may reach [days], and the reason."""

    days: float
    reason: str
    source: str = SOURCE


def cap(observed: float, *, warm: Warm = "not told", storage: Storage = "room") -> Cap:
    """How far an estimate may reach, given readings until day ``observed``.

    Parameters
    ----------
    observed
        The day of the last reading in the storage that counts. [days]
    warm
        What happened in accelerated storage and in between. A separated layer, a changed colour or smell, or a reading
        outside its limit is a significant change.
    storage
        "room" or "cold".

    Raises
    ------
    RangeError
        A day below 0, or a word that is none of the choices.

    Examples
    --------
    >>> cap(84, warm="no significant change").days
    168.0
    >>> print(cap(84).reason)
    Nothing was told about warm storage, so the estimate ends with the last reading, on day 84.
    """
    if not observed >= 0:
        msg = f"The last reading is on day {observed:g}; it cannot be before the start, day 0."
        raise RangeError(msg)
    for word, choices in ((warm, WARM), (storage, STORAGES)):
        if word not in choices:
            msg = f"{word!r} is none of the choices: {', '.join(choices)}."
            raise RangeError(msg)
    last = f"the last reading, on day {observed:g}"
    if warm == "not told":
        return Cap(observed, f"Nothing was told about warm storage, so the estimate ends with {last}.")
    reach = REACH.get((storage, warm))
    if reach is None:
        return Cap(observed, f"There was a significant change in warm storage, so the estimate ends with {last}.")
    times, months = reach
    seen, most = whole_months(observed), observed + days_in_months(months)
    # in days and in months: six months seen end on day 182, and twice that is day 365
    days = max(min(times * observed, most), days_in_months(min(int(times * seen), seen + months)))
    how = f"{times:g} times the days with readings" if times * observed <= most else f"{months} months beyond {last}"
    because = {
        "no significant change": "no significant change in warm storage",
        "change when warm, none in between": "a significant change when warm but none in between",
    }[warm]
    kept = "kept cold" if storage == "cold" else "kept at room temperature"
    words = f"With {because} and {kept}, the estimate may reach {how}: day {days:.0f}. Later readings must confirm it."
    return Cap(days, words)
