"""What the panels of stability share: an open log, the study in hand, and how both are chosen."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw
import traitlets

from kit.inputs import Choice, Input
from kit.stability.in_hand import StudyInHand
from kit.stability.log.store import StabilityLog
from kit.widgets.form import Button, Form
from kit.widgets.html import problem
from kit.widgets.panel import PanelBox

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date
    from pathlib import Path

    from kit.stability.study import Observation, Study

NO_STUDY = "There is no study in this log yet. Start one in the stability log, then choose “Read the log again”."


class StudyBench(traitlets.HasTraits):
    """The study in hand, which every form of a panel shows and any form may change.

    Parameters
    ----------
    source
        An open log, or where one lies: a file, which is made where there is none, or the address of a shared log.
    today
        For a lesson about a study of the past; the real day otherwise.
    photos
        The folder of the photos of a shared log, one that all who use it can reach; a file has its own beside it.

    Attributes
    ----------
    hand
        The study in hand.
    texts
        What stands in the boxes for readings, by the key of their row, also of rows that are not on show.
    told
        What is to be said above everything until the log is read again.
    on_saved
        Called with the readings that were saved; may return a sentence.
    """

    hand = traitlets.Instance(StudyInHand)
    texts: traitlets.Dict[str, str] = traitlets.Dict()

    def __init__(
        self, source: StabilityLog | str | Path, today: Callable[[], date], photos: str | Path | None = None
    ) -> None:
        log = source if isinstance(source, StabilityLog) else StabilityLog.open(source, photos=photos)
        self.today = today
        self.told = ""
        self.on_saved: list[Callable[[list[Observation]], str]] = []
        super().__init__(hand=StudyInHand(log, today()))

    @property
    def log(self) -> StabilityLog:
        """The log."""
        return self.hand.log

    def read(self, study_id: int | None = None, told: str = "") -> None:
        """Fetch the log as it is now, with another study where one is named."""
        found = self.hand.read(self.today(), study_id)
        self.told = told
        self.hand = found

    def choose(self, **chosen: Any) -> None:
        """Take another pull, bottle, attribute or measurement in hand."""
        self.hand = replace(self.hand, **chosen).settled()


class StudyPart(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A part of a panel that shows the study in hand, whenever the log was read."""

    #: Whether it is shown anew, too, where another pull or bottle is taken in hand.
    follows_choice = False

    def __init__(self, bench: StudyBench, children: Iterable[ipw.Widget]) -> None:
        self.bench = bench
        super().__init__([*children])
        bench.observe(self._follow, names="hand")

    def _follow(self, change: Any) -> None:
        read = change["new"].readings is not change["old"].readings
        if change["new"].study is not None and (read or self.follows_choice):
            self.show(change["new"])

    def show(self, hand: StudyInHand) -> None:
        """Show the study in hand."""
        raise NotImplementedError


class StudyPanel(PanelBox):
    """A panel on one study of a log.

    Parameters
    ----------
    work
        What is shown where there is a study.
    beside
        What is shown in any case.
    study
        The number of the study to show first; the newest otherwise.
    """

    def __init__(
        self,
        bench: StudyBench,
        work: Iterable[ipw.Widget],
        beside: Iterable[ipw.Widget] = (),
        study: int | None = None,
    ) -> None:
        self.bench = bench
        again = Button("again", "Read the log again", self._read_again, "Where somebody else writes into it too")
        self.chooser = Form(
            [Input("study", "Study", Choice({}), None)], [again], on_change=self._choose, wide=("study",)
        )
        self.nothing = ipw.HTML(problem(NO_STUDY))
        self.work = ipw.VBox([*work])
        super().__init__([self.chooser, self.nothing, self.work, *beside])
        bench.observe(self._follow, names="hand")
        bench.read(study)

    @property
    def study(self) -> Study | None:
        """The study in hand."""
        return self.bench.hand.study

    def _choose(self, _names: tuple[str, ...]) -> None:
        try:
            self.bench.read(self.chooser["study"])
        finally:
            self.chooser.set(study=self.study.id if self.study is not None else None)

    def _read_again(self) -> None:
        self.bench.log.open_again()
        self.bench.read()

    def _follow(self, change: Any) -> None:
        hand: StudyInHand = change["new"]
        if hand.readings is change["old"].readings:
            return
        there = hand.study is not None
        self.work.layout.display = "" if there else "none"
        self.nothing.layout.display = "none" if there else ""
        self.chooser.show(*(("study", "again") if there else ("again",)))
        offered = {one.id: f"{one.title}, started {one.started_on}" for one in reversed(hand.studies)}
        self.chooser.offer("study", offered)
        self.chooser.set(study=hand.study.id if hand.study is not None else None)
        self.chooser.tell(self.bench.told)
        if there:
            self.refresh()

    def refresh(self) -> None:
        """Show the study in hand."""
