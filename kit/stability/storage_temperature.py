"""The temperatures of a storage, read from a CSV, and the one that stands for them: the mean kinetic temperature.

Plain floats, no arrays.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from datetime import datetime, time
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from kit.errors import EntryError, Fault, FileFaultsError, RangeError
from kit.findings import Finding
from kit.numbers import decimal_mark_of, read_number
from kit.soundness import sound
from kit.table_cuts import may_be_cut
from kit.tables import delimiter_of

if TYPE_CHECKING:
    from collections.abc import Sequence

#: Activation energy [kJ/mol] and gas constant [kJ/(mol K)] as USP <1160> takes them: their quotient is 10 000 K.
ENERGY, GAS = 83.144, 8.3144e-3
ZERO = 273.15  # 0 °C [K]


@sound()
def mean_kinetic_temperature(
    temperatures: Sequence[float], weights: Sequence[float] | None = None, *, energy: float = ENERGY
) -> float:
    """The constant temperature at which as much would have decomposed as in this storage. [°C]

    Never below the arithmetic mean. It rests on an assumed activation energy, excuses no excursion, and means nothing
    for what freezes, melts or separates.

    Parameters
    ----------
    temperatures
        Logged. [°C]
    weights
        How long each lasted, in any unit of time; None where all lasted equally long.
    energy
        Activation energy. [kJ/mol]

    Raises
    ------
    RangeError
        No temperature, one below -273.15 °C, or a weight below 0.

    References
    ----------
    .. [1] United States Pharmacopeia, general chapter <1160>, Pharmaceutical calculations in prescription
       compounding (USP 29).

    Examples
    --------
    >>> print(f"{mean_kinetic_temperature([20, 30]):.4f}")
    26.2599
    """
    _refuse(temperatures, weights, energy)
    lasted = [1.0] * len(temperatures) if weights is None else list(weights)
    whole = math.fsum(lasted)
    hottest = max(t for t, weight in zip(temperatures, lasted, strict=True) if weight > 0) + ZERO
    steepness = energy / GAS
    mean = math.fsum(
        weight * math.exp(steepness * (1 / hottest - 1 / (t + ZERO)))
        for t, weight in zip(temperatures, lasted, strict=True)
        if weight > 0
    )
    return steepness / (steepness / hottest - math.log(mean / whole)) - ZERO


def _refuse(temperatures: Sequence[float], weights: Sequence[float] | None, energy: float) -> None:
    if not temperatures:
        msg = "There is no temperature to take the mean of."
        raise RangeError(msg)
    for temperature in temperatures:
        if not -ZERO < temperature < math.inf:
            msg = f"{temperature:g} °C is not possible: nothing is colder than -273.15 °C."
            raise RangeError(msg)
    if weights is not None and len(weights) != len(temperatures):
        msg = f"There are {len(temperatures)} temperatures and {len(weights)} weights. Give one weight for each."
        raise RangeError(msg)
    if weights is not None and not (min(weights) >= 0 and 0 < sum(weights) < math.inf):
        msg = "A weight is how long a temperature lasted: none may be below 0, and one at least must be above."
        raise RangeError(msg)
    if not 0 < energy < math.inf:
        msg = f"The activation energy must be above 0 kJ/mol, got {energy:g}."
        raise RangeError(msg)


@sound()
def lasted(times: Sequence[float]) -> list[float]:
    """How long each reading of a log stands for: half of the gap before it and half of the gap after it.

    Parameters
    ----------
    times
        When each was read, rising. [any unit of time]

    Examples
    --------
    >>> lasted([0, 1, 2, 6])
    [0.5, 1.0, 2.5, 2.0]
    """
    if len(times) < 2:
        return [1.0] * len(times)
    gaps = [after - before for before, after in pairwise(times)]
    if min(gaps) <= 0:
        msg = "The times of a log must rise: each reading later than the one before."
        raise RangeError(msg)
    return [(before + after) / 2 for before, after in zip([0.0, *gaps], [*gaps, 0.0], strict=True)]


#: Names a column may have, in small letters, without what stands in brackets.
COLUMNS = {
    "time": ("time", "date", "datetime", "timestamp", "day"),
    "temperature": ("temperature", "temp"),
    "coldest": ("min", "minimum", "coldest", "low", "lowest"),
    "warmest": ("max", "maximum", "warmest", "high", "highest"),
}
#: Beyond these a logged temperature is taken for a slip of the pen. [°C]
COLDEST, WARMEST = -90.0, 90.0
HOUR = 3600.0
#: A decimal comma where commas part the columns cuts a number in two.
TOO_MANY = "it has more cells than the first row has names; with decimal commas, part the columns by semicolons"
CUT = "a temperature and the number beside it may be one with a decimal comma; part the columns by semicolons"
#: A gap this many times the usual one is pointed out.
LONG_GAP = 5


@dataclass(frozen=True, slots=True)
class TemperatureLog:
    """Temperatures of a storage in the order of time.

    ``hours`` counts from the first reading [h]; ``temperatures`` [°C]; ``weights`` says how long each stands for [h];
    ``daily`` is True where each day gave its coldest and warmest, which count half a day each.
    """

    name: str
    hours: tuple[float, ...]
    temperatures: tuple[float, ...]
    weights: tuple[float, ...]
    daily: bool
    findings: tuple[Finding, ...] = ()

    @property
    def mean(self) -> float:
        """Arithmetic mean, weighted by time. [°C]"""
        return sum(t * w for t, w in zip(self.temperatures, self.weights, strict=True)) / sum(self.weights)

    def kinetic_mean(self, energy: float = ENERGY) -> float:
        """Mean kinetic temperature, weighted by time. [°C]"""
        return mean_kinetic_temperature(self.temperatures, self.weights, energy=energy)

    def hours_above(self, limit: float) -> float:
        """How long it was warmer than ``limit`` [°C], as far as the readings tell. [h]"""
        return sum(w for t, w in zip(self.temperatures, self.weights, strict=True) if t > limit)

    @property
    def sentence(self) -> str:
        """Both means and what they were computed from."""
        count = len(self.temperatures)
        return (
            f"Computed from {count} temperatures over {sum(self.weights) / 24:.3g} days: mean {self.mean:.1f} °C, mean "
            f"kinetic temperature {self.kinetic_mean():.1f} °C (activation energy {ENERGY:g} kJ/mol, USP <1160>), from "
            f"{min(self.temperatures):g} to {max(self.temperatures):g} °C."
        )


def read_temperature_log(source: Path | str, name: str = "") -> TemperatureLog:
    r"""The log in a CSV file, or in its text.

    The first row names the columns: a time or date (2026-03-09, or 2026-03-09 14:30) with a temperature, or with the
    coldest and warmest of the day. Commas, semicolons or tabs part the columns; decimal commas are read.

    Parameters
    ----------
    source
        A path, or the text itself where it has more than one line.

    Raises
    ------
    FileFaultsError
        With every row that cannot be read.

    Examples
    --------
    >>> log = read_temperature_log("time;temperature\n2026-03-09 08:00;20,0\n2026-03-09 20:00;30,0\n")
    >>> print(f"{log.kinetic_mean():.4f}")
    26.2599
    """
    if isinstance(source, Path) or "\n" not in source:
        path = Path(source)
        name = name or path.name
        try:
            text = path.read_text(encoding="utf-8-sig")
        except (OSError, ValueError) as error:  # no text, or no name of a file
            msg = f"{path.name} cannot be read. Check that it is there and is a CSV saved as UTF-8."
            raise EntryError(msg) from error
    else:
        text, name = source.removeprefix("\ufeff"), name or "The pasted log"
    try:
        delimiter = delimiter_of(text)
        rows = list(csv.reader(io.StringIO(text), delimiter=delimiter, strict=True))
    except csv.Error as error:
        msg = f"{name} cannot be read as a CSV: look for a quotation mark that is never closed."
        raise EntryError(msg) from error
    places = _places(rows[0] if rows else [], name)
    return _log(name, rows[1:], places, len(rows[0]), by_commas=delimiter == ",")


def _places(head: Sequence[str], name: str) -> dict[str, int]:
    words = [column.split("[")[0].split("(")[0].strip().casefold() for column in head]
    found = {key: words.index(name) for key, names in COLUMNS.items() for name in names if name in words}
    if "time" in found and ("temperature" in found or {"coldest", "warmest"} <= set(found)):
        return found
    problem = "name the columns time and temperature, or date, min and max"
    raise FileFaultsError(name, [Fault("first row", problem)])


def _cut(row: Sequence[str], at: int, places: dict[str, int]) -> bool:
    """Whether a temperature may have been cut at its decimal comma: what stands beside it belongs to no column read."""
    return at + 1 not in places.values() and may_be_cut(_cell(row, at), _cell(row, at + 1))


def _log(
    name: str, rows: Sequence[Sequence[str]], places: dict[str, int], width: int, *, by_commas: bool
) -> TemperatureLog:
    daily = "temperature" not in places
    columns = ("coldest", "warmest") if daily else ("temperature",)
    faults: list[Fault] = []
    mark = decimal_mark_of(_cell(row, places[column]) for row in rows for column in columns)
    read: list[tuple[datetime, int, list[float]]] = []
    for number, row in enumerate(rows, start=2):
        if not any(cell.strip() for cell in row):
            continue
        if any(cell.strip() for cell in row[width:]):
            faults.append(Fault(f"row {number}", TOO_MANY))
            continue
        if by_commas and any(_cut(row, places[column], places) for column in columns):
            faults.append(Fault(f"row {number}", CUT))
            continue
        try:
            when = _time(_cell(row, places["time"]))
            when = datetime.combine(when, time.min) if daily else when
            read.append((when, number, [_degrees(_cell(row, places[column]), mark) for column in columns]))
        except EntryError as error:
            faults.append(Fault(f"row {number}", str(error)))
    faults += _order_faults(read, daily=daily)
    if not faults and len(read) < (1 if daily else 2):
        faults.append(Fault("the rows", "there are too few; a log needs two readings, or one day"))
    if faults:
        raise FileFaultsError(name, faults)
    return _daily(name, read) if daily else _timed(name, read)


def _order_faults(read: Sequence[tuple[datetime, int, list[float]]], *, daily: bool) -> list[Fault]:
    faults = []
    for (before, _, _), (after, number, _) in pairwise(read):
        if (before.tzinfo is None) != (after.tzinfo is None):
            faults.append(Fault(f"row {number}", "its time has a zone and the one before has none, or the reverse"))
        elif after <= before:
            faults.append(Fault(f"row {number}", f"{after} is not later than the row before"))
    faults += [
        Fault(f"row {number}", f"its coldest, {pair[0]:g} °C, is above its warmest, {pair[1]:g} °C")
        for _, number, pair in read
        if daily and pair[0] > pair[1]
    ]
    return faults


def _cell(row: Sequence[str], place: int) -> str:
    return row[place].strip() if place < len(row) else ""


def _time(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError as error:
        msg = f"{text!r} is not a time; write 2026-03-09 or 2026-03-09 14:30"
        raise EntryError(msg) from error


def _degrees(text: str, decimal_mark: str) -> float:
    try:
        return read_number(text.removesuffix("°C").strip(), low=COLDEST, high=WARMEST, decimal_mark=decimal_mark)
    except RangeError as error:
        msg = f"{text!r} is not believable; a storage lies between {COLDEST:g} and {WARMEST:g} °C"
        raise EntryError(msg) from error
    except EntryError as error:
        msg = f"{text!r} is not a temperature in °C"
        raise EntryError(msg) from error


def _timed(name: str, read: Sequence[tuple[datetime, int, list[float]]]) -> TemperatureLog:
    first = read[0][0]
    hours = [(when - first).total_seconds() / HOUR for when, _, _ in read]
    gaps = sorted(after - before for before, after in pairwise(hours))
    usual, longest = gaps[len(gaps) // 2], gaps[-1]
    findings = []
    if longest > LONG_GAP * usual:
        words = (
            f"{name} has a gap of {longest:.3g} hours where {usual:.3g} are usual: nobody knows how warm it was then."
        )
        findings.append(Finding("caution", words))
    temperatures = tuple(values[0] for _, _, values in read)
    return TemperatureLog(name, tuple(hours), temperatures, tuple(lasted(hours)), daily=False, findings=tuple(findings))


def _daily(name: str, read: Sequence[tuple[datetime, int, list[float]]]) -> TemperatureLog:
    first = read[0][0]
    days = [(when - first).days for when, _, _ in read]
    missing = days[-1] + 1 - len(days)
    findings = []
    if missing > 0:
        words = f"{name} misses {missing} of its {days[-1] + 1} days: nobody knows how warm they were."
        findings.append(Finding("caution", words))
    hours = tuple(24.0 * day + half for day in days for half in (6.0, 18.0))
    temperatures = tuple(value for _, _, values in read for value in values)
    return TemperatureLog(name, hours, temperatures, (12.0,) * len(hours), daily=True, findings=tuple(findings))
