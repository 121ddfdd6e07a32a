"""The overview of a study: judgements on one page, one attribute condition by condition, colours, the report."""

from __future__ import annotations

from datetime import date
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.figures.colour_drift import colour_drift
from kit.figures.overview_table import cycles_table, grade_table, judgement_list, overview_table, pulls_list
from kit.figures.small_multiples import layers_over_time, small_multiples
from kit.file_names import file_stem
from kit.inputs import Choice, Input
from kit.made_for import own_place
from kit.papers.paper import StudyRecord
from kit.papers.registry import make_paper
from kit.papers.stability_report import StabilityReportOptions
from kit.saving import save_text
from kit.stability.grades import grade_summary
from kit.stability.overview import overview
from kit.widgets.form import Button, Form
from kit.widgets.html import soft
from kit.widgets.study_panel import StudyBench, StudyPanel

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.stability.log.store import StabilityLog


class OverviewPanel(StudyPanel):
    """A study on one page; choose an attribute to see it in every condition, and write the report.

    Parameters
    ----------
    source
        An open log, or where one lies.
    today
        For a lesson about a study of the past; the real day otherwise.
    study
        The number of the study to show first; the newest otherwise.
    """

    title = "Overview of a study"
    subtitle = "every bottle against its limits, as the log stands now"
    foot = (
        "A pass says only that the newest reading keeps the limits of the plan. How long a product keeps, and a period "
        "after opening, need testing by qualified people; microbes need a laboratory of their own (ISO 11930)."
    )

    def __init__(
        self,
        source: StabilityLog | str | Path = "stability_log.db",
        today: Callable[[], date] = date.today,
        study: int | None = None,
    ) -> None:
        self.form = Form([Input("attribute", "Show", Choice({}), None)], on_change=lambda _: self.draw())
        self.report_form = Form([], [Button("write", "Write the stability report", self._write, primary=True)])
        self.summary, self.table, self.to_look_at, self.pulls = ipw.HTML(), ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.multiples, self.grades, self.layers, self.colours = ipw.HTML(), ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.preview, self.anchor = ipw.HTML(), ipw.HTML()
        self.summary.add_class("sw-answer")
        page = [self.summary, self.table, self.to_look_at, self.pulls]
        pictures = [self.form, self.multiples, self.grades, self.layers, self.colours]
        report = [self.report_form, self.anchor, self.preview]
        super().__init__(StudyBench(source, today), [*page, *pictures, *report], study=study)

    def refresh(self) -> None:
        """Judge the study in hand and draw it."""
        hand, study = self.bench.hand, self.study
        if study is None:
            return
        found = overview(study, hand.readings, hand.today)
        self.summary.value = f'<div style="font-size:1.08em;margin:4px 0">{escape(found.in_words)}</div>'
        self.table.value = overview_table(found)
        self.to_look_at.value = judgement_list(found)
        self.pulls.value = cycles_table(found) + "<b>Pulls</b>" + pulls_list(found)
        self.layers.value = layers_over_time(study, hand.readings)
        read = {row.attribute for row in hand.readings}
        colours = [one for one in study.plan.attributes if one.kind == "colour" and one.key in read]
        self.colours.value = "".join(colour_drift(study, hand.readings, one.key) for one in colours)
        shown = [one for one in study.plan.attributes if one.numeric or one.kind == "colour"]
        self.form.offer("attribute", {one.key: one.title for one in shown})
        self.preview.value = ""
        self.report_form.tell("")
        note = "note it, and python3 -m kit verify can tell later whether anything up to here was changed"
        self.anchor.value = soft(f"Anchor of the log: {hand.log.anchor} ({note}).")
        self.draw()

    def draw(self) -> None:
        """Draw the chosen attribute condition by condition; a grade is counted too."""
        study, readings, key = self.study, self.bench.hand.readings, self.form["attribute"]
        if study is None or key is None:
            return
        self.multiples.value = small_multiples(study, readings, key)
        graded = study.plan.attribute(key).kind == "grade"
        self.grades.value = grade_table(study, grade_summary(study, readings, key)) if graded else ""

    def report(self) -> str:
        """The stability report of the study in hand, as HTML; "" where there is none."""
        hand = self.bench.hand
        if hand.study is None:
            return ""
        record = StudyRecord(hand.study, tuple(hand.readings), hand.log.anchor, tuple(hand.log.unsound()))
        return make_paper("stability_report", record, StabilityReportOptions(today=self.bench.today().isoformat())).html

    def _write(self) -> str:
        if self.study is None:
            return ""
        html = self.report()
        place = own_place(self.study.title, Path(f"stability_report_{file_stem(self.study.title)}.html"))
        save_text(place.path, html)
        self.preview.value = (
            f'<iframe title="The stability report" srcdoc="{escape(html)}" '
            'style="width:100%;height:640px;border:1px solid var(--sw-rule);background:#fff"></iframe>'
        )
        return f"Wrote {place.words}. Open it in a browser and print."
