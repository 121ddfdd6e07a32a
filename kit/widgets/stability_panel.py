"""The stability log: start a study, see what is due, record readings, correct one, see the trend."""

from __future__ import annotations

from collections import Counter
from datetime import date
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.figures.stability import trend_figure
from kit.stability.check import findings_for, findings_for_date
from kit.stability.due import Due, due
from kit.stability.plan import plans
from kit.stability.store import StabilityLog
from kit.widgets.html import done, findings_list, heading, problem, sheet
from kit.widgets.panel import PanelLook, controls, live, offer, try_to

if TYPE_CHECKING:
    from collections.abc import Callable

    import plotly.graph_objects as go

    from kit.stability.attribute import Attribute
    from kit.stability.study import Observation, Study

#: How many of the pulls to come are listed below the open ones.
SHOWN_TO_COME = 4
#: The plan offered first.
FIRST_PLAN = "home-twelve-weeks"

CAUTION = (
    "A pass in this log says only what was seen on that day. How long a product keeps, and a period after "
    "opening, need testing by qualified people."
)


class StabilityPanel(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A log on disk and a hand at the bench.

    Parameters
    ----------
    path
        The log's file; made where there is none. Everything recorded is on disk before the panel says so.
    formula_title
        Offered as the title of a new study.
    today
        For a lesson about a study of the past; the real day otherwise.
    """

    def __init__(
        self, path: str | Path = "stability_log.db", formula_title: str = "", today: Callable[[], date] = date.today
    ) -> None:
        self.logbook = StabilityLog.open(path)
        self.today = today
        self.message = ipw.HTML()
        self.studies = ipw.Dropdown(description="Study", layout={"width": "480px"})
        self.start = StartForm(self, formula_title)
        self.start_box = ipw.Accordion([self.start], titles=("Start a new study",))
        self.due = ipw.HTML()
        self.form = ReadingForm(self)
        self.correction = CorrectionForm(self)
        self.correction_box = ipw.Accordion([self.correction], titles=("Correct a reading, or see its history",))
        self.attribute = ipw.Dropdown(description="Trend of")
        self.figure: go.FigureWidget | None = None  # heavy, so made only once there is something to draw
        self.work = ipw.VBox([self.due, self.form, self.correction_box, self.attribute])
        head = heading("Stability log", f"kept in {Path(path).name}; nothing in it is ever overwritten")
        caution = ipw.HTML(f'<div class="sw-subtitle">{CAUTION}</div>')
        super().__init__([ipw.HTML(head), self.studies, self.message, self.work, self.start_box, caution, PanelLook()])
        self.add_class("shakewell")
        self.add_class("shakewell-panel")
        self.studies.observe(lambda _: self.refresh(), names="value")
        self.attribute.observe(lambda _: self.draw(), names="value")
        self.list_studies()

    @property
    def study(self) -> Study | None:
        """The study in hand."""
        return self.logbook.study(self.studies.value) if self.studies.value is not None else None

    def list_studies(self, choose: int | None = None) -> None:
        """Offer the studies of the log, the newest first, and show one."""
        found = self.logbook.studies()
        offer(self.studies, [(f"{s.title}, started {s.started_on}", s.id) for s in reversed(found)])
        if choose is not None:
            self.studies.value = choose
        self.start_box.selected_index = 0 if not found else None
        self.refresh()

    def refresh(self) -> None:
        """Show what is due, the form and the trend of the study in hand."""
        study = self.study
        self.work.layout.display = self.studies.layout.display = "none" if study is None else ""
        if study is None:
            return
        now = self.logbook.current(study.id)
        pulls = due(study, now, self.today())
        self.due.value = due_table(study, pulls)
        self.form.show(study, pulls, now)
        self.correction.show(study, now)
        numeric = [(attribute.title, attribute.key) for attribute in study.plan.attributes if attribute.numeric]
        offer(self.attribute, numeric)
        self.draw()

    def draw(self) -> None:
        """Draw the trend of the chosen attribute."""
        study = self.study
        if study is None or self.attribute.value is None:
            return
        figure = trend_figure(study, self.logbook.current(study.id), self.attribute.value)
        if self.figure is None:
            self.figure = live(figure)
            self.work.children = (*self.work.children, self.figure)
            return
        with self.figure.batch_update():
            self.figure.data = []
            self.figure.add_traces(list(figure.data))
            self.figure.layout = figure.layout


def due_table(study: Study, pulls: list[Due]) -> str:
    """What to look at, as HTML: everything open, and the next few pulls to come."""
    opened = [pull for pull in pulls if pull.state in ("due", "overdue", "partly done")]
    coming = [pull for pull in pulls if pull.state == "to come"][:SHOWN_TO_COME]
    counted = {state: sum(pull.state == state for pull in pulls) for state in ("done", "missed", "to come")}
    rows = [
        [pull.batch, study.plan.condition(pull.condition).label, pull.time_point, str(pull.due_on), pull.words]
        for pull in (*opened, *coming)
    ]
    caption = (
        f"{len(opened)} open; {counted['done']} done, {counted['missed']} missed, {counted['to come']} to come, "
        f"of {len(pulls)} pulls"
    )
    if not rows:
        return f'<div class="sw-subtitle">Nothing is due: {escape(caption)}.</div>'
    return sheet(["batch", "kept in", "pull", "due on", "state"], rows, caption=caption)


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
        if self._place is not None:
            self._typed[self._place] = {key: entry.value for key, entry in self.entries.items()}
        self._place = None
        if study is None or place is None:
            self.rows.children = ()
            self.entries = {}
            return
        read = {o.attribute for o in self._now if (o.batch, o.condition, o.time_point) == place}
        self._place = (study.id, *place)
        kept = self._typed.get(self._place, {})
        self.entries = {}
        rows = []
        for attribute in study.plan.attributes:
            if attribute.key in read:
                continue
            entry = ipw.Text(
                value=kept.get(attribute.key, ""),
                description=attribute.title,
                placeholder=_what_to_type(attribute),
                continuous_update=False,
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
