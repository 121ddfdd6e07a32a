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
from kit.papers.stability_report import stability_report_html
from kit.saving import file_stem, save_text
from kit.stability.grades import grade_summary
from kit.stability.overview import overview
from kit.widgets.panel import controls, offer, try_to
from kit.widgets.study_view import StudyView

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.stability.log.store import StabilityLog

CAUTION = (
    "A pass says only that the newest reading keeps the limits of the plan. How long a product keeps, and a period "
    "after opening, need testing by qualified people; microbes need a laboratory of their own (ISO 11930)."
)


class OverviewPanel(StudyView):
    """A study on one page; choose an attribute to see it in every condition, and write the report.

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
        log: StabilityLog | str | Path = "stability_log.db",
        today: Callable[[], date] = date.today,
        study: int | None = None,
    ) -> None:
        self.summary, self.table, self.to_look_at, self.pulls = ipw.HTML(), ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.attribute = ipw.Dropdown(description="Show")
        self.multiples, self.grades, self.layers, self.colours = ipw.HTML(), ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.write = ipw.Button(
            description="Write the stability report", button_style="primary", layout={"width": "auto"}
        )
        self.told, self.preview, self.anchor = ipw.HTML(), ipw.HTML(), ipw.HTML()
        pictures = [self.attribute, self.multiples, self.grades, self.layers, self.colours]
        caution = ipw.HTML(f'<div class="sw-subtitle">{CAUTION}</div>')
        parts = [self.summary, self.table, self.to_look_at, self.pulls, *pictures, caution]
        self.attribute.observe(lambda _: self.draw(), names="value")
        self.write.on_click(lambda _: self._write())
        super().__init__(
            log,
            today,
            "Overview of a study",
            "every bottle against its limits, as the log stands now",
            [*parts, controls(self.write), self.anchor, self.told, self.preview],
            study,
        )

    def refresh(self) -> None:
        """Judge the study in hand and draw it."""
        study = self.study
        if study is None:
            return
        found = overview(study, self.readings, self.today())
        self.summary.value = f'<div style="font-size:1.08em;margin:4px 0">{escape(found.in_words)}</div>'
        self.table.value = overview_table(found)
        self.to_look_at.value = judgement_list(found)
        self.pulls.value = cycles_table(found) + "<b>Pulls</b>" + pulls_list(found)
        self.layers.value = layers_over_time(study, self.readings)
        read = {row.attribute for row in self.readings}
        colours = [one for one in study.plan.attributes if one.kind == "colour" and one.key in read]
        self.colours.value = "".join(colour_drift(study, self.readings, one.key) for one in colours)
        offer(self.attribute, [(a.title, a.key) for a in study.plan.attributes if a.numeric or a.kind == "colour"])
        self.told.value = self.preview.value = ""
        note = "note it, and python3 -m kit verify can tell later whether anything up to here was changed"
        self.anchor.value = f'<div class="sw-subtitle">Anchor of the log: {self.logbook.anchor} ({note}).</div>'
        self.draw()

    def draw(self) -> None:
        """Draw the chosen attribute condition by condition; a grade is counted too."""
        study, key = self.study, self.attribute.value
        if study is None or key is None:
            return
        self.multiples.value = small_multiples(study, self.readings, key)
        graded = study.plan.attribute(key).kind == "grade"
        self.grades.value = grade_table(study, grade_summary(study, self.readings, key)) if graded else ""

    def report(self) -> str:
        """The stability report of the study in hand, as HTML; "" where there is none."""
        if self.study is None:
            return ""
        log = self.logbook
        return stability_report_html(
            self.study, self.readings, today=self.today(), anchor=log.anchor, faults=log.unsound()
        )

    def _write(self) -> None:
        def work() -> str:
            if self.study is None:
                return ""
            html = self.report()
            path = Path(f"stability_report_{file_stem(self.study.title)}.html")
            save_text(path, html)
            self.preview.value = (
                f'<iframe title="The stability report" srcdoc="{escape(html)}" '
                'style="width:100%;height:640px;border:1px solid var(--sw-rule);background:#fff"></iframe>'
            )
            return f"Wrote {path.name} beside this notebook. Open it in a browser and print."

        try_to(self.told, work)
