"""Correct a reading, see the history of any value, and write the files of a study."""

from __future__ import annotations

from datetime import UTC, datetime
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError
from kit.papers.record_sheet import record_sheet_html
from kit.papers.stability_plan import stability_plan_html
from kit.saving import file_stem, save_text
from kit.stability.check import findings_for
from kit.stability.schedule import pull_days, save_ics
from kit.widgets.html import findings_list, sheet
from kit.widgets.panel import controls, offer, try_to
from kit.widgets.stability_choice import EVERY

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.stability.study import Observation, Study
    from kit.widgets.stability_panel import StabilityPanel


class CorrectionForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A correction is a new row with a reason; the old one stays and can be seen."""

    def __init__(self, panel: StabilityPanel) -> None:
        self.panel = panel
        self.batch = ipw.Dropdown(description="Batch")
        self.condition = ipw.Dropdown(description="Kept in")
        self.attribute = ipw.Dropdown(description="What")
        self.reading = ipw.Dropdown(description="Reading", layout={"width": "620px"})
        self.history = ipw.HTML()
        self.value_box = ipw.Text(description="Right value", placeholder="as it was, if only the day is wrong")
        self.observed_on = ipw.DatePicker(description="Seen on")
        self.reason = ipw.Text(description="Reason", placeholder="two digits swapped", layout={"width": "420px"})
        self.save = ipw.Button(description="Save the correction", layout={"width": "auto"})
        self.told, self.message = ipw.HTML(), ipw.HTML()
        super().__init__(
            [
                controls(self.batch, self.condition, self.attribute),
                self.reading,
                self.history,
                controls(self.value_box, self.observed_on, self.reason, self.save),
                self.told,
                self.message,
            ]
        )
        self._study: Study | None = None
        self._now: list[Observation] = []
        self._newest = 0
        for box in (self.batch, self.condition, self.attribute):
            box.observe(lambda _: self._offer_readings(), names="value")
        self.reading.observe(lambda _: self._tell(), names="value")
        self.value_box.observe(lambda _: self._check(), names="value")
        self.save.on_click(lambda _: self._save())

    def show(self, study: Study, now: list[Observation]) -> None:
        """Offer the readings that count, the newest first; one that was just saved is chosen."""
        self._study, self._now = study, sorted(now, key=lambda row: row.id)
        plan = study.plan
        offer(self.batch, [("every batch", EVERY), *((batch, batch) for batch in study.batches)])
        offer(self.condition, [("every place", EVERY), *((one.label, one.key) for one in plan.conditions)])
        offer(self.attribute, [("everything", EVERY), *((one.label, one.key) for one in plan.attributes)])
        self._offer_readings()
        newest = max((row.id for row in now), default=0)
        if newest > self._newest and not self.value_box.value.strip() and self.reading.options:
            self.reading.value = self.reading.options[0][1]
        self._newest = newest

    def _offer_readings(self) -> None:
        study = self._study
        if study is None:
            return
        wanted = [
            row
            for row in reversed(self._now)
            if self.batch.value in (EVERY, row.batch)
            and self.condition.value in (EVERY, row.condition)
            and self.attribute.value in (EVERY, row.attribute)
        ]
        offer(self.reading, [(f"{study.words(row.cell)}: {row.value}", row.id) for row in wanted])
        self._tell()

    def _tell(self) -> None:
        self._check()
        row = self._row()
        self.observed_on.value = None if row is None else row.observed_on
        if self.reading.value is None:
            self.history.value = ""
            return
        rows = [
            [row.value, str(row.observed_on), row.observer, row.reason or "first reading", row.note, row.recorded_at]
            for row in self.panel.logbook.history(self.reading.value)
        ]
        self.history.value = sheet(["value", "seen on", "by", "why", "note", "saved (UTC)"], rows)

    def _row(self) -> Observation | None:
        """The reading in hand."""
        return next((row for row in self._now if row.id == self.reading.value), None)

    def _check(self) -> None:
        """Say what is odd about the right value before it is saved."""
        study = self._study
        row = self._row()
        if study is None or row is None or not self.value_box.value.strip():
            self.told.value = ""
            return
        first = study.plan.time_points[0].label
        place = (row.batch, row.condition, row.attribute)
        start = next(
            (o.value for o in self._now if (o.batch, o.condition, o.attribute) == place and o.time_point == first), None
        )
        against = None if row.time_point == first else start
        found = findings_for(study.plan.attribute(row.attribute), self.value_box.value, against)
        self.told.value = findings_list(found)

    def _save(self) -> None:
        def work() -> str:
            row, day = self._row(), self.observed_on.value
            if row is None:
                return "There is no reading to correct yet."
            if day is None or day > self.panel.today():
                msg = "Nothing was saved. Choose the day on which it was seen; it cannot be one that has not come yet."
                raise EntryError(msg)
            value = self.value_box.value if self.value_box.value.strip() or day == row.observed_on else row.value
            who = self.panel.form.observer.value.strip()
            new = self.panel.logbook.correct(row.id, value, self.reason.value, observed_on=day, observer=who)
            self.value_box.value = self.reason.value = ""
            self.panel.refresh()
            self.reading.value = new.id
            return "Saved. The old value stays in the history."

        try_to(self.message, work)


class FilesForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """The readings as CSV or XLSX, the days as a calendar file, the plan and a record sheet to print."""

    def __init__(self, panel: StabilityPanel) -> None:
        self.panel = panel
        self.days, self.message = ipw.HTML(), ipw.HTML()
        self.csv = self._button("Readings as CSV", self._csv)
        self.xlsx = self._button("Readings as XLSX", self._xlsx)
        self.ics = self._button("Days as a calendar file", self._ics)
        self.plan = self._button("Print the plan", self._plan)
        self.sheet = self._button("Print a record sheet", self._sheet)
        super().__init__([self.days, controls(self.csv, self.xlsx, self.ics, self.plan, self.sheet), self.message])

    def show(self, study: Study, now: list[Observation]) -> None:
        """Show the calendar of the study."""
        places = "; ".join(condition.label for condition in study.plan.conditions)
        rows = []
        for day in pull_days(study, now, self.panel.today()):
            still = f"{len(day.open_bottles)} still to read" if day.open_bottles else "all read or missed"
            rows.append([str(day.due_on), day.time_point, str(day.last_day), str(len(day.bottles)), still])
        table = sheet(["take out on", "pull", "in time until", "bottles", "state"], rows, numbers=[3])
        said = f"Each time {', '.join(study.batches)} from: {places}."
        self.days.value = f'<div class="sw-days">{table}</div><div class="sw-subtitle">{escape(said)}</div>'

    def _button(self, words: str, work: Callable[[Study, str], str]) -> ipw.Button:
        button = ipw.Button(description=words, layout={"width": "auto"})

        def pressed(_button: ipw.Button) -> None:
            def write() -> str:
                study = self.panel.study
                if study is None:
                    msg = "There is no study yet. Start one below."
                    raise EntryError(msg)
                return f"Wrote {work(study, file_stem(study.title))} beside this notebook."

            try_to(self.message, write)

        button.on_click(pressed)
        return button

    def _csv(self, study: Study, stem: str) -> str:
        name = f"{stem}_readings.csv"
        self.panel.logbook.export_csv(name, study.id)
        return name

    def _xlsx(self, study: Study, stem: str) -> str:
        name = f"{stem}_readings.xlsx"
        self.panel.logbook.export_xlsx(name, study.id)
        return name

    def _ics(self, study: Study, stem: str) -> str:
        name = f"{stem}.ics"
        save_ics(Path(name), study, datetime.now(UTC))
        return name

    def _plan(self, study: Study, stem: str) -> str:
        name = f"{stem}_plan.html"
        save_text(Path(name), stability_plan_html(study))
        return name

    def _sheet(self, study: Study, stem: str) -> str:
        """The sheet of the pull in hand, of one bottle where one is chosen."""
        choice = self.panel.form.choice
        label = choice.label if choice.study is not None else study.plan.time_points[0].label
        batch, condition = choice.one_bottle or (None, None)
        name = "_".join(
            [
                stem,
                file_stem(label),
                *([file_stem(batch), file_stem(condition)] if batch and condition else []),
                "record.html",
            ]
        )
        now = self.panel.logbook.current(study.id)
        save_text(Path(name), record_sheet_html(study, label, now, batch=batch, condition=condition))
        return name
