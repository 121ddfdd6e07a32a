"""Where a trial is typed: the stopwatch, a height for each of its marks, and a form that shows all of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.findings import Finding
from kit.in_use.parting_trial import SEEN_WORDS, Reading, Trial
from kit.inputs import Number, inputs_of
from kit.widgets.form import Button, Form
from kit.widgets.reading_rows.rows import ReadingRows
from kit.widgets.stopwatch import Stopwatch
from kit.widgets.views import finding_view

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from kit.widgets.reading_rows.rows import RowView, Said

_HEIGHT = Number(0, 10_000)
#: What belongs to one trial alone; the rest stays in the boxes for the next.
OF_ONE_TRIAL = ("readings", "parted", "watched", "mix", "line", "note")


class TrialEntry(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """One trial as it is timed and typed.

    The watch and the heights fill the form, which is all that counts: a trial from a notebook of paper is typed there.

    Parameters
    ----------
    keep
        Called with a trial that is to be kept; gives what to say.
    """

    def __init__(self, keep: Callable[[Trial], str]) -> None:
        self._write = keep
        self.watch, self.rows = Stopwatch(), ReadingRows()
        self.rows.view = {"groups": [], "save": ""}
        self.form = Form(
            Trial,
            [
                Button("keep", "Keep this trial", self._keep, primary=True),
                Button("empty", "Empty the boxes", self._empty, "What belongs to one trial; the rest stays"),
            ],
            on_change=lambda names: self._hear(names) if "seen" in names else None,
            wide=("note",),
        )
        super().__init__([self.watch, self.rows, self.form])
        self.watch.observe(self._hear, names=["marks", "stopped", "ending"])
        self.rows.observe(self._hear, names=["texts"])

    # ---- what stands in it ------------------------------------------------------------------------------

    def trial(self) -> Trial:
        """The trial in the boxes.

        Raises
        ------
        KitError
            Something cannot be read, or cannot have been seen.
        """
        wrong = [f"the height at {mark:g} s" for mark, height in self._heights() if isinstance(height, KitError)]
        if wrong:
            msg = f"{', '.join(wrong)} cannot be read. Mend it in its box; nothing was kept."
            raise EntryError(msg)
        return Trial(**self.form.read())

    def show(self, trial: Trial) -> None:
        """Show a trial in the boxes, to be corrected."""
        self.watch.clear()
        self.form.set(**{one.name: getattr(trial, one.name) for one in inputs_of(Trial)})

    def offer(self, variants: Iterable[str]) -> None:
        """Offer these names of variants."""
        self.form.offer("variant", list(variants))

    def empty(self) -> None:
        """Put away what belongs to one trial alone."""
        self.watch.clear()
        self.rows.texts = {}
        self.form.clear(*OF_ONE_TRIAL, "day")

    # ---- hearing ----------------------------------------------------------------------------------------

    def _hear(self, _change: object) -> None:
        """Lay a row for each mark, and put into the form what watch and heights say."""
        marks, ending, stopped = self.watch.marks, self.watch.ending, self.watch.stopped
        rows = [_row(mark, SEEN_WORDS[self.form["seen"]]) for mark in marks]
        title = "Height of the clear layer at each mark"
        self.rows.view = {"groups": [{"title": title, "rows": rows}] if rows else [], "save": ""}
        heights = list(self._heights())
        self.rows.said = {
            _key(mark): _said(height) for mark, height in heights if isinstance(height, KitError)
        }  # fmt: skip
        read = tuple(Reading(mark, height) for mark, height in heights if isinstance(height, float))
        if read:
            self.form.set(readings=read)
        if ending:
            self.form.set(
                parted=stopped if ending == "parted" else None, watched=stopped if ending == "watched" else None
            )

    def _heights(self) -> list[tuple[float, float | KitError | None]]:
        """Each mark with the height typed for it: None while there is none, the error where it cannot be read."""
        found: list[tuple[float, float | KitError | None]] = []
        for mark in self.watch.marks:
            text = self.rows.texts.get(_key(mark), "").strip().removesuffix("mm").rstrip()
            try:
                found.append((mark, _HEIGHT.read(text) if text else None))
            except KitError as error:
                found.append((mark, error))
        return found

    def _keep(self) -> str:
        trial = self.trial()
        left = sum(height is None for _, height in self._heights())
        said = self._write(trial)
        self.empty()
        return f"{said} {left} mark{'s' if left != 1 else ''} without a height left out." if left else said

    def _empty(self) -> str:
        self.empty()
        return "The boxes are ready for the next trial."


def _key(mark: float) -> str:
    return f"{mark:.1f}"


def _row(mark: float, layer: str) -> RowView:
    return {
        "key": _key(mark), "name": f"height at {mark:g} s", "label": f"at {mark:g} s", "unit": "mm", "hint": "",
        "how": "", "limits": layer, "before": "", "start": "", "optional": True,
    }  # fmt: skip


def _said(error: KitError) -> Said:
    return {"words": "", "findings": [finding_view(Finding("stop", str(error)))]}
