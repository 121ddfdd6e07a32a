"""Stability: what is kept where and looked at when, and the log of what was seen.

``plan`` what a study looks at; ``study`` the study and its readings; ``reading`` what a typed value means;
``check`` what is odd about it; ``due`` what to look at next; ``store`` the log file; ``exchange`` its
readings as CSV; ``demo`` an invented study. Only ``schema``, ``logfile`` and ``store`` load SQLAlchemy.
"""
