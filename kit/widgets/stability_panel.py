"""The stability log: start a study, see what is due, record readings, correct one, see the trend."""

from __future__ import annotations

from datetime import date
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.figures.stability import trend_figure
from kit.stability.due import Due, due
from kit.stability.store import StabilityLog
from kit.widgets.html import heading, sheet
from kit.widgets.panel import PanelLook, live, offer, redraw
from kit.widgets.stability_forms import CorrectionForm, ReadingForm, StartForm

if TYPE_CHECKING:
    from collections.abc import Callable

    import plotly.graph_objects as go

    from kit.stability.study import Study

#: How many of the pulls to come are listed below the open ones.
SHOWN_TO_COME = 4

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
        redraw(self.figure, figure)


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
