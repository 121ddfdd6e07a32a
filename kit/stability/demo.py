"""An invented study: three batches of Tern Lane Workshop's after-swim body shake, twelve weeks at four conditions.

No real bottle stands behind it. The readings come from :func:`demo_observations` with a fixed seed; they lie in
``data/demo/stability_observations.csv`` so that anyone can read them, and a test holds the two equal. In it one
reading is corrected, one pull is late and one is missed.
"""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from kit.errors import StoreError
from kit.resources import resource_folder
from kit.saving import save_text
from kit.stability.exchange import to_csv
from kit.stability.plan import plans
from kit.stability.reading import read_value
from kit.stability.study import Observation, Study

if TYPE_CHECKING:
    from kit.stability.log.store import StabilityLog
    from kit.stability.old_notes.table import ForeignTable

SEED = 2026
TITLE = "After-swim body shake, twelve weeks (invented)"
FORMULA_TITLE = "After-swim body shake"
BATCHES = ("TL-01", "TL-02", "TL-03")
STARTED_ON = date(2026, 1, 12)

LATE = ("TL-03", "8 weeks", 6)  # batch, pull, days after it was due
MISSED = ("TL-02", "fridge", "2 weeks")
SLIP = ("TL-02", "warm_box", "4 weeks", "ph")  # the reading typed with two digits swapped, then corrected

# What each condition does in a week, all invented: pH, minutes to separate, shakes to re-mix, mass [g],
# and the weeks after which appearance and odour move up one grade.
_WEEKLY = {
    "cupboard": (-0.004, 0.00, 0.05, -0.010, 99, 99),
    "fridge": (-0.001, 0.02, 0.02, -0.004, 99, 99),
    "warm_box": (-0.038, -0.07, 0.30, -0.085, 6, 6),
    "window": (-0.009, -0.01, 0.08, -0.030, 4, 10),
}
# L*, a* and b* of the upper layer: daylight bleaches the gold, warmth browns it; and viscosity of the lower layer [%].
_WEEKLY_COLOUR = {
    "cupboard": (-0.02, 0.01, 0.03, -0.1),
    "fridge": (0.00, 0.00, 0.01, 0.0),
    "warm_box": (-0.42, 0.26, 0.80, -0.9),
    "window": (0.12, 0.08, -0.72, -0.2),
}
_FASTER = {"TL-01": 1.0, "TL-02": 0.9, "TL-03": 1.3}  # how quickly a batch ages, beside TL-01
_START = {"TL-01": (5.32, 61.5), "TL-02": (5.38, 61.0), "TL-03": (5.29, 62.0)}  # pH, lower layer [mm]
_COLOUR = {"TL-01": (83.4, -2.6, 27.5), "TL-02": (83.9, -2.8, 26.9), "TL-03": (83.1, -2.5, 28.2)}
_VISCOSITY = {"TL-01": 12.4, "TL-02": 12.7, "TL-03": 12.1}  # of the lower layer [mPa·s]


def demo_notes() -> ForeignTable:
    """Three lines of old notes of batch TL-04: one place is no place of the study, and one pH is a word."""
    from kit.stability.old_notes.table import read_table

    return read_table((resource_folder("data") / "demo" / "old_notes.csv").read_bytes(), "old_notes.csv")


def demo_study() -> Study:
    """The invented study, as the first of a log."""
    return Study(1, TITLE, plans()["home-twelve-weeks"], BATCHES, STARTED_ON, FORMULA_TITLE)


def demo_observations(seed: int = SEED) -> list[Observation]:
    """The invented readings, in the order in which they would have been saved."""
    study, chance, later = demo_study(), random.Random(seed), random.Random(seed + 1)
    filled = {(batch, one.key): 110 + _noise(chance, 0.6) for batch in BATCHES for one in study.plan.conditions}
    rows: list[Observation] = []
    for point in study.plan.time_points:
        for batch in BATCHES:
            late = LATE[2] if (batch, point.label) == LATE[:2] else 0
            day = study.due_on(point) + timedelta(days=late)
            for condition in study.plan.conditions:
                days = point.days + late
                values = _values(chance, batch, condition.key, days, filled[batch, condition.key])
                values |= _measured(later, batch, condition.key, days)
                if (batch, condition.key, point.label) != MISSED:
                    note = "six days late: the workshop was closed" if late else ""
                    for attribute, value in values.items():
                        rows.append(_row(study, (batch, condition.key, point.label, attribute), value, day, note))
    saved = sorted(rows, key=lambda row: row.observed_on)
    return _with_slip([_numbered(row, number) for number, row in enumerate(saved, start=1)], study)


def demo_csv(seed: int = SEED) -> str:
    """The invented readings as the text of a CSV file."""
    return to_csv(demo_study(), demo_observations(seed))


def demo_csv_path() -> Path:
    """Where the committed readings lie."""
    return resource_folder("data") / "demo" / "stability_observations.csv"


def rewrite_demo_csv() -> None:
    """Write the committed readings anew from the seed."""
    save_text(demo_csv_path(), demo_csv())


def write_demo_log(path: str | Path, seed: int = SEED) -> Study:
    """Make a new log at ``path`` with the invented study in it; returns the study.

    The readings are read from the committed file; another seed invents others.

    Raises
    ------
    StoreError
        There is a file of that name already: invented readings are never mixed into a maker's own log.
    """
    from kit.stability.log.store import StabilityLog

    place = Path(path)
    if place.exists():
        msg = f"{place.name} is there already. Give the invented log a name of its own, or open the one you have."
        raise StoreError(msg)
    model = demo_study()
    opening = datetime.combine(STARTED_ON, time(8), UTC)
    with StabilityLog.open(place, clock=lambda: opening) as log, TemporaryDirectory() as folder:
        study = log.start_study(TITLE, model.plan, BATCHES, STARTED_ON, FORMULA_TITLE)
        source = demo_csv_path()
        if seed != SEED:
            source = Path(folder) / "readings.csv"
            save_text(source, demo_csv(seed))
        log.import_csv(source, study.id)
    return study


def demo_log(path: str | Path) -> StabilityLog:
    """The invented log at a path, opened; where there is none yet, it is written first."""
    from kit.stability.log.store import StabilityLog

    if not Path(path).exists():
        write_demo_log(path)
    return StabilityLog.open(path)


def drawn_bottle() -> bytes:
    """A drawn stand-in for a photo, a PNG of 400 by 300 pixels: a patch of the oil layer and a grey card."""
    from PIL import Image

    picture = Image.new("RGB", (400, 300), (231, 222, 196))
    picture.paste((214, 178, 92), (150, 40, 250, 160))
    picture.paste((122, 118, 104), (20, 20, 100, 100))
    picture.save(file := BytesIO(), "PNG")
    return file.getvalue()


def _values(chance: random.Random, batch: str, condition: str, days: int, filled: float) -> dict[str, str]:
    ph, separate, shakes, mass, fade, smell = _WEEKLY[condition]
    weeks = days / 7
    aged = weeks * _FASTER[batch]
    appearance, odour = (min(3, int(aged // step)) for step in (fade, smell))
    return {
        "appearance": str(appearance),
        "odour": str(odour),
        "ph": f"{_START[batch][0] + ph * aged + _noise(chance, 0.02):.2f}",
        "lower_layer": f"{_START[batch][1] - 0.02 * weeks + _noise(chance, 0.4):.1f}",
        "minutes_to_separate": f"{4.2 + separate * aged + _noise(chance, 0.15):.1f}",
        "shakes_to_remix": str(round(8 + shakes * aged + _noise(chance, 0.8))),
        "mass": f"{filled + mass * aged + _noise(chance, 0.01):.2f}",
        "colour_note": _colour(condition, appearance),
        "leak": "yes" if (batch, condition, days) == ("TL-01", "warm_box", 56) else "no",
    }


def _measured(chance: random.Random, batch: str, condition: str, days: int) -> dict[str, str]:
    *drift, thinner = _WEEKLY_COLOUR[condition]
    aged = days / 7 * _FASTER[batch]
    lab = (
        at + step * aged + _noise(chance, spread)
        for at, step, spread in zip(_COLOUR[batch], drift, (0.5, 0.25, 0.6), strict=True)
    )
    viscosity = _VISCOSITY[batch] * (1 + thinner * aged / 100) + _noise(chance, 0.25)
    return {"colour": " ".join(f"{axis:.1f}" for axis in lab), "viscosity": f"{viscosity:.1f}"}


def _colour(condition: str, appearance: int) -> str:
    if appearance == 0:
        return "upper pale gold, lower clear blue"
    if condition == "window":
        return "lower layer paler" if appearance < 3 else "lower layer nearly colourless"
    return "upper layer darker gold"


def _noise(chance: random.Random, spread: float) -> float:
    """A bell-like error from plain sums alone, so that every machine invents the same digits."""
    return spread * (chance.random() + chance.random() + chance.random() - 1.5)


def _row(study: Study, place: tuple[str, str, str, str], value: str, day: date, note: str) -> Observation:
    reading = read_value(study.plan.attribute(place[3]), value)
    if place[3] == "leak" and value == "yes":
        note = "a trace of oil under the cap; tightened"
    return Observation(0, study.id, *place, reading.text, reading.number, day, "evening class", note)


def _numbered(row: Observation, number: int) -> Observation:
    evening = datetime.combine(row.observed_on, time(18), UTC) + timedelta(seconds=20 * number)
    return replace(row, id=number, recorded_at=evening.isoformat(timespec="seconds"))


def _with_slip(rows: list[Observation], study: Study) -> list[Observation]:
    """Swap the last two digits of one reading as first typed, and add its correction of the next day."""
    at = next(number for number, row in enumerate(rows) if row.cell == study.cell(*SLIP))
    right = rows[at]
    swapped = read_value(study.plan.attribute("ph"), right.value[:-2] + right.value[:-3:-1])
    next_day = right.observed_on + timedelta(days=1)
    correction = replace(
        right,
        replaces=right.id,
        reason=f"two digits swapped when typing; the sheet says {right.value}",
        recorded_at=datetime.combine(next_day, time(9), UTC).isoformat(timespec="seconds"),
    )
    rows[at] = replace(right, value=swapped.text, number=swapped.number)
    later = next(number for number, row in enumerate(rows) if row.observed_on > next_day)
    kept = [*rows[:later], correction, *rows[later:]]
    # Numbers follow the order of saving; only the correction refers to one, and it comes before it.
    return [replace(row, id=number) for number, row in enumerate(kept, start=1)]
