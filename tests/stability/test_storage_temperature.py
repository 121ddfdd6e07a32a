"""The temperature that stands for a storage, and logs of it; printed cases are in tests/published."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError, FileFaultsError, RangeError
from kit.stability.storage_temperature import lasted, mean_kinetic_temperature, read_temperature_log

if TYPE_CHECKING:
    from pathlib import Path

TEMPERATURES = st.lists(st.floats(-40, 60), min_size=1, max_size=30)


@given(TEMPERATURES)
def test_it_is_what_the_formula_says_and_never_below_the_mean(temperatures: list[float]) -> None:
    found = mean_kinetic_temperature(temperatures)
    kelvin = np.array(temperatures) + 273.15
    plain = 10_000 / -np.log(np.exp(-10_000 / kelvin).mean()) - 273.15
    assert found == pytest.approx(float(plain), abs=1e-7)
    assert found >= sum(temperatures) / len(temperatures) - 1e-9
    assert found <= max(temperatures) + 1e-9


@given(TEMPERATURES, st.integers(1, 5))
def test_weights_count_like_repeats(temperatures: list[float], times: int) -> None:
    weights = [1 + place % times for place in range(len(temperatures))]
    repeated = [t for t, weight in zip(temperatures, weights, strict=True) for _ in range(weight)]
    assert mean_kinetic_temperature(temperatures, weights) == pytest.approx(
        mean_kinetic_temperature(repeated), abs=1e-9
    )
    assert mean_kinetic_temperature(temperatures, [7 * w for w in weights]) == pytest.approx(
        mean_kinetic_temperature(repeated), abs=1e-9
    )


def test_a_cold_storage_or_a_high_energy_leaves_the_computer_digits_enough() -> None:
    assert mean_kinetic_temperature([-80, -80]) == pytest.approx(-80)
    assert mean_kinetic_temperature([-80, 20], energy=500) == pytest.approx(19.0, abs=1.1)
    assert mean_kinetic_temperature([20, 30], [0, 1]) == pytest.approx(30)


@pytest.mark.parametrize(
    ("temperatures", "weights", "words"),
    [
        ([], None, "There is no temperature to take the mean of."),
        ([20, -274], None, "-274 °C is not possible: nothing is colder than -273.15 °C."),
        ([20, math.nan], None, "nan °C is not possible"),
        ([20], [1, 2], "There are 1 temperatures and 2 weights. Give one weight for each."),
        ([20, 30], [1, -1], "A weight is how long a temperature lasted: none may be below 0"),
        ([20, 30], [0, 0], "one at least must be above"),
    ],
)
def test_what_is_refused(temperatures: list[float], weights: list[float] | None, words: str) -> None:
    with pytest.raises(RangeError, match=words.replace(".", r"\.")):
        mean_kinetic_temperature(temperatures, weights)
    with pytest.raises(RangeError, match="The activation energy must be above 0 kJ/mol, got 0"):
        mean_kinetic_temperature([20], energy=0)


@given(st.lists(st.floats(0.1, 50), min_size=1, max_size=20))
def test_the_shares_of_a_log_add_up_to_its_length(gaps: list[float]) -> None:
    times = [sum(gaps[:place]) for place in range(len(gaps) + 1)]
    assert sum(lasted(times)) == pytest.approx(times[-1])


def test_times_must_rise() -> None:
    assert lasted([5]) == [1.0]
    with pytest.raises(RangeError, match="The times of a log must rise"):
        lasted([0, 2, 2])


def test_a_log_with_unequal_gaps_is_weighted_by_time() -> None:
    log = read_temperature_log(
        "Time;Temperature [°C]\n2026-03-09 08:00;20,0\n2026-03-09 09:00;21,5 °C\n2026-03-09 21:00;30\n"
    )
    assert log.hours == (0, 1, 13)
    assert log.weights == (0.5, 6.5, 6.0)
    assert log.kinetic_mean() == pytest.approx(mean_kinetic_temperature([20, 21.5, 30], [0.5, 6.5, 6]))
    assert log.mean == pytest.approx((0.5 * 20 + 6.5 * 21.5 + 6 * 30) / 13)
    assert log.hours_above(25) == 6
    assert log.sentence.startswith("Computed from 3 temperatures over 0.542 days: mean 25.4 °C, mean kinetic temp")
    assert log.findings == ()
    assert not log.daily


def test_days_with_their_coldest_and_warmest(tmp_path: Path) -> None:
    path = tmp_path / "cupboard.csv"
    path.write_text(
        "\ufeffdate,min,max\n2026-03-09,18.0,24.0\n\n2026-03-10,17.5,26\n2026-03-12,18,23\n", encoding="utf-8"
    )
    log = read_temperature_log(path)
    assert log.daily
    assert log.temperatures == (18, 24, 17.5, 26, 18, 23)
    assert log.kinetic_mean() == pytest.approx(mean_kinetic_temperature([18, 24, 17.5, 26, 18, 23]))
    assert log.findings[0].sentence == "cupboard.csv misses 1 of its 4 days: nobody knows how warm they were."
    assert read_temperature_log(str(path)) == log


def test_a_long_gap_is_pointed_out() -> None:
    rows = [f"2026-03-09 {hour:02d}:00,20" for hour in range(6)] + ["2026-03-10 05:00,35"]
    log = read_temperature_log("time,temperature\n" + "\n".join(rows))
    assert "has a gap of 24 hours where 1 are usual: nobody knows how warm it was then" in log.findings[0].sentence


def test_every_faulty_row_is_named() -> None:
    text = (
        "time,temperature\n2026-03-09 08:00,20\nyesterday,20\n2026-03-09 10:00,warm\n2026-03-09 11:00,200\n"
        "2026-03-09 07:00,21\n2026-03-09 12:00\n2026-03-09T13:00+01:00,21\n"
    )
    with pytest.raises(FileFaultsError) as caught:
        read_temperature_log(text, "Cupboard")
    said = str(caught.value)
    assert said.startswith("Cupboard has 6 faults; nothing was changed.")
    for words in (
        "row 3: 'yesterday' is not a time; write 2026-03-09 or 2026-03-09 14:30",
        "row 4: 'warm' is not a temperature in °C",
        "row 5: '200' is not believable; a storage lies between -90 and 90 °C",
        "row 6: 2026-03-09 07:00:00 is not later than the row before",
        "row 7: '' is not a temperature in °C",
        "row 8: its time has a zone and the one before has none, or the reverse",
    ):
        assert words in said


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("hour,warmth\n1,2\n", "first row: name the columns time and temperature, or date, min and max"),
        ("time,min\n2026-03-09,2\n", "first row: name the columns"),
        ("\n", "first row: name the columns"),
        ("time,temperature\n2026-03-09 08:00,20\n", "there are too few; a log needs two readings, or one day"),
        ("date,min,max\n2026-03-09,24,18\n", "row 2: its coldest, 24 °C, is above its warmest, 18 °C"),
        ("date,min,max\n2026-03-09 08:00,4,8\n2026-03-09 20:00,4,8\n", "row 3: 2026-03-09 00:00:00 is not later"),
    ],
)
def test_other_faults(text: str, words: str) -> None:
    with pytest.raises(FileFaultsError, match=words):
        read_temperature_log(text)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(EntryError, match=r"gone\.csv cannot be read\. Check that it is there"):
        read_temperature_log(tmp_path / "gone.csv")
    (tmp_path / "odd.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(EntryError, match=r"odd\.csv cannot be read"):
        read_temperature_log(tmp_path / "odd.csv")
    with pytest.raises(EntryError, match="look for a quotation mark that is never closed"):
        read_temperature_log('time,temperature\n"2026-03-09,20\n')


def test_a_decimal_comma_between_commas_is_told_and_not_cut() -> None:
    with pytest.raises(FileFaultsError, match="row 2: it has more cells than the first row has names"):
        read_temperature_log("time,temperature\n2026-03-09 08:00,20,5\n2026-03-09 20:00,30.0\n")


@pytest.mark.parametrize(("hour", "told"), [(10, False), (11, True)])
def test_a_gap_is_long_from_more_than_five_times_the_usual_one_on(hour: int, told: bool) -> None:
    rows = [f"2026-03-09 0{n}:00,20" for n in range(6)] + [f"2026-03-09 {hour}:00,21"]
    log = read_temperature_log("time,temperature\n" + "\n".join(rows))
    assert bool(log.findings) == told
    assert log.weights == (0.5, 1, 1, 1, 1, (1 + hour - 5) / 2, (hour - 5) / 2)


def test_temperatures_that_are_believed_and_days_that_are_whole() -> None:
    log = read_temperature_log("date,min,max\n2026-03-09,-90,90\n2026-03-10,20,20\n")
    assert (log.temperatures, log.hours, log.weights) == ((-90, 90, 20, 20), (6, 18, 30, 42), (12, 12, 12, 12))
    assert log.findings == ()
    assert read_temperature_log("date,min,max\n2026-03-09,4,8\n").hours == (6, 18)  # one day is enough
    for wrong in ("-90.1", "90.1"):
        with pytest.raises(FileFaultsError, match="a storage lies between -90 and 90"):
            read_temperature_log(f"date,min,max\n2026-03-09,{wrong},{wrong}\n")
    with pytest.raises(RangeError, match="nothing is colder than"):
        mean_kinetic_temperature([20, -273.15])
    assert log.hours_above(20) == 12  # what is just as warm is not warmer
    assert log.mean == pytest.approx(10)
