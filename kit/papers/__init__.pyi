"""Printable documents that stand on their own, offline.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .compared import compared as compared
from .registry import make_paper as make_paper
from .stock_sheet import StockInMaking as StockInMaking
