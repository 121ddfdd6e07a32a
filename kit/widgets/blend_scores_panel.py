"""Score the bottles of a trial, and see what the scores say: a model of each, and how far it can be trusted."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.blends.scheffe import MODELS
from kit.blends.trial import BlendTrial
from kit.blends.trial_file import pasted_scores
from kit.errors import EntryError, KitError
from kit.findings import worst_first
from kit.inputs import Choice, Input, Number, Text
from kit.widgets.bench import Bench
from kit.widgets.blend_in_hand import LIKELIEST, NONE_YET, BlendInHand, TrialFile
from kit.widgets.form import Button, Form
from kit.widgets.html import findings_list, problem, sheet, soft
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.blends.fit import BlendFit
    from kit.widgets.panel import Source

SCORED = Input(
    "scored", "What is scored", Text(), "", example="slip; shine", help="Names with a semicolon between them.",
)  # fmt: skip
PASTE = Input(
    "rows", "Paste scores", Text("lines"), "", example="code  slip  shine",
    help="A heading, then a row for each bottle by its code or number; from a spreadsheet, or with semicolons.",
)  # fmt: skip
SHOWN = (
    Input("of", "Model of", Choice({}), None),
    Input("model", "Model", Choice({LIKELIEST: "the one that foretells best", **{m: m for m in MODELS}}), LIKELIEST),
)
#: With more boxes than this, only those of the score on show are there.
MANY = 120


class BlendScoresPanel(Panel):
    """Scores in a table, pasted or typed, and Scheffé's models of them.

    Attributes
    ----------
    fit
        The model on show; None where the scores are not enough.
    """

    watches = ("formula",)
    title = "Score the blends"
    subtitle = "a score for each bottle, and what the scores say of the blends between them"
    foot = (
        "Models after Scheffé (1958, 1963), fitted by least squares; R² predicted from PRESS after Allen (1974). "
        "Taste by the codes alone: who knows the blends scores what is expected of them. A score says what these "
        "bottles were to this panel, not that a product is fit to be sold."
    )

    def __init__(self, source: Source = None) -> None:
        bench = Bench.of(source)
        self.hand = BlendInHand.of(bench)
        self.fit: BlendFit | None = None
        self.file = TrialFile(bench, self.hand)
        self.form = Form([SCORED], on_change=lambda _: self._name())
        self.boxes = Form([], on_change=self._type)
        self._asked: tuple[tuple[str, str], ...] = ()
        self.paste = Form([PASTE], [Button("take", "Take what was pasted", self._paste)], fold="Paste scores")
        self.shown = Form(SHOWN, on_change=self._choose)
        self.answer, self.quality, self.findings = ipw.HTML().add_class("sw-answer"), ipw.HTML(), ipw.HTML()
        self.coefficients, self.anova, self.bottles = ipw.HTML(), ipw.HTML(), ipw.HTML()
        shown = [self.shown, self.answer, self.findings, self.quality, self.coefficients, self.anova, self.bottles]
        super().__init__(bench, [self.file, self.form, self.boxes, self.paste, *shown])
        self.hand.observe(lambda _: self._changed(), names=["trial", "models"])

    def refresh(self) -> None:
        """Show the bottles with their scores, and the model chosen."""
        trial = self.hand.trial
        if trial is None:
            self._lay(None)
            self._say(problem(NONE_YET))
            return
        self.form.follow(scored="; ".join(trial.scores))
        self.shown.offer("of", {name: name for name in trial.scores})
        name = self.shown["of"]
        self._lay(trial)
        if name is None:
            self._say(problem("Nothing is scored yet. Name what is scored above, such as slip; shine."))
            return
        self.shown.set(model=self.hand.models.get(name, LIKELIEST))
        try:
            self.fit = self.hand.fit(name)
        except KitError as error:
            self._say(problem(str(error)))
            return
        self._show(self.fit, trial)

    def _say(self, html: str) -> None:
        """Say this in place of a model."""
        self.fit = None
        self.answer.value = html
        for part in (self.findings, self.quality, self.coefficients, self.anova, self.bottles):
            part.value = ""

    # ---- scores -----------------------------------------------------------------------------------------

    def _name(self) -> None:
        """Take the names of what is scored; scores that stand under a name stay with it."""
        trial = self.hand.trial_there
        names = [name.strip() for name in self.form["scored"].split(";") if name.strip()]
        if len({name.casefold() for name in names}) < len(names):
            twice = next(name for name in names if [one.casefold() for one in names].count(name.casefold()) > 1)
            msg = f"{twice} is there twice. Give each score a name of its own."
            raise EntryError(msg)
        for name, values in trial.scores.items():
            if name not in names and any(value is not None for value in values):
                self.form.set(scored="; ".join(trial.scores))
                msg = f"{name} has scores, so it stays. Empty them first, or open another trial."
                raise EntryError(msg)
        empty = (None,) * len(trial.bottles)
        scores = {name: trial.scores.get(name, empty) for name in names}
        goals = {name: goal for name, goal in trial.goals.items() if name in scores}
        self.hand.put(BlendTrial(trial.region, trial.bottles, scores, goals))

    def _lay(self, trial: BlendTrial | None) -> None:
        """A box for each score of each bottle, in the order of making; a text that is no number stays as it is."""
        names = list(trial.scores) if trial is not None else []
        bottles = trial.bottles if trial is not None else ()
        here = [n for n, name in enumerate(names) if len(names) * len(bottles) <= MANY or name == self.shown["of"]]
        asked = tuple((f"s{b}_{n}", f"{bottle.code} {names[n]}") for b, bottle in enumerate(bottles) for n in here)
        if asked != self._asked:
            self._asked = asked
            self.boxes.ask(Input(key, words, Number(), None) for key, words in asked)
        if trial is not None:
            self.boxes.follow(**{f"s{b}_{n}": trial.scores[names[n]][b] for b in range(len(bottles)) for n in here})

    def _type(self, keys: tuple[str, ...]) -> None:
        """Take the boxes that a hand filled, emptied or changed."""
        trial = self.hand.trial_there
        names = list(trial.scores)
        for key in keys:
            bottle, name = (int(number) for number in key.removeprefix("s").split("_"))
            values = list(trial.scores[names[name]])
            values[bottle] = self.boxes[key]
            trial = trial.with_scores(names[name], values)
        self.hand.put(trial)

    def _paste(self) -> str:
        trial = pasted_scores(self.paste["rows"], self.hand.trial_there)
        self.hand.put(trial)
        self.paste.clear("rows")
        return "The scores are in the table above. Save keeps them."

    # ---- the model --------------------------------------------------------------------------------------

    def _choose(self, names: tuple[str, ...]) -> None:
        if "model" in names and self.shown["of"] is not None:
            self.hand.choose(self.shown["of"], self.shown["model"])
        self._changed()

    def _show(self, fit: BlendFit, trial: BlendTrial) -> None:
        self.answer.value = f"<div><b>A {fit.model} model of {len(fit.values)} bottles</b></div>{soft(fit.equation)}"
        self.findings.value = findings_list(worst_first([*trial.findings, *fit.findings]))
        self.quality.value = sheet(
            ["how well it fits", ""],
            [
                ["R²", f"{fit.r2:.3f}"],
                ["R² adjusted", _number(fit.r2_adjusted)],
                ["R² predicted, each bottle from the others", _number(fit.r2_predicted)],
                ["standard deviation of a bottle about the model", _number(fit.error)],
            ],
            numbers=(1,),
        )
        self.coefficients.value = sheet(
            ["term", "estimate", "standard error", "t", "chance"],
            [
                [one.name, f"{one.estimate:.4g}", _number(one.error), _number(one.t), _chance(one.chance)]
                for one in fit.coefficients
            ],
            numbers=(1, 2, 3, 4),
            caption="of a part: its score alone, if the model reached so far; of two or three: what blending adds",
        )
        self.anova.value = sheet(
            ["variation of", "degrees of freedom", "sum of squares", "mean square", "F", "chance"],
            [
                [
                    row.source,
                    str(row.freedom),
                    f"{row.squares:.4g}",
                    f"{row.mean:.4g}",
                    _number(row.f, ""),
                    _chance(row.chance),
                ]
                for row in fit.anova
            ],
            numbers=(1, 2, 3, 4, 5),
            caption="about the mean of all bottles",
        )
        scored = [bottle for n, bottle in enumerate(trial.bottles) if n not in fit.left_out]
        self.bottles.value = sheet(
            ["bottle", "score", "by the model", "off by", "leverage", "note"],
            [
                [bottle.code, f"{value:.4g}", f"{value - off:.4g}", f"{off:+.2g}", f"{leverage:.2f}", bottle.note]
                for bottle, value, off, leverage in zip(scored, fit.values, fit.residuals, fit.leverages, strict=True)
            ],
            numbers=(1, 2, 3, 4),
            caption="leverage: how much of what the model says of a bottle is that bottle's own score, from 0 to 1",
        )


def _number(value: float | None, unknown: str = "not known") -> str:
    return unknown if value is None else f"{value:.3g}"


def _chance(value: float | None) -> str:
    return "" if value is None else "<\N{NO-BREAK SPACE}0.001" if value < 0.001 else f"{value:.3f}"
