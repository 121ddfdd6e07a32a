"""The versions of a formula side by side, and where they are: on disk or only in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.formula.compare import compare
from kit.formula.versions import named_versions, version_label
from kit.rounding import percent_text
from kit.widgets.html import heading, problem, sheet, soft
from kit.widgets.on_disk import disk_words
from kit.widgets.panel import Panel, controls, offer
from kit.widgets.views import change_text

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


class VersionsPanel(Panel):
    """Every version that was kept, and what is in hand if it differs; one of them can be taken in hand again."""

    watches = ("formula", "start", "file", "saved")

    def __init__(self, bench: Bench) -> None:
        self.table, self.where, self.message = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.choice = ipw.Dropdown(description="Version", layout={"width": "auto"})
        self.take = ipw.Button(description="Take in hand", layout={"width": "auto"})
        super().__init__(
            bench,
            [
                ipw.HTML(heading("Versions", "% w/w of the whole; a version that was kept never changes")),
                self.table,
                self.where,
                controls(self.choice, self.take),
                self.message,
            ],
        )
        self.take.on_click(lambda _: self._take())

    def refresh(self) -> None:
        """Show the versions of the formula in hand."""
        self.where.value = soft(disk_words(self.bench))
        offer(self.choice, [(version_label(old), old.version) for old in reversed(self.bench.formula.earlier)])
        self.take.disabled = self.choice.value is None
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

    def _take(self) -> None:
        def work() -> str | None:
            if self.choice.value is None:
                return None
            number = self.choice.value
            self.bench.take_version(number)
            return f"Version {number} is in hand now, as it was kept. Undo brings back what was."

        self.act(self.message, work)
