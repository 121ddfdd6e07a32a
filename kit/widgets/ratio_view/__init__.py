"""The bottle and the picture of all ratios, with one handle on each."""

from kit.widgets.ratio_view.view import RatioView

__all__ = ("RatioView",)
