"""A form: what a hand types is read once, marked where it cannot be read, and never written back."""

from __future__ import annotations

import errno
from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError
from kit.inputs import REQUIRED, Amount, Choice, Day, Input, Number, Several, Text, Tick, asked, inputs_of, texts_of
from kit.widgets.form import Button, Form
from tests.widgets.hands import said


@dataclass(frozen=True)
class Pouring:
    volume: float = asked("One bottle", Amount("mL", 0, 1e4), 90.0, unit="mL")
    waste: float = asked("Waste", Number(0, 100), 0.0, unit="%", help="Of what is taken.")
    way: str = asked("By", Choice({"mass": "weighing", "volume": "measuring"}), "mass")
    cup: str = asked("Cup", Text(), applies=lambda values: values["way"] == "volume")
    day: str = asked("Day", Day())


def heard(form: Form) -> list[tuple[str, ...]]:
    names: list[tuple[str, ...]] = []
    form.on_change(names.append)
    return names


def test_it_shows_the_defaults_and_a_hand_changes_them() -> None:
    form = Form(Pouring)
    changes = heard(form)
    assert (form["volume"], form.texts["volume"], form.texts["way"]) == (90.0, "90", "weighing")
    form.type(volume="0,1 L", waste="2,5")
    assert (form["volume"], form["waste"]) == (100.0, 2.5)
    assert form.texts["volume"] == "0,1 L"
    assert changes == [("volume", "waste")]


def test_what_cannot_be_read_is_marked_and_the_last_value_counts() -> None:
    form = Form(Pouring)
    changes = heard(form)
    form.type(volume="1,250", waste="much")
    assert "can mean 1250 mL or 1.25 mL" in form.faults["volume"]
    assert "'much' is not a number" in form.faults["waste"]
    assert (form["volume"], form.texts["volume"]) == (90.0, "1,250")
    assert changes == []
    with pytest.raises(EntryError, match=r"One bottle: .*\nWaste: 'much'"):
        form.read()
    form.type(volume="1250", waste="")
    assert form.faults == {}
    assert form.read()["volume"] == 1250.0


@given(st.floats(0, 1e4))
def test_a_value_that_is_set_stays_exact_until_a_hand_types(value: float) -> None:
    form = Form(Pouring)
    form.set(volume=value)
    form.type(volume=form.texts["volume"])  # the browser sends what it was shown
    assert form["volume"] == value


def test_a_set_value_keeps_the_text_it_was_typed_in() -> None:
    form = Form(Pouring)
    form.type(waste="2,50")
    form.set(waste=2.5)
    assert form.texts["waste"] == "2,50"


def test_only_what_applies_is_asked_for() -> None:
    form = Form(Pouring)
    assert form.hidden == ["cup"]
    form.type(way="measuring")
    assert form.hidden == []
    form.show("volume")
    assert set(form.hidden) >= {"waste", "way", "day"}


def test_a_button_reads_what_stands_on_the_screen_when_it_is_pressed() -> None:
    got: list[Any] = []
    form = Form(Pouring, [Button("pour", "Pour", lambda: got.append(form["volume"]), primary=True)])
    form._receive(form, {"kind": "press", "name": "pour", "number": 1, "texts": {"volume": "40"}}, [])
    assert got == [40.0]
    assert form.answered == 1


def test_a_button_says_what_it_did_or_why_not() -> None:
    def fail() -> str:
        msg = "No cup is clean. Wash one."
        raise EntryError(msg)

    form = Form(Pouring, [Button("a", "A", lambda: "Poured."), Button("b", "B", fail)])
    form.press("a")
    assert said(form) == "Poured."
    form.press("b")
    assert form.said == {"severity": "stop", "sentence": "No cup is clean. Wash one."}
    form.enable("a", can=False)
    form.press("a")
    assert said(form) == "No cup is clean. Wash one."


def test_a_disk_that_does_not_do_it_is_a_sentence_and_no_silence() -> None:
    def full() -> None:
        raise OSError(errno.ENOSPC, "No space left on device", "/tmp/trial/card.toml")

    def read_only() -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    form = Form([], [Button("full", "Full", full), Button("read", "Read", read_only)])
    form.press("full")
    assert said(form) == "The disk did not do that with card.toml: the disk is full. Make room on it, then save again."
    form.press("read")
    assert said(form) == "The disk did not do that: that disk can only be read. Choose another folder."


def test_a_button_that_asks_for_a_file_gets_its_name_and_bytes() -> None:
    got: list[Any] = []
    form = Form((), [Button("open", "Open", lambda name, data: got.append((name, data)), file=".csv")])
    message = {"kind": "press", "name": "open", "file": "a.csv", "number": 1, "texts": {}}
    form._receive(form, message, [memoryview(b"x")])
    assert got == [("a.csv", b"x")]


def test_a_required_input_says_that_it_is_empty_only_when_it_is_wanted() -> None:
    form = Form([Input("name", "Name", default=REQUIRED, example="Squalane")])
    assert form.faults == {}
    with pytest.raises(EntryError, match=r"Name: This is empty\. Type it, such as Squalane\."):
        form.read()
    assert "This is empty" in form.faults["name"]
    form.type(name="Urea")
    assert form.read() == {"name": "Urea"}


def test_a_list_keeps_what_is_chosen_while_it_is_offered() -> None:
    form = Form([Input("stock", "Stock", Choice({}), None), Input("papers", "Papers", Several(), ())])
    form.offer("stock", {1: "one", 2: "two"})
    assert form["stock"] == 1
    form.type(stock="two")
    form.offer("stock", {2: "two", 3: "three"})
    assert form["stock"] == 2
    form.offer("stock", {3: "three"})
    assert (form["stock"], form.texts["stock"]) == (3, "three")
    form.offer("papers", ["a", "b"])
    form.type(papers="a\nb")
    assert form["papers"] == ("a", "b")


def test_a_tick_and_a_day() -> None:
    form = Form([Input("eu", "Sold in the Union", Tick(), default=False), Input("day", "Day", Day(), "")])
    form.type(eu="yes", day="2026-02-30")
    assert form["eu"] is True
    assert "'2026-02-30' is not a day" in form.faults["day"]


def test_a_description_is_all_that_a_form_needs() -> None:
    fields = {field["name"]: field for field in Form(Pouring).fields}
    assert list(fields) == [one.name for one in inputs_of(Pouring)]
    assert (fields["waste"]["words"], fields["waste"]["unit"], fields["waste"]["help"]) == (
        "Waste",
        "%",
        "Of what is taken.",
    )
    assert fields["way"]["options"] == ["weighing", "measuring"]
    assert texts_of(Pouring(volume=100.0)) == {"volume": "100 mL"}


def test_it_can_ask_for_other_things_and_call_a_button_by_other_words() -> None:
    form = Form([Input("one", "One", Number(), 1.0)], [Button("go", "Go", lambda: "Went.")])
    form.type(one="much")
    form.ask([Input("two", "Two", Number(), 2.0), Input("place", "Place", Text(), "")])
    assert (form.read(), form.texts, form.faults) == ({"two": 2.0, "place": ""}, {"two": "2", "place": ""}, {})
    assert [field["name"] for field in form.fields] == ["two", "place"]
    form.call("go", "Go on")
    assert form.buttons[0]["words"] == "Go on"
    form.press("go")
    assert said(form) == "Went."


def test_two_choices_of_the_same_words_are_told_apart() -> None:
    form = Form([Input("study", "Study", Choice({}), None)])
    form.offer("study", {1: "Shake", 2: "Shake", 3: "Toner"})
    form.type(study="Shake (2)")
    assert form["study"] == 2


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (20_000.0, 4, "20000"), (123_456.0, 3, "123000"), (1 / 3, 4, "0.3333"), (0.1 + 0.2, 10, "0.3"),
        (1e6, 10, "1000000"), (2e10, 10, "20000000000"), (1.5e-6, 4, "1.5e-06"),
    ],
)  # fmt: skip
def test_a_number_in_a_box_has_its_digits_and_no_power_of_ten(value: float, digits: int, text: str) -> None:
    assert Number(digits=digits).write(value) == text
