"""Plan a trial of blends: parts and bounds in, bottles to make out, with all that is to be weighed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.blends.bottles import weigh_bottles
from kit.blends.designs import bottles_of, constrained_design, simplex_centroid, simplex_lattice
from kit.blends.exchange import candidates, d_optimal
from kit.blends.hlb import oils_of
from kit.blends.region import MOST, BlendRegion, Part
from kit.blends.scheffe import MODELS, model_terms
from kit.blends.trial import BlendTrial
from kit.errors import EntryError, KitError
from kit.figures.mixture import triangle_picture
from kit.figures.triangle_cut import Cut
from kit.findings import worst_first
from kit.inputs import Amount, Choice, Input, Number, Text, count
from kit.made_for import own_place
from kit.numbers import split_number
from kit.papers.blend_bottles import TrialInMaking
from kit.papers.registry import make_paper
from kit.papers.writing import write_paper
from kit.rounding import all_digits
from kit.widgets.bench import Bench
from kit.widgets.blend_in_hand import BlendInHand, TrialFile
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, sheet, soft
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from kit.blends.bottles import BottlesToMake
    from kit.blends.designs import Bottle
    from kit.blends.region import Point
    from kit.widgets.panel import Source

HOW = {
    "bounds": "corners and middles within bounds",
    "few": "the best few (D-optimal)",
    "lattice": "simplex-lattice",
    "centroid": "simplex-centroid",
}
#: So many oils of the formula are proposed as parts.
PROPOSED = 3


def _there(number: int) -> Callable[[Mapping[str, Any]], bool]:
    """Whether a part is asked for: the first two always, then each after a part that is named."""
    return lambda values: number < 2 or bool(str(values[f"part{number - 1}"] or "").strip())


def _if(**wanted: str) -> Callable[[Mapping[str, Any]], bool]:
    return lambda values: all(values[name] == value for name, value in wanted.items())


PARTS = tuple(
    one
    for n in range(MOST)
    for one in (
        Input(f"part{n}", f"Part {n + 1}", Text("name"), "", example="Squalane", applies=_there(n)),
        Input(f"low{n}", f"Part {n + 1}, at least", Number(0, 100), 0.0, "%", applies=_there(n)),
        Input(f"high{n}", "at most", Number(0, 100), 100.0, "%", applies=_there(n)),
    )
)
PLAN = (
    Input("how", "Which blends", Choice(HOW, "switch"), "bounds"),
    Input("degree", "Steps along an edge", count(1, 10), 2, applies=_if(how="lattice")),
    Input("bottles", "How many bottles", count(2, 60), 10, applies=_if(how="few"), help="A blend may come twice."),
    Input("model", "To fit", Choice({model: f"a {model} model" for model in MODELS}), "quadratic",
          applies=_if(how="few")),
    Input("times", "Each blend", count(1, 9), 1, "times", help="Only blends made twice show the scatter."),
    Input("seed", "Order by chance no.", count(0, 99999), 1, help="The same number gives the same order and codes."),
    Input("grams", "Each bottle holds", Amount("g", 0.1, 1e5), 20.0, "g"),
    Input("spare", "To spare", Number(0, 100), 5.0, "%", help="What stays in spoons and pipettes."),
    Input("besides", "In every bottle besides", Text("lines"), "", example="Tocopherol 0.5",
          help="A material and its percent of the bottle on each line; the blend takes the rest."),
)  # fmt: skip
READY = "The plan is in hand now"


class BlendDesignPanel(Panel):
    """Two to five parts with bounds, a design, and the bottles to make.

    Attributes
    ----------
    bottles
        As they would be made; none where the plan is impossible.
    made
        What is weighed for them; None likewise.
    """

    watches = ("formula", "library", "balance", "tolerance")
    title = "Plan a trial of blends"
    subtitle = "which blends to make, in which order, and what to weigh for all of them"
    foot = (
        "Simplex-lattice and simplex-centroid after Scheffé (1958, 1963), extreme vertices after McLean and Anderson "
        "(1966), D-optimal choice by exchange after Fedorov (1972). Weighing: USP general chapter 41 with the "
        "tolerance of the bench."
    )

    def __init__(self, source: Source = None) -> None:
        bench = Bench.of(source)
        self.hand = BlendInHand.of(bench)
        self.bottles: tuple[Bottle, ...] = ()
        self.made: BottlesToMake | None = None
        self.file = TrialFile(bench, self.hand)
        wide = [f"part{n}" for n in range(MOST)]
        self.parts = Form(PARTS, on_change=lambda _: self._changed(), wide=wide)
        take = Button(
            "take", "Take these bottles", self._take, "Let the other panels score and model them", primary=True
        )
        write = Button("write", "Write the making sheet", self._write, "One HTML file to print")
        self.plan = Form(PLAN, [take, write], on_change=lambda _: self._changed(), wide=("besides",))
        self.answer, self.findings = ipw.HTML().add_class("sw-answer"), ipw.HTML()
        self.picture, self.need, self.table = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self._propose(bench.formula)
        shown = [self.answer, self.findings, self.picture, self.need, self.table]
        super().__init__(bench, [self.file, self.parts, self.plan, *shown])
        self.hand.observe(lambda _: self._follow(), names="trial")

    def _propose(self, formula: Any) -> None:
        """Parts to begin with: those of the trial in hand, or the oils of the formula, the most of them first."""
        if self.hand.trial is not None:
            found = [(part.name, part.low, part.high) for part in self.hand.trial.region.parts]
        else:
            oils = sorted(oils_of(formula).items(), key=lambda one: -one[1])[:PROPOSED]
            found = [(name, 0.0, 100.0) for name, _ in oils]
        for n in range(MOST):
            name, low, high = found[n] if n < len(found) else ("", 0.0, 100.0)
            self.parts.set(**{f"part{n}": name, f"low{n}": low, f"high{n}": high})

    def _follow(self) -> None:
        """A trial that was opened or taken back shows its parts."""
        trial = self.hand.trial
        if trial is not None and trial.region != self._region_or_none():
            self._propose(self.bench.formula)
            self._changed()

    def region(self) -> BlendRegion:
        """The region as it is typed; a KitError says what is wrong with it."""
        values = self.parts.read()
        named = [n for n in range(MOST) if str(values.get(f"part{n}") or "").strip()]
        return BlendRegion(
            tuple(Part(values[f"part{n}"].strip(), values[f"low{n}"], values[f"high{n}"]) for n in named)
        )

    def _region_or_none(self) -> BlendRegion | None:
        try:
            return self.region()
        except KitError:
            return None

    def points(self, region: BlendRegion) -> tuple[Point, ...]:
        """The blends of the design as it is chosen."""
        plan = self.plan.read()
        if plan["how"] == "few":
            return d_optimal(candidates(region), plan["bottles"], plan["model"], seed=plan["seed"]).points
        if plan["how"] == "lattice":
            return simplex_lattice(region, plan["degree"]).points
        return (simplex_centroid(region) if plan["how"] == "centroid" else constrained_design(region)).points

    def refresh(self) -> None:
        """Show the bottles as they would be made."""
        self.bottles, self.made = (), None
        oils = sorted(one.inci for one in self.bench.library if one.phase == "oil")
        for n in range(MOST):
            self.parts.offer(f"part{n}", oils)
        try:
            region = self.region()
            self._lay(region)
        except KitError as error:
            self.answer.value = problem(str(error))
            self.findings.value = self.picture.value = self.need.value = self.table.value = ""
            return
        assert self.made is not None
        self.answer.value = self._in_words(region)
        self.findings.value = findings_list(worst_first([*region.findings, *self.made.findings]))
        self.picture.value = self._picture(region)
        self._show_weighings(self.made)

    def _lay(self, region: BlendRegion) -> None:
        plan = self.plan.read()
        self.bottles = bottles_of(self.points(region), plan["times"], plan["seed"])
        self.made = weigh_bottles(
            self.bottles, region.names, f"{all_digits(plan['grams'])} g", self.bench.balance, self.bench.tolerance,
            base=besides(plan["besides"]), spare=plan["spare"],
        )  # fmt: skip

    def _in_words(self, region: BlendRegion) -> str:
        many, different = len(self.bottles), len({bottle.point for bottle in self.bottles})
        parts = len(region.parts)
        enough = [model for model in MODELS if len(model_terms(parts, model)) <= different]
        if len(region.free) < parts:
            enough = []
        models = f"enough for a {enough[-1]} model" if enough else "not enough for any model"
        judged = many - (len(model_terms(parts, enough[-1])) if enough else 0)
        error = f", with {judged} left to judge its error by" if enough and judged else ""
        none = (
            "" if judged else "; none is left to judge its error by, so make each blend twice or choose a simpler model"
        )
        said = f"<b>{many} bottles of {different} blends</b>, {models}{error}{none if enough else ''}."
        return f"<div>{said}</div>"

    def _picture(self, region: BlendRegion) -> str:
        if len(region.parts) < 3:
            return ""
        shown = triangle_picture(
            Cut(region, (0, 1, 2), region.middle), bottles=[(one.code, one.point) for one in self.bottles]
        )
        more = (
            "The other parts are held at the middle; bottles beside this cut are pale." if len(region.parts) > 3 else ""
        )
        return shown + (soft(more) if more else "")

    def _show_weighings(self, made: BottlesToMake) -> None:
        places = max(batch.places for batch in made.batches)
        self.need.value = sheet(
            ["have on the bench", "in all bottles, g", f"with {made.spare:g} % to spare, g"],
            [[name, f"{made.totals[name]:.{places}f}", f"{made.need[name]:.{places}f}"] for name in made.names],
            numbers=(1, 2),
        )
        rows = []
        for bottle, weighed, batch in zip(made.bottles, made.grams, made.batches, strict=True):
            cells = [f"{grams:.{places}f}" if grams else "none" for grams in weighed]
            rows.append([str(bottle.number), bottle.code, *cells, f"{batch.mass:.{places}f}"])
        self.table.value = sheet(
            ["no.", "code", *(f"{name}, g" for name in made.names), "together, g"],
            rows,
            numbers=(0, *range(2, len(made.names) + 3)),
            caption="in the order of making; the code goes on the bottle, so that nobody who scores reads the order",
        )

    def _take(self) -> str:
        region = self.region()
        self._lay(region)
        before = self.hand.trial
        scored = dict.fromkeys(before.scores if before else (), (None,) * len(self.bottles))
        self.hand.put(BlendTrial(region, self.bottles, scored, before.goals if before else {}))
        left = before is not None and any(value is not None for values in before.scores.values() for value in values)
        return f"{READY}. Save keeps it." + (" The one before had scores: Undo brings it back." if left else "")

    def _write(self) -> str:
        region = self.region()
        self._lay(region)
        assert self.made is not None
        scored = tuple(self.hand.trial.scores) if self.hand.trial else ()
        about = TrialInMaking(self.made, self.bench.product.materials, self.bench.formula.title, scored)
        paper = make_paper("blend_bottles", about)
        place = own_place(self.bench.formula.title, Path(f"{paper.name}.html"))
        write_paper(paper.html, place.path)
        return f"Wrote {place.words}. Open it in a browser and print."


def besides(text: str) -> dict[str, float]:
    """What every bottle holds besides the blend, a line each: "Tocopherol 0.5".

    Raises
    ------
    EntryError
        A line has no name, no number, or a name that stands there already.

    Examples
    --------
    >>> besides("Tocopherol 0,5 %")
    {'Tocopherol': 0.5}
    """
    found: dict[str, float] = {}
    for n, row in enumerate(text.splitlines(), start=1):
        words = row.replace("%", " ").split()
        if not words:
            continue
        name = " ".join(words[:-1])
        try:
            number, unit = split_number(words[-1])
        except KitError as error:
            msg = (
                f"In every bottle besides, line {n}: {error} Write a material and its percent, such as Tocopherol 0.5."
            )
            raise EntryError(msg) from error
        if not name or unit or name.casefold() in {one.casefold() for one in found}:
            msg = (
                f"In every bottle besides, line {n}: write each material once with its percent, such as Tocopherol 0.5."
            )
            raise EntryError(msg)
        found[name] = number
    return found
