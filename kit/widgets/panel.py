"""What every panel has: the bench it observes, its look, and names for its sliders."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import anywidget
import ipywidgets as ipw

from kit.errors import KitError
from kit.widgets.bench import Bench
from kit.widgets.form import Form
from kit.widgets.html import done, heading, problem, soft

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    import plotly.graph_objects as go

    from kit.formula.model import Formula
    from kit.product.product import Product

    Source = Bench | Product | Formula | str | Path | None

HERE = Path(__file__).resolve().parent


class PanelLook(anywidget.AnyWidget):
    """Brings the panels' style sheet, names each slider, and takes a decimal comma for the mark that it is.

    A slider of the notebook's standard set has no name that a screen reader could say. A box for a number drops the
    comma where the browser speaks a language with a decimal point: "12,5" would become 125.
    """

    _css = "\n".join((HERE / name).read_text(encoding="utf-8") for name in ("base.css", "panel.css"))
    _esm = """
    function nameSliders(panel) {
      for (const handle of panel.querySelectorAll('[role="slider"]:not([aria-label])')) {
        const words = handle.closest(".widget-inline-hbox")?.querySelector(".widget-label")?.textContent;
        if (words) handle.setAttribute("aria-label", words);
      }
    }
    const dropsComma = (1.5).toLocaleString(navigator.language).includes(".");
    // One mark and three digits, 1,250, can be 1250 or 1.25: the box keeps its value and says how to type each.
    function askWhich(event) {
      const box = event.target;
      if (box.type !== "number") return;
      const typed = box.dataset.typedMark === "yes" && /^-?[1-9]\\d{0,2}\\.\\d{3}$/.test(box.value);
      const twoWays = typed && !(box.max !== "" && 1000 * parseFloat(box.value) > parseFloat(box.max));
      const large = 1000 * parseFloat(box.value), small = `${box.value}0`;
      box.setCustomValidity(twoWays ? `This can mean ${large} or ${+box.value}. Type ${large} or ${small}.` : "");
      delete box.dataset.typedMark;
      if (!twoWays) return;
      event.stopImmediatePropagation();
      box.reportValidity();
    }
    function takeComma(event) {
      if (event.target.type === "number" && /[.,]/.test(event.data ?? "")) event.target.dataset.typedMark = "yes";
      if (!dropsComma || event.target.type !== "number" || !event.data?.includes(",")) return;
      event.preventDefault();
      document.execCommand("insertText", false, event.data.replace(",", "."));
    }
    function render({ el }) {
      el.style.display = "none";
      let watcher;
      requestAnimationFrame(() => {
        const panel = el.closest(".shakewell-panel");
        if (!panel) return;
        watcher = new MutationObserver(() => nameSliders(panel));
        watcher.observe(panel, { childList: true, subtree: true });
        nameSliders(panel);
        panel.addEventListener("beforeinput", takeComma);
        panel.addEventListener("change", askWhich, true);
      });
      return () => watcher?.disconnect();
    }
    export default { render };
    """


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


class Panel(PanelBox):
    """A box that shows one side of the bench.

    A subclass makes its controls, passes them on, and shows the bench in `refresh`, which is called at the
    start and after every change of what `watches` names: parts of the product, or traits of the bench.
    """

    watches: tuple[str, ...] = ("formula", "start", "library", "jurisdiction", "ph")
    #: True while the panel is made or shows itself anew: what its controls do then is no wish of a hand's.
    _refreshing = True

    def __init__(self, source: Source, children: Iterable[ipw.Widget]) -> None:
        self.bench = Bench.of(source)
        self._refreshing = False
        #: The formula of which the panel's messages were said, and those that are no form's.
        self._said_of = self.bench.formula
        self._messages: list[ipw.HTML] = []
        super().__init__(children)
        self._seen = self._watched()
        self.bench.observe(self._look)
        self._changed()

    def _watched(self) -> list[object]:
        return [getattr(self.bench, name) for name in self.watches]

    def _look(self, _change: object) -> None:
        """Show the bench anew where something that is watched has changed."""
        before, self._seen = self._seen, self._watched()
        if any(old is not new and old != new for old, new in zip(before, self._seen, strict=True)):
            self._changed()

    def _changed(self, _change: object = None) -> None:
        if self._refreshing:
            return
        if self._said_of != self.bench.formula:
            self._said_of = self.bench.formula
            for message in self._messages:
                message.value = ""
            for form in vars(self).values():
                if isinstance(form, Form):
                    form.tell("")
        self._refreshing = True
        try:
            self.refresh()
        finally:
            self._refreshing = False

    def act(self, message: ipw.HTML, work: Callable[[], str | None]) -> None:
        """Do something on the maker's behalf and say how it went, until the formula changes."""
        try_to(message, work)
        self._said_of = self.bench.formula
        self._messages.append(message)

    def refresh(self) -> None:
        """Show the bench as it is now."""
        raise NotImplementedError

    @property
    def is_refreshing(self) -> bool:
        """True while the panel itself sets its controls, which is then no wish of the maker's."""
        return self._refreshing


def try_to(message: ipw.HTML, work: Callable[[], str | None]) -> bool:
    """Do something on the maker's behalf and say in ``message`` how it went; True where it went well."""
    try:
        sentence = work()
    except KitError as error:
        message.value = problem(str(error))
        return False
    message.value = done(sentence) if sentence else ""
    return True


def instead_of(bench: Bench, name: str) -> str:
    """What to say when a material that is to be added bears a name that is taken."""
    if any(material.name.casefold() == name.casefold() for material in bench.formula.materials):
        return "It takes the place of the one of that name; undo brings that back. "
    if bench.library.get(name) is not None:
        return "In this formula it stands before what the library has under that name. "
    return ""


def live(figure: go.Figure) -> go.FigureWidget:
    """A figure that can be changed in place; its tool bar shows only what helps to read it."""
    import plotly.graph_objects as go

    widget = go.FigureWidget(figure)
    plain = {"displaylogo": False, "modeBarButtons": [["toImage"]], "responsive": True}
    widget._config = {**widget._config, **plain}
    if figure.layout.width is None:
        widget.layout.autosize = True
    return widget


def redraw(widget: go.FigureWidget, figure: go.Figure) -> None:
    """Let a live figure show another one, in one message."""
    with widget.batch_update():
        widget.data = []
        widget.layout = figure.layout
        widget.add_traces(list(figure.data))


class Picture(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A live figure, made only once there is something to draw: the library behind it is slow to load."""

    figure: go.FigureWidget | None = None

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


def offer(box: ipw.Dropdown, options: list[tuple[str, Any]]) -> None:
    """Offer these choices, keeping what is chosen if it is still among them, else the first."""
    if list(box.options) != options:
        chosen = box.value
        box.options = options
        values = [value for _, value in options]
        box.value = chosen if chosen in values else (values[0] if values else None)


def controls(*children: ipw.Widget) -> ipw.HBox:
    """Controls in a row that wraps on a narrow page."""
    box = ipw.HBox(children)
    box.add_class("sw-controls")
    return box


def number_box(description: str, value: float, least: float, most: float, **more: Any) -> ipw.BoundedFloatText:
    """A box for a number, its unit in the words beside it."""
    return ipw.BoundedFloatText(
        value=value,
        min=least,
        max=most,
        description=description,
        style={"description_width": "initial"},
        layout=ipw.Layout(width="auto"),
        **more,
    )
