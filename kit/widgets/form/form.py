"""The Python side of a form: what it asks for, what was typed, and what is said about it.

The browser side knows no unit and no range. It sends what a hand typed when a box is left, and with each press of a
button whatever a hand changed since it was shown, so that a button never works with an older text than the one on the
screen, nor with one that was replaced here meanwhile. It writes nothing back by itself: what is shown is set here, and
the exact value stays here beside its text.
"""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import traitlets

from kit.errors import EntryError, KitError
from kit.file_names import shown
from kit.inputs import REQUIRED, Choice, Input, Tick, inputs_of
from kit.saving import why
from kit.widgets.in_order import InOrder

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from contextlib import AbstractContextManager

HERE = Path(__file__).resolve().parent


@dataclass(frozen=True, slots=True)
class Button:
    """What a form does when it is pressed.

    Attributes
    ----------
    do
        Does it, and gives the sentence to show; a KitError shows as its sentence.
    file
        The ending of the file that it asks for, such as ".csv"; ``do`` then gets the file's name and bytes.
    """

    name: str
    words: str
    do: Callable[..., str | None]
    help: str = ""
    primary: bool = False
    file: str = ""


class Form(InOrder):
    """Inputs in an aligned grid, buttons below them, and a line that says what was done.

    Parameters
    ----------
    inputs
        Descriptions, or a group of inputs (see :mod:`kit.inputs`).
    buttons
        Below the boxes, in this order.
    on_change
        Called after a hand has set values, with the names of those that changed.
    fold
        With this title the form is folded away until it is opened.
    live
        Names of inputs that are read with every key; the others when their box is left.
    wide
        Names of inputs that have a row to themselves, for what is long to read.

    Examples
    --------
    >>> from kit.inputs import Input, Number
    >>> form = Form([Input("waste", "Waste", Number(0, 100), 0.0, "%")])
    >>> form.type(waste="2,5")
    >>> form["waste"], form.texts["waste"]
    (2.5, '2,5')
    """

    _esm = (HERE / "form.js").read_text(encoding="utf-8")
    _css = "\n".join(path.read_text(encoding="utf-8") for path in (HERE.parent / "base.css", HERE / "form.css"))

    fields: traitlets.List[Any] = traitlets.List().tag(sync=True)
    buttons: traitlets.List[Any] = traitlets.List().tag(sync=True)
    fold = traitlets.Unicode().tag(sync=True)
    texts: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    faults: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    #: Names of inputs that are not asked for now, and of buttons that cannot be pressed now.
    hidden: traitlets.List[Any] = traitlets.List().tag(sync=True)
    disabled: traitlets.List[Any] = traitlets.List().tag(sync=True)
    said: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    #: The number of the last message that was answered; until then a slider waits with its next one.
    answered = traitlets.Int(0).tag(sync=True)

    def __init__(
        self,
        inputs: Iterable[Input] | type,
        buttons: Iterable[Button] = (),
        *,
        on_change: Callable[[tuple[str, ...]], object] | None = None,
        fold: str = "",
        live: Iterable[str] = (),
        wide: Iterable[str] = (),
    ) -> None:
        asked = inputs_of(inputs) if isinstance(inputs, type) else tuple(inputs)
        self.inputs = {one.name: one for one in asked}
        self.actions = {button.name: button for button in buttons}
        self.values: dict[str, Any] = {one.name: None if one.default is REQUIRED else one.default for one in asked}
        self._on_change = on_change
        self._live, self._wide = frozenset(live), frozenset(wide)
        self._offers: dict[str, list[str]] = {}
        #: Within what all is done that a hand typed or pressed here.
        self.around: list[Callable[[], AbstractContextManager[None]]] = []
        super().__init__(
            fields=[self._field(one) for one in asked],
            buttons=self._buttons(),
            fold=fold,
            texts={one.name: one.write(one.default) for one in asked},
        )
        self._fit()
        self.on_msg(self._receive)

    # ---- values -----------------------------------------------------------------------------------------

    def __getitem__(self, name: str) -> Any:
        """The value of an input: exact as it was set, or the last one that a hand typed and that could be read."""
        return self.values[name]

    def read(self, *names: str) -> dict[str, Any]:
        """The values of these inputs, or of all that are asked for now.

        Raises
        ------
        EntryError
            A text cannot be read, or is empty and must not be; each is marked at its box.
        """
        wanted = names or tuple(name for name in self.inputs if name not in self.hidden)
        faults = {name: self.faults[name] for name in self.faults if name not in wanted}
        for name in wanted:
            one = self.inputs[name]
            if name in self.faults or (one.default is REQUIRED and not self.texts[name].strip()):
                try:
                    self.values[name] = one.read(self.texts[name], beside_unit=True)
                except KitError as error:
                    faults[name] = str(error).removeprefix("it: ")
        self.faults = faults
        wrong = [f"{self.inputs[name].words}: {faults[name]}" for name in wanted if name in faults]
        if wrong:
            raise EntryError("\n".join(wrong))
        return {name: self.values[name] for name in wanted}

    def set(self, **values: Any) -> None:
        """Show these values; a value that is there already keeps the text in which it was typed."""
        changed = {
            name: value for name, value in values.items() if name in self.faults or not _same(self.values[name], value)
        }
        if not changed:
            return
        self.values.update(changed)
        self.faults = {name: fault for name, fault in self.faults.items() if name not in changed}
        self.texts = {**self.texts, **{name: self.inputs[name].write(value) for name, value in changed.items()}}
        self._fit()

    def follow(self, **values: Any) -> None:
        """Show these values, too, but leave a text that could not be read until its value becomes another one."""
        self.set(**{name: value for name, value in values.items() if not _same(self.values[name], value)})

    def clear(self, *names: str) -> None:
        """Bring these inputs, or all, back to their defaults."""
        for name in names or tuple(self.inputs):
            default = self.inputs[name].default
            self.set(**{name: None if default is REQUIRED else default})
            if self.texts[name] != self.inputs[name].write(default):
                self.texts = {**self.texts, name: self.inputs[name].write(default)}

    def mark(self, name: str, sentence: str) -> None:
        """Say at a box what is wrong with its value in the light of something else; "" takes that back."""
        others = {key: fault for key, fault in self.faults.items() if key != name}
        self.faults = {**others, name: sentence} if sentence else others

    def describe(self, name: str, **changes: Any) -> None:
        """Change the description of an input: its words, unit, example, help, slider or reader."""
        new = replace(self.inputs[name], **changes)
        if new != self.inputs[name]:
            self.inputs[name] = new
            self.fields = [self._field(one) for one in self.inputs.values()]

    def offer(self, name: str, options: dict[Any, str] | Iterable[str]) -> None:
        """Offer these in a list: value → words, keeping what is chosen where it is still there; or names to type."""
        if self.inputs[name].reader.kind in ("name", "several"):
            offered = [str(option) for option in options]
            if self._offers.get(name) != offered:
                self._offers[name] = offered
                self.fields = [self._field(one) for one in self.inputs.values()]
            return
        mapping = options if isinstance(options, dict) else {option: str(option) for option in options}
        self.describe(name, reader=Choice(mapping, self.inputs[name].reader.kind))
        mapping = self.inputs[name].reader.options  # type: ignore[attr-defined]
        chosen = self.values[name] if self.values[name] in mapping else next(iter(mapping), None)
        self.set(**{name: chosen})
        if chosen in mapping and self.texts[name] != mapping[chosen]:
            self.texts = {**self.texts, name: mapping[chosen]}

    def ask(self, inputs: Iterable[Input]) -> None:
        """Ask for these from now on, each with its default in its box."""
        self.inputs = {one.name: one for one in inputs}
        self.values = {name: None if one.default is REQUIRED else one.default for name, one in self.inputs.items()}
        self.faults, self.hidden, self._offers = {}, [], {}
        self.texts = {name: one.write(one.default) for name, one in self.inputs.items()}
        self.fields = [self._field(one) for one in self.inputs.values()]
        self._fit()

    def on_change(self, work: Callable[[tuple[str, ...]], object]) -> None:
        """Call ``work`` after a hand has set values, too."""
        before = self._on_change
        self._on_change = work if before is None else lambda names: (before(names), work(names))

    # ---- a hand at work ---------------------------------------------------------------------------------

    def type(self, **texts: object) -> None:
        """Type texts as a hand does: each is read, or marked with what is wrong with it and kept as it is."""
        given = {name: str(text) for name, text in texts.items() if name in self.inputs}
        fresh = {name: text for name, text in given.items() if text != self.texts[name]}
        if not fresh:
            return
        faults, changed = dict(self.faults), []
        for name, text in fresh.items():
            faults.pop(name, None)
            one = self.inputs[name]
            try:
                value = one.read(text, beside_unit=True) if text.strip() or one.default is not REQUIRED else None
            except KitError as error:
                faults[name] = str(error).removeprefix("it: ")
                continue
            if isinstance(one.reader, Choice):
                fresh[name] = one.write(value)  # the words, where code typed the key
            if not _same(self.values[name], value):
                self.values[name] = value
                changed.append(name)
        self.texts, self.faults = {**self.texts, **fresh}, faults
        self._fit()
        if changed and self._on_change is not None:
            self.do(lambda: self._on_change and self._on_change(tuple(changed)), quiet=True)

    def press(self, name: str, *file: Any) -> None:
        """Press a button; with the name and bytes of a file where it asks for one."""
        if name in self.actions and name not in self.disabled:
            self.do(lambda: self.actions[name].do(*file))

    def tell(self, sentence: str, severity: str = "note") -> None:
        """Say something below the buttons; "stop" for what could not be done."""
        self.said = {"severity": severity, "sentence": sentence} if sentence else {}

    def do(self, work: Callable[[], object], *, quiet: bool = False) -> None:
        """Do something on the maker's behalf and say how it went; ``quiet``: only where something went wrong."""
        try:
            sentence = work()
        except KitError as error:
            self.tell(str(error), "stop")
        except OSError as error:  # the disk is no fault of the kit's either, and silence would be
            where = f" with {shown(Path(error.filename).name)}" if isinstance(error.filename, str) else ""
            self.tell(f"The disk did not do that{where}: {why(error)}.", "stop")
        else:
            if not quiet or self.said.get("severity") == "stop":
                self.tell(sentence if isinstance(sentence, str) else "")

    def _receive(self, _widget: object, content: Any, buffers: Any) -> None:
        with ExitStack() as around:
            around.callback(setattr, self, "answered", int(content.get("number", 0)))
            for one in self.around:
                around.enter_context(one())
            self.type(**{str(name): str(text) for name, text in dict(content.get("texts", {})).items()})
            if content.get("kind") == "press":
                named = (str(content["file"]), bytes(buffers[0])) if "file" in content else ()
                self.press(str(content["name"]), *named)

    # ---- showing ----------------------------------------------------------------------------------------

    def show(self, *names: str) -> None:
        """Show only these inputs and buttons."""
        self.hidden = [name for name in (*self.inputs, *self.actions) if name not in names]

    def enable(self, name: str, *, can: bool) -> None:
        """Whether a button can be pressed now."""
        self.disabled = sorted({*self.disabled, name} if not can else {*self.disabled} - {name})

    def call(self, name: str, words: str, *, primary: bool = False) -> None:
        """Let a button bear other words, or be the one that is wanted now."""
        self.actions[name] = replace(self.actions[name], words=words, primary=primary)
        self.buttons = self._buttons()

    def _fit(self) -> None:
        """Ask only for what applies."""
        gone = {name for name, one in self.inputs.items() if not one.applies(self.values)}
        rules = {name for name, one in self.inputs.items() if one.applies.__name__ != "always"}
        hidden = [name for name in self.hidden if name not in rules]
        self.hidden = [*hidden, *sorted(gone)]

    def _buttons(self) -> list[dict[str, Any]]:
        return [
            {"name": b.name, "words": b.words, "help": b.help, "primary": b.primary, "file": b.file}
            for b in self.actions.values()
        ]

    def _field(self, one: Input) -> dict[str, Any]:
        options = self._offers.get(one.name, [])
        if isinstance(one.reader, Choice):
            options = list(one.reader.options.values())
        elif one.reader.kind in ("several", "ticks") and not options:
            options = list(one.reader.options)  # type: ignore[attr-defined]
        return {
            "name": one.name,
            "words": one.words,
            "kind": "tick" if isinstance(one.reader, Tick) else one.reader.kind,
            "unit": one.unit,
            "example": one.example,
            "help": one.help,
            "options": options,
            "slide": list(one.slide) if one.slide else [],
            "live": one.name in self._live,
            "wide": one.name in self._wide or one.slide is not None,
        }


def _same(one: Any, other: Any) -> bool:
    return type(one) is type(other) and bool(one == other) if isinstance(one, bool) else bool(one == other)
