"""Stability: what is kept where and looked at when, the log of what was seen, and what follows from it.

What is looked at: ``plan``, ``study``, ``plan_draft``; what a typed value means and what is odd about it: ``reading``,
``check``; what to look at next: ``schedule``, ``in_hand``; how a study stands: ``overview``, ``grades``. How long it
lasts: ``series``, then ``shelf_life`` (``regression``, ``pooling``, ``q1e``), ``kinetics`` and ``arrhenius``,
``storage_temperature``. What comes in and goes out: ``exchange``, ``workbook``. Rooms of their own, each to be skipped
until it is needed: ``log``, ``photos``, ``old_notes``.
"""

from kit.front_door import front_door

__getattr__, __dir__, __all__ = front_door(__name__, __file__)
