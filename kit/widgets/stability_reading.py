"""Record the readings of a pull: type row by row, and hear what is odd before it is saved."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.errors import EntryError, KitError, StoreError
from kit.stability.check import findings_for_date
from kit.stability.plan import limits_in_brief, what_to_type
from kit.stability.schedule import MISSED, REMARK, note_with_schedule, off_schedule
from kit.widgets.html import done, findings_list, problem
from kit.widgets.panel import controls, try_to
from kit.widgets.reading_rows.rows import ReadingRows
from kit.widgets.stability_choice import EVERY, PullChoice
from kit.widgets.stability_words import said_about, saved_words

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from kit.stability.plan import Attribute
    from kit.stability.schedule import Due
    from kit.stability.study import Observation, Study
    from kit.widgets.reading_rows.rows import GroupView, RowView
    from kit.widgets.stability_choice import Bottle
    from kit.widgets.stability_panel import StabilityPanel


class ReadingForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """One row for each bottle and attribute of a pull; what was typed and is not saved stays in its box.

    Each of ``after_save`` is called with the readings that were saved and may return a sentence; ``chosen`` with
    none, when other rows are on show.
    """

    def __init__(self, panel: StabilityPanel) -> None:
        self.panel = panel
        self.choice = PullChoice(self._lay)
        self._today = panel.today()  # what the panel itself put into the box for the day
        self.observed_on = ipw.DatePicker(value=self._today, description="Seen on")
        self.observer = ipw.Text(description="By", placeholder="initials")
        self.note = ipw.Text(description="Note", layout={"width": "420px"})
        self.rows = ReadingRows()
        self.missed = ipw.Button(
            description="Record as missed",
            tooltip="For the bottle above; write the reason into the note first",
            layout={"width": "auto"},
        )
        self.date_findings, self.message = ipw.HTML(), ipw.HTML()
        super().__init__(
            [
                self.choice,
                controls(self.observed_on, self.observer, self.note),
                self.date_findings,
                self.rows,
                self.message,
                controls(self.missed),
            ]
        )
        self.after_save: list[Callable[[list[Observation]], str]] = []
        self.chosen: list[Callable[[], None]] = []
        self._unsaved: dict[str, str] = {}
        self.observed_on.observe(lambda _: self._look_at_date(), names="value")
        self.rows.observe(lambda _: self._tell(), names="texts")
        self.rows.on_save(self.save)
        self.missed.on_click(lambda _: try_to(self.message, self._missed))

    def show(self, study: Study, found: list[Due], now: list[Observation]) -> None:
        """Offer the pulls that can be read, the open ones first."""
        self._follow_today()
        self.choice.show(study, found, now)

    def key(self, bottle: Bottle, attribute: str) -> str:
        """The key of a row, which no other pull, measurement or study has.

        What the browser sends a moment late, after a save has led on to the next pull, then finds no box there.
        """
        study = self._study
        places = (
            study.batches.index(bottle[0]),
            [one.key for one in study.plan.conditions].index(bottle[1]),
            [one.key for one in study.plan.attributes].index(attribute),
            [one.label for one in study.plan.time_points].index(self.choice.label),
            self.choice.measurement.value,
            study.id,
        )
        return ".".join(str(place) for place in places)

    @property
    def day(self) -> date:
        """The day on which it was seen.

        Raises
        ------
        EntryError
            None is chosen, or one that has not come yet.
        """
        found: date | None = self.observed_on.value
        if found is None:
            msg = "Nothing was saved. Choose the day on which it was seen."
            raise EntryError(msg)
        if found > self.panel.today():
            msg = f"Nothing was saved. {found} has not come yet. Check the day on which it was seen."
            raise EntryError(msg)
        return found

    def _follow_today(self) -> str:
        """Where the day is still the one the panel put there and that day is over, put the new one; say so."""
        before, today = self._today, self.panel.today()
        self._today = today
        if self.observed_on.value != before or before == today:
            return ""
        self.observed_on.value = today
        return f"A new day has begun: seen on {today}."

    @property
    def _study(self) -> Study:
        study = self.choice.study
        assert study is not None
        return study

    def _of(self, key: str) -> tuple[Bottle, Attribute]:
        batch, condition, attribute, *_ = (int(one) for one in key.split("."))
        plan = self._study.plan
        return (self._study.batches[batch], plan.conditions[condition].key), plan.attributes[attribute]

    # ---- what is on show ----------------------------------------------------------------------------------

    def _lay(self) -> None:
        """Lay out what this pull still lacks; rows that are unchanged are left alone."""
        study = self.choice.study
        if study is None:
            self.rows.view = {"groups": [], "save": ""}
        else:
            view = {"groups": self._groups(study), "save": "Save these readings"}
            if view != self.rows.view:
                self.rows.view = view
            self._tell()
        self._look_at_date()
        for hear in self.chosen:
            hear()

    def _groups(self, study: Study) -> list[GroupView]:
        bottles = self.choice.bottles()
        groups: list[GroupView] = []
        for bottle in bottles:
            title = f"{bottle[0]} · {study.plan.condition(bottle[1]).label}"
            where = title if len(bottles) > 1 else ""
            rows = [self._row(bottle, attribute, where) for attribute in self.choice.wanted(bottle)]
            if rows:
                groups.append({"title": title, "rows": rows})
        return groups

    def _row(self, bottle: Bottle, attribute: Attribute, where: str) -> RowView:
        before, start = self.choice.earlier(bottle, attribute.key)
        return {
            "key": self.key(bottle, attribute.key),
            "name": f"{attribute.label}, {where}" if where else attribute.label,
            "label": attribute.label,
            "unit": attribute.unit,
            "hint": what_to_type(attribute),
            "how": attribute.how,
            "limits": limits_in_brief(attribute),
            "before": f"{before.value} at {before.time_point}" if before and before is not start else "",
            "start": start.value if start else "",
            "optional": attribute.optional,
        }

    def _tell(self) -> None:
        """Say what is odd about each row on show."""
        if self.choice.study is None:
            return
        told: dict[str, Any] = {}
        for key in self.rows.keys_on_show:
            bottle, attribute = self._of(key)
            _, start = self.choice.earlier(bottle, attribute.key)
            told[key] = said_about(attribute, self.rows.texts.get(key, ""), start.value if start else None)
            if (trouble := self._unsaved.get(key)) and not told[key]["findings"]:
                told[key]["findings"].append({"severity": "stop", "sentence": trouble, "source": ""})
        if told != self.rows.said:
            self.rows.said = told

    def _look_at_date(self) -> None:
        study, day = self.choice.study, self.observed_on.value
        if study is None or day is None:
            self.date_findings.value = "" if study is None else problem("Choose the day on which it was seen.")
            return
        point = study.plan.time_point(self.choice.label)
        found = findings_list(findings_for_date(study, point, day, self.panel.today()))
        off = off_schedule(study, point, day)
        words = f'<div class="sw-subtitle">It will be recorded as {off}; write the reason into the note.</div>'
        self.date_findings.value = found + (words if off and day <= self.panel.today() else "")

    # ---- saving -------------------------------------------------------------------------------------------

    def save(self) -> None:
        """Save each filled row on show; one that cannot be saved stays as typed, with its sentence.

        Where the log itself refuses (another has it locked, the disk is full), the rest is not even tried.
        """
        study = self.choice.study
        if study is None:
            return
        label = self.choice.label
        saved: list[Observation] = []
        self._unsaved = {}
        new_day = self._follow_today()
        try:
            day = self.day
        except EntryError as error:
            self.message.value = problem(str(error))
            return
        note = note_with_schedule(study, label, day, self.note.value.strip())
        for key in self.rows.keys_on_show:
            text = self.rows.texts.get(key, "")
            if not text.strip():
                continue
            (batch, condition), attribute = self._of(key)
            try:
                row = self.panel.logbook.record(
                    study.id, batch, condition, label, attribute.key, text, day,
                    observer=self.observer.value.strip(), note=note, replicate=self.choice.measurement.value,
                )  # fmt: skip
            except KitError as error:
                self._unsaved[key] = str(error)
                if isinstance(error, StoreError):
                    break
            else:
                saved.append(row)
        self._after(study, label, saved, new_day)

    def _after(self, study: Study, label: str, saved: list[Observation], new_day: str) -> None:
        """Say how it went, first of all; then show the log as it is now and go on."""
        bottle, words = self.choice.one_bottle, ["Nothing was typed, so nothing was saved."]
        troubles = list(dict.fromkeys(self._unsaved.values()))
        if saved:
            words = [saved_words(study, label, saved)]
            gone = {self.key((row.batch, row.condition), row.attribute) for row in saved}
            self.rows.texts = {key: text for key, text in self.rows.texts.items() if key not in gone}
            self.note.value = ""
            words += [more for hear in self.after_save if (more := hear(saved))]
            words += [new_day] if new_day else []
            self.panel.message.value = ""
        good = done(" ".join(words)) if saved or not troubles else ""
        self.message.value = good + "".join(problem(trouble) for trouble in troubles)
        if saved:
            self.panel.try_again()
            left = bottle is not None and [one for one in self.choice.unread(bottle, label) if not one.optional]
            if bottle and not troubles and not left and self.choice.look_at.value == EVERY:
                self.choice.go_on()
        self._tell()
        self.rows.focus += 1

    def _missed(self) -> str | None:
        """Record for the bottles in hand that nothing was read, with the reason from the note."""
        study, reason = self.choice.study, self.note.value.strip()
        if study is None:
            return None
        label, places, day = self.choice.label, self.choice.bottles(), self.day
        bottles = [bottle for bottle in places if not self.choice.readings_of(bottle, label)]
        if not reason:
            msg = "Write into the note why it was missed, such as 'workshop closed'."
            raise EntryError(msg)
        if REMARK not in [one.key for one in study.plan.attributes]:
            msg = "The plan of this study has no row for remarks, so the reason cannot be kept with it."
            raise EntryError(msg)
        if not bottles:
            msg = "Something was read of this bottle, so it was not missed."
            raise EntryError(msg)
        by = self.observer.value.strip()
        for batch, condition in bottles:
            text = f"{MISSED}{reason}"
            self.panel.logbook.record(study.id, batch, condition, label, REMARK, text, day, observer=by)
        self.note.value = ""
        self.panel.refresh()
        names = "; ".join(f"{batch}, {study.plan.condition(condition).label}" for batch, condition in bottles)
        return f"Recorded as missed at {label}, with its reason: {names}."
