"""The versions of a formula side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.formula.compare import compare, version_label
from kit.widgets.html import heading, problem, sheet
from kit.widgets.panel import Panel
from kit.widgets.views import change_text, percent_text

if TYPE_CHECKING:
    from kit.formula.model import Formula
    from kit.widgets.bench import Bench


class VersionsPanel(Panel):
    """Earlier versions, the kept one, and what is in hand if it differs."""

    def __init__(self, bench: Bench) -> None:
        self.table = ipw.HTML()
        super().__init__(bench, [ipw.HTML(heading("Versions", "% w/w of the whole")), self.table])

    def refresh(self) -> None:
        """Show the versions of the formula in hand."""
        named = self._named_versions()
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

    def _named_versions(self) -> dict[str, Formula]:
        start, formula = self.bench.start, self.bench.formula
        named = {version_label(version): version for version in (*start.earlier, start)}
        return named if formula.phases == start.phases else {**named, "in hand": formula}
