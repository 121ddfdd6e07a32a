"""The exercises of a lesson: one at a time, typed answers, hints in steps, fresh numbers, a learner's progress."""

from __future__ import annotations

from datetime import UTC, datetime
from html import escape
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.course.catalogue import exercises_of
from kit.course.checking import LETTERS, Verdict, check, check_formula, formula_answer
from kit.course.draw import name_key
from kit.course.hand_in import MOST_BYTES, HandIn, hand_in_text, read_hand_in
from kit.course.pictures import MOST_PICTURES, Picture, picture_to_hand_in
from kit.course.progress import Progress, read_progress, save_progress
from kit.errors import EntryError, KitError
from kit.file_names import file_stem
from kit.formula.files.toml_file import save_toml
from kit.inputs import Choice, Input, Text
from kit.made_for import own_place
from kit.saving import rewrite
from kit.visible_text import listed
from kit.widgets.bench import Bench
from kit.widgets.form import Button, Form
from kit.widgets.html import done, problem, sheet, soft
from kit.widgets.panel import PanelBox

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.course.tasks import Exercise, Task
    from kit.formula.model import Formula
    from kit.widgets.panel import Source

FILE = "my_exercises.json"
STATES = {"right": "✓ right", "tried": "○ tried", "": "not yet tried"}


def now() -> str:
    """The moment, as the file keeps it."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


class ExercisesPanel(PanelBox):
    """Do the exercises of a lesson.

    Parameters
    ----------
    lesson
        Its number, such as "01".
    source
        The bench in hand, where an exercise asks for something to be set on it; otherwise the demo.
    name
        The learner's: her numbers follow from it. It can be typed, too.
    file
        Where her tries are kept.
    clock
        Gives the moment of a try.
    """

    title = "Exercises"
    foot = (
        "Right means: the number is right. What is computed here says nothing about a real product; weigh, measure and "
        "have it tested by qualified people."
    )

    def __init__(
        self,
        lesson: str,
        source: Source = None,
        *,
        name: str = "",
        file: str | Path = FILE,
        clock: Callable[[], str] = now,
    ) -> None:
        self.exercises, self.file, self._clock = exercises_of(lesson), Path(file), clock
        self.subtitle = f"lesson {lesson}, {len(self.exercises)} exercises; the numbers are drawn from your name"
        self._source, self._bench = source, None if source is None else Bench.of(source)
        self.progress, self._can_keep = Progress(name), ""
        self.pictures: tuple[Picture, ...] = ()
        self._again: dict[str, int] = {}
        self._hints = 0
        self._tried: set[tuple[str, int]] = set()
        keys = {one.key: f"{at} · {one.title}" for at, one in enumerate(self.exercises, start=1)}
        choices = (
            Input("name", "Your name", Text(), name, example="Ada"),
            Input("which", "Exercise", Choice(keys), self.exercises[0].key),
        )
        moves = [Button("next", "Next one", self._next), Button("fresh", "Fresh numbers", self._fresh)]
        moves += [
            Button("picture", "Add a picture", self._add_picture, "A photo or a chart.", file=".jpg,.jpeg,.png"),
            Button("no_pictures", "No pictures", self._no_pictures, "Those added so far are not handed in."),
            Button("hand_in", "Hand in", self._hand_in, "One file with your tries of every lesson and your pictures."),
        ]
        self.choose = Form(choices, moves, on_change=self._chosen, wide=["which"])
        self.asked, self.answer, self.message = ipw.HTML(), ipw.VBox(), ipw.HTML().add_class("sw-answer")
        self.said, self.list = ipw.HTML(), ipw.HTML()
        self.form: Form = Form([])
        super().__init__([self.choose, self.asked, self.answer, self.message, self.said, self.list])
        self._read()
        self._show()

    # ---- what is in hand --------------------------------------------------------------------------------

    @property
    def exercise(self) -> Exercise:
        """The exercise that is shown."""
        return next(one for one in self.exercises if one.key == self.choose["which"])

    @property
    def task(self) -> Task:
        """It, with the learner's numbers."""
        return self.exercise.task(self.progress.name, self._number)

    @property
    def _number(self) -> int:
        return self._again.get(self.choose["which"], 0)

    @property
    def bench(self) -> Bench:
        """The bench on which something is to be set."""
        if self._bench is None:
            self._bench = Bench.of(self._source)
        return self._bench

    def _read(self) -> None:
        """Take up what the learner's file holds."""
        self._can_keep = ""
        name = self.choose["name"]
        try:
            kept = read_progress(self.file)
        except KitError as error:
            self._can_keep = str(error)
            self.progress = Progress(name)
            return
        if not name and kept.name:
            self.choose.set(name=kept.name)
            name = kept.name
        mine = name_key(kept.name) == name_key(name)
        self.progress = Progress(name, kept.tries if mine else ())
        self._again = {one.key: max(one.again, self._again.get(one.key, 0)) for one in self.progress.tries}
        self._tried = {(one.key, one.again) for one in self.progress.tries}
        self.pictures = self.pictures or self._handed_in_before()

    def _handed_in_before(self) -> tuple[Picture, ...]:
        """The pictures of her file that was handed in before: they go with the next one, too."""
        name = self.progress.name.strip()
        try:
            with own_place(name, self._hand_in_file, take=False).path.open("rb") as file:
                given = read_hand_in(file.read(MOST_BYTES + 1))
        except (OSError, KitError):
            return ()
        return given.pictures if given.progress.name.strip() == name else ()

    @property
    def _hand_in_file(self) -> Path:
        return self.file.with_name(f"hand_in_{file_stem(self.progress.name.strip())}.json")

    # ---- what a hand does -------------------------------------------------------------------------------

    def _chosen(self, names: tuple[str, ...]) -> None:
        if "name" in names:
            self._again, self._tried = {}, set()
            self.pictures = () if self.progress.name.strip() else self.pictures
            self._read()
        self._show()

    def _next(self) -> None:
        keys = [one.key for one in self.exercises]
        at = keys.index(self.choose["which"])
        left = [key for key in (*keys[at + 1 :], *keys[: at + 1]) if key not in self.progress.right]
        self.choose.set(which=left[0] if left else keys[(at + 1) % len(keys)])
        self._show()

    def _fresh(self) -> str:
        self._again[self.choose["which"]] = self._number + 1
        self._show()
        return "Other numbers, the same exercise."

    def _add_picture(self, name: str, content: bytes) -> str:
        """Take a picture in; one of the same name takes the place of the earlier one."""
        fresh = picture_to_hand_in(name, content)
        others = tuple(one for one in self.pictures if one.name != name)
        if len(others) >= MOST_PICTURES:
            msg = f"{MOST_PICTURES} pictures can be handed in. Press 'No pictures' and choose anew."
            raise EntryError(msg)
        self.pictures = (*others, fresh)
        return f"To be handed in: {listed(one.name for one in self.pictures)}. The place is not in the pictures."

    def _no_pictures(self) -> str:
        self.pictures = ()
        return "No picture is handed in."

    def _hand_in(self) -> str:
        """Write one file for whoever marks; her formula goes with it where the panel was given a bench."""
        if not self.progress.name.strip() or not self.progress.tries:
            msg = "Type your name, and try an exercise; then there is something to hand in."
            raise EntryError(msg)
        formulas = (
            {}
            if self._source is None
            else {f"{file_stem(self.bench.formula.title)}.toml": _as_text(self.bench.formula)}
        )
        data = hand_in_text(HandIn(self.progress, formulas, self.pictures)).encode()
        place = own_place(self.progress.name.strip(), self._hand_in_file)
        rewrite(place.path, lambda _: data)
        count = len(self.pictures)
        more = f" and {count} {'picture' if count == 1 else 'pictures'}" if count else ""
        tries = f"{len(self.progress.tries)} {'try' if len(self.progress.tries) == 1 else 'tries'}"
        return f"Written to {place.words}: {tries}{more}. Give that file away."

    def _check(self) -> None:
        task, text = self.task, ""
        if task.goal is not None:
            verdict = check_formula(task, self.bench.formula)
            text = formula_answer(self.bench.formula)
        else:
            text = str(self.form["answer"] or "")
            verdict = check(task, text)
        self.message.value = done(verdict.sentence) if verdict.result == "right" else problem(verdict.sentence)
        if verdict.result != "unread":
            self._keep(text, verdict)
        self._show_list()

    def _keep(self, text: str, verdict: Verdict) -> None:
        key = self.choose["which"]
        self.progress = self.progress.with_try(key, self._number, text, verdict, self._hints, self._clock())
        self._tried.add((key, self._number))
        self.form.enable("solution", can=True)
        if self._can_keep:
            return
        try:
            save_progress(self.file, self.progress)
        except KitError as error:
            self._can_keep = str(error)

    def _hint(self) -> None:
        self._hints = min(self._hints + 1, len(self.task.hints))
        self._say()

    def _solve(self) -> None:
        self._say(self.task.solution)

    # ---- what is shown ----------------------------------------------------------------------------------

    def _show(self) -> None:
        task = self.task
        self._hints, self.message.value, self.said.value = 0, "", ""
        table = sheet(task.sheet[0], task.sheet[1:]) if task.sheet else ""
        letters = (
            ""
            if table
            else "".join(
                f"<div><b>{letter}</b> {escape(item)}</div>"
                for letter, item in zip(LETTERS, task.options, strict=False)
            )
        )
        self.asked.value = f"<p>{escape(task.text)}</p>{table}{letters}"
        buttons = [
            Button("check", "Check", self._check, primary=True),
            Button("hint", "A hint", self._hint),
            Button("solution", "The way to it", self._solve, "After a try of yours."),
        ]
        self.form = Form(_boxes(task), buttons, wide=["answer"] if task.options else [])
        self.form.enable("solution", can=(self.exercise.key, self._number) in self._tried)
        self.answer.children = (self.form,)
        self._show_list()

    def _say(self, solution: str = "") -> None:
        hints = [f"Hint {at}: {words}" for at, words in enumerate(self.task.hints[: self._hints], start=1)]
        lines = [soft(line) for line in hints]
        if solution:
            lines.append(f"<p><b>The way to it.</b> {escape(solution)}</p>")
        self.said.value = "".join(lines)

    def _show_list(self) -> None:
        right, tried = self.progress.right, self.progress.tried
        rows = [
            [f"{at} · {one.title}", STATES["right" if one.key in right else "tried" if tried[one.key] else ""], times]
            for at, one in enumerate(self.exercises, start=1)
            for times in [f"{tried[one.key] or ''}"]
        ]
        mine = {one.key for one in self.exercises}
        count = f"{len(right & mine)} of {len(mine)} right"
        kept = problem(f"Your tries are not kept. {self._can_keep}") if self._can_keep else ""
        where = "" if self._can_keep or not self.progress.tries else soft(f"Kept in {self.file.name}.")
        self.list.value = kept + sheet(["exercise", "", "tries"], rows, numbers=[2], caption=count) + where


def _as_text(formula: Formula) -> str:
    """A formula as the text of its file."""
    with TemporaryDirectory() as folder:
        save_toml(formula, Path(folder) / "formula.toml")
        return (Path(folder) / "formula.toml").read_text(encoding="utf-8")


def _boxes(task: Task) -> tuple[Input, ...]:
    """The box for an answer; none where something is to be set on the bench."""
    if task.goal is not None:
        return ()
    if isinstance(task.answer, float):
        return (Input("answer", "Your answer", Text(), "", task.unit, example="12.5"),)
    if isinstance(task.answer, tuple):
        return (Input("answer", "In order, as letters", Text(), "", example="B A C"),)
    offered: dict[Any, str] = {"": "choose", **{option: option for option in task.options}}
    return (Input("answer", "Your answer", Choice(offered), ""),)
