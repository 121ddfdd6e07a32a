"""Stability: what is kept where and looked at when, the log of what was seen, and what follows from it.

What is looked at: ``plan``, ``attribute``, ``study``. What a typed value means and what is odd about it: ``reading``,
``check``. What to look at next: ``due``. The log, in a file or on a server: ``store`` (with ``log_reader``, ``rows``,
``photo_rows``) upon ``backend`` (``logfile``, ``postgres``), ``watch``, ``chain``, ``schema``, ``guards`` and
``migrations``; only these, ``verify`` and ``backup`` load SQLAlchemy. What comes in and goes out: ``exchange`` (CSV),
``workbook`` (XLSX), ``importing``, ``photo_files``, ``wide``.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
