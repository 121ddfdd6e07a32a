"""Read what is typed in the amount column, and turn a whole column into % w/w."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from kit.errors import AmbiguousError, KitError, PrefixError, RangeError
from kit.numbers import in_habit, is_open, readings, settled, split_text
from kit.units import known_unit, magnitude

if TYPE_CHECKING:
    from collections.abc import Sequence

AmountKind = Literal["percent", "mass", "rest", "blank", "unreadable"]

#: How far from 100 a total may lie and still count as 100. [% w/w]
TOTAL_TOLERANCE = 1e-6

#: What one unit of each share is in % w/w. ppm is mg/kg here, by mass.
SHARE_UNITS: dict[str, float] = {
    "": 1.0,
    "%": 1.0,
    "% w/w": 1.0,
    "%w/w": 1.0,
    "percent": 1.0,
    "‰": 0.1,
    "ppm": 1e-4,
    "mg/kg": 1e-4,
    "ppb": 1e-7,
    "g/kg": 0.1,
    "mg/g": 0.1,
}

#: What stands for "as much as is missing": q.s., q.s.p. 100, ad 100 %, balance, Rest, c.s.p., q.b. a 100, tot 100.
_TO_100 = r"100(?:[.,]0+)?\s*(?:%|g\b)?"
REST_PATTERN = (
    r"(?:(?:q\.?\s*s\.?\s*(?:p\.?)?|c\.?\s*s\.?\s*p\.?|q\.?\s*b\.?|rest[eo]?|remainder|balance|bal\.?|ad\.?|up\s+to|to)"
    rf"(?:\s*(?:ad\.?|to|auf|a|à|aan|tot|pour|para|per)?\s*{_TO_100})?"
    rf"|(?:auf|bis|aan|tot|à|a|fino\s+a|hasta|jusqu['’]à)\s*{_TO_100})"
)
_WHOLE = re.compile(r"100|rest|remainder|bal", re.IGNORECASE)
_REST = re.compile(REST_PATTERN, re.IGNORECASE)
_RANGE = re.compile(r"[\d.,]+\s*%?\s*(?:-|–|—|to|bis|à|a|tot)\s*[\d.,]+\s*(\S.*)?", re.IGNORECASE)
_BOUND = re.compile(
    r"(?:<|>|≤|≥|~|≈|about|approx\.?|ca\.?|circa|max\.?|min\.?|up to)\s*[\d.,]+\s*(\S.*)?", re.IGNORECASE
)
_TRACE = re.compile(r"traces?|spuren|trazas|tracce|sporen|spoor|a few drops|drops?", re.IGNORECASE)
_BASIS_NEEDS_DENSITY = re.compile(r"%?\s*\(?[wmv]/v\)?\s*%?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Amount:
    """One entry as it was understood.

    ``value`` is % w/w for "percent", g for "mass", and 0 otherwise. ``problem`` says in a sentence what is
    wrong: an "unreadable" entry has no value, one below zero or above 100 % keeps it, so that sums stay true.
    """

    kind: AmountKind
    value: float = 0.0
    problem: str = ""


def names_the_whole(entry: str) -> bool:
    """Whether a line that fills says so outright: "to 100", "balance", "Rest"; a bare q.s. may only mean "as needed".

    Examples
    --------
    >>> [names_the_whole(text) for text in ("q.s. to 100", "balance", "q.s.", "4")]
    [True, True, False, False]
    """
    return read_amount(entry).kind == "rest" and bool(_WHOLE.search(entry))


@lru_cache(maxsize=4096)
def read_amount(text: str) -> Amount:
    """Understand one entry: "3.5", "3,5 %", "800 ppm", "12 g", "q.s.". Never raises.

    Examples
    --------
    >>> read_amount("800 ppm").value
    0.08
    >>> read_amount("q.s.").kind
    'rest'
    """
    plain = " ".join(text.split())
    if not plain:
        return Amount("blank")
    if _REST.fullmatch(plain):
        return Amount("rest")
    try:
        amount = _measured(plain)
    except (AmbiguousError, PrefixError, RangeError) as error:
        return Amount("unreadable", problem=str(error))
    except KitError:
        return _unreadable(plain)
    return _in_bounds(plain, amount)


def _measured(plain: str) -> Amount:
    """A percent, a share or a mass."""
    digits, unit = split_text(plain)
    found = readings(digits)
    if _BASIS_NEEDS_DENSITY.fullmatch(unit) or (known_unit(unit) or ("",))[0] == "mL":
        return Amount(
            "unreadable",
            problem=f"{plain!r} is by volume, and a formula is by mass. Type the % w/w, or make it a stock, "
            "which turns w/v and v/v into w/w through its density.",
        )
    share = SHARE_UNITS.get(unit, SHARE_UNITS.get(unit.lower()))
    if share is None:
        return Amount("mass", magnitude(plain, "g", name="The amount"))
    number = settled(plain, found, -100 / share, 100 / share, unit)  # beyond the whole it keeps its value for the sums
    return Amount("percent", number * share)


def _unreadable(plain: str) -> Amount:
    what = next((words for pattern, words in _NO_ONE_NUMBER if pattern.fullmatch(plain)), "")
    if what:
        return Amount("unreadable", problem=f"{plain!r} is {what}. Type the one amount that you weigh, such as 3.5.")
    return Amount(
        "unreadable",
        problem=f"{plain!r} is not an amount. Type a percent (3.5), ppm (800 ppm), a mass (12 g), "
        "or q.s. for what is left to 100 %.",
    )


_NO_ONE_NUMBER = (
    (_RANGE, "a range and not one amount"),
    (_BOUND, "a bound and not an amount"),
    (_TRACE, "no amount that can be computed with"),
)


#: Nothing beyond it is a slip of a decimal mark that the sums should show; it could not be computed with. [%]
_MOST = 1e9


def _in_bounds(plain: str, amount: Amount) -> Amount:
    if amount.kind == "percent" and abs(amount.value) > _MOST:
        return Amount("unreadable", problem=f"{plain[:40]!r} is far more than the whole formula. Type 100 % or less.")
    if amount.value < 0:
        return replace(amount, problem=f"{amount.value:.4g} is below zero. An amount is 0 or more.")
    if amount.kind == "percent" and amount.value > 100:
        return replace(amount, problem=f"{plain!r} is more than the whole formula. Type 100 % or less.")
    return amount


def with_habit(entries: Sequence[str], decimal_mark: str) -> list[str]:
    """The entries of one file, those that can be read two ways written as its decimal mark has them.

    Examples
    --------
    >>> with_habit(["1.250 g", "62,5 g"], ",")
    ['1250 g', '62,5 g']
    """
    return [_in_habit(entry, decimal_mark) if decimal_mark and is_open(entry) else entry for entry in entries]


def _in_habit(entry: str, decimal_mark: str) -> str:
    as_it_is = decimal_mark in entry and read_amount(entry).kind != "unreadable"
    return entry if as_it_is else in_habit(entry, decimal_mark)


@dataclass(frozen=True, slots=True)
class Resolution:
    """A column of amounts turned into percents.

    Attributes
    ----------
    percents
        Per phase and line; None where the entry is blank, unreadable or cannot be placed yet. [% w/w]
    total
        Of the lines that have a percent. [% w/w]
    rest_at
        (phase, line) of the q.s. line, if there is one.
    batch_mass
        The mass the gram entries were taken to be written for. [g]
    problems
        (phase, line, sentence) for every entry that could not be used.
    not_moved
        Why the layers stand as typed although a ratio was asked for; empty where they do as they should.
    """

    percents: tuple[tuple[float | None, ...], ...]
    total: float
    rest_at: tuple[int, int] | None
    batch_mass: float | None
    problems: tuple[tuple[int, int, str], ...]
    not_moved: str = ""


def resolve_amounts(entries: Sequence[Sequence[str]], written_for: float | None = None) -> Resolution:
    """Turn the entries of each phase into % w/w of the whole. Never raises.

    Parameters
    ----------
    entries
        The typed amounts, phase by phase.
    written_for
        The batch mass that entries in grams are meant for. Where it is not given and no line says q.s., the
        masses themselves settle it: M = Σ masses ÷ (1 - Σ percents ÷ 100). [g]
    """
    amounts = [[read_amount(text) for text in phase] for phase in entries]
    placed = [(p, i, amount) for p, phase in enumerate(amounts) for i, amount in enumerate(phase)]
    problems = [(p, i, amount.problem) for p, i, amount in placed if amount.problem]
    rests = [(p, i) for p, i, amount in placed if amount.kind == "rest"]
    rests.sort(key=lambda place: not names_the_whole(entries[place[0]][place[1]]))
    problems += [
        (
            p,
            i,
            "Another line already says q.s.; only one can take what is left to 100 %. Type a percent here.",
        )
        for p, i in rests[1:]
    ]
    mass, problem = _mass_written_for(placed, written_for, has_rest=bool(rests))
    if problem:
        problems += [(p, i, problem) for p, i, amount in placed if amount.kind == "mass"]
    percents: list[list[float | None]] = [[_percent(amount, mass) for amount in phase] for phase in amounts]
    total = sum(value for phase in percents for value in phase if value is not None)
    if rests:
        p, i = rests[0]
        left = 100.0 - total
        percents[p][i] = 0.0 if -TOTAL_TOLERANCE <= left < 0 else left
        if total > 100 + TOTAL_TOLERANCE:
            problems.append(
                (
                    p,
                    i,
                    f"The other lines already add to {total:.4g} %, which leaves nothing for q.s. Lower them.",
                )
            )
        total = 100.0
    return Resolution(
        percents=tuple(tuple(phase) for phase in percents),
        total=total,
        rest_at=rests[0] if rests else None,
        batch_mass=mass,
        problems=tuple(problems),
    )


def _percent(amount: Amount, mass: float | None) -> float | None:
    if amount.kind == "percent":
        return amount.value
    if amount.kind == "mass" and not amount.value:
        return 0.0
    if amount.kind == "mass" and mass:
        return 100.0 * amount.value / mass
    return None


def _mass_written_for(
    placed: list[tuple[int, int, Amount]], written_for: float | None, *, has_rest: bool
) -> tuple[float | None, str]:
    grams = sum(amount.value for _, _, amount in placed if amount.kind == "mass")
    if written_for or not grams:
        return written_for, ""
    if has_rest:
        return None, (
            "Grams beside q.s. need the batch mass they are meant for. Fill in 'grams are written for', "
            "or type a percent."
        )
    if grams < 0:
        return None, ""  # each mass below zero has its own sentence
    share = sum(amount.value for _, _, amount in placed if amount.kind == "percent")
    if share >= 100:
        return None, f"The percents already add to {share:.4g} %, which leaves no room for lines in grams."
    return grams / (1 - share / 100), ""
