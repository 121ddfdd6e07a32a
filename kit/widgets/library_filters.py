"""What a search of the library is narrowed by: words, role, layer, charge, figures, limits and origin."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import EntryError
from kit.library.ingredient import PHASE_KINDS
from kit.library.search import FIGURES, Wish, charges_of, roles_of
from kit.numbers import read_likely
from kit.widgets.panel import controls, offer

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.library.library import Library

#: What narrows nothing. (A choice of None would show as nothing chosen.)
ANY = ("any", "")


class LibraryFilters(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Boxes for a :class:`kit.library.search.Wish`."""

    def __init__(self) -> None:
        style = {"style": {"description_width": "initial"}}
        layers = [ANY, *((kind, kind) for kind in PHASE_KINDS)]
        self.words = ipw.Text(description="Search", placeholder="part of a name, or a role", **style)
        self.role = ipw.Dropdown(options=[ANY], description="Role", **style)
        self.phase = ipw.Dropdown(options=layers, description="Layer", **style)
        self.charge = ipw.Dropdown(options=[ANY], description="Charge", **style)
        self.between = {
            name: (
                ipw.Text(description=f"{words} from", layout={"width": "230px"}, **style),
                ipw.Text(description="to", layout={"width": "110px"}, **style),
            )
            for name, words in FIGURES.items()
        }
        self.usual_at = ipw.Text(description="usual range covers, %", **style)
        limited = [ANY, ("named by a limit", True), ("named by none", False)]
        self.limited = ipw.Dropdown(options=limited, description="Limits", **style)
        origins = [ANY, ("my own", True), ("came with the kit", False)]
        self.own = ipw.Dropdown(options=origins, description="From", **style)
        ranges = [box for pair in self.between.values() for box in pair]
        pairs = [ipw.HBox(pair) for pair in self.between.values()]
        narrow = ipw.Accordion(
            [ipw.VBox([controls(*pairs), controls(self.usual_at, self.limited, self.own)])],
            titles=("Narrow it by figures, limits and origin",),
        )
        narrow.selected_index = None
        self._boxes = [self.words, self.role, self.phase, self.charge, *ranges, self.usual_at, self.limited, self.own]
        super().__init__([controls(self.words, self.role, self.phase, self.charge), narrow])

    def on_change(self, heard: Callable[[object], None]) -> None:
        """Call this whenever a box changes."""
        for box in self._boxes:
            box.observe(heard, names="value")

    def offer_what_occurs(self, library: Library) -> None:
        """Offer the roles and charges of a library."""
        offer(self.role, [ANY, *((role, role) for role in roles_of(library))])
        offer(self.charge, [ANY, *((charge, charge) for charge in charges_of(library))])

    def wish(self) -> Wish:
        """What the boxes ask for.

        Raises
        ------
        EntryError
            A box for a number holds none; which one is said.
        """
        between = {}
        for name, (low, high) in self.between.items():
            bounds = _number(low.value, f"{FIGURES[name]}, from"), _number(high.value, f"{FIGURES[name]}, to")
            if bounds[0] is not None and bounds[1] is not None and bounds[0] > bounds[1]:
                msg = f"{FIGURES[name]}: from {low.value.strip()} to {high.value.strip()} holds nothing. Swap the two."
                raise EntryError(msg)
            if bounds != (None, None):
                between[name] = bounds
        return Wish(
            words=self.words.value,
            role=self.role.value,
            phase=self.phase.value,
            charge=self.charge.value,
            between=between,
            usual_at=_number(self.usual_at.value, "The percent that the usual range covers", 0, 100),
            limited=_either(self.limited),
            own=_either(self.own),
        )


def _either(box: ipw.Dropdown) -> bool | None:
    return None if box.value == ANY[1] else bool(box.value)


def _number(text: str, name: str, low: float = -inf, high: float = inf) -> float | None:
    if not text.strip():
        return None
    try:
        return read_likely(text, low, high)
    except EntryError as error:
        msg = f"{name}: {error}"
        raise EntryError(msg) from error
