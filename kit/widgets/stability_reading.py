"""Record the readings of a pull: type row by row, and hear what is odd before it is saved."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import ipywidgets as ipw
import traitlets

from kit.errors import EntryError, KitError, StoreError
from kit.inputs import Choice, Day, Input, count
from kit.stability.check import findings_for, findings_for_date, said
from kit.stability.in_hand import EVERY
from kit.stability.plan import limits_in_brief, what_to_type
from kit.stability.reading import read_value
from kit.stability.schedule import MISSED, REMARK, note_with_schedule, off_schedule
from kit.widgets.form import Button, Form
from kit.widgets.html import done, findings_list, problem, soft
from kit.widgets.odd_day import OddDay
from kit.widgets.reading_rows.rows import ReadingRows
from kit.widgets.study_panel import StudyPart
from kit.widgets.views import finding_view

if TYPE_CHECKING:
    from kit.stability.in_hand import Bottle, StudyInHand
    from kit.stability.plan import Attribute
    from kit.stability.study import Observation, Study
    from kit.widgets.reading_rows.rows import GroupView, RowView, Said
    from kit.widgets.study_panel import StudyBench

AGAIN = "2 where the same thing is measured a second time at the same pull."
CHOSEN = [
    Input("label", "Pull", Choice({}), ""),
    Input("bottle", "Bottle", Choice({}), None),
    Input("look_at", "Look at", Choice({}), EVERY),
    Input("measurement", "Measurement no.", count(1, 9), 1, help=AGAIN),
]
SEEN = [
    Input("observed_on", "Seen on", Day(), None),
    Input("by", "By", default="", example="initials"),
    Input("note", "Note", default=""),
]


class ReadingForm(StudyPart):
    """One row for each bottle and attribute of a pull; what was typed and is not saved stays in its box."""

    follows_choice = True

    def __init__(self, bench: StudyBench) -> None:
        self._today = bench.today()  # what the panel itself put into the box for the day
        self._proposed = ("", "")  # the pull that a hand chose, and the day of its own that was put there for it
        self.form = Form([*CHOSEN, *SEEN], on_change=self._chosen, wide=("label", "bottle", "note"))
        self.form.set(observed_on=str(self._today))
        self.rows = ReadingRows()
        traitlets.link((bench, "texts"), (self.rows, "texts"))
        help_words = "For the bottle above; write the reason into the note first"
        self.missed = Form([], [Button("missed", "Record as missed", self._missed, help_words)])
        self.date_findings, self.message = ipw.HTML(), ipw.HTML()
        self.odd_day = OddDay(self.save)
        told = [self.message, self.odd_day, self.missed]
        super().__init__(bench, [self.form, self.date_findings, self.rows, *told])
        self._unsaved: dict[str, str] = {}
        self.rows.observe(lambda _: self._tell(), names="texts")
        self.rows.on_save(self.save)

    def _chosen(self, names: tuple[str, ...]) -> None:
        chosen = {one.name: self.form[one.name] for one in CHOSEN}
        if "by" in names:
            self.bench.choose(by=self.form["by"].strip())
        if set(names) & set(chosen):
            self.bench.choose(**chosen)
        if "label" in names and "observed_on" not in names:
            self._propose_day()
        self._look_at_date()

    def _propose_day(self) -> None:
        """A pull that a hand chose proposes its day: today, or its own where that is over."""
        hand = self.bench.hand
        day = str(hand.likely_day)
        self._proposed = (hand.label, day) if day != str(hand.today) else ("", "")
        self.form.set(observed_on=day)

    def _leave_proposed(self, hand: StudyInHand) -> None:
        """Where the panel has gone on to another pull, what it proposed for the last one holds no more."""
        label, day = self._proposed
        if label and label != hand.label:
            self._proposed = ("", "")
            if self.form["observed_on"] == day:
                self.form.set(observed_on=str(self._today))

    def day(self) -> date:
        """The day on which it was seen.

        Raises
        ------
        EntryError
            None is chosen, or one that has not come yet.
        """
        found = self.form.read("observed_on")["observed_on"]
        if found is None:
            msg = "Nothing was saved. Choose the day on which it was seen."
            raise EntryError(msg)
        if date.fromisoformat(found) > self.bench.today():
            msg = f"Nothing was saved. {found} has not come yet. Check the day on which it was seen."
            raise EntryError(msg)
        return date.fromisoformat(found)

    def _follow_today(self) -> str:
        """Where the day is still the one the panel put there and that day is over, put the new one; say so."""
        before, today = self._today, self.bench.today()
        self._today = today
        if self.form["observed_on"] != str(before) or before == today:
            return ""
        self.form.set(observed_on=str(today))
        return f"A new day has begun: seen on {today}."

    # ---- what is on show ----------------------------------------------------------------------------------

    def show(self, hand: StudyInHand) -> None:
        """Offer what this study lacks and lay the rows of the bottle in hand; rows that are unchanged stay."""
        assert hand.study is not None
        self._follow_today()
        self._leave_proposed(hand)
        attributes = {one.key: one.title for one in hand.study.plan.attributes}
        for name, options in (
            ("label", hand.pulls), ("bottle", hand.bottles), ("look_at", {EVERY: "every row", **attributes})
        ):  # fmt: skip
            self.form.offer(name, options)
            self.form.set(**{name: getattr(hand, name) or None})
        view = {"groups": self._groups(hand), "save": "Save these readings" if hand.label else ""}
        if view != self.rows.view:
            self.rows.view = view
        self._tell()
        self._look_at_date()

    def _groups(self, hand: StudyInHand) -> list[GroupView]:
        bottles = hand.bottles_in_hand
        groups: list[GroupView] = []
        for bottle in bottles:
            title = hand.place(bottle)
            rows = [self._row(hand, bottle, one, title if len(bottles) > 1 else "") for one in hand.wanted(bottle)]
            if rows:
                groups.append({"title": title, "rows": rows})
        return groups

    def _row(self, hand: StudyInHand, bottle: Bottle, attribute: Attribute, where: str) -> RowView:
        before, start = hand.earlier(bottle, attribute.key)
        return {
            "key": hand.key(bottle, attribute.key),
            "name": f"{attribute.label}, {where}" if where else attribute.label,
            "label": attribute.label,
            "unit": attribute.unit,
            "hint": what_to_type(attribute),
            "how": attribute.how,
            "limits": limits_in_brief(attribute),
            "before": f"{before.value} at {before.time_point}" if before and before is not start else "",
            "start": start.value if start else "",
            "optional": attribute.optional,
        }

    def _tell(self) -> None:
        """Say what is odd about each row on show."""
        hand, told = self.bench.hand, {}
        for key in self.rows.keys_on_show:
            bottle, attribute = hand.row(key)
            _, start = hand.earlier(bottle, attribute.key)
            told[key] = said_about(attribute, self.rows.texts.get(key, ""), start.value if start else None)
            if (trouble := self._unsaved.get(key)) and not told[key]["findings"]:
                told[key]["findings"].append({"severity": "stop", "sentence": trouble, "source": ""})
        if told != self.rows.said:
            self.rows.said = told

    def _look_at_date(self) -> None:
        hand, day = self.bench.hand, self.form["observed_on"]
        self.date_findings.value = ""
        self.odd_day.take_back()
        if hand.study is None or not hand.label:
            return
        if day is None:
            self.date_findings.value = problem("Choose the day on which it was seen.")
            return
        study, seen, today = hand.study, date.fromisoformat(day), self.bench.today()
        point = study.plan.time_point(hand.label)
        off = off_schedule(study, point, seen) if seen <= today else ""
        words = soft(f"It will be recorded as {off}.") if off else ""
        if self._proposed == (hand.label, day):
            words += soft(
                f"{day} is the day of this pull. Was it read on another one, or only now? Then choose that day."
            )
        self.date_findings.value = findings_list(findings_for_date(study, point, seen, today)) + words

    # ---- saving -------------------------------------------------------------------------------------------

    def save(self) -> None:
        """Save each filled row on show; one that cannot be saved stays as typed, with its sentence.

        Where the log itself refuses (another has it locked, the disk is full), the rest is not even tried.
        """
        hand, study = self.bench.hand, self.bench.hand.study
        if study is None or not hand.label:
            return
        saved: list[Observation] = []
        self._unsaved = {}
        self.missed.tell("")
        new_day = self._follow_today()
        try:
            day = self.day()
        except EntryError as error:
            self.message.value = problem(str(error))
            return
        typed = any(self.rows.texts.get(key, "").strip() for key in self.rows.keys_on_show)
        if typed and self.odd_day.asks(study, hand.label, day, self.bench.today()):
            self.message.value = soft(new_day) if new_day else ""
            return
        note = note_with_schedule(study, hand.label, day, self.form["note"].strip())
        for key in self.rows.keys_on_show:
            text = self.rows.texts.get(key, "")
            if not text.strip():
                continue
            (batch, condition), attribute = hand.row(key)
            try:
                row = hand.log.record(
                    study.id, batch, condition, hand.label, attribute.key, text, day,
                    observer=hand.by, note=note, replicate=hand.measurement,
                )  # fmt: skip
            except KitError as error:
                self._unsaved[key] = str(error)
                if isinstance(error, StoreError):
                    break
            else:
                saved.append(row)
        self._after(study, saved, new_day)

    def _after(self, study: Study, saved: list[Observation], new_day: str) -> None:
        """Say how it went; then show the log as it is now and go on."""
        hand, bottle, words = self.bench.hand, self.bench.hand.one_bottle, ["Nothing was typed, so nothing was saved."]
        troubles = list(dict.fromkeys(self._unsaved.values()))
        if saved:
            gone = {hand.key((row.batch, row.condition), row.attribute) for row in saved}
            self.rows.texts = {key: text for key, text in self.rows.texts.items() if key not in gone}
            self.form.set(note="")
            words = [
                saved_words(study, hand.label, saved),
                self._other_day(saved),
                *(hear(saved) for hear in self.bench.on_saved),
                new_day,
            ]
            try:
                self.bench.read()
            except StoreError as error:
                troubles.append(str(error))
            if bottle and not troubles and hand.look_at == EVERY and self.bench.hand.is_read(bottle, hand.label):
                self.bench.hand = self.bench.hand.next_bottle()
        good = done(" ".join(filter(None, words))) if saved or not troubles else ""
        self.message.value = good + "".join(problem(trouble) for trouble in troubles)
        self._tell()
        self.rows.focus += 1

    def _other_day(self, saved: list[Observation]) -> str:
        day = saved[0].observed_on
        return "" if day == self.bench.today() else f"Seen on {day}."

    def _missed(self) -> str | None:
        """Record for the bottles in hand that nothing was read, with the reason from the note."""
        hand, study, reason = self.bench.hand, self.bench.hand.study, self.form["note"].strip()
        self.message.value = ""
        if study is None or not hand.label:
            return None
        day = self.day()
        if day < study.started_on:
            msg = f"{day} is before the study began, on {study.started_on}. Check the day."
            raise EntryError(msg)
        bottles = [bottle for bottle in hand.bottles_in_hand if not hand.readings_of(bottle, hand.label)]
        if not reason:
            msg = "Write into the note why it was missed, such as 'workshop closed'."
            raise EntryError(msg)
        if REMARK not in [one.key for one in study.plan.attributes]:
            msg = "The plan of this study has no row for remarks, so the reason cannot be kept with it."
            raise EntryError(msg)
        if not bottles:
            msg = "Something was read of this bottle, so it was not missed."
            raise EntryError(msg)
        for bottle in bottles:
            hand.log.record(study.id, *bottle, hand.label, REMARK, f"{MISSED}{reason}", day, observer=hand.by)
        self.form.set(note="")
        self.bench.read()
        names = "; ".join(f"{batch}, {study.plan.condition(condition).label}" for batch, condition in bottles)
        return f"Recorded as missed at {hand.label}, with its reason: {names}."


def said_about(attribute: Attribute, text: str, start: str | None) -> Said:
    """What a row says about the text in its box: how it is read where that is not plain, and what is odd."""
    if not text.strip():
        return {"words": "", "findings": []}
    findings = [finding_view(one) for one in findings_for(attribute, text, start)]
    return {"words": _read_as(attribute, text), "findings": findings}


def _read_as(attribute: Attribute, text: str) -> str:
    try:
        reading = read_value(attribute, text)
    except KitError:
        return ""
    if reading.colour is not None:
        return "L* {:g}, a* {:g}, b* {:g}".format(*reading.colour)
    if attribute.kind == "grade" and reading.number is not None:
        return said(attribute, reading.number)
    plain = text.strip().replace(",", ".")
    if reading.number is not None and plain != f"{reading.number:g}":
        return f"read as {said(attribute, reading.number)}"
    return ""


def saved_words(study: Study, label: str, saved: list[Observation]) -> str:
    """What was saved, as a sentence."""
    bottles = list(dict.fromkeys((row.batch, row.condition) for row in saved))
    if len(bottles) > 1:
        return f"Saved {len(saved)} readings of {len(bottles)} bottles, {label}."
    (batch, condition), *_ = bottles
    names = ", ".join(study.plan.attribute(row.attribute).label for row in saved)
    return f"Saved for {batch}, {study.plan.condition(condition).label}, {label}: {names}."
