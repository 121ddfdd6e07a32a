"""What actually went in: type each weighing as it is made, and see what the batch really is."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.actual import ActualBatch, actual, correction, partial_correction
from kit.bench.balance import TOLERANCE
from kit.errors import EntryError, KitError
from kit.inputs import Input
from kit.numbers import read_number, split_number
from kit.rounding import decimal_places, percent_text
from kit.units import magnitude
from kit.widgets.form import Button, Form
from kit.widgets.html import done, findings_list, problem, sheet, soft
from kit.widgets.on_disk import kept_words
from kit.widgets.panel import Panel
from kit.widgets.reading_rows.rows import ReadingRows
from kit.widgets.views import finding_view

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.actual import ActualLine
    from kit.bench.weighing import Batch, Weighing
    from kit.widgets.panel import Source
    from kit.widgets.reading_rows.rows import RowView, Said

ONLY_ADDITIONS = (
    "Nothing can be taken out, so only additions help. Whether one may go in this late (heat, pH, preservative) is for "
    "you to judge."
)


class ActualWeightsPanel(Panel):
    """Weighings in, real percents and corrections out.

    What is typed is kept for each line by its phase and material, also while the line is away or the batch
    changes its size, and nothing the panel does ever rewrites it.
    """

    watches = ("formula", "library", "jurisdiction", "order", "balance", "tolerance")
    title = "What went in"
    subtitle = "type each mass as it stands on the balance; an empty box counts as planned"

    def __init__(self, source: Source = None) -> None:
        self.form = Form([TOLERANCE], on_change=self._set)
        self.rows = ReadingRows()
        self.total, self.findings, self.advice = (ipw.HTML().add_class("sw-answer") for _ in range(3))
        take = Button("take", "Keep these percents as a version", self._take)
        clear = Button("clear", "Start a new sheet", self._start_anew)
        self.keep = Form([Input("note", "Note", default="as weighed")], [take, clear])
        self.real: ActualBatch | None = None
        super().__init__(source, [self.form, self.rows, self.total, self.findings, self.advice, self.keep])
        self.rows.observe(self._changed, names="texts")

    # ---- showing ----------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the batch in hand, with what was typed for it."""
        self.form.follow(tolerance=self.bench.tolerance)
        try:
            batch = self.bench.product.batch
        except KitError as error:
            self.rows.view = {"groups": [], "save": ""}
            self._show_nothing(str(error))
            return
        keys = row_keys(batch)
        self._lay_rows(batch, keys)
        self._show(batch, keys)

    def _show_nothing(self, sentence: str) -> None:
        self.real = None
        self.keep.enable("take", can=False)
        self.total.value, self.findings.value, self.advice.value = problem(sentence), "", ""

    def _lay_rows(self, batch: Batch, keys: list[str]) -> None:
        """One row for each weighing, below the name of its phase."""
        groups = [
            {"title": batch.formula.phases[phase].name, "rows": [_row(key, w) for key, w in lines]}
            for phase, lines in groupby(zip(keys, batch.weighings, strict=True), lambda pair: pair[1].phase)
        ]
        self.rows.view = {"groups": groups, "save": ""}

    def _show(self, batch: Batch, keys: list[str]) -> None:
        weighed, troubles = self._read(keys, batch.weighings)
        tolerance = self.bench.tolerance
        try:
            self.real = actual(batch, weighed)
            findings = self.real.check(self.bench.product.materials, self.bench.product.limits, tolerance)
        except KitError as error:
            self._show_nothing(str(error))
            return
        self.keep.enable("take", can=not troubles)
        findings = [finding for finding in findings if finding.severity != "note"]
        said: dict[str, Said] = {}
        for key, line in zip(keys, self.real.lines, strict=True):
            beside = [finding_view(f) for f in findings if (f.place.phase, f.place.line) == (line.phase, line.line)]
            said[key] = {"words": line_said(line), "findings": beside}
        self.rows.said = {**said, **troubles}
        placed = {(line.phase, line.line) for line in self.real.lines}
        self.findings.value = findings_list(f for f in findings if (f.place.phase, f.place.line) not in placed)
        waiting = sum(not line.is_weighed for line in self.real.lines)
        so_far = f"; {waiting} still to weigh, counted as planned" if waiting else ""
        off = len(self.real.outside(tolerance))
        told = f"{off} outside" if off else "none outside"
        planned = sum(weighing.target for weighing in batch.weighings)
        self.total.value = soft(
            f"{self.real.mass:.6g} g in the vessel of {planned:.10g} g in all{so_far}; {told} {tolerance:g} %."
        )
        self.advice.value = advice(self.real, weighed, tolerance)

    def _read(self, keys: list[str], weighings: Sequence[Weighing]) -> tuple[list[float | None], dict[str, Said]]:
        """What was typed as grams, and what is wrong with each entry that cannot be read."""
        weighed: list[float | None] = []
        troubles: dict[str, Said] = {}
        for key, weighing in zip(keys, weighings, strict=True):
            text = self.rows.texts.get(key, "")
            try:
                weighed.append(read_mass(text, weighing.material) if text.strip() else None)
            except KitError as error:
                weighed.append(None)
                wrong = {"severity": "stop", "sentence": str(error), "source": ""}
                troubles[key] = {"words": "", "findings": [wrong]}  # type: ignore[list-item]
        return weighed, troubles

    # ---- hearing ----------------------------------------------------------------------------------------

    def _set(self, _names: tuple[str, ...]) -> None:
        self.bench.tolerance = self.form["tolerance"]

    def _take(self) -> str:
        assert self.real is not None
        if not self.real.is_finished:
            waiting = ", ".join(line.material for line in self.real.lines if not line.is_weighed)
            msg = f"Weigh the rest first: {waiting}."
            raise EntryError(msg)
        self.bench.change(self.real.formula)
        kept = self.bench.keep(self.keep["note"])
        return (
            f"Version {kept.version} holds the percents that really went in. {kept_words(self.bench, kept)} "
            "Undo goes back to the plan."
        )

    def _start_anew(self) -> str:
        self.rows.texts = {}
        return "The sheet is empty again; the formula was not touched."


def _row(key: str, weighing: Weighing) -> RowView:
    label = f"{weighing.material}: {weighing.text}\N{NO-BREAK SPACE}g"
    paper = f"{percent_text(weighing.percent)} % on paper"
    return {
        "key": key, "name": label, "label": label, "unit": "", "hint": "still to weigh, g", "how": "", "limits": paper,
        "before": "", "start": "", "optional": False,
    }  # fmt: skip


def row_keys(batch: Batch) -> list[str]:
    """A key for each weighing that survives a change of size or order: phase, material, and which of the same."""
    seen: dict[tuple[str, str], int] = {}
    keys = []
    for weighing in batch.weighings:
        place = (batch.formula.phases[weighing.phase].name, weighing.material)
        keys.append("\n".join((*place, str(seen.get(place, 0)))))
        seen[place] = seen.get(place, 0) + 1
    return keys


def read_mass(text: str, material: str) -> float:
    """A mass as it is typed beside a line: a bare number is in g here, as the column says; "0,25 kg" works too. [g]

    Raises
    ------
    KitError
        It is not a mass, or is below 0 g.

    Examples
    --------
    >>> read_mass("12,5", "Glycerin"), read_mass("0.25 kg", "Aqua")
    (12.5, 250.0)
    """
    number, unit = split_number(text)
    grams = magnitude(text, "g", name=material) if unit else read_number(text)
    if number < 0:
        msg = f"{material}: {text.strip()} is below zero. Tare the balance and weigh again."
        raise EntryError(msg)
    return grams


def line_said(line: ActualLine) -> str:
    """What a line really is; where it is still to come, what it is as the batch stands."""
    paper, now = percent_text(line.percent_planned), percent_text(line.percent)
    if not line.is_weighed:
        return "" if now == paper else f"as it stands {now} %"
    return f"{now} % ({paper} % on paper) · {line.off_grams:+.3g} g · {line.off:+.2g} % of it"


def advice(real: ActualBatch, weighed: Sequence[float | None], tolerance: float) -> str:
    """Whether to correct, by how much of what, and what it costs."""
    if not any(line.is_weighed for line in real.lines):
        return soft("Nothing has been typed yet.")
    if not real.outside(tolerance):
        return done(f"Every line is within {tolerance:g} % of its percent: nothing needs to be added.")
    try:
        partial, full = partial_correction(real.batch, weighed, tolerance), correction(real.batch, weighed)
    except KitError as error:
        return problem(str(error))
    step = real.batch.step
    some, all_of = ({(a.phase, a.line): a.grams for a in c.additions} for c in (partial, full))
    rows = [
        [line.material, _grams(some.get(place, 0.0), step), _grams(all_of.get(place, 0.0), step)]
        for line in real.lines
        if (place := (line.phase, line.line)) in some or place in all_of
    ]
    foot = ["together", _grams(partial.added, step), _grams(full.added, step)]
    head = ["to correct, add", f"within {tolerance:g} %, g", "exactly back, g"]
    words = (
        f"Adding {partial.added:.4g} g brings every line within {tolerance:g} % (a batch of {partial.mass:.5g} g); "
        f"exactly back takes {full.added:.4g} g ({full.mass:.5g} g)."
    )
    return sheet(head, rows, numbers=(1, 2), foot=foot, caption=words) + soft(ONLY_ADDITIONS)


def _grams(grams: float, step: float) -> str:
    """An addition as the balance shows it; a dash for none."""
    if not grams:
        return "–"
    return f"{grams:.{decimal_places(step)}f}" if grams >= step / 2 else f"under {step:g}"
