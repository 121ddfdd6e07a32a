"""A panel as plain HTML, for a saved notebook that nobody runs: how it is drawn, shown and kept up to date."""

from kit.widgets.still.drawing import still
from kit.widgets.still.showing import is_in_notebook, renew_soon, show

__all__ = ("is_in_notebook", "renew_soon", "show", "still")
