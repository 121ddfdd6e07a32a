"""The stability log itself: rows that are only ever added, in one SQLite file or on a PostgreSQL server.

``store`` (upon ``reader``) is what everybody else opens. Who does not change how it is kept may skip the rest:
``rows`` upon ``schema``, sealed by ``chain``, brought up to date by ``migrations``; ``backend``, which is either a
``logfile`` or, for a class or a lab that shares one log, ``postgres``; ``verify`` and ``backup``. Only these load
SQLAlchemy.
"""
