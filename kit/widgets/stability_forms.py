"""The forms of the stability log: start a study, record the readings of a pull, correct a reading."""

from __future__ import annotations

from collections import Counter
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.stability.check import findings_for, findings_for_date
from kit.stability.plan import plans
from kit.widgets.html import done, findings_list, problem, sheet
from kit.widgets.panel import controls, offer, try_to

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.stability.attribute import Attribute
    from kit.stability.due import Due
    from kit.stability.study import Observation, Study
    from kit.widgets.stability_panel import StabilityPanel

#: The plan offered first.
FIRST_PLAN = "home-twelve-weeks"


class StartForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Start a study from a ready plan."""

    def __init__(self, panel: StabilityPanel, formula_title: str) -> None:
        self.panel = panel
        ready = sorted(plans().values(), key=lambda plan: plan.key != FIRST_PLAN)
        self.plan = ipw.Dropdown(options=[(plan.title, plan.key) for plan in ready], description="Plan")
        self.title = ipw.Text(value=formula_title, description="Title", placeholder="what is studied")
        self.formula_title = formula_title
        self.batches = ipw.Text(description="Batches", placeholder="TL-01, TL-02")
        self.started_on = ipw.DatePicker(value=panel.today(), description="Started on")
        self.start = ipw.Button(description="Start this study", button_style="primary", layout={"width": "auto"})
        self.about, self.message = ipw.HTML(), ipw.HTML()
        super().__init__(
            [
                controls(self.plan, self.title, self.batches, self.started_on, self.start),
                self.message,
                self.about,
            ]
        )
        self.plan.observe(lambda _: self._tell(), names="value")
        self.start.on_click(lambda _: self._start())
        self._tell()

    def _tell(self) -> None:
        plan = plans()[self.plan.value]
        places = "; ".join(condition.label for condition in plan.conditions)
        points = ", ".join(point.label for point in plan.time_points)
        self.about.value = (
            f'<div class="sw-subtitle">{escape(plan.about)} Kept in: {escape(places)}. Looked at: {escape(points)}. '
            f"{escape(plan.source)}.</div>"
        )

    def _start(self) -> None:
        def work() -> None:
            batches = [name.strip() for name in self.batches.value.split(",") if name.strip()]
            begun = self.panel.logbook.start_study(
                self.title.value.strip(),
                self.plan.value,
                batches,
                self.started_on.value or self.panel.today(),
                self.formula_title,
            )
            self.panel.list_studies(choose=begun.id)
            first = begun.due_on(begun.plan.time_points[0])
            self.panel.message.value = done(f"Started {begun.title}. The first pull is due on {first}.")

        try_to(self.message, work)


class ReadingForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """One row per attribute of a pull; Enter moves on, and what is odd is said before it is saved."""

    def __init__(self, panel: StabilityPanel) -> None:
        self.panel = panel
        self.pull = ipw.Dropdown(description="Pull", layout={"width": "480px"})
        self.rows = ipw.VBox()
        self.entries: dict[str, ipw.Text] = {}
        self.observed_on = ipw.DatePicker(value=panel.today(), description="Seen on")
        self.observer = ipw.Text(description="By", placeholder="initials")
        self.note = ipw.Text(description="Note", layout={"width": "420px"})
        self.save = ipw.Button(description="Save these readings", button_style="primary", layout={"width": "auto"})
        self.date_findings, self.message = ipw.HTML(), ipw.HTML()
        super().__init__(
            [
                self.pull,
                self.rows,
                controls(self.observed_on, self.observer, self.note, self.save),
                self.date_findings,
                self.message,
            ]
        )
        self._study: Study | None = None
        self._now: list[Observation] = []
        self._place: tuple[int, str, str, str] | None = None
        self._typed: dict[tuple[int, str, str, str], dict[str, str]] = {}
        self.pull.observe(lambda _: self._lay_rows(), names="value")
        self.observed_on.observe(lambda _: self._look_at_date(), names="value")
        self.save.on_click(lambda _: self._save())

    def show(self, study: Study, pulls: list[Due], now: list[Observation]) -> None:
        """Offer the pulls that can be read, the open ones first."""
        self._study, self._now = study, now
        order = {"overdue": 0, "due": 1, "partly done": 2, "to come": 3, "missed": 4, "done": 5}
        read = Counter((o.batch, o.condition, o.time_point) for o in now)
        unread = [p for p in pulls if read[p.batch, p.condition, p.time_point] < len(study.plan.attributes)]
        offered = sorted(unread, key=lambda pull: order[pull.state])
        words = "{0.batch} · {1} · {0.time_point} ({0.state})"
        offer(
            self.pull,
            [
                (
                    words.format(pull, study.plan.condition(pull.condition).label),
                    (pull.batch, pull.condition, pull.time_point),
                )
                for pull in offered
            ],
        )
        self._lay_rows()

    def _lay_rows(self) -> None:
        """Lay out the attributes that this pull still lacks; what is typed and not saved comes back with its pull."""
        study, place = self._study, self.pull.value
        was = self._place
        if was is not None:
            self._typed[was] = {key: entry.value for key, entry in self.entries.items()}
        self._place = None
        if study is None or place is None:
            self.rows.children = ()
            self.entries = {}
            return
        read = {o.attribute for o in self._now if (o.batch, o.condition, o.time_point) == place}
        unread = [attribute for attribute in study.plan.attributes if attribute.key not in read]
        stays, self._place = (study.id, *place) == was, (study.id, *place)
        if stays and list(self.entries) == [attribute.key for attribute in unread]:
            return  # a box in which someone types is not taken away
        kept = self._typed.get(self._place, {})
        self.entries = {}
        rows = []
        for attribute in unread:
            entry = ipw.Text(
                value=kept.get(attribute.key, ""),
                description=attribute.title,
                placeholder=_what_to_type(attribute),
                style={"description_width": "190px"},
                layout={"width": "480px"},
            )
            told = ipw.HTML(self._told(attribute, entry.value))
            entry.observe(self._teller(attribute, told), names="value")
            self.entries[attribute.key] = entry
            rows.append(controls(entry, told))
        self.rows.children = tuple(rows)
        self._look_at_date()

    def _teller(self, attribute: Attribute, told: ipw.HTML) -> Callable[[dict[str, str]], None]:
        def tell(change: dict[str, str]) -> None:
            told.value = self._told(attribute, change["new"])

        return tell

    def _told(self, attribute: Attribute, value: str) -> str:
        """What was read before, and what is odd about the value now."""
        before = self._before(attribute.key)
        words = f"{before[-1].value} at {before[-1].time_point}" if before else "nothing before"
        said = f'<span class="sw-subtitle" title="{escape(attribute.how)}">{escape(words)}</span>'
        start = before[0].value if before and before[0].time_point == self._first_point() else None
        return said + (findings_list(findings_for(attribute, value, start)) if value.strip() else "")

    def _first_point(self) -> str:
        assert self._study is not None
        return self._study.plan.time_points[0].label

    def _before(self, key: str) -> list[Observation]:
        """Earlier readings of the same bottle and attribute, oldest first."""
        study, place = self._study, self.pull.value
        if study is None or place is None:
            return []
        days = {point.label: point.days for point in study.plan.time_points}
        rows = [
            o
            for o in self._now
            if (o.batch, o.condition, o.attribute) == (*place[:2], key) and days[o.time_point] < days[place[2]]
        ]
        return sorted(rows, key=lambda o: days[o.time_point])

    def _look_at_date(self) -> None:
        if self._study is None or self.pull.value is None or self.observed_on.value is None:
            self.date_findings.value = ""
            return
        point = self._study.plan.time_point(self.pull.value[2])
        found = findings_for_date(self._study, point, self.observed_on.value, self.panel.today())
        self.date_findings.value = findings_list(found)

    def _save(self) -> None:
        """Save each filled row; a row that cannot be saved stays as typed, with its sentence."""
        study, place = self._study, self.pull.value
        if study is None or place is None:
            return
        saved, troubles = [], []
        for key, entry in list(self.entries.items()):
            if not entry.value.strip():
                continue
            try:
                batch, condition, point = place
                self.panel.logbook.record(
                    study.id,
                    batch,
                    condition,
                    point,
                    key,
                    entry.value,
                    self.observed_on.value or self.panel.today(),
                    observer=self.observer.value.strip(),
                    note=self.note.value.strip(),
                )
                saved.append(study.plan.attribute(key).label)
            except KitError as error:
                troubles.append(str(error))
        if saved:
            self.note.value = ""
            self.panel.refresh()
        where = f"{place[0]}, {study.plan.condition(place[1]).label}, {place[2]}"
        words = f"Saved for {where}: {', '.join(saved)}." if saved else "Nothing was typed, so nothing was saved."
        good = done(words) if saved or not troubles else ""
        self.message.value = good + "".join(problem(trouble) for trouble in troubles)


class CorrectionForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A correction is a new row with a reason; the old one stays and can be seen."""

    def __init__(self, panel: StabilityPanel) -> None:
        self.panel = panel
        self.reading = ipw.Dropdown(description="Reading", layout={"width": "620px"})
        self.history = ipw.HTML()
        self.value_box = ipw.Text(description="Right value")
        self.reason = ipw.Text(description="Reason", placeholder="two digits swapped", layout={"width": "420px"})
        self.save = ipw.Button(description="Save the correction", layout={"width": "auto"})
        self.message = ipw.HTML()
        super().__init__([self.reading, self.history, controls(self.value_box, self.reason, self.save), self.message])
        self.reading.observe(lambda _: self._tell(), names="value")
        self.save.on_click(lambda _: self._save())

    def show(self, study: Study, now: list[Observation]) -> None:
        """Offer the readings that count, the newest first."""
        offer(self.reading, [(f"{study.words(o.cell)}: {o.value}", o.id) for o in reversed(now)])
        self._tell()

    def _tell(self) -> None:
        if self.reading.value is None:
            self.history.value = ""
            return
        rows = [
            [o.value, str(o.observed_on), o.observer, o.reason or "first reading", o.note, o.recorded_at]
            for o in self.panel.logbook.history(self.reading.value)
        ]
        self.history.value = sheet(["value", "seen on", "by", "why", "note", "saved (UTC)"], rows)

    def _save(self) -> None:
        def work() -> str:
            if self.reading.value is None:
                return "There is no reading to correct yet."
            who = self.panel.form.observer.value.strip()
            new = self.panel.logbook.correct(self.reading.value, self.value_box.value, self.reason.value, observer=who)
            self.value_box.value = self.reason.value = ""
            self.panel.refresh()
            self.reading.value = new.id
            return "Saved. The old value stays in the history."

        try_to(self.message, work)


def _what_to_type(attribute: Attribute) -> str:
    if attribute.kind == "grade":
        return ", ".join(f"{n} {words.split(':')[0]}" for n, words in enumerate(attribute.scale))
    return {"yes/no": "yes or no", "text": "a few words"}.get(attribute.kind, attribute.unit or "a number")
