"""Start a study: a ready plan or one of the maker's own, changed or not, the batches and the day."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError, KitError
from kit.saving import Seen, file_stem
from kit.stability.plan import Plan, limits_in_brief, plans
from kit.stability.plan_files import ENDING, own_plans, read_plan, save_plan
from kit.widgets.html import done, problem, sheet
from kit.widgets.kept_file import KeptFile
from kit.widgets.panel import controls, offer, try_to
from kit.widgets.stability_plan_form import PlanForm

if TYPE_CHECKING:
    from kit.widgets.stability_panel import StabilityPanel

#: The plan offered first.
FIRST_PLAN = "home-twelve-weeks"


class StartForm(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Start a study from a plan."""

    def __init__(self, panel: StabilityPanel, formula_title: str) -> None:
        self.panel = panel
        self._plans: dict[str, Plan] = {}
        wide = {"width": "420px"}
        self.plan = ipw.Dropdown(description="Plan", layout=wide)
        self.title = ipw.Text(value=formula_title, description="Title", placeholder="what is studied")
        self.formula_title = formula_title
        self.batches = ipw.Text(description="Batches", placeholder="TL-01, TL-02")
        self.started_on = ipw.DatePicker(value=panel.today(), description="Started on")
        self.counted = ipw.HTML()
        self.start = ipw.Button(description="Start this study", button_style="primary", layout={"width": "auto"})
        self.about, self.message, self.plan_message = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.change = PlanForm(self._tell)
        self.name = ipw.Text(description="Save as", placeholder="autumn")
        self.save = ipw.Button(description="Save this plan", layout={"width": "auto"})
        self._seen = Seen()
        self.kept = KeptFile(
            self._seen,
            path=lambda: Path(f"{file_stem(self.name.value)}{ENDING}"),
            save=self._save_to,
            copy=lambda path: save_plan(path, self._named_plan(path)),
            reopen=self._reopen,
            lists_saves=False,
        )
        own = ipw.VBox([self.change, controls(self.name, self.save), self.plan_message, self.kept])
        self.change_box = ipw.Accordion([own], titles=("Change the plan first",), selected_index=None)
        super().__init__(
            [
                controls(self.plan, self.title, self.batches, self.started_on),
                self.counted,
                controls(self.start),
                self.message,
                self.about,
                self.change_box,
            ]
        )
        self.plan.observe(lambda _: self._choose(), names="value")
        for box in (self.batches, self.started_on):
            box.observe(lambda _: self._tell(), names="value")
        self.start.on_click(lambda _: try_to(self.message, self._start))
        self.save.on_click(lambda _: try_to(self.plan_message, self._save))
        self.change_box.observe(
            lambda change: self.change.lay() if change["new"] == 0 else None, names="selected_index"
        )
        self.list_plans()

    def list_plans(self, choose: str | None = None) -> None:
        """Offer the ready plans and those in the folder of this notebook."""
        ready = sorted(plans().values(), key=lambda plan: (plan.key != FIRST_PLAN, not plan.key.startswith("home")))
        own, troubles = own_plans(Path(), self._seen)
        self._plans = {plan.key: plan for plan in ready} | {f"own: {key}": plan for key, plan in own.items()}
        offer(
            self.plan,
            [(plan.title if key == plan.key else f"own: {plan.title}", key) for key, plan in self._plans.items()],
        )
        if choose is not None:
            self.plan.value = choose
        self.message.value = "".join(problem(trouble) for trouble in troubles)
        self._choose()

    def _choose(self) -> None:
        self.change.show(self._plans[self.plan.value])
        self._tell()

    def _tell(self) -> None:
        try:
            plan = self.change.plan()
        except KitError as error:
            self.counted.value, self.about.value = "", problem(str(error))
            return
        self.counted.value = self._bottles_to_fill(plan)
        places = "; ".join(condition.label for condition in plan.conditions)
        points = ", ".join(point.label for point in plan.time_points)
        rows = [
            [one.title, limits_in_brief(one), "optional" if one.optional else "", one.source] for one in plan.attributes
        ]
        head = (
            f'<div class="sw-subtitle">{escape(plan.about)} Kept in: {escape(places)}. Looked at: {escape(points)}. '
            f"{escape(plan.source)}.</div>"
        )
        table = sheet(["what", "limits", "", "source of the limits"], rows)
        self.about.value = f"{head}<details><summary>{len(rows)} things to look at</summary>{table}</details>"

    def _names(self) -> list[str]:
        """The batches as they are typed, between commas or semicolons."""
        return [name.strip() for name in self.batches.value.replace(";", ",").split(",") if name.strip()]

    def _bottles_to_fill(self, plan: Plan) -> str:
        """What the study would begin with, before it does: how many bottles, and that its day lies ahead."""
        names, places, day = self._names(), len(plan.conditions), self.started_on.value
        if not names:
            return ""
        said = f"{_count(len(names), 'batch', 'batches')} ({', '.join(names)}) in {_count(places, 'place', 'places')}: "
        ahead = f" The first pull lies ahead, on {day}." if day is not None and day > self.panel.today() else ""
        bottles = _count(len(names) * places, "bottle", "bottles")
        return f'<div class="sw-subtitle">{escape(said)}{bottles} to fill.{ahead}</div>'

    def _save(self) -> str:
        stem = file_stem(self.name.value)
        if not self.name.value.strip():
            msg = "Give the plan a name first, such as 'autumn'."
            raise EntryError(msg)
        path = Path(f"{stem}{ENDING}")
        if self.plan.value != f"own: {stem}":
            self._seen.forget(path)
        return self.kept.save(path)

    def _named_plan(self, path: Path) -> Plan:
        key = path.name.removesuffix(ENDING)
        return replace(self.change.plan(), key=key, title=self.name.value.strip())

    def _save_to(self, path: Path) -> str:
        plan = self._named_plan(path)
        save_plan(path, plan, seen=self._seen)
        self.list_plans(choose=f"own: {plan.key}")
        return f"Saved {path.name} beside this notebook. It is among the plans from now on."

    def _reopen(self, path: Path) -> str:
        self.list_plans(choose=f"own: {self._seen.read(path, read_plan).key}")
        return f"Opened {path.name}."

    def _start(self) -> None:
        if self.started_on.value is None:
            msg = "Choose the day on which the study started."
            raise EntryError(msg)
        begun = self.panel.logbook.start_study(
            self.title.value.strip(),
            self.change.plan(),
            self._names(),
            self.started_on.value,
            self.formula_title,
        )
        self.panel.list_studies(choose=begun.id)
        first = begun.due_on(begun.plan.time_points[0])
        self.panel.message.value = done(f"Started {begun.title}. The first pull is due on {first}.")


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"
