"""Pictures, data in and figure out: plotly charts, and SVG charts that papers can hold.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .arrhenius import fit_in_words as fit_in_words
from .stability import trend_figure as trend_figure
