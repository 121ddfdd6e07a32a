"""What the panels share that look at a study and write nothing into its log."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import StoreError
from kit.stability.log.store import StabilityLog
from kit.widgets.html import heading, problem
from kit.widgets.panel import PanelLook, controls, offer

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date
    from pathlib import Path

    from kit.stability.study import Observation, Study

NO_STUDY = "There is no study in this log yet. Start one in the stability log, then choose “Read the log again”."


class StudyView(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A log, the study chosen in it, and its readings as they were when the log was last read.

    Parameters
    ----------
    log
        An open log, or where one lies.
    today
        For a lesson about a study of the past; the real day otherwise.
    study
        The number of the study to show first; the newest otherwise.
    """

    def __init__(
        self,
        log: StabilityLog | str | Path,
        today: Callable[[], date],
        title: str,
        subtitle: str,
        children: Iterable[ipw.Widget],
        study: int | None = None,
    ) -> None:
        self.logbook = log if isinstance(log, StabilityLog) else StabilityLog.open(log)
        self.today = today
        self.study: Study | None = None
        self.readings: list[Observation] = []
        self.message = ipw.HTML()
        self.studies = ipw.Dropdown(description="Study", layout={"width": "560px", "max_width": "100%"})
        self.again = ipw.Button(description="Read the log again", layout={"width": "auto"})
        self.work = ipw.VBox([*children])
        head = ipw.HTML(heading(title, subtitle))
        super().__init__([head, controls(self.studies, self.again), self.message, self.work, PanelLook()])
        self.add_class("shakewell")
        self.add_class("shakewell-panel")
        self._quiet = False
        self.studies.observe(lambda _: self._try(self.read_again) if not self._quiet else None, names="value")
        self.again.on_click(lambda _: self._try(self._open_again))
        self.list_studies(study)

    def _open_again(self) -> None:
        self.logbook.open_again()
        self.list_studies()

    def _try(self, work: Callable[[], None]) -> None:
        """Do what the hand asks for; where the log cannot be read, say so and leave what is shown."""
        try:
            work()
        except StoreError as error:
            self.message.value = problem(str(error))

    def list_studies(self, choose: int | None = None) -> None:
        """Offer the studies of the log, the newest first, and read the chosen one."""
        found = self.logbook.studies()
        self._quiet = True
        try:
            offer(self.studies, [(f"{s.title}, started {s.started_on}", s.id) for s in reversed(found)])
            if choose is not None:
                self.studies.value = self.logbook.study(choose).id
        finally:
            self._quiet = False
        self.read_again()

    def read_again(self) -> None:
        """Fetch the study in hand from the log, and show it."""
        chosen = self.studies.value
        self.study = self.logbook.study(chosen) if chosen is not None else None
        self.work.layout.display = self.studies.layout.display = "none" if self.study is None else ""
        self.message.value = problem(NO_STUDY) if self.study is None else ""
        self.readings = self.logbook.observations(chosen) if chosen is not None else []
        if self.study is not None:
            self.refresh()

    def refresh(self) -> None:
        """Show the study in hand."""
        raise NotImplementedError
