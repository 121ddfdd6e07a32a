"""Four dispensers for the bottle in hand side by side, and doses on the balance set against what is computed."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.figures.dispensing import (
    agreement_figure,
    agreement_traces,
    dispensed_bottles_html,
    dispensing_figure,
    dispensing_traces,
)
from kit.file_names import file_stem
from kit.findings import Finding, worst_first
from kit.formula.expansion import expand
from kit.formula.model import require_complete
from kit.in_use.dispensers import Dispenser, FourDispensers, Manner
from kit.in_use.dispensing import Dispensed, dispense
from kit.in_use.dispensing_findings import (
    MODEL,
    STROKE,
    course_of,
    dispensing_findings,
    last_tenth_words,
)
from kit.in_use.dose_file import read_doses, save_doses
from kit.in_use.parting_trial import key_of
from kit.in_use.weighed_doses import SOURCE, WeighedDoses, against, nearest_words
from kit.inputs import Choice, Input, Number, inputs_of
from kit.made_for import own_place
from kit.saving import Seen
from kit.widgets.bench import Bench
from kit.widgets.dispensing_sheets import agreement_sheet, dispensers_sheet, doses_sheet, series_sheet
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, soft
from kit.widgets.kept_file import KeptFile
from kit.widgets.panel import Panel, Picture
from kit.widgets.shaken_choices import ShakenChoices

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.layers.shaken import Shaken
    from kit.layers.window import Window
    from kit.widgets.panel import Source

USED = Input("used", "Used of the fill", Number(0, 100, digits=3), 0.0, "%", slide=(0.0, 100.0, 1.0))
STROKES = Input("stroke", "A stroke lasts", Number(0.01, 60, digits=3), STROKE, "s", help="Of the pump and the spray.")
NO_MATTER = Input("tolerance", "No matter, within", Number(0.1, 100, digits=3), 10.0, "± %",
                  help="Of the mass of a dose; for a share, percent points.")  # fmt: skip
KEPT = Input("kept", "Kept series", Choice({}), None)
HEAD = "font-weight: 650; font-size: 1.08em; margin-top: 16px"
BALANCE = (
    "Put the bottle on the balance, take a dose, and note how much lighter it is. The dispenser above is that of the "
    "bottle that you weigh: its dose, its tube, its fill."
)


class DispensersPanel(Panel):
    """Compare a pump, a spray, a disc-top and a dropper for the product in hand, and weigh their doses.

    Parameters
    ----------
    file
        The file of weighed doses; empty: named after the product, beside the notebook.
    """

    watches = ("formula", "library", "bottle", "fill", "jurisdiction")
    unhurried = True
    title = "Dispensing"
    subtitle = "pump, spray, disc-top and dropper side by side: what comes first, and what never comes"
    foot = f"{MODEL} Strokes that prime a pump are not counted. {SOURCE}"

    def __init__(self, source: Source = None, file: str | Path = "") -> None:
        bench = Bench.of(source)
        self._file = Path(file) if file else None
        self._seen_files = Seen()  # its own, so that two of these on one bench ask before they save over each other
        self._read_from: Path | None = None
        self._series: list[WeighedDoses] = []
        self._known: dict[Dispenser, Dispensed] = {}
        self._sheets: dict[Dispenser, str] = {}
        self._state: tuple[object, ...] = ()
        self._shaken: Shaken | None = None
        self._window: Window | None = None
        self._notes: list[Finding] = []
        self._drawn: WeighedDoses | None = None
        self.runs: list[Dispensed] = []
        asked = (*inputs_of(FourDispensers), STROKES)
        self.form = Form(asked, on_change=lambda _: self._changed(), wide=("way",))
        self.manner = Form(Manner, on_change=lambda _: self._changed(), wide=("shaking",))
        self.choices = ShakenChoices(fold="Drops and viscosities, where one waits after shaking")
        self.choices.on_change(lambda _: self._changed())
        self.used = Form([USED], on_change=lambda _: self._mark())
        self.answer, self.compared, self.agreed = (ipw.HTML().add_class("sw-answer") for _ in range(3))
        self.bottles, self.findings, self.singles, self.kept_table = (ipw.HTML() for _ in range(4))
        self.picture, self.measured = Picture(), Picture()
        self.weighed = Form(
            WeighedDoses,
            [
                Button(
                    "keep", "Keep this series", self._keep, "In the file; one of the same name gives way", primary=True
                ),
                Button("empty", "Empty the boxes", self._empty),
            ],
            on_change=lambda _: self._set_against(),
            wide=("note", "shaking"),
        )
        self.matter = Form([NO_MATTER], on_change=lambda _: self._set_against())
        self.shelf = Form(
            [KEPT],
            [
                Button("show", "Show it in the boxes", self._show_kept),
                Button("drop", "Take it out of the file", self._drop, "An earlier save of the file still has it"),
            ],
        )
        self.kept = KeptFile(
            self._seen_files, path=lambda: self.file, save=self._save_to,
            copy=lambda path: save_doses(self._series, path), reopen=self._reopen,
        )  # fmt: skip
        super().__init__(bench, [
            self.form, self.manner, self.choices, self.answer, self.compared, self.used, self.bottles,
            self.picture, self.singles, self.findings,
            ipw.HTML(f'<div style="{HEAD}">Doses on the balance</div>{soft(BALANCE)}'),
            self.weighed, self.matter, self.agreed, self.measured, self.shelf, self.kept_table, self.kept,
        ])  # fmt: skip

    # ---- side by side -----------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Dispense the product in hand by each of the four."""
        self._read_once()
        product, height = self.bench.product, self.bench.bottle.height
        self.form.describe("tip", slide=(0.0, float(round(height)), 0.5))
        self.choices.layout.display = "" if self.manner["shaking"] == "waits" else "none"
        before = self._state
        self._state = (product.formula, self.bench.library, product.bottle, product.fill, self.manner.values.copy(),
                       self.choices.values.copy())  # fmt: skip
        is_same = before == self._state
        try:
            require_complete(product.formula, "dispensed")
            if not is_same:
                self._prepare()
            values = {name: self.form[name] for name in FourDispensers.__dataclass_fields__}
            troubles = self._dispense(self._made(FourDispensers(**values)))
        except KitError as error:
            self._state = ()
            self._nothing(problem(str(error)))
            return
        if not self.runs:
            self._nothing(troubles)
            return
        said = [f"<div>{escape(course_of(run))} {escape(last_tenth_words(run))}</div>" for run in self.runs]
        self.answer.value = "".join([*said, troubles])
        self.compared.value = dispensers_sheet(self.runs, self._window)
        self._sheets = {run.dispenser: self._sheets.get(run.dispenser) or doses_sheet(run) for run in self.runs}
        self.singles.value = "".join(self._sheets.values())
        found = dispensing_findings(
            self.runs,
            expand(product.formula, product.materials),
            self._window,
            self.form["stroke"],
            product.formula.description.layering,
        )
        self.findings.value = findings_list(worst_first([*self._notes, *found]))
        if len(self.runs[0].standing) == 1:
            self.picture.layout.display = "none"  # a level line says nothing
        elif is_same and self.picture.figure is not None and self.picture.layout.display != "none":
            self.picture.put(dispensing_traces(self.runs))
        else:
            self.picture.draw(dispensing_figure(self.runs, self.used["used"], self._window))
        self.used.layout.display = self.bottles.layout.display = ""
        self._stand()
        self._set_against()

    def _prepare(self) -> None:
        """Work out what holds for all four: how the layers part, and the window of ratios."""
        product = self.bench.product
        self._known, self._sheets, self._shaken, self._notes = {}, {}, None, []
        try:
            self._window = product.window
        except KitError:
            self._window = None  # one layer, or three: there is no ratio to move
        if self.manner["shaking"] == "waits":
            shaken = self.choices.product(self.bench)
            self.choices.tell_computed(shaken)
            self._shaken = shaken.ways[0]
            self._notes = [
                replace(note, sentence=note.sentence.replace(" Both are shown.", "")) for note in shaken.findings
            ]
            if len(shaken.ways) > 1:
                words = f"Either liquid may be the drops; here it is {self._shaken.drops.kind}. Choose the other too."
                self._notes.append(Finding("note", words))

    def _made(self, four: FourDispensers) -> tuple[Dispenser, ...]:
        """The dispensers of the bottle in hand; a pipette that does not fit is marked at its box, and left out."""
        product = self.bench.product
        try:
            made = four.made(product.bottle, product.density)
        except KitError as error:
            if four.depth is None:
                raise
            self.form.mark("depth", str(error))
            return replace(four, depth=None).made(product.bottle, product.density)[:-1]
        return made

    def _dispense(self, four: Iterable[Dispenser]) -> str:
        """Use up a bottle by each that can, as far as that is not known already; what to say of those that cannot."""
        product, now, known, troubles = self.bench.product, Manner(**self.manner.values), {}, ""
        for one in four:
            try:
                known[one] = self._known.get(one) or dispense(
                    product.in_bottle, product.bottle, product.fill, one, now, self._shaken
                )
            except KitError as error:
                troubles += problem(str(error))
        self._known, self.runs = known, list(known.values())
        return troubles

    def _nothing(self, why: str) -> None:
        """Say why nothing can be dispensed."""
        self.runs, self._known = [], {}
        self.answer.value = why
        self.compared.value = self.findings.value = self.singles.value = self.agreed.value = ""
        for part in (self.picture, self.measured, self.used, self.bottles):
            part.layout.display = "none"

    def _mark(self) -> None:
        """Another part of the fill is used: only the bottles and the mark change."""
        figure = self.picture.figure
        if not self.runs or figure is None:
            return
        with figure.batch_update():
            for shape in figure.layout.shapes:
                if shape.type == "line":
                    shape.x0 = shape.x1 = self.used["used"]
        self._stand()

    def _stand(self) -> None:
        self.bottles.value = dispensed_bottles_html(self.runs, self.bench.bottle, self.used["used"])

    # ---- on the balance ---------------------------------------------------------------------------------

    def _set_against(self) -> None:
        """Set the doses in the boxes against the bottle as computed."""
        self.agreed.value = ""
        if not self.runs or not self.weighed["grams"]:
            self.measured.layout.display = "none"
            return
        try:
            weighed = WeighedDoses(**{**self.weighed.values, "name": self.weighed["name"] or "not named yet"})
            run = self._of(weighed)
            found = against(run, weighed, self.matter["tolerance"])
        except KitError as error:
            self.agreed.value = problem(str(error))
            self.measured.layout.display = "none"
            return
        said = "".join(f"<div>{escape(one.sentence())}</div>{agreement_sheet(one)}" for one in found)
        said += f"<div>{escape(nearest_words(self._otherwise(run), weighed))}</div>"
        self.agreed.value = soft(f"{run.dispenser.kind}, {run.manner.words}, as set above") + said
        if self._drawn == weighed and self.measured.figure is not None:
            self.measured.put(agreement_traces(run, found[0]))
            self.measured.layout.display = ""
        else:
            self._drawn = weighed
            self.measured.draw(agreement_figure(run, found[0]))

    def _of(self, weighed: WeighedDoses) -> Dispensed:
        """The bottle that these doses are of, used as it was used."""
        run = next((run for run in self.runs if run.dispenser.kind == weighed.kind), None)
        if run is None:
            msg = f"Nothing is computed for the {weighed.kind}: look at what is said of it above."
            raise EntryError(msg)
        now = Manner(weighed.shaking, weighed.delay)
        if now.words == run.manner.words:
            return run
        product, shaken = self.bench.product, None
        if now.shaking == "waits":
            shaken = self.choices.product(self.bench).ways[0]
        return dispense(product.in_bottle, product.bottle, product.fill, run.dispenser, now, shaken)

    def _otherwise(self, run: Dispensed) -> list[Dispensed]:
        """The same bottle and dispenser as it would be used up shaken, unshaken, and as was said of the doses."""
        product = self.bench.product
        others = [Manner(shaking) for shaking in ("never", "at once") if shaking != run.manner.shaking]
        return [run, *(dispense(product.in_bottle, product.bottle, product.fill, run.dispenser, one) for one in others)]

    @property
    def file(self) -> Path:
        """The file of the product in hand."""
        return self._file or self._usual()

    def _usual(self, *, take: bool = False) -> Path:
        title = self.bench.formula.title
        return own_place(title, Path(f"{file_stem(title)}_doses.csv"), take=take).path

    def _read_once(self) -> None:
        """Read the file where it is another one than before."""
        if self.file == self._read_from:
            return
        self._read_from = self.file
        self._series = []
        if self.file.is_file():
            self.shelf.do(lambda: self._reopen(self.file))
        self._show_series()

    def _reopen(self, path: Path) -> str:
        notes: list[Finding] = []
        self._series = self._seen_files.read(path, lambda there: read_doses(there, notes))
        self._show_series()
        return " ".join([self._count(path), *(note.sentence for note in notes)])

    def _show_series(self) -> None:
        self.shelf.layout.display = "" if self._series else "none"
        self.shelf.offer("kept", {n: f"{one.name}, {one.day}: {one.kind}" for n, one in enumerate(self._series)})
        self.kept_table.value = (
            series_sheet(self._series)
            if self._series
            else soft(f"No series is kept yet; the first begins the file {self.file.name} beside this notebook.")
        )

    def _save_to(self, path: Path) -> str:
        save_doses(self._series, path, seen=self._seen_files)
        return self._count(path)

    def _count(self, path: Path) -> str:
        count = len(self._series)
        return f"{count} series {'is' if count == 1 else 'are'} in {path.name}."

    def _keep(self) -> str:
        new = WeighedDoses(**self.weighed.read())
        if self._file is None:
            self._usual(take=True)
        others = [one for one in self._series if key_of(one.name) != key_of(new.name)]
        gives_way = len(others) < len(self._series)
        self._put([*others, new])
        return f"{new.name} is kept{', in the place of the one of that name' if gives_way else ''}."

    def _put(self, series: list[WeighedDoses]) -> None:
        """Keep these series; what is asked about the file stands at the foot of the panel."""
        before, self._series = self._series, series
        try:
            self.kept.form.tell(self.kept.save(self.file))
        except KitError:
            self._series = before
            raise
        finally:
            self._show_series()

    def _chosen(self) -> WeighedDoses:
        at: int | None = self.shelf["kept"]
        if at is None or not 0 <= at < len(self._series):
            msg = "There is no kept series to choose yet."
            raise EntryError(msg)
        return self._series[at]

    def _show_kept(self) -> str:
        one = self._chosen()
        self.weighed.set(**{name: getattr(one, name) for name in self.weighed.inputs})
        self._set_against()
        return f"{one.name} stands in the boxes above."

    def _drop(self) -> str:
        one = self._chosen()
        self._put([each for each in self._series if each is not one])
        return f"{one.name} is out of the file; an earlier save still has it."

    def _empty(self) -> str:
        self.weighed.clear()
        self._set_against()
        return "The boxes are ready for the next series."
