"""The library: search it, read a card with every source, add to the formula, and keep ingredients of one's own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.formula.amounts import read_amount
from kit.formula.editing import add_lines
from kit.formula.expansion import Materials
from kit.formula.model import Line
from kit.inputs import Choice, Input, inputs_of
from kit.label.cautions import cautions_for
from kit.library.library import Library
from kit.library.own import OWN_FILE, read_own, save_own
from kit.library.search import ANY, FIGURES, Wish, charges_of, roles_of, search, substances_of, usual_range
from kit.widgets.bench import Bench
from kit.widgets.form import Button, Form
from kit.widgets.html import heading, problem, sheet
from kit.widgets.ingredient_card import ingredient_card
from kit.widgets.kept_file import KeptFile
from kit.widgets.own_ingredient_form import OwnIngredientForm
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.library.ingredient import Ingredient
    from kit.library.search import Hit
    from kit.widgets.panel import Source

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

    def __init__(self, source: Source = None, file: str | Path = OWN_FILE) -> None:
        bench = Bench.of(source)
        self.own_file = Path(file)
        self.hits: list[Hit] = []
        first, more = inputs_of(Wish)[:4], inputs_of(Wish)[4:]
        self.search = Form(first, on_change=lambda _: self._changed(), live=("words",))
        narrow = "Narrow it by figures, limits and origin"
        self.narrow = Form(more, on_change=lambda _: self._changed(), fold=narrow)
        self.chosen = Form([Input("inci", "Show", Choice({}), None)], on_change=lambda _: self._show_card())
        self.adding = Form(
            [
                Input("into", "Into", Choice({}), None),
                Input("amount", "Amount", default="", unit="%", example="may stay empty"),
            ],
            [Button("add", "Add to the formula", self._add, primary=True)],
        )
        self.form = OwnIngredientForm(
            [
                Button("take", "Fill in the one shown", self._fill_form),
                Button("clear", "Empty the form", lambda: self.form.empty()),  # noqa: PLW0108  # it is still being made
                Button("save", "Save to my file", self._save, primary=True),
                Button("out", "Take it out of my file", self._take_out),
            ]
        )
        self.head, self.found, self.card = ipw.HTML(), ipw.HTML().add_class("sw-answer"), ipw.HTML()
        self._to_keep = (bench.library, "")
        self.kept = KeptFile(
            bench.seen,
            path=lambda: self.own_file,
            save=self._save_to,
            copy=lambda path: save_own(path, self._to_keep[0].own),
            reopen=self._reopen,
        )
        if self.own_file.exists():
            self.form.do(lambda: self._read_own_file(bench))
        shown = [self.head, self.search, self.narrow, self.found, self.chosen, self.card, self.adding]
        super().__init__(bench, [*shown, self.form, self.kept])

    # ---- search -----------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Search again and show what fits."""
        library = self.bench.library
        own = f"; {len(library.own)} of them your own, in {self.own_file.name}" if library.own else ""
        self.head.value = heading("Library", f"{len(library)} ingredients, every figure with its source{own}")
        for name, occur in (("role", roles_of(library)), ("charge", charges_of(library))):
            self.search.offer(name, ANY | {each: each for each in occur})
        self.adding.offer("into", {n: phase.name for n, phase in enumerate(self.bench.formula.phases)})
        try:
            self.hits = search(library, self.wish(), self.bench.product.limits)
        except KitError as error:
            self.found.value = problem(str(error))
            return
        self._show_hits()

    def wish(self) -> Wish:
        """What the boxes ask for.

        Raises
        ------
        EntryError
            A least that is above its most.
        """
        wish = Wish(**self.search.values, **self.narrow.values)
        for name, words in FIGURES.items():
            ends = (f"{name}_from", f"{name}_to")
            low, high = (getattr(wish, end) for end in ends)
            if low is not None and high is not None and low > high:
                least, most = (self.narrow.texts[end].strip() for end in ends)
                msg = f"{words}: from {least} to {most} holds nothing. Swap the two."
                raise EntryError(msg)
        return wish

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
        self.chosen.offer("inci", {hit.ingredient.inci: _title(hit.ingredient) for hit in self.hits})
        self._show_card()

    @property
    def ingredient(self) -> Ingredient | None:
        """The one whose card is shown."""
        return self.bench.library.get(self.chosen["inci"]) if self.chosen["inci"] else None

    def _show_card(self) -> None:
        one = self.ingredient
        self.adding.enable("add", can=one is not None)
        self.form.enable("take", can=one is not None)
        if one is None:
            self.card.value = ""
            return
        materials = Materials(self.bench.library)
        general = cautions_for((), materials)
        said = [sentence for sentence in cautions_for(substances_of(one), materials) if sentence not in general]
        self.card.value = ingredient_card(one, self.bench.product.limits, said)

    # ---- into the formula -------------------------------------------------------------------------------

    def _add(self) -> str:
        one, phase, entry = self.ingredient, self.adding["into"], self.adding["amount"]
        if one is None or phase is None:
            msg = "Choose an ingredient and a phase of the formula first."
            raise EntryError(msg)
        formula = self.bench.formula
        lines = formula.phases[phase].lines
        at = len(lines) - 1 if lines and lines[-1].is_blank else len(lines)
        amount = read_amount(entry)
        if entry and amount.problem:
            raise EntryError(amount.problem)
        self.bench.edit(lambda now: add_lines(now, phase, at, [Line(one.inci, entry)]))
        unit = " %" if entry[-1:].isdigit() else ""
        said = f" at {entry}{unit}" if entry else "; give it an amount in the table"
        return f"{one.inci} now stands in {formula.phases[phase].name}{said}. Undo takes it out again."

    # ---- one's own --------------------------------------------------------------------------------------

    def _read_own_file(self, bench: Bench) -> str:
        notes: list[Finding] = []
        own = bench.seen.read(self.own_file, lambda there: read_own(there, notes))
        bench.library = Library(bench.library.supplied, own)
        return " ".join(note.sentence for note in notes)

    def _fill_form(self) -> None:
        if self.ingredient is not None:
            self.form.fill(self.ingredient)

    def _save(self) -> str:
        made = self.form.ingredient(self.bench.library)
        said = self._keep(self.bench.library.with_own(made), f"{made.inci} is kept in {self.own_file.name}.")
        if any(hit.ingredient.inci == made.inci for hit in self.hits):
            self.chosen.set(inci=made.inci)
            self._show_card()
        return said

    def _take_out(self) -> str:
        name = self.form["inci"]
        library = self.bench.library.without_own(name)
        if len(library.own) == len(self.bench.library.own):
            msg = f"{name or 'An ingredient without a name'} is not in {self.own_file.name}: nothing was taken out."
            raise EntryError(msg)
        return self._keep(library, f"{name} was taken out of {self.own_file.name}.")

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
