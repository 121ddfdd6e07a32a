"""Print: a batch sheet as one HTML file that stands on its own."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.papers.batch_sheet import BatchSheet, SheetDetails, batch_sheet_html
from kit.saving import save_text
from kit.widgets.bench import file_stem
from kit.widgets.html import heading
from kit.widgets.panel import Panel, controls, try_to

if TYPE_CHECKING:
    from kit.widgets.bench import Bench


class PapersPanel(Panel):
    """Write the batch sheet of the batch in hand."""

    watches = ("formula", "library", "order", "balance", "tolerance", "bottle", "fill")

    def __init__(self, bench: Bench) -> None:
        self.lot = ipw.Text(description="Lot")
        self.made_by = ipw.Text(description="Made by")
        self.made_on = ipw.DatePicker(description="Made on")
        self.write = ipw.Button(description="Write the batch sheet", button_style="primary", layout={"width": "auto"})
        self.message, self.preview = ipw.HTML(), ipw.HTML()
        head = heading("Batch sheet", "one HTML file for the browser's print command; needs no network")
        super().__init__(
            bench,
            [ipw.HTML(head), controls(self.lot, self.made_by, self.made_on, self.write), self.message, self.preview],
        )
        self.write.on_click(lambda _: self._write())

    def refresh(self) -> None:
        """A sheet already shown belongs to an older state of the bench."""
        self.preview.value = ""
        self.message.value = ""

    def sheet(self) -> str:
        """The batch sheet of the batch in hand, as HTML."""
        bench = self.bench
        try:
            standing = bench.standing
        except KitError:
            standing = []
        made_on = self.made_on.value.isoformat() if self.made_on.value else ""
        return batch_sheet_html(
            BatchSheet(
                batch=bench.batch,
                size=bench.batch_size,
                materials=bench.materials,
                findings=[*bench.findings, *bench.batch.findings()],
                standing=standing,
                bottle=bench.bottle,
                fill=bench.fill,
                details=SheetDetails(self.lot.value.strip(), self.made_by.value.strip(), made_on),
            )
        )

    def _write(self) -> None:
        def work() -> str:
            html = self.sheet()
            name = "_".join(
                part
                for part in (
                    "batch_sheet",
                    file_stem(self.bench.formula.title),
                    file_stem(self.lot.value) if self.lot.value.strip() else "",
                )
                if part
            )
            path = Path(f"{name}.html")
            save_text(path, html)
            self.preview.value = (
                f'<iframe title="The batch sheet" srcdoc="{escape(html)}" '
                'style="width:100%;height:640px;border:1px solid var(--sw-rule);background:#fff"></iframe>'
            )
            return f"Wrote {path.name} beside this notebook. Open it in a browser and print."

        try_to(self.message, work)
