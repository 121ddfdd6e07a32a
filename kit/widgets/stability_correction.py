"""Correct a reading, see the history of any value, and write the files of a study."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError
from kit.file_names import file_stem
from kit.inputs import Choice, Day, Input, Tick, asked, inputs_of
from kit.made_for import own_place
from kit.papers.paper import StudyRecord
from kit.papers.record_sheet import RecordSheetOptions
from kit.papers.registry import make_paper
from kit.saving import save_text
from kit.stability.check import findings_for
from kit.stability.in_hand import EVERY
from kit.stability.schedule import pull_days, save_ics
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, sheet, soft
from kit.widgets.odd_day import OddDay
from kit.widgets.study_panel import StudyPart

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.stability.in_hand import StudyInHand
    from kit.stability.log.store import StabilityLog
    from kit.stability.study import Observation, Study
    from kit.widgets.study_panel import StudyBench

FIND = [
    Input("batch", "Batch", Choice({}), EVERY),
    Input("condition", "Kept in", Choice({}), EVERY),
    Input("attribute", "What", Choice({}), EVERY),
]
PLACE = tuple(one.name for one in FIND)
#: The files of a study: a button's name and words, how the file's name ends, and who writes it.
FILES: tuple[tuple[str, str, str, Callable[[StabilityLog, Study, Path], object]], ...] = (
    ("csv", "Readings as CSV", "_readings.csv", lambda log, study, path: log.export_csv(path, study.id)),
    ("xlsx", "Readings as XLSX", "_readings.xlsx", lambda log, study, path: log.export_xlsx(path, study.id)),
    ("ics", "Days as a calendar file", ".ics", lambda _, study, path: save_ics(path, study, datetime.now(UTC))),
    (
        "plan",
        "Print the plan",
        "_plan.html",
        lambda _, study, path: save_text(path, make_paper("stability_plan", StudyRecord(study)).html),
    ),
)


#: The pull of a reading that is to stay where it is.
AS_IT_WAS = ""


@dataclass(frozen=True)
class Correction:
    """What a correction is: of which reading, its right value, day or pull, and why."""

    reading: int | None = asked("Reading", Choice({}), None)
    value: str = asked("Right value", example="as it was", help="Leave it empty where only the day is wrong.")
    observed_on: str | None = asked("Seen on", Day(), None)
    pull: str = asked(
        "Right pull", Choice({AS_IT_WAS: "as it was"}), AS_IT_WAS, help="Where it was entered under a wrong one."
    )
    all_of_it: bool = asked(
        "And all else that was read of this bottle there",
        Tick(),
        default=False,
        applies=lambda values: values["pull"] != AS_IT_WAS,
    )
    reason: str = asked("Reason", example="two digits swapped")


class CorrectionForm(StudyPart):
    """A correction is a new row with a reason; the old one stays and can be seen."""

    def __init__(self, bench: StudyBench) -> None:
        save = Button("save", "Save the correction", self._save)
        withdraw = Button("withdraw", "It does not count", self._withdraw, "It stays in the log, and is read no more")
        inputs = [*FIND, *inputs_of(Correction)]
        self.form = Form(
            inputs, [save, withdraw], on_change=self._chosen, live=("value",), wide=("reading", "all_of_it", "reason")
        )
        self.history, self.told = ipw.HTML(), ipw.HTML()
        self._newest = 0
        self.odd_day = OddDay(self._save)
        super().__init__(bench, [self.form, self.told, self.odd_day, self.history])

    def show(self, hand: StudyInHand) -> None:
        """Offer the readings that count, the newest first; one that was just saved is chosen."""
        assert hand.study is not None
        plan = hand.study.plan
        self.form.offer("batch", {EVERY: "every batch", **{batch: batch for batch in hand.study.batches}})
        self.form.offer("condition", {EVERY: "every place", **{one.key: one.label for one in plan.conditions}})
        self.form.offer("attribute", {EVERY: "everything", **{one.key: one.label for one in plan.attributes}})
        pulls = {point.label: point.label for point in plan.time_points}
        self.form.offer("pull", {AS_IT_WAS: "as it was", **pulls})
        newest = max((row.id for row in hand.now), default=0)
        if newest > self._newest and not self.form["value"].strip():
            self.form.set(reading=newest)
        self._newest = newest
        self._offer_readings()

    def _offer_readings(self) -> None:
        hand, wanted = self.bench.hand, self.form.values
        if hand.study is None:
            return
        found = {
            row.id: f"{hand.study.words(row.cell)}: {row.value}"
            for row in sorted(hand.now, key=lambda row: -row.id)
            if all(wanted[name] in (EVERY, getattr(row, name)) for name in PLACE)
        }
        self.form.offer("reading", found)
        self._tell()

    def _chosen(self, names: tuple[str, ...]) -> None:
        if set(names) & set(PLACE):
            self._offer_readings()
        elif "reading" in names:
            self._tell()
        else:
            self._check()

    def _row(self) -> Observation | None:
        """The reading in hand."""
        return next((row for row in self.bench.hand.now if row.id == self.form["reading"]), None)

    def _tell(self) -> None:
        """Show the history of the reading in hand, and its day."""
        self._check()
        row = self._row()
        self.form.set(observed_on=None if row is None else str(row.observed_on))
        self.history.value = ""
        if row is not None:
            chain = self.bench.log.history(row.id)
            why = [one.reason or "first reading" for one in chain]
            rows = [
                [one.value, str(one.observed_on), one.observer, reason, one.note, one.recorded_at]
                for one, reason in zip(chain, why, strict=True)
            ]
            self.history.value = sheet(["value", "seen on", "by", "why", "note", "saved (UTC)"], rows)

    def _check(self) -> None:
        """Say what is odd about the right value before it is saved."""
        study, row, text = self.bench.hand.study, self._row(), self.form["value"]
        self.told.value = ""
        self.odd_day.take_back()
        if study is None or row is None or not text.strip():
            return
        first = study.plan.time_points[0].label
        place = (row.batch, row.condition, row.attribute)
        starts = [one for one in self.bench.hand.now if one.time_point == first != row.time_point]
        start = next((one.value for one in starts if (one.batch, one.condition, one.attribute) == place), None)
        self.told.value = findings_list(findings_for(study.plan.attribute(row.attribute), text, start))

    def _save(self) -> str:
        row, said = self._row(), Correction(**self.form.read(*(one.name for one in inputs_of(Correction))))
        if row is None:
            return "There is no reading to correct yet."
        if said.pull not in (AS_IT_WAS, row.time_point):
            return self._move(row, said)
        day = None if said.observed_on is None else date.fromisoformat(said.observed_on)
        if day is None or day > self.bench.today():
            msg = "Nothing was saved. Choose the day on which it was seen; it cannot be one that has not come yet."
            raise EntryError(msg)
        study = self.bench.hand.study
        other_day = study is not None and day != row.observed_on
        if study is not None and other_day and self.odd_day.asks(study, row.time_point, day, self.bench.today()):
            return ""
        value = said.value if said.value.strip() or day == row.observed_on else row.value
        new = self.bench.log.correct(row.id, value, said.reason, observed_on=day, observer=self.bench.hand.by)
        self.form.set(value="", reason="", reading=new.id)
        self.bench.read()
        return "Saved. The old value stays in the history."

    def _move(self, row: Observation, said: Correction) -> str:
        """Bring a reading, or all of its bottle at its pull, to the right pull."""
        if said.value.strip():
            msg = "Nothing was saved. Move it to its pull first, and correct its value after that."
            raise EntryError(msg)
        study = self.bench.hand.study
        if study is not None and self.odd_day.asks(study, said.pull, row.observed_on, self.bench.today()):
            return ""
        place = (row.batch, row.condition, row.time_point)
        of_it = [one for one in self.bench.hand.now if (one.batch, one.condition, one.time_point) == place]
        moved = of_it if said.all_of_it else [row]
        new = self.bench.log.move([one.id for one in moved], said.pull, said.reason, observer=self.bench.hand.by)
        self.form.set(pull=AS_IT_WAS, all_of_it=False, reason="", reading=new[0].id)
        self.bench.read()
        count = "1 reading" if len(new) == 1 else f"{len(new)} readings"
        return f"Moved {count} from {row.time_point} to {said.pull}. Where it was, the log says so."

    def _withdraw(self) -> str:
        row, reason = self._row(), self.form["reason"]
        if row is None:
            return "There is no reading to withdraw yet."
        self.bench.log.withdraw(row.id, reason, observer=self.bench.hand.by)
        self.form.set(value="", reason="")
        self.bench.read()
        return "It does not count any more, and stays in the log with your reason."


class FilesForm(StudyPart):
    """The readings as CSV or XLSX, the days as a calendar file, the plan and a record sheet to print."""

    def __init__(self, bench: StudyBench) -> None:
        self.days = ipw.HTML()
        buttons = [Button(name, words, self._writer(ending, write)) for name, words, ending, write in FILES]
        buttons.append(Button("sheet", "Print a record sheet", self._sheet))
        self.form = Form([], buttons)
        super().__init__(bench, [self.days, self.form])

    def show(self, hand: StudyInHand) -> None:
        """Show the calendar of the study."""
        assert hand.study is not None
        rows = []
        for day in pull_days(hand.study, hand.now, hand.today):
            still = f"{len(day.open_bottles)} still to read" if day.open_bottles else "all read or missed"
            rows.append([str(day.due_on), day.time_point, str(day.last_day), str(len(day.bottles)), still])
        table = sheet(["take out on", "pull", "in time until", "bottles", "state"], rows, numbers=[3])
        places = "; ".join(condition.label for condition in hand.study.plan.conditions)
        said = soft(f"Each time {', '.join(hand.study.batches)} from: {places}.")
        self.days.value = f'<div class="sw-days">{table}</div>{said}'

    def _study(self) -> Study:
        study = self.bench.hand.study
        if study is None:
            msg = "There is no study yet. Start one below."
            raise EntryError(msg)
        return study

    def _writer(self, ending: str, write: Callable[[StabilityLog, Study, Path], object]) -> Callable[[], str]:
        def work() -> str:
            study = self._study()
            place = own_place(study.title, Path(f"{file_stem(study.title)}{ending}"))
            write(self.bench.log, study, place.path)
            return f"Wrote {place.words}."

        return work

    def _sheet(self) -> str:
        """The sheet of the pull in hand, of one bottle where one is chosen."""
        hand, study = self.bench.hand, self._study()
        label = hand.label or study.plan.time_points[0].label
        batch, condition = (hand.one_bottle if hand.label else None) or (None, None)
        stem = file_stem(*filter(None, [study.title, label, batch, condition]))
        place = own_place(study.title, Path(f"{stem}_record.html"))
        options = RecordSheetOptions(label, batch or "", condition or "")
        save_text(place.path, make_paper("record_sheet", StudyRecord(study, tuple(hand.now)), options).html)
        return f"Wrote {place.words}."
