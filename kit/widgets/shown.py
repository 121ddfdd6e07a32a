"""What a control was shown, so that what a hand sets is told from what the browser sends back.

A browser does not keep the number it is shown: a slider puts it on a step, cuts it off at its ends, works with
percents of its length, and sends the result back as if a hand had set it. So a value is shown by :func:`show_in`,
which keeps the exact one beside it; :func:`on_hand` hears everything but echoes; :func:`value_in` gives the exact
value for as long as no hand has set another.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

import ipywidgets as ipw

from kit.rounding import round_to_step

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

#: A slider in the browser errs by less than this part of a step; no hand moves it so little.
SLACK = 1e-6


@dataclass(slots=True)
class _Shown:
    """The exact value, and what the control made of it."""

    exact: Any
    value: Any
    is_showing: bool = False


_SHOWN: WeakKeyDictionary[ipw.Widget, _Shown] = WeakKeyDictionary()


def show_in(
    control: ipw.Widget,
    exact: Any,
    value: Any = None,
    *,
    within: tuple[float, float] | None = None,
    among: Sequence[str | tuple[str, Any]] | None = None,
) -> None:
    """Show a value in a control; nothing that the control makes of it counts as a hand's act.

    Parameters
    ----------
    exact
        What :func:`value_in` gives back.
    value
        How it is shown, where that differs: rounded, or as text.
    within
        The control's usual range, widened where the value lies outside it.
    among
        What a list offers: words and value, or one text for both.
    """
    shown = exact if value is None else value
    memory = _SHOWN.setdefault(control, _Shown(exact, shown))
    memory.is_showing = True
    try:
        with control.hold_sync():  # the browser never sees a value between the old one and this
            if within is not None:
                stepped = round_to_step(shown, control.step) if isinstance(control, ipw.FloatSlider) else shown
                _widen(control, stepped, *within)
            if among is not None and list(control.options) != list(among):
                control.options = among
            if isinstance(control, ipw.FloatSlider):
                shown = on_grid(control, shown)
            if not _is_same(control, control.value, shown):
                control.value = shown
    finally:
        memory.exact, memory.value, memory.is_showing = exact, control.value, False


def value_in(control: ipw.Widget) -> Any:
    """The exact value that was shown, or what a hand has set since."""
    memory = _SHOWN.get(control)
    if memory is not None and _is_echo(control, memory.value, control.value):
        return memory.exact
    return as_set(control)


def on_hand(control: ipw.Widget, work: Callable[[Any], object]) -> None:
    """Call ``work`` with the value whenever a hand has set one; the control's own echo is none."""
    _SHOWN.setdefault(control, _Shown(control.value, control.value))

    def heard(_change: object) -> None:
        memory = _SHOWN[control]
        if memory.is_showing or _is_echo(control, memory.value, control.value):
            return
        memory.exact, memory.value = as_set(control), control.value
        work(memory.exact)

    control.observe(heard, names="value")


def as_set(control: ipw.Widget) -> Any:
    """The value of a control without the browser's last digits: 511 where a slider by 1 sends 510.99999999999994."""
    value = control.value
    if isinstance(control, ipw.FloatSlider):
        near = on_grid(control, value)
        return near if _is_same(control, near, value) else value
    return value


def on_grid(slider: ipw.FloatSlider, value: float) -> float:
    """Where the browser puts a value on a slider: on the nearest step from its least, or at one of its ends.

    Examples
    --------
    >>> on_grid(ipw.FloatSlider(min=1, max=2000, step=1), 510.6), on_grid(ipw.FloatSlider(min=0, max=47.3), 47.26)
    (511.0, 47.3)
    """
    inside = min(max(float(value), slider.min), slider.max)
    stepped = slider.min + round_to_step(inside - slider.min, slider.step)
    stepped = float(f"{stepped:.12g}")
    return float(slider.max if slider.max - inside < abs(stepped - inside) or stepped > slider.max else stepped)


def _is_echo(control: ipw.Widget, shown: Any, new: Any) -> bool:
    """Whether a value is what was shown, or what a browser makes of that."""
    if _is_same(control, shown, new):
        return True
    return isinstance(control, ipw.FloatSlider) and _is_same(control, on_grid(control, shown), new)


def _is_same(control: ipw.Widget, one: Any, other: Any) -> bool:
    if isinstance(control, ipw.FloatSlider):
        return bool(abs(one - other) <= SLACK * control.step)
    if isinstance(control, ipw.ColorPicker):
        return str(one).casefold() == str(other).casefold()
    return bool(one == other)


def _widen(control: ipw.Widget, value: float, least: float, most: float) -> None:
    """Let a control reach over its usual range and over this value."""
    if value >= control.min:
        control.max = max(most, value)
        control.min = min(least, value)
    else:
        control.min = min(least, value)
        control.max = max(most, value)
