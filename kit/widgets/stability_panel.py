"""The stability log: start a study, see what is due, record readings and photos, correct, bring in, write out."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import StoreError
from kit.figures.stability import trend_figure
from kit.stability.log.store import StabilityLog
from kit.stability.schedule import due
from kit.widgets.html import heading, problem
from kit.widgets.panel import PanelLook, controls, live, offer, redraw, try_to
from kit.widgets.stability_forms import CorrectionForm, FilesForm
from kit.widgets.stability_import import ImportForm
from kit.widgets.stability_photo import PhotoForm
from kit.widgets.stability_reading import ReadingForm
from kit.widgets.stability_start import StartForm
from kit.widgets.stability_words import due_table

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    import plotly.graph_objects as go

    from kit.stability.study import Observation, Study

CAUTION = (
    "A pass in this log says only what was seen on that day. How long a product keeps, and a period after "
    "opening, need testing by qualified people."
)


class StabilityPanel(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A log on disk and a hand at the bench.

    Parameters
    ----------
    path
        The log's file, made where there is none, or the address of a shared log. Everything recorded is in it
        before the panel says so.
    formula_title
        Offered as the title of a new study.
    today
        For a lesson about a study of the past; the real day otherwise.
    photos
        The folder of the photos of a shared log, one that all who use it can reach; a file has its own beside it.
    """

    def __init__(
        self,
        path: str | Path = "stability_log.db",
        formula_title: str = "",
        today: Callable[[], date] = date.today,
        photos: str | Path | None = None,
    ) -> None:
        self.logbook = StabilityLog.open(path, photos=photos)
        self.today = today
        self._setting = False
        self._now: list[Observation] = []
        self.message = ipw.HTML()
        self.studies = ipw.Dropdown(description="Study", layout={"width": "480px"})
        self.again = ipw.Button(
            description="Read the log again", tooltip="Where somebody else writes into it too", layout={"width": "auto"}
        )
        self.chooser = controls(self.studies, self.again)
        self.start = StartForm(self, formula_title)
        self.start_box = _folded("Start a new study", self.start)
        self.due = ipw.HTML()
        self.form = ReadingForm(self)
        self.photo = PhotoForm(self)
        self.correction = CorrectionForm(self)
        self.import_form = ImportForm(self)
        self.files = FilesForm(self)
        self.attribute = ipw.Dropdown(description="Trend of")
        self.trend = ipw.VBox([self.attribute])
        self.figure: go.FigureWidget | None = None  # heavy, so made only once there is something to draw
        self.work = ipw.VBox(
            [
                self.due,
                self.form,
                _folded("Photo and colour", self.photo),
                _folded("Correct a reading, or see its history", self.correction),
                self.trend,
                _folded("Calendar, files and papers", self.files),
                _folded("Bring in old notes", self.import_form),
            ]
        )
        head = heading("Stability log", f"kept in {self.logbook.name}; nothing in it is ever overwritten")
        caution = ipw.HTML(f'<div class="sw-subtitle">{CAUTION}</div>')
        super().__init__([ipw.HTML(head), self.chooser, self.message, self.work, self.start_box, caution, PanelLook()])
        self.add_class("shakewell")
        self.add_class("shakewell-panel")
        self.studies.observe(lambda _: self.try_again(), names="value")
        self.again.on_click(lambda _: try_to(self.message, self._read_again))
        self.attribute.observe(lambda _: self.draw(), names="value")
        self.list_studies()

    @property
    def study(self) -> Study | None:
        """The study in hand."""
        return self.logbook.study(self.studies.value) if self.studies.value is not None else None

    def list_studies(self, choose: int | None = None) -> None:
        """Offer the studies of the log, the newest first, and show one."""
        found = self.logbook.studies()
        with self._once():
            offer(self.studies, [(f"{s.title}, started {s.started_on}", s.id) for s in reversed(found)])
            if choose is not None:
                self.studies.value = choose
        self.start_box.selected_index = 0 if not found else None
        self.refresh()

    def _read_again(self) -> None:
        self.logbook.open_again()
        self.list_studies()

    @contextmanager
    def _once(self) -> Iterator[None]:
        """While choices are set by the panel itself, nothing is shown: it is afterwards, once."""
        self._setting = True
        try:
            yield
        finally:
            self._setting = False

    def refresh(self) -> None:
        """Show what is due, the form and the trend of the study in hand."""
        if self._setting:
            return
        study = self.study
        self.work.layout.display = self.chooser.layout.display = "none" if study is None else ""
        if study is None:
            return
        now = self._now = self.logbook.current(study.id)
        found = due(study, now, self.today())
        self.due.value = due_table(study, found)
        self.form.show(study, found, now)
        self.correction.show(study, now)
        self.files.show(study, now)
        self.import_form.show()
        with self._once():
            offer(self.attribute, [(one.title, one.key) for one in study.plan.attributes if one.numeric])
        self.draw()

    def try_again(self) -> None:
        """Show the log as it is now; where it cannot be read, say so."""
        try:
            self.refresh()
        except StoreError as error:
            self.message.value = problem(str(error))

    def draw(self) -> None:
        """Draw the trend of the chosen attribute."""
        study = self.study
        if self._setting or study is None or self.attribute.value is None:
            return
        figure = trend_figure(study, self._now, self.attribute.value)
        if self.figure is None:
            self.figure = live(figure)
            self.trend.children = (self.attribute, self.figure)
            return
        redraw(self.figure, figure)


def _folded(title: str, form: ipw.Widget) -> ipw.Accordion:
    return ipw.Accordion([form], titles=(title,), selected_index=None)
