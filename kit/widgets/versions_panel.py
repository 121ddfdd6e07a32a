"""The versions of a formula side by side, and where they are: on disk or only in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.formula.compare import compare
from kit.formula.versions import named_versions, version_label
from kit.inputs import Choice, Input
from kit.rounding import percent_text
from kit.widgets.form import Button, Form
from kit.widgets.html import problem, sheet, soft
from kit.widgets.on_disk import disk_words
from kit.widgets.panel import Panel
from kit.widgets.views import change_text

if TYPE_CHECKING:
    from kit.widgets.panel import Source


class VersionsPanel(Panel):
    """Every version that was kept, and what is in hand if it differs; one of them can be taken in hand again."""

    watches = ("formula", "start", "file", "saved")
    title = "Versions"
    subtitle = "% w/w of the whole; a version that was kept never changes"

    def __init__(self, source: Source = None) -> None:
        self.table, self.where = ipw.HTML().add_class("sw-answer"), ipw.HTML().add_class("sw-answer")
        self.form = Form([Input("version", "Version", Choice({}))], [Button("take", "Take in hand", self._take)])
        super().__init__(source, [self.table, self.where, self.form])

    def refresh(self) -> None:
        """Show the versions of the formula in hand."""
        self.where.value = soft(disk_words(self.bench))
        earlier = {old.version: version_label(old) for old in reversed(self.bench.formula.earlier)}
        self.form.offer("version", earlier)
        self.form.enable("take", can=bool(earlier))
        named = named_versions(self.bench.formula)
        lines = compare(list(named.values()))
        if not lines:
            self.table.value = problem("The formula has no lines yet.")
            return
        kinds = {phase.name: phase.kind for version in named.values() for phase in version.phases}
        rows = [
            [
                line.material,
                *(percent_text(percent) or "—" for percent in line.percents),
                change_text(line.percents[-1] or 0.0, line.percents[0] or 0.0),
            ]
            for line in lines
        ]
        self.table.value = sheet(
            ["ingredient", *named, "first to last"],
            rows,
            numbers=range(1, len(named) + 2),
            kinds=[kinds[line.phase] for line in lines],
            caption="; ".join(f"{name}: {v.change_note}" for name, v in named.items() if v.change_note),
        )

    def _take(self) -> str:
        number = self.form["version"]
        self.bench.take_version(number)
        return f"Version {number} is in hand now, as it was kept. Undo brings back what was."
