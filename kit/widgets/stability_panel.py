"""The stability log: start a study, see what is due, record readings and photos, correct, bring in, write out."""

from __future__ import annotations

from collections import Counter
from datetime import date
from html import escape
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.figures.stability import trend_figure
from kit.inputs import Choice, Input
from kit.stability.in_hand import OPEN
from kit.stability.log.network import warning
from kit.widgets.form import Form
from kit.widgets.html import sheet, soft
from kit.widgets.panel import live, redraw
from kit.widgets.stability_correction import CorrectionForm, FilesForm
from kit.widgets.stability_import import ImportForm
from kit.widgets.stability_photo import PhotoForm
from kit.widgets.stability_reading import ReadingForm
from kit.widgets.stability_start import StartForm
from kit.widgets.study_panel import StudyBench, StudyPanel, StudyPart

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from kit.stability.in_hand import StudyInHand
    from kit.stability.log.store import StabilityLog
    from kit.stability.schedule import Due
    from kit.stability.study import Study
    from kit.widgets.bench import Bench
    from kit.widgets.chart import Chart

#: How many of the pulls to come are listed below the open ones.
SHOWN_TO_COME = 2


class StabilityPanel(StudyPanel):
    """A log on disk and a hand at the bench.

    Parameters
    ----------
    source
        An open log, its file, made where there is none, or the address of a shared log. Everything recorded is in it
        before the panel says so.
    formula_title
        Offered as the title of a new study.
    today
        For a lesson about a study of the past; the real day otherwise.
    photos
        The folder of the photos of a shared log, one that all who use it can reach; a file has its own beside it.
    product
        What is in hand: a new study begins with its title, and with layers or in one piece as it is described.
    """

    title = "Stability log"
    foot = (
        "A pass in this log says only what was seen on that day. How long a product keeps, and a period after "
        "opening, need testing by qualified people."
    )

    def __init__(
        self,
        source: StabilityLog | str | Path = "stability_log.db",
        formula_title: str = "",
        today: Callable[[], date] = date.today,
        photos: str | Path | None = None,
        product: Bench | None = None,
    ) -> None:
        bench = StudyBench(source, today, photos)
        self.subtitle = f"kept in {bench.log.name}; nothing in it is ever overwritten"
        if bench.log.network:
            self.subtitle += f". {warning(bench.log.network)}"
        self.start = StartForm(bench, formula_title, self._open_notes)
        if product is not None:
            self.start.begin_with(product.formula)
            product.observe(lambda change: self.start.begin_with(change["new"].formula), names="product")
        self.start_box = _folded("Start a new study", self.start)
        self.due = ipw.HTML().add_class("sw-answer")
        self.reading = ReadingForm(bench)
        self.photo = PhotoForm(bench)
        self.correction = CorrectionForm(bench)
        self.trend = Trend(bench)
        self.files = FilesForm(bench)
        self.notes = ImportForm(bench)
        self.notes_box = _folded("Bring in old notes", self.notes)
        work = [
            self.due,
            self.reading,
            _folded("Photo and colour", self.photo),
            _folded("Correct a reading, or see its history", self.correction),
            self.trend,
            _folded("Calendar, files and papers", self.files),
            self.notes_box,
        ]
        super().__init__(bench, work, [self.start_box])

    def _follow(self, change: Any) -> None:
        super()._follow(change)
        hand: StudyInHand = change["new"]
        if hand.readings is not change["old"].readings:
            self.start_box.selected_index = None if hand.study is not None else 0
            self.chooser.layout.display = self.work.layout.display
            self.nothing.layout.display = "none"

    def _open_notes(self) -> None:
        self.notes_box.selected_index = 0

    def refresh(self) -> None:
        """Show what is due."""
        hand = self.bench.hand
        if hand.study is not None:
            self.due.value = due_table(hand.study, hand.due)


class Trend(StudyPart):
    """One attribute of the study in hand over time, in one figure that follows."""

    def __init__(self, bench: StudyBench) -> None:
        self.form = Form([Input("attribute", "Trend of", Choice({}), None)], on_change=lambda _: self.draw())
        self.figure: Chart | None = None  # heavy, so made only once there is something to draw
        super().__init__(bench, [self.form])

    def show(self, hand: StudyInHand) -> None:
        """Offer what has numbers, and draw what is chosen."""
        assert hand.study is not None
        self.form.offer("attribute", {one.key: one.title for one in hand.study.plan.attributes if one.numeric})
        self.draw()

    def draw(self) -> None:
        """Draw the trend of the chosen attribute."""
        hand = self.bench.hand
        if hand.study is None or self.form["attribute"] is None:
            return
        figure = trend_figure(hand.study, hand.now, self.form["attribute"])
        if self.figure is None:
            self.figure = live(figure)
            self.children = (self.form, self.figure)
        else:
            redraw(self.figure, figure)


def _folded(title: str, form: ipw.Widget) -> ipw.Accordion:
    return ipw.Accordion([form], titles=(title,), selected_index=None)


def due_table(study: Study, found: list[Due]) -> str:
    """What to look at, as HTML: everything open, and the next few pulls to come; bottles of one place in one line."""
    opened = [pull for pull in found if pull.state in OPEN]
    coming = [pull for pull in found if pull.state == "to come"]
    counted = {state: sum(pull.state == state for pull in found) for state in ("done", "missed", "to come")}
    caption = (
        f"{len(opened)} open; {counted['done']} done, {counted['missed']} missed, {counted['to come']} to come, "
        f"of {len(found)} pulls"
    )
    lines = [*_open_lines(study, opened), *_lines_to_come(study, coming)]
    missed = _missed(study, [pull for pull in found if pull.state == "missed"])
    if not lines:
        return soft(f"Nothing is due: {caption}.") + missed
    table = sheet(["pull", "due on", "kept in", "batches", "state"], lines, caption=caption)
    return f'<div class="sw-days">{table}</div>{missed}'


def _missed(study: Study, found: list[Due]) -> str:
    """The missed pulls, counted by time point; which bottles they are, and why, is folded below."""
    if not found:
        return ""
    counted = Counter(pull.time_point for pull in found)
    points = ", ".join(f"{count} {'bottle' if count == 1 else 'bottles'} at {name}" for name, count in counted.items())
    table = sheet(["pull", "due on", "kept in", "batches", "state"], _open_lines(study, found))
    return f'<details class="sw-behind"><summary>Missed: {escape(points)}</summary>{table}</details>'


def _open_lines(study: Study, found: list[Due]) -> list[list[str]]:
    """Bottles of one place that stand alike are one line; of a pull that lacks the same everywhere, all places are."""
    lines: dict[tuple[str, str, str, str], list[str]] = {}
    for pull in found:
        place = study.plan.condition(pull.condition).label
        lines.setdefault((pull.time_point, str(pull.due_on), place, pull.words), []).append(pull.batch)
    alike: dict[tuple[str, ...], list[str]] = {}
    for (point, day, place, words), batches in lines.items():
        apart = "" if words.startswith("partly done") else place
        alike.setdefault((point, day, apart, ", ".join(batches), words), []).append(place)
    every = len(study.plan.conditions)
    return [
        [point, day, "every place" if len(places) == every > 1 else "; ".join(places), batches, words]
        for (point, day, _, batches, words), places in alike.items()
    ]


def _lines_to_come(study: Study, found: list[Due]) -> list[list[str]]:
    """The next pulls, each with the places and batches of its bottles."""
    lines = {}
    for label in list(dict.fromkeys(pull.time_point for pull in found))[:SHOWN_TO_COME]:
        here = [pull for pull in found if pull.time_point == label]
        places = list(dict.fromkeys(study.plan.condition(pull.condition).label for pull in here))
        kept = "every place" if len(places) == len(study.plan.conditions) else "; ".join(places)
        batches = ", ".join(dict.fromkeys(pull.batch for pull in here))
        lines[label] = [label, str(here[0].due_on), kept, batches, here[0].words]
    return list(lines.values())
