"""Start a study: a ready plan or one of the maker's own, changed or not, the batches and the day."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.file_names import file_stem
from kit.inputs import REQUIRED, Choice, Day, Input, Tick, inputs_of
from kit.saving import Seen
from kit.stability.plan import limits_in_brief, plans
from kit.stability.plan_draft import Days, Limits, OwnPlace, OwnThing, PlanDraft, in_one_piece
from kit.stability.plan_files import ENDING, own_plans, read_plan, save_plan
from kit.stability.schedule import REMARK, missed_rows, past_points
from kit.stability.study import Study
from kit.widgets.form import Button, Form
from kit.widgets.html import problem, sheet, soft
from kit.widgets.kept_file import KeptFile

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from kit.formula.model import Formula
    from kit.stability.plan import Plan
    from kit.widgets.study_panel import StudyBench

#: The plan offered first.
FIRST_PLAN = "home-twelve-weeks"
DAYS = Input("days", "Days of the pulls", Days(), REQUIRED, example="0, 7, 14, 28")
#: What was read of pulls that are over when a study of the past is started.
UNSAID, NOTES, NOT_READ, LEFT = "", "notes", "not read", "left"
BEFORE = Choice(
    {
        UNSAID: "choose one",
        NOTES: "I have notes and bring them in next",
        NOT_READ: "nothing was read: record it, with the reason",
        LEFT: "leave these pulls as missed, for now",
    }
)
MANY, ONE = "layers", "one piece"
LAYERS = Choice({MANY: "layers", ONE: "one piece, as a shampoo or a lotion"})
LIMITED = Input("attribute", "Limits of", Choice({}), None)


class PlanForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Ticks for places and things to look at, the days, and the limits of one attribute.

    ``plan()`` is the plan as it is set here; ``changed`` is called after every change. What can be ticked is laid only
    when :meth:`lay` is called, by whoever unfolds the form.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._changed = changed
        self.draft = PlanDraft.of(plans()[FIRST_PLAN])
        self._is_laid = False
        self.places, self.things = (Form([], on_change=lambda _: changed()) for _ in range(2))
        self.days = Form([DAYS], on_change=lambda _: changed())
        add_place = Button("add", "Add this place", self._add_place)
        self.place = Form(OwnPlace, [add_place], fold="Another place")
        add_thing = Button("add", "Add this thing", self._add_thing)
        self.thing = Form(OwnThing, [add_thing], fold="Another thing to look at")
        set_limits = Button("set", "Set these limits", self._set_limits)
        self.limits = Form([LIMITED, *inputs_of(Limits)], [set_limits], on_change=self._limited)
        self.told = ipw.HTML()
        heads = [ipw.HTML(f"<b>{words}</b>") for words in ("Places", "Look at", "Limits")]
        parts = [self.days, heads[0], self.places, self.place, heads[1], self.things, self.thing]
        super().__init__([*parts, heads[2], self.limits, self.told])

    def show(self, ready: Plan) -> None:
        """Start from this plan."""
        self.draft = PlanDraft.of(ready)
        if self._is_laid:
            self.lay()

    def lay(self) -> None:
        """Lay the ticks and boxes for the plan in hand."""
        ready, self._is_laid = self.draft.ready, True
        self._lay([one.key for one in ready.conditions], [one.key for one in ready.attributes])
        self.days.set(days=tuple(point.days for point in ready.time_points))

    def plan(self) -> Plan:
        """The plan as it is set; the ready one itself where nothing was changed.

        Raises
        ------
        KitError
            Nothing is ticked, or the days cannot be read.
        """
        if not self._is_laid:
            return self.draft.ready
        return self.draft.plan(_ticked(self.places), _ticked(self.things), self.days.read()["days"])

    def _lay(self, places: list[str], things: list[str]) -> None:
        """A tick for all that can be chosen, and the attributes that can have limits."""
        draft = self.draft
        self.places.ask(Input(key, one.label, Tick(), key in places) for key, one in draft.conditions.items())
        self.things.ask(Input(key, one.title, Tick(), key in things) for key, one in draft.attributes.items())
        limited = [one for one in draft.attributes.values() if one.kind in ("number", "grade", "colour")]
        self.limits.offer("attribute", {one.key: one.title for one in limited})
        self._show_limits()

    def _add_place(self) -> str:
        place = OwnPlace(**self.place.read())
        self.draft = self.draft.with_place(place)
        self._lay([*_ticked(self.places), place.condition().key], _ticked(self.things))
        self.place.clear()
        self._changed()
        return f"Added {place.label}."

    def _add_thing(self) -> str:
        thing = OwnThing(**self.thing.read())
        self.draft = self.draft.with_thing(thing)
        made = thing.attribute()
        self._lay(_ticked(self.places), [*_ticked(self.things), made.key])
        self.thing.clear("label", "unit")
        self._changed()
        return f"Added {made.title}.{' Its limits can be set below.' if made.numeric else ''}"

    def _limited(self, names: tuple[str, ...]) -> None:
        if "attribute" in names:
            self._show_limits()

    def _show_limits(self) -> None:
        attribute = self.draft.attributes[self.limits["attribute"]]
        self.limits.set(**asdict(Limits.of(attribute)))
        for name in ("lower", "upper", "change"):
            self.limits.describe(name, unit=attribute.unit if attribute.kind == "number" else "")
        bounds = ["change"] if attribute.kind == "colour" else list(asdict(Limits()))
        self.limits.show("attribute", *bounds, "set")
        self.told.value = soft(f"Source of these limits: {attribute.source or 'none named'}. {attribute.how}")

    def _set_limits(self) -> str:
        key, limits = self.limits["attribute"], Limits(**asdict(Limits()) | _without(self.limits.read(), "attribute"))
        self.draft = self.draft.with_limits(key, limits)
        self.things.set(**{key: True})
        self._show_limits()
        self._changed()
        made = self.draft.attributes[key]
        return f"{made.label}: {limits_in_brief(made) or 'no limit'}."


class StartForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Start a study from a plan."""

    def __init__(self, bench: StudyBench, formula_title: str, bring_notes: Callable[[], None]) -> None:
        self.bench = bench
        self.formula_title = formula_title
        self._bring_notes = bring_notes
        self._plans: dict[str, Plan] = {}
        self._stands = MANY
        self.form = Form(
            [
                Input("plan", "Plan", Choice({}), None),
                Input("layers", "The product stands in", LAYERS, MANY),
                Input("title", "Title", default="", example="what is studied"),
                Input("batches", "Batches", default="", example="TL-01, TL-02"),
                Input("started_on", "Started on", Day(), None),
                Input("before", "Read before today", BEFORE, UNSAID, applies=self._is_past),
                Input("because", "It was not read because", default="", example="began late", applies=self._is_unread),
            ],
            [Button("start", "Start this study", self._start, primary=True)],
            on_change=lambda names: self._choose() if {"plan", "layers"} & {*names} else self._tell(),
            wide=("plan", "layers"),
        )
        self.form.set(title=formula_title, started_on=str(bench.today()))
        self.counted, self.about = ipw.HTML(), ipw.HTML()
        self.change = PlanForm(self._tell)
        name = Input("name", "Save as", default="", example="autumn")
        self.saving = Form([name], [Button("save", "Save this plan", self._save)])
        self._seen = Seen()
        self.kept = KeptFile(
            self._seen,
            path=lambda: Path(f"{file_stem(self.saving['name'])}{ENDING}"),
            save=self._save_to,
            copy=lambda path: save_plan(path, self._named_plan(path)),
            reopen=self._reopen,
            lists_saves=False,
        )
        own = ipw.VBox([self.change, self.saving, self.kept])
        self.change_box = ipw.Accordion([own], titles=("Change the plan first",), selected_index=None)
        self.change_box.observe(
            lambda change: self.change.lay() if change["new"] == 0 else None, names="selected_index"
        )
        super().__init__([self.form, self.counted, self.about, self.change_box])
        self.list_plans()

    def begin_with(self, formula: Formula) -> None:
        """Offer the title of a product, and whether it stands in layers, where nobody typed another."""
        before, self.formula_title = self.formula_title, formula.title
        if self.form["title"] == before:
            self.form.set(title=formula.title)
        stands = ONE if formula.description.is_one_piece else MANY
        if stands != self._stands:
            self._stands = stands
            self.form.set(layers=stands)
            self._choose()

    def list_plans(self, choose: str | None = None) -> None:
        """Offer the ready plans and those in the folder of this notebook."""
        ready = sorted(plans().values(), key=lambda plan: (plan.key != FIRST_PLAN, not plan.key.startswith("home")))
        own, troubles = own_plans(Path(), self._seen)
        self._plans = {plan.key: plan for plan in ready} | {f"own: {key}": plan for key, plan in own.items()}
        titles = {key: plan.title if key == plan.key else f"own: {plan.title}" for key, plan in self._plans.items()}
        self.form.offer("plan", titles)
        if choose is not None:
            self.form.set(plan=choose)
        self.form.tell("\n".join(troubles), "stop")
        self._choose()

    def _choose(self) -> None:
        plan = self._plans[self.form["plan"]]
        self.change.show(in_one_piece(plan) if self.form["layers"] == ONE else plan)
        self._tell()

    def _tell(self) -> None:
        try:
            plan = self.change.plan()
        except KitError as error:
            self.counted.value, self.about.value = "", problem(str(error))
            return
        self.counted.value = self._bottles_to_fill(plan) + self._gone_by(plan)
        places = "; ".join(condition.label for condition in plan.conditions)
        points = ", ".join(point.label for point in plan.time_points)
        rows = [
            [one.title, limits_in_brief(one), "optional" if one.optional else "", one.source] for one in plan.attributes
        ]
        head = soft(f"{plan.about} Kept in: {places}. Looked at: {points}. {plan.source}.")
        table = sheet(["what", "limits", "", "source of the limits"], rows)
        self.about.value = f"{head}<details><summary>{len(rows)} things to look at</summary>{table}</details>"

    def _names(self) -> list[str]:
        """The batches as they are typed, between commas or semicolons."""
        return [name.strip() for name in self.form["batches"].replace(";", ",").split(",") if name.strip()]

    def _bottles_to_fill(self, plan: Plan) -> str:
        """What the study would begin with, before it does: how many bottles, and that its day lies ahead."""
        names, places, day = self._names(), len(plan.conditions), self.form["started_on"]
        if not names:
            return ""
        said = f"{_count(len(names), 'batch', 'batches')} ({', '.join(names)}) in {_count(places, 'place', 'places')}: "
        ahead = f" The first pull lies ahead, on {day}." if day and day > str(self.bench.today()) else ""
        return soft(f"{said}{_count(len(names) * places, 'bottle', 'bottles')} to fill.{ahead}")

    def _is_past(self, values: Mapping[str, Any]) -> bool:
        return bool(values["started_on"]) and values["started_on"] < str(self.bench.today())

    def _is_unread(self, values: Mapping[str, Any]) -> bool:
        return self._is_past(values) and values["before"] == NOT_READ

    def _gone_by(self, plan: Plan) -> str:
        """What would be missed from the first day on, before it is."""
        if not self._is_past(self.form.values) or not self._names():
            return ""
        study = Study(
            0, "study", plan, tuple(dict.fromkeys(self._names())), date.fromisoformat(self.form["started_on"])
        )
        bottles = _count(len(study.batches) * len(plan.conditions), "bottle", "bottles")
        points = [point.label for point in past_points(study, self.bench.today())]
        if not points:
            return ""
        return soft(
            f"Over by now: {', '.join(f'{bottles} at {label}' for label in points)}. Say what was read of them."
        )

    def _save(self) -> str:
        name = self.saving["name"].strip()
        if not name:
            msg = "Give the plan a name first, such as 'autumn'."
            raise EntryError(msg)
        path = Path(f"{file_stem(name)}{ENDING}")
        if self.form["plan"] != f"own: {file_stem(name)}":
            self._seen.forget(path)
        return self.kept.save(path)

    def _named_plan(self, path: Path) -> Plan:
        return replace(self.change.plan(), key=path.name.removesuffix(ENDING), title=self.saving["name"].strip())

    def _save_to(self, path: Path) -> str:
        plan = self._named_plan(path)
        save_plan(path, plan, seen=self._seen)
        self.list_plans(choose=f"own: {plan.key}")
        return f"Saved {path.name} beside this notebook. It is among the plans from now on."

    def _reopen(self, path: Path) -> str:
        self.list_plans(choose=f"own: {self._seen.read(path, read_plan).key}")
        return f"Opened {path.name}."

    def _start(self) -> None:
        said = self.form.read()
        if said["started_on"] is None:
            msg = "Choose the day on which the study started."
            raise EntryError(msg)
        plan, before, reason = self.change.plan(), said.get("before"), said.get("because", "").strip()
        if before == UNSAID:
            msg = f"This study began before today, on {said['started_on']}. Choose what was read of it before today."
            raise EntryError(msg)
        if before == NOT_READ and not reason:
            msg = "Write why nothing was read, such as 'began late'. It is kept with each of these pulls."
            raise EntryError(msg)
        if before == NOT_READ and REMARK not in [one.key for one in plan.attributes]:
            msg = "This plan has no row for remarks, so a reason cannot be kept. Leave these pulls as missed."
            raise EntryError(msg)
        day = date.fromisoformat(said["started_on"])
        begun = self.bench.log.start_study(said["title"].strip(), plan, self._names(), day, self.formula_title)
        self.form.clear("before", "because")
        self.bench.read(begun.id, f"Started {begun.title}. {self._then(begun, before, reason)}")
        if before == NOTES:
            self._bring_notes()

    def _then(self, begun: Study, before: str | None, reason: str) -> str:
        """What comes after the start, in a sentence; what was not read before today is recorded as that."""
        if before == NOTES:
            return "Choose the file of your notes below, under Bring in old notes."
        if before == NOT_READ:
            try:
                report = self.bench.log.import_rows(begun.id, missed_rows(begun, reason, self.bench.today()))
            except KitError as error:
                return f"That nothing was read before today could not be recorded: {error}"
            return (
                f"Recorded as missed, with the reason: {_count(len(report.added), 'bottle', 'bottles')} of past pulls."
            )
        coming = [point for point in begun.plan.time_points if begun.due_on(point) >= self.bench.today()]
        if before == LEFT:
            return f"The next pull is due on {begun.due_on(coming[0])}." if coming else "Every pull of it is over."
        return f"The first pull is due on {begun.due_on(begun.plan.time_points[0])}."


def _ticked(form: Form) -> list[str]:
    return [key for key, on in form.values.items() if on]


def _without(values: Mapping[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in values.items() if key != name}


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"
