"""Trials of parting at the bench: timed, kept, fitted, compared, and what they bear out for the label."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.figures.layer_line import layer_lines_html
from kit.figures.parting import parting_figure, shown_time, variants_figure
from kit.file_names import file_stem
from kit.in_use.interface import SOURCE as TENSION_SOURCE
from kit.in_use.interface import capillary_length, tension_effect
from kit.in_use.line_between import TRACE, about_layers
from kit.in_use.parting_compare import SOURCE as COMPARE_SOURCE
from kit.in_use.parting_compare import compare_variants
from kit.in_use.parting_fit import SOURCE as FIT_SOURCE
from kit.in_use.parting_fit import fit_parting
from kit.in_use.parting_trial import SEEN_WORDS, of_variant, variants_of
from kit.in_use.shake_share import SOURCE as SHARE_SOURCE
from kit.in_use.shake_share import remix_words, shake_advice
from kit.in_use.trial_book import TrialBook
from kit.in_use.trial_design import BEWARE, Design, trial_plan
from kit.inputs import Choice, Input, Number, Tick, read_group
from kit.label.particulars import Particulars, particulars_file, read_particulars
from kit.layers.drop_fit import fit_drop_size
from kit.layers.separation import clearing
from kit.layers.shaken_product import shaken_product
from kit.made_for import own_place
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, soft
from kit.widgets.panel import Panel, Picture
from kit.widgets.parting_sheets import comparison_sheet, fit_sheet, plan_sheet, shakings_sheet, trials_sheet
from kit.widgets.trial_entry import TrialEntry

if TYPE_CHECKING:
    from kit.in_use.parting_fit import PartingFit
    from kit.in_use.parting_trial import KeptTrial, Trial
    from kit.layers.separation import Clearing
    from kit.widgets.panel import Source

LOOK = (
    Input("variant", "Look at", Choice({}), None),
    Input("seen", "Heights of the", Choice(SEEN_WORDS), "lower"),
    Input("known", "Final height by the formula and bottle in hand", Tick(), default=True),
)
AGAINST = (Input("base", "Compared with", Choice({}), None),)
MEND = (Input("number", "Trial", Choice({}), None), Input("why", "Why", default="", example="digits turned round"))
TENSIONS = (
    Input("tension", "Between your layers", Number(0.001, 100), None, "mN/m", help="As a tensiometer measured it."),
    Input("base", "Against one of", Number(0.001, 100), None, "mN/m", help="Of another variant, to compare."),
)
#: The parts of the panel below the boxes.
HEADS = ("The trials so far", "How it parts", "How often to shake", "Variants against one another")
HEAD = "font-weight: 650; font-size: 1.08em; margin-top: 16px"


class PartingTrialsPanel(Panel):
    """Time how shaken bottles part, keep the trials, and say what they bear out.

    Parameters
    ----------
    file
        The book of trials; empty: named after the product, beside the notebook.
    """

    watches = ("formula", "library", "bottle", "fill", "jurisdiction")
    title = "Parting trials"
    subtitle = "shake, set down, and press the space bar; each trial is kept for good"
    foot = f"{FIT_SOURCE} Ratios: {COMPARE_SOURCE}. Shares: {SHARE_SOURCE}. Tension: {TENSION_SOURCE}. {TRACE}."

    def __init__(self, source: Source = None, file: str | Path = "") -> None:
        self._file = Path(file) if file else None
        self._rows: list[KeptTrial] = []
        self._read_from: Path | None = None
        self.fit: PartingFit | None = None
        self._final: float | None = None
        self.entry = TrialEntry(self._keep)
        self.grades = ipw.HTML(layer_lines_html())
        self.table, self.fitted, self.compared, self.advice, self.effect = (
            ipw.HTML().add_class("sw-answer") for _ in range(5)
        )
        self.cautions, self.residuals, self.plan = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.picture, self.times = Picture(), Picture()
        self.mend = Form(
            MEND,
            [
                Button("take", "Take it into the boxes above", self._take),
                Button("correct", "Keep the boxes above as its correction", self._correct),
                Button("withdraw", "It does not count", self._withdraw),
            ],
            fold="Correct a trial",
        )
        self.look = Form(LOOK, on_change=lambda _: self._show_variant())
        self.against = Form(AGAINST, on_change=lambda _: self._show_ratios())
        words = "Put these words into the directions of the label"
        self.label = Form((), [Button("label", words, self._to_label, "The label changes only by this press")])
        self.heads = [ipw.HTML(f'<div style="{HEAD}">{words}</div>') for words in HEADS]
        draw = Button("draw", "Draw the order", self._draw_plan)
        self.design = Form(Design, [draw], fold="Plan trials with salt or alcohol")
        self.tensions = Form(
            TENSIONS, on_change=lambda _: self._show_tension(), fold="Interfacial tension, if you have measured it"
        )
        super().__init__(source, [
            self.cautions, self.entry, self.grades, self.heads[0], self.table, self.mend, self.heads[1], self.look,
            self.fitted, self.picture, self.residuals, self.heads[2], self.advice, self.label, self.heads[3],
            self.against, self.compared, self.times, self.design, self.plan, self.tensions, self.effect,
        ])  # fmt: skip

    # ---- the book ---------------------------------------------------------------------------------------

    @property
    def book(self) -> TrialBook:
        """The book of the product in hand."""
        return TrialBook(self._file or self._usual())

    def _usual(self, *, take: bool = False) -> Path:
        title = self.bench.formula.title
        return own_place(title, Path(f"{file_stem(title)}_trials.csv"), take=take).path

    @property
    def trials(self) -> list[Trial]:
        """Those that count, as they were read last."""
        return [row.trial for row in self._rows if row.counts and row.trial is not None]

    def refresh(self) -> None:
        """Show the product in hand: its cautions, and its book where that is another one."""
        self.cautions.value = findings_list(about_layers(self.bench.product.findings))
        if Path(self.book.path) != self._read_from:
            self._read()
        elif self.fit is not None and self._final_height() != self._final:
            self._no_fit("The product is another one since the fit. Choose again what to look at.")
        self._show_tension()

    def _read(self) -> None:
        """Read the book, and show all that follows from it."""
        self._read_from = Path(self.book.path)
        try:
            self._rows = self.book.rows()
        except KitError as error:
            self._rows = []
            self.table.value = problem(str(error))
        else:
            name = escape(self._read_from.name)
            none = f"No trial yet. The first one that you keep begins the file {name} beside this notebook."
            self.table.value = trials_sheet(self._rows) if self._rows else none
        variants = variants_of(self.trials)
        self.look.layout.display = self.heads[1].layout.display = "" if variants else "none"
        self.mend.layout.display = "" if variants else "none"
        self.entry.offer(variants)
        self.look.offer("variant", list(variants))
        self.against.offer("base", list(variants))
        self.mend.offer("number", {r.number: _called(r) for r in reversed(self._rows) if r.counts})
        self._show_variant()
        self._show_ratios()

    def _keep(self, trial: Trial) -> str:
        if self._file is None:
            self._usual(take=True)
        number = self.book.keep(trial)
        self._read()
        self.look.set(variant=next(v for v in variants_of(self.trials) if v.casefold() == trial.variant.casefold()))
        self._show_variant()
        return f"Trial {number} is kept in {Path(self.book.path).name}: {trial.variant}, {trial.ending}."

    def _chosen(self) -> KeptTrial:
        row = next((row for row in self._rows if row.number == self.mend["number"] and row.counts), None)
        if row is None:
            msg = "There is no trial yet to be corrected."
            raise EntryError(msg)
        return row

    def _take(self) -> str:
        row = self._chosen()
        assert row.trial is not None
        self.entry.show(row.trial)
        return (
            f"Trial {row.number} stands in the boxes above. Mend it there, say why here, and keep it as a correction."
        )

    def _correct(self) -> str:
        row, why = self._chosen(), self.mend["why"]
        number = self.book.correct(row.number, self.entry.trial(), why)
        self.entry.empty()
        self.mend.clear("why")
        self._read()
        return f"Row {number} takes the place of trial {row.number}, which stays in the file."

    def _withdraw(self) -> str:
        row, why = self._chosen(), self.mend["why"]
        self.book.withdraw(row.number, why)
        self.mend.clear("why")
        self._read()
        return f"Trial {row.number} no longer counts; it stays in the file with your reason."

    # ---- one variant ------------------------------------------------------------------------------------

    def _show_variant(self) -> None:
        """Fit the variant that is looked at, and say what its trials bear out for the label."""
        mine = of_variant(self.trials, self.look["variant"] or "")
        self._show_advice(mine)
        timed = [trial for trial in mine if trial.seen == self.look["seen"] and trial.readings]
        if not timed:
            other = any(trial.readings for trial in mine)
            self._no_fit("Its heights are of the other layer: choose that above." if other else "")
            return
        try:
            self._final = self._final_height()
            readings = [one for trial in timed for one in trial.readings]
            self.fit = fit_parting(readings, self._final, len(timed))
        except KitError as error:
            self._no_fit("")
            self.fitted.value = problem(str(error))
            return
        drops, said = self._drop_size(timed, self.fit)
        shakes = sorted({trial.shakes for trial in timed})
        beware = f" Beware: trials with {shakes[0]} to {shakes[-1]} shakes are put together." if len(shakes) > 1 else ""
        self.fitted.value = f"<div>{escape(self.fit.sentence() + beware)}</div>{soft(said) if said else ''}"
        self.picture.draw(parting_figure(self.fit, timed, drops))
        self.residuals.value = fit_sheet(self.fit)

    def _no_fit(self, sentence: str) -> None:
        self.fit, self._final = None, None
        self.fitted.value = escape(sentence)
        self.residuals.value = ""
        self.picture.layout.display = "none"

    def _final_height(self) -> float | None:
        """Of the layer that is looked at, in the bottle in hand; None where it is to be fitted. [mm]"""
        if not self.look["known"]:
            return None
        standing = self.bench.product.standing
        return standing[0 if self.look["seen"] == "lower" else -1].height

    def _drop_size(self, trials: list[Trial], fit: PartingFit) -> tuple[Clearing | None, str]:
        """The clear layers by settling alone, with the drop size that explains the readings; and what to say of it."""
        now = self.bench.product
        try:
            ways = shaken_product(now.formula, now.materials, now.layers, now.bottle, now.fill).ways
            if len(ways) > 1:
                return None, "Either liquid may be the drops here, so no drop size is fitted by settling alone."
            found = fit_drop_size(ways[0], [one for trial in trials for one in trial.timings], self.look["seen"])
        except KitError as error:
            return None, f"By settling alone, with one drop size: {error}"
        sized = replace(ways[0], sizes=replace(ways[0].sizes, median=found.median))
        seconds = [shown_time(fit) * n / 60 for n in range(61)]
        return clearing(sized, seconds), f"By settling alone: {found.sentence()}"

    def _show_advice(self, trials: tuple[Trial, ...]) -> None:
        found = shake_advice(trials)
        can = bool(found.label)
        head = f"<b>{escape(found.label)}</b> " if can else ""
        said = "".join(f"<div>{escape(words)}</div>" for words in (remix_words(found.groups),) if words)
        table = shakings_sheet(found.groups) if found.groups else ""
        self.advice.value = f"<div>{head}{escape(found.support)}</div>{said}{table}" if trials else ""
        self.label.enable("label", can=can)
        self.label.layout.display = self.heads[2].layout.display = "" if trials else "none"
        self._words = found.label

    def _to_label(self) -> str:
        """Put the words before the directions, by this press alone."""
        bench = self.bench
        kept = particulars_file(bench.formula.title)
        if bench.particulars == Particulars() and kept.exists():
            bench.particulars = read_group(Particulars, bench.seen.read(kept, read_particulars))
        others = bench.particulars.directions.replace(self._words, "").strip()
        bench.particulars = replace(bench.particulars, directions=f"{self._words} {others}".strip())
        return f"The directions of the label begin with: {self._words} Look at the label, and save it there."

    # ---- variants, plan, tension ------------------------------------------------------------------------

    def _show_ratios(self) -> None:
        names = variants_of([trial for trial in self.trials if trial.time is not None])
        self.against.layout.display = self.heads[3].layout.display = "" if len(names) > 1 else "none"
        if len(names) < 2:
            self.compared.value = ""
            self.times.layout.display = "none"
            return
        try:
            found = compare_variants(self.trials, self.against["base"] or "")
        except KitError as error:
            self.compared.value = problem(str(error))
            self.times.layout.display = "none"
            return
        said = "".join(f"<div>{escape(one.sentence())}</div>" for one in found)
        self.compared.value = said + comparison_sheet(found)
        self.times.draw(variants_figure(self.trials))

    def _draw_plan(self) -> str:
        design = Design(**self.design.read())
        runs = trial_plan(design)
        self.plan.value = soft(BEWARE) + plan_sheet(runs, design.shakes, design.watch)
        self.entry.offer(dict.fromkeys([*variants_of(self.trials), *(run.variant.name for run in runs)]))
        return f"{len(runs)} trials in an order drawn by number {design.seed}. Their variants are offered above."

    def _show_tension(self) -> None:
        tension, base = self.tensions["tension"], self.tensions["base"]
        said = []
        layers = self.bench.product.layers
        if tension is not None and len(layers) == 2 and layers[0].density != layers[1].density:
            far = capillary_length(tension, abs(layers[0].density - layers[1].density))
            said.append(f"The line is bent within about {far:.1f} mm of the wall: read its height farther in.")
        if tension is not None and base is not None:
            said.append(tension_effect(tension, base).sentence())
        self.effect.value = "".join(f"<div>{escape(words)}</div>" for words in said)


def _called(row: KeptTrial) -> str:
    assert row.trial is not None
    return f"{row.number}, {row.trial.day}: {row.trial.variant}, {row.trial.ending}"
