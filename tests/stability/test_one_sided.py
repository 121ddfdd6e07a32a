"""Readings that say only more or less: kept as typed, never a number, and told where a line leaves them out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from kit.errors import EntryError
from kit.stability.check import findings_for
from kit.stability.exchange import to_csv
from kit.stability.log.store import StabilityLog
from kit.stability.plan import Attribute
from kit.stability.reading import Reading, read_kept, read_value
from kit.stability.series import series_of
from kit.stability.shelf_life import shelf_life

if TYPE_CHECKING:
    from pathlib import Path

PARTING = Attribute("parting", "Time to part", "number", unit="min", lower=2, upper=45, least=0)


def test_more_and_less_are_read_with_their_units() -> None:
    for text, above, below in (
        ("> 60 min", 60, None), (">60", 60, None), ("more than 1 h", 60, None), ("≥ 1,5 h", 90, None),
        ("< 0.5", None, 0.5), ("<= 30 s", None, 0.5), ("Less than ½", None, 0.5),
    ):  # fmt: skip
        assert read_value(PARTING, text) == Reading(text, None, None, above, below)
        assert read_kept(PARTING, text, None).number is None
    for text in ("> ", "> -5", "> soon", "60 >", "> 1.250"):
        with pytest.raises(EntryError, match="Time to part"):
            read_value(PARTING, text)
    with pytest.raises(EntryError, match="grade"):
        read_value(Attribute("look", "Look", "grade", scale=("same", "changed")), "> 1")


def test_what_is_beyond_a_limit_for_sure_is_told() -> None:
    def said(text: str) -> list[tuple[str, str]]:
        return [(found.severity, found.sentence) for found in findings_for(PARTING, text, "5")]

    (sure, kept) = said("> 60 min")
    assert sure[0] == "caution"
    assert sure[1].startswith("Time to part is > 60 min: above its limit, 45 min.")
    assert kept[0] == "note"
    assert kept[1] == (
        "Time to part: '> 60 min' says only on which side it lies. It is kept as typed; no trend and no shelf life is "
        "computed from it."
    )
    assert [severity for severity, _ in said("> 30")] == ["note"]
    for text, severities in {
        "< 2": ["caution", "note"], "< 1": ["caution", "note"], "< 3": ["note"], "> 45": ["caution", "note"],
    }.items():  # fmt: skip
        assert [severity for severity, _ in said(text)] == severities, text


def test_they_are_kept_and_a_line_says_that_it_leaves_them_out(tmp_path: Path) -> None:
    with StabilityLog.open(tmp_path / "log.db") as log:
        study = log.start_study("Shampoo, clear", "home-twelve-weeks", ["A"], "2026-01-12")
        points = [point.label for point in study.plan.time_points]
        days = ["2026-01-12", "2026-01-19", "2026-01-26", "2026-02-09", "2026-02-23", "2026-03-09"]
        for label, day, value in zip(points, days, ["5.4", "5.3", "5.3", "5.2", "> 5"], strict=False):
            log.record(study.id, "A", "fridge", label, "ph", value, day)
        rows = log.observations(study.id)
        assert [row.value for row in rows if row.number is None] == ["> 5"]
        assert log.verify().findings == []
        (tmp_path / "out.csv").write_text(to_csv(study, rows), encoding="utf-8")
        (series,) = series_of(study, rows, "fridge", "ph")
        again = log.start_study("Shampoo, again", "home-twelve-weeks", ["A"], "2026-01-12")
        log.import_csv(tmp_path / "out.csv", again.id)
        assert [row.value for row in log.observations(again.id)] == [row.value for row in rows]
    assert (series.values, series.one_sided) == ((5.4, 5.3, 5.3, 5.2), ("> 5",))
    told = [finding.sentence for finding in shelf_life([series], lower=4.5).findings]
    assert any("Batch A has readings that say only more or less: > 5. They are left out" in words for words in told)
