"""The line at the head of a product's notebook: what is saved, what is not, and what stands open."""

from __future__ import annotations

from datetime import date
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import KitError
from kit.formula.amounts import TOTAL_TOLERANCE
from kit.formula.ph_windows import TO_MEASURE
from kit.product_folder import LOG
from kit.stability.in_hand import OPEN
from kit.stability.log.store import StabilityLog
from kit.stability.schedule import due
from kit.widgets.form import Button, Form
from kit.widgets.html import SIGNS
from kit.widgets.on_disk import disk_words, unsaved_words
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.widgets.panel import Source


class StatusPanel(Panel):
    """What is saved and what stands open, at the head of a notebook.

    Parameters
    ----------
    log
        The stability log whose readings that are due are counted, if it is there.
    today
        For a lesson about a product of the past; the real day otherwise.
    """

    watches = ("formula", "library", "jurisdiction", "on", "ph", "file", "saved")

    def __init__(self, source: Source = None, log: str | Path = LOG, today: Callable[[], date] = date.today) -> None:
        self.log_file, self.today = Path(log), today
        #: The log as it was when its pulls were counted, and what was said then.
        self._counted: tuple[object, str] = (None, "")
        self.line, self.beside = ipw.HTML().add_class("sw-answer"), ipw.HTML().add_class("sw-answer")
        self.form = Form(
            [],
            [
                Button("save", "Save", self._save, "Save the formula to its file", primary=True),
                Button("undo", "Undo", lambda: self._step(-1), "Go one step back"),
                Button("redo", "Redo", lambda: self._step(1), "Take the last undo back"),
            ],
        )
        self.choice = Form(
            [],
            [
                Button("take", "Take it up", self._take_up, "It comes in hand; undo brings back what is there now"),
                Button("aside", "Put it aside", self._put_aside, "It goes to the earlier saves of the file"),
            ],
        )
        super().__init__(source, [self.line, self.beside, self.choice, self.form])
        self._tell()
        if self.bench.session is not None:
            self.bench.session.observe(self._tell)

    def refresh(self) -> None:
        """Say it as it is now."""
        bench = self.bench
        parts = [_total(bench.formula.total, has_lines=any(phase.lines for phase in bench.formula.phases))]
        findings = bench.product.findings
        for severity, one, many in (("stop", "stop", "stops"), ("caution", "caution", "cautions")):
            count = sum(finding.severity == severity and not finding.answer for finding in findings)
            parts.append(f"{SIGNS[severity]} {count} {one if count == 1 else many}")
        parts += ["the pH is to be measured" for finding in findings if finding.matter == TO_MEASURE]
        parts += self._due()
        said = disk_words(bench)
        if bench.saved not in (None, bench.formula):
            said += f" {unsaved_words(bench)}"
        self.line.value = (
            f'<div class="sw-status"><b>{escape(bench.formula.title)}</b> · {escape(said)}</div>'
            f'<div class="sw-status">{" · ".join(escape(part) for part in parts)}</div>'
        )
        saved = bench.saved is not None and bench.saved == bench.formula
        self.form.call("save", "Save", primary=not saved)
        self.form.enable("save", can=not saved)
        for name, words, step in (("undo", "Undo", bench.undoes), ("redo", "Redo", bench.redoes)):
            self.form.call(name, f"{words}: {step}" if step else words)
        self.form.enable("undo", can=bench.can_undo)
        self.form.enable("redo", can=bench.can_redo)

    def _tell(self, _change: object = None) -> None:
        """Say what is beside the formula on the disk: unsaved work, other notebooks, and why a draft cannot be kept.

        It comes from the session's own thread too, so it touches nothing that a refresh does.
        """
        session = self.bench.session
        offer = session.offer() if session is not None else ""
        said = [("caution", offer), ("caution", session.others), ("stop", session.trouble)] if session else []
        self.beside.value = "".join(
            f'<div class="sw-finding" data-severity="{severity}">{SIGNS[severity]} {escape(sentence)}</div>'
            for severity, sentence in said
            if sentence
        )
        self.choice.show(*(("take", "aside") if offer else ()))

    def _step(self, way: int) -> None:
        (self.bench.undo if way < 0 else self.bench.redo)()

    def _take_up(self) -> str:
        return self.bench.session.take_up() if self.bench.session else ""

    def _put_aside(self) -> str:
        return self.bench.session.put_aside() if self.bench.session else ""

    def _due(self) -> list[str]:
        """How many pulls are due, where there is a log; it is read again where its file or the day has changed."""
        if not self.log_file.is_file():
            return []
        as_it_is = (self.log_file.stat().st_mtime_ns, self.log_file.stat().st_size, self.today())
        if as_it_is != self._counted[0]:
            try:
                log = StabilityLog.open(self.log_file)
                pulls = [
                    pull
                    for study in log.studies()
                    for pull in due(study, log.observations(study.id), self.today())
                    if pull.state in OPEN
                ]
                said = f"{len(pulls)} {'pull' if len(pulls) == 1 else 'pulls'} of the stability log to read"
            except KitError as error:
                said = str(error)
            self._counted = as_it_is, said
        return [self._counted[1]]

    def _save(self) -> str:
        notes = self.bench.save()
        assert self.bench.file is not None
        return " ".join([f"Saved {self.bench.file.name}.", *(note.sentence for note in notes)])


def _total(total: float, *, has_lines: bool) -> str:
    if not has_lines:
        return "no line yet"
    if abs(total - 100) <= TOTAL_TOLERANCE:
        return "adds to 100 %"
    return f"adds to {total:.6g} %, not 100 %"
