"""Explore the blends between the bottles: lines of equal score, the goals, the best blend and the next bottle."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from itertools import combinations
from random import Random
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.blends.designs import Bottle
from kit.blends.desirability import AIMS, Goal, best_blend, together
from kit.blends.into_formula import with_blend
from kit.blends.next_bottle import least_known, most_promising
from kit.errors import EntryError, KitError
from kit.figures.mixture import Sign, line_picture, triangle_picture
from kit.figures.triangle_cut import Cut
from kit.findings import Finding
from kit.inputs import REQUIRED, Choice, Input, Number
from kit.widgets.bench import Bench
from kit.widgets.blend_in_hand import BlendInHand
from kit.widgets.form import Button, Form
from kit.widgets.html import done, findings_list, problem, sheet, soft
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from kit.blends.desirability import Best
    from kit.blends.next_bottle import NextBottle
    from kit.blends.region import BlendRegion, Point
    from kit.blends.trial import BlendTrial
    from kit.widgets.panel import Source

#: In place of a score: the desirability of all goals together.
TOGETHER = "all goals together"


def _aims_at_one(values: Mapping[str, Any]) -> bool:
    return bool(values["aim"] == "target")


WORDS = {"more": "more is better", "less": "less is better", "target": "a target is best"}
GOAL = (
    Input("of", "Goal for", Choice({}), None),
    Input("aim", "What is wanted", Choice({aim: WORDS[aim] for aim in AIMS}), "more"),
    Input(
        "low", "From", Number(), REQUIRED, example="4", help="More: of no use at this or below. Less: enough at this."
    ),
    Input(
        "high", "To", Number(), REQUIRED, example="8", help="More: enough at this. Less: of no use at this or above."
    ),
    Input("target", "Target", Number(), REQUIRED, example="6", applies=_aims_at_one),
    Input("importance", "Importance", Number(0.1, 10), 1.0, help="Among the goals; 1 is the usual."),
)
WHY = {"improve": "where the most is to be hoped for", "learn": "where the models know least"}
NEXT = Input("why", "Next bottle", Choice(WHY, "switch"), "improve")


class BlendTrianglePanel(Panel):
    """The triangle of a trial, its goals, the best blend and the next bottle.

    Attributes
    ----------
    here
        The blend that the sliders show. [% w/w of the blend]
    best, following
        The best blend and the next bottle; None where nothing can be said.
    """

    watches = ("formula",)
    title = "Explore the blends"
    subtitle = "what the models say between the bottles, the best blend for your goals, and the next bottle"
    foot = (
        "Goals together by the desirability of Derringer and Suich (1980): each goal from 0, of no use, to 1, all that "
        "is wanted; together their geometric mean, so that one of no use makes all of no use. Ranges and chances from "
        "400 worlds that fit the scores as well (Peterson 2004). Next bottle: expected improvement (Jones, Schonlau "
        "and Welch 1998), or the largest variance of a foretold mean (Wynn 1970). Nothing is said beyond the bounds. A "
        "foretold blend is made and scored before it is believed, and a qualified person still tests the product."
    )

    def __init__(self, source: Source = None) -> None:
        bench = Bench.of(source)
        self.hand = BlendInHand.of(bench)
        self.here: Point = ()
        self.best: Best | None = None
        self.following: NextBottle | None = None
        self._known: tuple[object, ...] = ()
        self._region: BlendRegion | None = None
        self.shown = Form([Input("what", "Show", Choice({}), None), Input("cut", "On the triangle", Choice({}), None)],
                          on_change=lambda _: self._changed())  # fmt: skip
        self.sliders = Form([], on_change=lambda _: self._move())
        self.picture, self.answer = ipw.HTML(), ipw.HTML().add_class("sw-answer")
        self.goal = Form(
            GOAL,
            [
                Button("set", "Set this goal", self._set_goal, primary=True),
                Button("drop", "No goal for this", self._drop_goal),
            ],
            on_change=self._choose_goal,
        )
        self.goals, self.told = ipw.HTML(), ipw.HTML()
        add = Button("add", "Add it to the bottles", self._add, "It gets a code and waits for its scores")
        go = Button("go", "Show the best blend", self._go, "Move the sliders to it")
        into = Button("into", "Put the blend of the sliders into the formula", self._into, "Undo takes it back")
        self.next = Form([NEXT], [add, go, into], on_change=lambda _: self._changed())
        shown = [self.shown, self.sliders, self.answer, self.picture, self.goal, self.goals, self.told, self.next]
        super().__init__(bench, shown)
        self.hand.observe(lambda _: self._changed(), names=["trial", "models"])

    def refresh(self) -> None:
        """Show the trial in hand."""
        try:
            trial = self.hand.trial_there
            self._ask(trial)
            self._think(trial)
            self._draw(trial)
        except KitError as error:
            self.picture.value = self.goals.value = self.told.value = ""
            self.answer.value = problem(str(error))

    # ---- what is asked ----------------------------------------------------------------------------------

    def _ask(self, trial: BlendTrial) -> None:
        names = trial.region.names
        if trial.region != self._region:
            self._region, self.here = trial.region, trial.region.middle
            ends = [(part.low, part.high, max((part.high - part.low) / 200, 0.01)) for part in trial.region.tight]
            self.sliders.ask(
                Input(f"share{n}", name, Number(0, 100, digits=4), round(self.here[n], 2), "%", slide=ends[n])
                for n, name in enumerate(names[:-1])
            )
        every = {name: name for name in trial.scores}
        self.shown.offer("what", {**every, **({TOGETHER: TOGETHER} if trial.goals else {})})
        cuts = list(combinations(range(len(names)), 3))
        self.shown.offer("cut", {cut: ", ".join(names[n] for n in cut) for cut in cuts})
        self.shown.show(*(["what"] if trial.scores else []), *(["cut"] if len(cuts) > 1 else []))
        before = self.goal["of"]
        self.goal.offer("of", every)
        if self.goal["of"] != before:
            self._show_goal()

    def _think(self, trial: BlendTrial) -> None:
        """The best blend and the next bottle, worked out again only where trial, models or the choice changed."""
        known = (trial, dict(self.hand.models), self.next["why"])
        if self._known == known:
            return
        self._known = known
        self.best, self.following = None, None
        said = []
        goals = [(name, goal) for name, goal in trial.goals.items() if name in trial.scores]
        try:
            fits = [self.hand.fit(name) for name, _ in goals]
            if goals:
                self.best = best_blend(trial.region, fits, [goal for _, goal in goals])
            else:
                said.append(soft("Set a goal for a score, and the best blend is looked for."))
            self.following = self._next(trial, fits, [goal for _, goal in goals])
        except KitError as error:
            said.append(problem(str(error)))
        self.goals.value = _goals_sheet(trial, self.best)
        self.told.value = "".join([*said, self._best_in_words(trial), self._next_in_words(trial)])
        self.next.enable("add", can=self.following is not None)
        self.next.enable("go", can=self.best is not None)

    def _next(self, trial: BlendTrial, fits: Sequence[Any], goals: Sequence[Goal]) -> NextBottle | None:
        if self.next["why"] == "improve" and goals:
            return most_promising(trial.region, fits, goals)
        names = [name for name, values in trial.scores.items() if any(value is not None for value in values)]
        if not names:
            return None
        return least_known(trial.region, trial.points, self.hand.fit(names[0]).model)

    # ---- what is shown ----------------------------------------------------------------------------------

    def _scores(self, trial: BlendTrial, what: str) -> Callable[[Sequence[Point]], Any]:
        if what != TOGETHER:
            fit = self.hand.fit(what)
            return lambda points: fit.predict(points)[0]
        goals = [(self.hand.fit(name), goal) for name, goal in trial.goals.items() if name in trial.scores]
        return lambda points: together([goal for _, goal in goals], [fit.predict(points)[0] for fit, _ in goals])

    def _draw(self, trial: BlendTrial) -> None:
        what = self.shown["what"]
        blend = _shares(trial.region.names, self.here)
        if not trial.region.holds(self.here, 0.02):
            self.answer.value = problem(f"{blend}: this blend lies outside the bounds, so nothing is said of it.")
        else:
            self.answer.value = f"<div><b>{escape(blend)}</b></div>{soft(self._foretold(trial))}"
        signs = [Sign("here", self.here, blend)]
        if self.best is not None:
            signs.append(Sign("best", self.best.point, _shares(trial.region.names, self.best.point)))
        if self.following is not None:
            signs.append(Sign("next", self.following.point, _shares(trial.region.names, self.following.point)))
        try:
            scores = self._scores(trial, what) if what is not None else None
        except KitError as error:
            scores = None
            self.answer.value += problem(str(error))
        if len(trial.region.parts) == 2:
            can = scores is not None and what != TOGETHER
            self.picture.value = line_picture(trial.region, self.hand.fit(what), signs=signs) if can else ""
            return
        bottles = [(bottle.code, bottle.point) for bottle in trial.bottles]
        cut = Cut(trial.region, self.shown["cut"] or (0, 1, 2), self.here)
        self.picture.value = triangle_picture(cut, scores=scores, what=what or "", bottles=bottles, signs=signs)

    def _foretold(self, trial: BlendTrial) -> str:
        """What each model says of the blend here, with the ends between which its mean lies."""
        said = []
        for name in trial.scores:
            try:
                fit = self.hand.fit(name)
            except KitError:
                said.append(f"{name} is not modelled yet")
                continue
            mean, low, high = fit.interval(self.here)
            between = "" if fit.error is None else f" ({low:.3g} to {high:.3g}, 95 % for the mean)"
            said.append(f"{name} {mean:.3g}{between}")
        return "; ".join(said) + "." if said else "Nothing is scored yet."

    def _best_in_words(self, trial: BlendTrial) -> str:
        best = self.best
        if best is None:
            return ""
        shares = _shares(trial.region.names, best.point)
        said = f"Best for your goals: {shares}; desirability {best.desirability:.2f} of 1."
        if best.chance is None or best.ranges is None:
            more = [Finding("caution", "The scores leave nothing to judge by how sure this is. Score more bottles.")]
            return done(said) + findings_list(more)
        ranges = ", ".join(
            f"{name} {low:.3g} to {high:.3g} %"
            for name, (low, high) in zip(trial.region.names, best.ranges, strict=True)
        )
        sure = (
            f"In 95 of 100 worlds that fit the scores as well, the best blend has {ranges}. A bottle of it, made and "
            f"scored once, meets every goal at least in part with a chance {_chance(best.chance)}."
        )
        return done(said) + soft(sure)

    def _next_in_words(self, trial: BlendTrial) -> str:
        if self.following is None:
            return ""
        shares = _shares(trial.region.names, self.following.point)
        why = f"{self.following.sentence} After {self.following.source}."
        return done(f"Next bottle to try: {shares}.") + soft(why)

    # ---- what a hand does -------------------------------------------------------------------------------

    def _move(self) -> None:
        shares = [self.sliders[name] for name in self.sliders.inputs]
        if None not in shares:
            self.here = (*shares, 100.0 - sum(shares))
        self._changed()

    def _go(self) -> str:
        if self.best is not None:
            self.here = self.best.point
            self.sliders.set(**{f"share{n}": round(share, 4) for n, share in enumerate(self.here[:-1])})
            self._changed()
        return "The sliders show the best blend."

    def _into(self) -> str:
        names, here = self.hand.trial_there.region.names, self.here
        if not self.hand.trial_there.region.holds(here, 0.02):
            msg = "This blend lies outside the bounds, so it was not put into the formula."
            raise EntryError(msg)
        self.bench.edit(lambda formula: with_blend(formula, names, here))
        return (
            f"{self.bench.formula.title} holds {_shares(names, here)} of what they were together. Undo takes it back."
        )

    def _choose_goal(self, names: tuple[str, ...]) -> None:
        if "of" in names:
            self._show_goal()

    def _show_goal(self) -> None:
        trial = self.hand.trial
        goal = trial.goals.get(self.goal["of"]) if trial is not None else None
        if goal is None:
            self.goal.clear("aim", "low", "high", "target", "importance")
            return
        shown = {"aim": goal.aim, "low": goal.low, "high": goal.high, "importance": goal.importance}
        self.goal.set(**shown, **({"target": goal.target} if goal.target is not None else {}))

    def _set_goal(self) -> str:
        trial, values = self.hand.trial_there, self.goal.read()
        name = values["of"]
        if name is None:
            msg = "Nothing is scored yet. Name what is scored first."
            raise EntryError(msg)
        target = values.get("target") if values["aim"] == "target" else None
        goal = Goal(values["aim"], values["low"], values["high"], target, importance=values["importance"])
        self.hand.put(replace(trial, goals={**trial.goals, name: goal}))
        return f"{goal.in_words(name)}. Save the trial to keep it."

    def _drop_goal(self) -> str:
        trial, name = self.hand.trial_there, self.goal["of"]
        self.hand.put(replace(trial, goals={one: goal for one, goal in trial.goals.items() if one != name}))
        return f"No goal for {name} any more."

    def _add(self) -> str:
        trial = self.hand.trial_there
        if self.following is None:
            msg = "There is no next bottle to add. Score the bottles first."
            raise EntryError(msg)
        taken = {bottle.code for bottle in trial.bottles}
        number = max((bottle.number for bottle in trial.bottles), default=0) + 1
        free = [str(n) for n in range(100, 1000) if str(n) not in taken]
        code = Random(number).choice(free)  # a code, not a secret
        bottle = Bottle(number, code, self.following.point)
        scores = {name: (*values, None) for name, values in trial.scores.items()}
        self.hand.put(replace(trial, bottles=(*trial.bottles, bottle), scores=scores))
        return f"Bottle {number} has the code {code}. Make it, then score it."


def _goals_sheet(trial: BlendTrial, best: Best | None) -> str:
    """Each goal in words, with what the best blend makes of it."""
    found = {wanted.what: wanted for wanted in best.scores} if best is not None else {}
    rows = []
    for name, goal in trial.goals.items():
        at = found.get(name)
        said = (
            ["", "", ""]
            if at is None
            else [f"{at.mean:.3g}", f"{at.low:.3g} to {at.high:.3g}", f"{at.desirability:.2f}"]
        )
        rows.append([goal.in_words(name), f"{goal.importance:g}", *said])
    head = ["goal", "importance", "at the best blend", "95 % for its mean", "desirability"]
    return sheet(head, rows, numbers=(1, 2, 3, 4)) if rows else ""


def _shares(names: Sequence[str], point: Sequence[float]) -> str:
    return ", ".join(f"{name} {share:.3g} %" for name, share in zip(names, point, strict=True))


def _chance(value: float) -> str:
    """A chance in words; drawn worlds cannot tell all from nearly all."""
    if value > 0.99:
        return "above 99 %"
    return "below 1 %" if value < 0.01 else f"of about {100 * value:.0f} %"
