"""What every panel has: its look, the bench it observes, and how it shows a live figure."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import ipywidgets as ipw

from kit.figures.theme import FONT_SIZE
from kit.widgets.at_rest import AtRest
from kit.widgets.bench import Bench
from kit.widgets.form import Form
from kit.widgets.html import heading, soft
from kit.widgets.look import PanelLook, follow, font_size
from kit.widgets.still import is_in_notebook, renew_soon, show

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    import plotly.graph_objects as go

    from kit.formula.model import Formula
    from kit.product.product import Product
    from kit.widgets.chart import Chart

    Source = Bench | Product | Formula | str | Path | None


class PanelBox(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """What a panel looks like: its title and subtitle, its parts, and the line at its foot."""

    title = ""
    subtitle = ""
    #: The line at the foot of the panel: sources, and what was not looked at.
    foot = ""

    def __init__(self, children: Iterable[ipw.Widget]) -> None:
        head = [ipw.HTML(heading(self.title, self.subtitle))] if self.title else []
        foot = [ipw.HTML(soft(self.foot))] if self.foot else []
        super().__init__([*head, *children, *foot, PanelLook()])
        self.add_class("shakewell")
        self.add_class("shakewell-panel")

    def _repr_mimebundle_(self, **asked: Any) -> dict[str, Any]:
        """Show it in a notebook, with a still of it that stays where no kernel runs.

        The live panel has no text of its own, so that there nothing stands beside the still.
        """
        show(self)
        return {**super()._repr_mimebundle_(**asked), "text/plain": "" if is_in_notebook() else repr(self)}


class Panel(PanelBox):
    """A box that shows one side of the bench.

    A subclass makes its controls, passes them on, and shows the bench in `refresh`, which is called at the
    start and after every change of what `watches` names: parts of the product, or traits of the bench.
    """

    watches: tuple[str, ...] = ("formula", "start", "library", "jurisdiction", "ph")
    #: True where this takes so long that a hand at another panel would feel it: it follows once that hand rests. What
    #: a hand does in this panel itself is always done on the newest state, and shown at once.
    unhurried = False
    #: True while the panel is made or shows itself anew: what its controls do then is no wish of a hand's.
    _refreshing = True
    _is_in_hand = False

    def __init__(self, source: Source, children: Iterable[ipw.Widget]) -> None:
        self.bench = Bench.of(source)
        self._refreshing = False
        self._at_rest = AtRest(self._caught_up)
        #: The formula of which the messages of the forms were said.
        self._said_of = self.bench.formula
        super().__init__(children)
        self._seen = self._watched()
        self.bench.observe(self._look)
        for form in forms_in(self) if self.unhurried else ():
            form.around.append(self._in_hand)
        self._changed()

    def _watched(self) -> list[object]:
        return [getattr(self.bench, name) for name in self.watches]

    def _look(self, _change: object) -> None:
        """Show the bench anew where something that is watched has changed."""
        before, self._seen = self._seen, self._watched()
        if any(old is not new and old != new for old, new in zip(before, self._seen, strict=True)):
            if self.unhurried and not self._is_in_hand:
                self._at_rest.ask()
            else:
                self._changed()

    @contextmanager
    def _in_hand(self) -> Iterator[None]:
        """While a hand acts in this panel, which begins with the newest state."""
        self._at_rest.now()
        self._is_in_hand = True
        try:
            yield
        finally:
            self._is_in_hand = False

    def _caught_up(self) -> None:
        self._changed()
        renew_soon()

    def _changed(self, _change: object = None) -> None:
        if self._refreshing:
            return
        self._at_rest.forget()
        if self._said_of != self.bench.formula:
            self._said_of = self.bench.formula
            for form in vars(self).values():
                if isinstance(form, Form):
                    form.tell("")
        self._refreshing = True
        try:
            self.refresh()
        finally:
            self._refreshing = False

    def refresh(self) -> None:
        """Show the bench as it is now."""
        raise NotImplementedError


def forms_in(widget: ipw.Widget) -> Iterator[Form]:
    """Every form in a box and the boxes in it."""
    if isinstance(widget, Form):
        yield widget
    for child in getattr(widget, "children", ()):
        yield from forms_in(child)


def instead_of(bench: Bench, name: str) -> str:
    """What to say when a material that is to be added bears a name that is taken."""
    if any(material.name.casefold() == name.casefold() for material in bench.formula.materials):
        return "It takes the place of the one of that name; undo brings that back. "
    if bench.library.get(name) is not None:
        return "In this formula it stands before what the library has under that name. "
    return ""


def live(figure: go.Figure) -> Chart:
    """A figure that can be changed in place; its tool bar shows only what helps to read it."""
    from kit.widgets.chart import Chart

    widget = Chart(fitting(figure))
    plain = {"displaylogo": False, "modeBarButtons": [["toImage"]], "responsive": True}
    widget._config = {**widget._config, **plain}
    follow(widget)
    return widget


def fitting(figure: go.Figure) -> go.Figure:
    """The figure as wide as there is room, with words as large as the panel's."""
    high = figure.layout.height and figure.layout.height * font_size() / FONT_SIZE
    return figure.update_layout(width=None, height=high, autosize=True, font_size=font_size())


def redraw(widget: Chart, figure: go.Figure) -> None:
    """Let a live figure show another one, in one message."""
    with widget.batch_update():
        widget.data = []
        widget.layout = fitting(figure).layout
        widget.add_traces(list(figure.data))


class Picture(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A live figure, made only once there is something to draw: the library behind it is slow to load."""

    figure: Chart | None = None

    def __init__(self) -> None:
        super().__init__()
        self.add_class("sw-picture")

    def draw(self, figure: go.Figure) -> None:
        """Show this figure."""
        self.layout.display = ""
        if self.figure is None:
            self.figure = live(figure)
            self.children = (self.figure,)
        else:
            redraw(self.figure, figure)

    def put(self, traces: Sequence[Any]) -> None:
        """Let these traces take the place of what is drawn, on the paper as it lies; in a third of the time.

        A trace that is changed in place loses in the browser what has stayed the same.
        """
        if self.figure is not None:
            with self.figure.batch_update():
                self.figure.data = []
                self.figure.add_traces(list(traces))


def in_a_row(*children: ipw.Widget) -> ipw.HBox:
    """Parts in a row that wraps on a narrow page."""
    box = ipw.HBox(children)
    box.add_class("sw-controls")
    return box
