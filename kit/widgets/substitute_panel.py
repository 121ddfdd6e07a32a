"""What can take the place of a line: the nearest ingredients, or a blend, and what follows for the whole product."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.blends.properties import SCALES, Weights
from kit.blends.repair_wishes import line_names
from kit.blends.substitutes import matching_blend, swapped
from kit.errors import EntryError, KitError
from kit.findings import Finding, worst_first
from kit.inputs import Choice, Input, Number
from kit.layers.substance import WATER
from kit.library.ingredient import DENSITIES
from kit.product.mending import step_of, substitutes_of
from kit.visible_text import listed
from kit.widgets.effect_tables import effect_html
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, sheet
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.blends.substitutes import Substitute, SubstituteBlend, Substitutes
    from kit.widgets.panel import Source

WAYS = {"one": "one material", "two": "a blend of two", "three": "a blend of three"}
#: How many candidates can be chosen, and how many are shown with what they are unlike in.
TRIED, SHOWN = 60, 10


def _one(values: Mapping[str, Any]) -> bool:
    return bool(values["how"] == "one")


def _blend(values: Mapping[str, Any]) -> bool:
    return not _one(values)


INPUTS = (
    Input("line", "In place of", Choice({}), None),
    Input("how", "Take", Choice(WAYS, "switch"), "one"),
    Input("by", "Substitute", Choice({}), None, applies=_one),
    Input("density", "Density wanted", Number(*DENSITIES), None, "g/mL", example="as it is", applies=_blend),
    Input("viscosity", "Viscosity wanted", Number(0.3, 1e5), None, "mm²/s", example="as it is", applies=_blend,
          help="mPa·s divided by g/mL."),
)  # fmt: skip
UNITS = {"density": "g/mL", "viscosity": "mm²/s", "hlb": "HLB", "price": "per g"}


class SubstitutePanel(Panel):
    """Choose a line, weigh what matters, and see what is near, what is not known of it, and what would follow.

    Attributes
    ----------
    result
        What was found for the line; None where nothing is known of it.
    parts
        What would take its place: names with their shares. [%]
    """

    watches = ("formula", "library", "jurisdiction", "on", "prices", "balance", "known", "bottle")
    unhurried = True
    title = "What can take its place"
    subtitle = "the nearest ingredients by what matters, or a blend of them; nothing is changed until you take it"
    foot = (
        "Likeness after Gower (1971): the weighted mean over properties, each on its own scale; what is not known of a "
        "candidate counts as half unlike. Blends by least squares with shares of 0 or more that add to one (Lawson and "
        "Hanson 1974): density by ideal volumes, viscosity by blending numbers (Maples 2000), HLB and price by mass."
    )

    def __init__(self, source: Source = None) -> None:
        self.result: Substitutes | None = None
        self.parts: tuple[tuple[str, float], ...] = ()
        self.form = Form(
            INPUTS,
            [Button("take", "Take it", self._take, "Undo brings back what was.", primary=True)],
            on_change=self._chosen,
            wide=("line", "by"),
        )
        self.weights = Form(Weights, on_change=lambda _: self._changed(), fold="What counts, and how much")
        self.answer, self.near = ipw.HTML().add_class("sw-answer"), ipw.HTML()
        self.effects, self.findings = ipw.HTML(), ipw.HTML()
        super().__init__(source, [self.form, self.weights, self.answer, self.near, self.effects, self.findings])

    def _chosen(self, names: tuple[str, ...]) -> None:
        if "line" in names:
            self.form.set(by=None)  # the nearest of the new line comes first
        self._changed()

    def refresh(self) -> None:
        """Show what is near the chosen line."""
        self.result, self.parts = None, ()
        self.near.value = self.effects.value = self.findings.value = ""
        self.form.enable("take", can=False)
        formula = self.bench.formula
        names = line_names(formula)
        places = [(p, i) for p, i, line, _ in formula.each_line()]
        known = {place: name for place, name in zip(places, names, strict=True) if self._is_known(place)}
        was = self.form["line"]
        self.form.offer("line", known)
        if was not in known:  # nobody asks first what could take the place of water
            first = next((place for place, name in known.items() if name != WATER), self.form["line"])
            self.form.set(line=first)
        try:
            if not known:
                msg = "No line of this formula is an ingredient of the library. Add one first."
                raise EntryError(msg)
            weights = Weights(**self.weights.read())
            place = self.form["line"]
            self.result = found = substitutes_of(self.bench.product, place, weights, TRIED)
            findings = list(found.findings)
            self.near.value = near_table(found.found[:SHOWN])
            self.form.offer("by", {one.name: one.name for one in found.found})
            said = self._choose(found, weights, findings)
            after = replace(
                self.bench.product, formula=swapped(formula, place, self.parts, step_of(self.bench.product))
            )
        except KitError as error:
            self.answer.value = problem(str(error))
            if self.result is not None:
                self.findings.value = findings_list(worst_first(self.result.findings))
            return
        self.answer.value = said
        self.effects.value = effect_html(self.bench.product, after)
        self.findings.value = findings_list(worst_first(findings))
        self.form.enable("take", can=True)

    def _is_known(self, place: tuple[int, int]) -> bool:
        name = self.bench.formula.phases[place[0]].lines[place[1]].material
        return bool(name.strip()) and self.bench.product.materials.ingredient(name) is not None

    def _choose(self, found: Substitutes, weights: Weights, findings: list[Finding]) -> str:
        """What takes the place, in words; what is not known of it joins the findings."""
        if not found.found:
            msg = f"Nothing else in the library has a role of {found.wanted.name}, the same layer, and is permitted."
            raise EntryError(msg)
        if self.form["how"] == "one":
            chosen = next((one for one in found.found if one.name == self.form["by"]), found.found[0])
            self.parts = ((chosen.name, 100.0),)
            if chosen.unknown:
                sentence = f"Not known of {chosen.name}, and counted as half unlike: {', '.join(chosen.unknown)}."
                findings.append(Finding("caution", sentence))
            return sheet(
                ["in place of", "take", "unlike, 0 to 100"],
                [[found.wanted.name, chosen.name, f"{100 * chosen.unlike:.0f}"]],
                numbers=(2,),
            )
        typed = self.form.read("density", "viscosity")
        targets = {name: value for name, value in typed.items() if value is not None}
        blend = matching_blend(found, weights, targets=targets, most=2 if self.form["how"] == "two" else 3)
        self.parts = blend.parts
        findings += _left_out(blend)
        return blend_table(blend)

    def _take(self) -> str:
        if self.result is None or not self.parts:
            msg = "There is nothing to take."
            raise EntryError(msg)
        place, parts = self.form["line"], self.parts
        old = self.result.wanted.name
        step = step_of(self.bench.product)
        self.bench.edit(lambda formula: swapped(formula, place, parts, step))
        new = " + ".join(f"{share:.3g} % {name}" if len(parts) > 1 else name for name, share in parts)
        return f"{new} took the place of {old}. Undo brings it back."


def near_table(found: tuple[Substitute, ...]) -> str:
    """The candidates, and in what each is unlike; 100 is unlike in all."""
    columns = list(dict.fromkeys(name for one in found for name in one.parts))
    rows = [
        [
            one.name,
            f"{100 * one.unlike:.0f}",
            *("?" if (part := one.parts.get(name)) is None else f"{100 * part:.0f}" for name in columns),
        ]
        for one in found
    ]
    head = ["nearest", "unlike", *(SCALES[name][0] for name in columns)]
    caption = "0: the same, 100: wholly unlike, ?: not known of it"
    return sheet(head, rows, numbers=range(1, len(head)), caption=caption) if rows else ""


def blend_table(blend: SubstituteBlend) -> str:
    """The parts of a blend, and what it reaches."""
    parts = sheet(["take", "of the line, %"], [[name, f"{share:.2f}"] for name, share in blend.parts], numbers=(1,))
    rows = [
        [f"{SCALES[name][0]}, {UNITS[name]}", f"{wanted:.4g}", f"{reached:.4g}"]
        for name, (wanted, reached) in blend.reached.items()
    ]
    return parts + sheet(["property", "wanted", "reached"], rows, numbers=(1, 2))


def _left_out(blend: SubstituteBlend) -> list[Finding]:
    """Which of the nearest were not tried in the blend, by what is not known of them."""
    if not blend.left_out:
        return []
    lacking: dict[str, list[str]] = {}
    for name, words in list(blend.left_out.items())[:SHOWN]:
        lacking.setdefault(", ".join(words), []).append(name)
    told = "; ".join(f"{words} of {listed(names)}" for words, names in lacking.items())
    more = len(blend.left_out) - SHOWN
    rest = f", and of {more} that are less near" if more > 0 else ""
    sentence = f"Not tried in the blend, since this is not known: {told}{rest}. A weight of 0 lets them in."
    return [Finding("note", sentence)]
