"""The library: search it, read a card with every source, add to the formula, and keep ingredients of one's own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, FileFaultsError, KitError
from kit.findings import Finding
from kit.formula.amounts import read_amount
from kit.formula.editing import add_lines
from kit.formula.expansion import Materials
from kit.formula.model import Line
from kit.label.cautions import cautions_for
from kit.library.library import Library
from kit.library.own import OWN_FILE, read_own, save_own
from kit.library.search import search, substances_of, usual_range
from kit.widgets.html import done, findings_list, heading, problem, sheet
from kit.widgets.ingredient_card import ingredient_card
from kit.widgets.kept_file import KeptFile
from kit.widgets.library_filters import LibraryFilters
from kit.widgets.own_ingredient_form import OwnIngredientBoxes
from kit.widgets.panel import Panel, controls, offer, try_to

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.library.ingredient import Ingredient
    from kit.library.search import Hit
    from kit.widgets.bench import Bench

#: How many finds stand in the table; more would have to be scrolled past to reach the card.
SHOWN = 12

#: A dash at which no line is broken.
RANGE = "\N{WORD JOINER}–\N{WORD JOINER}"


class LibraryPanel(Panel):
    """Search box, filters, finds with the reason why, a card, and a form for one's own ingredients.

    Attributes
    ----------
    hits
        What fits the search now.
    """

    watches = ("formula", "library", "jurisdiction")

    def __init__(self, bench: Bench, own_file: str | Path = OWN_FILE) -> None:
        self.own_file = Path(own_file)
        self.hits: list[Hit] = []
        style = {"style": {"description_width": "initial"}}
        self.filters = LibraryFilters()
        self.found, self.message, self.card = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.chosen = ipw.Dropdown(description="Show", **style)
        self.into = ipw.Dropdown(description="Into", **style)
        self.amount = ipw.Text(description="Amount, %", placeholder="may stay empty", **style)
        self.add = ipw.Button(description="Add to the formula", button_style="primary", layout={"width": "auto"})
        self.form = OwnIngredientBoxes()
        self.take_shown = ipw.Button(description="Fill in the one shown", layout={"width": "auto"})
        self.clear = ipw.Button(description="Empty the form", layout={"width": "auto"})
        self.save = ipw.Button(description="Save to my file", button_style="primary", layout={"width": "auto"})
        self.take_out = ipw.Button(description="Take it out of my file", layout={"width": "auto"})
        self.form_message = ipw.HTML()
        self.name_of = ipw.HTML()
        self._to_keep = (bench.library, "")
        self.kept = KeptFile(
            bench.seen,
            path=lambda: self.own_file,
            save=self._save_to,
            copy=lambda path: save_own(path, self._to_keep[0].own),
            reopen=self._reopen,
        )
        self._read_own_file(bench)
        super().__init__(bench, self._laid_out())
        self.filters.on_change(lambda _: self._changed())
        self.chosen.observe(lambda _: self._show_card(), names="value")
        self.add.on_click(lambda _: self._add())
        self.take_shown.on_click(lambda _: self._fill_form())
        self.clear.on_click(lambda _: self.form.empty())
        self.save.on_click(lambda _: self._save())
        self.take_out.on_click(lambda _: self._take_out())

    def _laid_out(self) -> list[ipw.Widget]:
        start, end = controls(self.take_shown, self.clear), controls(self.save, self.take_out)
        own = ipw.Accordion(
            [ipw.VBox([start, self.form, end, self.form_message, self.kept])],
            titles=("An ingredient of your own, and what you paid",),
        )
        own.selected_index = None
        return [
            self.name_of,
            self.filters,
            self.found,
            controls(self.chosen),
            self.card,
            controls(self.into, self.amount, self.add),
            self.message,
            own,
        ]

    # ---- search -----------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Search again and show what fits."""
        library = self.bench.library
        own = f"; {len(library.own)} of them your own, in {self.own_file.name}" if library.own else ""
        self.name_of.value = heading("Library", f"{len(library)} ingredients, every figure with its source{own}")
        self.filters.offer_what_occurs(library)
        offer(self.into, [(phase.name, number) for number, phase in enumerate(self.bench.formula.phases)])
        try:
            self.hits = search(library, self.filters.wish(), self.bench.product.limits)
        except KitError as error:
            self.found.value = problem(str(error))
            return
        self._show_hits()

    def _show_hits(self) -> None:
        shown = self.hits[:SHOWN]
        rows = [_hit_row(hit) for hit in shown]
        head = ["ingredient", "plain name", "roles", "charge", "usual %", "g/mL", "why it fits"]
        more = len(self.hits) - len(shown)
        words = f"{len(self.hits)} found" + (f", the first {len(shown)} shown: narrow the search" if more else "")
        if self.hits:
            self.found.value = sheet(
                head, rows, numbers=(4, 5), kinds=[hit.ingredient.phase for hit in shown], caption=words
            )
        else:
            self.found.value = problem(
                "Nothing fits. Take a filter away, or add it as an ingredient of your own below."
            )
        offer(self.chosen, [(_title(hit.ingredient), hit.ingredient.inci) for hit in self.hits])
        self._show_card()

    @property
    def ingredient(self) -> Ingredient | None:
        """The one whose card is shown."""
        return self.bench.library.get(self.chosen.value) if self.chosen.value else None

    def _show_card(self) -> None:
        one = self.ingredient
        self.add.disabled = self.take_shown.disabled = one is None
        if one is None:
            self.card.value = ""
            return
        materials = Materials(self.bench.library)
        general = cautions_for((), materials)
        said = [sentence for sentence in cautions_for(substances_of(one), materials) if sentence not in general]
        self.card.value = ingredient_card(one, self.bench.product.limits, said)

    # ---- into the formula -------------------------------------------------------------------------------

    def _add(self) -> None:
        def work() -> str:
            one, phase = self.ingredient, self.into.value
            if one is None or phase is None:
                msg = "Choose an ingredient and a phase of the formula first."
                raise EntryError(msg)
            formula = self.bench.formula
            lines = formula.phases[phase].lines
            at = len(lines) - 1 if lines and lines[-1].is_blank else len(lines)
            line = Line(one.inci, self.amount.value.strip())
            amount = read_amount(line.entry)
            if line.entry and amount.problem:
                raise EntryError(amount.problem)
            self.bench.edit(lambda now: add_lines(now, phase, at, [line]))
            unit = " %" if line.entry[-1:].isdigit() else ""
            said = f" at {line.entry}{unit}" if line.entry else "; give it an amount in the table"
            return f"{one.inci} now stands in {formula.phases[phase].name}{said}. Undo takes it out again."

        try_to(self.message, work)

    # ---- one's own --------------------------------------------------------------------------------------

    def _read_own_file(self, bench: Bench) -> None:
        if not self.own_file.exists():
            return
        notes: list[Finding] = []
        try:
            own = bench.seen.read(self.own_file, lambda there: read_own(there, notes))
        except FileFaultsError as error:
            self.form_message.value = _faults(error)
        except KitError as error:
            self.form_message.value = problem(str(error))
        else:
            bench.library = Library(bench.library.supplied, own)
            self.form_message.value = done(" ".join(note.sentence for note in notes)) if notes else ""

    def _fill_form(self) -> None:
        if self.ingredient is not None:
            self.form.fill(self.ingredient)

    def _save(self) -> None:
        def work() -> str:
            made = self.form.read(self.bench.library)
            said = self._keep(self.bench.library.with_own(made), f"{made.inci} is kept in {self.own_file.name}.")
            if made.inci in [inci for _, inci in self.chosen.options]:
                self.chosen.value = made.inci
            return said

        self._try(work)

    def _take_out(self) -> None:
        def work() -> str:
            name = self.form.boxes["inci"].value.strip()
            library = self.bench.library.without_own(name)
            if len(library.own) == len(self.bench.library.own):
                msg = f"{name or 'An ingredient without a name'} is not in {self.own_file.name}: nothing was taken out."
                raise EntryError(msg)
            return self._keep(library, f"{name} was taken out of {self.own_file.name}.")

        self._try(work)

    def _keep(self, library: Library, sentence: str) -> str:
        self._to_keep = (library, sentence)
        return self.kept.save(self.own_file)

    def _save_to(self, path: Path) -> str:
        library, sentence = self._to_keep
        save_own(path, library.own, seen=self.bench.seen)
        if path == self.own_file:
            self.bench.library = library
            return f"{sentence} An update of the kit leaves it alone."
        return f"Saved as {path.name}; this panel goes on with {self.own_file.name}."

    def _reopen(self, path: Path) -> str:
        notes: list[Finding] = []
        own = self.bench.seen.read(path, lambda there: read_own(there, notes))
        self.bench.library = Library(self.bench.library.supplied, own)
        return " ".join([f"Read {path.name} again.", *(note.sentence for note in notes)])

    def _try(self, work: Callable[[], str]) -> None:
        """Do something with the form; of several faults each is said in a line of its own."""
        try:
            said = work()
            self.form_message.value = done(said) if said else ""
        except FileFaultsError as error:
            self.form_message.value = _faults(error)
        except KitError as error:
            self.form_message.value = problem(str(error))


def _title(ingredient: Ingredient) -> str:
    plain = f" ({ingredient.plain_name})" if ingredient.plain_name.casefold() != ingredient.inci.casefold() else ""
    return f"{ingredient.inci}{plain if ingredient.plain_name else ''}{' · my own' if ingredient.own else ''}"


def _hit_row(hit: Hit) -> list[str]:
    one = hit.ingredient
    density = f"{one.density.value:g}" if one.density else "—"
    return [
        one.inci,
        one.plain_name,
        ", ".join(one.roles),
        one.charge,
        usual_range(one).replace(" to ", RANGE) or "—",
        density,
        "; ".join(hit.why) or "—",
    ]


def _faults(error: FileFaultsError) -> str:
    return findings_list([Finding("stop", str(fault)) for fault in error.faults])
