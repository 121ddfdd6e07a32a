"""The invented study: the committed file is what the seed makes, and it shows what it should."""

from __future__ import annotations

import tomllib
from datetime import date
from typing import TYPE_CHECKING

import pytest

from kit.errors import StoreError
from kit.stability import demo
from kit.stability.check import findings_for
from kit.stability.colour_difference import delta_e_2000
from kit.stability.log.store import StabilityLog
from kit.stability.reading import read_colour
from kit.stability.schedule import due
from kit.stability.study import current

if TYPE_CHECKING:
    from pathlib import Path

    from kit.stability.study import Observation


@pytest.fixture(scope="module")
def rows() -> list[Observation]:
    return demo.demo_observations()


def numbers(rows: list[Observation], attribute: str, condition: str, time_point: str) -> list[float]:
    return [
        row.number
        for row in current(rows)
        if (row.attribute, row.condition, row.time_point) == (attribute, condition, time_point)
        and row.number is not None
    ]


def test_the_committed_file_is_what_the_seed_makes() -> None:
    assert demo.demo_csv_path().read_bytes().decode("utf-8") == demo.demo_csv()


def test_another_seed_invents_other_readings() -> None:
    assert demo.demo_csv(7) != demo.demo_csv()
    assert demo.demo_csv(7) == demo.demo_csv(7)


def test_rewriting_makes_the_same_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(demo, "demo_csv_path", lambda: tmp_path / "readings.csv")
    demo.rewrite_demo_csv()
    assert (tmp_path / "readings.csv").read_text(encoding="utf-8") == demo.demo_csv()


def test_the_log_holds_the_committed_readings(tmp_path: Path, rows: list[Observation]) -> None:
    path = tmp_path / "demo.log.db"
    study = demo.write_demo_log(path)
    with StabilityLog.open(path) as log:
        assert log.studies() == [study]
        assert log.observations(study.id) == rows
        log.export_csv(tmp_path / "out.csv", study.id)
    assert (tmp_path / "out.csv").read_bytes() == demo.demo_csv_path().read_bytes()


def test_a_log_of_another_seed_can_be_made(tmp_path: Path) -> None:
    study = demo.write_demo_log(tmp_path / "other.log.db", seed=7)
    with StabilityLog.open(tmp_path / "other.log.db") as log:
        assert log.observations(study.id) == demo.demo_observations(7)


def test_the_invented_log_is_not_mixed_into_a_log_that_is_there(tmp_path: Path) -> None:
    path = tmp_path / "mine.log.db"
    path.write_bytes(b"mine")
    with pytest.raises(StoreError, match=r"mine.log.db is there already. Give the invented log a name of its own"):
        demo.write_demo_log(path)
    assert path.read_bytes() == b"mine"


def test_it_says_that_it_is_invented() -> None:
    about = tomllib.loads(demo.demo_csv_path().with_name("stability_source.toml").read_text(encoding="utf-8"))
    assert about["issuer"].startswith("invented for Tern Lane Workshop")
    assert "(invented)" in demo.demo_study().title


def test_one_reading_is_corrected_one_pull_late_and_one_missed(rows: list[Observation]) -> None:
    corrections = [row for row in rows if row.replaces is not None]
    assert len(corrections) == 1
    (correction,) = corrections
    wrong = next(row for row in rows if row.id == correction.replaces)
    assert sorted(wrong.value) == sorted(correction.value)
    assert wrong.value != correction.value
    assert "two digits swapped when typing" in correction.reason
    pulls = due(demo.demo_study(), rows, date(2026, 4, 7))
    assert {one.words for one in pulls if one.batch == "TL-03" and one.time_point == "8 weeks"} == {"done, 6 days late"}
    unusual = [(one.batch, one.condition, one.time_point) for one in pulls if one.state != "done"]
    assert unusual == [("TL-02", "fridge", "2 weeks")]
    assert next(one for one in pulls if one.state != "done").state == "missed"


def test_the_drifts_are_plausible(rows: list[Observation]) -> None:
    for start, end in zip(
        numbers(rows, "ph", "warm_box", "start"), numbers(rows, "ph", "warm_box", "12 weeks"), strict=True
    ):
        assert 0.3 < start - end < 0.7, "pH falls a little at 40 °C"
    for start, end in zip(
        numbers(rows, "ph", "fridge", "start"), numbers(rows, "ph", "fridge", "12 weeks"), strict=True
    ):
        assert abs(start - end) < 0.06
    assert max(numbers(rows, "minutes_to_separate", "warm_box", "12 weeks")) < 4
    assert min(numbers(rows, "minutes_to_separate", "fridge", "12 weeks")) >= 4.2


def test_the_checks_find_what_left_its_limit(rows: list[Observation]) -> None:
    study = demo.demo_study()
    start = {(row.batch, row.condition, row.attribute): row.value for row in rows if row.time_point == "start"}
    found = {
        (row.attribute, row.condition)
        for row in current(rows)
        if findings_for(study.plan.attribute(row.attribute), row.value, start[row.batch, row.condition, row.attribute])
    }
    assert found == {
        ("ph", "warm_box"),
        ("appearance", "window"),
        ("leak", "warm_box"),
        ("colour", "warm_box"),
        ("colour", "window"),
    }


def differences(rows: list[Observation], condition: str, batch: str) -> list[float]:
    """CIEDE2000 between the start and each later pull of a bottle."""
    lab = [
        read_colour(row.value)
        for row in current(rows)
        if (row.attribute, row.condition, row.batch) == ("colour", condition, batch)
    ]
    return [delta_e_2000(lab[0], one) for one in lab]


def test_the_colour_drifts_in_light_and_warmth_and_one_batch_is_worse(rows: list[Observation]) -> None:
    for batch in demo.BATCHES:
        assert max(differences(rows, "fridge", batch)) < 1
        assert max(differences(rows, "cupboard", batch)) < 1
        assert differences(rows, "warm_box", batch)[-1] > 4
        assert differences(rows, "window", batch)[-1] > 3
    for condition in ("warm_box", "window"):
        last = {batch: differences(rows, condition, batch)[-1] for batch in demo.BATCHES}
        assert max(last, key=lambda batch: last[batch]) == "TL-03"
    falls = {
        batch: [
            row.number
            for row in current(rows)
            if (row.batch, row.condition, row.attribute) == (batch, "warm_box", "ph")
        ]
        for batch in demo.BATCHES
    }
    assert max(falls, key=lambda batch: (falls[batch][0] or 0) - (falls[batch][-1] or 0)) == "TL-03"
